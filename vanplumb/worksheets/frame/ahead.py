"""Working out the next notch of a slider while the reader looks at the last one.

Some worksheets play whole days through, which takes longer than a hand should wait.  Whoever
has just moved a handle by one notch mostly moves it by one more, or back; so in a pause after
a move the next one is worked out beforehand, and the last few are remembered.  What is shown
is the same either way, only sooner.
"""

from __future__ import annotations

import asyncio
import time
from collections import OrderedDict
from collections.abc import Callable, Hashable, Mapping
from typing import Any, Generic, TypeVar

T = TypeVar("T")

PAUSE = 0.12
"""Seconds without a change before anything is worked out beforehand."""
SLOW = 0.015
"""Seconds from which it is worth it."""
REMEMBERED = 8


class Ahead(Generic[T]):
    """Remembers the last results of ``make`` and works one out beforehand when it is slow.

    ``make`` takes the values of all fields and has no effect but its result.
    """

    def __init__(self, make: Callable[[Mapping[str, Any]], T]) -> None:
        self._make = make
        self._kept: OrderedDict[tuple[tuple[str, Hashable], ...], T] = OrderedDict()
        self._waiting: asyncio.TimerHandle | None = None
        self.took = 0.0
        """Seconds of the last one that had to be worked out."""

    def result(self, values: Mapping[str, Any]) -> T:
        """The result for some values, remembered or made now.  Raises what ``make`` raises."""
        self.stop()
        key = _key(values)
        if key not in self._kept:
            start = time.perf_counter()
            self._kept[key] = self._make(values)
            self.took = time.perf_counter() - start
        self._kept.move_to_end(key)
        while len(self._kept) > REMEMBERED:
            self._kept.popitem(last=False)
        return self._kept[key]

    def knows(self, values: Mapping[str, Any]) -> bool:
        """Whether the result for some values is at hand."""
        return _key(values) in self._kept

    def expect(self, values: Mapping[str, Any]) -> None:
        """Work these values out in the next pause, if that is slow and there will be one.

        There is none outside a notebook, where nothing waits for a reader.
        """
        self.stop()
        if self.took < SLOW or self.knows(values):
            return
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            return
        self._waiting = loop.call_later(PAUSE, self._work_out, dict(values))

    def stop(self) -> None:
        """Let go of what is still to be worked out."""
        if self._waiting is not None:
            self._waiting.cancel()
            self._waiting = None

    def forget(self) -> None:
        """Remember nothing, since what ``make`` gives has changed."""
        self.stop()
        self._kept.clear()

    def _work_out(self, values: Mapping[str, Any]) -> None:
        self._waiting = None
        try:
            self.result(values)
        except Exception:
            return  # it is told if the reader comes there


def _key(values: Mapping[str, Any]) -> tuple[tuple[str, Hashable], ...]:
    """Values as they tell one state from another; a last digit that rounding left is none."""
    return tuple(
        (name, float(f"{value:.10g}") if isinstance(value, float) else value)
        for name, value in values.items()
    )
