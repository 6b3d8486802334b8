"""How one entry of a build file is declared: its word, its default and where that comes from."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class Entry:
    """What the reader must know about one key.

    ``kind`` is "quantity", "number", "count", "flag", "text", "name", "choice", "row",
    "quantities", "texts", "names" or "counts_by_name".  ``word`` is the glossary word of
    a quantity, ``options`` the values of a choice, ``table`` the data table of a row.
    ``basis`` says where the default comes from, and goes on the sheet beside the value.
    """

    kind: str
    word: str = ""
    options: tuple[str, ...] = ()
    table: str = ""
    basis: str = ""
    required: bool = False
    about: str = ""


def _field(entry: Entry, default: Any) -> Any:
    return field(default=default, metadata={"entry": entry})


def quantity(
    word: str,
    default: float | None = None,
    *,
    required: bool = False,
    basis: str = "",
    about: str = "",
) -> Any:
    """A text with a unit such as ``"1.2 gal"``; held as a float in SI."""
    return _field(
        Entry("quantity", word=word, required=required, basis=basis, about=about), default
    )


def quantities(word: str, *, about: str = "") -> Any:
    """A list of texts with units; held as a tuple of floats in SI."""
    return _field(Entry("quantities", word=word, about=about), ())


def number(word: str, default: float | None = None, *, basis: str = "", about: str = "") -> Any:
    """A bare number or a percentage such as ``0.62`` or ``"62 %"``."""
    return _field(Entry("number", word=word, basis=basis, about=about), default)


def count(default: int | None = None, *, required: bool = False, about: str = "") -> Any:
    """A whole number, zero or more."""
    return _field(Entry("count", required=required, about=about), default)


def flag(default: bool = False, *, basis: str = "", about: str = "") -> Any:
    """``true`` or ``false``."""
    return _field(Entry("flag", basis=basis, about=about), default)


def text(default: str = "", *, required: bool = False, about: str = "") -> Any:
    """Free text, shown as plain text everywhere."""
    return _field(Entry("text", required=required, about=about), default)


def texts(*, about: str = "") -> Any:
    """A list of free texts."""
    return _field(Entry("texts", about=about), ())


def name() -> Any:
    """The name of a component: unique in the build, without a point."""
    return _field(Entry("name", required=True, about="unique in the build"), "")


def reference(*, required: bool = False, about: str = "") -> Any:
    """The name of another component or of one of its ports (``"hot manifold.shower"``)."""
    return _field(Entry("reference", required=required, about=about), "")


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
    return _field(Entry("counts_of_rows", table=table, about=about), ())
