"""Propylene glycol in water: where it begins to freeze, how heavy and thick it is.

Shares by mass, of glycol without the additives of a bought fluid.  A bought fluid's own
label rules.
"""

from numpy import exp, minimum

from vanplumb.words.formula import formula
from vanplumb.words.glossary import ICE_POINT
from vanplumb.words.sources import MELINDER, OWN, PHYSICS

THIN = {"share_glycol": (0.0, 0.6)}


@formula("temperature", source=MELINDER.at("fit to it"), valid=THIN, empirical=True)
def glycol_freezing(share_glycol):
    """Temperature at which the first ice forms; it is slush for long below that."""
    number_low = 19.658 * share_glycol + 109.352 * share_glycol**2
    number_high = 213.271 * share_glycol**3 - 346.735 * share_glycol**4
    return ICE_POINT - number_low + number_high


@formula("temperature", source=OWN.at("handbooks on glycol differ by half a kelvin"))
def first_ice(temperature_fit, rise_margin):
    """Temperature at which the first ice must be reckoned with, never above that of water."""
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
