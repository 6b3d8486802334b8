"""Textbook and handbook hydraulics: friction factors, worked pipes, valves, water hammer, air."""

from __future__ import annotations

import warnings

import numpy as np
import pytest
from scipy.optimize import brentq

from vanplumb.formulas.pressure import air_pressure, greatest_lift
from vanplumb.formulas.tube import (
    bridged_friction,
    colebrook_residual,
    elevation_pressure,
    equivalent_length,
    explicit_friction,
    fitting_loss,
    friction_loss,
    head,
    hydraulic_power,
    reflection_time,
    relative_roughness,
    reynolds,
    surge_pressure,
    velocity,
    wave_speed,
)
from vanplumb.formulas.valves import (
    cv_from_kv,
    joining_branch_coefficient,
    joining_run_coefficient,
    kv_from_cv,
    loss_coefficient_from_kv,
    orifice_flow,
    outlet_flow,
    valve_flow,
    valve_loss,
)
from vanplumb.formulas.water import vapour_pressure, water_density, water_viscosity
from vanplumb.network.losses import friction_factor
from vanplumb.network.network import Link, Network
from vanplumb.words.units import Q

FLOWS = (5e3, 1e4, 1e5, 1e6)


@pytest.mark.checks("colebrook_residual")
@pytest.mark.parametrize(
    "wall, printed, tolerance",
    [
        (0.001, (0.0385, 0.0324, 0.0222, 0.0199), 5e-5),
        (0.05, (0.0758, 0.0736, 0.0716, 0.0716), 3e-4),
    ],
)
def test_friction_factors_of_a_reference_page(
    wall: float, printed: tuple[float, ...], tolerance: float
) -> None:
    """A published page of Colebrook values, at Re 5e3, 1e4, 1e5 and 1e6."""
    found = friction_factor(np.array(FLOWS), wall)
    assert found == pytest.approx(np.array(printed), abs=tolerance)
    assert np.abs(colebrook_residual.si(found, np.array(FLOWS), wall)).max() < 1e-13


def test_friction_factors_of_smooth_tube() -> None:
    """Colebrook without roughness, by fluids, at Re 4e3, 1e4, 1e5 and 1e6."""
    from fluids.friction import Colebrook

    flows = np.array([4e3, 1e4, 1e5, 1e6])
    found = friction_factor(flows, 0.0)
    assert found == pytest.approx(np.array([0.03991, 0.03088, 0.01799, 0.01165]), rel=0.005)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)
        assert found == pytest.approx([Colebrook(re, 0.0) for re in flows], rel=1e-10)


@pytest.mark.checks("explicit_friction")
def test_friction_factor_by_colebrook_and_by_swamee_and_jain() -> None:
    """e/D 1e-4, Re 1e5, by fluids: 0.018514 and 0.018452."""
    from fluids.friction import Swamee_Jain_1976

    assert float(friction_factor(1e5, 1e-4)) == pytest.approx(0.018514, abs=1e-6)
    explicit = explicit_friction(reynolds=1e5, roughness_relative=1e-4).magnitude
    assert explicit == pytest.approx(0.018452, abs=1e-6)
    assert explicit == pytest.approx(Swamee_Jain_1976(1e5, 1e-4), rel=5e-4)


@pytest.mark.checks("bridged_friction")
def test_the_bridge_lies_between_both_laws() -> None:
    """Re 3000: fluids gives 0.02133 laminar and Colebrook turbulent; the bridge is between."""
    from fluids.friction import Colebrook, friction_laminar

    low, high = friction_laminar(3000), Colebrook(3000, 1e-4)
    found = bridged_friction.si(3000.0, low, high)
    assert low < found < high
    assert found == pytest.approx(float(friction_factor(3000.0, 1e-4)), rel=1e-12)


def test_plastic_pipe_of_fifty_millimetres() -> None:
    """Crane TP-410M ex. 7-1: water at 30 °C, 200 L/min, 50 mm smooth: Re 100 600, f 0.0179.

    The nominal 50 mm is a bore of 52.5 mm.  Half a percent and one: it reads f off a chart.
    """
    density = water_density(temperature="30 °C")
    viscosity = water_viscosity(temperature="30 °C")
    bore = Q(52.5, "mm")
    speed = velocity(flow="200 L/min", diameter=bore)
    number = reynolds(density=density, velocity=speed, diameter=bore, viscosity=viscosity)
    assert number.magnitude == pytest.approx(100_600, rel=0.005)
    assert float(friction_factor(number.magnitude, 0.0)) == pytest.approx(0.0179, rel=0.01)


@pytest.mark.checks("friction_loss", "head", "hydraulic_power", "relative_roughness", "reynolds")
def test_a_pipe_of_two_inches() -> None:
    """Cengel and Cimbala ex. 8-3: 200 ft of 2 in, 0.2 ft³/s of water at 60 °F."""
    density, bore = Q(62.36, "lb/ft^3"), Q(2, "in")
    flow = Q(0.2, "ft^3/s")
    speed = velocity(flow=flow, diameter=bore)
    number = reynolds(
        density=density, velocity=speed, diameter=bore, viscosity=Q(7.536e-4, "lb/(ft s)")
    )
    wall = relative_roughness(roughness=Q(7e-6, "ft"), diameter=bore)
    factor = float(friction_factor(number.magnitude, wall.magnitude))
    lost = friction_loss(
        friction_factor=factor, length="200 ft", diameter=bore, density=density, velocity=speed
    )
    assert speed.to("ft/s").magnitude == pytest.approx(9.17, abs=0.005)
    assert number.magnitude == pytest.approx(126_400, rel=0.005)
    assert wall.magnitude == pytest.approx(4.2e-5, abs=5e-7)
    assert factor == pytest.approx(0.0174, abs=5e-5)
    assert lost.to("lbf/ft^2").magnitude == pytest.approx(1700, rel=0.005)
    assert lost.to("psi").magnitude == pytest.approx(11.8, abs=0.05)
    assert head(pressure=lost, density=density).to("ft").magnitude == pytest.approx(27.3, rel=0.005)
    power = hydraulic_power(flow=flow, pressure=lost).to("W").magnitude
    assert power == pytest.approx(461, rel=0.005)


@pytest.mark.checks("fitting_loss", "friction_loss", "head")
def test_a_gravity_pipe_between_two_reservoirs() -> None:
    """Cengel and Cimbala ex. 8-8 (numbering of the 3rd and 4th editions): z1 31.8 m, f 0.0315."""
    density, bore = Q(999.7, "kg/m^3"), Q(5, "cm")
    speed = velocity(flow=Q(6, "L/s"), diameter=bore)
    number = reynolds(
        density=density, velocity=speed, diameter=bore, viscosity=Q(1.307, "mPa s")
    ).magnitude
    factor = float(friction_factor(number, 0.26 / 50))
    tube = friction_loss(
        friction_factor=factor, length="89 m", diameter=bore, density=density, velocity=speed
    )
    entrance, elbows, gate, way_out = 0.5, 2 * 0.3, 0.2, 1.06
    parts = fitting_loss(
        loss_coefficient=entrance + elbows + gate + way_out, density=density, velocity=speed
    )
    lost = head(pressure=tube + parts, density=density).to("m").magnitude
    assert factor == pytest.approx(0.0315, abs=5e-5)
    assert 4 + lost == pytest.approx(31.8, abs=0.3)


@pytest.mark.checks("loss_coefficient_from_kv", "equivalent_length")
def test_kv_to_k_and_equivalent_length() -> None:
    """Crane TP-410M ex. 7-2: Kv 500 m³/h in 154 mm, f 0.015: K 3.6, L/D 240, L 37.0 m."""
    bore = Q(154, "mm")
    lost = loss_coefficient_from_kv(flow_coefficient=Q(500, "m^3/h"), diameter=bore)
    length = equivalent_length(loss_coefficient=lost, diameter=bore, friction_factor=0.015)
    assert lost.magnitude == pytest.approx(3.6, rel=0.005)
    assert length.to("m").magnitude == pytest.approx(37.0, rel=0.005)
    assert (length / bore).to("").magnitude == pytest.approx(240, rel=0.005)


@pytest.mark.checks("elevation_pressure", "hydraulic_power", "fitting_loss")
def test_a_pump_that_lifts_through_a_long_pipe() -> None:
    """Crane TP-410 ex. 7-15: 100 gpm at 70 °F, 500 ft of 3 in schedule 40 lifted 400 ft:
    total head 421 ft, 15.2 hp at 70 %.

    Resistances as that handbook defines them, from memory: turbulent factor 0.018, elbows 30,
    gate 8 and lift check 600 of it; the check is 2-1/2 in (2.469) between reducers; exit 1.
    """
    density, bore = water_density(temperature="70 °F"), Q(3.068, "in")
    speed = velocity(flow="100 gpm", diameter=bore)
    number = reynolds(
        density=density,
        velocity=speed,
        diameter=bore,
        viscosity=water_viscosity(temperature="70 °F"),
    ).magnitude
    factor = float(friction_factor(number, 0.00015 * 12 / 3.068))
    square = (2.469 / 3.068) ** 2
    steps = (2.469 / 3.068) * (0.5 * (1 - square) + (1 - square) ** 2)
    check = (600 * 0.018 + steps) / square**2
    parts = fitting_loss(
        loss_coefficient=4 * 30 * 0.018 + 8 * 0.018 + check + 1.0, density=density, velocity=speed
    )
    tube = friction_loss(
        friction_factor=factor, length="500 ft", diameter=bore, density=density, velocity=speed
    )
    whole = elevation_pressure(density=density, height="400 ft") + tube + parts
    assert head(pressure=whole, density=density).to("ft").magnitude == pytest.approx(421, rel=0.005)
    power = hydraulic_power(flow="100 gpm", pressure=whole) / 0.70
    assert power.to("horsepower").magnitude == pytest.approx(15.2, rel=0.005)


@pytest.mark.checks("hydraulic_power")
def test_what_pumping_costs() -> None:
    """Crane TP-410 ex. 7-34: 428 ft at 700 gpm, 70.7 % pump, 95 % motor, 96 % drive:
    107.1 hp at the shaft, 117.4 hp taken, about 84 000 a year at 0.12 per kWh for 8000 h."""
    water = Q(62.37, "lb/ft^3")
    pressure = elevation_pressure(density=water, height="428 ft")
    shaft = hydraulic_power(flow="700 gpm", pressure=pressure) / 0.707
    taken = shaft / (0.95 * 0.96)
    assert shaft.to("horsepower").magnitude == pytest.approx(107.1, rel=0.002)
    assert taken.to("horsepower").magnitude == pytest.approx(117.4, rel=0.002)
    cost = (taken * Q(8000, "h")).to("kWh").magnitude * 0.12
    assert 83_970 * 0.998 < cost < 84_033 * 1.002


@pytest.mark.checks("joining_branch_coefficient", "joining_run_coefficient")
def test_a_tee_where_a_branch_joins() -> None:
    """Crane TP-410 ex. 7-35: 300 gpm in the run, 100 from the branch, 4 in schedule 40:
    K −0.042 and 0.325; −0.067 and 0.513 ft at 10.08 ft/s."""
    density, speed = Q(62.4, "lb/ft^3"), velocity(flow="400 gpm", diameter="4.026 in")
    assert speed.to("ft/s").magnitude == pytest.approx(10.08, abs=5e-3)
    for f, coefficient, feet in (
        (joining_branch_coefficient, -0.042, -0.067),
        (joining_run_coefficient, 0.325, 0.513),
    ):
        found = f(share_branch=0.25)
        assert found.magnitude == pytest.approx(coefficient, rel=0.02)
        lost = fitting_loss(loss_coefficient=found, density=density, velocity=speed)
        feet_lost = head(pressure=lost, density=density).to("ft").magnitude
        assert feet_lost == pytest.approx(feet, rel=0.02)


@pytest.mark.checks("fitting_loss", "head")
def test_a_ball_valve_a_third_shut() -> None:
    """Handbook table: K 5.5 at 2 m/s of water is 11 kPa or 1.12 m."""
    density = Q(1000, "kg/m^3")
    lost = fitting_loss(loss_coefficient=5.5, density=density, velocity=Q(2, "m/s"))
    assert lost.to("kPa").magnitude == pytest.approx(11, rel=0.005)
    assert head(pressure=lost, density=density).to("m").magnitude == pytest.approx(1.12, rel=0.005)


@pytest.mark.checks("cv_from_kv", "kv_from_cv", "valve_loss", "valve_flow")
def test_kv_and_cv() -> None:
    """IEC 60534 (from memory): Cv = 1.156 Kv; and p[psi] = SG (Q[gpm]/Cv)²."""
    assert cv_from_kv(flow_coefficient=Q(1, "m^3/h")).magnitude == pytest.approx(1.156, abs=5e-4)
    kv = kv_from_cv(flow_coefficient_us=5)
    assert (5 / kv.to("m^3/h").magnitude) == pytest.approx(1.156, abs=5e-4)
    water = Q(1000, "kg/m^3")
    lost = valve_loss(flow="3 gpm", flow_coefficient=kv, density=water)
    assert lost.to("psi").magnitude == pytest.approx(0.36, rel=0.002)
    flow = valve_flow(flow_coefficient=kv, pressure_loss=Q(0.36, "psi"), density=water)
    assert flow.to("gpm").magnitude == pytest.approx(3.0, rel=0.002)


@pytest.mark.checks("kv_from_cv", "cv_from_kv")
def test_kv_and_cv_against_fluids() -> None:
    from fluids.fittings import Cv_to_Kv, Kv_to_Cv

    assert kv_from_cv(flow_coefficient_us=3.4).to("m^3/h").magnitude == pytest.approx(
        Cv_to_Kv(3.4), rel=5e-4
    )
    assert cv_from_kv(flow_coefficient=Q(2.5, "m^3/h")).magnitude == pytest.approx(
        Kv_to_Cv(2.5), rel=5e-4
    )


@pytest.mark.checks("loss_coefficient_from_kv")
def test_k_from_cv() -> None:
    """Crane: K = 891 d⁴[in] / Cv²; Cv 3.4 in a 0.475 in bore is 3.92."""
    lost = loss_coefficient_from_kv(
        flow_coefficient=kv_from_cv(flow_coefficient_us=3.4), diameter="0.475 in"
    ).magnitude
    assert lost == pytest.approx(3.92, rel=0.002)
    assert lost == pytest.approx(891 * 0.475**4 / 3.4**2, rel=0.002)


@pytest.mark.checks("wave_speed", "surge_pressure", "reflection_time")
def test_water_hammer_in_a_steel_main() -> None:
    """Teaching case: 0.6 m bore, 12 mm wall, 1200 m, 1.5 m/s: 1173.5 m/s, 1.760 MPa, 2.045 s."""
    water = Q(1000, "kg/m^3")
    speed = wave_speed(
        modulus_water=Q(2.1, "GPa"),
        modulus_tube=Q(200, "GPa"),
        density=water,
        diameter="0.6 m",
        thickness_wall="12 mm",
    )
    assert speed.to("m/s").magnitude == pytest.approx(1173.5, rel=0.001)
    rise = surge_pressure(density=water, velocity_wave=speed, velocity_stopped=Q(1.5, "m/s"))
    assert rise.to("MPa").magnitude == pytest.approx(1.760, rel=0.001)
    assert head(pressure=rise, density=water).to("m").magnitude == pytest.approx(179.4, rel=0.001)
    back = reflection_time(length="1200 m", velocity_wave=speed).to("s").magnitude
    assert back == pytest.approx(2.045, rel=0.001)
    rigid = wave_speed.si(2.1e9, 1e30, 1000.0, 0.6, 0.012)
    assert rigid == pytest.approx(1449, rel=0.001)


@pytest.mark.checks("surge_pressure")
def test_water_hammer_by_the_plain_formula() -> None:
    """A formula page's example: 2 m/s stopped at a = 1200 m/s is 244.6 m, 24 bar, 348 psi."""
    water = Q(1000, "kg/m^3")
    rise = surge_pressure(density=water, velocity_wave=Q(1200, "m/s"), velocity_stopped=Q(2, "m/s"))
    assert head(pressure=rise, density=water).to("m").magnitude == pytest.approx(244.65, rel=0.002)
    assert rise.to("bar").magnitude == pytest.approx(24, rel=0.002)
    assert rise.to("psi").magnitude == pytest.approx(348, rel=0.002)


@pytest.mark.checks("wave_speed", "surge_pressure")
def test_water_hammer_in_half_inch_copper() -> None:
    """Type L, 117 GPa: 1322 m/s and 58.3 psi for each ft/s, computed; bore 0.545, wall 0.040 in."""
    density = water_density(temperature="68 °F")
    speed = wave_speed(
        modulus_water=Q(2.18, "GPa"),
        modulus_tube=Q(117, "GPa"),
        density=density,
        diameter="0.545 in",
        thickness_wall="0.040 in",
    )
    assert speed.to("m/s").magnitude == pytest.approx(1322, rel=0.01)
    rise = surge_pressure(density=density, velocity_wave=speed, velocity_stopped=Q(1, "ft/s"))
    assert rise.to("psi").magnitude == pytest.approx(58.3, rel=0.01)


@pytest.mark.checks("air_pressure")
@pytest.mark.parametrize("metres, printed", [(0, 101.3), (1500, 84.6), (3000, 70.1)])
def test_air_of_the_standard_atmosphere(metres: float, printed: float) -> None:
    """ISO 2533, from memory, and the same by fluids."""
    from fluids.atmosphere import ATMOSPHERE_1976

    found = air_pressure(height=Q(metres, "m")).to("kPa").magnitude
    assert found == pytest.approx(printed, abs=0.2)
    assert found == pytest.approx(ATMOSPHERE_1976(metres).P / 1e3, rel=1e-3)


@pytest.mark.checks("greatest_lift")
def test_water_can_be_sucked_up_ten_metres_at_the_sea() -> None:
    """The column that holds up one atmosphere less the steam's pressure, by live IAPWS-95."""
    from CoolProp.CoolProp import PropsSI

    for fahrenheit in (39.2, 140):
        kelvin = (fahrenheit + 459.67) / 1.8
        steam = PropsSI("P", "T", kelvin, "Q", 0, "Water")
        weight = PropsSI("D", "T", kelvin, "Q", 0, "Water") * 9.80665
        metres = (101_325 - steam) / weight
        found = greatest_lift(
            pressure_absolute_air=Q(101.325, "kPa"),
            pressure_absolute_vapour=vapour_pressure(temperature=Q(fahrenheit, "°F")),
            pressure_loss=Q(0, "kPa"),
            density=water_density(temperature=Q(fahrenheit, "°F")),
        )
        assert found.to("m").magnitude == pytest.approx(metres, rel=2e-4)


OUTLETS = [
    # rated gpm, rated psi, psi, printed gpm
    *[(2.5, 80, p, q) for p, q in ((20, 1.250), (30, 1.531), (40, 1.768), (45, 1.875))],
    (2.0, 80, 20, 1.00),
    (2.2, 60, 30, 1.556),
    (1.8, 80, 40, 1.273),
]


@pytest.mark.checks("outlet_flow")
@pytest.mark.parametrize("rated, at, psi, printed", OUTLETS)
def test_outlets_without_a_regulator(rated: float, at: float, psi: float, printed: float) -> None:
    """Square-root law, computed: a 2.0 gpm head would give half of it at 20 psi."""
    found = outlet_flow(
        flow_rated=Q(rated, "gpm"), pressure=Q(psi, "psi"), pressure_rated=Q(at, "psi")
    )
    assert found.to("gpm").magnitude == pytest.approx(printed, rel=0.002)


@pytest.mark.checks("orifice_flow")
def test_an_orifice_against_fluids() -> None:
    """A 4 mm hole in a wide tank, by ISO 5167's equation without approach speed."""
    from fluids.flow_meter import flow_meter_discharge

    mass = flow_meter_discharge(
        D=10.0, Do=0.004, P1=3e5, P2=1e5, rho=998.2, C=0.61, expansibility=1.0
    )
    assert orifice_flow.si(0.61, 0.004, 2e5, 998.2) == pytest.approx(mass / 998.2, rel=1e-6)


@pytest.mark.checks("orifice_flow")
def test_an_orifice_plate_in_a_pipe() -> None:
    """Crane TP-410M ex. 7-29: a plate of 50 mm in a bore of 73.66 mm, taps at D and D/2, 17 kPa
    of water at 15 °C: 478 L/min.

    The handbook reads its coefficient off a chart, from memory good to 4 %.  Here it is that
    of ISO 5167 (Reader-Harris and Gallagher, by fluids), with the approach speed in the bore.
    """
    from fluids.flow_meter import C_Reader_Harris_Gallagher

    bore, hole, lost = 0.07366, 0.050, 17e3
    density, sticky = water_density.si(288.15), water_viscosity.si(288.15)
    near = 1 / (1 - (hole / bore) ** 4) ** 0.5
    flow = 478e-3 / 60
    for _ in range(20):
        discharge = C_Reader_Harris_Gallagher(
            D=bore, Do=hole, rho=density, mu=sticky, m=flow * density, taps="D and D/2"
        )
        flow = orifice_flow.si(discharge * near, hole, lost, density)
    assert flow * 60e3 == pytest.approx(478, rel=0.04)
    # and by that handbook's own flow coefficient, 0.70 on its chart (from memory)
    assert orifice_flow.si(0.70, hole, lost, density) * 60e3 == pytest.approx(478, rel=0.04)


@pytest.mark.parametrize(
    "factor, printed", [(0.017, 781), (None, 746)], ids=["charted factor", "iterated"]
)
def test_a_gravity_line_with_six_elbows(factor: float | None, printed: float) -> None:
    """Crane TP-410M ex. 7-6, through the network: 7 m of head on 60 m of 80 mm schedule 40 with
    six threaded elbows and a ball valve of reduced bore: 781 L/min with the factor of fully
    turbulent flow, 746 once it is iterated.

    Resistances as that handbook defines them, from memory: elbows 30 of 0.017, the valve 0.58,
    an entrance that projects 0.78, the exit 1; bore 77.9 mm, roughness 0.046 mm, water at 15 °C.
    2 %: charts, and a valve and an entrance from memory.
    """
    bore, length = 0.0779, 60.0
    fittings = 6 * 30 * 0.017 + 0.58 + 0.78 + 1.0
    net = Network(density=water_density.si(288.15), viscosity=water_viscosity.si(288.15))
    net.hold("tank")
    net.hold("below")
    tube = {"length": length, "roughness": 46e-6} if factor is None else {}
    straight = 0.0 if factor is None else factor * length / bore
    net.add(
        Link(
            name="line",
            start="tank",
            end="below",
            diameter=bore,
            loss=fittings + straight,
            rise=-7.0,
            **tube,
        )
    )
    assert net.solve().flow["line"] * 60e3 == pytest.approx(printed, rel=0.02)


def test_friction_factor_of_a_flow_that_must_be_found() -> None:
    """The flow that 10 kPa drives through 5 m of tube, found by scipy from fluids' own loss."""
    from fluids.friction import one_phase_dP

    def lost(mass_flow: float) -> float:
        return one_phase_dP(mass_flow, 998.2, 1.0016e-3, 0.0121, 1.5e-6, 5.0, "Colebrook") - 1e4

    mass_flow = brentq(lost, 0.01, 1.0)
    speed = velocity.si(flow=mass_flow / 998.2, diameter=0.0121)
    factor = friction_factor(reynolds.si(998.2, speed, 0.0121, 1.0016e-3), 1.5e-6 / 0.0121)
    assert friction_loss.si(factor, 5.0, 0.0121, 998.2, speed) == pytest.approx(1e4, rel=1e-8)
