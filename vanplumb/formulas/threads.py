"""Taper pipe threads: how far they go in by hand and by wrench, and lead in what is wetted.

Lengths of the standard are functions of outside diameter and pitch in inches; ``INCH``
carries that unit through the formula.
"""

from vanplumb.words.formula import formula
from vanplumb.words.glossary import INCH
from vanplumb.words.sources import B1_20_1, NSF372, PRACTICE


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
