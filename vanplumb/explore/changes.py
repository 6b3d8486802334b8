"""What changed from one build to the next: parts, inputs, answers and findings, as a chapter."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from ..van.entries import entries
from ..van.model import LISTS, SECTIONS, Build, label_of
from ..words.report import RIGHT, Answer, Chapter, grid
from ..words.show import counted
from .choices import told

if TYPE_CHECKING:
    from ..pack import Pack
    from ..review import Finding


@dataclass(frozen=True)
class Change:
    """One thing that is not as it was, in the reader's units; empty where it did not exist."""

    where: str
    what: str
    old: str
    new: str


@dataclass(frozen=True)
class Changes:
    """All that is not as it was.  ``findings`` pairs each with "new", "gone" or "changed"."""

    old: str
    new: str
    inputs: tuple[Change, ...]
    answers: tuple[Change, ...]
    findings: tuple[tuple[str, Finding], ...]
    units: str

    def __bool__(self) -> bool:
        return bool(self.inputs or self.answers or self.findings)

    def __repr__(self) -> str:
        return (
            f"Changed: {counted(len(self.inputs), 'input')}, "
            f"{counted(len(self.answers), 'answer')} and {counted(len(self.findings), 'finding')}"
        )


def changes(old: Pack, new: Pack) -> Changes:
    """Everything that differs between two packs, in the newer one's units."""
    units = new.build.van.units
    return Changes(
        old=old.build.path.name if old.build.path else old.build.van.name,
        new=new.build.path.name if new.build.path else new.build.van.name,
        inputs=tuple(_inputs(old.build, new.build, units)),
        answers=tuple(_answers(old, new, units)),
        findings=tuple(_findings(old, new)),
        units=units,
    )


def chapter(found: Changes) -> Chapter:
    """What changed, for the sheet."""
    grids = [
        grid(
            title,
            rows,
            {
                first: "where",
                second: "what",
                "was": (lambda c: c.old or "–", RIGHT),
                "is": (lambda c: c.new or "–", RIGHT),
            },
        )
        for title, first, second, rows in (
            ("Inputs that changed", "part", "value", found.inputs),
            ("Answers that changed", "subject", "answer", found.answers),
        )
        if rows
    ]
    if found.findings:
        grids.append(
            grid(
                "Findings that came, went or changed",
                found.findings,
                {
                    "": 0,
                    "severity": lambda row: row[1].severity,
                    "finding": lambda row: row[1].what,
                    "where": lambda row: row[1].where,
                    "is": lambda row: row[1].shown(found.units)[0],
                    "limit": lambda row: row[1].shown(found.units)[1],
                },
            )
        )
    return Chapter(
        key="changes",
        title="What changed since the last sheet",
        basis=(
            f"Compared with the build file {found.old}, read and worked out anew by this version.",
            "An input counts as changed where its value differs, not where it is written "
            "in another unit. A run is known by the parts that it joins.",
        ),
        answers=(
            Answer("inputs that changed", float(len(found.inputs)), "count"),
            Answer("answers that changed", float(len(found.answers)), "count"),
            Answer("findings that are new", float(_count(found, "new")), "count"),
            Answer("findings that are gone", float(_count(found, "gone")), "count"),
        ),
        grids=tuple(grids),
    )


def _count(found: Changes, state: str) -> int:
    return sum(s == state for s, _ in found.findings)


def _parts(build: Build) -> dict[str, Any]:
    """Every part under a name that stays when others come or go: runs by what they join."""
    found: dict[str, Any] = {
        key: getattr(build, key) for key in SECTIONS if getattr(build, key) is not None
    }
    seen: Counter[str] = Counter()
    for key in LISTS:
        for number, part in enumerate(getattr(build, key), 1):
            label = label_of(key, part, number).replace(".", " ", 1).replace("_", " ")
            if key == "run":
                label = f"run {part.start} to {part.end}"
            elif key == "stock":
                label = f"stock of {part.tube}"
            seen[label] += 1
            found[label if seen[label] == 1 else f"{label}, {seen[label]}"] = part
    return found


def _inputs(old: Build, new: Build, units: str) -> Iterator[Change]:
    before, after = _parts(old), _parts(new)
    for label in dict.fromkeys([*before, *after]):
        if label not in after:
            yield Change(label, "whole part", "there", "gone")
            continue
        if label not in before:
            yield Change(label, "whole part", "", "new")
            continue
        one, two = before[label], after[label]
        for key, (field, entry, _) in entries(type(two)).items():
            was, now = getattr(one, field, None), getattr(two, field)
            if not _same(was, now):
                yield Change(
                    label,
                    key.replace("_", " "),
                    _text(was, entry.word, units),
                    _text(now, entry.word, units),
                )
    for table in dict.fromkeys([*old.rows, *new.rows]):
        rows, others = old.rows.get(table, {}), new.rows.get(table, {})
        for name in dict.fromkeys([*rows, *others]):
            if rows.get(name) != others.get(name):
                was, now = (_row(r.get(name)) for r in (rows, others))
                yield Change(f"own row of {table.replace('_', ' ')}", name, was, now)


def _row(row: Any) -> str:
    return "" if row is None else ", ".join(f"{key} {value}" for key, value in dict(row).items())


def _same(one: Any, two: Any) -> bool:
    if isinstance(one, float) and isinstance(two, float):
        return abs(one - two) <= 1e-9 * max(abs(one), abs(two))
    return bool(one == two)


def _text(value: Any, word: str, units: str) -> str:
    if value is None or value == "" or value == ():
        return "not said"
    if isinstance(value, tuple):
        return ", ".join(_text(v, word, units) for v in value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return told(value, word, units)


def _answers(old: Pack, new: Pack, units: str) -> Iterator[Change]:
    """Answers whose figure, as it is shown, is another one."""
    before, after = _told(old, units), _told(new, units)
    nothing = ("", "")
    for key in dict.fromkeys([*before, *after]):
        (label, was), (now_label, now) = before.get(key, nothing), after.get(key, nothing)
        if was != now:
            yield Change(key[0], now_label or label, was, now)


def _told(pack: Pack, units: str) -> dict[tuple[str, str, int], tuple[str, str]]:
    """Label and figure of each answer, found by chapter and label without its numbers."""
    found: dict[tuple[str, str, int], tuple[str, str]] = {}
    for chapter in pack.chapters:
        if chapter.key == "changes":
            continue
        seen: Counter[str] = Counter()
        for answer in chapter.answers:
            bare = re.sub(r"\d+([.,]\d+)?", "#", answer.label)
            seen[bare] += 1
            found[chapter.title, bare, seen[bare]] = (answer.label, answer.shown(units))
    return found


def _findings(old: Pack, new: Pack) -> Iterator[tuple[str, Finding]]:
    """New findings, changed ones as they are now, then those that are gone."""
    before = {(f.rule, _place(f), f.what): f for f in old.findings}
    after = {(f.rule, _place(f), f.what): f for f in new.findings}
    places = {(f.rule, _place(f)) for f in old.findings}
    kept = {(f.rule, _place(f)) for f in new.findings}
    for key, finding in after.items():
        if key not in before:
            yield ("changed" if key[:2] in places else "new"), finding
        elif finding.shown("SI") != before[key].shown("SI"):
            yield "changed", finding
    for key, finding in before.items():
        if key[:2] not in kept:
            yield "gone", finding


def _place(finding: Finding) -> str:
    """Where it is, without the run's number, which is another when a run comes or goes."""
    return re.sub(r"\brun \d+, ", "", finding.where)
