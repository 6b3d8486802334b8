"""What must be held and carried: a full tank in braking, belongings in the van."""

from ..words.formula import formula
from ..words.glossary import GRAVITY
from ..words.sources import DEFINITION, PHYSICS


@formula("force", source=PHYSICS.at("Newton's second law"))
def restraint_force(mass, number):
    """Force on what holds a mass, at a multiple of gravity."""
    return mass * number * GRAVITY


@formula("mass", source=DEFINITION.at("belongings by people and length"))
def belongings_mass(count_people, mass_person, length, mass_per_length):
    """Belongings that a motor caravan must be able to carry: so much a person and a metre."""
    return count_people * mass_person + length * mass_per_length
