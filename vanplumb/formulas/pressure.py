"""The air around a van: its pressure falls with height, and pumps and vessels feel it.

Pressure tests: what a drop means, what warmth does, what air and water hold in store.
The tube itself: what pressure it bears, how it grows with heat, what room that needs.
"""

from numpy import log, log10, sqrt

from ..words.formula import formula
from ..words.glossary import (
    GAS_CONSTANT_AIR,
    GRAVITY,
    LAPSE_RATE,
    PRESSURE_STANDARD,
    TEMPERATURE_STANDARD,
)
from ..words.sources import (
    CENGEL,
    CREEP,
    DEFINITION,
    F876,
    GEOMETRY,
    ISA,
    PPI,
    STATISTICS,
    THERMODYNAMICS,
    WHITE,
)


@formula("pressure_then", source=THERMODYNAMICS.at("ideal gas at constant volume"))
def air_pressure_at(pressure, temperature, temperature_reference):
    """Gauge pressure that trapped air would show at another temperature."""
    pressure_absolute = pressure + PRESSURE_STANDARD
    return pressure_absolute * temperature_reference / temperature - PRESSURE_STANDARD


@formula("compliance", source=THERMODYNAMICS.at("compressibility, definition"))
def water_compliance(volume, compressibility):
    """Water that goes in per pressure because water itself is squeezed."""
    return volume * compressibility


@formula("compliance", source=WHITE.at("thin-walled tube, hoop strain"))
def tube_compliance(volume, diameter, thickness, modulus):
    """Water that goes in per pressure because the tube swells; its ends are free to move.

    A thin-wall rule: for thick plastic walls it is within some tens of percent, which is
    as well as the modulus of the plastic is known.
    """
    return volume * diameter / (modulus * thickness)


@formula("compliance", source=THERMODYNAMICS.at("ideal gas at constant temperature"))
def air_compliance(volume, pressure):
    """Volume per pressure that trapped air takes up, at its volume under that pressure."""
    return volume / (pressure + PRESSURE_STANDARD)


@formula("volume", source=DEFINITION)
def lost_volume(compliance, pressure_loss):
    """Water that must have left for the pressure to fall so far."""
    return compliance * pressure_loss


@formula("leak", source=DEFINITION)
def leak_rate(compliance, pressure_loss, duration):
    """Mean leak that a fall of pressure means."""
    return compliance * pressure_loss / duration


@formula("leak", source=THERMODYNAMICS.at("ideal gas, volume at atmospheric pressure"))
def air_leak_rate(volume, pressure_loss, duration):
    """Mean leak of air, as volume at atmospheric pressure, that a fall means."""
    return volume * pressure_loss / (PRESSURE_STANDARD * duration)


@formula("pressure_loss", source=THERMODYNAMICS.at("thermal expansion at constant volume"))
def warming_pressure(volume, expansion_coefficient, rise, compliance):
    """Pressure that a closed volume of water gains by warming; expansion less that of its tube."""
    return volume * expansion_coefficient * rise / compliance


@formula("pressure_left", source=CREEP)
def creeping_pressure(pressure, creep, leak, compliance, duration, duration_settling):
    """Pressure of a closed plastic system: creep goes with the logarithm of time, a leak with time.

    For small losses, where the leak's own rate hardly changes.
    """
    pressure_loss_creep = creep * log10(1 + duration / duration_settling)
    pressure_loss_leak = leak * duration / compliance
    return pressure - pressure_loss_creep - pressure_loss_leak


@formula("work", source=THERMODYNAMICS.at("boundary work, isothermal"))
def air_energy(pressure, volume):
    """Work that trapped air can do while it expands, less what pushes the atmosphere away."""
    pressure_absolute = pressure + PRESSURE_STANDARD
    return (
        pressure_absolute * volume * log(pressure_absolute / PRESSURE_STANDARD) - pressure * volume
    )


@formula("work", source=THERMODYNAMICS.at("boundary work, adiabatic"))
def air_energy_sudden(pressure, volume):
    """Work that trapped air does when it expands in a burst, atmosphere and all; γ is 1.4."""
    pressure_absolute = pressure + PRESSURE_STANDARD
    share = 1 - (PRESSURE_STANDARD / pressure_absolute) ** (0.4 / 1.4)
    return pressure_absolute * volume / 0.4 * share


@formula("work", source=THERMODYNAMICS.at("boundary work, linear"))
def water_energy(pressure, compliance):
    """Work that the same volume of water and its tube can do: next to nothing."""
    return compliance * pressure**2 / 2


@formula("pressure_loss", source=STATISTICS)
def gauge_uncertainty(pressure_step):
    """Standard uncertainty of a reading that is told to the nearest step of a gauge."""
    return pressure_step / 12**0.5


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
