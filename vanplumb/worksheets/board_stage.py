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
    patch: traitlets.List[Any] = traitlets.List().tag(sync=True)
    serial = traitlets.Int(0).tag(sync=True)

    def __init__(self, told: Told) -> None:
        super().__init__()
        self._told = told
        self._parts: tuple[str, list[str]] = ("", [])
        self.on_msg(self._heard)

    def __repr__(self) -> str:
        return "<board to drag on>"

    def show(
        self, head: str, parts: list[str], selected: str = "", *, passing: bool = False
    ) -> None:
        """A new drawing: its opening and its elements, in one message.

        While something is dragged (``passing``) only the elements that differ from the last
        drawing are sent, if there are as many as before; the last one is sent whole again.
        """
        old, self._parts = self._parts, (head, parts)
        if passing and old[0] == head and len(old[1]) == len(parts):
            pairs = enumerate(zip(old[1], parts, strict=True))
            changed = [[number, new] for number, (was, new) in pairs if was != new]
            with self.hold_sync():
                self.patch = changed
                self.serial += 1
            return
        with self.hold_sync():
            self.svg, self.selected = f"{head}{''.join(parts)}</svg>", selected
            self.patch = []
            self.serial += 1

    def _heard(self, _: Any, content: Any, buffers: Any) -> None:
        before = self.serial
        try:
            self._told(content)
        finally:
            if self.serial == before:
                self.serial += 1
