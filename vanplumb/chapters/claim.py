"""The page that goes with a claim: the history of one joint or part of a van."""

from __future__ import annotations

from ..shop.record.claims import Claim
from ..shop.record.events import Event
from ..words.report import Answer, Caution, Chapter, Getter, Grid, grid
from .order import numbers_grid

_HIDDEN = ("joint", "part", "by", "entry", "noted", "sha256", "kind", "size", "place")


def claim_chapter(claim: Claim) -> Chapter:
    """What the record says of a joint or part, test by test, and what else bears its batch."""
    made = next((e for e in claim.events if e.kind == "joint made"), None)
    answers = [Answer("It is about", claim.name), Answer("It stands", claim.state)]
    if made is not None:
        answers.append(Answer("What it is", _kind(made), note=made.get("place")))
    wept = sum(e.kind == "joint wept" for e in claim.events)
    if made is not None:
        answers.append(Answer("It wept, by the record", float(wept), "count"))
    if claim.handed is not None:
        sheet = claim.handed.get("sheet")
        answers.append(
            Answer("Handed over", claim.handed.time[:10],
                   note=f"by {claim.handed.get('by')}" + (f", sheet {sheet}" if sheet else ""))
        )  # fmt: skip
    if claim.part is not None and claim.part.term:
        answers.append(
            Answer("Warranty of the part", claim.part.term,
                   note=f"to {claim.part.until}" if claim.part.until else "from the hand-over")
        )  # fmt: skip
    answers.append(Answer("Mark of the record", claim.mark or "none"))
    grids = [_history(claim), *_tests(claim), _alike(claim)]
    if claim.part is not None:
        grids.insert(0, numbers_grid([claim.part]))
    return Chapter(
        "claim",
        f"Claim: {claim.name}",
        basis=(
            "Taken from the van's record as it is. Each of its lines follows from the one before: "
            + ("none was changed, taken out or put in." if claim.whole else "IT IS NOT WHOLE."),
        ),
        answers=tuple(answers),
        grids=tuple(g for g in grids if g.rows),
        cautions=()
        if claim.whole
        else (
            Caution("WARNING", "The record is not whole: `vanplumb record FILE show` says where."),
        ),
        not_computed=("Why it leaks, and who pays: that is between people.",),
    )


def _kind(made: Event) -> str:
    return ", ".join(x for x in (made.get("kind"), made.get("size")) if x)


def _said(event: Event) -> str:
    return ", ".join(
        f"{k.replace('_', ' ')} {v}" for k, v in event.details.items() if k not in _HIDDEN
    )


def _history(claim: Claim) -> Grid:
    columns: dict[str, Getter] = {
        "Entry": lambda e: str(e.number),
        "When": lambda e: (e.get("noted") or e.time)[:16],
        "What": "kind",
        "By": lambda e: e.get("by"),
        "Said": _said,
    }
    return grid("History", claim.events, columns, key="claim")


def _tests(claim: Claim) -> list[Grid]:
    if not claim.tests:
        return []
    columns: dict[str, Getter] = {
        "Entry": lambda t: str(t.event.number),
        "When": lambda t: t.event.time[:16],
        "With": lambda t: f"{t.event.get('medium')}, {t.event.get('pressure')}",
        "Result": lambda t: t.event.get("result"),
        "Rule": lambda t: t.event.get("rule"),
        "Gauge": lambda t: t.event.get("gauge"),
        "By": lambda t: t.event.get("by"),
    }
    rows = [(t.event.number, r) for t in claim.tests for r in t.readings]
    readings: dict[str, Getter] = {
        "Test": lambda row: str(row[0]),
        "When": lambda row: row[1].get("time")[:16],
        "Pressure": lambda row: row[1].get("pressure"),
        "Temperature": lambda row: row[1].get("temperature"),
        "Gauge": lambda row: row[1].get("gauge"),
        "By": lambda row: row[1].get("by"),
    }
    return [
        grid("Pressure tests that it stood in", claim.tests, columns),
        grid("Readings of these tests", rows, readings),
    ]


def _alike(claim: Claim) -> Grid:
    note = "Other vans with it: vanplumb fleet."
    return grid("Of the same batch in this van", claim.alike, {"What": 0, "Batch": 1}, note=note)
