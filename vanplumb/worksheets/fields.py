"""A value with a unit: a text box in which any unit can be typed, with a slider beside it.

Both are worked from the keyboard.  What can't be read is told beside the field in plain words,
and the last good value stays.  The other controls are in ``controls``.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import ipywidgets as widgets

from ..words.glossary import word as word_of
from ..words.quantity import QuantityError, read, split, unit_of
from ..words.show import show, to_si, unit
from ..words.show import value as in_unit
from .controls import Choice, Control, Flag, Text

__all__ = ["Choice", "Control", "Flag", "Quantity", "Text"]


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
        self.low, self.high = self._number(low), self._number(high)
        self._value = self._number(value)
        if not self.low <= self._value <= self.high:
            raise ValueError(f"{label}: {value} is not within {low} to {high}")
        self._step = step
        self.units = units
        self._entry = widgets.Text(description=label, continuous_update=False)
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
            number, mark = split(value)
            if mark and unit_of(mark).offset:
                return number * unit_of(mark).factor
        return read(value, self.word)

    def _shown(self, number: float) -> str:
        mark = unit(self.word, self.units)
        return f"{show(number, self.word, self.units, with_unit=False)} {mark}".strip()

    def _within(self, number: float, text: str) -> None:
        room = (self.high - self.low) * 1e-9
        if not self.low - room <= number <= self.high + room:
            low, high = self._shown(self.low), self._shown(self.high)
            raise QuantityError(f'must be {low} to {high}, got "{text}"')

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
            self._refresh(entry=False)
        self._tell("" if self.problem or self._in_own_unit(str(text)) else f"= {self.text}")
        self.on_change()

    def _in_own_unit(self, text: str) -> bool:
        """Whether the reader's own unit was typed, so that nothing needs converting."""
        mark = unit(self.word, self.units)
        return not mark or unit_of(split(text)[1]) == unit_of(mark)

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


def _round_step(span: float, mark: str) -> float:
    """About a hundredth of the range, rounded to 1, 2 or 5; sixteenths for inches."""
    if mark == "in" and span <= 120:
        return 1 / 16 if span <= 24 else 1 / 4
    rough = span / 100
    power = 10.0 ** math.floor(math.log10(rough))
    return next(power * m for m in (1, 2, 5, 10) if power * m >= rough * 0.999)
