"""Every joint of a build: named, placed, and with all that its maker must know.

A joint is named after what it is on: ``pump inlet thread``, ``adapter at pump inlet tube``,
``run 5 elbow in``, ``C2 galley stub at C2 galley tee``.  What an end is like comes from the
build file, or is typical of its kind and told in ``assumed``.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from ..van.ends import End, mismatch
from ..van.kinds.heaters import hottest
from ..van.pieces import Join
from ..van.port_ends import STATED
from ..van.ratings import highest_of_runs, highest_temperature
from ..van.trace import contents
from ..van.wiring import run_words
from ..words.brief import brief
from ..words.tables import table
from .threads import Engagement, engagement, refusal, soft_or_hard

if TYPE_CHECKING:
    from ..van.model import Build
    from .ways import Ways

BY_SHEET = "expansions by the tool's sheet"


@brief
@dataclass(frozen=True)
class Joint:
    """One joint.  ``where`` is "bench" or "van"; ``refused`` says why it can't be made so.

    ``line`` is the run, the tube or the part that it belongs to, ``fitting`` what it is made at.

    ``materials`` are those of both sides, ``material`` "metal" or, with one plastic side,
    "plastic".  ``thread`` is set where a compound seals the thread; a thread with a washer has
    its size in ``washer``, what is on a hose that is no run's tube the hose's in ``hose``.
    ``ends`` are the two ends that meet (one, if the other is tube or hose).
    """

    name: str
    line: str
    kind: str
    side: str
    where: str
    fitting: str
    tube: str = ""
    collar: str = ""
    rings: int = 0
    expansions: int | None = None
    thread: str = ""
    washer: str = ""
    engagement: Engagement | None = None
    material: str = ""
    materials: tuple[str, ...] = ()
    compound: str = ""
    temperature: float = 293.15
    run: int | None = None
    after: str = ""
    refused: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
    tool: str = ""
    time: float = 0.0
    ends: tuple[End, ...] = ()
    hose: str = ""

    @property
    def size(self) -> str:
        """What reliability is counted by: the tube or the thread."""
        return self.tube or self.thread or self.washer or self.hose

    @property
    def sort(self) -> str:
        """Kind and size: ``expansion, PEX 1/2 in``."""
        return f"{self.kind}, {self.size}" if self.size else self.kind

    @property
    def place(self) -> str:
        """Its line, and the fitting at which it is made."""
        return f"{self.line}: {self.fitting}"

    @property
    def title(self) -> str:
        """What its run or tube is, without its number."""
        return self.line.partition(", ")[2]

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
            return (
                "cut, and check that the cut is square",
                "ring on, past the end by about 1/16 in or up to its stop",
                turns if self.expansions else BY_SHEET,
                "on to the stop at once, hold until it grips",
            )
        if self.hose:
            return (
                f"{self.collar} on, then the hose over the barb up to its stop",
                f"{self.collar} tight behind the barb's ridges, and pull to try it",
            )
        if not self.tube:
            return (
                "the seal is clean and in place, no compound",
                "close by hand, then by wrench until the seal is pressed",
            )
        put = f"{self.collar} on" if self.collar else "liner in, if the tube is plastic"
        return ("cut, and check that the cut is square", "take the burr off", put, "pull to try it")

    def _thread_steps(self) -> tuple[str, ...]:
        steps = ["clean and dry both threads", f"{self.compound}, with the thread"]
        if self.engagement:
            soft = "; plastic: never a third turn" if self.material == "plastic" else ""
            steps.append(f"about {self.engagement.told}; never back{soft}")
        else:
            steps.append("by hand, then by two wrenches; never back")
        return tuple(steps)


def joints_from(build: Build, headers: Iterable[Join], ways: Ways) -> tuple[Joint, ...]:
    """All joints: headers first, then runs in the order of the file, tees, devices.

    A joint that can't be as the build says is among them, with the reason in ``refused``.
    """
    sides, heats = contents(build), highest_of_runs(build)
    taken: dict[str, int] = {}
    found = []
    names: dict[tuple[int | None, str], str] = {}

    def add(join: Join) -> None:
        name = join.name
        taken[name] = taken.get(name, 0) + 1
        if taken[name] > 1:
            more = f" {taken[name]}" if join.run is None else f", run {join.run + 1}"
            name += more if f"{name}{more}" not in taken else f" {taken[name]}"
            taken[name] = 1
        names.setdefault((join.run, join.name), name)
        side = join.side or (sides[join.run] if join.run is not None else "cold")
        heater = next((h for h in build.heater if h.name == join.device), None)
        if heater is not None:  # both of its ports get hot
            side, heat = "hot", hottest(heater)
        elif join.run is not None and side == sides[join.run]:
            heat = heats[join.run].value
        else:
            heat = highest_temperature(build, side).value
        found.append(_joint(build, join, name, side, heat))

    for join in headers:
        add(join)
    for way in ways.runs:
        for join in way.made.joins:
            add(join)
    for name, tee in ways.tees.items():
        side = next((sides[index] for index, _ in tee.ends), "cold")
        for join in tee.made.joins:
            add(_with_side(join, side, f"tee {name}"))
    for join in ways.devices.joins:
        add(join)
    return tuple(replace(j, after=names.get((j.run, j.after), "")) if j.after else j for j in found)


def _with_side(join: Join, side: str, place: str) -> Join:
    return replace(join, side=side, place=f"{place}, {join.place}", bench=True)


def _joint(build: Build, join: Join, name: str, side: str, heat: float) -> Joint:
    place = join.place
    if join.run is not None and not place:
        place = f"run {join.run + 1}, {run_words(build, join.run)}"
    refused = (join.refused,) if join.refused else ()
    where = "bench" if join.bench else "van"
    kind = join.kind or join.one.joint
    assumed = _assumed(join)
    way = table("joints", build.rows)[kind]
    labour = table("labour", build.rows)
    time = labour[kind if kind in labour else "union"].number("time")
    tool = str(way["tool"] or "")
    if join.tube:
        return _tube_joint(build, join, name, place, side, where, heat, refused, tool, time)
    if join.hose:
        return Joint(
            name, place, kind, side, where, join.what, collar=str(way["collar"]), rings=1,
            material=soft_or_hard((join.one.material,)), materials=("hose", join.one.material),
            temperature=heat, tool=tool, time=time, ends=(join.one,), hose=join.hose,
        )  # fmt: skip
    materials = (join.one.material, *((join.other.material,) if join.other else ()))
    ends = (join.one, *((join.other,) if join.other else ()))
    material = soft_or_hard(materials)
    if not join.one.takes_compound or (join.other and not join.other.takes_compound):
        seal = join.one if not join.one.takes_compound else join.other or join.one
        kind = join.kind or seal.joint
        time = labour[kind if kind in labour else "union"].number("time")
        size = seal.thread or seal.size
        return Joint(
            name, place, kind, side, where, join.what, washer=size, material=material,
            materials=materials, temperature=heat, run=join.run, refused=refused,
            assumed=assumed, tool=tool, time=time, ends=ends,
        )  # fmt: skip
    compound = build.shop.cold_compound if side == "cold" else build.shop.hot_compound
    why = refusal(table("compounds", build.rows)[compound], heat, material, build.van.units)
    thread = join.one.thread
    return Joint(
        name, place, f"{thread.split()[0]} thread", side, where, join.what, thread=thread,
        engagement=engagement(thread, build.rows, material), material=material,
        materials=materials, compound=compound, temperature=heat, run=join.run,
        refused=(*refused, why) if why else refused, assumed=assumed, tool=tool, time=time,
        ends=ends,
    )  # fmt: skip


def _tube_joint(
    build: Build,
    join: Join,
    name: str,
    place: str,
    side: str,
    where: str,
    heat: float,
    refused: tuple[str, ...],
    tool: str,
    time: float,
) -> Joint:
    """A joint that holds a tube."""
    row = table("tubes", build.rows)[join.tube]
    method = join.one.holds
    way = table("joints", build.rows)[method]
    wrong = mismatch(method, join.tube, build.rows)
    if wrong and wrong not in refused:
        refused = (*refused, wrong)
    collar = way["collar"] or ""
    known = method == "expansion" and build.shop.expansion_tool == "powered"
    expansions = int(row["expansions"]) if known and row["expansions"] else None
    return Joint(
        name, place, method, side, where, join.what, tube=join.tube, collar=collar,
        rings=int(row["rings"] or 1) if collar else 0, expansions=expansions,
        material=soft_or_hard((join.one.material,)),
        materials=(str(row["material"]), join.one.material), temperature=heat, run=join.run,
        after=join.after, refused=refused, tool=tool, time=time, ends=(join.one,),
    )  # fmt: skip


def _assumed(join: Join) -> tuple[str, ...]:
    """What was taken to be so: the end of a part of its kind."""
    if not join.device or join.basis == STATED or join.kind:
        return ()
    return (f"{join.what} is taken to have {join.one}",)


def counts(joints: tuple[Joint, ...]) -> dict[str, int]:
    """How many joints of each kind and size."""
    found: dict[str, int] = {}
    for joint in joints:
        found[joint.sort] = found.get(joint.sort, 0) + 1
    return found


__all__ = ["Joint", "counts", "joints_from"]
