"""What the region asks of what is fitted: wires and fuses, straps, clips, belongings, drains."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from ..formulas.carrying import belongings_mass, restraint_force
from ..formulas.tank import water_mass
from ..formulas.water import water_density
from ..formulas.wiring import wire_reach
from ..van.kinds import heaters, line_parts, pumps
from ..van.region import Limit, Region, clip_distance, region_of, rules_of
from ..van.tank_shapes import volume
from ..words.show import show
from ..words.tables import Row, table
from ..words.work import Work

if TYPE_CHECKING:
    from ..van.model import Build

FUSE_FACTOR = 1.25
"""A fuse is taken so much above the current that flows for long (common practice, no source)."""


@dataclass(frozen=True)
class Consumer:
    """What draws current at low voltage: A at V, and the smallest fuse above it."""

    name: str
    current: float
    voltage: float
    fuse: Row | None


@dataclass(frozen=True)
class Wire:
    """One size of wire for one consumer: how far it reaches, m one way, by the use's drop."""

    consumer: str
    size: str
    current: float
    fuse: str
    reach: dict[str, Work]


@dataclass(frozen=True)
class Strap:
    """What the straps of one thing must hold: kg full, N forward and sideways.

    ``own`` is what it weighs empty, None where the file is silent; ``mass`` is then of the water
    in it alone.
    """

    name: str
    mass: float
    own: float | None
    forward: Work
    sideways: Work
    row: Row


@dataclass(frozen=True)
class Clips:
    """Greatest distances between clips of one tube; None where the region has none."""

    tube: str
    level: Limit | None
    upright: Limit | None


class Place:
    """What is asked of one build's fitting out in its region, each when it is first asked for."""

    def __init__(self, build: Build) -> None:
        self.build = build

    @cached_property
    def region(self) -> Region:
        return region_of(self.build)

    @cached_property
    def consumers(self) -> tuple[Consumer, ...]:
        """All that runs at low voltage, at the most current that it draws.

        An element takes more than its plate says where the battery has more volts.
        """
        build = self.build
        voltage = build.battery.voltage if build.battery else 12.0
        rows = table("pumps", build.rows)
        found = []
        for pump in pumps.electric(build):
            row = rows.get(pump.curve)
            currents = pump.curve_current or (row["curve_current"] if row else None) or ()
            if currents:
                found.append((pump.name, max(currents), voltage))
        for heater in build.heater:
            if heater.element_power and not heaters.on_mains(heater):
                plate = heater.element_voltage
                volts = voltage if 0.5 < voltage / plate < 1.5 else plate
                found.append((heater.name, heater.element_power / plate**2 * volts, volts))
            if heater.burner_electric:
                name = f"fan and control of {heater.name}"
                found.append((name, heater.burner_electric / voltage, voltage))
        for circulator in build.recirculation_pump:
            found.append((circulator.name, circulator.power / voltage, voltage))
        for part in build.line_part:
            power = line_parts.figure(build, part, "power")
            volts = line_parts.figure(build, part, "voltage") or voltage
            if power and volts <= heaters.EXTRA_LOW_VOLTAGE:
                found.append((part.name, power / volts, volts))
        return tuple(Consumer(n, i, u, _fuse(build, i)) for n, i, u in found)

    @cached_property
    def wires(self) -> tuple[Wire, ...]:
        """For each consumer the sizes whose wire its fuse protects, thinnest first."""
        uses = list(rules_of(self.build, "wire_rules").values())
        least = max((u["area_least"] or 0.0 for u in uses), default=0.0)
        found = []
        for one in self.consumers:
            if one.fuse is None:
                continue
            for size, row in rules_of(self.build, "wires").items():
                if row.number("current") < one.fuse.number("current") or row["area"] < least:
                    continue
                reach = {
                    str(use["use"]): wire_reach.work(
                        share_drop=use.number("drop"),
                        voltage=one.voltage,
                        area=row.number("area"),
                        current=one.current,
                    )
                    for use in uses
                }
                found.append(Wire(one.name, size, row.number("current"), one.fuse.name, reach))
        return tuple(found)

    @cached_property
    def straps(self) -> tuple[Strap, ...]:
        """Every tank and heater full: what holds it on the road, of those that weigh something."""
        rows = rules_of(self.build, "restraints")
        if not rows:
            return ()
        row = next(iter(rows.values()))
        density = float(water_density.si(self.build.van.cold_water))
        found = []
        for name, held, own in self._full:
            mass = float(water_mass.si(density, held)) + (own or 0.0)
            if not mass:
                continue
            forward, sideways = (
                restraint_force.work(mass=mass, number=row.number(way))
                for way in ("forward", "sideways")
            )
            found.append(Strap(name, mass, own, forward, sideways, row))
        return tuple(found)

    @cached_property
    def unweighed(self) -> tuple[str, ...]:
        """Tanks and heaters of which the file does not say what they weigh empty."""
        return tuple(name for name, _, own in self._full if own is None)

    @cached_property
    def _full(self) -> tuple[tuple[str, float, float | None], ...]:
        """Every tank and heater: what water it holds, m³, and what it weighs empty, kg if said."""
        tanks = ((t.name, volume(t), t.mass_empty) for t in self.build.tank)
        return (*tanks, *((h.name, h.volume or 0.0, h.mass) for h in self.build.heater))

    @cached_property
    def clips(self) -> tuple[Clips, ...]:
        """Distances between clips for each tube that the build uses."""
        tubes = dict.fromkeys(run.tube for run in self.build.run)
        return tuple(
            Clips(t, clip_distance(self.build, t), clip_distance(self.build, t, upright=True))
            for t in tubes
        )

    @cached_property
    def belongings(self) -> tuple[Row, Work] | None:
        """Belongings that the van must be able to carry; None without a rule or a length."""
        rows = rules_of(self.build, "belongings")
        length = self.build.van.length
        if not rows or length is None:
            return None
        row = next(iter(rows.values()))
        return row, belongings_mass.work(
            count_people=self.build.crew.people,
            mass_person=row.number("per_person"),
            length=length,
            mass_per_length=row.number("per_metre"),
        )

    @cached_property
    def relief_drain(self) -> tuple[Row, ...]:
        """What the drain of a relief valve must be, in the region's order."""
        return _ordered(rules_of(self.build, "relief_drains").values())

    @cached_property
    def practices(self) -> tuple[tuple[str, Row], ...]:
        """What else parts ask for, with its figures in the reader's units, and the row."""
        units = self.build.van.units
        found = []
        for row in rules_of(self.build, "part_practices").values():
            figures = {
                key: show(row[key], column.word, units)
                for key, column in table("part_practices").columns.items()
                if column.word and row[key] is not None
            }
            found.append((str(row["demand"]).format(**figures), row))
        return tuple(found)


def _fuse(build: Build, current: float) -> Row | None:
    """The smallest fuse that bears a current for long."""
    fits = [r for r in table("fuses", build.rows).values()
            if r.number("current") >= FUSE_FACTOR * current - 1e-9]  # fmt: skip
    return min(fits, key=lambda r: r.number("current"), default=None)


def _ordered(rows: Iterable[Row]) -> tuple[Row, ...]:
    return tuple(sorted(rows, key=lambda r: r.number("order")))
