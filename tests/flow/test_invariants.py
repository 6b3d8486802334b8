"""What must hold for any van: order and names change nothing, wider tubes weaken nothing, and
nothing jumps unless a state says so."""

from __future__ import annotations

import random
import re
from collections.abc import Iterator

import numpy as np
import pytest
from pytest import approx

from tests.cases import builds
from tests.flow.random_builds import SPARES, random_build
from vanplumb import example
from vanplumb.flow.changed_build import vary
from vanplumb.flow.engine import Flow
from vanplumb.flow.moment import Moment
from vanplumb.van import loads
from vanplumb.van.kinds import pumps

COUNT = builds(12, 240)
BLOCKS = 4
TRICKLE = 5e-7
"""m³/s: less than half a gram a second has more than one steady state."""


def seeds(block: int) -> range:
    return range(block * COUNT // BLOCKS, (block + 1) * COUNT // BLOCKS)


def moments(flow: Flow) -> Iterator[Moment]:
    opens = [(f,) for f in flow.fixtures] + [flow.fixtures]
    batch = flow.batch(opens)
    return (batch.moment(i) for i in range(len(opens)))


def shuffled(text: str, rng: random.Random) -> str:
    """The same build with its blocks in another order."""
    head, *blocks = re.split(r"\n(?=\[\[)", text)
    rng.shuffle(blocks)
    return "\n".join([head, *blocks])


def same(one: Moment, other: Moment, names: dict[str, str], seed: int) -> None:
    assert one.found == other.found, seed
    if not one.found:
        return
    for name, fixture in one.fixtures.items():
        twin = other.fixtures[names.get(name, name)]
        if max(fixture.flow, twin.flow) < TRICKLE:
            continue  # moved by warm columns alone: where it began to look decides which way
        assert twin.flow == approx(fixture.flow, rel=2e-4, abs=2e-9), (seed, one.open, name)
        if fixture.flow > 1e-6:
            assert twin.temperature == approx(fixture.temperature, abs=0.05), (seed, one.open)


@pytest.mark.parametrize("block", range(BLOCKS))
def test_the_order_of_blocks_changes_no_answer(block):
    for seed in seeds(block):
        text = random_build(seed)
        flow, other = Flow(loads(text)), Flow(loads(shuffled(text, random.Random(seed))))
        twins = {m.open: m for m in moments(other)}
        found = {frozenset(k): v for k, v in twins.items()}
        for moment in moments(flow):
            same(moment, found[frozenset(moment.open)], {}, seed)


def test_a_shut_off_between_two_sizes_of_tube_is_the_same_whichever_run_is_said_first():
    text = random_build(132)
    flow, other = Flow(loads(text)), Flow(loads(shuffled(text, random.Random(132))))
    beside = [r.tube for r in flow.build.run if "main valve" in (r.start, r.end)]
    assert len(set(beside)) == 2
    valve, twin = (f.made.net.link("main valve") for f in (flow, other))
    assert valve.diameter == twin.diameter


def test_water_that_hardly_moves_is_found_in_either_order():
    """By its weight alone, through a valve that turns by itself: it was found in one order only."""
    text = random_build(235)
    flow, other = Flow(loads(text)), Flow(loads(shuffled(text, random.Random(235))))
    one, twin = flow.solve(["fixture 2"]), other.solve(["fixture 2"])
    assert one.found and one.fixtures["fixture 2"].flow > TRICKLE
    same(one, twin, {}, 235)


@pytest.mark.parametrize("block", range(BLOCKS))
def test_a_name_changed_changes_no_answer(block):
    for seed in seeds(block):
        text = random_build(seed)
        names = list(dict.fromkeys(re.findall(r'^name = "([^"]+)"$', text, re.MULTILINE)))
        named = [n for n in names if not re.match(r"Random|z\d", n)]
        news = {n: f"part {99 - i} of it" for i, n in enumerate(named)}
        other = text
        for old, new in sorted(news.items(), key=lambda p: -len(p[0])):
            other = re.sub(rf'"{re.escape(old)}(?=["\.])', f'"{new}', other)
        flow = Flow(loads(text))
        found = {frozenset(m.open): m for m in moments(Flow(loads(other)))}
        for moment in moments(flow):
            same(moment, found[frozenset(news[n] for n in moment.open)], news, seed)


@pytest.mark.parametrize("block", range(BLOCKS))
def test_parts_that_feed_nothing_change_no_answer(block):
    for seed in seeds(block):
        text = random_build(seed)
        found = {m.open: m for m in moments(Flow(loads(text + SPARES)))}
        for moment in moments(Flow(loads(text))):
            same(moment, found[moment.open], {}, seed)


@pytest.mark.parametrize("seed", [110, 432])
def test_a_heater_that_no_run_leads_to_turns_no_valve(seed):
    """With every burner out, valves that turn by themselves ask for heat, and water that passes
    through an idle one goes by how it stands.  A spare store counted as hot there."""
    text = random_build(seed)
    found = {m.open: m for m in moments(Flow(loads(text + SPARES)))}
    for moment in moments(Flow(loads(text))):
        twin = found[moment.open]
        same(moment, twin, {}, seed)
        for name, link in moment.links.items():
            assert twin.links[name].flow == approx(link.flow, rel=1e-6, abs=1e-9), (seed, name)


@pytest.mark.parametrize("block", range(BLOCKS))
def test_a_wider_tube_weakens_no_fixture_that_is_open_alone(block):
    """Each run in turn is made of 3/4 in tube; taps stay as they were set.

    All runs state more adapters and tees than any of them needs: a tube that other fittings have
    to join may well weaken what is behind it.  Where the pump cycles, less on its way is felt at
    its cut-in: over the whole cycle it lingers less near its cut-out, and the mean may be lower
    (see ``test_more_volts_never_draw_more_from_a_pump_that_cycles_anyway``).
    """
    stated = r'\1\nfittings = { "insert adapter" = 8, "insert tee branch" = 3 }'
    for seed in seeds(block):
        flow = Flow(loads(re.sub(r"^(rise = .*)$", stated, random_build(seed), flags=re.M)))
        rng = random.Random(seed)
        count = len(flow.build.run)
        alone = [(name,) for name in flow.fixtures]
        cut_in = min([float(pumps.switch(flow.build, p)[0]) for p in flow.build.pump], default=0.0)
        narrow = flow.batch(alone)
        for number in rng.sample(range(count), min(3, count)):
            wide = Flow(vary(flow.build, {f"run.{number + 1}.tube": "PEX 3/4 in"}), flow.positions)
            wider = wide.batch(alone)
            for i, name in enumerate(flow.fixtures):
                one, other = narrow.moment(i), wider.moment(i)
                if any(p.cycling for m in (one, other) for p in m.pumps.values()):
                    one, other = (f.solve([name], pump_pressure=cut_in) for f in (flow, wide))
                if not (one.found and other.found):
                    continue
                before, after = one.fixtures[name], other.fixtures[name]
                if abs(after.temperature - before.temperature) > 0.5:
                    continue  # the heater's least flow was passed: a state
                if crosses(other) and turned_by_itself(flow, one, other):
                    continue  # cold comes into the hot line: a valve answers it and throttles
                assert after.flow >= before.flow * (1 - 2e-3) - 1e-9, (seed, number + 1, name)


def crosses(moment: Moment) -> bool:
    """Whether water runs backwards through a mixing valve of another fixture, without checks."""
    return any(k.kind == "mixing valve" and k.flow < -1e-9 for k in moment.links.values())


def turned_by_itself(flow: Flow, one: Moment, other: Moment) -> bool:
    acting = [n for n, by in zip(flow.made.mixers, flow.made.self_acting, strict=True) if by]
    return any(abs(one.positions[n] - other.positions[n]) > 1e-3 for n in acting)


def test_a_stub_is_swept_like_any_length():
    path, stubs = "manifold.cold manifold.stub", np.array([0.02, 0.1, 0.4])
    frame = Flow(example("dipper")).sweep({path: stubs}, open=["sink"], grid=False)
    [column] = [c for c in frame if c.startswith("sink flow")]
    alone = [Flow(vary(example("dipper"), {path: stub})).solve(["sink"]) for stub in stubs]
    unit = frame[column][0] / alone[0].fixtures["sink"].flow
    assert list(frame[column]) == approx([unit * one.fixtures["sink"].flow for one in alone])
    assert frame[column][2] < frame[column][0]


SWEEPS = (
    ("dipper", "pump.pump.supply_voltage", 9.5, 14.4, ["sink"]),
    ("heron", "run.3.length", 0.05, 20.0, ["shower"]),
    ("dipper", "strainer.strainer.clogged_share", 0.0, 0.97, ["shower"]),
)
MORE = (
    ("dipper", "pump.pump.supply_voltage", 9.5, 14.4, ["shower", "basin"]),
    ("heron", "pump.pump.supply_voltage", 9.5, 14.4, ["basin"]),
    ("dipper", "run.1.length", 0.05, 8.0, ["sink", "shower"]),
    ("heron", "van.altitude", 0.0, 4000.0, ["shower"]),
    ("heron", "heater.heater.setpoint", 313.15, 333.15, ["laundry tub"]),
    ("dipper", "accumulator.accumulator.precharge", 1.0e5, 3.0e5, ["sink"]),
    ("dipper", "tank.fresh.fill_share", 0.1, 1.0, ["shower"]),
)
ALL = (*SWEEPS, *(pytest.param(*one, marks=pytest.mark.roaming) for one in MORE))


@pytest.mark.parametrize("name, path, low, high, open", ALL, ids=lambda v: str(v)[:40])
def test_fine_sweeps_have_no_jump_that_no_state_announces(name, path, low, high, open):
    """Twice as fine a sweep has steps half as great, but where a pump changes what it does."""
    flow = Flow(example(name))

    def greatest(count: int) -> float:
        frame = flow.sweep({path: np.linspace(low, high, count)}, open=open, grid=False)
        assert frame["found"].all()
        worst = 0.0
        states = frame[[c for c in frame if c.endswith((" cycling", " starved"))]].to_numpy()
        same = np.all(states[1:] == states[:-1], axis=1)
        for fixture in open:
            [column] = [c for c in frame if c.startswith(f"{fixture} flow")]
            steps = np.abs(np.diff(frame[column])) / frame[column].max()
            usual = float(steps[same].max())
            assert np.all(steps[~same] < 0.01 + usual)  # a change of state, on top of a step
            worst = max(worst, usual)
        return worst

    coarse, fine = greatest(101), greatest(801)
    assert fine < max(coarse / 3, 2e-4)
