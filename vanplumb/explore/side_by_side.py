"""Variants side by side, as a chapter: what differs, results, findings, reasons, targets."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ..words.report import RIGHT, Answer, Caution, Chapter, Getter, Grid, grid
from ..words.show import show
from .reasons import Reason, reason
from .targets import Outcome, meet
from .variants import Variants

if TYPE_CHECKING:
    from ..pack import Pack
    from ..review import Finding

Array = NDArray[Any]

SEVERE = ("DANGER", "WARNING")
OPEN = "…"
"""What stands where something is still to be worked out."""
PARTS = ("budget", "mixing", "findings")
"""Of a pack, what takes longest, one after the other; the last asks for all the rest."""


@dataclass(frozen=True)
class Comparison:
    """What a comparison shows: which results count, which variants stand side by side.

    ``chances`` maps a shown variant (-1 for the build as it is) to its chance of failure.
    ``pending`` are the variants of which only the results are told yet that all variants have.
    """

    variants: Variants
    objectives: Mapping[str, str]
    unbeaten: Array
    outcome: Outcome
    shown: tuple[int, ...]
    reason: Reason | None
    chances: Mapping[int, float] = field(default_factory=dict)
    pending: tuple[int, ...] = ()

    @property
    def picked(self) -> int | None:
        """The variant whose reason is told."""
        return self.shown[0] if self.shown else None


def compare(
    variants: Variants,
    objectives: Mapping[str, str],
    *,
    targets: Sequence[str] = (),
    wanted: str = "weight",
    shown: Sequence[int] = (),
    trips: int = 0,
    at_once: bool = False,
) -> Comparison:
    """Compare variants in some results (key to "less", "more" or "" for the usual way).

    ``trips`` above 0 asks for the chance of failure of each shown variant, from that many
    random trips.  With ``at_once`` only what is at hand is told, see ``left``.  ValueError for
    targets that can't be read, IndexError for a variant that does not exist.
    """
    found = variants.unbeaten(objectives)
    outcome = meet(variants, [t for t in targets if t.strip()], wanted)
    best = [outcome.best] if outcome.targets and outcome.best is not None else []
    asked = tuple(dict.fromkeys((-1, *shown, *best)))
    pending = tuple(n for n in asked if not _worked_out(variants, n)) if at_once else ()
    told = None
    if shown:
        told = (
            reason(variants, shown[0], objectives, limits=False)
            if shown[0] in pending
            else _reason(variants, shown[0], tuple(objectives.items()))
        )
    chances = {}
    if trips and not pending:
        chances = {n: chance_of_failure(variants, n, trips) for n in asked}
    return Comparison(
        variants, dict(objectives), found, outcome, tuple(shown), told, chances, pending
    )


def _worked_out(variants: Variants, variant: int) -> bool:
    return "findings" in vars(_pack(variants, variant))


def left(one: Comparison) -> Iterator[None]:
    """Works out what is pending, a part at each step; then the comparison is told anew."""
    for variant in one.pending:
        pack = _pack(one.variants, variant)
        for part in PARTS:
            with suppress(Exception):  # the findings tell what could not be worked out
                getattr(pack, part)
            yield
        if variant == one.picked:
            _reason(one.variants, variant, tuple(one.objectives.items()))
            yield


@lru_cache(maxsize=64)
def _reason(variants: Variants, variant: int, objectives: tuple[tuple[str, str], ...]) -> Reason:
    return reason(variants, variant, dict(objectives))


@lru_cache(maxsize=64)
def chance_of_failure(variants: Variants, variant: int, trips: int, seed: int = 1) -> float:
    """Chance that anything fails on a stay: dry, grey full, lukewarm, long wait, flat, no fuel."""
    from ..trip.trip import Trip

    build = variants.build if variant < 0 else variants.build_of(variant)
    outcome = Trip(build).chance(trips, seed).outcome
    failed = np.zeros(trips, bool)
    for when in outcome.first.values():
        failed |= np.isfinite(when)
    return float(failed.mean())


def findings_of(variants: Variants, variant: int) -> tuple[Finding, ...]:
    """What the review notices of a variant, or of the build as it is for -1."""
    return _pack(variants, variant).findings


def _pack(variants: Variants, variant: int) -> Pack:
    return variants.pack_of_base if variant < 0 else variants.pack_of(variant)


def board_area(variants: Variants, variant: int) -> float:
    """What parts and sweeps take on the board, m²; not a number where there is no board."""
    plan = _pack(variants, variant).board
    return np.nan if plan.trouble else plan.layout.area / 1e6


def chapter(one: Comparison) -> Chapter:
    """The comparison for the screen and the sheet."""
    grids = [_side_by_side(one)]
    if one.reason is not None:
        grids.append(_reason_grid(one, one.reason))
    if one.outcome.targets:
        grids.append(_targets(one))
    return Chapter(
        key="compare",
        title="Variants compared",
        basis=(
            "Each variant is the build with the values named; all else stays as it is.",
            "A variant that nothing beats: no other is nowhere worse and somewhere better in "
            f"{', '.join(one.variants.measures[k].label for k in one.objectives)}.",
            "The best of a search is the best of the variants that were tried, not of all "
            "that could be built.",
        ),
        inputs=tuple(
            Answer(axis.label, _tried(one.variants, axis), basis="tried")
            for axis in one.variants.axes
        ),
        answers=tuple(_answers(one)),
        grids=tuple(grids),
        cautions=_cautions(one),
        not_computed=(
            "Space for larger parts and their price, where the build file does not say them.",
            "Findings of variants that are not shown side by side.",
        ),
    )


def _tried(variants: Variants, axis: Any) -> str:
    from .choices import told

    texts = [told(v, axis.word, variants.build.van.units) for v in axis.values]
    return ", ".join(texts) if len(texts) <= 5 else f"{texts[0]} to {texts[-1]}, {len(texts)} steps"


def _answers(one: Comparison) -> list[Answer]:
    variants, outcome = one.variants, one.outcome
    found = [
        Answer("variants tried", float(variants.size), "count"),
        Answer("that nothing beats", float(len(one.unbeaten)), "count"),
    ]
    if outcome.targets:
        found.append(Answer("that meet all targets", float(outcome.count), "count"))
        label = variants.measures[outcome.wanted].label
        if outcome.best is not None:
            note = "; ".join(f"{k} {v}" for k, v in variants.texts(outcome.best).items())
            shown = variants.shown(outcome.wanted, outcome.best)
            found.append(
                Answer(f"best {label} of these", shown, note=f"no. {outcome.best}: {note}")
            )
        elif outcome.nearest is not None:
            missed = ", ".join(t.text for t in outcome.misses)
            found.append(Answer("nearest", f"no. {outcome.nearest}", note=f"misses {missed}"))
    return found


def _columns(one: Comparison) -> list[tuple[str, int]]:
    found = [("as it is", -1)]
    found += [(f"no. {n}", n) for n in one.shown]
    best = one.outcome.best if one.outcome.targets else None
    if best is not None and best not in one.shown:
        found.append((f"best, no. {best}", best))
    return found


def _side_by_side(one: Comparison) -> Grid:
    """Inputs that differ, results and findings, one column a variant."""
    from .variants import differs

    variants = one.variants
    columns = _columns(one)
    inputs: dict[str, dict[int, str]] = {}
    for _, n in columns:
        if n >= 0:
            for label, (old, new) in differs(variants.build, variants.changes(n)).items():
                inputs.setdefault(label, {-1: old})[n] = new
    rows: list[tuple[str, ...]] = []
    for label, texts in inputs.items():
        rows.append((label, *(texts.get(n, texts[-1]) for _, n in columns)))
    for key, measure in variants.measures.items():
        figures = [variants.base[key] if n < 0 else variants.values[key][n] for _, n in columns]
        rows.append((measure.label, *(variants.in_words(key, float(f)) for f in figures)))
    known = [n for _, n in columns if n not in one.pending]
    areas = {n: board_area(variants, n) for n in known}
    if np.any(np.isfinite(list(areas.values()))):
        system = variants.build.van.units
        sizes = {n: "none" if np.isnan(a) else show(a, "area", system) for n, a in areas.items()}
        rows.append(("area on the board", *(sizes.get(n, OPEN) for _, n in columns)))
    for severity in ("DANGER", "WARNING", "CAUTION", "NOTICE"):
        counts = {n: sum(f.severity == severity for f in findings_of(variants, n)) for n in known}
        if any(counts.values()):
            told = (str(counts.get(n, OPEN)) for _, n in columns)
            rows.append((f"findings, {severity}", *told))
    if one.chances:
        chances = [one.chances.get(n) for _, n in columns]
        told = ("–" if c is None else show(c, "share") for c in chances)
        rows.append(("chance that something fails on the stay", *told))
    heads: dict[str, Getter | tuple[Getter, str]] = {"": 0}
    heads |= {head: (place, RIGHT) for place, (head, _) in enumerate(columns, 1)}
    return grid("Side by side", rows, heads, key="variants")


def _reason_grid(one: Comparison, why: Reason) -> Grid:
    rows = [("changed", name, f"{old} → {new}") for name, (old, new) in why.changes.items()]
    if why.variant in one.pending:
        rows.append(("decided by", OPEN, OPEN))
    rows += [("decided by", f"{x.label}, {x.shown}", x.by) for x in why.limits if x.by]
    if why.beaten_by is not None:
        better = [
            f"{one.variants.measures[k].label} {one.variants.shown(k, why.beaten_by)}"
            for k in one.objectives
        ]
        rows.append(("beaten by", f"no. {why.beaten_by}", ", ".join(better)))
    rows += [
        ("traded for", one.variants.measures[t.key].label, t.text.replace("variant ", "no. "))
        for t in why.trades
    ]
    columns = {"why": 0, "what": 1, "how": 2}
    return grid(f"Why no. {why.variant} stands where it does", rows, columns)


def _targets(one: Comparison) -> Grid:
    variants, wanted = one.variants, one.outcome.wanted

    def told(figure: float) -> str:
        return variants.in_words(wanted, figure) if np.isfinite(figure) else "still none"

    now = told(one.outcome.value) if one.outcome.best is not None else "none meets all"
    return grid(
        f"What each target costs in {variants.measures[wanted].label}",
        one.outcome.prices,
        {
            "target": "target.text",
            "all targets": (lambda price: now, RIGHT),
            "loosened by a tenth": (lambda price: told(price.loosened), RIGHT),
            "dropped": (lambda price: told(price.dropped), RIGHT),
            "holds the best back": lambda price: "yes" if price.binds else "no",
        },
    )


def _cautions(one: Comparison) -> tuple[Caution, ...]:
    """Severe findings of the variants shown, each once, with the variants that have it."""
    where: dict[tuple[str, str], list[str]] = {}
    waits = [head for head, n in _columns(one) if n in one.pending]
    if waits:
        what = "What the review notices is still being worked out"
        where[("NOTICE", what)] = waits
    for head, n in _columns(one):
        if n in one.pending:
            continue
        for finding in findings_of(one.variants, n):
            if finding.severity in SEVERE:
                heads = where.setdefault((finding.severity, finding.what), [])
                if head not in heads:
                    heads.append(head)
    return tuple(
        Caution(severity, f"{what.rstrip('.')} ({', '.join(heads)})")
        for (severity, what), heads in where.items()
    )
