"""Plots for those who script: results know that they can be plotted, drawings know how.

Results stand on lower floors than drawings and import none of them.  So whoever puts both
together says here, once, who draws a kind of result.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

Draw = Callable[..., Any]

_DRAWN_BY: dict[str, Draw] = {}


def plotted_by(kind: str, draw: Draw) -> None:
    """Say who draws a kind of result."""
    _DRAWN_BY[kind] = draw


def plot(kind: str, result: object, ax: Any = None, **options: Any) -> Any:
    """Draw a result on matplotlib axes, new ones if none are given.  Gives the axes.

    ImportError where matplotlib is not installed; RuntimeError where nobody was said to draw it,
    which `import vanplumb` does.
    """
    if kind not in _DRAWN_BY:
        raise RuntimeError(f"nobody draws a {kind} yet: import vanplumb first")
    return _DRAWN_BY[kind](result, ax, **options)
