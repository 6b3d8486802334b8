"""Wire of low voltage: how long it may be before too much of the voltage is lost."""

from ..words.formula import formula
from ..words.glossary import RESISTIVITY_COPPER
from ..words.sources import PHYSICS


@formula("length", source=PHYSICS.at("Ohm's law, there and back"))
def wire_reach(share_drop, voltage, area, current):
    """How far a pair of wires reaches, one way, until a share of the voltage is lost in it."""
    return share_drop * voltage * area / (2 * RESISTIVITY_COPPER * current)
