"""The air around a van: its pressure falls with height, and pumps and vessels feel it."""

from vanplumb.words.formula import formula
from vanplumb.words.glossary import (
    GAS_CONSTANT_AIR,
    GRAVITY,
    LAPSE_RATE,
    PRESSURE_STANDARD,
    TEMPERATURE_STANDARD,
)
from vanplumb.words.sources import CENGEL, ISA


@formula("pressure_absolute", source=ISA.at("troposphere"), valid={"height": (-500.0, 11000.0)})
def air_pressure(height):
    """Pressure of the standard atmosphere at a height above the sea."""
    number_cooling = 1 - LAPSE_RATE * height / TEMPERATURE_STANDARD
    return PRESSURE_STANDARD * number_cooling ** (GRAVITY / (LAPSE_RATE * GAS_CONSTANT_AIR))


@formula("height", source=CENGEL.at("net positive suction head"))
def greatest_lift(pressure_absolute_air, pressure_absolute_vapour, pressure_loss, density):
    """Height above the water at which it would boil in the suction line: never reached.

    A pump's own limit comes long before; take the smaller of the two.
    """
    pressure = pressure_absolute_air - pressure_absolute_vapour - pressure_loss
    return pressure / (density * GRAVITY)
