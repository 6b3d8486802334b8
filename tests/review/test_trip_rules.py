"""Each rule of the days and nights speaks on a build that it must speak on, and on no other."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from vanplumb.pack import Pack, example
from vanplumb.review import RULES, Finding
from vanplumb.van import Build

MINE = {name for name, check in RULES.items() if check.__module__ == "vanplumb.review.trip"}
DANGEROUS = {
    "flow_through_overheats",
}


def quiet() -> Build:
    """Dipper with a little less crew: nothing of this subject is wrong with it."""
    build = example("dipper")
    return replace(build, crew=replace(build.crew, people=1))


def found(build: Build) -> list[Finding]:
    pack = Pack(build)
    return [f for name in sorted(MINE) for f in RULES[name](pack)]


def with_crew(people: int, nights: int = 3) -> Build:
    build = example("dipper")
    return replace(build, crew=replace(build.crew, people=people, nights=nights))


def first(part: str, **changes: object) -> Build:
    """The quiet build with its first part of a kind changed."""
    build = quiet()
    parts = getattr(build, part)
    changed = (replace(parts[0], **changes), *parts[1:])
    return replace(build, **{part: changed})


def thirsty_waits() -> Build:
    """Enough for the uses, not for what runs off: long thick runs to the taps."""
    build = example("dipper")
    runs = tuple(
        replace(r, length=40.0, tube="PEX 1/2 in") if r.start.startswith("hot manifold.") else r
        for r in build.run
    )
    uses = tuple(replace(u, temperature=311.0) for u in build.use)
    return replace(build, run=runs, use=uses, limits=replace(build.limits, wait=None))


def small_grey() -> Build:
    build = quiet()
    grey = replace(build.tank[1], height=0.05)
    return replace(build, tank=(build.tank[0], grey))


def hungry_battery() -> Build:
    build = quiet()
    assert build.battery is not None
    return replace(build, battery=replace(build.battery, other_load=400.0))


def little_fuel() -> Build:
    build = quiet()
    assert build.fuel is not None
    return replace(build, fuel=replace(build.fuel, mass=0.05))


def three_showers() -> Build:
    build = quiet()
    uses = tuple(
        replace(u, per_person=None, per_day=4.0) if u.name == "shower" else u for u in build.use
    )
    return replace(build, use=uses, heater=(replace(build.heater[0], burner_power=600.0),))


def cold_van() -> Build:
    build = example("wren")
    return replace(build, use=tuple(replace(u, temperature=313.0) for u in build.use))


def icy(**van: float) -> Build:
    build = quiet()
    return replace(build, van=replace(build.van, outside=258.15, outside_day=263.15, **van))


def icy_heron() -> Build:
    """A van without a board, which need not be looked for."""
    build = example("heron")
    return replace(build, van=replace(build.van, outside=258.15, outside_day=263.15))


def hot_runs_outside() -> Build:
    build = icy()
    runs = tuple(replace(r, place="outside") if "hot" in r.start else r for r in build.run)
    return replace(build, run=runs)


def shut_zone() -> Build:
    """Nobody opened a zone, and a tap behind it is meant to be used."""
    build = quiet()
    return replace(build, zone=tuple(replace(zone, opening=0.0) for zone in build.zone))


def nobody_hoses() -> Build:
    build = example("dipper")
    kept = tuple(use for use in build.use if not use.fixture.startswith("hose reel"))
    assert len(kept) < len(build.use)
    return replace(build, use=kept)


CASES: list[tuple[str, Callable[[], Build]]] = [
    ("trip_runs_dry", thirsty_waits),
    ("grey_full_first", small_grey),
    ("water_comes_lukewarm", three_showers),
    (
        "hot_water_comes_late",
        lambda: replace(quiet(), limits=replace(quiet().limits, wait=2.0)),
    ),
    ("hot_water_comes_late", thirsty_waits),
    ("warm_water_from_nowhere", cold_van),
    ("battery_goes_flat", hungry_battery),
    ("fuel_runs_out", little_fuel),
    ("run_freezes_at_night", icy),
    ("hot_line_freezes_on_the_stay", hot_runs_outside),
    ("tap_fed_by_no_tank", shut_zone),
    ("tap_that_no_use_is_planned_for", nobody_hoses),
    ("water_stays_in_frost", icy_heron),
    ("tank_stands_in_frost", icy_heron),
    (
        "flow_through_overheats",
        lambda: first(
            "heater", kind="flow-through", power_least=9e3, burner_power=16e3, flow_least=2e-5
        ),
    ),
]


def test_a_quiet_build_is_left_alone() -> None:
    assert [(f.rule, f.where) for f in found(quiet())] == []


def test_the_tap_that_nobody_means_to_use_is_named() -> None:
    (one,) = RULES["tap_that_no_use_is_planned_for"](Pack(nobody_hoses()))
    assert one.what.startswith("No use is planned for hose reel:") and one.where == "hose reel"


def test_every_rule_has_a_case() -> None:
    assert {name for name, _ in CASES} == MINE


@pytest.mark.parametrize("name, build", CASES, ids=[f"{n}-{i}" for i, (n, _) in enumerate(CASES)])
def test_rule_speaks_with_value_limit_source_and_advice(
    name: str, build: Callable[[], Build]
) -> None:
    hits = list(RULES[name](Pack(build())))
    assert hits
    for one in hits:
        assert one.severity == ("CAUTION" if name in DANGEROUS else "NOTICE")
        for system in ("US", "SI"):
            value, limit = one.shown(system)
            assert value and limit
        assert str(one.source) and one.advice.endswith(".") and one.what.endswith(".")


def test_a_tank_short_by_its_uses_is_said_once() -> None:
    """The budget's rule speaks then, and this one holds its tongue."""
    pack = Pack(with_crew(6, nights=6))
    assert list(RULES["water_short_for_the_stay"](pack))
    assert not list(RULES["trip_runs_dry"](pack))


def test_without_an_accumulator_only_one_rule_speaks_of_growth() -> None:
    build = replace(quiet(), accumulator=())
    runs = tuple(r for r in build.run if r.end != "accumulator")
    pack = Pack(replace(build, run=runs))
    assert list(RULES["no_room_to_grow"](pack))
    assert not list(RULES["relief_opens_at_each_heating"](pack))


def test_a_build_that_cannot_be_played_still_gets_its_review() -> None:
    build = first("heater", volume=None)
    assert isinstance(Pack(build).findings, tuple)


def test_only_tanks_that_the_cabin_does_not_warm_meet_frost() -> None:
    said = RULES["tank_stands_in_frost"]
    build = icy_heron()
    assert [f.where for f in said(Pack(build))] == ["grey"]  # underfloor; the fresh one is not
    assert not list(said(Pack(replace(build, van=replace(build.van, outside=274.0)))))
