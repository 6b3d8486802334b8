"""Winter filling: antifreeze thinned by what stayed in the runs.

Cold nights: how long a run takes to reach its freezing point, and to begin to ice up.
Propylene glycol in water: where it begins to freeze, how heavy and thick it is.
"""

from numpy import cos, exp, log, minimum, pi

from ..words.formula import formula
from ..words.glossary import ICE_POINT
from ..words.sources import ASHRAE_FREEZING, CENGEL, MELINDER, OWN, PHYSICS


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


THIN = {"share_glycol": (0.0, 0.6)}


@formula("temperature", source=MELINDER.at("fit to it"), valid=THIN, empirical=True)
def glycol_freezing(share_glycol):
    """Temperature at which the first ice forms; it is slush for long below that."""
    number_low = 19.658 * share_glycol + 109.352 * share_glycol**2
    number_high = 213.271 * share_glycol**3 - 346.735 * share_glycol**4
    return ICE_POINT - number_low + number_high


@formula("temperature", source=OWN.at("handbooks on glycol differ by half a kelvin"))
def first_ice(temperature_fit, rise_margin):
    """Temperature at which the first ice must be expected, never above that of water."""
    return minimum(temperature_fit + rise_margin, ICE_POINT)


@formula("density", source=MELINDER.at("fit to it, at 20 °C"), valid=THIN, empirical=True)
def glycol_density(share_glycol):
    """Density of the mix at 20 °C."""
    number = 64.130 * share_glycol + 115.189 * share_glycol**2 - 164.480 * share_glycol**3
    return 998.69 + number


@formula("viscosity", source=MELINDER.at("fit to it, at 20 °C"), valid=THIN, empirical=True)
def glycol_viscosity(share_glycol):
    """Stickiness of the mix at 20 °C: pumps feel it."""
    number = 3.17253 * share_glycol + 1.79781 * share_glycol**2 - 1.59396 * share_glycol**3
    return 1.01927e-3 * exp(number)


@formula("share", source=PHYSICS.at("volumes before mixing"))
def share_by_volume(share_glycol, density_glycol, density_water):
    """Part of the volume that must be glycol before mixing, for a share by mass."""
    number = density_water / density_glycol
    return share_glycol * number / (share_glycol * number + 1 - share_glycol)


@formula("share", source=PHYSICS.at("volumes before mixing"))
def share_by_mass(share_volume, density_glycol, density_water):
    """Part of the mass that is glycol, when a part of the volume was before mixing."""
    number = density_glycol / density_water
    return share_volume * number / (share_volume * number + 1 - share_volume)


BALANCE = CENGEL.at("section 5-2, conservation of mass")


@formula("share", source=BALANCE)
def thinned_share(share_glycol, mass, mass_water):
    """Share of glycol by mass after antifreeze has met water that stayed behind."""
    return share_glycol * mass / (mass + mass_water)


@formula("mass_water", source=BALANCE)
def water_left(share_left, volume, density):
    """Water that stays in the runs after draining and blowing out."""
    return share_left * volume * density


@formula("mass", source=BALANCE)
def filling_mass(volume, density):
    """Mass of the antifreeze that fills the runs."""
    return volume * density


@formula("mass", source=BALANCE)
def antifreeze_mass(share_glycol, share_wanted, mass_water):
    """Antifreeze that must mix with water that stayed behind to leave the wanted share."""
    return mass_water * share_wanted / (share_glycol - share_wanted)
