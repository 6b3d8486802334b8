"""Valves, fittings and outlets: what they take at a flow, and what they pass at a pressure."""

from numpy import pi, sqrt

from ..words.formula import formula
from ..words.glossary import BAR, DENSITY_REFERENCE, FLOW_GPM, PRESSURE_PSI
from ..words.sources import CENGEL, CRANE, IEC60534, ORIFICE


@formula("flow", source=IEC60534.at("definition of Kv"))
def valve_flow(flow_coefficient, pressure_loss, density):
    """Flow that a valve passes at a pressure across it."""
    return flow_coefficient * sqrt(pressure_loss / BAR * DENSITY_REFERENCE / density)


@formula("pressure_loss", source=IEC60534.at("definition of Kv"))
def valve_loss(flow, flow_coefficient, density):
    """Pressure that a valve takes at a flow."""
    return BAR * density / DENSITY_REFERENCE * (flow / flow_coefficient) ** 2


@formula("flow_coefficient", source=IEC60534.at("definition of Kv"))
def coefficient_from_test(flow, pressure_loss, density):
    """Kv from one flow and the pressure that it cost."""
    return flow / sqrt(pressure_loss / BAR * DENSITY_REFERENCE / density)


@formula("flow_coefficient_us", source=IEC60534.at("definitions of Kv and Cv"))
def cv_from_kv(flow_coefficient):
    """Cv, in US gallons a minute at 1 psi, from Kv, at 1 bar.

    Flow goes with the root of pressure, so the psi stands to the bar under a root.
    """
    return flow_coefficient * sqrt(PRESSURE_PSI / BAR) / FLOW_GPM


@formula("flow_coefficient", source=IEC60534.at("definitions of Kv and Cv"))
def kv_from_cv(flow_coefficient_us):
    """Kv, at 1 bar, from Cv in US gallons a minute at 1 psi."""
    return flow_coefficient_us * FLOW_GPM * sqrt(BAR / PRESSURE_PSI)


@formula("loss_coefficient", source=CRANE.at("definition of Kv and K"))
def loss_coefficient_from_kv(flow_coefficient, diameter):
    """K of a valve, for the speed in a bore of that diameter."""
    area = pi / 4 * diameter**2
    return 2 * BAR / DENSITY_REFERENCE * (area / flow_coefficient) ** 2


@formula("flow_coefficient", source=CRANE.at("definition of Kv and K"))
def kv_from_loss_coefficient(loss_coefficient, diameter):
    """Kv of a fitting whose K is known for the speed in a bore of that diameter."""
    area = pi / 4 * diameter**2
    return area * sqrt(2 * BAR / (DENSITY_REFERENCE * loss_coefficient))


@formula("flow_coefficient", source=CRANE.at("valves in series"))
def kv_in_series(flow_coefficient_first, flow_coefficient_second):
    """Kv of two parts that the same water passes one after the other."""
    return 1 / sqrt(1 / flow_coefficient_first**2 + 1 / flow_coefficient_second**2)


@formula("loss_coefficient", source=CENGEL.at("chapter 8, sudden expansion"))
def widening_coefficient(diameter_narrow, diameter_wide):
    """K of a sudden widening, for the speed in the narrow bore (Borda and Carnot)."""
    return (1 - (diameter_narrow / diameter_wide) ** 2) ** 2


@formula("loss_coefficient", source=CRANE.at("sudden contraction"))
def narrowing_coefficient(diameter_narrow, diameter_wide):
    """K of a sudden narrowing, for the speed in the narrow bore; roughly, by half the step."""
    return 0.5 * (1 - (diameter_narrow / diameter_wide) ** 2)


@formula("loss_coefficient", source=CRANE.at("converging tees, equal legs"))
def joining_run_coefficient(share_branch):
    """K of a tee's run when a branch joins it, for the speed in the leg where both flow.

    The share is the branch's part of the joined flow.
    """
    return 1.55 * share_branch - share_branch**2


@formula(
    "loss_coefficient",
    source=CRANE.at("converging tees, equal legs"),
    valid={"share_branch": (0.0, 0.4)},
)
def joining_branch_coefficient(share_branch):
    """K of a joining branch up to 0.4 of the flow; below zero where the run draws it along.

    For the speed in the leg where both flow, all legs of one bore.
    """
    coefficient = 0.9 * (1 - share_branch)
    return coefficient * (1 + share_branch**2 - 2 * (1 - share_branch) ** 2)


@formula("flow", source=ORIFICE.at("free outlet, square-root law"))
def outlet_flow(flow_rated, pressure, pressure_rated):
    """Flow of an open outlet without a regulator, from its rated flow at its rated pressure."""
    return flow_rated * sqrt(pressure / pressure_rated)


@formula("pressure", source=ORIFICE.at("free outlet, square-root law"))
def outlet_pressure(flow, flow_rated, pressure_rated):
    """Pressure that an open outlet without a regulator needs for a flow."""
    return pressure_rated * (flow / flow_rated) ** 2


@formula("flow", source=ORIFICE, valid={"coefficient": (0.5, 1.0)})
def orifice_flow(coefficient, diameter, pressure_loss, density):
    """Flow through a hole that is small beside what it is in; sharp edges pass about 0.61."""
    area = pi / 4 * diameter**2
    return coefficient * area * sqrt(2 * pressure_loss / density)
