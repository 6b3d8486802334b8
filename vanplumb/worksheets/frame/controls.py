"""A value with a unit: a text box in which any unit can be typed, with a slider beside it.

Both are worked from the keyboard.  What can't be read is told beside the field in plain words,
and the last good value stays.  The other controls are in ``controls``.

The plain controls of a worksheet: one of a few words, yes or no, a free text.
A control for several lines of text, such as the readings of a test.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from html import escape
from typing import Any

import ipywidgets as widgets

from ...words.glossary import word as word_of
from ...words.quantity import QuantityError, as_typed, split, unit_of
from ...words.show import show, to_si, unit
from ...words.show import value as in_unit
from ...words.typed import CV, tidy, typed
from .plain import across, html, line


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
        self._note = html()
        self._named: Any
        """The widget whose description is the label; ``Lines`` has none."""

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

    def speak(self, say: Callable[[str], str]) -> None:
        """Tell label and remark in the words of a region."""
        self.label, self.about = say(self.label), say(self.about)
        self._show_label()
        self._tell()

    def _show_label(self) -> None:
        self._named.description = self.label

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
        self.box = widgets.VBox([across(*parts), self._note])
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
        self._menu = self._named = widgets.Dropdown(description=label, options=options)
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

    def speak(self, say: Callable[[str], str]) -> None:
        """Names that a build file uses stay; what is shown in their place is told."""
        super().speak(say)
        value = self._menu.value
        pairs = [(say(o[0]), o[1]) if isinstance(o, tuple) else o for o in self._menu.options]
        with self._silence():
            self._menu.options = pairs
            self._menu.value = value

    def _picked(self, change: Mapping[str, Any]) -> None:
        if not self._quiet:
            self.on_change()


class Flag(Control):
    """Yes or no."""

    def __init__(self, key: str, label: str, value: bool = False, *, about: str = "") -> None:
        super().__init__(key, label, about)
        self._tick = widgets.Checkbox(value=value, description=label, indent=False)
        self._named = self._tick
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
        self._entry = line(value=value, description=label, continuous_update=False)
        self._named = self._entry
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


class Lines(Control):
    """Several lines.  What is wrong in them is told by whoever reads them."""

    def __init__(self, key: str, label: str, value: str = "", *, about: str = "") -> None:
        super().__init__(key, label, about)
        rows = max(6, value.count("\n") + 3)
        self._entry = widgets.Textarea(value=value, rows=rows, continuous_update=False)
        self._entry.layout.width = "100%"
        self._head = widgets.Label(value=label)
        self._frame(widgets.VBox([self._head, self._entry]))
        self.box.add_class("vp-lines")
        self._entry.observe(self._typed, "value")
        self._tell()

    def _show_label(self) -> None:
        self._head.value = self.label

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


class Quantity(Control):
    """A value with a unit.

    ``word`` is a glossary word; ``value``, ``low`` and ``high`` are SI floats or texts with a
    unit ("41 °C").  ``step`` is in the reader's unit and follows from the range if not given,
    as a number or as ``{"US": 1, "SI": 0.5}``.  Raises QuantityError for a text that is not
    that quantity, ValueError if the value is outside the range.
    """

    def __init__(
        self,
        key: str,
        label: str,
        word: str,
        value: float | str,
        low: float | str,
        high: float | str,
        *,
        step: float | Mapping[str, float] | None = None,
        units: str = "SI",
        about: str = "",
    ) -> None:
        super().__init__(key, label, about)
        self.word = word
        self.units = units
        self.low, self.high = self._number(low), self._number(high)
        self._value = self._number(value)
        if not self.low <= self._value <= self.high:
            raise ValueError(f"{label}: {value} is not within {low} to {high}")
        self._step = step
        self._entry = self._named = line(description=label, continuous_update=False)
        self._sliders: dict[str, widgets.FloatSlider] = {}
        self._frame(self._entry)
        self.use_units(units)
        self._entry.observe(self._typed, "value")
        self._tell()

    @property
    def value(self) -> float:
        return self._value

    @property
    def text(self) -> str:
        return self._shown(self._value)

    @property
    def written(self) -> str:
        if word_of(self.word).is_rise:
            return f"{self._value:.6g} K"
        mark = unit(self.word, self.units)
        return f"{self._value_in(self.units):.6g} {mark}".strip()

    def reading(self, value: float | str) -> float:
        number = self._number(value)
        self._within(number, value if isinstance(value, str) else self._shown(number))
        return number

    def set(self, value: float | str) -> None:
        self._value, self.problem = self.reading(value), ""
        self._refresh(entry=True)
        self._tell()

    def speak(self, say: Callable[[str], str]) -> None:
        super().speak(say)
        for slider in self._sliders.values():
            slider.tooltip = self.label

    def following(self, before: float) -> float:
        """The value one move farther than the last, which came from ``before``."""
        slider = self._slider
        was, at = in_unit(before, self.word, self.units), self._value_in(self.units)
        place = min(max(round(at + at - was, 9), slider.min), slider.max)
        return self._at(place, self.units)

    def _at(self, place: float, system: str) -> float:
        """The value at a place of the handle."""
        return min(max(to_si(place, self.word, system), self.low), self.high)

    def use_units(self, system: str) -> None:
        self.units = system
        if system not in self._sliders:
            self._sliders[system] = self._new_slider(system)
        self._refresh(entry=not self.problem)
        self.box.children[0].children = [self._entry, self._slider]

    @property
    def _slider(self) -> widgets.FloatSlider:
        return self._sliders[self.units]

    def _new_slider(self, system: str) -> widgets.FloatSlider:
        """A slider with round places in one system of units.

        Each system has its own, whose scale never changes: what the browser still has to say
        about a handle when the units change is then read in the units it was meant in.
        """
        low, high = in_unit(self.low, self.word, system), in_unit(self.high, self.word, system)
        step = self._step.get(system) if isinstance(self._step, Mapping) else self._step
        step = step or _round_step(high - low, unit(self.word, system))
        slider = widgets.FloatSlider(
            value=self._value_in(system),
            # A drag to the very end gives the true bound.
            min=math.floor(low / step + 1e-6) * step,
            max=math.ceil(high / step - 1e-6) * step,
            step=step,
            readout=False,
            tooltip=self.label,
        )
        slider.observe(lambda change: self._dragged(change["new"], system), "value")
        return slider

    def _value_in(self, system: str) -> float:
        return in_unit(self._value, self.word, system)

    def _number(self, value: float | str) -> float:
        if not isinstance(value, str):
            return float(value)
        if word_of(self.word).is_rise:
            # In a field that can only be a difference, degrees are degrees of difference.
            number, mark = split(tidy(value, "temperature"))
            if mark and unit_of(mark).offset:
                return number * unit_of(mark).factor
        return typed(value, self.word, self.units)

    def _shown(self, number: float) -> str:
        mark = unit(self.word, self.units)
        return f"{show(number, self.word, self.units, with_unit=False)} {mark}".strip()

    def _within(self, number: float, text: str) -> None:
        said = tidy(text, self.word)
        room = (self.high - self.low) * 1e-9
        if not self.low - room <= number <= self.high + room:
            ends = (self.low, self.high)
            low, high = (as_typed(one, self.word, said, self.units) for one in ends)
            do = f"type {high} or less" if number > self.high else f"type {low} or more"
            raise QuantityError(f'must be {low} to {high}, got "{text}": {do}')

    def _refresh(self, *, entry: bool) -> None:
        with self._silence():
            self._slider.value = self._value_in(self.units)
            if entry:
                self._entry.value = self.text

    def _typed(self, change: Mapping[str, Any]) -> None:
        if self._quiet:
            return
        text = change["new"]
        try:
            self._value, self.problem = self.reading(str(text).strip()), ""
        except QuantityError as error:
            self.problem = f"{self.label} {error}"
        else:
            self._refresh(entry=re.search(r"[^\d\s./½¼¾⅛⅜⅝⅞−+-]", str(text)) is None)
        self._tell("" if self.problem else self._meaning(str(text)))
        self.on_change()

    def _meaning(self, text: str) -> str:
        """What the field took the text for, where that is not plain to see."""
        kv = word_of(self.word).kind == "flow_coefficient"
        cv = f"Cv {self._value / CV:.3g}" if kv else ""
        if self._in_own_unit(text):
            return cv
        return ", ".join(part for part in (f"= {self.text}", cv) if part)

    def _in_own_unit(self, text: str) -> bool:
        """Whether the reader's own unit was typed, so that nothing needs converting."""
        mark = unit(self.word, self.units)
        found = split(text)[1]
        if not mark or not found:
            return True
        try:
            return unit_of(found) == unit_of(mark)
        except QuantityError:
            return False

    def _dragged(self, place: float, system: str) -> None:
        # The browser puts the handle on the nearest step and says so: that is no drag.
        nearest = abs(place - self._value_in(system)) <= 0.501 * self._sliders[system].step
        if self._quiet or nearest:
            return
        self._value = self._at(place, system)
        self.problem = ""
        self._refresh(entry=True)
        self._tell()
        self.on_change()


def temperature_field(key: str, label: str, value: str, low: str, high: str) -> Quantity:
    """A temperature that is dragged by whole °F or half °C."""
    return Quantity(key, label, "temperature", value, low, high, step={"US": 1, "SI": 0.5})


def _round_step(span: float, mark: str) -> float:
    """About a hundredth of the range, rounded to 1, 2 or 5; sixteenths for inches."""
    if mark == "in" and span <= 120:
        return 1 / 16 if span <= 24 else 1 / 4
    rough = span / 100
    power = 10.0 ** math.floor(math.log10(rough))
    return next(power * m for m in (1, 2, 5, 10) if power * m >= rough * 0.999)
