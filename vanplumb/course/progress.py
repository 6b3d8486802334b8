"""The learner's own file: which exercise was tried, with which answer, and what was said.

One line of JSON for each try, added at the end, so that a kill loses at most the try that was
being written; lines that can't be read are left alone and counted.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ..words.files import add_line
from .check import Verdict
from .exercise import Exercise


@dataclass(frozen=True)
class Standing:
    """How one exercise stands: tries so far, and whether one was right."""

    key: str
    tries: int
    right: bool


class Progress:
    """A learner's progress, kept in a file that is made when it is first needed."""

    def __init__(self, path: Path | str) -> None:
        self.path = Path(path)

    def __repr__(self) -> str:
        done = [s for s in self.standings().values() if s.right]
        return f"{len(done)} of {len(self.standings())} exercises tried were solved"

    def judge(self, exercise: Exercise, text: str) -> Verdict:
        """Judge an answer and keep the try; an empty answer is not kept."""
        tries = self.tries(exercise) + 1
        verdict = exercise.judge(text, tries)
        if text.strip():
            self._add(
                {
                    "exercise": exercise.key,
                    "seed": exercise.seed,
                    "answer": text[:200],
                    "right": bool(verdict.right),
                }
            )
        return verdict

    def tries(self, exercise: Exercise) -> int:
        """How often this very exercise (key and seed) was tried."""
        return sum(
            1
            for line in self._lines()[0]
            if line["exercise"] == exercise.key and line.get("seed") == exercise.seed
        )

    def standings(self) -> dict[str, Standing]:
        """Each exercise that was tried, by its key."""
        found: dict[str, Standing] = {}
        for line in self._lines()[0]:
            old = found.get(line["exercise"], Standing(line["exercise"], 0, False))
            found[old.key] = Standing(
                old.key, old.tries + 1, old.right or line.get("right") is True
            )
        return found

    @property
    def unreadable(self) -> int:
        """Lines of the file that can't be read; they are left as they are."""
        return self._lines()[1]

    def _lines(self) -> tuple[list[dict[str, Any]], int]:
        if not self.path.exists():
            return [], 0
        good, bad = [], 0
        for text in self.path.read_text(encoding="utf-8", errors="replace").splitlines():
            try:
                line = json.loads(text)
                if not isinstance(line, dict) or not isinstance(line.get("exercise"), str):
                    raise ValueError
            except ValueError:
                bad += bool(text.strip())
            else:
                good.append(line)
        return good, bad

    def _add(self, line: dict[str, Any]) -> None:
        add_line(self.path, json.dumps(line, ensure_ascii=False))
