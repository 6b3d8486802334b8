"""Threads: how far a taper thread goes in, how many turns, and which compound may seal it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from ..formulas.joints import hand_tight_turns, made_up_length
from ..van.ends import METALS, Own
from ..words.brief import brief
from ..words.glossary import INCH
from ..words.show import show
from ..words.tables import Row, table
from ..words.work import Work


@brief
@dataclass(frozen=True)
class Engagement:
    """How a taper thread goes in: turns by hand and by wrench, and the length at the most, m."""

    hand_turns: float
    wrench_least: float
    wrench_turns: float
    length: float
    work: tuple[Work, ...] = ()

    @property
    def told(self) -> str:
        """Turns in words: "4.5 turns by hand, then 2 to 3 by wrench"."""
        return (
            f"{self.hand_turns:.1f} turns by hand, then {self.wrench_least:g} to "
            f"{self.wrench_turns:g} by wrench"
        )

    @property
    def short(self) -> str:
        """Turns as a list has room for them: "4.5 by hand + 2 to 3"."""
        return f"{self.hand_turns:.1f} by hand + {self.wrench_least:g} to {self.wrench_turns:g}"


def soft_or_hard(materials: Iterable[str]) -> str:
    """ "plastic" if one side of a joint is, else "metal"."""
    return "metal" if all(m in METALS for m in materials) else "plastic"


def engagement(thread: str, own: Own | None = None, material: str = "metal") -> Engagement | None:
    """Engagement of a taper thread of the table; None for a parallel or an unknown one.

    ``material`` "plastic" or "metal": a plastic side bears a turn or two, never three.
    """
    row = table("threads", own).get(thread)
    if row is None or row["hand_tight"] is None:
        return None
    turns = table("wrench_turns", own)[material]
    least, most = turns.number("turns_least"), turns.number("turns_most")
    pitch = INCH / row.number("threads_per_inch")
    hand = row.number("hand_tight")
    by_hand = hand_tight_turns.work(length_hand=hand, pitch=pitch)
    made = made_up_length.work(length_hand=hand, count_wrench=most, pitch=pitch)
    return Engagement(by_hand.value, least, most, made.value, (by_hand, made))


def refusal(
    row: Row, temperature: float, material: str, units: str = "SI", *, drinking: bool = True
) -> str:
    """Why a compound may not seal a thread of fresh water, or an empty text if it may.

    ``temperature`` is the hottest that the joint sees, K; ``material`` "metal" or "plastic".
    """
    wrong = []
    if drinking and not row["drinking"]:
        wrong.append("it is not rated for drinking water")
    hottest = row.number("temperature_greatest")
    if temperature > hottest:
        wrong.append(
            f"it is for {show(hottest, 'temperature', units)} at most and the joint reaches "
            f"{show(temperature, 'temperature', units)}"
        )
    if material not in row["materials"]:
        wrong.append(f"it is for {' and '.join(row['materials'])} threads, not {material}")
    return f"{row.name}: {'; '.join(wrong)}" if wrong else ""


def fit_for(temperature: float, material: str, own: Own | None = None) -> tuple[str, ...]:
    """Compounds of the table that may seal such a thread, the shortest wait first."""
    rows = [r for r in table("compounds", own).values() if not refusal(r, temperature, material)]
    return tuple(r.name for r in sorted(rows, key=lambda r: r.number("cure")))
