"""Chances of joints that weep, from few trials.

Taper pipe threads: how far they go in by hand and by wrench, and lead in what is wetted.
Lengths of tube on a manifold board.
Sums of the bench: centre to centre, and when the last joint is ready.
"""

from numpy import log, maximum, pi

from ..words.formula import formula
from ..words.glossary import INCH
from ..words.sources import (
    B1_20_1,
    CLOPPER,
    DEFINITION,
    GEOMETRY,
    NSF372,
    PRACTICE,
    RULE_OF_THREE,
    STATISTICS,
)


@formula("length", source=B1_20_1.at("effective thread length L2", "memory"))
def thread_effective_length(diameter_outside, pitch):
    """Length of full external thread, L2 of the standard."""
    return (0.80 * diameter_outside / INCH + 6.8) * pitch


@formula("diameter", source=B1_20_1.at("pitch diameter at the small end E0", "memory"))
def thread_end_diameter(diameter_outside, pitch):
    """Pitch diameter at the small end of the external thread, E0 of the standard."""
    return diameter_outside - (0.050 * diameter_outside / INCH + 1.1) * pitch


@formula("diameter", source=B1_20_1.at("pitch diameter at hand tight E1", "memory"))
def thread_gauge_diameter(diameter_end, length_hand):
    """Pitch diameter where the thread is hand tight, E1: the taper is 1 in 16 on diameter."""
    return diameter_end + length_hand / 16


@formula("duration", source=PRACTICE)
def cure_in_the_cold(
    duration_warm, duration_like_cold, duration_like_warm, rise_below, rise_between
):
    """Wait of a sealant in a cold shop: it slows as its like does between two printed waits.

    The logarithm of the time lies on a straight line over temperature.  ``rise_below`` is from
    the shop up to the warm point, ``rise_between`` from the cold point to it.
    """
    number_slower = duration_like_cold / duration_like_warm
    return duration_warm * number_slower ** (rise_below / rise_between)


@formula("count", source=B1_20_1.at("hand-tight engagement L1"))
def hand_tight_turns(length_hand, pitch):
    """Turns that a taper thread goes in by hand."""
    return length_hand / pitch


@formula("length", source=B1_20_1.at("hand-tight engagement L1 and wrench make-up"))
def made_up_length(length_hand, count_wrench, pitch):
    """How far a taper thread has gone in after the wrench's turns."""
    return length_hand + count_wrench * pitch


@formula("share", source=NSF372.at("section 4"))
def lead_share(share_lead, area, area_total):
    """What one wetted part adds to the lead content of a product, weighted by wetted area."""
    return share_lead * area / area_total


@formula("area", source=NSF372.at("section 4"))
def wetted_female_thread(area_thread):
    """Area of an internal taper thread that counts as wetted: a quarter of its length."""
    return 0.25 * area_thread


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


@formula("length", source=DEFINITION.at("take-off"))
def least_centres(length_stub, length_first, length_second):
    """Centre to centre of two fittings with a tube between them; the others are take-offs."""
    return length_first + length_stub + length_second


@formula("duration", source=DEFINITION.at("the later of two moments"))
def latest_ready(duration_first, duration_first_wait, duration_last, duration_last_wait):
    """When two joints may see pressure, each made at its time and waiting its own wait."""
    return maximum(duration_first + duration_first_wait, duration_last + duration_last_wait)


@formula("chance", source=RULE_OF_THREE, valid={"count": (30.0, 1e9)})
def rule_of_three(count):
    """Highest chance, at 95 %, of an event that did not come in so many trials."""
    return 3 / count


@formula("chance", source=CLOPPER.at("one-sided limit, no event"), valid={"count": (1.0, 1e9)})
def upper_chance_none(confidence, count):
    """Highest chance, at a confidence, of an event that did not come in so many trials."""
    return 1 - (1 - confidence) ** (1 / count)


@formula("count", source=STATISTICS, valid={"chance": (1e-9, 0.999999)})
def trials_needed(confidence, chance):
    """Trials without an event that show a chance to be no higher, at a confidence."""
    return log(1 - confidence) / log(1 - chance)


@formula("chance_any", source=STATISTICS)
def chance_of_any(chance, count):
    """Chance of at least one event among so many like trials that know nothing of each other."""
    return 1 - (1 - chance) ** count
