"""The plain controls of a worksheet: one of a few words, yes or no, a free text.

Each control has ``key``, ``label``, ``box`` (the widget), ``value`` (SI float, text or bool),
``problem`` (text, empty if all is well), ``set(value)``, ``use_units(system)`` and calls
``on_change()`` when the reader changed it, good or bad.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from html import escape
from typing import Any

import ipywidgets as widgets


def _nothing() -> None:
    return None


class Control:
    """What the kinds of control share."""

    def __init__(self, key: str, label: str, about: str = "") -> None:
        self.key = key
        self.label = label
        self.about = about
        self.problem = ""
        self.on_change: Callable[[], None] = _nothing
        self._quiet = False
        self._note = widgets.HTML()

    def __repr__(self) -> str:
        return f"<{type(self).__name__.lower()} {self.key}: {self.text}>"

    @property
    def value(self) -> Any:
        raise NotImplementedError

    @property
    def text(self) -> str:
        """The value as the reader sees it."""
        return str(self.value)

    @property
    def written(self) -> Any:
        """The value as a build file takes it: a text with the reader's unit, or a flag."""
        return self.value

    def reading(self, value: Any) -> Any:
        """What the field would hold for a value or text.  QuantityError if it can't."""
        return value

    def set(self, value: Any) -> None:
        """Take a value from the program; the reader's own change calls ``on_change``."""
        raise NotImplementedError

    def use_units(self, system: str) -> None:
        """Show the value in "US" or "SI" units."""

    def _tell(self, hint: str = "") -> None:
        wrong = bool(self.problem)
        text = self.problem or hint or self.about
        mark = ' role="alert" class="vp-note vp-wrong"' if wrong else ' class="vp-note"'
        self._note.value = f"<div{mark}>{escape(text)}</div>" if text else ""
        (self.box.add_class if wrong else self.box.remove_class)("vp-bad")

    @contextmanager
    def _silence(self) -> Iterator[None]:
        """Changes made inside are the program's, not the reader's."""
        before, self._quiet = self._quiet, True
        try:
            yield
        finally:
            self._quiet = before

    def _frame(self, *parts: widgets.Widget) -> widgets.VBox:
        self.box = widgets.VBox([widgets.HBox(list(parts)), self._note])
        self.box.add_class("vp-field")
        self.box.add_class(f"vp-field-{self.key.replace('_', '-')}")
        return self.box


class Choice(Control):
    """One of a few words.  ``options`` are texts, or pairs of shown text and value."""

    def __init__(
        self,
        key: str,
        label: str,
        options: Sequence[str] | Sequence[tuple[str, Any]],
        value: Any = None,
        *,
        about: str = "",
    ) -> None:
        super().__init__(key, label, about)
        self._menu = widgets.Dropdown(description=label, options=options)
        if value is not None:
            self._menu.value = value
        self._frame(self._menu)
        self._menu.observe(self._picked, "value")
        self._tell()

    @property
    def value(self) -> Any:
        return self._menu.value

    @property
    def text(self) -> str:
        return str(self._menu.label)

    def set(self, value: Any) -> None:
        with self._silence():
            self._menu.value = value

    def set_options(self, options: Sequence[str] | Sequence[tuple[str, Any]]) -> None:
        """Offer other words; the value stays if it is still among them."""
        before = self._menu.value
        with self._silence():
            self._menu.options = options
            if before in [o[1] if isinstance(o, tuple) else o for o in options]:
                self._menu.value = before

    def _picked(self, change: Mapping[str, Any]) -> None:
        if not self._quiet:
            self.on_change()


class Flag(Control):
    """Yes or no."""

    def __init__(self, key: str, label: str, value: bool = False, *, about: str = "") -> None:
        super().__init__(key, label, about)
        self._tick = widgets.Checkbox(value=value, description=label, indent=False)
        self._frame(self._tick)
        self.box.add_class("vp-flag")
        self._tick.observe(self._ticked, "value")
        self._tell()

    @property
    def value(self) -> bool:
        return bool(self._tick.value)

    @property
    def text(self) -> str:
        return "yes" if self.value else "no"

    def set(self, value: bool) -> None:
        with self._silence():
            self._tick.value = value

    def _ticked(self, change: Mapping[str, Any]) -> None:
        if not self._quiet:
            self.on_change()


class Text(Control):
    """A free text, such as a name."""

    def __init__(self, key: str, label: str, value: str = "", *, about: str = "") -> None:
        super().__init__(key, label, about)
        self._entry = widgets.Text(value=value, description=label, continuous_update=False)
        self._frame(self._entry)
        self.box.add_class("vp-free-text")
        self._entry.observe(self._typed, "value")
        self._tell()

    @property
    def value(self) -> str:
        return str(self._entry.value)

    def set(self, value: str) -> None:
        with self._silence():
            self._entry.value = value

    def _typed(self, change: Mapping[str, Any]) -> None:
        if not self._quiet:
            self.on_change()
