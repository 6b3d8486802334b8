"""What is bought for the whole van: devices, fittings, rings, tube, clips, screws, compound.

Prices come from the build file only: ``price`` of a component, or in a row of
``[[rows.board_parts]]`` or ``[[rows.fitting_parts]]`` that is named after the line.  Tube is
priced by the length that it is sold in.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil, pi
from typing import TYPE_CHECKING, Any

from ..board.lists.cut_plan import CutPlan
from ..board.parts.catalogue import Catalogue, rule
from ..board.parts.parts import FITTINGS, PartError
from ..board.place.state import mm
from ..van.kinds import line_parts
from ..van.parts import Accumulator, Heater, LinePart, Regulator, Tank
from ..van.pieces import Piece, Used
from ..van.pointers import kind_of
from ..van.port_ends import form_of
from ..van.region import clips_of_run
from ..words.brief import brief
from ..words.quantity import unit_of
from ..words.show import drill_size, show, unit
from ..words.tables import table
from .beside_runs import bore_words, bypasses, tank_hoses
from .headers import Headers, valves_without_board
from .joints import Joint

if TYPE_CHECKING:
    from ..board.parts.parts import Part
    from ..van.fittings import FittingPart
    from ..van.model import Build
    from ..van.parts import Component
    from .ways import Ways

TUBE = "tube"
SIDES = ("diameter", "length", "width", "height")
FOAM = 30.0
"""kg/m³ of insulating foam (typical, from memory)."""
COLLARS = {"crimp ring": 0.006, "sleeve": 0.012, "clamp": 0.012}
"""kg of what goes on one tube end, beside the ring of expansion joints (typical, from memory)."""
LINER = 0.001
"""kg of the liner that stiffens a plastic tube's end (typical, from memory)."""
LINED = ("push-fit", "compression")
SPARE_SCREWS = 0.1
ORDER = ("device", "valve", "mixing valve", "check valve", "accumulator", "header", "tee", "elbow",
         "elbow 45", "reducer", "coupling", "union", "adapter", "nipple", "socket", "bush", "plug",
         "ring", "liner", TUBE, "hose", "insulation", "clip", "screw", "compound")  # fmt: skip


@brief
@dataclass(frozen=True)
class Line:
    """One line of the bill: how many are needed, how many spare, kg and price of one.

    ``mass`` is None if nobody said what it weighs, ``price`` if the build file says none.
    ``unit`` is empty for pieces, "m" for what goes by the length.  ``weighs``: kg of all that
    goes into the van, where that is not ``mass`` times what is needed.  ``aboard`` False: used
    up in the shop.  ``part`` is the component that a device is, or belongs to.
    """

    name: str
    kind: str
    needed: float
    spare: float
    mass: float | None
    price: float | None
    buy: str = ""
    about: str = ""
    unit: str = ""
    basis: str = ""
    weighs: float | None = None
    aboard: bool = True
    on_board: int = 0
    part: str = ""

    @property
    def bought(self) -> float:
        return self.needed + self.spare

    @property
    def cost(self) -> float | None:
        """Price of all that is bought."""
        return None if self.price is None else self.price * self.bought

    @property
    def total(self) -> float:
        """kg that it brings into the van, without its spares."""
        if not self.aboard:
            return 0.0
        return self.weighs if self.weighs is not None else (self.mass or 0.0) * self.needed


@brief
@dataclass(frozen=True)
class Bill:
    """The bill of a van.  ``currency`` is what the build says."""

    lines: tuple[Line, ...]
    currency: str

    @property
    def mass(self) -> float:
        """kg of all that goes into the van, without spares and without water."""
        return sum(line.total for line in self.lines)

    @property
    def cost(self) -> float:
        """Price of all lines that have one."""
        return sum(line.cost or 0.0 for line in self.lines)

    @property
    def unpriced(self) -> tuple[str, ...]:
        """Lines that the build file gives no price for."""
        return tuple(line.name for line in self.lines if line.price is None)

    @property
    def unweighed(self) -> tuple[str, ...]:
        """Lines that nobody has said the mass of."""
        return tuple(
            line.name for line in self.lines
            if line.aboard and line.mass is None and line.weighs is None
        )  # fmt: skip

    def line(self, name: str) -> Line:
        """The line of that name.  KeyError if there is none."""
        for one in self.lines:
            if one.name == name:
                return one
        raise KeyError(name)

    @property
    def groups(self) -> dict[str, list[Line]]:
        """Lines by where one buys them."""
        found: dict[str, list[Line]] = {}
        for line in self.lines:
            found.setdefault(line.buy or "elsewhere", []).append(line)
        return found


def bill_of(
    build: Build,
    headers: Headers,
    ways: Ways,
    fittings: tuple[Used, ...],
    pieces: tuple[Piece, ...],
    joints: tuple[Joint, ...],
    plans: dict[str, CutPlan],
) -> Bill:
    """The bill of all that the lists hold."""
    maker = _BillMaker(build, headers)
    lines = [
        *maker.devices(),
        *maker.parts(fittings),
        *maker.rings(joints),
        *maker.tube(pieces, plans),
        *maker.hoses(),
        *maker.insulation(ways),
        *maker.clips_and_screws(ways),
        *maker.compounds(joints),
    ]
    lines.sort(key=lambda line: ORDER.index(line.kind) if line.kind in ORDER else len(ORDER))
    return Bill(tuple(lines), build.van.currency)


def _threads(name: str, part: FittingPart | None) -> str:
    """The threads of a fitting that its name does not tell, as the counter asks for them."""
    ends = [f"{end.size} {end.kind}" for end in part.ends if not end.holds] if part else []
    return " and ".join(dict.fromkeys(end for end in ends if end not in name))


class _BillMaker:
    def __init__(self, build: Build, headers: Headers) -> None:
        self.build, self.headers = build, headers
        self.catalogue = Catalogue(build)
        self.tubes = table("tubes", build.rows)
        self.where = table("where_bought", build.rows)
        self.spare = int(rule(build, "least spare fittings"))

    def buy(self, kind: str) -> str:
        """Where a kind of thing is bought."""
        return str(self.where[kind]["buy"]) if kind in self.where else "plumbing merchant"

    def price(self, name: str) -> float | None:
        """What the build file asks for a line of this name."""
        for rows in ("board_parts", "fitting_parts"):
            found = self.build.rows.get(rows, {}).get(name, {}).get("price")
            if found is not None:
                return float(found)
        return None

    def devices(self) -> Iterator[Line]:
        """Every component that is bought as one, and the relief valves of heaters."""
        for component in self.build.components:
            kind = kind_of(component)
            if kind in ("tee", "manifold"):
                continue
            row = self._device(kind, form_of(self.build, component))
            mass, basis = self._mass(component, row["mass"])
            part = self.headers.devices.get(component.name)
            price = component.price
            if price is None:
                price = self.price(part.name) if part else self.price(component.name)
            curve = str(getattr(component, "curve", ""))
            if price is None and curve:
                price = self.price(curve)
            yield Line(
                component.name, "device", 1, 0, mass, price, str(row["buy"]), self._what(component),
                basis=basis, part=component.name,
            )  # fmt: skip
        for tank in self.build.tank:
            for kind, bore in (
                ("filler", tank.fill_diameter),
                ("tank vent", tank.vent_diameter),
                ("tank overflow", tank.overflow_diameter),
            ):
                if bore is not None:
                    row = self._device(kind, "")
                    name = f"{kind} of {tank.name}"
                    yield Line(
                        name, "device", 1, 0, row["mass"], self.price(name), str(row["buy"]),
                        f"bore {show(bore, 'diameter', self.build.van.units)}",
                        basis="typical, weigh yours", part=tank.name,
                    )  # fmt: skip
        for way in bypasses(self.build):
            row = self._device("bypass", way.valves)
            yield Line(
                way.name, "device", 1, 0, row["mass"], self.price(way.name), str(row["buy"]),
                f"{way.valves}, screwed between {way.part.name} and its lines",
                basis="typical, weigh yours", part=way.part.name,
            )  # fmt: skip
        for heater in self.build.heater:
            if heater.relief is not None:
                row = self._device("relief valve", "")
                opens = show(heater.relief, "pressure", self.build.van.units)
                name = f"relief valve of {heater.name}"
                yield Line(
                    name, "device", 1, 0, row["mass"], self.price(name), str(row["buy"]),
                    f"opens at {opens}", basis="typical, weigh yours", part=heater.name,
                )  # fmt: skip

    def _device(self, kind: str, form: str) -> Any:
        found = None
        for row in table("devices", self.build.rows).values():
            if row["component"] == kind and row["form"] == form:
                return row
            if row["component"] == kind and not row["form"]:
                found = row
        if found is None:
            raise KeyError(f"the table of devices has no {kind}")
        return found

    def _mass(self, component: Component, typical: float | None) -> tuple[float | None, str]:
        """kg of a component without water, and who says so."""
        for key in ("mass", "mass_empty"):
            said = getattr(component, key, None)
            if said is not None:
                return float(said), "given"
        curve = getattr(component, "curve", "")
        row = table("pumps", self.build.rows).get(curve) if curve else None
        if row is not None and row["mass"] is not None:
            return float(row["mass"]), "typical, weigh yours"
        if isinstance(component, LinePart):
            typical = line_parts.row_of(self.build, component)["mass"]
        part = self.headers.devices.get(component.name)
        if part is not None and part.mass and kind_of(component) != "accumulator":
            return part.mass, "typical, weigh yours"
        return typical, "typical, weigh yours" if typical is not None else "not said"

    def _what(self, component: Component) -> str:
        """What a component is, in a few words, with the sizes that it is ordered by."""
        kind = kind_of(component)
        form = str(getattr(component, "curve", "") or getattr(component, "kind", ""))
        what = f"{kind}, {form}" if form and form != kind else kind
        return ", ".join((what, *self._sizes(component)))

    def _sizes(self, component: Component) -> Iterator[str]:
        """What the build file says of how large a component is."""
        units = self.build.van.units
        if isinstance(component, Tank | Accumulator | Heater) and component.volume:
            yield show(component.volume, "volume", units)
        if isinstance(component, Tank):
            sides = [getattr(component, key) for key in SIDES if getattr(component, key)]
            if sides:
                figures = [show(side, "length", units, with_unit=False) for side in sides]
                across = "diameter " if component.diameter else ""
                yield f"{across}{' × '.join(figures)} {unit('length', units)} inside"
        if isinstance(component, Heater):
            for key in ("burner_power", "element_power", "coolant_power"):
                power = getattr(component, key)
                if power:
                    rated = show(power, "power", units)
                    if units == "US" and key != "element_power":  # as heat is told there
                        rated = f"{power / unit_of('Btu/h').factor:.0f} Btu/h"
                    yield f"{key.replace('_power', '')} {rated}"
        if isinstance(component, Regulator):
            yield f"set to {show(component.setting, 'pressure', units)}"

    def parts(self, fittings: tuple[Used, ...]) -> Iterator[Line]:
        """Fittings and board parts, each once with how many."""
        on_board = Counter(p.name for p in self.headers.parts.values() if p.kind != "clip")
        unknown: Counter[str] = Counter()
        known: dict[str, Part] = {p.name: p for p in self.headers.parts.values()}
        for owner, valve in valves_without_board(self.build, self.headers):
            part = self._valve(owner, valve)
            if part is None:
                unknown[f"{valve} valve for {self._tube_of(owner)}"] += 1
            else:
                on_board[part.name] += 1
                known[part.name] = part
        for name, many in sorted(unknown.items()):
            yield Line(name, "valve", many, 0, None, self.price(name), self.buy("valve"),
                       "shut-off of a zone; no board part of this kind and size in the tables",
                       basis="not said", on_board=many)  # fmt: skip
        used = Counter(one.part.name for one in fittings)
        parts = {one.part.name: one.part for one in fittings}
        for name in sorted({*on_board, *used}):
            if name in known:
                one: Any = known[name]
                buy = ""
            else:
                one, buy = parts[name], parts[name].buy
            fitting = one.kind in FITTINGS or name in used
            spare = self.spare if fitting and one.kind not in ("header", "union") else 0
            yield Line(
                name, one.kind, on_board[name] + used[name], spare, one.mass, one.price,
                buy or self.buy(one.kind), _threads(name, parts.get(name)),
                basis="typical, weigh yours", on_board=on_board[name],
            )  # fmt: skip

    def _tube_of(self, owner: str) -> str:
        """The tube of the header that a zone's valve stands on."""
        return next(m.tube for m in self.build.manifold if owner.startswith(f"{m.name} valve of "))

    def _valve(self, owner: str, valve: str) -> Part | None:
        """The valve of a zone that no board lays out, None where the tables have none."""
        tube = self._tube_of(owner)
        try:
            found = self.catalogue.find("valve", tube, valve=valve)
            return found[0] if found else self.catalogue.first("valve", tube)
        except PartError:
            return None

    def rings(self, joints: tuple[Joint, ...]) -> Iterator[Line]:
        """What goes on tube ends: rings, crimp rings, sleeves, clamps, and liners in them."""
        share = rule(self.build, "spare rings")
        least = int(rule(self.build, "least spare rings"))
        rings: Counter[tuple[str, str]] = Counter()
        liners: Counter[str] = Counter()
        for joint in joints:
            if joint.rings:
                on = joint.tube or f"hose, {joint.hose}"
                rings[on, joint.collar] += joint.rings
            if joint.kind in LINED and self.tubes[joint.tube]["material"] != "copper":
                liners[joint.tube] += 1
        for (tube, collar), many in sorted(rings.items()):
            name = f"{collar} for {tube}"
            mass = COLLARS.get(collar) or self._ring(tube)
            yield Line(name, "ring", many, max(least, ceil(share * many)), mass, self.price(name),
                       self.buy("ring"), basis="typical, weigh yours")  # fmt: skip
        for tube, many in sorted(liners.items()):
            name, spare = f"liner for {tube}", max(least, ceil(share * many))
            yield Line(name, "liner", many, spare, LINER, self.price(name), self.buy("liner"),
                       basis="typical, weigh yours")  # fmt: skip

    def _ring(self, tube: str) -> float:
        """kg of a ring of the tube's own stuff: as wide as half inch is, 3.5 mm thick."""
        row = self.tubes[tube]
        density = float(row["density"] or 945.0)
        return density * pi * float(row.number("od")) * 0.0035 * 0.016

    def tube(self, pieces: tuple[Piece, ...], plans: dict[str, CutPlan]) -> Iterator[Line]:
        """Tube by the lengths that it is cut from; it weighs what is cut."""
        cut: Counter[str] = Counter()
        for piece in pieces:
            cut[piece.tube] += piece.length if piece.length > 0 else 0.0  # type: ignore[assignment]
        for tube in sorted(cut):
            plan = plans.get(tube, CutPlan())
            bars = Counter(bar.length for bar in plan.bars)
            told = ", ".join(
                f"{many} × {show(mm(length) / 1000, 'height', self.build.van.units)}"
                for length, many in sorted(bars.items(), reverse=True)
            )
            about = f"{told}; {plan.bought} to buy" if plan.bought else f"{told}, on the shelf"
            per_metre = self._per_metre(tube)
            yield Line(
                tube, TUBE, len(plan.bars), 0, None, self.price(tube), self.buy(TUBE), about,
                basis="sizes and density of the table",
                weighs=None if per_metre is None else per_metre * cut[tube],
            )  # fmt: skip

    def _per_metre(self, tube: str) -> float | None:
        row = self.tubes[tube]
        if row["density"] is None:
            return None
        outside, bore = row.number("od"), row.number("bore")
        return float(pi / 4 * (outside**2 - bore**2) * row["density"])

    def hoses(self) -> Iterator[Line]:
        """Hoses of fillers, vents and overflows whose length is said, by their bore."""
        lengths: Counter[float] = Counter()
        masses: dict[float, float] = {}
        for hose in tank_hoses(self.build):
            if hose.length is not None:
                lengths[hose.bore] += hose.length  # type: ignore[assignment]
                masses[hose.bore] = hose.per_metre
        for bore, length in sorted(lengths.items()):
            name = f"hose for drinking water, {bore_words(self.build, bore)}"
            yield Line(
                name, "hose", round(float(length), 2), round(0.05 * float(length), 2), masses[bore],
                self.price(name), self.buy(TUBE), "for fillers, vents and overflows",
                "m", "typical hose with a wall of 4 mm",
            )  # fmt: skip

    def insulation(self, ways: Ways) -> Iterator[Line]:
        """Foam by the length of the runs that it goes on."""
        lengths: Counter[tuple[str, float]] = Counter()
        for way in ways.runs:
            if way.run.insulation > 0:
                lengths[way.run.tube, way.run.insulation] += way.length  # type: ignore[assignment]
        units = self.build.van.units
        for (tube, thick), length in sorted(lengths.items()):
            outside = self.tubes[tube].number("od")
            name = f"foam of {show(thick, 'thickness', units)} for {tube}"
            mass = pi * ((outside / 2 + thick) ** 2 - (outside / 2) ** 2) * FOAM
            yield Line(
                name, "insulation", round(float(length), 2), round(0.1 * float(length), 2), mass,
                self.price(name), self.buy("insulation"), "seams and bends take more",
                "m", "typical foam of 30 kg/m³",
            )  # fmt: skip

    def clips_and_screws(self, ways: Ways) -> Iterator[Line]:
        """Clips on the board and along the runs by their spacing, and screws for all of it."""
        clips: Counter[str] = Counter()
        on_board: Counter[str] = Counter()
        parts: dict[str, Part] = {}
        screws: Counter[float] = Counter()
        held = [*self.headers.parts.values(), *self.headers.devices.values()]
        for part in held:
            for hole in part.holes:
                screws[hole[2]] += 1
            if part.kind == "clip":
                clips[part.name] += 1
                on_board[part.name] += 1
                parts[part.name] = part
        for way in ways.runs:
            if way.on_board:
                continue
            found = self.catalogue.find("clip", way.run.tube)
            name = found[0].name if found else f"clip for {way.run.tube}"
            many = clips_of_run(self.build, way.index).count(way.length)
            clips[name] += many
            if found:
                parts[name] = found[0]
                for hole in found[0].holes:
                    screws[hole[2]] += many
            else:
                screws[3.5] += 2 * many
        for name, many in sorted(clips.items()):
            clip = parts.get(name)
            yield Line(name, "clip", many, 0, clip.mass if clip else 0.006,
                       clip.price if clip else self.price(name), self.buy("clip"),
                       basis="typical, weigh yours", on_board=on_board[name])  # fmt: skip
        for diameter, count in sorted(screws.items()):
            yield self._screw(diameter, count)

    def _screw(self, hole: float, many: int) -> Line:
        rows = table("screws", self.build.rows).values()
        row = min(rows, key=lambda r: abs(r.number("hole") * 1000 - hole))
        name = f"screw {row[self.build.van.units]}"
        price = self.price(name)
        if price is None:
            price = self.price(f"screws for {hole:g} mm holes")
        bit = drill_size(hole / 1000, self.build.van.units)
        return Line(name, "screw", many, ceil(SPARE_SCREWS * many), row.number("mass"), price,
                    self.buy("screw"), f"for holes of {bit}", basis="typical")  # fmt: skip

    def compounds(self, joints: tuple[Joint, ...]) -> Iterator[Line]:
        """What seals the threads, by the pack."""
        threads = Counter(joint.compound for joint in joints if joint.thread)
        rows = table("compounds", self.build.rows)
        for name, many in sorted(threads.items()):
            row = rows[name]
            each = float(row["joints_each"] or 30.0)
            about = f"{row['pack'] or 'pack'}, for {many} threads; look for the drinking water mark"
            yield Line(name, "compound", ceil(many / each), 0, None, self.price(name),
                       self.buy("compound"), about, aboard=False)  # fmt: skip


def joint_supplies(build: Build, headers: Headers, joints: tuple[Joint, ...]) -> tuple[Line, ...]:
    """What is used up by making some joints: rings, liners, compounds."""
    maker = _BillMaker(build, headers)
    return (*maker.rings(joints), *maker.compounds(joints))
