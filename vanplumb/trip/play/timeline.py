"""The timeline and the draws of one trip as pandas tables, in the reader's units."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from ...words.show import heading, unit
from ...words.show import value as in_unit
from ...words.unit_table import DAY
from ..hot_runs.plug import Array
from .outcome import STATES, TRACK, Outcome

if TYPE_CHECKING:
    import pandas as pd

COLUMNS = {
    "fresh": ("fresh", "volume"),
    "grey": ("grey", "volume"),
    "top": ("hot water", "temperature"),
    "mean": ("store, mean", "temperature"),
    "charge": ("battery", "energy"),
    "fuel": ("fuel", "mass"),
    "power": ("heating", "power"),
    "flow": ("flow", "flow"),
}


def track(outcome: Outcome, trip: int = 0) -> dict[str, Array]:
    """The kept state of one trip after each of its steps, by name, in SI.

    ``tanks``, ``tops`` and ``means`` have a column for each tank or heater of the plant.

    ValueError if the trip was played without being recorded.
    """
    if not outcome.track:
        raise ValueError("this trip was not recorded: play it with record=True")
    found = {
        name: np.array([row[i][trip] for row in outcome.track]) for i, name in enumerate(TRACK)
    }
    return found


def frame(outcome: Outcome, system: str, trip: int = 0) -> pd.DataFrame:
    """One row a step; columns carry their unit in their name.

    What the build doesn't have (a battery, a heater, stated fuel) is left out.
    """
    import pandas as pd

    kept = track(outcome, trip)
    plant = outcome.plant
    absent = set()
    if not plant.heaters:
        absent |= {"top", "mean", "power"}
    if plant.battery is None:
        absent.add("charge")
    if not np.isfinite(plant.fuel) or not plant.burns:
        absent.add("fuel")
    if not np.isfinite(plant.grey):
        absent.add("grey")
    columns: dict[str, Any] = {
        "day": (kept["time"] // DAY).astype(int) + 1,
        "clock": [clock(t) for t in kept["time"].tolist()],
        "hour": kept["time"] / 3600.0,
    }
    for name, (label, word) in COLUMNS.items():
        if name not in absent:
            columns[heading(label, word, system)] = in_unit(kept[name], word, system)
    columns |= _of_each("fresh", "volume", [t.name for t in plant.tanks], kept["tanks"], system)
    heaters = [heater.name for heater in plant.heaters]
    columns |= _of_each("hot water", "temperature", heaters, kept["tops"], system)
    columns |= _of_each("store, mean", "temperature", heaters, kept["means"], system)
    return pd.DataFrame(columns)


def _of_each(label: str, word: str, names: list[str], kept: Array, system: str) -> dict[str, Array]:
    """A column for each of several parts; none where there is one, which stands there already."""
    if len(names) < 2:
        return {}
    return {
        heading(f"{label} in {name}", word, system): in_unit(kept[:, n], word, system)
        for n, name in enumerate(names)
    }


def draws_frame(outcome: Outcome, system: str, trip: int = 0) -> pd.DataFrame:
    """One row a draw of one trip, in order of time."""
    import pandas as pd

    draws, plant = outcome.draws, outcome.plant
    there = np.flatnonzero(np.isfinite(draws.time[trip]))
    uses = [plant.uses[i] for i in draws.use[trip, there]]

    def column(values: Array, word: str) -> list[float]:
        return [in_unit(float(v), word, system) for v in values[trip, there]]

    goal = [
        in_unit(u.wanted, "temperature", system) if u.wanted is not None else np.nan for u in uses
    ]
    return pd.DataFrame(
        {
            "day": (draws.time[trip, there] // DAY).astype(int) + 1,
            "clock": [clock(t) for t in draws.time[trip, there].tolist()],
            "use": [u.name for u in uses],
            "at": [u.fixture for u in uses],
            f"wait, {unit('duration', system)}": outcome.wait[trip, there],
            f"run off, {unit('volume', system)}": column(outcome.wasted, "volume"),
            f"used, {unit('volume', system)}": column(outcome.drawn, "volume"),
            f"wanted, {unit('temperature', system)}": goal,
            f"was, {unit('temperature', system)}": column(outcome.warmth, "temperature"),
            "ended": [STATES[s] for s in outcome.state[trip, there]],
        }
    )


def clock(seconds: float) -> str:
    """The clock time of a moment of the trip."""
    minutes = int(seconds % DAY // 60)
    return f"{minutes // 60:02d}:{minutes % 60:02d}"
