"""Exercises on paper, and their answer key, from the same seed."""

from __future__ import annotations

from pathlib import Path

from ..sheet import write_calculation
from ..words.report import Answer, Chapter, Column, Grid
from .exercise import MAKERS, Exercise


def exercises(seed: int, units: str = "US") -> tuple[Exercise, ...]:
    """One exercise of each kind, with the figures of a seed."""
    return tuple(make(seed, units) for make in MAKERS.values())


def sheet(seed: int, units: str = "US") -> Chapter:
    """The questions, with room to write the answers."""
    rows = []
    for number, one in enumerate(exercises(seed, units), 1):
        facts = "; ".join(f"{label} {value}" for label, value in one.given)
        rows.append((str(number), one.title, f"{one.question} Given: {facts}.", " " * 12))
    return Chapter(
        key=f"exercises-{seed}",
        title=f"Exercises, set {seed}",
        basis=("Write each answer with its unit. Predict first, then compute.",),
        grids=(
            Grid(
                title="Questions",
                columns=(Column("No."), Column("subject"), Column("question"), Column("answer")),
                rows=tuple(rows),
            ),
        ),
    )


def key(seed: int, units: str = "US") -> Chapter:
    """The answers of the same seed, each with its steps."""
    return Chapter(
        key=f"answers-{seed}",
        title=f"Answers to exercises, set {seed}",
        answers=tuple(
            Answer(f"{number}. {one.title}", one.answer, one.word, one.work, note=one.question)
            for number, one in enumerate(exercises(seed, units), 1)
        ),
    )


def write(seed: int, folder: Path | str, units: str = "US") -> list[Path]:
    """Sheet and key as PDF and HTML in a folder.  Gives the paths, the sheet first."""
    return [
        path
        for chapter in (sheet(seed, units), key(seed, units))
        for path in write_calculation(chapter, folder, units=units)
    ]
