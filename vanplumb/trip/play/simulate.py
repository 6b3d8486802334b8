"""Days and nights played through, from one event to the next, for many trips side by side.

Between events everything has a steady flow or stands still, and what happens then is known
exactly: the store and the runs cool as exponentials, water moves as plugs, charge and levels
change evenly.  So a step ends where something changes: a draw begins or ends, hot water
arrives, the thermostat switches, a window of the day opens, a tank runs dry.  Each trip has
its own clock and takes its own steps; they share only the loop.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from ...words.unit_table import DAY
from ..hot_runs.plug import some
from .draws import Draws
from .heaters import Heaters
from .heating import Clock
from .open_taps import OpenTaps
from .outcome import Outcome, Variation
from .plant import Plant
from .rounds import Rounds
from .supplies import Streams, Supplies

Array = NDArray[np.float64]

TINY = 1e-6
STUCK = 200
"""Steps of no length in a row that can't be."""


def simulate(
    plant: Plant,
    draws: Draws,
    *,
    days: float,
    variation: Variation | None = None,
    record: bool = False,
) -> Outcome:
    """Play every trip of ``draws`` for some days.

    ``variation`` says how trips differ beside their draws; ``record`` keeps the state after
    each step, for a timeline.
    """
    trips = draws.trips
    vary = variation or Variation.none(plant, trips)
    out = Outcome.empty(plant, draws, days, vary)
    heating = Heaters(plant, vary)
    supplies = Supplies(plant, vary, out)
    taps = OpenTaps(plant, draws, vary, heating, supplies, out)
    clock = Clock(plant)
    rounds = Rounds(plant, heating, taps.lines)
    now = np.zeros(trips)
    end = days * DAY
    out.heater_start[:] = heating.energy()
    out.line_start[:] = taps.lines.energy(vary.cold)
    keep = _recorder(out, now, heating, supplies) if record else None
    stuck = 0
    while True:
        alive = now < end - TINY
        if not some(alive):
            break
        if stuck > STUCK:
            raise RuntimeError("a trip stands still: this is a fault in the program")
        piece, until = clock.piece(now)
        rounds.turn(clock, piece, now, alive & ~supplies.flat, taps.hot)
        taps.begin(now, alive)
        supplies.charging = clock.open["charge"][piece]
        supplies.by_hours = clock.load[piece]
        heating.switch(clock, piece, flat=supplies.flat, fuel=supplies.fuel)
        step = np.minimum(end - now, until)
        step = np.minimum(np.minimum(step, taps.longest(now)), rounds.longest())
        step = np.minimum(step, heating.longest(taps.hot, taps.use, taps.since))
        heating.modulate(taps.hot, taps.use, taps.since, np.maximum(step, TINY))
        electric, fuel = heating.draws_on()
        supplies.open(Streams(taps.flow, taps.hot, taps.use, taps.to_grey, taps.returning))
        electric = electric + supplies.pumping()
        step = np.minimum(step, supplies.longest(electric, fuel, now))
        step = np.where(alive, np.maximum(step, 0.0), 0.0)
        heating.rest(step, taps.hot, taps.use)
        taps.advance(now, step)
        supplies.advance(now, step, fuel)
        stuck = 0 if some(step) else stuck + 1
        now = now + step
        taps.finish(now)
        if keep is not None and some(supplies.due(now)):
            keep(now, taps)
        supplies.refill(now, taps.active | (now >= end - TINY))
        if keep is not None:
            keep(now, taps)
    rounds.stop(now)
    taps.lines.refresh_all(now)
    heating.settle(out)
    out.line_end[:] = taps.lines.energy(vary.cold)
    out.line_lost[:] = taps.lines.lost
    out.tank_end[:] = supplies.fresh
    out.grey_end[:] = supplies.grey
    out.charge_end[:] = supplies.charge
    out.fuel_end[:] = supplies.fuel
    return out


def _recorder(
    out: Outcome, now: Array, heating: Heaters, supplies: Supplies
) -> Callable[[Array, OpenTaps], None]:
    """Keeps the state after each step in ``out.track``."""

    def first(values: Array) -> Array:
        """Of the heater that the van lives by; the cold water's temperature without one."""
        return (values[:, 0] if values.shape[1] else out.variation.cold).copy()

    def keep(when: Array, taps: OpenTaps | None) -> None:
        tops, means = heating.tops(), heating.means()
        out.track.append(
            (
                when.copy(),
                supplies.fresh.sum(axis=1),
                supplies.grey.copy(),
                first(tops),
                first(means),
                supplies.charge.copy(),
                supplies.fuel.copy(),
                heating.power(),
                taps.flow.copy() if taps is not None else np.zeros_like(when),
                taps.outlet.copy() if taps is not None else np.full_like(when, np.nan),
                supplies.fresh.copy(),
                tops,
                means,
            )
        )

    keep(now, None)
    return keep
