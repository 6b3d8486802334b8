"""What the crew does with water in a day: each use of the build, with its gaps filled in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ...van.model import Build
from ...van.parts import Fixture
from ...van.whole_van import Use
from ...words.brief import brief
from ...words.tables import table
from ...words.unit_table import DAY
from .at_taps import at_taps


@brief
@dataclass(frozen=True)
class Habit:
    """One use as it is used; SI throughout.

    ``volume`` is drawn once, at ``flow``, in ``duration``.  ``temperature`` is None where
    cold water does.  ``grey`` names the tank that the water goes to, or is empty.
    """

    name: str
    fixture: str
    per_day: float
    flow: float
    duration: float
    volume: float
    temperature: float | None
    hours: tuple[float, ...]
    spread: float
    grey: str
    basis: str


class HabitError(ValueError):
    """A use that says too little to be used; the message lists every one."""


def clock(text: str) -> float:
    """Seconds after midnight of a clock time such as "07:30".  ValueError if it isn't one."""
    hours, _, minutes = text.strip().partition(":")
    if not (hours.isdigit() and minutes.isdigit() and int(hours) <= 24 and int(minutes) < 60):
        raise ValueError(f'needs a clock time such as "07:30", got {text!r}')
    return int(hours) * 3600.0 + int(minutes) * 60.0


def window(text: str) -> tuple[float, float]:
    """Start and end of a stretch of the day such as "10:00-15:00"; the end may be past midnight."""
    first, mark, last = text.partition("-")
    if not mark:
        raise ValueError(f'needs a stretch of the day such as "10:00-15:00", got {text!r}')
    start, end = clock(first), clock(last)
    return start, end if end > start else end + DAY


def habits(build: Build, flows: Mapping[str, Any] | None = None) -> tuple[Habit, ...]:
    """Every use of the build, in its order.  HabitError lists all that can't be filled in.

    ``flows`` is what each fixture gives, by its name; what the network says if it isn't given.
    """
    flows = at_taps(build) if flows is None else flows
    found: list[Habit] = []
    problems: list[str] = []
    for use in build.use:
        try:
            found.append(_habit(build, use, flows))
        except (ValueError, KeyError) as error:
            problems.append(f"use {use.name!r}: {error.args[0]}")
    if problems:
        raise HabitError("; ".join(problems))
    return tuple(found)


def _habit(build: Build, use: Use, flows: Mapping[str, Any]) -> Habit:
    fixture = build.component(use.fixture.split(".")[0])
    if not isinstance(fixture, Fixture):
        raise ValueError(f"{use.fixture!r} is not a fixture")
    rows = table("habits", build.rows)
    usual = rows.get(use.name)
    basis = "given"
    people = build.crew.people
    if use.per_day is not None or use.per_person is not None:
        per_day = (use.per_day or 0.0) + (use.per_person or 0.0) * people
    elif usual is not None:
        per_day, basis = usual.number("per_person") * people, usual.basis
    else:
        raise ValueError("says neither per_person nor per_day")
    volume, duration = use.volume, use.duration
    if volume is None and duration is None and usual is not None:
        volume, duration, basis = usual["volume"], usual["duration"], usual.basis
    if volume is None and duration is None:
        raise ValueError("says neither duration nor volume")
    flow = flows[fixture.name]
    if duration is None:
        assert volume is not None
        duration = volume / flow
    volume = flow * duration
    return Habit(
        name=use.name,
        fixture=fixture.name,
        per_day=per_day,
        flow=flow,
        duration=duration,
        volume=volume,
        temperature=use.temperature,
        hours=tuple(clock(hour) for hour in use.hours),
        spread=use.spread,
        grey=fixture.grey,
        basis=basis,
    )
