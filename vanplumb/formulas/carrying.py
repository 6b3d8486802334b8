"""What must be held and carried: a full tank in braking, belongings, loads on the axles."""

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


@formula("axle_load", source=PHYSICS.at("moments about the rear axle"))
def axle_load_front(mass, distance, distance_axles):
    """What a mass adds on the front axle, some way behind it, by the wheelbase.

    A mass behind the rear axle takes load off the front one, so the result may be less than 0.
    """
    return mass * (distance_axles - distance) / distance_axles


@formula("axle_load", source=PHYSICS.at("moments about the front axle"))
def axle_load_rear(mass, distance, distance_axles):
    """What a mass adds on the rear axle, some way behind the front one.

    A mass behind the rear axle adds more there than it weighs; one ahead of the front takes off.
    """
    return mass * distance / distance_axles


@formula("axle_load", source=DEFINITION.at("what is left of what is allowed"))
def axle_room(axle_load_allowed, axle_load_weighed, axle_load_added):
    """What an axle may still carry; less than 0 where it carries too much."""
    return axle_load_allowed - axle_load_weighed - axle_load_added
