"""From readings to a signed van: what a test needs before it says anything, and what is open.

Nothing here takes a reading for granted: no reading, no verdict; an open DANGER or WARNING is
countersigned with a reason, or the van isn't signed.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any, Protocol

from ...van.region import rules_of
from ...van.trace import ways_to
from ...words.quantity import QuantityError, read
from ...words.show import counted, show
from ..commissioning import CHLORINE, VALVES, Check
from ..readings.van_model import reading_parts
from ..test.by_rule import RuleResult, by_rule
from ..test.leak import Judgement, Reading, judge
from ..test.pressure_test import TestPlan, plan_test
from .doubts import back_untouched, clock_put_back, disinfection_open, on_the_road
from .events import Event
from .history import outside, reading_of, states
from .record import Contents, Record

if TYPE_CHECKING:
    from ..engine import Shop

SERIOUS = ("DANGER", "WARNING")
"""What must be put right, or countersigned, before a van is signed."""
REOPENS = ("joint made", "joint repaired", "joint wept", "system tested")
"""After these, a test begins anew: readings before them prove nothing of what is there now."""
SLACK = timedelta(minutes=2)
"""How far a clock may be ahead before a reading counts as one of the future."""


COLDEST, WARMEST = 253.15, 333.15
"""Temperatures at which a van may be tested, K: air in winter to water out of a warm tank."""


class Refused(ValueError):
    """Something that can't go into the record; the message says why, in a sentence or more."""


class Found(Protocol):
    """What of a finding of the review matters here."""

    @property
    def severity(self) -> str: ...
    @property
    def rule(self) -> str: ...
    @property
    def where(self) -> str: ...
    @property
    def what(self) -> str: ...


@dataclass(frozen=True)
class TestRead:
    """A test as read: its plan, its readings, what the rule and what the fall say."""

    __test__ = False

    plan: TestPlan
    gauge: str
    readings: tuple[Reading, ...]
    ruled: RuleResult
    judged: Judgement


def commission(
    shop: Shop, record: Record, said: str, value: str, by: str, why: str = ""
) -> tuple[Event, Check]:
    """Note one line of the commissioning form, by name or number: a figure, or "done".

    The verdict and the band go into the record with it.  Refused for an unknown line, a figure
    without a unit, or a line that is done given a figure; "failed" needs the reason ``why``.
    """
    _needs(by, "say who read it: by")
    try:
        check = shop.commissioning.check(said)
    except KeyError as error:
        raise Refused(str(error.args[0])) from None
    if not check.word:
        return _tried(record, check, value.strip(), by.strip(), why.strip()), check
    try:
        figure = read(value, check.word)
    except QuantityError as error:
        raise Refused(f"{check.name}: {error}") from None
    if figure < 0 and check.word != "temperature":
        raise Refused(f"{check.name}: {value} is less than nothing")
    units = shop.build.van.units
    details: dict[str, Any] = {"verdict": check.verdict(figure), "band": check.band(units)}
    if check.limit:
        details["limit"] = check.limit
    if check.expected is not None and check.group != CHLORINE:
        details["computed"] = show(check.expected, check.word, units)
    details["by"] = by.strip()
    if check.group == VALVES:
        valve = check.name.removesuffix(", as set")
        return record.append("valve set", valve=valve, temperature=value.strip(), **details), check
    if check.group == CHLORINE and check.high is not None:  # what is left to drink
        return record.append(
            "flushed", residual=value.strip(), reading=check.name, **details
        ), check  # fmt: skip
    return record.append("reading taken", reading=check.name, value=value.strip(), **details), check


def _tried(record: Record, check: Check, said: str, by: str, why: str) -> Event:
    if said not in ("done", "failed"):
        raise Refused(f'{check.name} is done, or failed: write "done" or "failed", got "{said}"')
    if said == "failed":
        _needs(why, "say why it failed: why")
    result = said if said == "done" else f"failed: {why}"
    return record.append("tried", what=check.name, result=result, by=by)


def make_joints(
    shop: Shop, record: Record, names: Sequence[str], by: str, tool: str = "", batch: str = ""
) -> list[Event]:
    """Note joints as made, by somebody's initials.  Refused, with nothing written, if one can't be.

    ``tool`` says which of the shop's tools, ``batch`` that of the rings, fittings or compound.
    A joint that is noted already may be noted anew: it was made again, its test is open, and the
    new entry says which one it follows.
    """
    _needs(by, "say who made them: by")
    known = {j.name: j for j in shop.joints}
    wrong = [f"no joint is named {n!r}" for n in names if n not in known]
    wrong += [
        f"{n} can't be made so: {known[n].refused[0]}"
        for n in names
        if n in known and known[n].refused
    ]
    if not names:
        wrong = ["name at least one joint"]
    if wrong:
        raise Refused("; ".join(wrong))
    before = {e.get("joint"): e.number for e in record.read().of("joint made", "joint repaired")}
    made = []
    for name in dict.fromkeys(names):
        joint = known[name]
        details = {"joint": name, "kind": joint.kind, "size": joint.size, "place": joint.place}
        if joint.compound:
            details["compound"] = joint.compound
        details |= said_of(tool=tool, batch=batch)
        if name in before:
            details["made_before"] = f"in entry {before[name]}"
        made.append(("joint made", details | {"by": by.strip()}))
    return record.append_together(made)


def said_of(**details: str) -> dict[str, str]:
    """Details that somebody gave, without those left empty."""
    return {name: text.strip() for name, text in details.items() if text.strip()}


def name_gauge(record: Record, gauge: str, range_: str, step: str, by: str = "") -> Event:
    """Note a gauge by its serial number, with its range and its smallest step."""
    _needs(gauge, "a gauge needs its serial number")
    range_ = _with_units(range_)
    least, most = _range(range_)
    smallest = _pressure(step, "step")
    if not 0 < smallest < most - least:
        raise Refused(f"a step of {step} does not belong to a range of {range_}")
    contents, serial = record.read(), gauge.strip()
    used = sum(e.get("gauge") == serial for e in readings_now(contents))
    if used:
        known = _gauge(contents, serial)
        if tuple(_pressure(part, "range") for part in (*known[0].split(" to "), known[1])) != (
            least, most, smallest,
        ):  # fmt: skip
            raise Refused(
                f"gauge {serial} was noted with {known[0]} in steps of {known[1]}, and "
                f"{counted(used, 'reading')} of this test with it: none changes in a test"
            )
    details = {"gauge": serial, "range": range_.strip(), "step": step.strip()}
    return record.append("gauge named", **details, **said_of(by=by))


def read_gauge(
    record: Record,
    gauge: str,
    pressure: str,
    temperature: str,
    by: str,
    at: str = "",
    now: datetime | None = None,
) -> Event:
    """Note one reading of a test.  ``at`` is when it was read (``14:20``, or with its date).

    Refused for a gauge that was not named, a pressure outside its range, a time before the
    last reading of this test, before a joint was made or in the future, a figure without a unit.
    """
    _needs(by, "say who read it: by")
    contents = record.read()
    range_, _ = _gauge(contents, gauge)
    value = _pressure(pressure, "pressure")
    least, most = _range(range_)
    if not least <= value <= most:
        raise Refused(f"{pressure} is outside the range of gauge {gauge}, {range_}")
    try:
        warm = read(temperature, "temperature")
    except QuantityError as error:
        raise Refused(f"temperature: {error}") from None
    if not COLDEST <= warm <= WARMEST:
        raise Refused(f"{temperature} is no temperature of a van under test")
    clock = now or datetime.now().astimezone()
    when = _when(at, clock)
    if when > clock + SLACK:
        raise Refused(f"{_told(when)} is still to come: it is {_told(clock)} now")
    earlier = readings_now(contents)
    if earlier and when <= _time(earlier[-1]):
        raise Refused(
            f"out of order: the last reading is of {_told(_time(earlier[-1]))}, this one of "
            f"{_told(when)}"
        )
    for event in reversed(contents.of("joint made", "joint repaired")):
        made = _when(event.get("noted") or event.time, clock)
        if when < made.replace(second=0):
            raise Refused(
                f"a reading of {_told(when)} says nothing of {event.get('joint')}, which was noted "
                f"as {event.kind.removeprefix('joint ')} at {_told(made)}: note joints when they "
                "are made, and read the gauge after that"
            )
    return record.append(
        "gauge read", gauge=gauge, time=when.isoformat(sep=" ", timespec="seconds"),
        pressure=pressure.strip(), temperature=temperature.strip(), by=by.strip(),
    )  # fmt: skip


def readings_now(contents: Contents) -> list[Event]:
    """The readings of the test that is going on: those after the last change and the last test."""
    found: list[Event] = []
    for event in contents.events:
        if event.kind in REOPENS:
            found.clear()
        elif event.kind == "gauge read":
            found.append(event)
    return found


def read_test(shop: Shop, contents: Contents, rule: str = "", medium: str = "water") -> TestRead:
    """The test that is going on, beside its rule.  Refused without readings that can be judged."""
    try:
        plan = plan_test(shop.build, medium, rule)
    except KeyError:
        names = ", ".join(rules_of(shop.build, "test_rules"))
        raise Refused(f"no rule of this region is named {rule!r}; there are {names}") from None
    except ValueError as error:
        raise Refused(str(error)) from None
    taken = readings_now(contents)
    if len(taken) < 3:
        raise Refused(
            f"a test needs three readings at least; taken since the last change: {len(taken)}"
        )
    gauges = {e.get("gauge") for e in taken}
    if len(gauges) > 1:
        raise Refused(f"the readings are of more than one gauge: {', '.join(sorted(gauges))}")
    gauge = gauges.pop()
    _, step = _gauge(contents, gauge)
    smallest = _pressure(step, "step")
    first = _time(taken[0])
    readings = tuple(
        Reading(
            (_time(e) - first).total_seconds(),
            read(e.get("pressure"), "pressure"),
            read(e.get("temperature"), "temperature"),
        )
        for e in taken
    )
    ruled = by_rule(plan, readings, smallest, shop.build.van.units)
    judged = judge(readings, plan.medium, plan.stiffness, smallest)
    return TestRead(plan, gauge, readings, ruled, judged)


def settle_test(
    shop: Shop, record: Record, by: str, rule: str = "", medium: str = "water"
) -> tuple[TestRead, Event]:
    """Judge the readings by the rule and note the verdict.  Refused if the rule can't tell."""
    _needs(by, "say who judges: by")
    found = read_test(shop, record.read(), rule, medium)
    result = found.ruled.result
    if result == "can't tell":
        raise Refused(f"{found.ruled.rule} can't tell yet: {found.ruled.why}")
    if result == "passed" and found.judged.verdict == "leak":
        raise Refused(f"the rule is kept, but it leaks: {found.judged.why}")
    units = shop.build.van.units
    event = record.append(
        "system tested", medium=found.plan.medium,
        pressure=show(found.readings[0].pressure, "pressure", units),
        result="tight" if result == "passed" else "leak", rule=found.ruled.rule, by_rule=result,
        why=found.ruled.why, gauge=found.gauge, readings=len(found.readings),
        no_more_than=show(found.judged.most, "leak", units), by=by.strip(),
    )  # fmt: skip
    return found, event


def countersign(record: Record, finding: Found, reason: str, by: str, sheet: str) -> Event:
    """Note that somebody answers for an open DANGER or WARNING, and why."""
    _needs(reason, "give the reason: without one nobody can follow it later")
    _needs(by, "say who countersigns: by")
    return record.append(
        "finding countersigned", finding=finding.rule, where=finding.where,
        severity=finding.severity, what=finding.what, reason=reason.strip(), by=by.strip(),
        sheet=sheet,
    )  # fmt: skip


def not_countersigned(findings: Iterable[Found], contents: Contents, sheet: str) -> list[Found]:
    """The DANGERs and WARNINGs of this sheet, readings outside and entries that can't be so, that
    nobody answers for yet.

    Who answers for a reading answers for that value: the next one is another matter.
    """
    signed = [e for e in contents.of("finding countersigned") if e.get("sheet") == sheet]
    done = {(e.get("finding"), e.get("where")) for e in signed}
    read = {(e.get("where"), e.get("what")) for e in signed}
    left = [f for f in findings if f.severity in SERIOUS and (f.rule, f.where) not in done]
    doubts: list[Found] = [*outside(contents), *clock_put_back(contents)]
    return [*left, *(one for one in doubts if (one.where, one.what) not in read)]


def still_open(shop: Shop, findings: Iterable[Found], contents: Contents) -> list[str]:
    """What stands between a van and its hand-over, one line each."""
    build, known, said = shop.build, states(contents), list[str]()
    joints = {j.name: j for j in shop.joints}
    missing = [n for n in joints if n not in known]
    changed = [
        n for n, j in joints.items() if n in known and known[n].sort != f"{j.kind}, {j.size}"
    ]
    waiting = [n for n in joints if n in known and known[n].open]
    for names, what in (
        (missing, "not in the record"),
        (changed, "another joint on this sheet than was made"),
        (waiting, "not proven tight"),
    ):
        if names:
            said.append(f"{len(names)} joints are {what}: {_some(names)}")
    tests = [e for e in contents.of("system tested") if e.get("by_rule") == "passed"]
    if not tests:
        said.append("no pressure test has passed its rule")
    elif not all(e.details.get("readings") for e in tests[-1:]):
        said.append("the last pressure test kept no readings")
    said += disinfection_open(shop, contents)
    named = {e.get("valve") for e in contents.of("valve set")}
    said += [f"{v.name} was not set" for v in build.mixing_valve if v.name not in named]
    said += [
        f"{f.severity} not countersigned: {f.what} ({f.where})"
        for f in not_countersigned(findings, contents, build.mark)
    ]
    said += [f"the record: {p}" for p in contents.problems]
    return said


def stale(shop: Shop, contents: Contents) -> dict[str, str]:
    """Flows and temperatures read before a joint on their way wept or was made, and that joint.

    A joint that belongs to no run, such as one of a board, may lie on the way to any outlet.
    """
    runs = {j.name: j.run for j in shop.joints}
    outlets = [c.name for c in (*shop.build.fixture, *shop.build.mixing_valve)]
    ways = {o: {n for w in ways_to(shop.build, o) for n in w.runs} for o in outlets}
    found: dict[str, str] = {}
    for event in contents.events:
        if event.kind in ("reading taken", "valve set"):
            found[reading_of(event)[0]] = ""
        elif event.kind in ("joint made", "joint repaired", "joint wept"):
            joint = event.get("joint")
            run = runs.get(joint)
            for name in found:
                said = reading_parts(name)[0]
                passed = [ways[o] for o in outlets if said == o or said.startswith(f"{o} ")]
                if any(run is None or run in way for way in passed):
                    found[name] = f"{joint} ({event.kind.removeprefix('joint ')})"
    return {name: joint for name, joint in found.items() if joint}


def hand_over(
    shop: Shop, findings: Iterable[Found], record: Record, by: str, to: str, sheet: str
) -> Event:
    """Note the hand-over.  ``sheet`` is the mark printed on the sheet that is signed.

    Refused while anything is open, or if the sheet is not of the build as it is now.
    """
    _needs(by, "say who hands over: by")
    _needs(to, "say who takes the van: to")
    if sheet.strip() != shop.build.mark:
        raise Refused(
            f"the sheet signed has the mark {sheet.strip() or '(none)'}, the build file now "
            f"{shop.build.mark}: print the sheet anew and look at it"
        )
    contents = record.read()
    gone, back = on_the_road(contents), back_untouched(contents)
    if gone is not None:
        raise Refused(
            f"it was handed over to {gone.get('to')} on {gone.time[:10]} and has not come back: "
            "note its return first"
        )
    if back is not None:
        raise Refused(
            f"it came back on {back.time[:10]} ({back.get('why')}) and nothing was noted since: "
            "say what was found and done"
        )
    left = still_open(shop, findings, contents)
    if left:
        raise Refused("still open:\n" + "\n".join(f"- {one}" for one in left))
    return record.append(
        "handed over", to=to.strip(), by=by.strip(), sheet=sheet.strip(), record=contents.mark
    )


def came_back(record: Record, why: str, by: str) -> Event:
    """Note that the van came back.  Refused for one that never left."""
    _needs(by, "say who notes it: by")
    _needs(why, "say why it came back: why")
    if on_the_road(record.read()) is None:
        raise Refused("it was not handed over, so it can't have come back")
    return record.append("came back", why=why.strip(), by=by.strip())


def dosed(record: Record, strength: str, time: str, by: str, agent: str = "") -> Event:
    """Note a disinfection.  Refused for a figure without its unit, or for no dose at all."""
    _needs(by, "say who dosed it: by")
    for text, word in ((strength, "concentration"), (time, "duration")):
        try:
            value = read(text, word)
        except QuantityError as error:
            raise Refused(str(error)) from None
        if value <= 0:
            raise Refused(f"a dose of {strength} for {time} is none")
    said = {
        "concentration": strength.strip(),
        "duration": time.strip(),
        **said_of(**{"with": agent}),
    }
    return record.append("disinfected", **said, by=by.strip())


def _gauge(contents: Contents, gauge: str) -> tuple[str, str]:
    """Range and step of a gauge, as last noted."""
    for event in reversed(contents.of("gauge named")):
        if event.get("gauge") == gauge.strip():
            return event.get("range"), event.get("step")
    named = ", ".join(dict.fromkeys(e.get("gauge") for e in contents.of("gauge named"))) or "none"
    raise Refused(f"gauge {gauge!r} was not noted with its range and step; noted: {named}")


def _with_units(text: str) -> str:
    """A range whose first figure has the unit of the second, if it had none of its own."""
    low, to, high = text.partition(" to ")
    bare = low.strip().removeprefix("-").replace(".", "", 1).isdigit()
    unit = high.strip().lstrip("+-.0123456789 ")
    return f"{low.strip()} {unit}{to}{high}" if bare and unit else text


def _range(text: str) -> tuple[float, float]:
    parts = [p.strip() for p in text.split(" to ")]
    if len(parts) != 2:
        raise Refused(f'write the range as "0 psi to 100 psi", got "{text}"')
    least, most = (_pressure(p, "range") for p in parts)
    if least >= most:
        raise Refused(f"the range {text} does not rise")
    return least, most


def _pressure(text: str, what: str) -> float:
    try:
        return read(text, "pressure")
    except QuantityError as error:
        raise Refused(f"{what}: {error}") from None


def _when(text: str, clock: datetime) -> datetime:
    """A time of today (``14:20``), or one with its date; now if nothing is said."""
    if not text.strip():
        return clock.replace(microsecond=0)
    said = text.strip()
    try:
        found = datetime.fromisoformat(said if len(said) > 8 else f"{clock.date()} {said}")
    except ValueError:
        raise Refused(f'can\'t read the time "{text}": write 14:20 or 2025-03-03 14:20') from None
    return found if found.tzinfo else found.replace(tzinfo=clock.tzinfo)


def _time(event: Event) -> datetime:
    return datetime.fromisoformat(event.get("time"))


def _told(when: datetime) -> str:
    return when.strftime("%Y-%m-%d %H:%M")


def _needs(text: str, why: str) -> None:
    if not text.strip():
        raise Refused(why)


def _some(names: list[str]) -> str:
    return ", ".join(names[:5]) + (" …" if len(names) > 5 else "")
