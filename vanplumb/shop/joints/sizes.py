"""Threads: which goes with a tube, and how far it goes in."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ...formulas.joints import hand_tight_turns, made_up_length
from ...words.glossary import INCH
from ...words.tables import table
from ...words.work import Work

Own = Mapping[str, Mapping[str, Mapping[str, Any]]]

WRENCH_TURNS = 3.0
"""Turns by wrench for 3/8 to 1 in, as in ASME B1.20.1."""


@dataclass(frozen=True)
class Engagement:
    """How a taper thread goes in: turns by hand and by wrench, and the length then, m."""

    hand_turns: float
    wrench_turns: float
    length: float
    work: tuple[Work, ...] = ()


def engagement(thread: str, own: Own | None = None) -> Engagement | None:
    """Engagement of a thread of the table, or None if its standard is not in it."""
    row = table("threads", own).get(thread)
    if row is None:
        return None
    pitch = INCH / row.number("threads_per_inch")
    hand = row.number("hand_tight")
    turns = hand_tight_turns.work(length_hand=hand, pitch=pitch)
    made = made_up_length.work(length_hand=hand, count_wrench=WRENCH_TURNS, pitch=pitch)
    return Engagement(turns.value, WRENCH_TURNS, made.value, (turns, made))


def thread_for(tube: str, own: Own | None = None) -> tuple[str, str]:
    """The usual thread for a tube, and how that was taken.

    Inch tube takes taper NPT of its size (5/8 in takes 1/2), metric tube and hose take BSP.
    """
    row = table("tubes", own)[tube]
    inch = re.search(r"(\d+/\d+|\d+) in", tube)
    if inch and row["material"] in ("PEX", "copper"):
        size = {"5/8": "1/2"}.get(inch[1], inch[1])
        return f"NPT {size}", f"{tube} is taken to have an adapter to NPT {size}"
    size = "1/2" if row.number("od") < 0.0185 else "3/4"
    return f"BSP {size}", f"{tube} is taken to have an adapter to BSP {size}"
