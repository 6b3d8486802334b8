"""One picture of a van that moves, with taps to press: no fields and no table beside it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import ipywidgets as widgets

from ...drawings.schematic.draw import Schematic, schematic_picture
from ...drawings.schematic.motion import scene
from ...flow.engine import Flow
from ...flow.moment import Moment
from ..frame import look
from ..frame.living import LivingPicture
from ..frame.plain import html
from ..frame.printed import bundle, figure

if TYPE_CHECKING:
    from ...pack import Pack


class VanPicture:
    """The whole system of a van, in its units; pressing a tap opens or shuts it.

    ValueError if the build has no fixture, or nothing that water comes from.
    """

    def __init__(self, pack: Pack, open: tuple[str, ...] | None = None) -> None:
        self._flow: Flow = pack.flow
        if self._flow.problem:
            raise ValueError(self._flow.problem)
        build = pack.build
        self._units = build.van.units
        self._drawing = Schematic(build)
        first = tuple(build.situation[0].open) if build.situation else self._flow.fixtures[:1]
        self._before: Moment | None = None
        self.moment = self._flow.solve(first if open is None else open)
        self._living = LivingPicture(self.press)
        self.page = widgets.VBox([html(look.STYLE), self._living])
        self.page.add_class("vanplumb")
        self._show()

    def __repr__(self) -> str:
        return f"<picture: {self._flow.build.van.name}>"

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        still = schematic_picture(self._drawing, self.moment, self._units, "")
        return bundle(self.page, repr(self), figure(still), **kwargs)

    def press(self, name: str) -> None:
        """Open a tap that is shut, or shut one that is open."""
        now = [f for f in self._flow.fixtures if (f in self.moment.open) != (f == name)]
        self._before, self.moment = self.moment, self._flow.solve(now)
        self._show()

    def _show(self) -> None:
        svg = self._drawing.draw(self.moment, units=self._units, before=self._before)
        self._living.show(svg, scene(self._drawing, self.moment, self._units))
