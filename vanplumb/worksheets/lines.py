"""A control for several lines of text, such as the readings of a test."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import ipywidgets as widgets

from .fields import Control


class Lines(Control):
    """Several lines.  What is wrong in them is told by whoever reads them."""

    def __init__(self, key: str, label: str, value: str = "", *, about: str = "") -> None:
        super().__init__(key, label, about)
        rows = max(6, value.count("\n") + 3)
        self._entry = widgets.Textarea(value=value, rows=rows, continuous_update=False)
        self._entry.layout.width = "100%"
        head = widgets.Label(value=label)
        self._frame(widgets.VBox([head, self._entry]))
        self.box.add_class("vp-lines")
        self._entry.observe(self._typed, "value")
        self._tell()

    @property
    def value(self) -> str:
        return str(self._entry.value)

    def set(self, value: str) -> None:
        self._quiet = True
        try:
            self._entry.value = value
        finally:
            self._quiet = False

    def _typed(self, change: Mapping[str, Any]) -> None:
        if not self._quiet:
            self.on_change()
