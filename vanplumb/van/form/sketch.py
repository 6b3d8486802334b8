"""What a text says of a van, whole or not yet: what can be drawn of it and what is wrong.

A text that makes no build still has tanks and runs; whoever edits it has to see them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from ..file.check import Checker, TooManyProblems
from ..file.read import loads
from ..model import Build
from ..pointers import Port, WiringError, resolve
from ..problems import BuildError, Problem
from .blocks import Block, Unreadable, blocks, read


@dataclass(frozen=True)
class Sketch:
    """``build`` holds what can be drawn; ``whole`` is the build itself if nothing is wrong.

    ``runs`` numbers, from 0, the runs of the text that ``build`` has, in its order; one that
    leads from or to nothing can't be drawn and is left out.
    """

    text: str
    blocks: tuple[Block, ...]
    build: Build | None
    whole: Build | None
    runs: tuple[int, ...]
    problems: tuple[Problem, ...]

    @property
    def readable(self) -> bool:
        """Whether the text is TOML, so that its parts can be told."""
        return self.build is not None

    def block(self, label: str) -> Block | None:
        return next((b for b in self.blocks if b.label == label), None)


def sketch(text: str) -> Sketch:
    """Look at a text.  Never raises: what is wrong is among ``problems``."""
    try:
        data = read(text)
        found = blocks(text)
    except Unreadable as error:
        return Sketch(text, (), None, None, (), (Problem(error.line, "", error.told),))
    try:
        whole = loads(text)
    except BuildError as error:
        problems = error.problems
    else:
        return Sketch(text, found, whole, whole, tuple(range(len(whole.run))), ())
    checker = Checker(data, text)
    try:
        half = checker.build()
    except TooManyProblems:
        return Sketch(text, found, None, None, (), problems)
    kept = tuple(i for i, run in enumerate(half.run) if _leads(half, run.start, run.end))
    drawn = replace(half, run=tuple(half.run[i] for i in kept), text=text)
    return Sketch(text, found, drawn, None, kept, problems)


def _leads(build: Build, start: str, end: str) -> bool:
    """Whether a run has two ends that there are."""
    return _port(build, start, leaving=True) is not None and (
        _port(build, end, leaving=False) is not None
    )


def _port(build: Build, pointer: str, *, leaving: bool) -> Port | None:
    try:
        return resolve(build, pointer, leaving)
    except (WiringError, TypeError):
        return None
