"""The test page in each region: readings that pass, that fail, and that tell nothing."""

from __future__ import annotations

import contextlib

import pytest
from traitlets import TraitError

from vanplumb.pack import example
from vanplumb.shop.test.pressure_test import TestPlan
from vanplumb.van import Build, loads
from vanplumb.van.file.write import changed
from vanplumb.worksheets.frame.base import Worksheet
from vanplumb.worksheets.shop.shop_day import test_worksheet as page_of_test

STEP = 5.0
"""kPa, of the gauge."""


def heron(region: str, units: str) -> Build:
    values = {"van.region": region, "van.units": units, "shop.test_pressure": None}
    return loads(changed(example("heron").text, values))


def readings(plan: TestPlan, fall: float) -> str:
    """What the gauge shows, kPa, at the begin, the middle and the end of every stage; ``fall``
    is lost in the last stage."""
    lines, time = [], 0.0
    for stage in plan.stages:
        lost = fall if stage is plan.stages[-1] else 0.0
        for share in (0.0, 0.5, 1.0):
            shown = stage.pressure / 1e3 - share * lost
            at = (time + share * stage.duration) / 60 + (0.01 if share == 0.0 else 0.0)
            lines.append(f"{at:.2f} min, {shown:.1f} kPa, 20 °C")
        time += stage.duration
    return "\n".join(lines)


def played(page: Worksheet, fall: float) -> str:
    plan = page.result[0]
    page.set(readings=readings(plan, fall))
    assert page.problem == ""
    return page.figures["by the rule"]


PAGES = [
    ("US", "US", "water above working pressure"),
    ("UK", "SI", "EN 806-4 A in the UK"),
    ("UK", "SI", "EN 806-4 B in the UK"),
    ("EU", "SI", "EN 806-4 A"),
    ("AU-NZ", "SI", "water 1500 kPa"),
]


@pytest.mark.parametrize("region, units, rule", PAGES)
def test_each_region_is_played_through(region: str, units: str, rule: str) -> None:
    page = page_of_test(heron(region, units))
    start = "0 min, 900 kPa, 20 °C\n1 min, 900 kPa, 20 °C\n2 min, 900 kPa, 20 °C"
    page.set(rule=rule, step=STEP * 1e3, readings=start)
    assert page.problem == "" and page.figures["by the rule"] == "can't tell"
    assert played(page, 0.0) == "passed"
    assert played(page, 4 * STEP) == "failed"
    assert played(page, STEP) == "can't tell"


@pytest.mark.parametrize("region, units, foreign", [
    ("US", "US", "EN 806-4 A"), ("EU", "SI", "air 50 psi"), ("AU-NZ", "SI", "EN 806-4 A"),
])  # fmt: skip
def test_only_the_region_s_rules_are_offered(region: str, units: str, foreign: str) -> None:
    page = page_of_test(heron(region, units))
    usual = page.values["rule"]
    with contextlib.suppress(ValueError, TraitError):
        page.set(rule=foreign)
    assert page.values["rule"] == usual
