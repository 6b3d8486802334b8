"""The schematic as a board of taps: a button lies over every tap of the drawing."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import ipywidgets as widgets

from ..build import Build
from ..drawings.schematic import Schematic
from ..flow.moment import Moment

STYLE = """<style>
.vanplumb .vp-system { overflow-x: auto; display: block; }
@container (max-width: 640px) {
  .vanplumb .vp-system::before {
    content: "The drawing goes on to the right, as far as the taps: move it sideways.";
    position: sticky; left: 0; display: block; color: var(--vp-soft); font-size: 0.92em; }
}
.vanplumb .vp-system > .widget-box { position: relative; min-width: 620px; overflow: visible; }
.vanplumb .vp-system svg { width: 100%; height: auto; display: block; overflow: visible; }
.vanplumb .vp-system .widget-html, .vanplumb .vp-system .widget-html-content {
  width: 100%; margin: 0; }
.vanplumb .vp-tap { position: absolute; margin: 0; padding: 0; color: transparent;
  background: transparent; border: 1.5px dashed var(--vp-line); border-radius: 6px;
  box-shadow: none; cursor: pointer; overflow: hidden; white-space: nowrap; }
.vanplumb .vp-tap:hover { border: 1.5px solid var(--vp-cold); }
.vanplumb .vp-tap.mod-active { border: 1.5px solid var(--vp-cold); background: transparent; }
.vanplumb .vp-tap:focus-visible { outline: 3px solid var(--vp-cold); outline-offset: 1px; }
</style>"""


class TapBoard:
    """The schematic with a button over every tap."""

    def __init__(self, build: Build) -> None:
        self.drawing = Schematic(build)
        self.picture = widgets.HTML()
        self.taps: dict[str, widgets.ToggleButton] = {}
        self._quiet = False
        for tap in self.drawing.taps():
            button = widgets.ToggleButton(value=False, description=tap.name)
            button.layout.left, button.layout.top = f"{tap.left:.2%}", f"{tap.top:.2%}"
            button.layout.width, button.layout.height = f"{tap.width:.2%}", f"{tap.height:.2%}"
            button.add_class("vp-tap")
            self.taps[tap.name] = button
        inner = widgets.Box([self.picture, *self.taps.values()])
        self.widget = widgets.Box([widgets.HTML(STYLE), inner])
        self.widget.add_class("vp-system")
        self.widget.add_class("vp-wide")

    def show(self, moment: Moment, units: str, values: str, mark: int) -> None:
        """The drawing with that moment; ``mark`` is the run that the fields are about."""
        self.picture.value = self.drawing.draw(moment, units=units, values=values, mark=mark)
        self._quiet = True
        try:
            for name, button in self.taps.items():
                open = name in moment.open
                button.value = open
                told = f"{name}, {'open: press to shut' if open else 'shut: press to open'}"
                if button.description != told:
                    button.description = button.tooltip = told
        finally:
            self._quiet = False

    def on_press(self, act: Any) -> None:
        """Calls ``act(name, open)`` when the reader presses a tap."""
        for name, button in self.taps.items():
            button.observe(self._pressed(name, act), "value")

    def _pressed(self, name: str, act: Any) -> Any:
        def pressed(change: Mapping[str, Any]) -> None:
            if not self._quiet:
                act(name, bool(change["new"]))

        return pressed
