"""What a mixing valve's sides lose to other taps, against sums by hand and the whole network."""

from __future__ import annotations

from math import pi

import pytest

from vanplumb.flow.engine import Flow
from vanplumb.flow.mixing.check import side_losses, valve_checks
from vanplumb.pack import example

GPM, INCH = 3.785411784e-3 / 60, 0.0254


def test_the_hot_side_of_the_rinse_loses_what_a_tap_turned_to_hot_takes_more() -> None:
    """Plover: heater and the run behind it, with half of the rinse's 1.5 gpm and 1.5 gpm more.

    The runs to and from the heater by hand: 36 and 40 in of bore 0.475 in, each with K 8; f by
    Haaland's formula for a smooth wall, within 2 %, at Re 13 400 and 31 600, and a third of each.
    The kit scales its loss at the rated flow by the square, which is some percent off.
    """

    def loss(flow: float, factors: tuple[float, float]) -> float:
        speed = flow / (pi / 4 * (0.475 * INCH) ** 2)
        to, back = (f * length / 0.475 + 8 for f, length in zip(factors, (36, 40), strict=True))
        heater = 1e5 * (flow * 3600 / 1.5) ** 2 * 0.9832
        return (to * 999.0 + back * 983.2) * speed**2 / 2 + heater

    by_hand = loss(2.25 * GPM, (0.0288, 0.0233)) - loss(0.75 * GPM, (0.0388, 0.0303))
    assert side_losses(example("plover"), "rinse valve")["hot"] == pytest.approx(by_hand, rel=0.04)


def test_nothing_else_on_the_cold_side_takes_nothing() -> None:
    assert side_losses(example("plover"), "rinse valve")["cold"] == pytest.approx(0.0, abs=1.0)


@pytest.mark.parametrize("name", ["plover", "heron"])
def test_one_side_alone_does_more_than_two_fixtures_as_they_are_set(name: str) -> None:
    """The two chapters answer two questions; the drift of one side bounds the network's jump."""
    build = example(name)
    flow = Flow(build)
    for valve in valve_checks(build).values():
        if valve.kind != "fixed":
            continue
        worst = min(
            d.state.temperature - valve.setting
            for d in valve.drifts
            if d.label == "another tap turned to hot only" and d.state.temperature is not None
        )
        jumps = [j.rise for j in flow.jumps if j.fixture in valve.fixtures]
        assert worst < min(jumps) < 0
