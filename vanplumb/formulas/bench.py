"""Sums of the bench: centre to centre, and when the last joint is ready."""

from numpy import maximum

from vanplumb.words.formula import formula
from vanplumb.words.sources import DEFINITION


@formula("length", source=DEFINITION.at("take-off"))
def least_centres(length_stub, length_first, length_second):
    """Centre to centre of two fittings with a tube between them; the others are take-offs."""
    return length_first + length_stub + length_second


@formula("duration", source=DEFINITION.at("the later of two moments"))
def latest_ready(duration_first, duration_first_wait, duration_last, duration_last_wait):
    """When two joints may see pressure, each made at its time and waiting its own wait."""
    return maximum(duration_first + duration_first_wait, duration_last + duration_last_wait)
