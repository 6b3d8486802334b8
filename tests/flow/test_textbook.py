"""Printed problems, through the same network as a van's.  Tolerances are the books' rounding."""

from __future__ import annotations

import numpy as np
import pytest
from pytest import approx

from vanplumb.network.network import Curve, Link, Network

FOOT, INCH, GALLON, POUND = 0.3048, 0.0254, 3.785411784e-3, 0.45359237
PSI = 6894.757
GPM = GALLON / 60


@pytest.fixture(autouse=True)
def _no_warning_leaks():
    with np.errstate(all="raise"):
        yield


def through(flow: float, link: Link, *, density: float, viscosity: float):
    """A link with a known flow, from a held pressure to where the flow is drawn."""
    net = Network(density=density, viscosity=viscosity)
    net.hold("source")
    net.add(link)
    net.draw("drain", flow)
    return net.solve()


def test_single_pipe_with_known_flow():
    """Cengel and Cimbala, ex. 8-3: water at 60 °F in a 2 in pipe."""
    cubic_foot = FOOT**3
    density = 62.36 * POUND / cubic_foot
    answer = through(
        0.2 * cubic_foot,
        Link(
            name="pipe",
            start="source",
            end="drain",
            length=200 * FOOT,
            diameter=2 * INCH,
            roughness=7e-6 * FOOT,
        ),
        density=density,
        viscosity=7.536e-4 * POUND / FOOT,
    )
    lost = -answer.pressure["drain"]
    assert lost / PSI == approx(11.8, rel=0.005)
    assert lost / (density * 9.80665) / FOOT == approx(27.3, rel=0.005)
    assert lost * answer.flow["pipe"] == approx(461, rel=0.005)


def test_gravity_flow_finds_the_height_of_the_upper_tank():
    """Cengel and Cimbala, ex. 8-8: 6 L/s down 89 m of 5 cm cast iron; z1 is 31.7 to 31.9 m."""
    loss = 0.5 + 2 * 0.3 + 0.2 + 1.06
    pipe = Link(
        name="pipe",
        start="upper",
        end="lower",
        length=89.0,
        diameter=0.05,
        roughness=0.26e-3,
        loss=loss,
        rise=-(31.8 - 4.0),
    )
    net = Network(density=999.7, viscosity=1.307e-3)
    net.hold("upper")
    net.hold("lower")
    net.add(pipe)
    assert net.solve().flow["pipe"] * 1000 == approx(6.0, rel=0.005)


def test_two_pipes_in_parallel_lifted_by_a_pump():
    """Cengel and Cimbala, ex. 8-7: 8 kW electric at 70 %, from 5 to 13 m, bores 4 and 8 cm."""
    flows = np.linspace(0.015, 0.06, 600)
    net = Network(density=998.0, viscosity=1.002e-3)
    net.hold("lower")
    net.hold("upper")
    net.add(
        Link(
            name="pump",
            start="lower",
            end="outlet",
            curve=Curve(flow=flows, pressure=8000 * 0.70 / flows),
        )
    )
    for name, bore in (("narrow", 0.04), ("wide", 0.08)):
        net.add(
            Link(
                name=name,
                start="outlet",
                end="upper",
                length=36.0,
                diameter=bore,
                roughness=45e-6,
                rise=8.0,
            )
        )
    answer = net.solve()
    assert answer.flow["pump"] == approx(0.0300, rel=0.01)
    assert answer.flow["narrow"] == approx(0.00415, rel=0.01)
    assert answer.flow["wide"] == approx(0.0259, rel=0.01)
    head = answer.pressure["outlet"] / (998 * 9.80665)
    assert head == approx(19.1, rel=0.01)
    assert head - 8.0 == approx(11.1, rel=0.01)


def test_three_reservoirs_by_friction_alone():
    """White, ex. 6.19 (from memory): pipes of 8, 6 and 4 cm meet; surfaces at 20, 100, 40 m."""
    net = Network(density=1000.0, viscosity=1.02e-3)
    pipes = (
        ("1", 20.0, 100.0, 0.08, 0.24e-3, -52.8),
        ("2", 100.0, 150.0, 0.06, 0.12e-3, 47.0),
        ("3", 40.0, 80.0, 0.04, 0.20e-3, 5.8),
    )
    for name, height, length, bore, rough, _ in pipes:
        net.hold(name, pressure=1000.0 * 9.80665 * height)
        net.add(
            Link(
                name=name, start=name, end="junction", length=length, diameter=bore, roughness=rough
            )
        )
    answer = net.solve()
    assert answer.pressure["junction"] / 9806.65 == approx(34.5, rel=0.02)
    for name, *_, printed in pipes:
        assert answer.flow[name] * 3600 == approx(printed, rel=0.02)


def constant_friction(name, start, end, factor, length, bore):
    """A pipe whose friction factor a book takes as given: f·L/D velocity heads."""
    return Link(name=name, start=start, end=end, loss=factor * length / bore, diameter=bore)


def test_three_reservoirs_with_a_given_friction_factor():
    """Munson, Young and Okiishi, ex. 8.14: f = 0.02, surfaces at 100, 20 and 0 ft."""
    net = Network(density=1000.0)
    for name, height, length in (("A", 100, 1000), ("B", 20, 500), ("C", 0, 400)):
        net.hold(name, pressure=9806.65 * height * FOOT)
        net.add(constant_friction(name, name, "junction", 0.02, length * FOOT, FOOT))
    answer = net.solve()
    area = np.pi / 4 * FOOT**2
    for name, speed, flow in (("A", 15.9, 12.5), ("B", -2.84, -2.23), ("C", -13.1, -10.3)):
        assert answer.flow[name] / area / FOOT == approx(speed, rel=0.015)
        assert answer.flow[name] / FOOT**3 == approx(flow, rel=0.015)


def test_a_printed_iterate_is_not_a_converged_answer():
    """Three reservoirs with h = r·Q², after a hydraulics text (ex. 9.13).

    The text stops by hand at a junction of 131 m, where flows do not balance; 132.36 m does.
    """
    net = Network(density=1000.0)
    for name, height, r in (("a", 136, 0.7594), ("b", 122, 36.33), ("c", 110, 8.168)):
        net.hold(name, pressure=9806.65 * height)
        # h = r·Q² as a number of velocity heads in a bore of 1 m
        heads = r * 2 * 9.80665 * (np.pi / 4) ** 2
        net.add(Link(name=name, start=name, end="junction", loss=heads, diameter=1.0))
    answer = net.solve()
    assert answer.pressure["junction"] / 9806.65 == approx(132.36, abs=0.005)
    assert answer.flow["a"] == approx(2.189, rel=0.005)
    assert answer.flow["b"] == approx(-0.534, rel=0.005)
    assert answer.flow["c"] == approx(-1.655, rel=0.005)
    printed = 131.0
    left = sum(
        np.sign(h - printed) * np.sqrt(abs(h - printed) / r)
        for h, r in ((136, 0.7594), (122, 36.33), (110, 8.168))
    )
    assert abs(left) > 0.1


def test_three_parallel_pipes_share_a_flow():
    """A teaching sheet on parallel pipes, f = 0.02 and 0.440 m³/s in all."""
    net = Network(density=1000.0)
    net.hold("start", pressure=1e6)
    for name, length, bore in (("1", 600, 0.30), ("2", 500, 0.25), ("3", 800, 0.40)):
        net.add(constant_friction(name, "start", "end", 0.02, length, bore))
    net.draw("end", 0.440)
    answer = net.solve()
    for name, printed in (("1", 0.127), ("2", 0.0880), ("3", 0.2253)):
        assert answer.flow[name] == approx(printed, rel=0.01)
    assert (1e6 - answer.pressure["end"]) / 9806.65 == approx(6.61, rel=0.01)


def test_kv_and_loss_coefficient_of_a_valve_agree():
    """Crane TP-410M, ex. 7.2: Kv 500 m³/h in a bore of 154 mm is K = 3.6."""
    flow = 0.05
    lost = [
        -through(
            flow,
            Link(name="valve", start="source", end="drain", diameter=0.154, **how),
            density=999.0,
            viscosity=1e-3,
        ).pressure["drain"]
        for how in ({"kv": 500 / 3600}, {"loss": 3.6})
    ]
    assert lost[0] == approx(lost[1], rel=0.005)


def test_pump_head_over_a_hill():
    """Crane TP-410M, ex. 7.15: 100 gpm of 70 °F water, 400 ft up, 421 ft of head.

    Coefficients of elbow (30 fT), gate (8 fT) and lift check (600 fT) from memory.
    """
    three, two = 3.068 * INCH, 2.469 * INCH
    friction_turbulent = 0.018
    fittings = 4 * 30 * friction_turbulent + 8 * friction_turbulent
    lift_check = (
        600 * 0.018 * (three / two) ** 4 + 0.5 * (1 - (two / three) ** 2) * (three / two) ** 4
    )
    answer = through(
        100 * GPM,
        Link(
            name="line",
            start="source",
            end="drain",
            length=500 * FOOT,
            diameter=three,
            roughness=0.00015 * FOOT,
            loss=fittings + lift_check,
            rise=400 * FOOT,
        ),
        density=998.0,
        viscosity=0.98e-3,
    )
    assert -answer.pressure["drain"] / (998.0 * 9.80665) / FOOT == approx(421, rel=0.005)


def test_reynolds_number_and_factor_of_a_plastic_pipe():
    """Crane TP-410M, ex. 7.1: 200 L/min in 50 mm plastic: Re 100 600, f 0.0179 (±1 %)."""
    bore, density, viscosity = 0.0525, 995.65, 0.797e-3
    answer = through(
        0.2 / 60,
        Link(name="pipe", start="source", end="drain", length=20.0, diameter=bore),
        density=density,
        viscosity=viscosity,
    )
    speed = answer.flow["pipe"] / (np.pi / 4 * bore**2)
    assert density * speed * bore / viscosity == approx(100_600, rel=0.005)
    lost = -answer.pressure["drain"]
    assert lost / (20.0 / bore * density * speed**2 / 2) == approx(0.0179, rel=0.01)


def test_gravity_through_two_bores():
    """Crane TP-410M, ex. 7.19: 11.5 ft of head on 10 ft of 3 in and 20 ft of 2 in: 137 gpm.

    The book iterates on charted friction factors, and the coefficients of its bend and gate
    are used here from memory: ±2 % instead of half a gallon.
    """
    three, two = 3.068 * INCH, 2.067 * INCH
    net = Network(density=999.0, viscosity=1.12e-3)
    net.hold("tank")
    net.hold("below")
    net.add(
        Link(
            name="wide",
            start="tank",
            end="step",
            length=10 * FOOT,
            diameter=three,
            roughness=0.00015 * FOOT,
            loss=0.5 + 60 * 0.018 + 8 * 0.018,
            rise=-11.5 * FOOT,
        ),
        Link(
            name="narrow",
            start="step",
            end="below",
            length=20 * FOOT,
            diameter=two,
            roughness=0.00015 * FOOT,
            loss=0.5 * (1 - (two / three) ** 2) + 1.0,
        ),
    )
    assert net.solve().flow["wide"] / GPM == approx(137, rel=0.02)


def test_a_ball_valve_a_third_shut():
    """A handbook's table example: K 5.5 at 2 m/s of water takes 11 kPa, or 1.12 m."""
    bore = 0.05
    lost = -through(
        2.0 * np.pi / 4 * bore**2,
        Link(name="valve", start="source", end="drain", loss=5.5, diameter=bore),
        density=1000.0,
        viscosity=1e-3,
    ).pressure["drain"]
    assert lost == approx(11e3, rel=0.005)
    assert lost / 9806.65 == approx(1.12, abs=0.005)
