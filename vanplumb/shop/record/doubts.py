"""What in a record can't be as it is told: a weak dose, steps out of order, a clock put back."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from ...van.region import rules_of
from ...words.quantity import QuantityError, read
from ...words.show import show
from .events import Event
from .record import Contents

if TYPE_CHECKING:
    from ..engine import Shop

PUT_BACK = timedelta(minutes=2)
"""How far a clock may go back, as one that is set right by itself does."""
NEARLY = 0.99
"""Share of a strength or time that counts as it, for figures that were rounded."""


@dataclass(frozen=True)
class Doubt:
    """An entry that nobody can believe as it stands, told as the review tells a finding.

    It can't be taken back, so somebody answers for it before the hand-over.
    """

    where: str
    what: str
    severity: str = "WARNING"
    rule: str = "clock_put_back"


def clock_put_back(contents: Contents) -> list[Doubt]:
    """Entries that are dated before the one that they follow: the computer's clock was put back."""
    found = []
    before: Event | None = None
    for event in contents.events:
        if before is not None and _time(event) < _time(before) - PUT_BACK:
            found.append(
                Doubt(
                    f"entry {event.number}",
                    f"it is dated {event.time[:16]}, the entry before it {before.time[:16]}: the "
                    "clock was put back",
                )
            )
        before = event
    return found


def on_the_road(contents: Contents) -> Event | None:
    """The hand-over of a van that has not come back since; None if it stands in the shop."""
    said = contents.of("handed over", "came back")
    return said[-1] if said and said[-1].kind == "handed over" else None


def back_untouched(contents: Contents) -> Event | None:
    """The return of a van on which nothing was noted since."""
    last = contents.events[-1] if contents.events else None
    return last if last is not None and last.kind == "came back" else None


def disinfection_open(shop: Shop, contents: Contents) -> Iterator[str]:
    """What is missing of the disinfection: it is strong and long enough, after all work on joints,
    and what is left was measured after it.
    """
    if shop.dose is None:
        return
    done = contents.of("disinfected")
    if not done:
        yield "it was not disinfected"
        return
    last = done[-1]
    weak = too_weak(shop, last)
    if weak:
        yield weak
    opened = [e for e in contents.of("joint made", "joint repaired") if e.number > last.number]
    if opened:
        yield (
            f"it was disinfected before {opened[-1].get('joint')} was "
            f"{opened[-1].kind.removeprefix('joint ')}: disinfect after all work on the water"
        )
    if not any(e.number > last.number for e in contents.of("flushed")):
        yield "the chlorine that is left was not measured" + (
            " after it was disinfected" if contents.of("flushed") else ""
        )


def too_weak(shop: Shop, event: Event) -> str:
    """What a dose lacks of the rule's; empty if it is enough, or no rule asks for one."""
    if shop.dose is None or _strong_enough(shop, event):
        return ""
    way, units = shop.dose.way, shop.build.van.units
    return (
        f"it was disinfected with {event.get('concentration')} for {event.get('duration')}; the "
        f"rule asks for {show(way.number('concentration'), 'concentration', units)} for "
        f"{show(way.number('duration'), 'duration', units)}"
    )


def _strong_enough(shop: Shop, event: Event) -> bool:
    """Whether a dose is that of some way of the region, with the same agent."""
    assert shop.dose is not None
    try:
        strength = read(event.get("concentration"), "concentration")
        time = read(event.get("duration"), "duration")
    except QuantityError:
        return False
    ways = [w for w in rules_of(shop.build, "disinfection_rules").values()
            if w["agent"] == shop.dose.way["agent"]]  # fmt: skip
    return any(
        strength >= NEARLY * way.number("concentration") and time >= NEARLY * way.number("duration")
        for way in [shop.dose.way, *ways]
    )


def _time(event: Event) -> datetime:
    found = datetime.fromisoformat(event.time)
    return found if found.tzinfo else found.astimezone()
