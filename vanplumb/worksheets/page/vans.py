"""A worksheet with a menu of vans over it: the reader's own build files, and the examples.

    sheet = of_van(system_worksheet, build, open=("shower",))

shows the worksheet of that build and lets the reader choose another van from the page.  All
that a worksheet has (``figures``, ``set``, ``vary``, ...) is that of the van that is chosen.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from html import escape
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from ...pack import example, examples
from ...van import Build, BuildError, load
from ..frame import own_files as own
from ..frame.base import Worksheet
from ..frame.printed import bundle, printed

Make = Callable[..., Worksheet]
Parts = Callable[[Build], Sequence[str]]


class VanMenu:
    """A menu of vans, and a button that reads the chosen file again.

    ``chosen`` is called with a Build; a file that can't be read is told beside the menu, as is
    a ValueError or KeyError of ``chosen``, and then ``build`` stays what it was; a text file that
    is no build is handed to ``broken``, if there is one.  ``first`` is offered under the name
    ``told`` if it is neither a file nor an example.
    """

    def __init__(
        self,
        chosen: Callable[[Build | None], None],
        first: Build | None,
        told: str = "",
        broken: Callable[[Path], None] | None = None,
    ) -> None:
        self.build, self.problem = first, ""
        self._chosen, self._quiet, self._told_as = chosen, False, told
        self._broken = broken
        start = _key(first)
        self._menu = widgets.Dropdown(description="van", options=self._options(start), value=start)
        self._menu.add_class("vp-choose-van")
        self._menu.observe(self._picked, "value")
        again = widgets.Button(
            description="Read again", icon="refresh", tooltip="After the file was changed"
        )
        again.on_click(lambda _: self.read())
        self.row = widgets.HBox([self._menu, again])
        self.row.add_class("vp-buttons")
        self._outcome = widgets.HTML()
        self.box = widgets.VBox([self.row, self._outcome])
        for name in ("vanplumb", "vp-van"):
            self.box.add_class(name)

    @property
    def key(self) -> str:
        """What is chosen: the path of a file, ``example NAME``, or empty for the first."""
        return str(self._menu.value)

    def choose(self, key: str) -> None:
        """Choose as the reader would.  KeyError if it is not in the menu."""
        self.look()
        if key not in [value for _, value in self._menu.options]:
            raise KeyError(f"no van {key!r} in the menu")
        if key == self.key:
            self.read()
        else:
            self._menu.value = key

    def look(self) -> None:
        """Look for build files anew; what is chosen stays."""
        now, self._quiet = self.key, True
        try:
            self._menu.options = self._options(now)
            self._menu.value = now
        finally:
            self._quiet = False

    def read(self) -> None:
        """Read what is chosen and hand it on."""
        self.look()

        def handed_on() -> None:
            try:
                build = self._load()
            except BuildError:
                if self._broken is None:
                    raise
                self._broken(Path(self.key))
                return
            self._chosen(build)
            self.build = build

        self.guarded(handed_on)

    def guarded(self, act: Callable[[], None]) -> None:
        """Do what may fail, and tell beside the menu if it does."""
        self.say("working it out …")
        try:
            act()
        except (BuildError, ValueError, KeyError, OSError) as error:
            stays = self.build.van.name if self.build is not None else self._told_as
            self._wrong(f"{str(error).strip(chr(39))}\nBelow stands {stays}.")
        except Exception as error:  # a callback's error is lost otherwise
            self._wrong(f"This page has a fault: {type(error).__name__}: {error}")
        else:
            self.problem = self._outcome.value = ""

    def say(self, text: str) -> None:
        """Tell how far it is."""
        self._outcome.value = f'<div class="vp-note" role="status">{escape(text)}</div>'

    def _wrong(self, text: str) -> None:
        self.problem = text
        self._outcome.value = f'<div class="vp-stale" role="alert">{escape(text)}</div>'

    def _load(self) -> Build | None:
        kind, _, name = self.key.partition(" ")
        if not self.key:
            return None
        return example(name) if kind == _EXAMPLE else load(self.key)

    def _options(self, keep: str = "") -> list[tuple[str, str]]:
        found = [(own.shown(path), str(path)) for path in own.files()]
        if keep and keep not in [key for _, key in found] and not keep.startswith(_EXAMPLE + " "):
            found.append((own.shown(keep), keep))
        first = [(self._told_as, "")] if self._told_as else []
        kit = [(f"{name.capitalize()}, an example", f"{_EXAMPLE} {name}") for name in examples()]
        return [*first, *found, *kit]

    def _picked(self, change: Any) -> None:
        if not self._quiet:
            self.read()


_EXAMPLE = "example"


def _key(build: Build | None) -> str:
    if build is None or build.path is None:
        return ""
    names = [name for name in examples() if example(name).path == build.path]
    return f"{_EXAMPLE} {names[0]}" if names else str(build.path.absolute())


class OfVan:
    """A worksheet of one van, with a menu of vans over it; see ``of_van``."""

    def __init__(
        self, make: Make, first: Worksheet, build: Build | None, told: str, parts: Parts | None
    ) -> None:
        self.sheet, self._make, self._parts = first, make, parts
        self._first = first
        self.vans = VanMenu(self._to, build, told)
        self._part = widgets.Dropdown(description="which")
        self._part.add_class("vp-choose-part")
        self._part.layout.display = "none"
        self._part.observe(self._another, "value")
        self._quiet = False
        self.vans.row.children = (*self.vans.row.children, self._part)
        self._holder = widgets.VBox([first.page])
        self._apart = widgets.HTML()
        self._opened_as = build.van.name if build is not None else told.removeprefix("none: ")
        self.page = widgets.VBox([self.vans.box, self._apart, self._holder])
        if build is not None:
            self._offer(build)

    def __repr__(self) -> str:
        return repr(self.sheet)

    def __getattr__(self, name: str) -> Any:
        if name.startswith("_"):
            raise AttributeError(name)
        return getattr(self.sheet, name)

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        return bundle(self.page, repr(self), printed(self.sheet), **kwargs)

    def _to(self, build: Build | None) -> None:
        if build is None:
            self._part.layout.display = "none"
            self._show(self._first)
            return
        names = self._parts(build) if self._parts else ()
        self._make_of(build, names[0] if names else None)
        self._offer(build)

    def _make_of(self, build: Build, part: str | None) -> None:
        sheet = self._make(build) if part is None else self._make(build, part)
        sheet.van = build.van.name
        self._show(sheet)

    def _offer(self, build: Build) -> None:
        """A second menu, if the build has several of what the worksheet is about."""
        names = self._parts(build) if self._parts else ()
        self._quiet = True
        try:
            self._part.options = tuple(names)
            if names:
                self._part.value = names[0]
        finally:
            self._quiet = False
        self._part.layout.display = "" if len(names) > 1 else "none"

    def _another(self, change: Any) -> None:
        build, part = self.vans.build, change["new"]
        if not self._quiet and build is not None and part is not None:
            self.vans.guarded(lambda: self._make_of(build, part))

    def _show(self, sheet: Worksheet) -> None:
        self.sheet = sheet
        self._holder.children = (sheet.page,)
        same = sheet is self._first or sheet.van == self._opened_as
        self._apart.value = "" if same else _of_another(sheet.van, self._opened_as)


def _of_another(chosen: str, opened_as: str) -> str:
    """What the text and the cells below a worksheet still speak of."""
    told = f"This worksheet is now of {chosen}; text and figures below it stay with {opened_as}."
    return f'<div class="vanplumb"><div class="vp-note" role="status">{escape(told)}</div></div>'


def of_van(
    make: Make,
    build: Build | None = None,
    *,
    case: Worksheet | None = None,
    told: str = "none: the case in the text",
    parts: Parts | None = None,
    **first: Any,
) -> OfVan:
    """The worksheet that ``make`` gives for a build, with a menu to choose another van.

    It opens with ``build`` and what is said in ``first``, or with ``case``, a worksheet that
    is about no van of the menu and is offered there under the name ``told``.  ``parts`` names
    what a build has of the part that the worksheet is about; then ``make`` gets a build and one
    of those names.
    """
    if case is not None:
        return OfVan(make, case, None, told, parts)
    if build is None:
        raise ValueError("a worksheet opens with a build or with a case")
    names = parts(build) if parts else ()
    sheet = make(build, names[0], **first) if names else make(build, **first)
    sheet.van = build.van.name
    return OfVan(make, sheet, build, "" if _key(build) else build.van.name, parts)
