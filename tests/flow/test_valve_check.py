"""What a mixing valve's sides lose to other taps, against sums by hand and the whole network."""

from __future__ import annotations

from math import pi

import pytest

from tests.review.test_rules import SOUND
from vanplumb.flow.engine import Flow
from vanplumb.flow.mixing.check import side_losses, valve_checks
from vanplumb.pack import example
from vanplumb.van import loads
from vanplumb.words.tables import table

GPM, INCH = 3.785411784e-3 / 60, 0.0254


def test_the_hot_side_of_a_valve_loses_what_a_tap_turned_to_hot_takes_more() -> None:
    """Dipper's basin: heater and the runs to and from it, with the shower's 1.6 gpm more.

    Of the basin's 0.8 gpm at 98 °F, from 140 and 57 °F, (98 - 57)/(140 - 57) are hot.  The runs
    by hand: 8, 30 and 60 in of bore 0.475 in with their fittings; the friction factor by the
    fluids library.  The kit scales the loss at the rated flow by the square, some percent off.
    """
    from fluids import friction_factor

    known = table("fittings")
    runs = (
        (8, ("insert tee branch", "insert adapter"), 999.2, 1.19e-3),
        (30, ("insert adapter", "insert adapter", "insert elbow 90"), 999.2, 1.19e-3),
        (60, ("insert elbow 90", "insert elbow 90", "insert adapter"), 983.2, 0.466e-3),
    )

    def loss(flow: float) -> float:
        bore = 0.475 * INCH
        speed = flow / (pi / 4 * bore**2)
        found = valve_loss_by_hand(flow)
        for inches, fittings, density, viscosity in runs:
            factor = friction_factor(density * speed * bore / viscosity, 1.5e-6 / bore)
            local = sum(known[name].number("loss_coefficient") for name in fittings)
            found += (factor * inches * INCH / bore + local) * density * speed**2 / 2
        return float(found)

    def valve_loss_by_hand(flow: float) -> float:
        """The heater's typical Kv of 1.5 m³/h, by its definition."""
        return 1e5 * (flow * 3600 / 1.5) ** 2 * 0.9832

    own = 0.8 * GPM * (98 - 57) / (140 - 57)
    by_hand = loss(own + 1.6 * GPM) - loss(own)
    assert side_losses(example("dipper"), "basin valve")["hot"] == pytest.approx(by_hand, rel=0.06)


def test_nothing_else_on_one_side_takes_nothing() -> None:
    """A van whose heater feeds one valve, and whose cold taps branch off before both sides."""
    assert side_losses(loads(SOUND), "mixer") == {"hot": 0.0, "cold": 0.0}


@pytest.mark.parametrize("name", ["dipper", "heron"])
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
