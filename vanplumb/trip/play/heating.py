"""One heater through the days: when it is on, what it gives, and what it draws on."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ...words.unit_table import DAY
from ..hot_runs.plug import Array, some
from .outcome import Variation
from .plant import HeaterPlant, Options, Plant, Windows
from .store import Store

Rows = NDArray[np.intp]
COOLANT_BAND = 5.0
ALWAYS: Windows = ((0.0, DAY),)
NEAR = 0.3
"""K under its setpoint from which a flow-through heater eases off rather than burning on."""


class Clock:
    """Which stretches of the day are open, looked up by the clock; heaters' by their number.

    The day is cut at every edge of every stretch, so within one piece nothing changes.
    """

    def __init__(self, plant: Plant) -> None:
        windows: dict[str | int, Windows] = {
            **{n: heater.hours for n, heater in enumerate(plant.heaters)},
            "drive": plant.drive_hours,
            "hookup": plant.hookup_hours,
            "charge": plant.battery.charge_hours if plant.battery is not None else (),
        }
        loads = plant.battery.loads if plant.battery is not None else ()
        windows |= {f"load {n}": hours for n, (_, hours) in enumerate(loads)}
        windows |= {f"round {n}": one.hours or ALWAYS for n, one in enumerate(plant.rounds)}
        edges = {0.0, DAY} | {
            edge % DAY for those in windows.values() for one in those for edge in one
        }
        self.edges = np.array(sorted(edges))
        middle = (self.edges[1:] + self.edges[:-1]) / 2
        self.open = {name: self._inside(middle, those) for name, those in windows.items()}
        self.load = np.zeros(middle.shape)
        for n, (power, _) in enumerate(loads):
            self.load = self.load + power * self.open[f"load {n}"]

    @staticmethod
    def _inside(hour: Array, windows: Windows) -> NDArray[np.bool_]:
        found = np.zeros(hour.shape, dtype=bool)
        for start, end in windows:
            found |= ((hour >= start) & (hour < end)) | (hour + DAY < end)
        return found

    def piece(self, now: Array) -> tuple[Rows, Array]:
        """The piece of the day that each clock stands in, and seconds until its end."""
        hour = (now + 1e-6) % DAY
        after = self.edges.searchsorted(hour, side="right")
        return after - 1, self.edges[after] - hour + 1e-6


class Heating:
    """One of the plant's heaters in each trip, by its ``number``.

    ``inlet`` is the temperature of the water that comes into it.
    """

    def __init__(self, plant: Plant, number: int, vary: Variation) -> None:
        trips = len(vary.cold)
        heater: HeaterPlant = plant.heaters[number]
        self.number = number
        self.plant, self.heater, self.vary = plant, heater, vary
        self.inlet = vary.cold
        self.main = np.zeros(trips, dtype=bool)
        self.coolant = np.zeros(trips, dtype=bool)
        self.by_element = np.zeros(trips, dtype=bool)
        self.off_grid = np.ones(trips, dtype=bool)
        self.ready = np.ones(trips, dtype=bool)
        self.power = np.zeros(trips)
        self.given = np.zeros(trips)
        self.lost = np.zeros(trips)
        self.taken = np.zeros(trips)
        self.burned = np.zeros(trips)
        self.fuel = np.zeros(trips)
        self.element = np.zeros(trips)
        self.flowing = np.zeros(trips)
        self._rise = np.zeros(trips)
        options = plant.options
        capacity = plant.heat_per_volume * heater.volume
        self._by_loss = vary.loss / capacity
        self.store = Store(
            trips,
            volume=heater.volume,
            mixed_share=1.0 if heater.flow_through else options.mixed_share,
            cells=options.layers,
            heat_per_volume=plant.heat_per_volume,
            loss_rate=heater.loss * vary.loss / capacity,
            start=vary.cold,
        )

    def go_round(self, more: Array, beside: Array) -> None:
        """From now on be one body with loops that lose so much more, W/K, and hold so much, m³."""
        self.store.beside(beside)
        self.store.lose((self.heater.loss + more) * self._by_loss / self.store.whole)

    def loops_rise(self) -> Array:
        """What the loops beside it have become warmer by since this was last asked, K."""
        rise, self._rise = self._rise, np.zeros(self._rise.shape)
        return rise

    def top(self) -> Array:
        """Temperature of the water that would leave next."""
        return self.store.top

    def mean(self) -> Array:
        """Mean temperature of the water in it."""
        return self.store.mean()

    def coming(self, rows: Rows, volume: Array, flow: Array) -> Array:
        """Mean temperature of the next hot water from the heater at about that flow."""
        if not self.heater.flow_through:
            return self.store.coming(rows, volume)
        share = np.maximum(volume / self.store.volume, 1e-12)
        first = -np.expm1(-share) / share
        final = self.best(rows, flow)
        return final + (self.store.bottom[rows] - final) * first

    def best(self, rows: Rows, flow: Array) -> Array:
        """The warmest water that the heater can give for long at a flow: a store's top layer."""
        if not self.heater.flow_through:
            return self.top()[rows]
        inlet = self.inlet[rows]
        lit = self.ready[rows] & (flow >= self.heater.flow_least)
        rise = self._main_power()[rows] / (self.plant.heat_per_volume * np.maximum(flow, 1e-9))
        made = np.maximum(np.minimum(inlet + rise, self.heater.setpoint), inlet)
        return np.where(lit, made, inlet)

    def energy(self) -> Array:
        """Heat held above the cold water, J."""
        return self.store.energy(self.vary.cold)

    def switch(self, clock: Clock, piece: Rows, *, flat: NDArray[np.bool_], fuel: Array) -> None:
        """Let thermostats and windows decide what is on from now.

        ``flat`` tells whose battery is empty, ``fuel`` what is left, kg.
        """
        heater = self.heater
        if not heater.carried:
            fuel = np.full(fuel.shape, np.inf)
        hookup = clock.open["hookup"][piece]
        has_burner = heater.burner_heat > 0
        if heater.element_power == 0 and not some(flat) and not heater.hours:
            self.off_grid = ~hookup
            self.ready = (fuel > 1e-9) & has_burner
            self._thermostats(clock, piece)
            return
        self.by_element = np.full(piece.shape, heater.element_power > 0) & (
            hookup | (not has_burner)
        )
        self.off_grid = ~hookup
        powered = ~flat | hookup
        burner = (fuel > 1e-9) & (powered | (heater.burner_electric == 0)) & has_burner
        allowed = np.where(self.by_element, powered, burner)
        if heater.hours:
            allowed &= clock.open[self.number][piece]
        self.ready = allowed
        self._thermostats(clock, piece)

    def _thermostats(self, clock: Clock, piece: Rows) -> None:
        """Let thermostats decide; a flow-through heater has none."""
        heater, plant, allowed = self.heater, self.plant, self.ready
        if heater.flow_through:
            return
        bottom = self.store.bottom
        low = heater.setpoint - heater.differential
        self.main = allowed & np.where(
            self.main, bottom < heater.setpoint - 1e-6, bottom <= low + 1e-6
        )
        if heater.coolant_power > 0:
            limit = plant.options.coolant_limit
            running = clock.open["drive"][piece]
            self.coolant = running & np.where(
                self.coolant, bottom < limit - 1e-6, bottom <= limit - COOLANT_BAND
            )
        self.power = self._main_power() * self.main + heater.coolant_power * self.coolant

    def _main_power(self) -> Array:
        rated = np.where(self.by_element, self.heater.element_power, self.heater.burner_heat)
        return rated * self.vary.power

    def longest(self, hot: Array, since: Array, options: Options) -> Array:
        """Longest step before a thermostat would switch, with these hot flows."""
        in_use = hot > 0
        if self.heater.flow_through:
            return self._until_setpoint(hot, since) if some(in_use) else np.full(hot.shape, DAY)
        step = np.full(in_use.shape, options.step_rest)
        air = self.vary.cabin
        resting = ~in_use
        for on, goal in (
            (self.main & resting, self.heater.setpoint),
            (self.coolant & resting, options.coolant_limit),
        ):
            if some(on):
                warm = self.store.time_to_warm(goal, self.power, air)
                step = np.where(on, np.minimum(step, warm), step)
        still = resting & (self.power == 0) & self.ready
        if some(still):
            low = self.heater.setpoint - self.heater.differential
            cooled = self.store.time_to_cool(low, air)
            step = np.where(still & (cooled > 0), np.minimum(step, cooled), step)
        return np.maximum(step, 1e-3)

    def _until_setpoint(self, hot: Array, since: Array) -> Array:
        """Seconds at full power until a flow-through heater's water is at its setpoint."""
        moving = hot > 0
        flow = np.where(moving, hot, 1.0)
        final = self.inlet + self._main_power() / (self.plant.heat_per_volume * flow)
        setpoint, bottom = self.heater.setpoint, self.store.bottom
        rising = moving & (final > setpoint + 1e-6) & (bottom < setpoint - NEAR)
        rising &= since >= self.heater.start_delay - 1e-9
        ratio = np.where(rising, (final - bottom) / np.where(rising, final - setpoint, 1.0), 1.0)
        time = np.log(ratio) * self.store.volume / flow
        return np.where(rising, np.maximum(time, 1e-3), DAY)

    def draws_on(self) -> tuple[Array, Array, Array]:
        """Electric power of element, and of fan and control, from the battery, W; fuel, kg/s.

        Of what is on now.
        """
        heater = self.heater
        on = self.flowing > 0 if heater.flow_through else self.main
        if not some(on):
            nothing = np.zeros(self.power.shape)
            return nothing, nothing, nothing
        element = on & self.by_element & self.off_grid
        burner = on & ~self.by_element
        rate = self.flowing * self.vary.power
        return (
            np.asarray(heater.element_draw * element * rate),
            np.asarray(heater.burner_electric * (burner & self.off_grid), float),
            heater.fuel_rate * burner * rate,
        )

    def rest(self, step: Array, in_use: NDArray[np.bool_]) -> None:
        """Heat and cool for a step; what flows is heated in ``draw``."""
        power = np.where(in_use, 0.0, self.power)
        lost = self.store.rest(step, power, self.vary.cabin)
        self.lost += lost
        self.given += power * step
        whole = self.store.whole
        if some(whole > 1.0):
            kept = (power * step - lost) / whole
            self.taken += kept * (whole - 1.0)
            self._rise += kept / (self.plant.heat_per_volume * self.store.volume)
        burning = self.main & ~self.by_element
        self.burned[burning] += step[burning]

    def modulate(self, flow: Array, since: Array, step: Array) -> None:
        """Decide what a heater gives in a coming step while hot water flows.

        ``flowing`` becomes a flow-through heater's share of full power: zero below its least flow
        and before its start is over; else just enough to bring its water to the setpoint by the
        end.  A store that is warm before the step is over is switched off by its thermostat.
        """
        heater, store = self.heater, self.store
        if not heater.flow_through:
            self._stop_when_warm(flow, step)
            return
        if not some(flow):
            self.power = self.flowing = np.zeros(flow.shape)
            return
        most = self._main_power()
        lit = (flow > 0) & (flow >= heater.flow_least) & (since >= heater.start_delay - 1e-9)
        lit &= self.ready & (most > 0)
        share = np.where(lit, flow * step / store.volume, 1.0)
        left = np.exp(-share)
        reach = (heater.setpoint - store.bottom * left) / -np.expm1(-share)
        wanted = (reach - self.inlet) * self.plant.heat_per_volume * flow
        self.power = np.where(lit, np.clip(wanted, 0.0, most), 0.0)
        self.flowing = self.power / np.where(most > 0, most, 1.0)

    def _stop_when_warm(self, flow: Array, step: Array) -> None:
        """Cuts a store's heat to what its zone, with the cold that flows in, takes until it is
        as warm as each thermostat lets it be."""
        heater, store = self.heater, self.store
        self.flowing = np.ones(flow.shape)
        if not some((flow > 0) & (self.power > 0)):
            return
        share = np.where(flow > 0, flow * step / store.zone, 1.0)
        left = np.exp(-share)

        def most(goal: float) -> Array:
            reach = (goal - store.bottom * left) / -np.expm1(-share)
            return np.maximum((reach - self.inlet) * self.plant.heat_per_volume * flow, 0.0)

        whole = self._main_power() * self.main
        main = np.where(flow > 0, np.minimum(whole, most(heater.setpoint)), whole)
        self.flowing = np.where(whole > 0, main / np.where(whole > 0, whole, 1.0), 1.0)
        self.power = main
        if heater.coolant_power > 0:
            room = np.maximum(most(self.plant.options.coolant_limit) - main, 0.0)
            coolant = heater.coolant_power * self.coolant
            self.power = main + np.where(flow > 0, np.minimum(coolant, room), coolant)

    def mix_round(self, rows: Rows, volume: float, looped: Array) -> Array:
        """Mix the store with a volume in a loop; gives the temperature of both."""
        water = self.store.mix(rows, volume, looped)
        self.taken[rows] += self.plant.heat_per_volume * volume * (water - looped)
        return water

    def bring_round(self, rows: Rows, volume: float, coming_back: Array) -> Array:
        """Send water of a volume round a loop for what comes back of it; gives its temperature."""
        still = np.zeros(len(rows))
        whole = np.full(len(rows), volume)
        water = self.store.draw(rows, whole, still, still, coming_back)
        self.taken[rows] += self.plant.heat_per_volume * volume * (water - coming_back)
        return water

    def draw(self, rows: Rows, volume: Array, step: Array, entering: Array) -> Array:
        """Take hot water for a step, with water of ``entering`` coming in; gives its mean
        temperature.
        """
        power = self.power[rows]
        self.given[rows] += power * step
        if self.heater.flow_through:
            self.burned[rows] += np.where((power > 0) & ~self.by_element[rows], step, 0.0)
        water = self.store.draw(rows, volume, power, step, entering)
        self.taken[rows] += self.plant.heat_per_volume * volume * (water - entering)
        return water
