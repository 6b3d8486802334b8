"""The shop's working hours: work goes on only inside them, waiting goes on all night."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, time, timedelta

FIRST = datetime(2025, 3, 3)
"""A Monday, for builds that don't say when work starts."""


@dataclass(frozen=True)
class Hours:
    """Working hours of a day.  ValueError if the day ends before it begins."""

    day_start: time = time(8)
    day_end: time = time(17)
    weekend: bool = False

    def __post_init__(self) -> None:
        if self.day_end <= self.day_start:
            raise ValueError(
                f"day_end must be later than day_start, got {self.day_start:%H:%M} to "
                f"{self.day_end:%H:%M}"
            )

    def works(self, moment: datetime) -> bool:
        """Whether somebody is at work then."""
        open_day = self.weekend or moment.weekday() < 5
        return open_day and self.day_start <= moment.time() < self.day_end

    def next(self, moment: datetime) -> datetime:
        """That moment if it is in working hours, else when work next begins."""
        if self.works(moment):
            return moment
        day = moment.date()
        if moment.time() >= self.day_end:
            day += timedelta(days=1)
        start = datetime.combine(day, self.day_start)
        while not self.works(start):
            start += timedelta(days=1)
        return start

    def after(self, moment: datetime, work: float) -> datetime:
        """When so many seconds of work are done, begun no earlier than ``moment``."""
        here = self.next(moment)
        left = timedelta(seconds=work)
        while left > timedelta(0):
            here = self.next(here)
            room = datetime.combine(here.date(), self.day_end) - here
            if left <= room:
                return here + left
            left -= room
            here += room
        return here

    def whole(self, moment: datetime, work: float) -> datetime:
        """When work that must not be broken off may begin: it has to end on the same day.

        Work that is longer than a day begins with the day.
        """
        here = self.next(moment)
        day = datetime.combine(here.date(), self.day_end) - datetime.combine(
            here.date(), self.day_start
        )
        room = datetime.combine(here.date(), self.day_end) - here
        if timedelta(seconds=work) <= room:
            return here
        if timedelta(seconds=work) > day and here.time() == self.day_start:
            return here
        return self.next(datetime.combine(here.date(), self.day_end))


def clock_time(text: str) -> time:
    """``"08:00"`` as a time of day.  ValueError says what was expected."""
    try:
        return datetime.strptime(text.strip(), "%H:%M").time()
    except ValueError:
        raise ValueError(f'needs a time of day such as "08:00", got {text!r}') from None


def start_of(text: str, hours: Hours) -> tuple[datetime, bool]:
    """When work starts, and whether the build said so.

    ValueError if the text is no moment such as ``"2025-03-03 08:00"``.
    """
    if not text.strip():
        return datetime.combine(FIRST.date(), hours.day_start), False
    try:
        return datetime.strptime(text.strip(), "%Y-%m-%d %H:%M"), True
    except ValueError:
        raise ValueError(f'needs a start such as "2025-03-03 08:00", got {text!r}') from None


def told(moment: datetime, start: datetime, dated: bool) -> str:
    """A moment as a builder says it: ``Tue 4 Mar 14:10``, or ``day 2, 14:10`` without a date."""
    if dated:
        return f"{moment:%a} {moment.day} {moment:%b %H:%M}"
    return f"day {(moment.date() - start.date()).days + 1}, {moment:%H:%M}"
