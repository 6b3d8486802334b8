"""Reading one value of a build file as its declared entry asks."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Any

from ...words.glossary import word
from ...words.quantity import QuantityError, as_typed, needs, read
from ...words.tables import Table
from ..ends import EndError, read_end
from ..entries import Entry
from ..problems import listed, nearest, quoted

Tables = Callable[[str], Table]

HIGHEST: dict[str, float] = {
    "length": 1000.0,
    "diameter": 1.0,
    "thickness": 1.0,
    "depth": 10.0,
    "volume": 100.0,
    "mass": 20_000.0,
    "pressure": 3e7,
    "flow": 0.1,
    "flow_coefficient": 0.1,
    "power": 1e6,
    "current": 1000.0,
    "charge": 3.6e7,
    "frequency": 100.0,
    "velocity": 100.0,
    "rise": 100.0,
    "duration": 30 * 86400.0,
}
"""More than any van has, in SI: a value above it is a slip of the pen."""


NEVER_EMPTY = ("clock", "span")
"""Forms of a text that an empty one is no example of; no moment means: not planned."""


class ValueProblem(Exception):
    """A value that its entry refuses.  ``at`` is the path inside the value, if it has one."""

    def __init__(self, message: str, at: tuple[str | int, ...] = ()) -> None:
        super().__init__(message)
        self.at = at


def read_value(value: Any, entry: Entry, tables: Tables) -> Any:
    """The value in SI, or as text, flag or tuple.  ValueProblem if the entry refuses it."""
    return _READERS[entry.kind](value, entry, tables)


def as_written(value: Any) -> str:
    """A value as a reader of the file would say it."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return ", ".join(as_written(v) for v in value)
    if isinstance(value, dict):
        said = {k: as_written(v) for k, v in value.items()}
        if all(isinstance(v, str) for v in value.values()):
            return ", ".join(f"{k}: {v}" for k, v in said.items())
        return ", ".join(f"{v} × {k}" for k, v in said.items())
    return str(value)


def quantity_of(value: Any, name: str) -> float:
    """A quantity for the glossary word ``name``.  ValueProblem with the reason."""
    if isinstance(value, int) and not isinstance(value, bool) and abs(value) > 10**15:
        raise ValueProblem(f"needs {needs(word(name))}, got a number that is too large")
    try:
        return read(value, name)
    except QuantityError as error:
        raise ValueProblem(str(error)) from None
    except (ValueError, OverflowError):
        raise ValueProblem(f"needs {needs(word(name))}, got a number that is too large") from None


def plain_text(value: Any) -> str:
    """A text without control marks, which no page could show."""
    if not isinstance(value, str):
        raise ValueProblem(f"needs a text in quotes, got {_sort_of(value)}")
    for letter in value:
        code = ord(letter)
        if (code < 32 and letter not in "\n\t\r") or code == 127 or code in (0xFFFE, 0xFFFF):
            raise ValueProblem(f"has a control mark (code {code}) that can't be shown")
    return value


def name_of(value: Any) -> str:
    """A name: some text, not blank, without a point (the point parts a name from its port)."""
    said = plain_text(value)
    if not said.strip():
        raise ValueProblem("needs a name, got an empty text")
    if said != said.strip():
        raise ValueProblem(f"begins or ends with a blank: {quoted(said)}")
    if "." in said:
        raise ValueProblem(f"must not have a point in it, got {quoted(said)}")
    return said


def _sort_of(value: Any) -> str:
    if isinstance(value, bool):
        return "true or false without quotes"
    if isinstance(value, int | float):
        return "a bare number"
    sorts: dict[type, str] = {list: "a list", dict: "a table", str: "a text"}
    return sorts.get(type(value), "a date or time")


def _quantity(value: Any, entry: Entry, tables: Tables) -> float:
    return bounded(quantity_of(value, entry.word), value, entry)


def bounded(si: float, value: Any, entry: Entry) -> float:
    """The value itself if it is within the entry's bounds and any van's.  Else ValueProblem."""
    low = -math.inf if entry.low is None else entry.low
    high = HIGHEST.get(entry.word, math.inf) if entry.high is None else entry.high
    if low <= si <= high:
        return si
    said = as_written(value)
    doubt = ": look at the number and its unit" if si > high and entry.high is None else ""
    raise ValueProblem(f"{_bounds(si, low, high, entry.word, said)}, got {quoted(said)}{doubt}")


def _bounds(si: float, low: float, high: float, name: str, said: str) -> str:
    """What the bounds ask for, in the unit that was written."""
    least = "0" if low == 0 else as_typed(low, name, said)
    most = as_typed(high, name, said)
    if si < low and 0 < low < 1e-6:
        return "must be more than nothing"
    if si < low and (math.isinf(high) or high == HIGHEST.get(name)):
        return f"must be {least} or more"
    if low < 1e-6:
        return f"must be {most} or less"
    return f"must be {least} to {most}"


def _number(value: Any, entry: Entry, tables: Tables) -> float:
    return bounded(quantity_of(value, entry.word), value, entry)


def _quantities(value: Any, entry: Entry, tables: Tables) -> tuple[float, ...]:
    return tuple(_each(value, lambda v: _quantity(v, entry, tables), "texts with units"))


def _count(value: Any, entry: Entry, tables: Tables) -> int:
    most = int(entry.high or 0)
    if isinstance(value, bool) or not isinstance(value, int):
        raise ValueProblem(f"needs a whole number without quotes, got {quoted(as_written(value))}")
    if not 0 <= value <= most:
        got = str(value) if abs(value) < 10**15 else "a far larger number"
        raise ValueProblem(f"must be 0 to {most}, got {got}")
    return value


def _flag(value: Any, entry: Entry, tables: Tables) -> bool:
    if not isinstance(value, bool):
        raise ValueProblem(f"needs true or false without quotes, got {_sort_of(value)}")
    return value


def _text(value: Any, entry: Entry, tables: Tables) -> str:
    said = plain_text(value)
    if entry.required and not said.strip():
        raise ValueProblem("needs some text, got an empty one")
    if entry.form and (said or entry.form in NEVER_EMPTY):
        _FORMS[entry.form](said)
    return said


def _texts(value: Any, entry: Entry, tables: Tables) -> tuple[str, ...]:
    return tuple(_each(value, lambda v: _text(v, entry, tables), "texts in quotes"))


def _name(value: Any, entry: Entry, tables: Tables) -> str:
    return name_of(value)


def _reference(value: Any, entry: Entry, tables: Tables) -> str:
    said = plain_text(value)
    if entry.required and not said.strip():
        raise ValueProblem("needs a name, got an empty text")
    return said


def _references(value: Any, entry: Entry, tables: Tables) -> tuple[str, ...]:
    return tuple(_each(value, plain_text, "names in quotes"))


def _choice(value: Any, entry: Entry, tables: Tables) -> str:
    if value in entry.options and isinstance(value, str):
        return value
    near = nearest(value, entry.options) if isinstance(value, str) else ""
    raise ValueProblem(f"must be {listed(entry.options)}, got {quoted(as_written(value))}{near}")


def _row(value: Any, entry: Entry, tables: Tables) -> str:
    said = plain_text(value)
    known = tables(entry.table)
    if said not in known:
        near = nearest(said, known) or f": {listed(known)}"
        raise ValueProblem(f"names no row of the table {entry.table}, got {quoted(said)}{near}")
    return known.current(said)


def _counts(value: Any, entry: Entry, tables: Tables) -> tuple[tuple[str, int], ...]:
    if not isinstance(value, Mapping):
        raise ValueProblem('needs names and numbers such as { "elbow 90" = 2 }')
    found = []
    for key, times in value.items():
        try:
            found.append((_row(key, entry, tables), _count(times, entry, tables)))
        except ValueProblem as problem:
            raise ValueProblem(f"{quoted(key)}: {problem}", (key,)) from None
    return tuple(found)


def _ends(value: Any, entry: Entry, tables: Tables) -> tuple[tuple[str, str], ...]:
    if not isinstance(value, Mapping):
        raise ValueProblem('needs ports and ends such as { inlet = "1/2 in NPT male plastic" }')
    found = []
    for port, said in value.items():
        try:
            found.append((port, str(read_end(plain_text(said)))))
        except (EndError, ValueProblem) as problem:
            raise ValueProblem(f"{quoted(port)} {problem}", (port,)) from None
    return tuple(found)


def _each(value: Any, one: Callable[[Any], Any], what: str) -> list[Any]:
    if not isinstance(value, list):
        raise ValueProblem(f"needs a list of {what} in [ ], got {_sort_of(value)}")
    found = []
    for position, item in enumerate(value):
        try:
            found.append(one(item))
        except ValueProblem as problem:
            raise ValueProblem(f"number {position + 1}: {problem}", (position,)) from None
    return found


def minutes(clock: str) -> int:
    """Minutes after midnight of a clock time such as "07:30"; "24:00" ends a day."""
    match = re.fullmatch(r"([01]?\d|2[0-4]):([0-5]\d)", clock.strip(), re.ASCII)
    total = int(match[1]) * 60 + int(match[2]) if match else 9999
    if total > 24 * 60:
        raise ValueProblem(f'needs a clock time such as "07:30", got {quoted(clock)}')
    return total


def _span(said: str) -> None:
    start, dash, end = said.replace("–", "-").partition("-")
    try:
        right = bool(dash) and minutes(start) != minutes(end)
    except ValueProblem:
        right = False
    if not right:
        raise ValueProblem(f'needs a span of time such as "10:00-15:00", got {quoted(said)}')


FIRST_YEAR, LAST_YEAR = 1970, 2199
"""Of work in a shop: what lies outside is a slip of the pen, and calendars end at 9999."""


def _moment(said: str) -> None:
    try:
        when = datetime.strptime(said, "%Y-%m-%d %H:%M")
    except ValueError:
        raise ValueProblem(
            f'needs a day and a time such as "2025-03-03 08:00", got {quoted(said)}'
        ) from None
    if not FIRST_YEAR <= when.year <= LAST_YEAR:
        raise ValueProblem(f"must be in the years {FIRST_YEAR} to {LAST_YEAR}, got {quoted(said)}")


_FORMS: dict[str, Callable[[str], Any]] = {"clock": minutes, "span": _span, "moment": _moment}

_READERS: dict[str, Callable[[Any, Entry, Tables], Any]] = {
    "quantity": _quantity,
    "quantities": _quantities,
    "number": _number,
    "count": _count,
    "flag": _flag,
    "text": _text,
    "texts": _texts,
    "name": _name,
    "reference": _reference,
    "references": _references,
    "choice": _choice,
    "row": _row,
    "counts_of_rows": _counts,
    "ends": _ends,
}
