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

from ..hot_runs.plug import some
from .drawing_water import Drawing
from .draws import Draws
from .heating import Clock, Heating
from .outcome import Outcome, Variation
from .plant import DAY, Plant
from .supplies import Supplies

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
    heating = Heating(plant, vary)
    supplies = Supplies(plant, vary, out)
    drawing = Drawing(plant, draws, vary, heating, supplies, out)
    clock = Clock(plant)
    now = np.zeros(trips)
    end = days * DAY
    out.heat_start[:] = heating.energy() + drawing.lines.energy(vary.cold)
    keep = _recorder(out, now, heating, supplies) if record else None
    stuck = 0
    while True:
        alive = now < end - TINY
        if not some(alive):
            break
        if stuck > STUCK:
            raise RuntimeError("a trip stands still: this is a fault in the program")
        drawing.begin(now, alive)
        piece, until = clock.piece(now)
        supplies.charging = clock.open["charge"][piece]
        heating.switch(clock, piece, supplies)
        step = np.minimum(end - now, until)
        step = np.minimum(step, drawing.longest(now))
        flowing = drawing.hot > 0
        step = np.minimum(step, heating.longest(drawing.hot, drawing.since, plant.options))
        heating.modulate(drawing.hot, drawing.since, np.maximum(step, TINY))
        electric, fuel = heating.draws_on()
        electric = electric + plant.pump_power * drawing.flow / plant.pump_flow
        step = np.minimum(step, supplies.longest(drawing.flow, electric, fuel, now))
        step = np.where(alive, np.maximum(step, 0.0), 0.0)
        heating.rest(step, flowing)
        drawing.advance(now, step)
        supplies.advance(now, step, drawing, fuel)
        stuck = 0 if some(step) else stuck + 1
        now = now + step
        drawing.finish(now)
        if keep is not None and some(supplies.due(now)):
            keep(now, drawing)
        supplies.refill(now, drawing.active | (now >= end - TINY))
        if keep is not None:
            keep(now, drawing)
    drawing.lines.refresh_all(now)
    out.heat_end[:] = heating.energy() + drawing.lines.energy(vary.cold)
    out.close(heating, drawing, supplies)
    return out


def _recorder(
    out: Outcome, now: np.ndarray, heating: Heating, supplies: Supplies
) -> Callable[[np.ndarray, Drawing], None]:
    """Keeps the state after each step in ``out.track``."""

    def keep(when: np.ndarray, drawing: Drawing | None) -> None:
        out.track.append(
            (
                when.copy(),
                supplies.fresh.copy(),
                supplies.grey.copy(),
                heating.top().copy(),
                heating.mean().copy(),
                supplies.charge.copy(),
                supplies.fuel.copy(),
                heating.power.copy(),
                drawing.flow.copy() if drawing is not None else np.zeros_like(when),
                drawing.outlet.copy() if drawing is not None else np.full_like(when, np.nan),
            )
        )

    keep(now, None)
    return keep
