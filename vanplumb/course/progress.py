"""A learner's own file: which exercises were tried, with which answers, and what was said.

One small JSON file for each learner beside the notebooks, written whole each time, so that a
kill leaves the old one or the new one.  Where it can't be written, as on a page that many look
at, tries are kept while the page is open; what can't be read is never written over.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ..words.files import file_name, folder_held, replace_whole
from ..words.show import SYSTEMS
from .exercise import MAKERS, Exercise
from .judge import Verdict

FORMAT = 1
START, END = "progress-", ".json"


@dataclass(frozen=True)
class Standing:
    """How one exercise stands: tries so far, and whether one was right."""

    key: str
    tries: int
    right: bool


class Progress:
    """What one learner has done; ``problem`` tells why it is not kept in a file, if it is not.

    ``units`` are those that the learner chose last, "US" or "SI", or "" where none were chosen.
    """

    def __init__(self, path: Path | str, learner: str = "") -> None:
        self.path = Path(path)
        self.problem = ""
        self.tries: list[dict[str, Any]] = []
        self.learner = learner
        self.units = ""
        self._read()

    @classmethod
    def of(cls, learner: str, folder: Path | str = ".") -> Progress:
        """The progress of a learner by name, from the file beside the notebooks."""
        name = " ".join(learner.split())[:60]
        stem = file_name(name, "learner") if name else "learner"
        return cls(Path(folder) / f"{START}{stem}{END}", name)

    def __repr__(self) -> str:
        tried = [s for key, s in self.standings().items() if key in MAKERS]
        return f"{sum(s.right for s in tried)} of {len(tried)} exercises tried were solved"

    def judge(self, exercise: Exercise, text: str) -> Verdict:
        """Judge an answer and keep the try; an empty answer is not kept."""
        verdict = exercise.judge(text, self.count(exercise) + 1)
        if verdict.right is not None:
            self.note(exercise.key, exercise.seed, text, verdict.right, exercise.units)
        return verdict

    def note(self, key: str, seed: int, text: str, right: bool, units: str = "") -> None:
        """Keep a try.  What can't be written is kept here, and ``problem`` says so."""
        line = {"exercise": key, "seed": seed, "answer": text[:200], "right": right}
        self._keep(line | ({"units": units} if units else {}))

    def prefer(self, units: str) -> None:
        """Keep which units the learner chose, for the next lesson."""
        self.units = units
        self._keep()

    def _keep(self, *lines: dict[str, Any]) -> None:
        """Write the file anew with some tries more."""
        self.tries += lines
        if self.problem.startswith("can't be read"):
            return
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            with folder_held(self.path.parent) as alone:
                units = self.units
                mine = [*self._load(), *lines]
                self.units = units or self.units
                told = {"format": FORMAT, "learner": self.learner, "tries": mine}
                told |= {"units": self.units} if self.units else {}
                text = json.dumps(told, ensure_ascii=False, indent=1) + "\n"
                replace_whole(self.path.absolute(), text, alone=alone)
            self.tries, self.problem = mine, ""
        except (OSError, ValueError) as error:
            self.problem = f"kept while this page is open, {self.path.name} not written: {error}"

    def count(self, exercise: Exercise) -> int:
        """How often this very exercise (key and seed) was tried."""
        mine = (exercise.key, exercise.seed)
        return sum((line["exercise"], line.get("seed")) == mine for line in self.tries)

    def standings(self, *, anew: bool = False) -> dict[str, Standing]:
        """Each exercise that was tried, by its key.

        ``anew`` judges each answer again with the figures of its seed, whatever the file says of
        it: anybody can write "right" into a text file.
        """
        found: dict[str, Standing] = {}
        for line in self.tries:
            old = found.get(line["exercise"], Standing(line["exercise"], 0, False))
            right = line.get("right") is True
            if anew and not old.right:
                right = _is_right(line)
            found[old.key] = Standing(old.key, old.tries + 1, old.right or right)
        return found

    def solved(self, key: str, seed: int) -> bool:
        """Whether this very exercise was solved."""
        return any(
            line["exercise"] == key and line.get("seed") == seed and line.get("right") is True
            for line in self.tries
        )

    def _read(self) -> None:
        try:
            self.tries = self._load()
        except (OSError, ValueError) as error:
            self.problem = f"can't be read and is left as it is, {self.path.name}: {error}"

    def _load(self) -> list[dict[str, Any]]:
        """The tries in the file.  ValueError if it is something else."""
        if not self.path.exists():
            return []
        try:
            told = json.loads(self.path.read_text(encoding="utf-8"))
        except json.JSONDecodeError as error:
            raise ValueError(f"it is cut off or was changed, line {error.lineno}") from None
        if not isinstance(told, dict) or not isinstance(told.get("tries"), list):
            raise ValueError("it holds no tries")
        if told.get("format") != FORMAT:
            raise ValueError(f"it has the format {told.get('format')!r}, this kit reads {FORMAT}")
        for line in told["tries"]:
            if not isinstance(line, dict) or not isinstance(line.get("exercise"), str):
                raise ValueError("one of its tries names no exercise")
        self.learner = self.learner or str(told.get("learner", ""))
        self.units = told["units"] if told.get("units") in SYSTEMS else ""
        return list(told["tries"])


def _is_right(line: dict[str, Any]) -> bool:
    """Whether the answer of a try is right for the figures of its seed.

    A set has other figures in US than in SI units; a try that does not say which may be either.
    """
    key, seed, units = line["exercise"], line.get("seed"), line.get("units")
    if key not in MAKERS or not isinstance(seed, int):
        return False
    answer = str(line.get("answer", ""))
    systems = [units] if units in SYSTEMS else list(SYSTEMS)
    return any(MAKERS[key](seed, one).judge(answer).right for one in systems)


def learners(folder: Path | str = ".") -> list[Progress]:
    """The progress of everybody who has a file in a folder, by name; unreadable ones tell why."""
    try:
        paths: Iterable[Path] = sorted(Path(folder).glob(f"{START}*{END}"))
        found = [Progress(path) for path in paths]
    except OSError:
        return []
    return sorted(found, key=lambda one: (one.learner.lower(), one.path.name))
