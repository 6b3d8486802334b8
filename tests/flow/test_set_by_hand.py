"""Where a tap is left that is set by hand: warm water as wished, found again at every figure."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from pytest import approx

from vanplumb import example
from vanplumb.flow.changed_build import vary
from vanplumb.flow.engine import Flow
from vanplumb.flow.turned import COLDEST, HOTTEST

WISHED = 318.15
"""K: Heron's galley at 45 °C."""


def heron(**changes: Any) -> Flow:
    return Flow(vary(example("heron"), {k.replace("__", "."): v for k, v in changes.items()}))


def galley(flow: Flow) -> Any:
    return flow.solve(["galley"]).fixtures["galley"]


def place(flow: Flow) -> Any:
    return flow.positions[:, flow.made.mixers.index("galley")]


def test_a_tap_behind_a_burner_that_gives_all_it_has_is_set_as_warm_as_wished():
    """The pump cycles there: a tap that turned by itself would draw otherwise in the cycle."""
    cold = np.linspace(279.4, 282.2, 8)
    flow = heron(van__cold_water=cold)
    found = flow.batch([("galley",)] * len(cold)).solution
    assert found.cycling["pump"].all()
    warm = found.temperature["galley.mixed"]
    hot = place(flow) > HOTTEST - 1e-6
    assert hot.any() and not hot.all()
    assert warm[~hot] == approx(np.full(np.sum(~hot), WISHED), abs=1e-4)
    assert np.all(warm[hot] < WISHED)
    # colder water needs more of the hot, and the same more of it at each step, nearly
    steps = -np.diff(place(flow)[~hot])
    assert np.all(steps > 0) and steps.max() < 2 * steps.min()
    assert place(heron(van__cold_water=cold[3])) == approx(place(flow)[3:4], abs=1e-6)


def test_of_two_places_with_water_as_warm_as_wished_it_is_left_at_the_colder():
    """Next to no cold water comes: what is drawn, and cools the burner's water, grows up to hot."""
    flow = heron(van__cold_water=280.0, fixture__galley__temperature=WISHED + 2.0)
    net = flow.made.net.with_link("galley hot", kv=0.34 / 3600)
    net = net.with_link("galley cold", kv=0.03 / 3600)
    flow = Flow(flow.build, made=replace(flow.made, net=net))
    at = np.linspace(COLDEST, HOTTEST, 21)
    stands = np.full((len(at), len(flow.made.mixers)), 0.5)
    stands[:, flow.made.mixers.index("galley")] = at
    turned = Flow(flow.build, stands, flow.made).batch([("galley",)] * len(at)).solution
    off = turned.temperature["galley.mixed"] - (WISHED + 2.0)
    through = np.flatnonzero((off[:-1] < 0) != (off[1:] < 0))
    assert len(through) == 2
    assert at[through[0]] <= place(flow)[0] <= at[through[0] + 1]


def test_a_tap_that_is_too_warm_as_soon_as_the_burner_lights_says_so():
    """From cold to hot the burner lights at its least flow: nothing between cold and 27 °C."""
    flow = heron(fixture__galley__temperature=298.15)
    moment = flow.solve(["galley"])
    assert moment.links["heater"].flow == approx(flow.build.heater[0].flow_least, rel=1e-6)
    assert moment.fixtures["galley"].temperature > 298.15 + 1.0
    assert any("can't be set to 25 °C" in reason for reason in moment.reasons)
    colder = Flow(flow.build, flow.positions - 0.02).solve(["galley"])
    assert colder.fixtures["galley"].temperature == approx(flow.build.van.cold_water, abs=0.01)
    warmer = heron(fixture__galley__temperature=303.15).solve(["galley"])
    assert not warmer.reasons
    assert warmer.fixtures["galley"].temperature == approx(303.15, abs=1e-4)
