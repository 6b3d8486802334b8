"""What every component has, and the bounds that they share.

Every dimensional field is a float in SI (metres, pascals gauge, kelvins, seconds, watts).
``None`` means: not said, and no default would be honest; the code that needs it says so.

How one entry of a build file is declared: its word, its default and where that comes from.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from typing import Any, ClassVar


@dataclass(frozen=True)
class Entry:
    """What the reader must know about one key.

    ``kind`` is "quantity", "quantities", "number", "count", "flag", "text", "texts", "name",
    "reference", "references", "choice", "row", "counts_of_rows" or "ends".  ``word`` is the
    glossary word of a quantity, ``options`` the values of a choice, ``table`` the data table of a
    row.
    ``key`` is how the file writes it, if not by the field's own name.  ``low`` and ``high``
    are bounds in SI, tighter than the word's own; ``form`` is the form of a text ("clock",
    "span" or "moment").  ``basis`` says where the default comes from, and goes on the sheet
    beside the value.
    """

    kind: str
    word: str = ""
    options: tuple[str, ...] = ()
    table: str = ""
    basis: str = ""
    required: bool = False
    about: str = ""
    key: str = ""
    low: float | None = None
    high: float | None = None
    form: str = ""


def entries(part: type) -> dict[str, tuple[str, Entry, Any]]:
    """Key in the file to (field name, entry, default) of one declared part."""
    return {
        f.metadata["entry"].key or f.name: (f.name, f.metadata["entry"], f.default)
        for f in fields(part)
        if "entry" in f.metadata
    }


def _field(entry: Entry, default: Any) -> Any:
    return field(default=default, metadata={"entry": entry})


def quantity(
    word: str,
    default: float | None = None,
    *,
    required: bool = False,
    basis: str = "",
    about: str = "",
    low: float | None = None,
    high: float | None = None,
) -> Any:
    """A text with a unit such as ``"1.2 gal"``; held as a float in SI."""
    entry = Entry(
        "quantity", word=word, required=required, basis=basis, about=about, low=low, high=high
    )
    return _field(entry, default)


def typical_kv(cubic_metres_an_hour: float, state: str = "") -> Any:
    """A Kv that the file may leave out, as parts of the kind have it in a state ("open")."""
    told = f"{state}: flow at a loss of 1 bar" if state else "flow at a loss of 1 bar"
    return quantity(
        "flow_coefficient",
        cubic_metres_an_hour / 3600,
        low=TINY,
        basis="typical, measure yours",
        about=told,
    )


def quantities(word: str, *, about: str = "") -> Any:
    """A list of texts with units; held as a tuple of floats in SI."""
    return _field(Entry("quantities", word=word, about=about), ())


def number(
    word: str,
    default: float | None = None,
    *,
    basis: str = "",
    about: str = "",
    high: float | None = None,
) -> Any:
    """A bare number or a percentage such as ``0.62`` or ``"62 %"``."""
    return _field(Entry("number", word=word, basis=basis, about=about, high=high), default)


def count(default: int, *, most: int, about: str = "") -> Any:
    """A whole number from zero to ``most``."""
    return _field(Entry("count", about=about, high=most), default)


def flag(default: bool | None = False, *, basis: str = "", about: str = "") -> Any:
    """``true`` or ``false``; a default of None means: the table says."""
    return _field(Entry("flag", basis=basis, about=about), default)


def text(default: str = "", *, required: bool = False, form: str = "", about: str = "") -> Any:
    """Free text, shown as plain text everywhere, or one of the forms of Entry."""
    return _field(Entry("text", required=required, about=about, form=form), default)


def texts(*, form: str = "", about: str = "") -> Any:
    """A list of texts."""
    return _field(Entry("texts", about=about, form=form), ())


def name(about: str = "unique in the build, without a point") -> Any:
    """The name of a component: unique in the build, without a point."""
    return _field(Entry("name", required=True, about=about), "")


def reference(*, key: str = "", required: bool = False, about: str = "") -> Any:
    """The name of another component or of one of its ports (``"hot manifold.shower"``)."""
    return _field(Entry("reference", required=required, about=about, key=key), "")


def references(*, about: str = "") -> Any:
    """A list of names of other components."""
    return _field(Entry("references", about=about), ())


def choice(
    *options: str,
    default: str | None = None,
    required: bool = False,
    basis: str = "",
    about: str = "",
) -> Any:
    """One of a few words."""
    return _field(
        Entry("choice", options=options, required=required, basis=basis, about=about),
        default if default is not None else ("" if required else options[0]),
    )


def row(
    table: str, default: str = "", *, required: bool = False, basis: str = "", about: str = ""
) -> Any:
    """The name of a row in a table of ``data/`` or of the build file's own rows."""
    return _field(Entry("row", table=table, required=required, basis=basis, about=about), default)


def counts_of_rows(table: str, *, about: str = "") -> Any:
    """An inline table such as ``{ "elbow 90" = 2 }``: names of rows and whole numbers."""
    return _field(Entry("counts_of_rows", table=table, about=about, high=1000), ())


def ends_of_ports(*, about: str = "") -> Any:
    """An inline table of ends such as ``{ inlet = "1/2 in NPT male plastic" }``."""
    return _field(Entry("ends", about=about), ())


PRACTICE = "common practice, no source"

FREEZING, BOILING = 273.15, 373.15
"""Bounds of liquid water at sea level, K."""
COLDEST, HOTTEST = 213.15, 343.15
"""Bounds of the air that a van meets, K (−60 to 70 °C)."""
TINY = 1e-9
"""Low bound of what must be more than nothing."""


@dataclass(frozen=True, kw_only=True)
class Component:
    """Anything that a run can end at.  ``inlets`` and ``outlets`` are its port names."""

    inlets: ClassVar[tuple[str, ...]] = ("inlet",)
    outlets: ClassVar[tuple[str, ...]] = ("outlet",)

    name: str = name()
    ends: tuple[tuple[str, str], ...] = ends_of_ports(
        about="of its ports, each a size, a kind and a material; typical ones if not said"
    )
    price: float | None = number("price", about="of one, in the currency of the build")
    behind_front_axle: float | None = quantity(
        "distance", low=-3, high=15, about="of its middle; less than 0 where it stands ahead of it"
    )
    note: str = text(about="free remark, printed on the sheet")
