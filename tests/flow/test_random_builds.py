"""Random builds from their files: each moment has an answer, or says in words why there is none."""

from __future__ import annotations

import random

import numpy as np
import pytest

from tests.cases import cases
from tests.flow.random_builds import random_build
from vanplumb.flow.engine import Flow
from vanplumb.van import loads

COUNT = cases(80, 1000)
KNOWN = (
    "every fixture is shut",
    "no steady state: a heater that starts at a flow",
    "no steady state: the burner of",
    "no steady state: warm and cold water in standing lines",
    "the water stands below the pickup",
    "can't reach the water",
    "gives no pressure",
    "is cut by its suction",
    "its suction is shut",
    "no water comes out of",
    "nothing pushes water",
)


@pytest.mark.parametrize("block", range(8))
def test_every_build_has_an_answer_or_a_reason(block):
    missing = 0
    for seed in range(block * COUNT // 8, (block + 1) * COUNT // 8):
        with np.errstate(all="raise"):
            missing += check(seed)
    # some four or five moments a build: at most one in twenty has no steady state
    assert missing <= COUNT // 8 // 4


def check(seed: int) -> int:
    """Raises AssertionError if a moment is neither closed nor explained; gives how many have no
    steady state."""
    missing = 0
    flow = Flow(loads(random_build(seed)))
    assert flow.problem == "", seed
    rng = random.Random(seed)
    opens = [(), flow.fixtures] + [
        tuple(f for f in flow.fixtures if rng.random() < 0.5) for _ in range(2)
    ]
    sources = [flow.source] * len(opens)
    if flow.made.shores:
        opens.append(flow.fixtures)
        sources.append("shore")
    batch = flow.batch(opens, sources)
    for i in range(len(opens)):
        moment = batch.moment(i)
        told = "; ".join(moment.reasons)
        for reason in moment.reasons:
            assert any(k in reason for k in KNOWN), (seed, reason)
        if not moment.found:
            assert "no steady state" in told, (seed, moment.open)
            missing += 1
            continue
        assert moment.imbalance < 1e-9, (seed, moment.open)
        worst = max((abs(k.left) for k in moment.links.values()), default=0.0)
        assert worst < 1e-9 * 6e5, (seed, moment.open, worst)
        for f in moment.fixtures.values():
            if f.open and f.flow < 1e-9:
                assert told, (seed, f.name)
            if f.flow > 1e-7:
                assert 273.0 < f.temperature < 373.15, (seed, f.name)
        for pump in moment.pumps.values():
            least = float(flow.made.net.link(pump.name).curve.inlet_least)
            if pump.flow > 1e-9:
                assert pump.inlet > least - 2.0, (seed, moment.open)
                assert pump.npsh > -1e-3, (seed, moment.open)
        assert all(abs(n.left) < 1e-9 for n in moment.nodes.values()), seed
    return missing


def test_a_build_is_the_same_whether_its_moments_are_solved_together_or_alone():
    for seed in (3, 8, 21):
        flow = Flow(loads(random_build(seed)))
        together = flow.batch([(), flow.fixtures]).moment(1)
        alone = flow.solve()
        for name in flow.fixtures:
            assert alone.fixtures[name].flow == pytest.approx(
                together.fixtures[name].flow, rel=1e-8, abs=1e-12
            )
