"""Every joint of a build: named, placed, and with all that its maker must know.

Tube joints are named by their run (``R5-1`` is the first of run 5), joints of a header as
on the board's labels (``C2 galley stub 1``), or, without a board, by their manifold
(``HC-3``); threads like the tube joint that they carry, with a T.  What the
build does not say (which end an adapter is on, what a port is made of) is filled in by the
usual way and told in ``assumed``.

Joints of the headers: as the board was laid out, or, without a board, as they usually are.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from ...van.ends import method_of, mismatch
from ...van.pointers import kind_of
from ...van.ratings import highest_temperature
from ...van.trace import contents, title
from ...words.tables import table
from .compounds import refusal
from .sizes import Engagement, engagement, thread_for

if TYPE_CHECKING:
    from ...board.place.rows import Tube
    from ...board.plan import BoardPlan
    from ...van.model import Build, Port
    from ...van.parts import Run


class HeaderEnd(NamedTuple):
    """One tube end of a header: its name, the tube's kind, where it is, what it goes on."""

    name: str
    tube: str
    place: str
    fitting: str
    side: str


def header_ends(build: Build, board: BoardPlan | None) -> Iterator[HeaderEnd]:
    """Every tube end of every header."""
    if board is not None and not board.trouble:
        yield from _laid_out(board)
    else:
        yield from _usual(build)


def on_board(board: BoardPlan | None) -> frozenset[str]:
    """Names of components that hang on the board: what joins two of them is bench work."""
    if board is None or board.trouble:
        return frozenset()
    devices = {d.name for d in board.needs.devices}
    return frozenset(devices | {m.name for m in board.needs.manifolds})


def _laid_out(board: BoardPlan) -> Iterator[HeaderEnd]:
    """From the layout, with its names.  Tubes between a zone and a device are the build's runs."""
    sides = {m.letter: m.side for m in board.needs.manifolds}
    for tube in board.layout.tubes:
        if tube.kind == "link":
            continue
        side = sides.get(_letter(tube, sides), "cold")
        for number, (part, _) in enumerate((tube.one, tube.other), 1):
            yield HeaderEnd(f"{tube.owner} {number}", tube.tube, f"board, {tube.owner}", part, side)


def _letter(tube: Tube, known: dict[str, str]) -> str:
    """The manifold's letter, from the name of the part at the tube's first end."""
    found = re.match(r"[A-Z][a-z]?", tube.one[0])
    letter = found[0] if found else ""
    return letter if letter in known else letter[:1]


def _usual(build: Build) -> Iterator[HeaderEnd]:
    """Stubs between tees and a stub from each tee to its valve; a ready block has only those."""
    for manifold in build.manifold:
        zones = build.zones(manifold.name)
        letter = {"cold": "HC", "hot": "HH", "mixed": "HM"}[manifold.side]
        same = [m.name for m in build.manifold if m.side == manifold.side]
        if len(same) > 1:
            letter += str(same.index(manifold.name) + 1)
        ends: list[tuple[str, str]] = []
        if manifold.form == "tees":
            for one, two in pairwise(zones):
                stub = f"stub between {one.name} and {two.name}"
                ends += [(stub, f"tee of {one.name}"), (stub, f"tee of {two.name}")]
        for zone in zones:
            stub = f"stub to the valve of {zone.name}"
            fitting = f"tee of {zone.name}" if manifold.form == "tees" else f"header, {zone.name}"
            ends += [(stub, fitting), (stub, f"shut-off of {zone.name}")]
        for number, (stub, fitting) in enumerate(ends, 1):
            place = f"{manifold.name} header, {stub}"
            yield HeaderEnd(f"{letter}-{number}", manifold.tube, place, fitting, manifold.side)


SMALL = ("pump", "strainer", "check valve", "shut off", "regulator", "accumulator", "mixing valve")
SOFT = ("tank", "pump", "strainer")


@dataclass(frozen=True)
class Joint:
    """One joint.  ``where`` is "bench" or "van"; ``refused`` says why it can't be made so."""

    name: str
    place: str
    kind: str
    side: str
    where: str
    fitting: str
    tube: str = ""
    collar: str = ""
    rings: int = 0
    expansions: int | None = None
    thread: str = ""
    engagement: Engagement | None = None
    material: str = ""
    compound: str = ""
    temperature: float = 293.15
    run: int | None = None
    after: str = ""
    refused: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()

    @property
    def size(self) -> str:
        """What reliability is counted by: the tube or the thread."""
        return self.tube or self.thread

    @property
    def sort(self) -> str:
        """Kind and size: ``expansion, PEX 1/2 in``."""
        return f"{self.kind}, {self.size}" if self.size else self.kind

    @property
    def title(self) -> str:
        """What its run or tube is, without its number."""
        return self.place.rpartition(": ")[0].partition(", ")[2]

    @property
    def hot(self) -> bool:
        return self.side != "cold"

    @property
    def steps(self) -> tuple[str, ...]:
        """What the maker does, in order."""
        if self.thread:
            return self._thread_steps()
        if self.collar == "ring":
            turns = f"{self.expansions} expansions, turned a little each time"
            count = turns if self.expansions else "expansions by the tool's sheet"
            return (
                "cut, and check that the cut is square",
                "ring on, past the end by about 1/16 in or up to its stop",
                count,
                "on to the stop at once, hold until it grips",
            )
        if not self.tube:
            return ("close by hand, then by wrench", "the seal is clean and in place")
        put = f"{self.collar} on" if self.collar else "liner in, if the tube is plastic"
        return ("cut, and check that the cut is square", "take the burr off", put, "pull to try it")

    def _thread_steps(self) -> tuple[str, ...]:
        steps = ["clean and dry both threads", f"{self.compound}, with the thread"]
        if self.engagement:
            steps.append(
                f"about {self.engagement.hand_turns:.1f} turns by hand, "
                f"{self.engagement.wrench_turns:g} by wrench; never back"
            )
        else:
            steps.append("by hand, then by two wrenches; never back")
        return tuple(steps)


def joints_of(build: Build, board: BoardPlan | None = None) -> tuple[Joint, ...]:
    """All joints of the build and its board: headers first, then runs in the order of the file.

    Headers are as ``board`` was laid out, else as they usually are.  A joint that can't be as
    the build says is among them, with the reason in ``refused``.
    """
    sides = contents(build)
    hung = on_board(board)
    found = list(_headers(build, board))
    for index, run in enumerate(build.run):
        bench = all(port.component in hung for port in build.ends(run))
        found += _run(build, index, run, sides[index], "bench" if bench else "van")
    return tuple(found)


def counts(joints: tuple[Joint, ...]) -> dict[str, int]:
    """How many joints of each kind and size."""
    found: dict[str, int] = {}
    for joint in joints:
        found[joint.sort] = found.get(joint.sort, 0) + 1
    return found


def _tube_joint(build: Build, tube: str, method: str, draft: Joint) -> Joint:
    """The draft with what tube and method say."""
    row = table("tubes", build.rows)[tube]
    way = table("joints", build.rows)[method]
    wrong = mismatch(method, tube, build.rows)
    collar = way["collar"] or ""
    expansions = row["expansions"] if method == "expansion" else None
    return replace(
        draft,
        kind=method,
        tube=tube,
        collar=collar,
        rings=int(row["rings"] or 1) if collar else 0,
        expansions=int(expansions) if expansions else None,
        refused=(*draft.refused, wrong) if wrong else draft.refused,
    )


def _headers(build: Build, board: BoardPlan | None) -> Iterator[Joint]:
    """Joints of the headers, all made on the bench."""
    for end in header_ends(build, board):
        method = method_of(end.tube, "", build.rows)
        if not method:
            continue
        heat = highest_temperature(build, end.side).value
        place = f"{end.place}: {end.fitting}"
        draft = Joint(end.name, place, method, end.side, "bench", end.fitting, temperature=heat)
        yield _tube_joint(build, end.tube, method, draft)


def _run(build: Build, index: int, run: Run, side: str, where: str) -> Iterator[Joint]:
    """Joints of a run: its two ends, those at its fittings, and its threads."""
    method = method_of(run.tube, run.joint, build.rows)
    if not method:
        return
    heat = highest_temperature(build, side).value
    fittings = table("fittings", build.rows)
    title_ = title(build, index)
    start, end = build.ends(run)
    adapters = sum(n for name, n in run.fittings if fittings[name]["kind"] == "adapter")
    threaded = _threaded_ends(build, (start, end), adapters)
    number = 0

    def draft(fitting: str) -> Joint:
        nonlocal number
        number += 1
        place = f"run {index + 1}, {title_}: {fitting}"
        return Joint(
            f"R{index + 1}-{number}", place, method, side, where, fitting,
            temperature=heat, run=index,
        )  # fmt: skip

    yield from _end(build, run, draft(_fitting(build, start, 0 in threaded)), start, 0 in threaded)
    for name, count in run.fittings:
        row = fittings[name]
        for each in range(count):
            label = name if count == 1 else f"{name} {each + 1}"
            for _ in range(int(row["tube_ends"] or 0)):
                yield _tube_joint(build, run.tube, method, draft(label))
            if row["kind"] != "adapter":
                for _ in range(int(row["threads"] or 0)):
                    yield _thread(build, run.tube, draft(label), "metal")
    yield from _end(build, run, draft(_fitting(build, end, 1 in threaded)), end, 1 in threaded)


def _end(build: Build, run: Run, draft: Joint, port: Port, threaded: bool) -> Iterator[Joint]:
    """The tube's end, and before it the thread of its adapter if it has one."""
    method = method_of(run.tube, run.joint, build.rows)
    joint = _tube_joint(build, run.tube, method, draft)
    if threaded:
        component = build.component(port.component)
        kind = kind_of(component)
        material = "plastic" if kind in SOFT else "metal"
        thread = replace(
            draft,
            name=f"{draft.name}T",
            place=draft.place.replace(": adapter on", ": thread of"),
            where="bench" if kind in SMALL else draft.where,
            assumed=(f"{kind} ports are taken to be {material}",),
        )
        thread = _thread(build, run.tube, thread, material)
        yield thread
        joint = replace(joint, after=thread.name)
    yield joint


def _thread(build: Build, tube: str, draft: Joint, material: str) -> Joint:
    """A threaded joint with its compound."""
    name, assumed = thread_for(tube, build.rows)
    at_heater = any(f"thread of {h.name}" in draft.place for h in build.heater)
    side = "hot" if at_heater else draft.side
    heat = highest_temperature(build, side).value
    compound = build.shop.cold_compound if side == "cold" else build.shop.hot_compound
    why = refusal(table("compounds", build.rows)[compound], heat, material, build.van.units)
    return replace(
        draft,
        kind=f"{name.split()[0]} thread",
        thread=name,
        engagement=engagement(name, build.rows),
        material=material,
        compound=compound,
        temperature=heat,
        refused=(*draft.refused, why) if why else draft.refused,
        assumed=(*draft.assumed, assumed),
    )


def _threaded_ends(build: Build, ends: tuple[Port, Port], adapters: int) -> set[int]:
    """Which ends carry the run's adapters: those at devices first, then at headers and tees."""
    plain = ("manifold", "tee")
    order = sorted((0, 1), key=lambda i: (kind_of(build.component(ends[i].component)) in plain, i))
    return set(order[:adapters])


def _fitting(build: Build, port: Port, threaded: bool) -> str:
    """What the end of a run goes on, in words."""
    component = build.component(port.component)
    kind = kind_of(component)
    if kind == "manifold":
        what = "inlet of" if port.port in component.inlets else f"shut-off {port.port} of"
        return f"{what} {component.name}"
    if kind == "tee":
        return component.name if "tee" in component.name else f"tee {component.name}"
    several = len(component.inlets) > 1 or len(component.outlets) > 1 or kind == "heater"
    name = f"{component.name} {port.port}" if several or kind == "pump" else component.name
    return f"adapter on {name}" if threaded else name
