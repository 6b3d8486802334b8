"""Taper threads against the printed dimensions of ASME B1.20.1."""

from __future__ import annotations

import pytest

from vanplumb.formulas.joints import (
    hand_tight_turns,
    lead_share,
    made_up_length,
    thread_effective_length,
    thread_end_diameter,
    thread_gauge_diameter,
    wetted_female_thread,
)
from vanplumb.words.tables import table

INCH = 0.0254

# ASME B1.20.1, basic dimensions, in inches: threads per inch, L1, turns, L2, E1.
PRINTED = {
    "NPT 3/8": (18, 0.240, 4.32, 0.4078, 0.62701),
    "NPT 1/2": (14, 0.320, 4.48, 0.5337, 0.77843),
    "NPT 3/4": (14, 0.339, 4.75, 0.5457, 0.98887),
    "NPT 1": (11.5, 0.400, 4.60, 0.6828, 1.23863),
}


@pytest.mark.checks(
    "thread_effective_length", "thread_end_diameter", "thread_gauge_diameter", "hand_tight_turns"
)
@pytest.mark.parametrize("size", PRINTED)
def test_lengths_and_turns_match_the_standard(size: str) -> None:
    row = table("threads")[size]
    tpi, hand, turns, effective, pitch_diameter = PRINTED[size]
    pitch = INCH / row.number("threads_per_inch")
    assert row.number("threads_per_inch") == tpi
    assert row.number("hand_tight") / INCH == pytest.approx(hand, abs=1e-9)
    assert hand_tight_turns.si(row.number("hand_tight"), pitch) == pytest.approx(turns, abs=0.005)
    outside = row.number("outside_diameter")
    assert thread_effective_length.si(outside, pitch) / INCH == pytest.approx(effective, abs=5e-5)
    gauge = thread_gauge_diameter.si(
        thread_end_diameter.si(outside, pitch), row.number("hand_tight")
    )
    assert gauge / INCH == pytest.approx(pitch_diameter, abs=5e-6)


@pytest.mark.checks("made_up_length")
def test_half_inch_made_up_with_three_turns() -> None:
    # ASME B1.20.1: 0.320 in by hand and three turns of 1/14 in by wrench.
    length = made_up_length.si(length_hand=0.320 * INCH, count_wrench=3, pitch=INCH / 14)
    assert length / INCH == pytest.approx(0.534, abs=0.0005)


@pytest.mark.checks("made_up_length")
def test_a_made_up_thread_is_as_long_as_the_full_thread() -> None:
    # The standard's own two lengths agree: hand-tight and three turns come to L2 within 0.01 in.
    for size in ("NPT 1/2", "NPT 3/4", "NPT 3/8"):
        row = table("threads")[size]
        pitch = INCH / row.number("threads_per_inch")
        made = made_up_length.si(row.number("hand_tight"), 3, pitch)
        assert made == pytest.approx(row.number("effective"), abs=0.01 * INCH)


@pytest.mark.checks("lead_share", "wetted_female_thread")
def test_lead_of_a_product_is_weighted_by_wetted_area() -> None:
    # NSF/ANSI/CAN 372 section 4: shares of area; the limit of 0.25 % is from SDWA section 1417.
    whole = 0.010
    parts = [(0.0010, 0.004), (0.0040, 0.006)]
    total = sum(lead_share.si(lead, area, whole) for lead, area in parts)
    by_hand = (0.0010 * 4 + 0.0040 * 6) / 10
    assert total == pytest.approx(by_hand)
    assert lead_share.si(0.0025, whole, whole) == pytest.approx(0.0025)
    # a quarter of an internal taper thread counts as wetted
    assert wetted_female_thread.si(8e-4) == pytest.approx(2e-4)
