"""The survey form: what a build file leaves open, by who can answer, with room for the answers."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from ..chapters.lists import ends_of_parts
from ..van.port_ends import STATED
from ..words.report import RIGHT, Answer, Chapter, Getter, Grid, grid
from ..words.show import show, unit
from .open_questions import FROM_NOTHING, NUDGE, NUDGE_TEMPERATURE, Question, by_who

if TYPE_CHECKING:
    from ..lists import Lists
    from ..van.model import Build

LINE = "_" * 12
MOST_PARTS = 4
TOLD = 2
"""Results of one question that are told: those that move most."""


def survey_chapter(build: Build, lists: Lists, questions: Sequence[Question]) -> Chapter:
    """The form.  Its questions are numbered through, those that change most first."""
    units = build.van.units
    numbers = {q: n for n, q in enumerate(questions, 1)}
    grids = [_grid(who, those, numbers, units) for who, those in by_who(questions).items()]
    grids += [_ends(lists), _masses(lists)]
    changing = sum(bool(q.effects) for q in questions)
    return Chapter(
        "survey",
        "Survey",
        basis=(
            "What the build file does not say, and who can. Numbers go by what an answer changes: "
            f"each figure was tried {NUDGE * 100:.0f} % lower and higher than it is assumed (a "
            f"temperature {show(NUDGE_TEMPERATURE, 'rise', units)}, a level run "
            f"{show(FROM_NOTHING['height'], 'height', units)}, each choice in its other ways), all "
            "parts of a line together, and all else as it is.",
            "What nothing can be assumed for stands first. Answers go into the build file under "
            "the key that is named, with their units.",
        ),
        answers=(
            Answer("questions", float(len(questions)), "count"),
            Answer("of them move a result", float(changing), "count"),
            Answer("ends that are typical, to look at", float(len(_ends(lists).rows)), "count"),
            Answer("parts to weigh", float(len(_masses(lists).rows)), "count"),
        ),
        grids=tuple(g for g in grids if g.rows),
        not_computed=(
            "What answers change in findings other than those on scalds, backflow, relief and "
            "frost, and on the board: put one in and see: vanplumb changed OLD NEW.",
            "Fuel, mains electricity and the vehicle: a licensed fitter and a licensed electrician "
            "look at those.",
        ),
    )


def _grid(who: str, those: Sequence[Question], numbers: dict[Question, int], units: str) -> Grid:
    def parts(q: Question) -> str:
        more = f" and {len(q.parts) - MOST_PARTS} more" if len(q.parts) > MOST_PARTS else ""
        kind = q.kind.replace("_", " ")
        if q.parts in ((), (kind,)):
            return kind
        return f"{kind}: {', '.join(q.parts[:MOST_PARTS])}{more}"

    def changes(q: Question) -> str:
        if not q.assumed:
            return "not known: nothing is assumed"
        told = [f"{e.result} {e.now} → {e.then}" if e.now else e.result for e in q.effects[:TOLD]]
        return "; ".join(told) or ("less than 1 %" if q.tried else "not tried")

    columns: dict[str, Getter | tuple[Getter, str]] = {
        "No.": (lambda q: str(numbers[q]), RIGHT),
        "Part": parts,
        "What, and where": "asked",
        "Assumed": lambda q: q.assumed or "nothing",
        "It changes": changes,
        "Found": lambda q: f"{LINE} {unit(q.word, units) if q.word else ''}".strip(),
    }
    return grid(f"Ask {who}", those, columns, key=f"survey-{who}")


def _ends(lists: Lists) -> Grid:
    """The ends of parts that are typical of their kind, to be looked at."""
    rows = [end for end in ends_of_parts(lists) if end.basis != STATED]
    columns: dict[str, Getter] = {
        "Part": "component",
        "Port": "port",
        "Assumed": lambda end: str(end.end),
        "Sealed by": lambda end: end.end.seal,
        "Found": lambda end: LINE,
    }
    note = "Size, kind and material, told as what is assumed. Fittings are picked by these."
    return grid("Look at the ends of the parts", rows, columns, key="survey-ends", note=note)


def _masses(lists: Lists) -> Grid:
    """Devices whose mass is typical of their kind, the heaviest first."""
    units = lists.build.van.units
    typical = [line for line in lists.bill.lines if line.kind == "device" and line.basis != "given"]
    rows = sorted(typical, key=lambda line: -(line.mass or 0.0))
    columns: dict[str, Getter] = {
        "Part": "name",
        "What": "about",
        "Assumed": lambda line: "nothing" if line.mass is None else show(line.mass, "mass", units),
        "Found": lambda line: f"{LINE} {unit('mass', units)}",
    }
    return grid("Weigh, without water", rows, columns, key="survey-masses")
