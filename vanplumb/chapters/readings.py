"""Chapters of what was measured and of how sure joints are."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ..formulas.joints import chance_of_any, upper_chance_none
from ..shop.readings.fit import Fitted, Measured
from ..shop.readings.measured import Compared, MeasuredVan
from ..shop.readings.suspects import Diagnosis
from ..shop.record.reliability import (
    NextVan,
    OneMoreVan,
    Tally,
    clean_joints_for,
    next_van,
    one_more_clean_van,
)
from ..words.report import Answer, Caution, Chapter, Column, Grid
from ..words.show import show

SHOWN = 6
"""Causes that are listed."""


@dataclass(frozen=True)
class Judged:
    """Readings put beside the model: what fits, what was fitted, what may be wrong."""

    van: MeasuredVan
    compared: tuple[Compared, ...]
    fitted: Fitted | None
    diagnosis: Diagnosis | None


def judge_readings(
    van: MeasuredVan, values: Mapping[str, float], *, fitting: bool = True
) -> Judged:
    """Judge what was typed in, SI.  Without readings there is only what was computed.

    ``fitting`` False leaves out the fit, which takes a hundred times longer than the causes.
    """
    measured: dict[str, Measured] = {n: van.reading(n, v) for n, v in values.items()}
    if not measured:
        return Judged(van, van.compare({}), None, None)
    return Judged(
        van, van.compare(measured), van.fit(measured) if fitting else None, van.diagnose(measured)
    )


def verdict_of(judged: Judged) -> str:
    """One sentence."""
    found = judged.diagnosis
    if found is None:
        return "no reading yet"
    if found.verdict == "fits":
        return "the readings fit a sound van"
    if found.verdict == "nothing fits":
        return "no single cause explains these readings: measure the odd ones again"
    if found.verdict == "likely":
        return f"likely: {found.first.cause.name}"
    return f"can't tell between {len(found.alike)} causes"


def measured_chapter(judged: Judged, units: str) -> Chapter:
    """Readings, causes in order, and what was fitted."""
    answers = [Answer("verdict", verdict_of(judged))]
    grids = [_readings(judged)]
    found = judged.diagnosis
    if found is not None and found.verdict not in ("fits",):
        grids.append(_causes(found))
        answers += [Answer("first", r.cause.name, note=r.cause.look) for r in found.alike[:1]]
    if judged.fitted is not None:
        grids.append(_fitted(judged.fitted, units))
    return Chapter(
        "measured",
        "Measured against computed",
        basis=(
            "Each outlet by itself, everything else shut; the pump's own pressure and current.",
            "What differs between sound vans (fittings, pump, taps, heater) is averaged out.",
            "One cause at a time; a cause that would explain anything is worth less.",
        ),
        answers=tuple(answers),
        grids=tuple(grids),
        cautions=(
            Caution("WARNING", "Hot outlets scald while they are measured."),
            Caution("NOTICE", "Look before you take apart: the first in the list costs least."),
        ),
        not_computed=("two things wrong at once", "kinks that only hot or moved tube has"),
    )


def _readings(judged: Judged) -> Grid:
    """Each reading beside what was computed, and how far apart."""
    rows = []
    for one in judged.compared:
        system = judged.van.build.van.units
        seen = show(one.measured, one.word, system) if one.measured is not None else "not read"
        apart = f"{one.apart:+.1f}".replace("-", "−") if one.apart is not None else "–"
        name, _, what = one.name.rpartition(", ")
        rows.append((name, what, show(one.computed, one.word, system), seen, apart))
    columns = (
        Column("outlet"), Column("reading"), Column("computed", align="right"),
        Column("measured", align="right"), Column("apart", align="right"),
    )  # fmt: skip
    return Grid("Readings", columns, tuple(rows), "readings",
                "Apart in uncertainties of the reading: beyond 2 or 3 it is not chance. "
                "Differences between sound vans are part of it.")  # fmt: skip


def _causes(found: Diagnosis) -> Grid:
    """The likeliest causes, and what to look at first."""
    rows = tuple(
        (r.cause.name, f"{r.chance * 100:.0f} %", r.cause.look)
        for r in found.ranked[:SHOWN]
        if r.chance >= 0.01
    )
    columns = (Column("cause"), Column("how likely", align="right"), Column("look first"))
    return Grid("Causes, in order", columns, rows, "causes",
                "Among the causes that were tried, if one of them is true.")  # fmt: skip


def _fitted(fitted: Fitted, units: str) -> Grid:
    """What the readings say about what differs between vans."""
    rows = []
    for one in fitted.estimates.values():
        heat = one.name.startswith("store ")
        value = show(one.value, "temperature", units) if heat else f"{one.value:.2f}"
        sigma = show(one.sigma, "rise", units) if heat else f"{one.sigma:.2f}"
        known = "from the readings" if one.told else "the readings don't say"
        said = "at its bound" if one.bound else known
        rows.append((_name(one.name), value, f"± {sigma}", said))
    columns = (
        Column("unknown"),
        Column("value", align="right"),
        Column("uncertainty"),
        Column("told"),
    )
    return Grid(
        "Fitted, as if nothing were wrong",
        columns,
        tuple(rows),
        "fitted",
        "1.00 is as computed; a mixing valve's is the hot share of its opening.",
    )


def _name(parameter: str) -> str:
    kind, _, rest = parameter.partition(" ")
    said = {"speed": "pump's flow", "fittings": "losses of fittings"}.get(parameter)
    if said:
        return said
    return {"store": f"{rest}, water", "tap": f"{rest}, passage",
            "turned": f"{rest}, hot share"}.get(kind, parameter)  # fmt: skip


@dataclass(frozen=True)
class Sureness:
    """What many vans say about the next one."""

    tallies: Mapping[str, Tally]
    plan: Mapping[str, int]
    now: NextVan
    more: OneMoreVan


def sureness(tallies: Mapping[str, Tally], plan: Mapping[str, int]) -> Sureness:
    """From tallies and the joints of the next van."""
    return Sureness(tallies, plan, next_van(tallies, plan), one_more_clean_van(tallies, plan))


def sureness_chapter(found: Sureness) -> Chapter:
    """Chances with their limits, and what one more clean van changes."""
    rows = []
    for sort, tally in found.tallies.items():
        exact, bayes = tally.exact, tally.bayes
        rows.append(
            (
                sort,
                float(tally.joints),
                float(tally.weeps),
                _share(exact.low),
                _share(exact.high),
                _share(bayes.high),
                float(found.plan.get(sort, 0)),
            )
        )
    columns = (
        Column("kind and size"), Column("tested", "count"), Column("wept", "count"),
        Column("at least", align="right"), Column("at most", align="right"),
        Column("at most, by another way", align="right"), Column("next van", "count"),
    )  # fmt: skip
    now, then = found.now, found.more.then
    answers = [
        Answer("chance of a weep in the next van", f"{now.expected * 100:.1f} %",
               note=f"{_share(now.low)} to {_share(now.high)}, {now.joints} joints"),
        Answer("after one more clean van", f"{then.expected * 100:.1f} %",
               note=f"{_share(then.low)} to {_share(then.high)}"),
        Answer("joints without a weep to show 1 in 100", float(clean_joints_for(0.01)), "count",
               note="at 95 %"),
    ]  # fmt: skip
    clean = [t for t in found.tallies.values() if not t.weeps]
    if clean:
        most = max(clean, key=lambda t: t.joints)
        work = upper_chance_none.work(confidence=0.95, count=float(most.joints))
        van = chance_of_any.work(chance=work.value, count=float(found.plan.get(most.kind, 0)))
        answers.append(
            Answer(f"{most.kind}: at most", work.value, "share", (work, van), note="at 95 %")
        )
    left_out: tuple[str, ...] = ()
    if now.unknown:
        left_out = ("kinds that were never tested: " + ", ".join(now.unknown),)
    return Chapter(
        "sureness",
        "How sure the joints are",
        basis=(
            "Limits are Clopper-Pearson at 95 %, one-sided where nothing wept; the "
            "other way of reckoning is that of Jeffreys.",
            "Joints of one kind and size count as alike and as knowing nothing of each other.",
        ),
        answers=tuple(answers),
        grids=(Grid("Joints over all vans", columns, tuple(rows), "sureness"),),
        not_computed=(*left_out, "bad days, bad batches and tired hands: they weep together"),
    )


def _share(value: float) -> str:
    return show(value, "share")
