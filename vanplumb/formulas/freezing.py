"""Cold nights: how long a run takes to reach its freezing point, and to begin to ice up."""

from numpy import cos, log, pi

from vanplumb.words.formula import formula
from vanplumb.words.sources import ASHRAE_FREEZING, OWN, PHYSICS


@formula("duration", source=ASHRAE_FREEZING)
def time_to_freezing(
    density,
    specific_heat,
    diameter,
    resistance_per_length,
    rise_start,
    rise_freezing,
):
    """Time until still water in a tube has cooled to its freezing point in steady cold air.

    The first rise is from the air to the water's temperature at dusk, the other from the air
    to the freezing point.  The tube's own heat is left aside, which errs to the early side.
    """
    number = log(rise_start / rise_freezing)
    return density * specific_heat * pi * (diameter / 2) ** 2 * resistance_per_length * number


@formula("duration", source=PHYSICS.at("latent heat"))
def time_to_ice(density, diameter, latent_heat, share_ice, resistance_per_length, rise_freezing):
    """Time at the freezing point until a share of the water is ice, in steady cold air.

    The resistance of the growing ice is left aside, which errs to the early side.
    """
    area = pi / 4 * diameter**2
    return density * area * latent_heat * share_ice * resistance_per_length / rise_freezing


@formula("temperature", source=OWN.at("a day's wave of air temperature"))
def night_air(temperature_day, temperature_night, duration_since_coldest, duration_day):
    """Air temperature by the hour: a wave between the day's warmest and the night's coldest."""
    number = (1 + cos(2 * pi * duration_since_coldest / duration_day)) / 2
    return temperature_day + (temperature_night - temperature_day) * number
