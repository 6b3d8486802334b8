"""Two tanks side by side: what each gives follows the levels as they fall, solved by hand."""

from __future__ import annotations

from math import exp, pi

import numpy as np
import pytest
from pytest import approx

from tests.cases import cases
from tests.trip.test_several_tanks_and_heaters import closed, column
from vanplumb.flow.changed_build import vary
from vanplumb.flow.engine import Flow
from vanplumb.trip.stay.by_level import by_level
from vanplumb.trip.stay.feeds import tank_sets
from vanplumb.trip.trip import Trip
from vanplumb.van import Build, loads

FLOW = 0.15e-3 / 60
"""m³/s that the tap holds: so little that the lines are laminar and lose in proportion."""
BORE = 7e-3
VISCOSITY, DENSITY, GRAVITY = 1.1375e-3, 999.1, 9.80665
"""Of water of 15 °C: Pa·s and kg/m³ (IAPWS R12-08 and R6-95, to four digits); standard gravity."""
AREA = {"wide": 0.4 * 0.3, "slim": 0.25 * 0.3}
HIGH = 0.25
"""m that the slim tank stands higher."""
LENGTH = {"wide": 12.0, "slim": 20.0}

TANK = """[[tank]]
name = "{name}"
shape = "box"
length = "{long} mm"
width = "300 mm"
height = "400 mm"
pickup_height = "0 mm"
base_height = "{base} mm"
fill_share = {full}
[[check_valve]]
name = "{name} check"
kv = "20 m^3/h"
cracking = "0 bar"
[[run]]
from = "{name}"
to = "{name} check"
tube = "PE-X 10x1.5"
length = "{length} m"
rise = "-{base} mm"
[[run]]
from = "{name} check"
to = "join"
tube = "PE-X 22x2.1"
length = "0.1 m"
"""


def weighed(wide: float, slim: float, litres: float, nights: int = 3) -> Build:
    """Two unequal tanks that feed one tap by the water's weight, so full at the start."""
    text = f"""format = 1
[van]
name = "By weight"
units = "SI"
cold_water = "15 °C"
[crew]
people = 1
nights = {nights}
drinking = "0 L"
"""
    for name, full, base, long in (("wide", wide, 0, 400), ("slim", slim, 250, 250)):
        text += TANK.format(name=name, full=full, base=base, long=long, length=LENGTH[name])
    return loads(
        text
        + f"""[[tee]]
name = "join"
[[fixture]]
name = "tap"
kind = "cold tap"
flow = "{FLOW * 6e4} L/min"
flow_pressure = "0.02 bar"
limited = true
[[run]]
from = "join"
to = "tap"
tube = "PE-X 22x2.1"
length = "2 m"
rise = "-2 m"
[[use]]
name = "buckets"
fixture = "tap"
per_day = 3
volume = "{litres} L"
"""
    )


def levels_by_hand(wide: float, slim: float, drawn: float) -> dict[str, float]:
    """Levels after so much was drawn, m, in closed form.

    A line loses R q (Hagen-Poiseuille).  With D the head by which the slim tank's water stands
    higher, both run where D lies between the two whole losses, and then share by
    D + R_wide q_wide = R_slim q_slim, q_wide + q_slim = q.  So D moves to where levels that fall
    alike keep it, as an exponential of what is drawn; before that the higher one runs alone.
    """
    resistance = {n: 128 * VISCOSITY * x / (pi * BORE**4) for n, x in LENGTH.items()}
    head = {n: r * FLOW / (DENSITY * GRAVITY) for n, r in resistance.items()}
    level = {"wide": wide * 0.4, "slim": slim * 0.4}
    apart = HIGH + level["slim"] - level["wide"]
    alone = min(max(apart - head["slim"], 0.0) * AREA["slim"], drawn)
    level["slim"] -= alone / AREA["slim"]
    apart = HIGH + level["slim"] - level["wide"]
    left = drawn - alone
    # dD/dw = 1/A_wide - s (1/A_wide + 1/A_slim),  s = (D + h_wide) / (h_wide + h_slim)
    rate = (1 / AREA["wide"] + 1 / AREA["slim"]) / (head["wide"] + head["slim"])
    share = (1 / AREA["wide"]) / (1 / AREA["wide"] + 1 / AREA["slim"])
    settled = share * (head["wide"] + head["slim"]) - head["wide"]
    after = settled + (apart - settled) * exp(-rate * left)
    # what the slim one gave: from D's own fall and the sum of both
    slim_gave = (left / AREA["wide"] - (after - apart)) / (1 / AREA["wide"] + 1 / AREA["slim"])
    level["slim"] -= slim_gave / AREA["slim"]
    level["wide"] -= (left - slim_gave) / AREA["wide"]
    return level


@pytest.mark.parametrize("wide, slim, litres", [(0.9, 0.95, 2.0), (0.9, 0.95, 3.5), (1.0, 0.4, 3)])
def test_levels_of_two_unequal_tanks_fall_as_by_hand(
    wide: float, slim: float, litres: float
) -> None:
    trip = Trip(weighed(wide, slim, litres))
    outcome = trip.planned
    closed(outcome)
    drawn = float(outcome.water_taken[0])
    assert drawn == approx(9 * litres * 1e-3)
    for name, level in levels_by_hand(wide, slim, drawn).items():
        assert level > 0
        # bends, tees and what the check valve takes are left out by hand: 1 % of the lines' loss
        assert column(outcome, "tank_end", name) / AREA[name] == approx(level, abs=1e-3)
    first = dict(trip.plant.uses[0].cold_parts)
    number = [one.name for one in trip.plant.tanks].index("slim")
    apart = abs(column(outcome, "tank_taken", "slim") - first.get(number, 0.0) * drawn)
    assert apart > 5e-4, "as it was at the start it did not stay"


def test_many_trips_follow_their_own_levels() -> None:
    """Each trip of chance draws as much as it draws; mass closes in each, and neither tank of any
    is further from what it would be by hand than the van differs from its drawings."""
    outcome = Trip(weighed(0.9, 0.95, 2.0)).chance(cases(10, 100), seed=2).outcome
    closed(outcome)
    names = [one.name for one in outcome.plant.tanks]
    for trip, drawn in enumerate(outcome.water_taken):
        start = {n: float(outcome.tank_start[trip, names.index(n)]) / AREA[n] for n in names}
        level = levels_by_hand(start["wide"] / 0.4, start["slim"] / 0.4, float(drawn))
        for name in names:
            end = float(outcome.tank_end[trip, names.index(name)]) / AREA[name]
            assert end == approx(level[name], abs=0.012), "each tank may hold 3 % more or less"


def test_between_the_corners_it_is_what_the_network_says() -> None:
    build = weighed(0.9, 0.95, 2.0)
    flow, sets = Flow(build), tank_sets(build)
    found = by_level(flow, "tap", sets, (0, 1))
    assert found is not None
    rng = np.random.default_rng(5)
    for share in rng.uniform(0.05, 1.0, (cases(6, 100), 2)):
        left = np.array([[one.usable * x for one, x in zip(sets, share, strict=True)]])
        filled = {
            f"tank.{one.name}.fill_share": {"wide": 0.9, "slim": 0.95}[one.name] * x
            for one, x in zip(sets, share, strict=True)
        }
        moment = Flow(vary(build, filled), flow.positions).solve(["tap"])
        runs = [moment.links[f"{one.name} check"].flow for one in sets]
        parts = found.at(left, hot=False)[0]
        assert parts.sum() == approx(1.0)
        # where the one begins to run the line bends within one of the lattice's meshes
        assert parts[0] == approx(runs[0] / sum(runs), abs=0.025)
