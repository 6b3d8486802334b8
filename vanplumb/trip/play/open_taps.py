"""Draws as they happen: waiting for hot water, mixing, use, and what ends them early.

A draw that wants warm water passes three stages: hot water comes to where it is mixed
(the tap, or a mixing valve on the way), then mixed water comes on to the outlet, then it is
used for as long as the habit says.  Water that runs off in the first two is wasted.  A tap
mixed by hand is turned to hot while waiting.  A stage is skipped where warm water stands
ready, and nobody waits longer than their patience.

How long one waits for hot water: the cold that must run off first, and a heater's slow start.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ...formulas.runs_heat import slow_start
from ...words.glossary import ICE_POINT
from ...words.unit_table import DAY
from ..hot_runs.lines import Lines
from ..hot_runs.plug import Array, Index, some
from .draws import Draws
from .heaters import Heaters
from .outcome import (
    CUT_SHORT,
    DONE,
    FROZEN,
    LUKEWARM,
    NO_POWER,
    NO_WATER,
    Outcome,
    Variation,
)
from .plant import Plant
from .supplies import Supplies

ROUNDING = 1e-9
"""m³: less than a cubic millimetre is what rounding left, and has no temperature of its own."""


class Waiting:
    """Waits for the uses of a plant.  Arrays of uses; not a number where a use has none."""

    def __init__(self, plant: Plant, lines: Lines, heating: Heaters, vary: Variation) -> None:
        self.plant, self.lines, self.heating, self.vary = plant, lines, heating, vary
        nan = float("nan")
        uses = plant.uses
        self.long = np.array([len(u.path) for u in uses] or [0])
        self.mix_at = np.array([u.mix_at for u in uses] or [0])
        self.share = np.array([nan if u.share is None else u.share for u in uses] or [nan])
        self.setting = np.array([nan if u.setting is None else u.setting for u in uses] or [nan])
        self.wanted = np.array([nan if u.wanted is None else u.wanted for u in uses] or [nan])
        self.part = np.where(np.isnan(self.share), 1.0, self.share)
        self.rated = np.array([u.flow for u in uses] or [1.0])
        self.is_warm = ~np.isnan(self.wanted) & (self.long > 0) & bool(plant.heaters)

    def warm(self, use: Index) -> NDArray[np.bool_]:
        """Whether a use wants warm water and hot water comes to it."""
        return np.asarray(self.is_warm[use])

    def _goal(self, use: Index) -> Array:
        """Temperature that counts as arrived at the outlet."""
        return np.fmin(self.wanted[use], self.setting[use]) - self.plant.options.arrived

    def _hot_goal(self, rows: Index, use: Index) -> Array:
        """Temperature that is waited for where water is mixed.

        A valve that was set once needs hotter water, as hot as its share of cold makes it
        need, but no hotter than there is.
        """
        cold, goal = self.vary.cold[rows], self._goal(use)
        hotter = cold + (goal - cold) / np.fmax(self.share[use], 1e-3)
        flow = self.rated[use] * self.vary.flow[rows] * self.part[use]
        top = np.maximum(
            self.heating.best(rows, use, flow) - self.plant.options.arrived, cold + 1.0
        )
        return np.where(np.isnan(self.share[use]), goal, np.minimum(hotter, top))

    def to_mixing(self, rows: Index, use: Index, now: Array) -> Array:
        """Seconds until hot water stands where it is mixed."""
        wait = np.zeros(len(rows))
        warm = self.warm(use)
        if not warm.any():
            return wait
        rows, use, now = rows[warm], use[warm], now[warm]
        goal = self._hot_goal(rows, use)
        self.lines.refresh(rows, use, now)
        ahead, found = self.lines.cold_ahead(rows, use, goal, mixed=False)
        flow = self.rated[use] * self.vary.flow[rows] * self.part[use]
        wait[warm] = ahead / flow + np.where(found, 0.0, self._slow_start(rows, use, flow, goal))
        return np.minimum(wait, self.plant.options.patience)

    def to_outlet(self, rows: Index, use: Index, now: Array) -> Array:
        """Seconds until mixed water has come from a valve to its outlet."""
        wait = np.zeros(len(rows))
        some = self.warm(use) & (self.mix_at[use] < self.long[use])
        if not some.any():
            return wait
        rows, use, now = rows[some], use[some], now[some]
        self.lines.refresh(rows, use, now)
        ahead, _ = self.lines.cold_ahead(rows, use, self._goal(use), mixed=True)
        wait[some] = ahead / (self.rated[use] * self.vary.flow[rows])
        return np.minimum(wait, self.plant.options.patience)

    def _slow_start(self, rows: Index, use: Index, flow: Array, goal: Array) -> Array:
        """Seconds that a flow-through heater takes to make water of a temperature."""
        found = np.zeros(len(rows))
        of_use = self.heating.of_use[use]
        for n, heater in enumerate(self.plant.heaters):
            at = np.flatnonzero(of_use == n)
            if heater.flow_through and len(at):
                part = self.heating.gives[use[at], n]
                found[at] = self._start_of(n, rows[at], part * flow[at], goal[at])
        return found

    def _start_of(self, n: int, rows: Index, flow: Array, goal: Array) -> Array:
        """The same of one flow-through heater, by its number."""
        heater, heating = self.plant.heaters[n], self.heating.each[n]
        inlet, bottom = heating.inlet[rows], heating.store.bottom[rows]
        rate = flow / heater.volume
        start = inlet + (bottom - inlet) * np.exp(-rate * heater.start_delay)
        power = heater.burner_heat if heater.burner_heat > 0 else heater.element_power
        final = inlet + power / (self.plant.heat_per_volume * flow)
        with np.errstate(divide="ignore", invalid="ignore"):
            time = slow_start.si(heater.volume, flow, final - start, final - goal)
        time = np.where((final > goal) & (flow >= heater.flow_least), np.maximum(time, 0.0), 0.0)
        return np.where(bottom >= goal, 0.0, heater.start_delay + time)


Rows = NDArray[np.intp]
REST, TO_MIXING, TO_OUTLET, IN_USE = 0, 1, 2, 3


class OpenTaps:
    """Where each trip is in its list of draws, and what flows.

    ``flow`` is the fixture's flow, ``hot`` the hot part of it; zero at rest.  ``outlet`` is
    the mean temperature at the fixture in the last step, not a number where nothing flowed.
    """

    def __init__(
        self,
        plant: Plant,
        draws: Draws,
        vary: Variation,
        heating: Heaters,
        supplies: Supplies,
        out: Outcome,
    ) -> None:
        trips = draws.trips
        self.plant, self.draws, self.vary, self.out = plant, draws, vary, out
        self.heating, self.supplies = heating, supplies
        paths = [(use.path, use.mix_at) for use in plant.uses]
        loops = [one.path for one in plant.rounds]
        self.lines = Lines(trips, plant.segments, plant.heat_per_volume, paths, vary.cold, loops)
        self.waiting = Waiting(plant, self.lines, heating, vary)
        uses = plant.uses
        self.share, self.setting = self.waiting.share, self.waiting.setting
        self.wanted, self.rated = self.waiting.wanted, self.waiting.rated
        self.waits = np.array([u.waits for u in uses] or [False])
        self.greys = np.array([u.grey for u in uses] or [False])
        self.delays = np.where(heating.through & self.waiting.is_warm, heating.delays(), 0.0)
        self.at = np.zeros(trips, dtype=np.intp)
        self.stage = np.zeros(trips, dtype=np.intp)
        self.left = np.zeros(trips)
        self.since = np.zeros(trips)
        self.flow = np.zeros(trips)
        self.hot = np.zeros(trips)
        self.nothing = np.full(trips, np.nan)
        self.outlet = self.nothing
        self.warmth = np.zeros(trips)
        self.felt = np.full(trips, 0.6)
        self.use = np.zeros(trips, dtype=np.intp)
        self.to_grey = np.zeros(trips, dtype=bool)
        self.returning = np.zeros(trips, dtype=bool)
        self.padded = np.concatenate([draws.time, np.full((trips, 1), np.inf)], axis=1)
        self.active = np.zeros(trips, dtype=bool)
        self.next_time = self.padded[:, 0].copy()

    def _pass(self, rows: Rows) -> None:
        """Go on to the next draw of some trips."""
        self.active[rows] = False
        self.at[rows] += 1
        self.next_time[rows] = self.padded[rows, self.at[rows]]

    def begin(self, now: Array, alive: NDArray[np.bool_]) -> None:
        """Start the draws that are due, and set the flows of the coming step."""
        while True:
            due = alive & ~self.active & (self.next_time <= now + 1e-9)
            if not some(due):
                break
            rows = np.flatnonzero(due)
            self._open(rows, now[rows])
        self._set_flows(now)

    def _open(self, rows: Rows, now: Array) -> None:
        at = self.at[rows]
        use = self.draws.use[rows, at]
        self.use[rows] = use
        self.out.start[rows, at] = now
        unfed = self.supplies.sides.unfed[use]
        dry = ~unfed & self.supplies.dry(rows, use)
        powerless = self.supplies.flat[rows] & self.supplies.sides.lifted[use]
        frozen = self.waiting.warm(use) & self.lines.blocked(rows, use, now)
        lost = unfed | dry | powerless | frozen
        if some(lost):
            gone = rows[lost]
            why = np.where(powerless, NO_POWER, FROZEN)
            self.out.state[gone, at[lost]] = np.where(unfed | dry, NO_WATER, why)[lost]
            self.out.fail("no water gets there", rows[unfed], now[unfed])
            self.out.fail("runs dry", rows[dry], now[dry])
            self.out.fail("hot line frozen", rows[frozen], now[frozen])
            self._pass(gone)
        rows, use, now = rows[~lost], use[~lost], now[~lost]
        if not len(rows):
            return
        self.to_grey[rows] = self.greys[use]
        self.since[rows] = 0.0
        cold = self.vary.cold[rows]
        top = self.heating.top(rows, use) if self.heating.each else cold
        rise = np.fmax(self.wanted[use] - cold, 0.0)
        self.felt[rows] = np.clip(rise / np.maximum(top - cold, 1.0), 0.05, 1.0)
        self.warmth[rows] = 0.0
        self.active[rows] = True
        self.stage[rows] = np.where(self.waits[use], TO_MIXING, IN_USE)
        self._enter(rows, now)

    def _enter(self, rows: Rows, now: Array) -> None:
        """Set how long the stage that some draws are in will take; pass over empty ones."""
        for stage, lasting in (
            (TO_MIXING, self.waiting.to_mixing),
            (TO_OUTLET, self.waiting.to_outlet),
        ):
            here = rows[self.stage[rows] == stage]
            if len(here):
                when = now[self.stage[rows] == stage]
                self.left[here] = lasting(here, self.use[here], when)
                skipped = here[self.left[here] <= 1e-9]
                self.stage[skipped] = stage + 1
        using = rows[self.stage[rows] == IN_USE]
        self.left[using] = self.draws.duration[using, self.at[using]]

    def _set_flows(self, now: Array) -> None:
        self.hot = np.zeros(len(now))
        if not some(self.active):
            self.flow = self.hot
            self.returning = self.active.copy()
            return
        self.flow = np.where(self.active, self.rated[self.use] * self.vary.flow, 0.0)
        if self.plant.options.return_line:
            self.returning = self.active & (self.stage < IN_USE)
        rows = np.flatnonzero(self.active & self.waiting.is_warm[self.use])
        if not len(rows):
            return
        use = self.use[rows]
        by_hand = np.isnan(self.setting[use])
        share = np.where(np.isnan(self.share[use]), 1.0, self.share[use])
        felt = np.isnan(self.share[use]) & ~(by_hand & (self.stage[rows] == TO_MIXING))
        if some(felt):
            goal = np.where(by_hand, self.wanted[use], self.setting[use])
            share[felt] = self._felt_share(rows[felt], use[felt], goal[felt], now[rows[felt]])
        self.hot[rows] = share * self.flow[rows]

    def _felt_share(self, rows: Rows, use: Rows, goal: Array, now: Array) -> Array:
        """Hot share that makes the coming step's water as warm as wanted, if that can be.

        What comes depends on how much is drawn; that is taken as it was a step before.
        """
        cold = self.vary.cold[rows]
        self.lines.refresh(rows, use, now)
        lasting = self._lasting()[rows]
        share = self.felt[rows]
        coming = self._coming(rows, use, share * self.flow[rows], lasting)
        above = coming > cold + 0.01
        share = np.where(above, (goal - cold) / np.where(above, coming - cold, 1.0), 1.0)
        self.felt[rows] = share = np.clip(share, 0.05, 1.0)
        return share

    def _coming(self, rows: Rows, use: Rows, flow: Array, lasting: Array) -> Array:
        """Mean temperature of the next hot water where it is mixed; a hand feels as it turns."""
        volume = np.maximum(flow * lasting, 1e-9)
        held, heat = self.lines.coming(rows, use, volume)
        left = volume - held
        behind = self.heating.coming(rows, use, np.maximum(left, 1e-9), flow)
        return (heat + left * behind) / volume

    def _lasting(self) -> Array:
        """Longest step that the water of each trip may flow before it is looked at again."""
        options, left = self.plant.options, self.left
        part = 0.02 * (self.since + left)  # of what drips for hours a fiftieth at a time
        return np.minimum(left, np.clip(part, options.step_draw, options.step_drip))

    def longest(self, now: Array) -> Array:
        """Longest step before a draw begins, changes its stage, or needs a fresh look."""
        active = self.active
        step = np.where(active, self._lasting(), self.next_time - now)
        if some(self.delays):
            delay = self.delays[self.use]
            starting = active & (self.since < delay - 1e-9)
            step = np.where(starting, np.minimum(step, delay - self.since), step)
        return np.maximum(np.minimum(step, DAY), 0.0)

    def advance(self, now: Array, step: Array) -> None:
        """Move water through heater and runs for a step."""
        moved = self.flow * step
        if not some(moved):
            self.outlet = self.nothing
            self.since[self.active] += step[self.active]
            return
        outlet = self.vary.cold.copy()
        rows = np.flatnonzero(self.hot * step > 0)
        if len(rows):
            outlet[rows] = self._through(rows, now, step)
            gain = outlet[rows] - self.vary.cold[rows]
            self.out.heat_out[rows] += self.plant.heat_per_volume * moved[rows] * gain
        self.since[self.active] += step[self.active]
        outlet = np.maximum(outlet, ICE_POINT)  # what little ice comes along, comes with water
        self.outlet = np.where(moved > 0, outlet, np.nan)
        rows = np.flatnonzero(self.active)
        at = self.at[rows]
        using = self.stage[rows] == IN_USE
        self.out.drawn[rows, at] += np.where(using, moved[rows], 0.0)
        self.out.wasted[rows, at] += np.where(using, 0.0, moved[rows])
        self.out.wait[rows, at] += np.where(using, 0.0, step[rows])
        self.warmth[rows] += np.where(using, moved[rows] * outlet[rows], 0.0)
        self.left[rows] -= step[rows]

    def _through(self, rows: Rows, now: Array, step: Array) -> Array:
        """Temperature at the outlets of hot water that goes through the runs in a step."""
        use, cold = self.use[rows], self.vary.cold[rows]
        hot, whole = self.hot[rows] * step[rows], self.flow[rows] * step[rows]
        water = self.heating.draw(rows, use, hot, step[rows])
        self.lines.refresh(rows, use, now[rows] + step[rows])
        water = self.lines.push(rows, use, hot, water, mixed=False)
        water = cold + (water - cold) * hot / whole
        return self.lines.push(rows, use, whole, water, mixed=True)

    def finish(self, now: Array) -> None:
        """End stages and draws that are over, or that have run dry or lost their power."""
        active = self.active
        if not some(active):
            return
        every = np.arange(len(active))
        dry = active & self.supplies.dry(every, self.use)
        lifted = self.supplies.sides.lifted[self.use]
        cut = dry | (active & self.supplies.flat & lifted)
        over = active & ~cut & (self.left <= 1e-9)
        if some(dry):
            self.out.fail("runs dry", dry, now[dry])
        passing = np.flatnonzero(over & (self.stage < IN_USE))
        ended = np.flatnonzero(cut | (over & (self.stage == IN_USE)))
        if len(passing):
            self.stage[passing] += 1
            self._enter(passing, now[passing])
        if len(ended):
            self._close(ended, now[ended], cut[ended])

    def _close(self, rows: Rows, now: Array, cut: NDArray[np.bool_]) -> None:
        out, at, use = self.out, self.at[rows], self.use[rows]
        drawn = out.drawn[rows, at]
        there = drawn > ROUNDING
        warmth = np.where(there, self.warmth[rows] / np.where(there, drawn, 1.0), np.nan)
        out.warmth[rows, at] = warmth
        with np.errstate(invalid="ignore"):
            cool = (
                self.waiting.warm(use)
                & self.waits[use]
                & (warmth < self.wanted[use] - self.plant.options.lukewarm)
            )
        state = np.where(cut, CUT_SHORT, np.where(cool, LUKEWARM, DONE))
        out.state[rows, at] = state
        out.fail("lukewarm", rows[cool], now[cool])
        slow = out.wait[rows, at] > self.plant.wait_limit
        out.fail("long wait", rows[slow], now[slow])
        self.stage[rows] = REST
        self.left[rows] = 0.0
        self._pass(rows)
