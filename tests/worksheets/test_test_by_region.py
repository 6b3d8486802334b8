"""The test page in each region: readings that pass, that fail, and that tell nothing."""

from __future__ import annotations

import contextlib

import pytest
from traitlets import TraitError

from vanplumb.answers import Answers
from vanplumb.chapters.place import place_chapter
from vanplumb.pack import example
from vanplumb.shop.disinfect import agents_of
from vanplumb.shop.test.pressure_test import TestPlan
from vanplumb.van import Build, loads
from vanplumb.van.file.write import changed
from vanplumb.van.region import rules_of
from vanplumb.worksheets.frame.base import Worksheet
from vanplumb.worksheets.shop.shop_day import dose_worksheet
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
    ("UK", "SI", "UK regulations A"),
    ("US", "US", "water at working pressure"),
    ("US", "US", "uniform code, water"),
    ("US", "US", "movable home"),
    ("US", "US", "manufactured home"),
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


@pytest.mark.parametrize(
    "region, rule",
    [("EU", "EN 806-4 C"), ("UK", "EN 806-4 C in the UK"), ("UK", "UK regulations B")],
)
def test_plastic_that_may_settle_is_played_through(region: str, rule: str) -> None:
    """0.2 bar may be lost in the last 120 min."""
    page = page_of_test(heron(region, "SI"))
    page.set(rule=rule, step=STEP * 1e3, readings=start("900 kPa"))
    assert played(page, 12.0) == "passed"
    assert played(page, 30.0) == "failed"
    assert played(page, 20.0) == "can't tell"


def start(shown: str) -> str:
    """Readings of the first minutes, which tell nothing."""
    return "\n".join(f"{minute} min, {shown}, 20 °C" for minute in (0, 1, 2))


def test_the_low_pressure_air_test_is_played_through() -> None:
    """150 mbar for 120 min, by a gauge that shows 1 mbar; a coarser one tells nothing."""
    page = page_of_test(heron("EU", "SI"))
    page.set(rule="dry test 150 mbar", step=100.0, readings=start("15 kPa"))
    assert page.problem == "" and any("splinters" in c.text for c in page.chapter.cautions)
    assert played(page, 0.0) == "passed"
    assert played(page, 0.5) == "failed"
    assert played(page, 0.1) == "can't tell"
    page.set(step=1000.0)
    assert played(page, 0.0) == "can't tell"


def test_what_the_recreational_vehicles_standard_asks_is_not_offered() -> None:
    """NFPA 1192's own test was not read: no rule bears its name, and the sheet says so."""
    build = heron("US", "US")
    assert not [r for r in rules_of(build, "test_rules") if "1192" in r or "A119" in r]
    said = " ".join(place_chapter(Answers(build)).not_computed)
    assert "NFPA 1192" in said and "was not read" in said


@pytest.mark.parametrize("region, units, foreign", [
    ("US", "US", "EN 806-4 A"), ("EU", "SI", "air 50 psi"), ("AU-NZ", "SI", "EN 806-4 A"),
])  # fmt: skip
def test_only_the_region_s_rules_are_offered(region: str, units: str, foreign: str) -> None:
    page = page_of_test(heron(region, units))
    usual = page.values["rule"]
    with contextlib.suppress(ValueError, TraitError):
        page.set(rule=foreign)
    assert page.values["rule"] == usual


STRIPS = [
    # region, way, mg/L that passes, fails and can't be told; the same when it is over, if read
    ("US", "camper rule", (55.0, 30.0, 48.0), None),
    ("US", "camper rule in an hour", (110.0, 60.0, 96.0), None),
    ("US", "short soak with residual", (210.0, 100.0, 192.0), 6.0),
    ("UK", "one hour with 30 left", (55.0, 30.0, 48.0), 35.0),
    ("EU", "plastics half a day", (55.0, 30.0, 48.0), None),
    ("EU", "hydrogen peroxide", (160.0, 90.0, 144.0), None),
    ("AU-NZ", "tank of a water carrier", (5.5, 3.0, 4.8), None),
]
"""Ways of each region: AS/NZS 3500 asks for none that is known here, so a council's guidance."""


@pytest.mark.parametrize("region, way, strips, after", STRIPS)
def test_each_region_s_disinfection_is_played_through(
    region: str, way: str, strips: tuple[float, ...], after: float | None
) -> None:
    build = heron(region, "US" if region == "US" else "SI")
    page = dose_worksheet(build)
    agent = agents_of(build, rules_of(build, "disinfection_rules")[way])[0]
    page.set(way=way, chlorine=agent)
    assert page.problem == ""
    for strip, result in zip(strips, ("passed", "failed", "can't tell"), strict=True):
        over = 0.0 if after is None else after
        page.set(strip=f"{strip} mg/L", strip_after=f"{over} mg/L")
        assert page.problem == "" and page.result[1][0] == result, (strip, page.result[1])


def test_less_than_thirty_left_is_done_again() -> None:
    """BS 8558: 30 mg/L and more at every outlet when the hour is over."""
    page = dose_worksheet(heron("UK", "SI"))
    page.set(strip="50 mg/L", strip_after="20 mg/L")
    assert page.result[1][0] == "failed" and "do it again" in page.result[1][1]


def test_no_strip_tells_nothing() -> None:
    page = dose_worksheet(heron("UK", "SI"))
    assert page.problem == "" and page.result[1][0] == "can't tell"
    assert "no strip was read when the time began" in page.result[1][1]
    page.set(strip="much")
    assert "the strip needs" in page.problem


def test_chlorine_is_refused_where_the_way_is_by_peroxide() -> None:
    page = dose_worksheet(heron("EU", "SI"))
    page.set(way="hydrogen peroxide")
    assert "hydrogen peroxide is done with hydrogen peroxide" in page.problem
