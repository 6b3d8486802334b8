"""How fast hot water harms skin."""

from numpy import exp

from vanplumb.words.formula import formula
from vanplumb.words.glossary import BURN_RATE, BURN_TEMPERATURE
from vanplumb.words.sources import HENRIQUES


@formula("duration", source=HENRIQUES, valid={"temperature": (310.0, 340.0)})
def skin_damage_time(temperature):
    """Time until skin that is held at a temperature is burnt through.

    The deep skin's own temperature, not the water's: in water above about 55 °C the time is
    longer than this by the lag of the skin, so it is no guide to contact with hot water.
    """
    frequency_damage = BURN_RATE * exp(-BURN_TEMPERATURE / temperature)
    return 1 / frequency_damage
