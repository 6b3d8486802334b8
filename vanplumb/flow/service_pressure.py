"""The highest pressure that each part may see in service: the one engine that answers it.

Two things make pressure.  A supply holds it: a pump up to its cut-out, shore water behind its
regulator or bare, a full tank by its height.  And water grows in a heater while every tap is
shut: where a check valve keeps it from going back to the tank, the pressure climbs until
tubes, water and vessels have taken the growth up, or the relief valve opens
(``closed_heating``).  Whichever is higher counts, at the height of the part.  Surge comes on top
for moments; see the surges.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from heapq import heappop, heappush

from ..formulas.pressure import air_pressure
from ..formulas.water import water_density
from ..van.heights import heights
from ..van.kinds import heaters, pumps
from ..van.model import Build, Port
from ..van.parts import (
    Accumulator,
    CheckValve,
    DrainValve,
    Fixture,
    Heater,
    LinePart,
    MixingValve,
    Pump,
    RecirculationPump,
    Regulator,
    ShoreInlet,
    ShutOff,
    Strainer,
    Tank,
)
from ..van.ratings import highest_of_runs, rating_at
from ..van.tank_shapes import full_depth
from ..van.trace import title
from ..van.water_held import BESIDE, stretches
from ..words.brief import brief
from ..words.glossary import GRAVITY
from ..words.show import show
from ..words.tables import table
from .closed_heating import ROUNDED, Bound, Heating, heat_up
from .elasticity import Give, give_of

USUAL = 10e5
"""Pa: the class, PN 10, that taps, valves and fittings are commonly made for; it bounds what is
shut in without a relief valve (common practice, no source)."""


@brief
@dataclass(frozen=True)
class ServicePressure:
    """The highest pressure at one place, Pa gauge.

    ``supply`` is what a supply holds there.  ``heated`` is where it ends after one heat-up
    with every tap shut, held by the relief valve; None where nothing heats or the water can
    go back to the tank.  Where nothing holds it, ``gives`` is the part that gives first and
    ``heated`` what that is made for: no higher pressure comes about, though water and tubes alone
    would make as much as ``reckoned``.
    """

    place: str
    supply: float
    supply_why: str
    heated: float | None = None
    heated_why: str = ""
    gives: Bound | None = None
    reckoned: float = 0.0

    @property
    def value(self) -> float:
        return self.supply if self.heated is None else max(self.supply, self.heated)

    @property
    def why(self) -> str:
        return self.supply_why if self.value <= self.supply else self.heated_why

    @property
    def unheld(self) -> bool:
        """Whether it climbs until a part gives, so that ``value`` is what is passed."""
        return self.gives is not None and self.value > self.supply

    def told(self, units: str) -> str | float:
        """The figure, Pa, or in words what is passed."""
        return f"over {show(self.value, 'pressure', units)}" if self.unheld else self.value

    def beyond(self, rating: float, units: str) -> str | float | None:
        """What is told of a part made for a pressure, Pa, that may see more; None if it can't."""
        if self.supply > rating * ROUNDED or not self.unheld:
            return self.value if self.value > rating * ROUNDED else None
        if self.reckoned > rating * ROUNDED:
            return f"past {show(rating, 'pressure', units)}"
        return None


class ServicePressures:
    """The highest pressure in service at every place of one build."""

    def __repr__(self) -> str:
        return f"Pressures in service of {self.build.van.name}"

    def __init__(self, build: Build) -> None:
        self.build = build
        self.height = {name: float(h) for name, h in heights(build).items()}
        self.column = GRAVITY * float(water_density.si(build.van.cold_water))
        self._inside: dict[str, list[Port]] = {}
        self._along: dict[Port, list[Port]] = {}
        for first, last in build.run_ends:
            for port in (first, last):
                ports = self._inside.setdefault(port.component, [])
                if port not in ports:
                    ports.append(port)
            self._along.setdefault(first, []).append(last)
            self._along.setdefault(last, []).append(first)

        for pump, tank in build.hung_pumps.items():
            pair = Port(tank, "outlet"), Port(pump, "inlet")
            for one, other in (pair, pair[::-1]):
                if one not in self._inside.setdefault(one.component, []):
                    self._inside[one.component].append(one)
                self._along.setdefault(one, []).append(other)

    # What a supply holds.

    @cached_property
    def sources(self) -> tuple[tuple[Port, float, str], ...]:
        """Where pressure comes from: its port, Pa there, and what it is."""
        build = self.build
        found: list[tuple[Port, float, str]] = []
        for tank in build.tank:
            if tank.holds == "fresh":
                full = _known_depth(tank) * self.column
                found.append((Port(tank.name, "outlet"), full, f"{tank.name} full"))
        for pump in build.pump:
            top, why = pumps.highest(build, pump)
            if not pumps.has_switch(build, pump):  # nothing stops it: it adds to what stands on it
                top += self._stands(Port(pump.name, "inlet"))
            found.append((Port(pump.name, "outlet"), top, why))
        for shore in build.shore_inlet:
            found.append((Port(shore.name, "outlet"), shore.pressure, f"shore at {shore.name}"))
        return tuple(found)

    def _stands(self, inlet: Port) -> float:
        """The column of a full tank that stands on a pump's inlet."""
        best = 0.0
        for tank in self.build.tank:
            out = Port(tank.name, "outlet")
            if inlet in self._spread(out):
                top = self.height[tank.name] + _known_depth(tank) - self.height[inlet.component]
                best = max(best, top * self.column)
        return best

    @cached_property
    def _supplied(self) -> dict[Port, tuple[float, str, bool]]:
        """Head in Pa at height zero, what holds it, and whether a regulator has cut it."""
        best: dict[Port, tuple[float, str, bool]] = {}
        queue: list[tuple[float, int, Port, str, bool]] = []
        order = 0
        for port, pressure, why in self.sources:
            head = pressure + self.column * self.height.get(port.component, 0.0)
            heappush(queue, (-head, order, port, why, False))
            order += 1
        while queue:
            least, _, port, why, cut = heappop(queue)
            if port in best:
                continue
            best[port] = (-least, why, cut)
            steps = [(other, -least, why, cut) for other in self._along.get(port, ())]
            part = self.build.component(port.component)
            for other in self._crossed(port):
                head, said, now = -least, why, cut
                if isinstance(part, Regulator):
                    most = part.setting + self.column * self.height.get(part.name, 0.0)
                    now = True
                    if most < head:
                        head, said = most, f"{why} behind {part.name}"
                steps.append((other, head, said, now))
            for other, head, said, now in steps:
                if other not in best:
                    order += 1
                    heappush(queue, (-head, order, other, said, now))
        return best

    def _crossed(self, port: Port, *, weeps: bool = False) -> list[Port]:
        """Ports of the same part that pressure gets to from one of its ports.

        ``weeps`` lets slow growth seep back through a pump whose valves are not counted on.
        """
        part = self.build.component(port.component)
        others = [other for other in self._inside.get(port.component, ()) if other != port]
        if isinstance(part, Tank | ShoreInlet | Fixture):
            return []
        if isinstance(part, RecirculationPump):
            return others if port.port == "inlet" else []
        if isinstance(part, CheckValve):
            goes = "outlet" if part.reversed else "inlet"
            return others if port.port == goes else []
        if isinstance(part, Regulator):
            return others if port.port == "inlet" else []
        if isinstance(part, Pump):
            back = weeps and not pumps.holds_back(self.build, part)
            return others if port.port == "inlet" or back else []
        if isinstance(part, MixingValve):
            shut = {s for s, has in (("hot", part.hot_check), ("cold", part.cold_check)) if has}
            return [other for other in others if other.port not in shut]
        return others

    def _spread(self, *starts: Port) -> set[Port]:
        """Ports that water pushed out of some gets to with every tap shut."""
        seen, todo = set(starts), list(starts)
        while todo:
            port = todo.pop()
            for other in (*self._along.get(port, ()), *self._crossed(port, weeps=True)):
                if other not in seen:
                    seen.add(other)
                    todo.append(other)
        return seen

    # What heating adds.

    @cached_property
    def heatings(self) -> tuple[Heating, ...]:
        """A heat-up of each water, by all heaters of known content that push on it.

        It is told at the lowest of them, where the pressure is highest.
        """
        found: dict[frozenset[str], Heating] = {}
        low = sorted(self.build.heater, key=lambda h: (self.height.get(h.name, 0.0), h.name))
        for heater in low:
            if heater.name in self._inside and heater.volume is not None:
                one = self._heating(heater)
                if one is not None:
                    found.setdefault(frozenset(one.heaters), one)
        order = [heater.name for heater in self.build.heater]
        return tuple(sorted(found.values(), key=lambda one: order.index(one.heater)))

    @cached_property
    def _regions(self) -> dict[str, set[Port]]:
        return {
            heater.name: self._spread(*self._inside[heater.name])
            for heater in self.build.heater
            if heater.name in self._inside
        }

    def is_closed(self, heater: str) -> bool:
        """Whether water that grows in a heater can't go back to a tank."""
        return not any(
            isinstance(self.build.component(port.component), Tank)
            for port in self._regions.get(heater, ())
        )

    def vessels(self, heater: str) -> tuple[Accumulator, ...]:
        """The accumulators that water pushed out of a heater gets to."""
        names = {port.component for port in self._regions.get(heater, ())}
        return tuple(vessel for vessel in self.build.accumulator if vessel.name in names)

    def relief(self, heater: str) -> float | None:
        """The lowest relief valve that water pushed out of a heater gets to, Pa."""
        names = {port.component for port in self._regions.get(heater, ())}
        every = [h.relief for h in self.build.heater if h.name in names and h.relief is not None]
        return min(every, default=None)

    def relief_of_run(self, number: int) -> float | None:
        """What a run may see before a relief valve opens, Pa, by the heater that is worst for it.

        Each heater's water goes by the lowest valve that it gets to; None where none does.
        """
        ends = set(self.build.run_ends[number])
        every = [self.relief(name) for name, region in self._regions.items() if ends <= region]
        return max((one for one in every if one is not None), default=None)

    def _heating(self, heater: Heater) -> Heating | None:
        build = self.build
        region = self._regions[heater.name]
        names = {port.component for port in region}
        pushing = [h for h in build.heater if h.name in names and h.volume is not None]
        cold = build.van.cold_water
        pushing = [h for h in pushing if heaters.hottest(h) > cold]
        if heater not in pushing:
            return None
        air = float(air_pressure.si(build.van.altitude))
        supply = self.at(self._inside[heater.name][0], heated=False)
        return heat_up(
            heater,
            pushing,
            cold,
            air,
            start=supply.supply,
            supply=supply.supply_why,
            closed=self.is_closed(heater.name),
            relief=self.relief(heater.name),
            give=self._give(region, pushing),
            cushions=self.vessels(heater.name),
            limit=min(self.bounds(heater.name), key=lambda b: b.pressure),
        )

    def _give(self, region: set[Port], pushing: list[Heater]) -> Give:
        """What tubes and water of a region take up per pressure.

        All of the water is taken as hot: hot water is a little stiffer, so the pressure that
        comes out is a little high.
        """
        runs = [i for i, (a, b) in enumerate(self.build.run_ends) if a in region and b in region]
        hot = max(one.setpoint for one in pushing)
        held = [(h.name, heaters.content(h)) for h in pushing]
        names = {port.component for port in region}
        beside = sum(one.volume for one in stretches(self.build) if one.component in names)
        held += [(BESIDE, beside)] if beside else []
        return give_of(self.build, runs, held, hot)

    def bounds(self, heater: str) -> tuple[Bound, ...]:
        """What the parts that a heater's water pushes on are made for, its relief valve first."""
        build, region = self.build, self._regions.get(heater, set())
        names = {port.component for port in region}
        found: list[Bound] = []
        for one in build.heater:
            if one.name in names and one.relief is not None:
                found.append(Bound(f"relief of {one.name}", one.relief, "its opening pressure"))
            if one.name in names and one.pressure_rating is not None:
                found.append(Bound(one.name, one.pressure_rating, "rating on its plate"))
        for vessel in build.accumulator:
            if vessel.name in names and vessel.pressure_rating is not None:
                found.append(Bound(vessel.name, vessel.pressure_rating, "rating on its plate"))
        heats, rows = highest_of_runs(build), table("tubes", build.rows)
        for number, (first, last) in enumerate(build.run_ends):
            if first in region and last in region:
                run = build.run[number]
                rating = rating_at(rows[run.tube], heats[number].value)
                why = f"rating of {run.tube}"
                if rating is None and rows[run.tube]["rating_pressures"]:
                    rating = min(rows[run.tube]["rating_pressures"])
                    why += " at the hottest that it is made for"
                if rating is not None:
                    found.append(Bound(title(build, number), rating, why))
        if self.relief(heater) is None:
            found.append(Bound("a tap or valve", USUAL, "the usual class, PN 10; read its plate"))
        return tuple(found)

    # What comes of both.

    def at(self, port: Port, *, heated: bool = True) -> ServicePressure:
        """The highest pressure at one port; zero where no supply reaches it."""
        fall = self.column * self.height.get(port.component, 0.0)
        head, why, _ = self._supplied.get(port, (fall, "no supply", False))
        supply = max(head - fall, 0.0)
        best: Heating | None = None
        if heated:
            pushed = [
                one for one in self.heatings if one.closed and port in self._regions[one.heater]
            ]
            # What climbs until a part gives is the worst: it goes before any figure.
            best = max(
                pushed, key=lambda one: (one.unheld, one.end + self._head_of(one)), default=None
            )
        if best is None:
            return ServicePressure(str(port), supply, why)
        end = max(best.end + self._head_of(best) - fall, 0.0)
        if not best.unheld:
            return ServicePressure(str(port), supply, why, end, best.why)
        first = best.limit
        return ServicePressure(str(port), supply, why, first.pressure, best.why, first, end)

    def _head_of(self, heating: Heating) -> float:
        return self.column * self.height.get(heating.heater, 0.0)

    def of_part(self, name: str) -> ServicePressure:
        """The highest pressure at any port of a part."""
        every = [self.at(port) for port in self._inside.get(name, ())]
        return max(every, key=lambda p: p.value, default=ServicePressure(name, 0.0, "not joined"))

    def of_run(self, number: int) -> ServicePressure:
        """The highest pressure at the ends of a run."""
        return max((self.at(port) for port in self.build.run_ends[number]), key=lambda p: p.value)

    @property
    def gives_first(self) -> Bound | None:
        """The weakest part whose rating a heating passes, held by a relief valve or not."""
        passed = [h.limit for h in self.heatings if h.passes_all]
        return min(passed, key=lambda limit: limit.pressure, default=None)

    @cached_property
    def highest(self) -> ServicePressure:
        """The highest of all, bare shore water before its regulator left out."""
        return max(self._every, key=lambda p: p.value, default=NOTHING)

    @cached_property
    def supply(self) -> ServicePressure:
        """The highest that a supply holds anywhere, shore water before its regulator left out."""
        return max(self._every, key=lambda p: p.supply, default=NOTHING)

    @cached_property
    def held(self) -> ServicePressure:
        """The highest that a pump's switch or a regulator holds, at its own height."""
        before = self._before_regulators
        found = [
            ServicePressure(str(port), pressure, why)
            for port, pressure, why in self.sources
            if port not in before
        ]
        for one in self.build.regulator:
            at = self._supplied.get(Port(one.name, "outlet"))
            if at is not None:
                here = at[0] - self.column * self.height[one.name]
                found.append(ServicePressure(one.name, here, at[1]))
        return max(found, key=lambda p: p.supply, default=NOTHING)

    @cached_property
    def _every(self) -> list[ServicePressure]:
        before = self._before_regulators
        ports = [port for port in self._along if port not in before]
        return [self.at(port) for port in ports]

    @cached_property
    def _before_regulators(self) -> set[Port]:
        """Ports of an inlet's own parts, where shore water stands before its regulator."""
        plain = (ShoreInlet, Regulator, CheckValve, ShutOff, Strainer, LinePart, DrainValve)
        found: set[Port] = set()
        for shore in self.build.shore_inlet:
            seen = {Port(shore.name, "outlet")}
            todo = list(seen)
            while todo:
                port = todo.pop()
                part = self.build.component(port.component)
                crossed = [] if isinstance(part, Regulator) else self._crossed(port)
                for other in (*self._along.get(port, ()), *crossed):
                    if other not in seen:
                        seen.add(other)
                        todo.append(other)
            if all(isinstance(self.build.component(p.component), plain) for p in seen):
                found |= seen
        return found


NOTHING = ServicePressure("", 0.0, "no supply")


def _known_depth(tank: Tank) -> float:
    """Depth of a full tank; 0, as everywhere, where a stated one does not say how high it is."""
    return 0.0 if tank.shape == "stated" and tank.height is None else full_depth(tank)


def service_pressures(build: Build) -> ServicePressures:
    """The highest pressure in service at every place of a build."""
    return ServicePressures(build)
