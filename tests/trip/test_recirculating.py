"""Hot water that goes round: by hand for a loop of one tube, and what heat it loses."""

from __future__ import annotations

from math import exp

import pytest
from pytest import approx

from vanplumb.flow.engine import Flow
from vanplumb.pack import Pack
from vanplumb.trip.hot_runs.loss import run_loss
from vanplumb.trip.hot_runs.recirculating import Recirculating, recirculating
from vanplumb.van import loads
from vanplumb.words.tables import table

TEXT = """
format = 1
[van]
name = "Ruff"
units = "SI"
[[tank]]
name = "fresh"
shape = "stated"
volume = "60 L"
[[pump]]
name = "pump"
kind = "electric"
curve = "12 V 2.8 gpm 40 psi"
[[heater]]
name = "heater"
kind = "storage"
volume = "10 L"
setpoint = "60 °C"
element_power = "1 kW"
relief = "6 bar"
[[recirculation_pump]]
name = "return"
control = "timer"
power = "12 W"
head = "0.08 bar"
flow_most = "6 L/min"
[[fixture]]
name = "tap"
kind = "cold tap"
[[tee]]
name = "cold tee"
[[tee]]
name = "far tee"
"""
TEXT += "".join(
    f'[[run]]\nfrom = "{a}"\nto = "{b}"\ntube = "PE-X 16x2.0"\nlength = "{n} m"\n'
    for a, b, n in (
        ("fresh", "pump", 1), ("pump", "cold tee", 1), ("cold tee", "heater", 1),
        ("heater", "far tee", 4), ("far tee", "tap", 1), ("far tee", "return", 1),
        ("return", "cold tee", 4),
    )
)  # fmt: skip


@pytest.fixture(scope="module")
def one() -> Recirculating:
    (found,) = recirculating(Flow(loads(TEXT)))
    return found


def test_the_pump_stands_on_its_curve(one: Recirculating) -> None:
    """On a straight line from 0.08 bar to 6 L/min, and the loop's runs are named."""
    assert one.head == approx(8000 * (1 - one.flow / (6e-3 / 60)), rel=1e-6)
    assert 0 < one.flow < 6e-3 / 60
    assert len(one.runs) == 4  # heater to the far tee, to the pump, to the cold tee, and back


def test_more_head_brings_more_round() -> None:
    flows = [
        recirculating(Flow(loads(TEXT.replace('"0.08 bar"', f'"{head} bar"'))))[0].flow
        for head in (0.02, 0.08, 0.3)
    ]
    assert flows == sorted(flows) and flows[0] < 0.8 * flows[-1]


def test_heat_lost_is_what_the_water_cools_by(one: Recirculating) -> None:
    """By hand: one long tube of 10 m at the resistance of hot water, exp(-L/(R m c))."""
    row = table("tubes")["PE-X 16x2.0"]
    metre = run_loss(row, 0.0, 333.15, 293.15).resistance
    mass = 983.2 * one.flow  # kg/s, water at 60 °C
    by_hand = 293.15 + 40.0 * exp(-10.0 / (metre * mass * 4185.0))
    assert one.returns == approx(by_hand, abs=0.05)
    assert one.lost == approx(mass * 4185.0 * (333.15 - one.returns), rel=0.01)


def test_the_tap_runs_with_the_return_too(one: Recirculating) -> None:
    (tap,) = one.taps
    assert tap.fixture == "tap" and tap.flow > 0
    assert tap.flow_running == approx(tap.flow, rel=0.2)
    # hot water leaves the heater either way; what comes round mixes with the cold before it
    assert tap.temperature_running == approx(tap.temperature, abs=25)


def test_a_check_against_the_loop_is_told() -> None:
    text = TEXT.replace('to = "cold tee"\ntube = "PE-X 16x2.0"\nlength = "4 m"',
                        'to = "check"\ntube = "PE-X 16x2.0"\nlength = "4 m"')  # fmt: skip
    text += '[[check_valve]]\nname = "check"\nreversed = true\n'
    text += '[[run]]\nfrom = "check"\nto = "cold tee"\ntube = "PE-X 16x2.0"\nlength = "1 m"\n'
    (found,) = recirculating(Flow(loads(text)))
    assert found.stands and found.lost == 0
    chapter = next(c for c in Pack(loads(text)).chapters if c.key == "line_parts")
    assert "nothing" in [a.value for a in chapter.answers]
