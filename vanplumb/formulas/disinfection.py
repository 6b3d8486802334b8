"""Chlorine in the tank and the runs: how much to add, what it does, how it leaves."""

from numpy import exp, log

from ..words.formula import formula
from ..words.sources import C651, CENGEL, DEFINITION

BALANCE = CENGEL.at("section 5-2, conservation of mass")


@formula("concentration", source=BALANCE)
def strength_by_weight(share, density):
    """Chlorine per volume of a liquid whose strength is said by weight."""
    return share * density


@formula("volume_small_bleach", source=BALANCE)
def bleach_volume(concentration, volume, concentration_bleach):
    """Bleach that brings water to a concentration; the bleach's own volume counts too."""
    return concentration * volume / (concentration_bleach - concentration)


@formula("mass", source=BALANCE)
def granule_mass(concentration, volume, share):
    """Granules, of which a share is available chlorine, that bring water to a concentration."""
    return concentration * volume / share


@formula("concentration", source=C651.at("mixing of a 1 % solution"))
def solution_strength(mass, share, volume):
    """Concentration of a solution made of granules in water."""
    return mass * share / volume


@formula("exposure", source=DEFINITION.at("concentration times time"))
def chlorine_exposure(concentration, duration):
    """Concentration times time: what disinfecting is compared by."""
    return concentration * duration


@formula("concentration_after", source=BALANCE)
def after_refill(concentration, volume_left, volume, count_fillings):
    """Concentration when what is left after each draining is filled up with fresh water."""
    return concentration * (volume_left / volume) ** count_fillings


@formula("concentration_after", source=CENGEL.at("section 5-2, mixed tank"))
def after_flushing(concentration, volume_flushed, volume):
    """Concentration in a well mixed volume after fresh water has run through it."""
    return concentration * exp(-volume_flushed / volume)


@formula("volume_flushed", source=CENGEL.at("section 5-2, mixed tank"))
def flushing_volume(volume, concentration, concentration_end):
    """Fresh water that must run through a well mixed volume to thin what is in it."""
    return volume * log(concentration / concentration_end)
