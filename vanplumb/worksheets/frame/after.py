"""Doing what is left of a result, step by step, while the page stays ready for its reader.

A press is answered at once with what is at hand.  What takes longer is done in the pauses
behind it, in steps short enough that the next press does not wait for all of them.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterator

QUIET = 0.3
"""Seconds without another press before the first step: who looks from dot to dot waits for none."""
PAUSE = 0.03
"""Seconds left to the page between two steps, in which a reader's next press is heard."""


class After:
    """The steps that are left of one result; a new one takes their place."""

    def __init__(self) -> None:
        self._handle: asyncio.TimerHandle | None = None

    @property
    def possible(self) -> bool:
        """Whether there are pauses: outside a notebook nothing runs behind a call."""
        try:
            asyncio.get_running_loop()
        except RuntimeError:
            return False
        return True

    @property
    def waiting(self) -> bool:
        """Whether something is left to be done."""
        return self._handle is not None

    def start(self, steps: Iterator[None], done: Callable[[], None]) -> None:
        """Take one step in each pause and call ``done`` behind the last."""
        self.stop()
        self._later(QUIET, steps, done)

    def stop(self) -> None:
        """Let go of what is left."""
        if self._handle is not None:
            self._handle.cancel()
            self._handle = None

    def _step(self, steps: Iterator[None], done: Callable[[], None]) -> None:
        self._handle = None
        try:
            next(steps)
        except Exception:  # the end of the steps, or a fault that ``done`` meets and tells
            return done()
        self._later(PAUSE, steps, done)

    def _later(self, pause: float, steps: Iterator[None], done: Callable[[], None]) -> None:
        self._handle = asyncio.get_running_loop().call_later(pause, self._step, steps, done)
