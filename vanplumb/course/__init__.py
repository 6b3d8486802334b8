"""Exercises for apprentices: predict, compute, see the steps, explain the difference."""

from __future__ import annotations

from . import bench, cold, water
from .exercise import MAKERS, Exercise, Mistake
from .progress import Progress

__all__ = ["MAKERS", "Exercise", "Mistake", "Progress", "bench", "cold", "exercise", "water"]


def exercise(key: str, seed: int = 1, units: str = "US") -> Exercise:
    """An exercise of one kind with the figures of a seed.  KeyError lists the kinds."""
    if key not in MAKERS:
        raise KeyError(f"no exercise {key!r}; there are {', '.join(MAKERS)}")
    return MAKERS[key](seed, units)
