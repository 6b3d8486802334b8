"""The tube itself: what pressure it bears, how it grows with heat, what room that needs."""

from numpy import sqrt

from vanplumb.words.formula import formula
from vanplumb.words.sources import F876, GEOMETRY, PPI


@formula("number", source=F876.at("dimension ratio"))
def dimension_ratio(diameter_outside, thickness_wall):
    """Outside diameter over wall: 9 for most of this tube, less for the small sizes."""
    return diameter_outside / thickness_wall


@formula("diameter", source=GEOMETRY.at("ring"))
def bore(diameter_outside, thickness_wall):
    """Inside diameter.  With the least wall that a standard allows it is the largest bore."""
    return diameter_outside - 2 * thickness_wall


@formula("pressure", source=F876.at("hoop formula, ISO 161-1"), valid={"number_ratio": (3.0, 50.0)})
def pressure_rating(stress, number_ratio):
    """Pressure that a tube bears for long, from its design stress at that temperature.

    Tubes are sold by the next round category: 157.5 psi is called 160.
    """
    return 2 * stress / (number_ratio - 1)


@formula("stress", source=F876.at("hoop formula, ISO 161-1"))
def hoop_stress(pressure, diameter_outside, thickness_wall):
    """Stress that pressure makes round the wall of a tube."""
    return pressure * (diameter_outside - thickness_wall) / (2 * thickness_wall)


@formula("length_growth", source=PPI.at("thermal expansion"))
def heat_growth(expansion_coefficient, length, rise):
    """How much longer a run gets when it warms."""
    return expansion_coefficient * length * rise


@formula("length", source=PPI.at("expansion offset"), valid={"length_growth": (0.0, 10.0)})
def offset_length(diameter_outside, length_growth):
    """Free leg beside a corner that takes up a run's growth by bending.

    The factor 12 holds for lengths in one unit, whichever it is.
    """
    return 12 * sqrt(diameter_outside * length_growth)
