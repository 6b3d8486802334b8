"""Draws as they happen: waiting for hot water, mixing, use, and what ends them early.

A draw that wants warm water passes three stages: hot water comes to where it is mixed
(the tap, or a mixing valve on the way), then mixed water comes on to the outlet, then it is
used for as long as the habit says.  Water that runs off in the first two is wasted.  A tap
mixed by hand is turned to hot while waiting.  A stage is skipped where warm water stands
ready, and nobody waits longer than their patience.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .draws import Draws
from .heating import Heating
from .lines import Lines
from .outcome import CUT_SHORT, DONE, LUKEWARM, NO_POWER, NO_WATER, Outcome, Variation
from .plant import DAY, Plant
from .plug import Array
from .supplies import Supplies

Rows = NDArray[np.intp]
REST, TO_MIXING, TO_OUTLET, IN_USE = 0, 1, 2, 3


class Drawing:
    """Where each trip is in its list of draws, and what flows.

    ``flow`` is the fixture's flow, ``hot`` the hot part of it; nought at rest.
    """

    def __init__(
        self,
        plant: Plant,
        draws: Draws,
        vary: Variation,
        heating: Heating,
        supplies: Supplies,
        out: Outcome,
    ) -> None:
        trips = draws.trips
        self.plant, self.draws, self.vary, self.out = plant, draws, vary, out
        self.heating, self.supplies = heating, supplies
        self.lines = Lines(trips, plant.segments, plant.heat_per_volume, vary.cold)
        nan = float("nan")
        uses = plant.uses
        depth = max([len(u.path) for u in uses], default=0)
        self.depth = depth
        self.path = np.array([[*u.path, *[-1] * (depth - len(u.path))] for u in uses] or [[]], int)
        self.long = np.array([len(u.path) for u in uses] or [0])
        self.mix_at = np.array([u.mix_at for u in uses] or [0])
        self.share = np.array([nan if u.share is None else u.share for u in uses] or [nan])
        self.setting = np.array([nan if u.setting is None else u.setting for u in uses] or [nan])
        self.wanted = np.array([nan if u.wanted is None else u.wanted for u in uses] or [nan])
        self.rated = np.array([u.flow for u in uses] or [1.0])
        self.greys = np.array([u.grey for u in uses] or [False])
        self.at = np.zeros(trips, dtype=np.intp)
        self.stage = np.zeros(trips, dtype=np.intp)
        self.left = np.zeros(trips)
        self.since = np.zeros(trips)
        self.flow = np.zeros(trips)
        self.hot = np.zeros(trips)
        self.warmth = np.zeros(trips)
        self.felt = np.full(trips, 0.6)
        self.use = np.zeros(trips, dtype=np.intp)
        self.to_grey = np.zeros(trips, dtype=bool)
        self.returning = np.zeros(trips, dtype=bool)
        self.padded = np.concatenate([draws.time, np.full((trips, 1), np.inf)], axis=1)
        self.all = np.arange(trips)

    @property
    def active(self) -> NDArray[np.bool_]:
        return self.stage > REST

    @property
    def next_time(self) -> Array:
        return np.asarray(self.padded[self.all, self.at])

    def begin(self, now: Array, alive: NDArray[np.bool_]) -> None:
        """Start the draws that are due, and set the flows of the coming step."""
        due = alive & ~self.active & (self.next_time <= now + 1e-9)
        if due.any():
            rows = np.flatnonzero(due)
            self._open(rows, now[rows])
        self._set_flows(now)

    def _open(self, rows: Rows, now: Array) -> None:
        at = self.at[rows]
        use = self.draws.use[rows, at]
        self.use[rows] = use
        self.out.start[rows, at] = now
        dry = self.supplies.dry(rows)
        powerless = self.supplies.flat[rows] & (self.plant.pump_power > 0)
        lost = dry | powerless
        if lost.any():
            gone = rows[lost]
            self.out.state[gone, at[lost]] = np.where(dry[lost], NO_WATER, NO_POWER)
            self.out.fail("runs dry", rows[dry], now[dry])
            self.at[gone] += 1
        rows, use, now = rows[~lost], use[~lost], now[~lost]
        if not len(rows):
            return
        self.to_grey[rows] = self.greys[use]
        self.since[rows] = 0.0
        self.felt[rows] = 0.6
        self.warmth[rows] = 0.0
        self.stage[rows] = TO_MIXING
        self._enter(rows, now)

    def _enter(self, rows: Rows, now: Array) -> None:
        """Set how long the stage that some draws are in will take; pass over empty ones."""
        for stage, lasting in ((TO_MIXING, self._wait_mixing), (TO_OUTLET, self._wait_outlet)):
            here = rows[self.stage[rows] == stage]
            if len(here):
                when = now[self.stage[rows] == stage]
                self.left[here] = lasting(here, when)
                skipped = here[self.left[here] <= 1e-9]
                self.stage[skipped] = stage + 1
        using = rows[self.stage[rows] == IN_USE]
        self.left[using] = self.draws.duration[using, self.at[using]]

    def _goal(self, use: Rows) -> Array:
        """Temperature that is waited for at the place of mixing; not a number if none is."""
        goal = self.wanted[use] - self.plant.options.arrived
        valve = self.setting[use] - self.plant.options.arrived
        return np.where(np.isnan(valve), goal, np.fmin(goal, valve))

    def _warm(self, use: Rows) -> NDArray[np.bool_]:
        return ~np.isnan(self.wanted[use]) & (self.long[use] > 0)

    def _wait_mixing(self, rows: Rows, now: Array) -> Array:
        """Seconds until hot water stands where it is mixed."""
        wait = np.zeros(len(rows))
        warm = self._warm(self.use[rows])
        if not warm.any() or self.plant.heater is None:
            return wait
        some, use = rows[warm], self.use[rows[warm]]
        goal = np.where(np.isnan(self.share[use]), self._goal(use), self._hot_goal(some, use))
        ahead, found = np.zeros(len(some)), np.zeros(len(some), dtype=bool)
        for depth in reversed(range(self.depth)):
            on = (self.path[use, depth] >= 0) & (depth < self.mix_at[use])
            if not on.any():
                continue
            self.lines.refresh(some[on], self.path[use[on], depth], now[warm][on])
            volume, hot = self.lines.cold_ahead(some[on], self.path[use[on], depth], goal[on])
            ahead[on] += np.where(found[on], 0.0, volume)
            found[on] |= hot
        flow = self.rated[use] * self.vary.flow[some]
        flow = flow * np.where(np.isnan(self.share[use]), 1.0, self.share[use])
        wait[warm] = ahead / flow + np.where(found, 0.0, self._slow_start(some, flow, goal))
        return np.minimum(wait, self.plant.options.patience)

    def _hot_goal(self, rows: Rows, use: Rows) -> Array:
        """Hot water that a valve with a fixed share needs for its outlet to be warm enough."""
        cold = self.vary.cold[rows]
        goal = cold + (self._goal(use) - cold) / np.fmax(self.share[use], 1e-3)
        return np.minimum(goal, np.maximum(self.heating.top()[rows] - 1e-6, cold + 1.0))

    def _slow_start(self, rows: Rows, flow: Array, goal: Array) -> Array:
        """Seconds that a flow-through heater takes to make water of a temperature."""
        heater, store = self.plant.heater, self.heating.store
        if heater is None or store is None or not heater.flow_through:
            return np.zeros(len(rows))
        cold = self.vary.cold[rows]
        rate = flow / store.volume
        start = cold + (store.bottom[rows] - cold) * np.exp(-rate * heater.start_delay)
        power = heater.burner_heat if heater.burner_heat > 0 else heater.element_power
        final = cold + power / (self.plant.heat_per_volume * flow)
        with np.errstate(divide="ignore", invalid="ignore"):
            time = np.log((final - start) / (final - goal)) / rate
        time = np.where((final > goal) & (flow >= heater.flow_least), np.maximum(time, 0.0), 0.0)
        already = store.bottom[rows] >= goal
        return np.where(already, 0.0, heater.start_delay + time)

    def _wait_outlet(self, rows: Rows, now: Array) -> Array:
        """Seconds until mixed water has come from a valve to its outlet."""
        wait = np.zeros(len(rows))
        use = self.use[rows]
        some = self._warm(use) & (self.mix_at[use] < self.long[use])
        if not some.any() or self.plant.heater is None:
            return wait
        rows, use, now = rows[some], use[some], now[some]
        goal = self._goal(use)
        ahead, found = np.zeros(len(rows)), np.zeros(len(rows), dtype=bool)
        for depth in reversed(range(self.depth)):
            on = (self.path[use, depth] >= 0) & (depth >= self.mix_at[use])
            if not on.any():
                continue
            self.lines.refresh(rows[on], self.path[use[on], depth], now[on])
            volume, hot = self.lines.cold_ahead(rows[on], self.path[use[on], depth], goal[on])
            ahead[on] += np.where(found[on], 0.0, volume)
            found[on] |= hot
        flow = self.rated[use] * self.vary.flow[rows]
        wait[some] = ahead / flow
        return np.minimum(wait, self.plant.options.patience)

    def _set_flows(self, now: Array) -> None:
        self.flow = np.where(self.active, self.rated[self.use] * self.vary.flow, 0.0)
        self.hot = np.zeros_like(self.flow)
        self.returning = (
            self.active & (self.stage < IN_USE)
            if self.plant.options.return_line
            else np.zeros(len(now), dtype=bool)
        )
        if self.heating.store is None:
            return
        rows = np.flatnonzero(self.active & self._warm(self.use))
        if not len(rows):
            return
        use = self.use[rows]
        by_hand = np.isnan(self.setting[use])
        share = np.where(np.isnan(self.share[use]), 1.0, self.share[use])
        felt = np.isnan(self.share[use]) & ~(by_hand & (self.stage[rows] == TO_MIXING))
        if felt.any():
            goal = np.where(by_hand, self.wanted[use], self.setting[use])
            share[felt] = self._felt_share(rows[felt], use[felt], goal[felt], now[rows[felt]])
        self.hot[rows] = share * self.flow[rows]

    def _felt_share(self, rows: Rows, use: Rows, goal: Array, now: Array) -> Array:
        """Hot share that makes the coming step's water as warm as wanted, if that can be.

        What comes depends on how much is drawn; that is taken as it was a step before.
        """
        cold = self.vary.cold[rows]
        for depth in range(self.depth):
            on = (self.path[use, depth] >= 0) & (depth < self.mix_at[use])
            if on.any():
                self.lines.refresh(rows[on], self.path[use[on], depth], now[on])
        lasting = np.minimum(self.left[rows], self.plant.options.step_draw)
        share = self.felt[rows]
        coming = self._coming(rows, use, share * self.flow[rows], lasting)
        above = coming > cold + 0.01
        share = np.where(above, (goal - cold) / np.where(above, coming - cold, 1.0), 1.0)
        self.felt[rows] = share = np.clip(share, 0.05, 1.0)
        return share

    def _coming(self, rows: Rows, use: Rows, flow: Array, lasting: Array) -> Array:
        """Mean temperature of the next hot water where it is mixed; a hand feels as it turns."""
        volume = np.maximum(flow * lasting, 1e-9)
        left, heat = volume.copy(), np.zeros(len(rows))
        for depth in reversed(range(self.depth)):
            on = (self.path[use, depth] >= 0) & (depth < self.mix_at[use])
            if not on.any():
                continue
            which = self.path[use[on], depth]
            taken, warmth = self.lines.coming(rows[on], which, left[on])
            left[on] -= taken
            heat[on] += warmth
        behind = self.heating.coming(rows, np.maximum(left, 1e-9), flow)
        return (heat + left * behind) / volume

    def longest(self, now: Array) -> Array:
        """Longest step before a draw begins, changes its stage, or needs a fresh look."""
        options, heater = self.plant.options, self.plant.heater
        active = self.active
        step = np.where(active, np.minimum(self.left, options.step_draw), self.next_time - now)
        if heater is not None and heater.flow_through and heater.start_delay > 0:
            starting = active & (self.since < heater.start_delay - 1e-9)
            step = np.where(starting, np.minimum(step, heater.start_delay - self.since), step)
        return np.maximum(np.minimum(step, DAY), 0.0)

    def advance(self, now: Array, step: Array) -> None:
        """Move water through heater and runs for a step."""
        moved = self.flow * step
        if not moved.any():
            self.since += np.where(self.active, step, 0.0)
            return
        outlet = self.vary.cold.copy()
        rows = np.flatnonzero(self.hot * step > 0)
        if len(rows):
            outlet[rows] = self._through(rows, now, step)
            gain = outlet[rows] - self.vary.cold[rows]
            self.out.heat_out[rows] += self.plant.heat_per_volume * moved[rows] * gain
        self.since += np.where(self.active, step, 0.0)
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
        water = self.heating.draw(rows, hot, step[rows])
        later = now[rows] + step[rows]
        at = self.mix_at[use]
        for depth in range(self.depth + 1):
            mixing = depth == at
            water = np.where(mixing, cold + (water - cold) * hot / whole, water)
            if depth == self.depth:
                break
            on = self.path[use, depth] >= 0
            if not on.any():
                continue
            which = self.path[use[on], depth]
            self.lines.refresh(rows[on], which, later[on])
            volume = np.where(depth < at, hot, whole)
            water[on] = self.lines.push(rows[on], which, volume[on], water[on])
        return water

    def finish(self, now: Array) -> None:
        """End stages and draws that are over, or that have run dry or lost their power."""
        active = self.active
        if not active.any():
            return
        dry = active & (self.supplies.fresh <= 1e-9)
        cut = dry | (active & self.supplies.flat & (self.plant.pump_power > 0))
        over = active & ~cut & (self.left <= 1e-9)
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
        warmth = np.where(drawn > 0, self.warmth[rows] / np.maximum(drawn, 1e-12), np.nan)
        out.warmth[rows, at] = warmth
        with np.errstate(invalid="ignore"):
            cool = self._warm(use) & (warmth < self.wanted[use] - self.plant.options.lukewarm)
        state = np.where(cut, CUT_SHORT, np.where(cool, LUKEWARM, DONE))
        out.state[rows, at] = state
        out.fail("lukewarm", rows[cool], now[cool])
        slow = out.wait[rows, at] > self.plant.wait_limit
        out.fail("long wait", rows[slow], now[slow])
        self.stage[rows] = REST
        self.left[rows] = 0.0
        self.at[rows] += 1
