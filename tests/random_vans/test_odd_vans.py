"""Vans that are odd each in one way: worked out, or refused with the line, and told in words."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest

from vanplumb.chapters.hand_over import owner_paper, shop_card
from vanplumb.pack import Pack, example
from vanplumb.review import RULES
from vanplumb.shop.test.pressure_test import LEAST, hardly_pressed, plan_test
from vanplumb.trip.play.outcome import LUKEWARM
from vanplumb.van import BuildError, loads
from vanplumb.words.report import Chapter
from vanplumb.words.tables import example_builds

from .vans import make, text_of

HEAD = 'format = 1\n[van]\nname = "Snipe"\nunits = "SI"\noutside = "-12 °C"\n'
TANK = (
    '[[tank]]\nname = "fresh"\nshape = "box"\nlength = "1 m"\nwidth = "0.4 m"\nheight = "0.3 m"\n'
    'base_height = "1 m"\n'
)
TAP = '[[fixture]]\nname = "tap"\nkind = "basin tap"\n'
USE = '[[use]]\nname = "wash"\nfixture = "tap"\nper_day = 3\nduration = "20 s"\n'
PUMP = '[[pump]]\nname = "pump"\nkind = "foot"\ncurve = "foot pump"\n'


def run(start: str, end: str, more: str = "") -> str:
    return f'[[run]]\nfrom = "{start}"\nto = "{end}"\ntube = "PE-X 16x2.0"\nlength = "2 m"\n{more}'


GRAVITY = HEAD + TANK + TAP + USE + run("fresh", "tap", 'rise = "-0.5 m"\n')
FOOT = HEAD + TANK + PUMP + TAP + USE + run("fresh", "pump") + run("pump", "tap")
SHUT = (
    HEAD + TANK + TAP + USE + '[[shut_off]]\nname = "stop"\nopening = 0\n'
    + run("fresh", "stop") + run("stop", "tap")
)  # fmt: skip
BEGUN = {
    "van alone": HEAD,
    "a tank": HEAD + TANK,
    "a fixture": HEAD + TAP,
    "parts without runs": HEAD + TANK + PUMP + TAP,
}


HOT = (
    HEAD.replace("-12", "4") + TANK + TAP
    + '[[pump]]\nname = "pump"\nkind = "electric"\ncurve = "12 V 9 L/min 2.0 bar"\n'
    + '[[tee]]\nname = "tee"\n'
    + '[[heater]]\nname = "heater"\nkind = "storage"\nvolume = "6 L"\nburner_power = "1 kW"\n'
    + 'fuel = "propane"\nsetpoint = "60 °C"\nrelief = "7 bar"\n'
    + run("fresh", "pump") + run("pump", "tee") + run("tee", "heater")
    + run("heater", "tap.hot") + run("tee", "tap.cold")
)  # fmt: skip


def hot(*uses: str, **changed: str) -> Pack:
    """A small van with a heater, its uses as (name, minutes) at 19:00, some values changed."""
    text = HOT + "".join(
        f'[[use]]\nname = "{name}"\nfixture = "tap"\nper_day = 1\nduration = "{minutes} min"\n'
        'temperature = "40 °C"\nhours = ["19:00"]\n'
        for name, minutes in (u.split(":") for u in uses)
    )
    for key, new in changed.items():
        old = next(line for line in text.splitlines() if line.startswith(f"{key} = "))
        text = text.replace(old, f'{key} = "{new}"', 1)
    return Pack(loads(text))


def test_a_relief_valve_below_the_supply_is_a_danger_and_the_rest_goes_on() -> None:
    pack = hot("wash:1", relief="1.5 bar")
    first = pack.all_findings[0]
    assert (first.severity, first.rule) == ("DANGER", "relief_stands_open")
    assert "stands open all the time" in first.what
    assert pack.failures == () and set(pack.tables) == set(hot("wash:1").tables)
    assert not any("Anything" in line for c in pack.chapters for line in c.not_computed)


def test_of_draws_that_overlap_the_one_that_was_lukewarm_is_named() -> None:
    """The first empties the store; the other, at the same minute, gets what is left."""
    pack = hot("wash:0.2", "bath:25", volume="12 L")
    outcome = pack.trip.planned
    cool = {
        outcome.plant.uses[u].name
        for u, s in zip(outcome.draws.use[0], outcome.state[0], strict=True)
        if s == LUKEWARM
    }
    assert cool == {"bath"} and (outcome.draws.time[0] == 19 * 3600.0).sum() >= 2
    named = [f.where for f in RULES["water_comes_lukewarm"](pack)]
    assert named == ["bath"]


def test_a_small_store_never_gives_water_hotter_than_its_thermostat_lets_it_be() -> None:
    """Much power on little water that is drawn slowly: it is warm long before a step is over."""
    text = HOT.replace(TAP, f'{TAP}flow = "0.5 L/min"\n').replace("6 L", "3 L")
    text = text.replace('"1 kW"', '"9 kW"') + USE.replace('"20 s"', '"10 min"')
    outcome = Pack(loads(text + 'temperature = "65 °C"\n')).trip.planned
    assert np.nanmax(outcome.warmth) > 325.0
    assert outcome.warmth_gap().max() < 1e-6 and outcome.heat_gap().max() < 1e-9


@pytest.mark.parametrize("text", BEGUN.values(), ids=BEGUN)
def test_a_file_only_begun_says_first_that_no_water_comes(text: str) -> None:
    pack = Pack(loads(text))
    first = pack.all_findings[0]
    assert first.rule == "no_water_at_any_tap" and first.opens
    assert pack.chapters
    assert {f.what.partition(". ")[2] for f in pack.failures} <= {
        "The build names no fixture.", "The build names nothing that water comes from.",
    }  # fmt: skip
    assert not any(f.rule == "water_short_for_the_stay" for f in pack.findings) or "tank" in text


def test_a_van_that_is_shut_off_says_it_before_all_else() -> None:
    pack = Pack(loads(SHUT))
    first = pack.all_findings[0]
    assert first.rule == "no_water_at_any_tap" and "No water comes out of any tap" in first.what
    assert "no_water_at_any_tap" not in {f.rule for f in Pack(loads(GRAVITY)).findings}


@pytest.mark.parametrize(
    "old, new, told",
    [
        ('day_start = "08:00"', 'day_start = ""', r'line \d+: shop.day_start needs a clock time'),
        ('start = "2025-04-07 08:00"', 'start = "9999-12-31 08:00"', r"line \d+: shop.start must"),
        ('length = "0.40 m"', 'length = "1e300 m"', r"line \d+: .*length"),
        ('to = "heater"', 'to = ""', r"line \d+: run.*to needs a name"),
    ],
)  # fmt: skip
def test_what_can_not_be_is_refused_with_its_line(old: str, new: str, told: str) -> None:
    text = example_builds()["heron"].read_text(encoding="utf-8")
    assert old in text
    with pytest.raises(BuildError, match=told):
        loads(text.replace(old, new, 1))


@pytest.mark.parametrize(
    "switch, told",
    [
        ('cut_out = "0 bar"', "pump.pump.cut_out must be 0.10 bar or more"),
        ('cut_in = "3 bar"', "pump.pump.cut_in must be less than the cut-out of its curve"),
        ('cut_out = "0.2 bar"', "pump.pump.cut_out must be more than the cut-in of its curve"),
    ],
)
def test_a_pressure_switch_that_never_lets_its_pump_run_is_refused(switch: str, told: str) -> None:
    curve = 'curve = "12 V 9 L/min 2.0 bar"\n'
    with pytest.raises(BuildError, match=rf"line \d+: {told}"):
        loads(HOT.replace(curve, f"{curve}{switch}\n"))


def test_a_use_may_have_any_name() -> None:
    pack = hot("√:1")
    assert [c.title for c in pack.chapters if "Anything" in " ".join(c.not_computed)] == []
    assert "√" in [u.name for u in pack.trip.plant.uses]


def test_a_pin_beyond_the_world_is_told_in_words() -> None:
    text = example_builds()["dipper"].read_text(encoding="utf-8")
    pin = '[board]\npin = ["cold manifold at 10 mm, 1e300 m"]'
    pack = Pack(loads(text.replace("[board]", pin, 1)))
    assert ["1e300 m" in said and "or less" in said for said in pack.board.needs.problems] == [True]


def words(chapter: Chapter) -> Iterator[str]:
    """Every sentence of a chapter that tells somebody to do something."""
    yield from (c.text for c in chapter.cautions)
    for table in chapter.grids:
        for row in table.rows:
            yield from (str(cell) for cell in (row if isinstance(row, tuple) else (row,)))


@pytest.mark.parametrize(
    "text, not_there",
    [
        (GRAVITY, ("heater", "pump runs", "run the pump", "work the pump", "accumulator", "hot")),
        (FOOT, ("heater", "accumulator", "cut-out", "switch", "fuse out", "shore")),
    ],
    ids=["gravity", "foot pump"],
)
def test_nobody_is_told_to_handle_what_the_van_has_not(
    text: str, not_there: tuple[str, ...]
) -> None:
    pack = Pack(loads(text))
    papers = (owner_paper(pack.shop), shop_card(pack.shop))
    told = [c for c in pack.chapters if c.key in ("shop", "frost", "winter")]
    for chapter in (*papers, *told):
        for said in words(chapter):
            assert not [word for word in not_there if word in said], said


@pytest.mark.parametrize("text", [GRAVITY, FOOT], ids=["gravity", "foot pump"])
def test_where_hardly_any_pressure_is_the_test_is_one_of_its_own(text: str) -> None:
    """By a hand pump, at a pressure that a gauge tells, with the tank taken off."""
    build = loads(text)
    plan = plan_test(build)
    assert hardly_pressed(build) and plan.pressure == LEAST["SI"] > 1.2 * plan.working
    assert any("take the first run off" in step for step in plan.steps)
    assert not any("0.0" in step.replace("1.00", "") for step in plan.steps)
    assert not hardly_pressed(example("heron"))
    strong = plan_test(example("heron"))
    assert not any("hand pump for tests" in step for step in strong.steps)


def test_a_film_of_water_that_stands_nowhere_is_no_pocket() -> None:
    """A van on whose board a passage holds less water than a level can tell."""
    build = loads(text_of(make(2058)))
    pack = Pack(build)
    assert all(f.rule == "" and f.what for f in RULES["board_keeps_water"](pack))
    assert all(pocket.volume > 0 for pocket in pack.shop.draining.pockets)
