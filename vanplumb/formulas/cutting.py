"""Lengths of tube on a manifold board."""

from numpy import pi

from ..words.formula import formula
from ..words.sources import GEOMETRY


@formula("length", source=GEOMETRY)
def cut_length(length_centres, width_one, width_other):
    """Tube between two fittings: their centres' distance less the take-off of each.

    A take-off is how far the tube's end stops from the fitting's centre.  On an expansion
    joint that is its shoulder; the tube goes over the rest of the fitting.
    """
    return length_centres - width_one - width_other


@formula("length", source=GEOMETRY)
def bent_length(length_one, length_other, radius):
    """Tube with one right-angled bend: both legs to their corner, less what the bend cuts off."""
    return length_one + length_other - 2 * radius + pi / 2 * radius
