"""What a record says of one joint or part, and of the warranties: for the day when it leaks."""

from __future__ import annotations

import calendar
import re
from dataclasses import dataclass
from datetime import date

from .events import Event
from .history import states
from .record import Contents
from .signing import REOPENS, Refused

_TERM = re.compile(r"^\s*(\d{1,3})\s*(months?|years?)\s*$")


@dataclass(frozen=True)
class FittedPart:
    """A part as it stands in the van: its numbers, and its warranty's term as the maker's paper
    says.  ``until`` is the last day, counted from the hand-over; empty while one is not known.
    """

    part: str
    serial: str
    batch: str
    by: str
    fitted: str
    term: str
    until: str


@dataclass(frozen=True)
class TestOfClaim:
    """A pressure test, and the readings that it was judged by."""

    __test__ = False

    event: Event
    readings: tuple[Event, ...]


@dataclass(frozen=True)
class Claim:
    """The history of one joint or part.  ``events`` name it; ``tests`` are those it stood in.

    ``handed`` is the last hand-over, ``alike`` maps others of the same batch to the batch.
    """

    name: str
    state: str
    events: tuple[Event, ...]
    tests: tuple[TestOfClaim, ...]
    part: FittedPart | None
    handed: Event | None
    alike: tuple[tuple[str, str], ...]
    whole: bool
    mark: str


def term_ends(begins: str, term: str) -> str:
    """The last day of a warranty of ``24 months`` or ``2 years`` from a day such as 2025-03-07.

    Refused for a term that can't be read.
    """
    found = _TERM.match(term)
    if found is None:
        raise Refused(f'write a warranty as "24 months" or "2 years", got "{term}"')
    first = date.fromisoformat(begins[:10])
    months = int(found[1]) * (12 if found[2].startswith("year") else 1)
    year, month = divmod(first.year * 12 + first.month - 1 + months, 12)
    if year > 9999:
        raise Refused(f'no warranty lasts as long as "{term}"')
    last = calendar.monthrange(year, month + 1)[1]
    return date(year, month + 1, min(first.day, last)).isoformat()


def fitted_parts(contents: Contents) -> tuple[FittedPart, ...]:
    """The parts whose numbers the record knows, as last fitted, in the order of the record."""
    handed = contents.of("handed over")
    found: dict[str, FittedPart] = {}
    for event in contents.of("part fitted", "part replaced"):
        name, term = event.get("part"), event.get("warranty")
        if event.kind == "part replaced" and not event.get("serial"):
            found.pop(name, None)  # what is there now has no number
            continue
        # a part that was fitted after the hand-over has its term from that day
        begins = max(handed[0].time, event.time) if handed else ""
        until = term_ends(begins, term) if term and begins else ""
        found[name] = FittedPart(
            name, event.get("serial"), event.get("batch"), event.get("by"), event.time, term, until
        )
    return tuple(found.values())


def claim_of(contents: Contents, name: str) -> Claim:
    """All that the record says of a joint or part.  Refused if it says nothing of it."""
    mine = tuple(e for e in contents.events if name in (e.get("joint"), e.get("part"), e.get("of")))
    known = states(contents)
    if not any(e.kind != "photograph" for e in mine):
        names = ", ".join([*known, *(p.part for p in fitted_parts(contents))][:12]) or "nothing"
        raise Refused(f"the record says nothing of {name!r}; it knows {names}")
    joint = known.get(name)
    part = next((p for p in fitted_parts(contents) if p.part == name), None)
    handed = contents.of("handed over")
    tests = _tests(contents, mine[0].number) if joint else ()
    state = joint.state if joint else "fitted"
    batches = {e.get("batch") for e in mine if e.get("batch")}
    return Claim(
        name, state, mine, tests, part, handed[-1] if handed else None,
        tuple(_alike(contents, name, batches)), not contents.problems, contents.mark,
    )  # fmt: skip


def _tests(contents: Contents, after: int) -> tuple[TestOfClaim, ...]:
    found: list[TestOfClaim] = []
    readings: list[Event] = []
    for event in contents.events:
        if event.kind == "gauge read":
            readings.append(event)
        if event.kind == "system tested" and event.number > after:
            found.append(TestOfClaim(event, tuple(readings)))
        if event.kind in REOPENS:
            readings.clear()
    return tuple(found)


def _alike(contents: Contents, name: str, batches: set[str]) -> list[tuple[str, str]]:
    """Other joints and parts of this van that bear one of the batches."""
    found = {
        e.get("joint") or e.get("part"): e.get("batch")
        for e in contents.events
        if e.get("batch") in batches and (e.get("joint") or e.get("part"))
    }
    return [(other, batch) for other, batch in found.items() if other != name]
