"""What thousands of variants cost, in yards, with the budget beside them."""

from __future__ import annotations

import time

import numpy as np
import pytest

from vanplumb.explore import explore, meet, span
from vanplumb.explore.unbeaten import unbeaten
from vanplumb.pack import example

from .bench import report_time

CHOICES = {
    "tank.fresh.height": span("8 in", "14 in", 14),
    "heater.heater.volume": ["2.5 gal", "4 gal", "6 gal", "10 gal"],
    "heater.heater.setpoint": ["120 °F", "140 °F", "160 °F"],
    "pump.pump.curve": ["12 V 2.0 gpm 30 psi", "12 V 2.8 gpm 40 psi", "12 V 3.4 gpm 50 psi"],
    ("run.14.tube", "run.21.tube"): ["PEX-B 3/8 in", "PEX-B 1/2 in", "PEX-B 3/4 in"],
    "fixture.shower.flow": ["1.0 gpm", "1.2 gpm", "1.6 gpm"],
    "crew.people": [1, 2, 3, 4, 5],
}


def test_twenty_thousand_variants_with_every_result() -> None:
    build = example("dipper")
    start = time.process_time()
    variants = explore(build, CHOICES)
    whole = time.process_time() - start
    assert variants.size >= 20_000
    report_time(f"{variants.size} variants, {len(variants.measures)} results each", whole, 50)
    start = time.process_time()
    chosen = variants.unbeaten(["weight", "nights", "wait shower", "flow shower"])
    report_time(f"{len(chosen)} of them that nothing beats", time.process_time() - start, 20)
    start = time.process_time()
    meet(variants, ["wait at shower <= 8 s", "nights >= 3", "weight <= 200 kg"])
    report_time("three targets and their prices", time.process_time() - start, 5)


@pytest.mark.parametrize("objectives", [2, 3, 4])
def test_a_hundred_thousand_variants_of_which_none_beats_another(objectives: int) -> None:
    """The dearest case: all lie on a ball."""
    costs = np.abs(np.random.default_rng(1).normal(size=(100_000, objectives)))
    costs /= np.linalg.norm(costs, axis=1)[:, None]
    start = time.process_time()
    assert unbeaten(costs).all()
    whole = time.process_time() - start
    report_time(f"100 000 variants, {objectives} objectives, none beaten", whole, 20)


def test_variants_that_share_nothing_for_the_flow() -> None:
    """The dear case: every variant flows differently at the shower."""
    build, count = example("dipper"), 20_000
    heights = np.linspace(0.2, 0.4, count)
    start = time.process_time()
    explore(build, {"tank.fresh.height": heights}, ["weight", "nights", "flow shower"])
    whole = time.process_time() - start
    print(f"\n{count} different flows at one fixture: {whole:.1f} s")
