"""What a build asks of its board: manifolds with their zones, devices, sizes and rules.

What the builder wants to stay: lines such as ``"hot manifold.shower leaves up"``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, fields
from typing import TYPE_CHECKING

from ...van.board_stock import HUNG_KINDS
from ...van.file.values import HIGHEST
from ...van.handles import handle_letters, manifold_letters, zone_codes
from ...van.header_form import BLOCK, header_form
from ...van.wiring import place
from ...van.zone_order import heater_zones, zones_to_place
from ...words.brief import brief
from ...words.quantity import QuantityError, read
from ...words.show import show
from ...words.tables import table
from ...words.unit_text import shortened
from ..place.collide import Room
from ..place.state import SIXTEENTH, TICK, ticks, up_to
from .catalogue import Catalogue, rule
from .parts import Part

if TYPE_CHECKING:
    from ...van.model import Build
    from ...van.parts import Manifold, Run

HOT_AND_COLD = ("hot", "cold")
SIDES = ("up", "down", "left", "right")
BENDS = ("flat", "forward", "back")


@brief
@dataclass
class Pins:
    """What is pinned, by the name of the zone, manifold or device.  Lengths in ticks."""

    leaves: dict[str, str] = field(default_factory=dict)
    turned: dict[str, bool] = field(default_factory=dict)
    bend: dict[str, str] = field(default_factory=dict)
    valve: dict[str, str] = field(default_factory=dict)
    gap: dict[str, int] = field(default_factory=dict)
    stub: dict[str, int] = field(default_factory=dict)
    side: dict[str, int] = field(default_factory=dict)
    order: dict[str, tuple[str, ...]] = field(default_factory=dict)
    upright: dict[str, bool] = field(default_factory=dict)
    fold: dict[str, str] = field(default_factory=dict)
    corner: dict[str, tuple[int, int]] = field(default_factory=dict)
    backward: dict[str, bool] = field(default_factory=dict)
    at: dict[str, tuple[int, int]] = field(default_factory=dict)
    turn: dict[str, int] = field(default_factory=dict)
    parts: dict[str, str] = field(default_factory=dict)
    on_board: list[str] = field(default_factory=list)


def _length(text: str) -> int:
    """A length either way in ticks, no longer than any other length of a build file may be."""
    length, most = read(text, "height"), HIGHEST["length"]
    if not abs(length) <= most:
        raise QuantityError(f"must be {show(most, 'length', 'SI')} or less, got {shortened(text)}")
    return ticks(length * 1000)


def _place(text: str) -> tuple[int, int]:
    try:
        x, y = (item.strip() for item in text.split(","))
    except ValueError as error:
        raise QuantityError('needs two lengths such as "at 120 mm, 80 mm"') from error
    return _length(x), _length(y)


def _one_of(text: str, options: tuple[str, ...]) -> str:
    if text not in options:
        raise QuantityError(f"needs one of {', '.join(options)}, got {text!r}")
    return text


def read_pins(build: Build) -> tuple[Pins, list[str]]:
    """The pins of a build, and what could not be read, in words."""
    zones = {f"{z.manifold}.{z.name}": z.manifold for z in build.zone}
    manifolds = {m.name for m in build.manifold}
    kinds = ("mixing_valve", "check_valve", "accumulator", "shut_off")
    devices = {c.name for key in kinds for c in getattr(build, key)}
    names = sorted([*zones, *manifolds, *devices], key=len, reverse=True)
    pins, problems = Pins(), []
    for line in build.board.pin:
        name = next((n for n in names if line == n or line.startswith(n + " ")), None)
        if name is None:
            problems.append(f"pin {line!r}: begins with no zone, manifold or device of this build")
            continue
        said = line[len(name) :].strip()
        try:
            if name in zones:
                _zone(pins, name, said)
            elif name in manifolds:
                own = {z.name for z in build.zones(name)}
                _manifold(pins, name, said, own)
            else:
                _device(pins, name, said)
        except QuantityError as error:
            problems.append(f"pin {line!r}: {error}")
    return pins, problems


def _zone(pins: Pins, key: str, said: str) -> None:
    verb, _, rest = said.partition(" ")
    if verb == "leaves":
        pins.leaves[key] = _one_of(rest, SIDES)
    elif verb == "handle" and rest in ("turned", "as bought"):
        pins.turned[key] = rest == "turned"
    elif verb == "handle":
        pins.bend[key] = _one_of(rest, (*BENDS, "turned", "as bought"))
    elif verb == "valve" and rest:
        pins.valve[key] = rest
    elif verb == "gap":
        pins.gap[key] = _length(rest)
    elif verb == "stub":
        pins.stub[key] = _length(rest)
    elif verb == "side":
        pins.side[key] = 1 if _one_of(rest, ("left", "right")) == "left" else -1
    else:
        raise QuantityError("a zone can have: leaves, handle, valve, gap, stub, side")


def _manifold(pins: Pins, name: str, said: str, zones: set[str]) -> None:
    if said in ("lying", "upright"):
        pins.upright[name] = said == "upright"
    elif said in ("fed from the far end", "fed from the near end"):
        pins.backward[name] = said.endswith("far end")
    elif said.startswith("corner "):
        pins.corner[name] = _place(said[7:])
    elif said == "one row":
        pins.fold[name] = ""
    elif match := re.fullmatch(r"two rows after (.+)", said):
        if match[1] not in zones:
            raise QuantityError(f"there is no zone {match[1]!r}")
        pins.fold[name] = match[1]
    elif said.startswith("order "):
        order = tuple(item.strip() for item in said[6:].split(","))
        if set(order) != zones or len(order) != len(zones):
            raise QuantityError(f"order must name each of {', '.join(sorted(zones))} once")
        pins.order[name] = order
    elif said.startswith("at "):
        pins.at[name] = _place(said[3:])
    else:
        raise QuantityError(
            "a manifold can have: order, lying, upright, one row, two rows after, corner, "
            "fed from the far end, at"
        )


def _device(pins: Pins, name: str, said: str) -> None:
    verb, _, rest = said.partition(" ")
    if said == "on board":
        pins.on_board.append(name)
    elif verb == "part" and rest:
        pins.parts[name] = rest
    elif verb == "at":
        pins.at[name] = _place(rest)
    elif verb == "turn":
        pins.turn[name] = int(_one_of(rest, ("0", "90", "180", "270")))
    else:
        raise QuantityError("a device can have: on board, part, at, turn")


@brief
@dataclass(frozen=True)
class ZoneNeed:
    """One zone.  ``leaves`` is the side of its fixture, empty if any side will do."""

    key: str
    name: str
    manifold: str
    code: str
    side: str
    tube: str
    valve: str
    leaves: str
    goes_to: str
    port: str

    @property
    def label(self) -> str:
        return f"{self.code} {self.name}"


@brief
@dataclass(frozen=True)
class Isolator:
    """A shut-off that hangs on the board right before a header: its component and its part."""

    name: str
    part: str
    letter: str


@brief
@dataclass(frozen=True)
class ManifoldNeed:
    """One manifold.  ``least`` is the least cut length of its header's tubes, in ticks.

    ``outlets`` are those of each ready header that it is built of, if it is.
    """

    name: str
    letter: str
    side: str
    form: str
    tube: str
    least: int
    stated: bool
    zones: tuple[ZoneNeed, ...]
    outlets: tuple[int, ...] = ()
    isolator: Isolator | None = None


@brief
@dataclass(frozen=True)
class DeviceNeed:
    """A part that stands alone on the board; ``feeds`` maps its ports to what they join.

    ``checked`` are inlets with a check valve in them.
    """

    name: str
    kind: str
    part: str
    feeds: tuple[tuple[str, str], ...] = ()
    checked: tuple[str, ...] = ()


@brief
@dataclass(frozen=True)
class Needs:
    """All that the layout needs to know, lengths in mm but for ticks where said.

    ``heater_zones`` are zones that feed a heater; ``pairs`` names valves off the board that a hot
    and a cold zone of it go to, as (valve, hot zone, cold zone).  ``clip_valves``: each stub is
    long enough for a clip.  ``bends``: tubes between parts are bent before they have an elbow.
    ``more_room`` is the share of area that a plumber's habits may cost.
    """

    catalogue: Catalogue
    manifolds: tuple[ManifoldNeed, ...]
    devices: tuple[DeviceNeed, ...]
    links: tuple[tuple[str, str, str], ...]
    pins: Pins
    width: float
    height: float
    depth: float
    margin: float
    finger: float
    tube_height: float
    room: Room
    grid: int
    tool_width: float
    tool_length: float
    clip_room: float
    problems: tuple[str, ...] = ()
    hot_side: str = "left"
    heater_zones: frozenset[str] = frozenset()
    pairs: tuple[tuple[str, str, str], ...] = ()
    clip_valves: bool = False
    more_room: float = 0.0
    bends: bool = False

    @property
    def key(self) -> tuple[object, ...]:
        """Everything that a layout depends on: needs with the same key have the same boards."""
        pins = tuple(repr(getattr(self.pins, f.name)) for f in fields(self.pins))
        known = {"catalogue": self.catalogue.key, "pins": pins}
        return tuple(known.get(f.name, getattr(self, f.name)) for f in fields(self))

    @property
    def hung(self) -> frozenset[str]:
        """Names of components that hang on the board, but for its manifolds."""
        isolators = {m.isolator.name for m in self.manifolds if m.isolator}
        return frozenset(isolators | {d.name for d in self.devices})

    def zone(self, key: str) -> ZoneNeed:
        """The zone of that key.  KeyError if there is none."""
        for manifold in self.manifolds:
            for zone in manifold.zones:
                if zone.key == key:
                    return zone
        raise KeyError(key)

    def manifold(self, name: str) -> ManifoldNeed:
        """The manifold of that name.  KeyError if there is none."""
        for one in self.manifolds:
            if one.name == name:
                return one
        raise KeyError(name)

    def least(self, tube: str, one: float = 0.0, other: float = 0.0) -> int:
        """Shortest cut length of a tube between two insertions, in ticks on the grid."""
        stub = self.catalogue.tubes[tube]["stub_least"] or 0.0
        return up_to(max(ticks(float(stub) * 1000), ticks(one + other)), self.grid)

    def valve(self, zone: ZoneNeed) -> Part:
        """The part for a zone's shut-off: as pinned, of the kind that the build says, or any."""
        pinned = self.pins.valve.get(zone.key)
        if pinned:
            return self.catalogue[pinned]
        found = self.catalogue.find("valve", zone.tube, valve=zone.valve)
        return found[0] if found else self.catalogue.first("valve", zone.tube)

    def clip(self, tube: str) -> Part | None:
        """The clip for a tube, if the table has one."""
        found = self.catalogue.find("clip", tube)
        return found[0] if found else None


def needs_of(build: Build) -> Needs:
    """Read a build.  PartError if a part that the board needs is not in the table."""
    catalogue = Catalogue(build)
    pins, problems = read_pins(build)
    grid = SIXTEENTH if build.van.units == "US" else TICK
    manifolds = [_manifold_asked(build, m, catalogue, pins, grid, problems) for m in build.manifold]
    devices, links = _devices(build, catalogue, pins, problems)
    board = build.board
    return Needs(
        catalogue,
        tuple(m for m in manifolds if m.zones),
        devices,
        links,
        pins,
        _mm(board.width),
        _mm(board.height),
        _mm(board.depth),
        _mm(board.margin),
        _mm(board.finger),
        rule(build, "tube height"),
        Room(rule(build, "gap"), rule(build, "handle gap")),
        grid,
        rule(build, "tool width"),
        rule(build, "tool length"),
        rule(build, "clip room"),
        tuple(problems),
        board.hot_side,
        heater_zones(build),
        _pairs(build, {d.name for d in devices}),
        board.clip_valves,
        rule(build, "room for habits"),
        build.shop.bend_corners,
    )


def _pairs(build: Build, on_board: set[str]) -> tuple[tuple[str, str, str], ...]:
    """Mixing valves off the board that are fed by a hot and by a cold zone."""
    sides = {m.name: m.side for m in build.manifold}
    found = []
    for valve in build.mixing_valve:
        if valve.name in on_board:
            continue
        fed = {e.port: s for s, e in build.run_ends if e.component == valve.name}
        hot, cold = fed.get("hot"), fed.get("cold")
        if hot and cold and (sides.get(hot.component), sides.get(cold.component)) == HOT_AND_COLD:
            found.append((valve.name, str(hot), str(cold)))
    return tuple(found)


def _mm(length: float | None) -> float:
    return round(length * 1000, 4) if length else 0.0


def _manifold_asked(
    build: Build,
    manifold: Manifold,
    catalogue: Catalogue,
    pins: Pins,
    grid: int,
    problems: list[str],
) -> ManifoldNeed:
    zones = []
    codes = zone_codes(build)
    held = {m.name for m in build.mixing_valve} | set(pins.on_board)
    runs: dict[str, Run] = {}
    for run in build.run:
        start, _ = build.ends(run)
        if start.component == manifold.name:
            runs[start.port] = run
    built = header_form(build, manifold)
    for zone in zones_to_place(build, manifold.name):
        found = runs.get(zone.name)
        key = f"{manifold.name}.{zone.name}"
        leaves, to, port, tube = "", "", "", manifold.tube
        if found:
            end = build.ends(found)[1]
            to, port = end.component, end.port
            kind = "header" if built.form == BLOCK else "tee"
            fits = kind == "tee" or found.tube == built.branch
            if fits and catalogue.find(kind, manifold.tube, found.tube):
                tube = found.tube
            else:
                problems.append(
                    f"{place(build, key)}: no {kind} from {manifold.tube} to {found.tube} in the "
                    f"table of board parts; stub and valve are {manifold.tube}, with a reducer on "
                    "the run"
                )
            if found.rise and to not in held:
                leaves = "up" if found.rise > 0 else "down"
        if key not in pins.valve and not catalogue.find("valve", tube, valve=zone.valve):
            stand_in = [p.name for p in catalogue.find("valve", tube)][:1]
            problems += [
                f"{place(build, key)}: no {zone.valve!r} valve for {tube} in the table of board "
                f"parts; {name} stands in for it"
                for name in stand_in
            ]
        zones.append(
            ZoneNeed(
                key,
                zone.name,
                manifold.name,
                codes[key],
                manifold.side,
                tube,
                zone.valve,
                pins.leaves.get(key, leaves),
                to,
                port,
            )
        )
    stub = float(catalogue.tubes[manifold.tube]["stub_least"] or 0.0)
    least = max(manifold.stub or 0.0, stub)
    if manifold.stub is not None and manifold.stub < stub - 1e-9:
        problems.append(
            f"{manifold.name}: a stub of {manifold.stub * 1000:.1f} mm is shorter than "
            f"{manifold.tube} allows; {stub * 1000:.1f} mm is taken"
        )
    return ManifoldNeed(
        manifold.name,
        manifold_letters(build)[manifold.name],
        manifold.side,
        built.form,
        manifold.tube,
        up_to(ticks(least * 1000), grid),
        manifold.stub is not None,
        tuple(zones),
        built.outlets,
        _isolator(build, manifold, catalogue, pins, problems),
    )


def _isolator(
    build: Build, manifold: Manifold, catalogue: Catalogue, pins: Pins, problems: list[str]
) -> Isolator | None:
    """The shut-off that is pinned on the board and feeds this manifold."""
    valves = {valve.name: valve for valve in build.shut_off}
    for run, (start, end) in zip(build.run, build.run_ends, strict=True):
        valve = valves.get(start.component)
        if end.component != manifold.name or valve is None or valve.name not in pins.on_board:
            continue
        if run.tube != manifold.tube:
            problems.append(
                f"{valve.name}: on the board it joins {manifold.name} by {manifold.tube}, not "
                f"{run.tube}; it is left off the board"
            )
            return None
        found = catalogue.find("valve", manifold.tube, valve=valve.valve)
        part = found[0] if found else catalogue.first("valve", manifold.tube)
        name = pins.parts.get(valve.name, part.name)
        return Isolator(valve.name, name, handle_letters(build)[valve.name])
    return None


def _devices(
    build: Build, catalogue: Catalogue, pins: Pins, problems: list[str]
) -> tuple[tuple[DeviceNeed, ...], tuple[tuple[str, str, str], ...]]:
    """Mixing valves, and what is pinned "on board"; and which zones run to which of their ports.

    A link is (zone key, device, port).
    """
    on_board = {m.name for m in build.mixing_valve} if build.manifold else set()
    on_board |= set(pins.on_board)
    devices, links = [], []
    bores = table("tubes", build.rows)
    fed = {start.component for start, end in build.run_ends
           if end.component in {m.name for m in build.manifold}}  # fmt: skip
    problems += [
        f"{valve.name}: a shut-off hangs on the board only right before a manifold; it is left off"
        for valve in build.shut_off
        if valve.name in on_board and valve.name not in fed
    ]
    for key, kind in HUNG_KINDS.items():
        for component in getattr(build, key):
            if component.name not in on_board:
                continue
            feeds, tubes = [], set()
            for run in build.run:
                start, end = build.ends(run)
                if end.component == component.name:
                    feeds.append((end.port, place(build, str(start))))
                    tubes.add(run.tube)
                    if start.component in {m.name for m in build.manifold}:
                        links.append((str(start), component.name, end.port))
                elif start.component == component.name:
                    feeds.append((start.port, place(build, str(end))))
                    tubes.add(run.tube)
            if not tubes:
                continue
            # the widest tube that there is a part for: narrower ones are joined by reducers
            wide = sorted(tubes, key=lambda name: (-bores[name].number("bore"), name))
            found = next((parts for tube in wide if (parts := catalogue.find(kind, tube))), ())
            if not found:
                problems.append(
                    f"{component.name}: no {kind} for {wide[0]} in the table of board parts; "
                    "it is left off the board"
                )
                continue
            part = pins.parts.get(component.name, found[0].name)
            if part not in {one.name for one in found}:
                problems.append(
                    f"the pin for the part of {component.name} is not kept: {part} is no {kind} "
                    f"for {wide[0]}"
                )
                part = found[0].name
            checked = tuple(p for p in ("hot", "cold") if getattr(component, f"{p}_check", False))
            devices.append(DeviceNeed(component.name, kind, part, tuple(sorted(feeds)), checked))
    return tuple(devices), tuple(sorted(links))
