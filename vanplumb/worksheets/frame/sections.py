"""Several pages in one place: a row of names, of which one is open, made when first asked for."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import ipywidgets as widgets

from .look import said
from .plain import html

Makers = Mapping[str, Callable[[], widgets.Widget]]


class Sections:
    """``makers`` give the page for each name.  What one of them can't make is told in its place."""

    def __init__(self, makers: Makers) -> None:
        self._makers: Makers = makers
        self._made: dict[str, widgets.Widget] = {}
        self._names = widgets.ToggleButtons(options=list(makers), tooltips=[""] * len(makers))
        self._names.style.button_width = "auto"
        self._names.add_class("vp-sections")
        self._names.observe(lambda _: self.show(), "value")
        self._holder = widgets.VBox([])
        self._waiting = html('<div class="vp-note" role="status">working it out …</div>')
        self.box = widgets.VBox([self._names, self._holder])

    @property
    def name(self) -> str:
        """The page that is open."""
        return str(self._names.value)

    def open(self, name: str) -> None:
        """Open a page as the reader would.  ValueError if there is none of that name."""
        if name not in self._makers:
            raise ValueError(f"no page {name!r}; there are {', '.join(self._makers)}")
        self._names.value = name

    def anew(self, makers: Makers, keep: str = "") -> None:
        """Other pages under the same names: the one that is open is made again.

        That of the name ``keep`` stays as it is; on it nobody loses their place.
        """
        self._makers = makers
        self._made = {name: page for name, page in self._made.items() if name == keep}
        if self.name not in self._made:
            self.show()

    def show(self) -> None:
        """Show the page that is open; make it if it was not asked for yet."""
        name = self.name
        if name not in self._made:
            self._holder.children = (self._waiting,)
            try:
                self._made[name] = self._makers[name]()
            except (ValueError, KeyError, OSError) as error:
                self._made[name] = html(said(str(error).strip("'\""), good=False))
            except Exception as error:  # a callback's error is lost otherwise
                told = f"This page has a fault: {type(error).__name__}: {error}"
                self._made[name] = html(said(told, good=False))
        self._holder.children = (self._made[name],)
