"""What all records of a shop say together: where joints wept, and what can be told from it.

Joints are counted by kind and size, tool, person and batch.  Each group is set beside all others
of its table: who made more of the awkward kinds is expected to see more weeps, and is not blamed
for it.  What is said of one group among many is held to a stricter measure the more of them
there are (Bonferroni): else one in twenty would stand out by luck alone.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any

from .alike import Chance, Likeness, OfVan, chance, likeness
from .beside import Stratum, beside
from .history import Trial, left_over, trials
from .record import HEAD, Contents, Record

LUCK = 0.05
"""How often all that a page says may be luck alone."""
LEAST_VANS = 3
"""With fewer vans in a group, or beside it, nothing tells the group from its vans."""
SAME = 3
"""Records that agree in so many first entries are copies of one."""
NOT_SAID = "not said"
MORE, LESS, ALIKE, FEW = "more often", "less often", "about as often", "too few to tell"

Key = Callable[[Trial], str]
Times = Callable[[float], float]
"""How sure it is that a group weeps more than so many times as often as the others."""
WITHIN, BETWEEN = "others of the same vans", "other vans"
TABLES: dict[str, tuple[str, Key]] = {
    "kind": ("Kind and size", lambda t: t.sort),
    "tool": ("Tool", lambda t: t.tool),
    "person": ("Made by", lambda t: t.by),
    "batch": ("Batch", lambda t: t.batch),
}
"""What joints are counted by: the heading, and where it stands in a trial."""


@dataclass(frozen=True)
class VanRecord:
    """One van's record as read.  ``name`` is that of its file below the folder."""

    name: str
    contents: Contents

    @property
    def whole(self) -> bool:
        return not self.contents.problems

    @property
    def trials(self) -> tuple[Trial, ...]:
        """Joints that were put to the test."""
        return tuple(t for t in trials(self.contents) if t.done)

    @property
    def state(self) -> str:
        """The last of: begun, handed over, came back."""
        said = self.contents.of("handed over", "came back")
        return f"{said[-1].kind}, {said[-1].time[:10]}" if said else "in the shop"

    @property
    def waiting(self) -> int:
        """Joints that are not proven tight."""
        return len(left_over(self.contents))


@dataclass(frozen=True)
class Group:
    """Joints that have something in common.  ``expected`` weeps are by kind and size alone.

    ``verdict`` says how often they wept beside the others of the table, ``how`` which others:
    joints of the same vans (and kinds) where at least half of them have such, else other vans.
    """

    name: str
    vans: tuple[str, ...]
    joints: int
    wept: int
    expected: float
    chance: Chance
    verdict: str = FEW
    how: str = ""


@dataclass(frozen=True)
class Fleet:
    """All records of a folder.  ``left_out`` maps those that were not counted to why.

    ``compared`` is how many groups were set beside the others of their tables.
    """

    vans: tuple[VanRecord, ...]
    left_out: Mapping[str, str]
    tables: Mapping[str, tuple[Group, ...]]
    whole: Chance | None
    alike: Likeness
    compared: int

    @property
    def mark(self) -> str:
        """Ten letters that tell one state of all records from any other."""
        said = "\n".join(f"{v.name} {v.contents.mark}" for v in self.vans)
        return hashlib.sha256(said.encode("utf-8", "surrogatepass")).hexdigest()[:10]

    @property
    def joints(self) -> int:
        return sum(len(v.trials) for v in self.vans)

    @property
    def wept(self) -> int:
        return sum(bool(t.wept) for v in self.vans for t in v.trials)

    @property
    def state(self) -> dict[str, Any]:
        """What the next page must know of this one, as plain data."""
        return {
            "format": 1,
            "vans": {
                v.name: {
                    "entries": len(v.contents.events), "mark": v.contents.mark,
                    "joints": len(v.trials), "wept": sum(bool(t.wept) for t in v.trials),
                    "state": v.state,
                }
                for v in self.vans
            },
            "verdicts": {
                key: {g.name: g.verdict for g in groups} for key, groups in self.tables.items()
            },
        }  # fmt: skip


def read_fleet(folder: Path | str, people: bool = True) -> Fleet:
    """Read every record below a folder.  Without ``people`` nothing is counted by person.

    A record that is not whole, and a copy of another, is left out and named.  OSError if there
    is no such folder or a record can't be read.
    """
    found, left_out = [], dict[str, str]()
    for path in _records(Path(folder)):
        one = VanRecord(path.relative_to(folder).as_posix(), Record(path).read())
        if one.whole:
            found.append(one)
        else:
            left_out[one.name] = "; ".join(map(str, one.contents.problems))
    kept, copies = _without_copies(found)
    return fleet_of(kept, {**left_out, **copies}, people)


def _records(folder: Path) -> list[Path]:
    if not folder.is_dir():
        raise NotADirectoryError(20, "is not a folder with records", str(folder))
    begin = HEAD[:24]
    return [p for p in sorted(folder.rglob("*.log")) if p.is_file() and _begins(p, begin)]


def _begins(path: Path, begin: bytes) -> bool:
    with path.open("rb") as file:
        return file.read(len(begin)) == begin


def _without_copies(vans: Sequence[VanRecord]) -> tuple[list[VanRecord], dict[str, str]]:
    """Records whose first entries are the same are of one van: the longest counts."""
    kept: dict[str, VanRecord] = {}
    copies: dict[str, str] = {}
    for one in sorted(vans, key=lambda v: (-len(v.contents.events), len(v.name), v.name)):
        events = one.contents.events
        if not events:
            continue
        first = kept.setdefault(events[min(len(events), SAME) - 1].mark, one)
        if first is not one:
            copies[one.name] = f"begins as {first.name} does: a copy of it"
    return [v for v in vans if v in kept.values()], copies


def fleet_of(
    vans: Sequence[VanRecord], left_out: Mapping[str, str] | None = None, people: bool = True
) -> Fleet:
    """What some records say together."""
    tried = [(v.name, t) for v in vans for t in v.trials]
    due = _by_kind(tried)
    alike = likeness(_of_vans(tried, due))
    tables = {
        key: _groups(tried, of, key != "kind", due, alike)
        for key, (_, of) in TABLES.items()
        if people or key != "person"
    }
    compared = sum(times is not None for groups in tables.values() for _, times in groups)
    judged = {
        key: tuple(replace(group, verdict=_verdict(times, compared)) for group, times in groups)
        for key, groups in tables.items()
    }
    whole = chance(_of_vans(tried, {}), alike) if tried else None
    return Fleet(tuple(vans), dict(left_out or {}), judged, whole, alike, compared)


def _by_kind(tried: Sequence[tuple[str, Trial]]) -> dict[str, float]:
    """Weeps that one joint of each kind leads to expect, over all vans: never quite nothing."""
    joints: dict[str, int] = {}
    wept: dict[str, int] = {}
    for _, one in tried:
        joints[one.sort] = joints.get(one.sort, 0) + 1
        wept[one.sort] = wept.get(one.sort, 0) + bool(one.wept)
    return {sort: (wept[sort] + 0.5) / (n + 1) for sort, n in joints.items()}


def _of_vans(
    tried: Iterable[tuple[str, Trial]], expected: Mapping[str, float]
) -> tuple[OfVan, ...]:
    """Joints van by van; without ``expected`` all kinds count alike."""
    joints: dict[str, int] = {}
    wept: dict[str, int] = {}
    due: dict[str, float] = {}
    for van, one in tried:
        joints[van] = joints.get(van, 0) + 1
        wept[van] = wept.get(van, 0) + bool(one.wept)
        due[van] = due.get(van, 0.0) + expected.get(one.sort, 1.0)
    return tuple(OfVan(n, wept[van], due[van] / n) for van, n in joints.items())


def _groups(
    tried: Sequence[tuple[str, Trial]],
    of: Key,
    by_kind: bool,
    due: Mapping[str, float],
    alike: Likeness,
) -> list[tuple[Group, Times | None]]:
    """The groups of a table, the most joints first, each with how it stands beside all others.

    None where there are none to set it beside, or too few vans.
    """
    members: dict[str, list[tuple[str, Trial]]] = {}
    shown: dict[str, str] = {}
    for van, one in tried:
        said = of(one).strip() or NOT_SAID
        members.setdefault(shown.setdefault(said.casefold(), said), []).append((van, one))
    found: list[tuple[Group, Times | None]] = []
    for name, mine in sorted(members.items(), key=lambda m: (m[0] == NOT_SAID, -len(m[1]), m[0])):
        rest = [t for other, those in members.items() if other not in (name, NOT_SAID)
                for t in those]  # fmt: skip
        vans = tuple(dict.fromkeys(van for van, _ in mine))
        counted = due if by_kind else {}
        believed = chance(_of_vans(mine, counted), alike)
        group = Group(
            name, vans, len(mine), sum(bool(t.wept) for _, t in mine),
            sum(counted.get(t.sort, 0.0) for _, t in mine), believed,
        )  # fmt: skip
        times: Times | None = None
        if rest and name != NOT_SAID:
            within = beside(_strata(mine, rest, by_kind))
            if within.share >= 0.5:
                group = replace(group, how=WITHIN)
                times = within.times if within.vans >= LEAST_VANS else None
            elif min(len(vans), len({van for van, _ in rest})) >= LEAST_VANS:
                group = replace(group, how=BETWEEN)
                times = partial(believed.times, chance(_of_vans(rest, counted), alike))
        found.append((group, times))
    return found


def _strata(
    mine: Sequence[tuple[str, Trial]], rest: Sequence[tuple[str, Trial]], by_kind: bool
) -> list[tuple[str, Stratum]]:
    """A group and all others, van by van, and kind by kind if that is not what is compared."""
    found: dict[tuple[str, str], list[int]] = {}
    for place, those in ((0, mine), (2, rest)):
        for van, one in those:
            counts = found.setdefault((van, one.sort if by_kind else ""), [0, 0, 0, 0])
            counts[place] += 1
            counts[place + 1] += bool(one.wept)
    return [(van, Stratum(*counts)) for (van, _), counts in found.items()]


def _verdict(times: Times | None, compared: int) -> str:
    """What can be said of a group beside all others, among so many that are compared."""
    if times is None:
        return FEW
    if times(1.0) > 1 - LUCK / 2 / compared:
        return MORE
    if times(1.0) < LUCK / 2 / compared:
        return LESS
    return ALIKE if times(0.5) > 1 - LUCK and times(2.0) < LUCK else FEW


@dataclass(frozen=True)
class Since:
    """What is not as it was on the last page: what it is about, and what came or changed."""

    what: str
    told: str


def since(fleet: Fleet, before: Mapping[str, Any]) -> tuple[Since, ...]:
    """What changed since the page that left ``before``.  ValueError if that can't be read."""
    try:
        if before["format"] != 1:
            raise ValueError
        was, verdicts = dict(before["vans"]), dict(before["verdicts"])
        return tuple(_changes(fleet, was, verdicts))
    except (KeyError, TypeError, ValueError, AttributeError):
        raise ValueError("what the last page left can't be read") from None


def _changes(fleet: Fleet, was: Mapping[str, Any], verdicts: Mapping[str, Any]) -> Iterable[Since]:
    now = fleet.state["vans"]
    for van in fleet.vans:
        before, mine = was.get(van.name), now[van.name]
        if before is None:
            yield Since(van.name, f"new: {mine['joints']} joints tested, {mine['wept']} wept")
            continue
        if before["mark"] and before["mark"] not in {e.mark for e in van.contents.events}:
            yield Since(van.name, "the entry that the last page ended with is no longer in it: "
                        "somebody wrote it anew")  # fmt: skip
        more = {key: int(mine[key]) - int(before[key]) for key in ("joints", "wept")}
        if any(more.values()):
            yield Since(van.name, f"{more['joints']:+d} joints tested, {more['wept']:+d} wept")
        if mine["state"] != before["state"]:
            yield Since(van.name, mine["state"])
    for name in was:
        if name not in now:
            yield Since(name, fleet.left_out.get(name, "its record is gone"))
    for key, groups in fleet.tables.items():
        for group in groups:
            old = verdicts.get(key, {}).get(group.name)
            if old is not None and old != group.verdict:
                told = f"{TABLES[key][0].lower()}: {old} before, {group.verdict} now"
                yield Since(group.name, told)
