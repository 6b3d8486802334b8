"""How long tap water of a temperature takes to burn, from the printed table.

Between two printed lines the time is put on a straight line of its logarithm; outside the
table nothing is made up.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from ...formulas.mixing import burn_time
from ...words.show import show
from ...words.tables import table
from ...words.work import Work


@dataclass(frozen=True)
class Burn:
    """Time until a deep burn.

    ``seconds`` is None below the table, where no time is published, and the shortest printed
    time above it, where ``work`` is empty too.
    """

    temperature: float
    seconds: float | None
    hottest: bool = False
    work: tuple[Work, ...] = ()

    def told(self, units: str) -> str:
        """In words, for a reader: "about 5 min", "under 2 s", or that none is published."""
        if self.seconds is None:
            first = show(_printed("adult")[0][0], "temperature", units)
            return f"no time published below {first}".replace(" °", "\u00a0°")
        if self.hottest:
            return f"under {show(self.seconds, 'duration', units)}"
        return f"about {_round(self.seconds)}"


def burn(temperature: float, who: str = "adult") -> Burn:
    """Time to a deep burn in water of a temperature (K); ``who`` is "adult" or "child".

    ValueError for anybody else.
    """
    lines = _printed(who)
    if not lines:
        raise ValueError(f'the burn table has "adult" and "child", not "{who}"')
    if temperature < lines[0][0] - 1e-9:
        return Burn(temperature, None)
    if temperature > lines[-1][0]:
        return Burn(temperature, lines[-1][1], hottest=True)
    for (low, slow), (high, fast) in pairwise(lines):
        if temperature <= high:
            found = burn_time.work(
                temperature=temperature,
                temperature_low=low,
                temperature_high=high,
                duration_at_low=slow,
                duration_at_high=fast,
            )
            return Burn(temperature, found.value, work=(found,))
    return Burn(temperature, lines[-1][1])


def _printed(who: str) -> list[tuple[float, float]]:
    """Temperature and time of each printed line, coolest first."""
    return sorted(
        (row["temperature"], row["duration"])
        for row in table("burns").values()
        if row["who"] == who
    )


def _round(seconds: float) -> str:
    """No finer than such a time is known."""
    if seconds >= 60:
        return f"{round(seconds / 30) / 2:g} min"
    if seconds >= 10:
        return f"{5 * round(seconds / 5)} s"
    return f"{seconds:.0f} s" if seconds >= 2 else f"{seconds:.1f} s"
