"""The drawing of a board on which parts can be taken with the pointer or by keys."""

from __future__ import annotations

from collections.abc import Callable
from importlib.resources import files
from typing import Any

import anywidget
import traitlets

Told = Callable[[dict[str, Any]], None]


def _text(name: str) -> str:
    return (files(__package__) / name).read_text(encoding="utf-8")


class BoardStage(anywidget.AnyWidget):
    """Shows ``svg`` and calls ``told`` with each thing that the reader does.

    Messages: ``{"kind": "take" | "drag" | "drop", "grip": ..., "dx": mm, "dy": mm}``,
    ``{"kind": "cancel"}``, ``{"kind": "key", "grip": ..., "key": ..., "far": bool}``.
    ``show`` answers each of them, changed or not, so that the page goes on.
    """

    _esm = _text("board_stage.js")
    _css = _text("board_stage.css")
    svg = traitlets.Unicode("").tag(sync=True)
    selected = traitlets.Unicode("").tag(sync=True)
    serial = traitlets.Int(0).tag(sync=True)

    def __init__(self, told: Told) -> None:
        super().__init__()
        self._told = told
        self.on_msg(self._heard)

    def __repr__(self) -> str:
        return "<board to drag on>"

    def show(self, svg: str, selected: str = "") -> None:
        """A new drawing, in one message."""
        with self.hold_sync():
            self.svg, self.selected = svg, selected
            self.serial += 1

    def _heard(self, _: Any, content: Any, buffers: Any) -> None:
        before = self.serial
        try:
            self._told(content)
        finally:
            if self.serial == before:
                self.serial += 1
