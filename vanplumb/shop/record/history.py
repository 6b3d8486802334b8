"""What records say: how each joint of a van stands, and how sure joints are over many vans."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from .events import Event
from .record import Contents
from .reliability import Tally


@dataclass(frozen=True)
class JointState:
    """How one joint stands: "made", "tight", "wept" or "repaired", and since when."""

    joint: str
    sort: str
    state: str
    since: str
    weeps: int = 0

    @property
    def open(self) -> bool:
        """Whether it still has to be looked at."""
        return self.state != "tight"


@dataclass(frozen=True)
class Trial:
    """One joint as it was made once, and whether it wept before it was made again.

    ``by``, ``tool`` and ``batch`` are empty where nobody said.  ``proven`` is when it was first
    found tight, empty if it never was.
    """

    joint: str
    sort: str
    made: str
    by: str = ""
    tool: str = ""
    batch: str = ""
    proven: str = ""
    wept: str = ""

    @property
    def done(self) -> bool:
        """Whether it was put to the test at all."""
        return bool(self.proven or self.wept)


def states(contents: Contents) -> dict[str, JointState]:
    """The state of each joint that the record knows, in the order in which they were made.

    A system test that is "tight" counts for every joint made and not weeping.
    """
    found: dict[str, JointState] = {}
    for event in contents.events:
        name = event.get("joint")
        if event.kind == "joint made":
            before = found.get(name)
            weeps = before.weeps if before else 0
            found[name] = JointState(name, _sort(event), "made", event.time, weeps)
        elif _finds_tight(event):
            for key, one in found.items():
                if one.state in ("made", "repaired"):
                    found[key] = replace(one, state="tight", since=event.time)
        elif name in found:
            found[name] = _moved(found[name], event)
    return found


def _sort(event: Event) -> str:
    return f"{event.get('kind')}, {event.get('size')}"


def _finds_tight(event: Event) -> bool:
    return event.kind == "system tested" and event.get("result").startswith("tight")


def is_amiss(event: Event) -> bool:
    """Whether an entry tells of a leak or of something that failed."""
    if event.kind == "system tested":
        return not _finds_tight(event) or event.get("by_rule", "passed") != "passed"
    return event.kind == "joint wept" or event.get("result").startswith("failed")


def _moved(one: JointState, event: Event) -> JointState:
    if event.kind == "joint tested" and one.state in ("made", "repaired"):
        return replace(one, state="tight", since=event.time)
    if event.kind == "joint wept":
        return replace(one, state="wept", since=event.time, weeps=one.weeps + 1)
    if event.kind == "joint repaired":
        return replace(one, state="repaired", since=event.time)
    return one


def trials(contents: Contents) -> tuple[Trial, ...]:
    """Every joint each time that it was made, in that order; those never tested are not done.

    A repair makes the joint anew: its next test is another trial.  A joint that wept only after
    it had passed its test is a weep of the same trial.
    """
    done: list[Trial] = []
    now: dict[str, int] = {}  # the trial of each joint that is going on
    for event in contents.events:
        name = event.get("joint")
        if event.kind == "joint made" or (event.kind == "joint repaired" and name in now):
            sort = _sort(event) if event.kind == "joint made" else done[now[name]].sort
            now[name] = len(done)
            said = (event.get(key) for key in ("by", "tool", "batch"))
            done.append(Trial(name, sort, event.time, *said))
        elif _finds_tight(event):
            for at in now.values():
                if not done[at].done:
                    done[at] = replace(done[at], proven=event.time)
        elif name in now:
            one = done[now[name]]
            if event.kind == "joint tested" and not one.done:
                done[now[name]] = replace(one, proven=event.time)
            elif event.kind == "joint wept" and not one.wept:
                done[now[name]] = replace(one, wept=event.time)
    return tuple(done)


def tallies(records: Iterable[Contents]) -> dict[str, Tally]:
    """Joints tested and joints that wept, by kind and size, over all vans."""
    found: dict[str, Tally] = {}
    for contents in records:
        for one in trials(contents):
            if one.done:
                found[one.sort] = found.get(one.sort, Tally(one.sort, 0, 0)).more(1, bool(one.wept))
    return found


@dataclass(frozen=True)
class Taken:
    """The last of one reading or trial: its value as written, its band and verdict, who and when.

    ``severity``, ``rule``, ``where`` and ``what`` tell one that is outside its band as the review
    tells a finding, so that it is put right or countersigned before the hand-over.
    """

    name: str
    value: str
    verdict: str
    band: str
    limit: str
    by: str
    time: str

    @property
    def date(self) -> str:
        return self.time[:10]

    @property
    def outside(self) -> bool:
        return self.verdict in ("below", "above", "failed")

    @property
    def severity(self) -> str:
        return "DANGER" if self.limit and self.verdict == "above" else "WARNING"

    @property
    def rule(self) -> str:
        return "commissioning"

    @property
    def where(self) -> str:
        return self.name

    @property
    def what(self) -> str:
        if self.verdict == "failed":
            return f"{self.name}: {self.value}"
        told = f"measured {self.value}, {self.verdict} {self.band}"
        return f"{told}, the limit of {self.limit}" if self.severity == "DANGER" else told


_READ = {
    "reading taken": lambda e: (e.get("reading"), e.get("value")),
    "valve set": lambda e: (f"{e.get('valve')}, as set", e.get("temperature")),
    "flushed": lambda e: (e.get("reading") or "chlorine left", e.get("residual")),
    "tried": lambda e: (e.get("what"), e.get("result")),
}
"""What each kind of event measured, and the figure."""


def reading_of(event: Event) -> tuple[str, str]:
    """The name and the figure of an event that measured or tried something."""
    return _READ[event.kind](event)


def taken(contents: Contents) -> dict[str, Taken]:
    """The last reading or trial of each name, as lines of the commissioning form name them."""
    found: dict[str, Taken] = {}
    for event in contents.events:
        if event.kind not in _READ:
            continue
        name, value = reading_of(event)
        verdict = event.get("verdict")
        if event.kind == "tried":
            verdict = "done" if value == "done" else "failed"
        found.pop(name, None)
        found[name] = Taken(name, value, verdict, event.get("band"), event.get("limit"),
                            event.get("by"), event.get("time") or event.time)  # fmt: skip
    return found


def outside(contents: Contents) -> list[Taken]:
    """Readings whose last value lies outside its band, and trials that failed."""
    return [one for one in taken(contents).values() if one.outside]


def dates_of(contents: Contents) -> dict[str, str]:
    """When the van was last tested tight, disinfected and handed over, as ``2025-03-07``."""
    found = {}
    for event in contents.events:
        if event.kind == "system tested" and event.get("result").startswith("tight"):
            found["pressure test"] = event.time[:10]
        elif event.kind in ("disinfected", "handed over"):
            found[event.kind] = event.time[:10]
    return found


def left_over(contents: Contents) -> tuple[JointState, ...]:
    """Joints that are not tight yet."""
    return tuple(one for one in states(contents).values() if one.open)


def as_left(contents: Contents) -> Mapping[str, str]:
    """What the owner's paper says of the van as it was handed over, from its record."""
    wanted = {
        "system tested": lambda e: ("pressure test", f"{e.get('medium')}, {e.get('pressure')}: "
                                    f"{e.get('result')}"),
        "disinfected": lambda e: ("disinfected", f"{e.get('concentration')}, {e.get('duration')}"),
        "flushed": lambda e: ("chlorine left", e.get("residual")),
        "valve set": lambda e: (e.get("valve"), e.get("temperature")),
        "part replaced": lambda e: (e.get("part"), f"replaced with {e.get('with')}"),
        "handed over": lambda e: ("handed over to", _signed(e)),
    }  # fmt: skip
    found: dict[str, str] = {}
    for event in contents.events:
        if event.kind in wanted:
            name, said = wanted[event.kind](event)
            found[name] = f"{said} ({event.time[:16]})"
    weeps = [one.joint for one in states(contents).values() if one.weeps]
    if weeps:
        found["joints that were made again"] = ", ".join(weeps)
    return found


def _signed(event: Event) -> str:
    by = event.get("by")
    return f"{event.get('to')}, by {by}" if by else event.get("to")
