"""How long a joint waits before it sees pressure: for its compound, or for its tube to shrink."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ...formulas.joints import cure_in_the_cold
from ...words.show import show
from ...words.tables import table
from ...words.work import Work

Own = Mapping[str, Mapping[str, Mapping[str, Any]]]
LIKE = "anaerobic sealant"
CONTAINER = "the container rules"


@dataclass(frozen=True)
class Wait:
    """How long a joint waits, and where that comes from.  None: it must not be made so cold."""

    duration: float | None
    basis: str
    work: tuple[Work, ...] = ()


def cure(name: str, temperature: float, own: Own | None = None, units: str = "SI") -> Wait:
    """Wait of a compound at the shop's temperature (K).

    Between two printed temperatures the logarithm of the time lies on a straight line.  Above
    the warmest it is not shortened; below the coldest it is not known.  A compound without
    printed temperatures is taken to slow down as the anaerobic one does.
    """
    row = table("compounds", own)[name]
    at_room = row.number("cure")
    if at_room == 0:
        return Wait(0.0, f"{row.source('cure')}; {CONTAINER}")
    points = _points(name) or _points(LIKE)
    stated = bool(_points(name))
    basis = f"{row.source('cure')}; {CONTAINER}"
    if not stated and temperature < points[-1][0] - 1e-6:
        basis += "; assumed to slow in the cold as an anaerobic sealant does"
    (cold, slow), (warm, fast) = points[0], points[-1]
    if temperature >= warm:
        return Wait(at_room, basis)
    if temperature < cold - 1e-6:
        return Wait(None, f"not known below {show(cold, 'temperature', units)}; {CONTAINER}")
    slowed = cure_in_the_cold.work(
        duration_warm=at_room,
        duration_like_cold=slow,
        duration_like_warm=fast,
        rise_below=warm - temperature,
        rise_between=warm - cold,
    )
    return Wait(slowed.value, basis, (slowed,))


def _points(name: str) -> list[tuple[float, float]]:
    """Temperature and wait of a compound, coldest first."""
    return sorted(
        (r.number("temperature"), r.number("wait"))
        for r in table("cures").values()
        if r["compound"] == name
    )


def joint_wait(method: str, temperature: float, own: Own | None = None, units: str = "SI") -> Wait:
    """Wait of a joint that holds a tube, at the shop's temperature (K)."""
    row = table("joints", own)[method]
    steps = sorted(
        (r.number("temperature_least"), r)
        for r in table("cold_waits").values()
        if r["joint"] == method
    )
    for least, step in reversed(steps):
        if temperature >= least - 1e-6:
            return Wait(step.number("wait"), step.basis)
    least = row["cold_least"]
    if least is not None and temperature < least - 1e-6:
        return Wait(
            None,
            f"don't make it below {show(least, 'temperature', units)}; {row.source('cold_least')}",
        )
    return Wait(row.number("wait"), str(row.source("wait")))
