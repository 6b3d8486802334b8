"""A plumber's list for the board: each rule speaks on one board and is silent on another."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from tests.board.boards import build_of
from vanplumb.board.plan import BoardPlan
from vanplumb.lists import Lists
from vanplumb.review import RULES
from vanplumb.review import mounting as rules
from vanplumb.van.model import Build
from vanplumb.van.outlets import Heater
from vanplumb.van.parts import Pump, Run, ShutOff

PEX = "PEX 1/2 in"


def found(rule: Any, build: Build, plan: BoardPlan | None = None) -> list[Any]:
    plan = plan or BoardPlan(build)
    return list(rule(SimpleNamespace(build=build, board=plan, lists=Lists(build, plan))))


def with_heater(build: Build, zone: int) -> Build:
    """The tap of a zone replaced by a heater."""
    runs = tuple(
        replace(run, end="heater.cold") if run.start == f"cold manifold.zone {zone}" else run
        for run in build.run
    )
    return replace(build, run=runs, heater=(Heater(name="heater", kind="storage", setpoint=333.0),))


def with_isolators(build: Build) -> Build:
    """A shut-off in the run to each manifold."""
    names = {f"{m.name} valve": m.name for m in build.manifold}
    runs = [
        replace(run, end=f"{run.end} valve") if run.end in names.values() else run
        for run in build.run
    ]
    runs += [Run(start=v, end=m, tube=PEX, length=0.3) for v, m in names.items()]
    return replace(build, run=tuple(runs), shut_off=tuple(ShutOff(name=v) for v in names))


MIXED = build_of(3, 2, mixing=True)


def test_hot_is_laid_out_left_of_cold_or_right_where_the_build_says() -> None:
    for side in ("left", "right"):
        build = build_of(3, 2, mixing=True, hot_side=side)
        plan = BoardPlan(build)
        assert plan.problems == [] and found(rules.hot_not_on_its_side, build, plan) == []
        by_port = {t.other[1]: t for link in plan.layout.links for t in link.tubes[-1:]}
        hot, cold = (by_port[port].points[-1][0] for port in ("hot", "cold"))
        assert (hot < cold) == (side == "left")


def test_hot_zones_stand_in_the_order_of_the_cold_ones_to_the_same_taps() -> None:
    """Whatever order the file has: taps 3, 2 and 1 on the hot manifold's zones 1, 2 and 3."""
    build = build_of(4, 3)
    fixture = {f"hot manifold.zone {n}": f"cold tap {4 - n}.hot" for n in (1, 2, 3)}
    runs = tuple(
        replace(run, end=fixture.get(run.start, run.end.replace(".inlet", ".cold")))
        for run in build.run
    )
    build = replace(build, run=runs)
    plan = BoardPlan(build)
    assert plan.problems == []
    x = {p.zone: p.x for p in plan.layout.placed if p.zone}
    for one, other in ((1, 2), (2, 3)):
        cold = x[f"cold manifold.zone {one}"] < x[f"cold manifold.zone {other}"]
        hot = x[f"hot manifold.zone {4 - one}"] < x[f"hot manifold.zone {4 - other}"]
        assert cold == hot


def test_hot_on_the_other_side_is_told() -> None:
    plan = BoardPlan(MIXED)
    other = replace(MIXED, board=replace(MIXED.board, hot_side="right"))
    told = found(rules.hot_not_on_its_side, other, BoardPlan(other, plan.state))
    assert len(told) == 1 and "hot comes in left of cold, not right of it" in told[0].what


@pytest.mark.parametrize("zone", [1, 3, 4])
def test_the_heaters_zone_is_laid_out_first_on_its_header(zone: int) -> None:
    build = with_heater(build_of(4), zone)
    plan = BoardPlan(build)
    assert plan.problems == [] and plan.state.rows[0].spots[0].zone == f"cold manifold.zone {zone}"
    assert found(rules.heater_zone_not_first, build, plan) == []


def test_a_heater_fed_behind_other_zones_is_told_unless_its_order_is_pinned() -> None:
    plan = BoardPlan(build_of(4))
    build = with_heater(build_of(4), 3)
    order = [s.zone for s in plan.state.rows[0].spots]
    assert order[0] != "cold manifold.zone 3"
    told = found(rules.heater_zone_not_first, build, BoardPlan(build, plan.state))
    assert len(told) == 1 and "comes before C3 zone 3, which feeds the heater" in told[0].what
    names = ", ".join(key.partition(".")[2] for key in order)
    pinned = replace(build, board=replace(build.board, pin=(f"cold manifold order {names}",)))
    assert found(rules.heater_zone_not_first, pinned, BoardPlan(pinned, plan.state)) == []


def test_each_valve_is_held_on_both_sides_unless_its_stub_is_too_short() -> None:
    assert found(rules.valve_not_held, build_of(4)) == []
    short = build_of(2, tube="PE-X 16x2.0", units="SI")
    told = found(rules.valve_not_held, short)
    # 50 mm less two insertions of 24 mm leave 2 mm; the clip takes 14 mm and has 1 mm to spare
    assert len(told) == 1 and "stub of C1 and C2" in told[0].what and "13 mm" in told[0].what
    long = replace(short, board=replace(short.board, clip_valves=True))
    plan = BoardPlan(long)
    assert found(rules.valve_not_held, long, plan) == []
    assert plan.problems == []
    stubs = [t for t in plan.layout.tubes if t.kind == "stub"]
    assert stubs and all(t.cut >= 63 * 10_000 for t in stubs)


def test_a_clip_lies_between_the_rings_and_is_bought_screwed_and_weighed() -> None:
    plan = BoardPlan(MIXED)
    lists = Lists(MIXED, plan)
    clips = {c.owner: c for c in plan.layout.clips}
    for tube in (t for t in plan.layout.tubes if t.kind == "stub"):
        clip = clips[f"{tube.owner} clip"]
        (ax, ay), (bx, by) = tube.points
        one, other = abs(clip.x - ax) + abs(clip.y - ay), abs(clip.x - bx) + abs(clip.y - by)
        half = clip.part.body[0].points[1][0]
        assert one / 1e4 >= tube.insertions[0] + half and other / 1e4 >= tube.insertions[1] + half
    line = lists.bill.line("clip 1/2 in")
    assert line.on_board == len(plan.layout.clips) > len(plan.state.rows[0].spots)
    per_run = lists.bill.line("clip 1/2 in").needed - line.on_board
    of_devices = sum(len(p.holes) for p in lists.headers.devices.values())
    holes = 2 * (line.on_board + per_run) + of_devices
    screws = [one for one in lists.bill.lines if one.kind == "screw"]
    assert sum(one.needed for one in screws) == holes
    assert line.total == pytest.approx(line.needed * 0.006)  # 6 g each, by the table


def test_a_manifold_that_nothing_shuts_off_is_told() -> None:
    told = found(rules.feed_without_isolator, build_of(2, 2))
    assert [f.where for f in told] == ["feed of cold manifold", "feed of hot manifold"]
    assert found(rules.feed_without_isolator, with_isolators(build_of(2, 2))) == []


def test_a_valve_that_comes_out_only_by_the_saw_is_told_with_the_union_that_helps() -> None:
    """Expansion joints don't open; push-fit ones do, and a union on both sides of a pump."""
    told = found(rules.part_without_union, MIXED)
    assert len(told) == 1 and "only if tube is cut at mixer" in told[0].what
    pin = '"mixer part mixing valve with union tails 1/2 in"'
    assert pin in told[0].advice
    hung = replace(MIXED, board=replace(MIXED.board, pin=(*MIXED.board.pin, pin.strip('"'))))
    assert found(rules.part_without_union, hung) == []
    plain, tailed = (Lists(one, BoardPlan(one)) for one in (MIXED, hung))
    nuts = [joint.name for joint in tailed.joints if joint.kind == "union"]
    assert nuts == [f"mixer {port}, union nut" for port in ("hot", "cold", "mixed")]
    assert len(tailed.joints) == len(plain.joints) + 3
    soft = build_of(2, 2, mixing=True, tube="PE-X 16x2.0", units="SI")
    assert found(rules.part_without_union, soft) == []


def test_the_union_that_is_offered_silences_the_rule_and_costs_the_joints_it_says() -> None:
    build = replace(
        build_of(2),
        pump=(Pump(name="pump", kind="electric", ends=(("inlet", "1/2 in NPT male plastic"),
                                                       ("outlet", "1/2 in NPT male plastic"))),),
    )  # fmt: skip
    feed = next(run for run in build.run if run.end == "cold manifold")
    runs = [replace(run, end="pump") if run is feed else run for run in build.run]
    runs.append(Run(start="pump", end="cold manifold", tube=PEX, length=1.0))
    build = replace(build, run=tuple(runs))
    told = found(rules.part_without_union, build)
    assert len(told) == 1 and "pump, inlet" in told[0].what and "pump, outlet" in told[0].what
    offers = re.findall(r"in run (\d+) puts in .*?, for (\d+) joints more", told[0].advice)
    said = [(int(n), int(more)) for n, more in offers]
    assert len(said) == 2
    before = len(Lists(build).joints)
    put = {n: replace(build.run[n - 1], fittings=(("union", 1),)) for n, _ in said}
    mended = replace(build, run=tuple(put.get(n, r) for n, r in enumerate(build.run, 1)))
    assert len(Lists(mended).joints) == before + sum(more for _, more in said)
    assert found(rules.part_without_union, mended) == []


def test_every_rule_of_the_list_has_its_case_here() -> None:
    text = Path(__file__).read_text(encoding="utf-8")
    own = [name for name, rule in RULES.items() if rule.__module__ == rules.__name__]
    assert len(own) == 5 and all(f"rules.{name.split('.')[-1]}" in text for name in own)
