"""The build file as a JSON Schema, for editors that complete and check what is typed.

It is made from the same declarations as the reader, so that a new key is in both.  A schema can
say which keys there are and what sort of value each takes; whether a name is one of this build,
a unit fits, or a run arrives anywhere, only ``vanplumb check`` says.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import MISSING
from typing import Any

from ...words.glossary import word
from ...words.show import example
from ...words.tables import ColumnKind, table, table_names
from ...words.unit_table import NONE
from ..entries import Entry, entries
from ..model import FORMAT, LISTS, SECTIONS
from .values import NEVER_EMPTY

DRAFT = "https://json-schema.org/draft/2020-12/schema"
_NAME = r"^[^\s.]([^.]*[^\s.])?$"
_SOME_TEXT = r"\S"
_FIGURE = r"[0-9½¼¾⅛⅜⅝⅞]"
"""What a quantity has at least."""
_CLOCK = r"^\s*([01]?[0-9]|2[0-4]):[0-5][0-9]\s*$"
_FORMS = {
    "clock": _CLOCK,
    "span": r"^\s*[0-2]?[0-9]:[0-5][0-9]\s*[-–]\s*[0-2]?[0-9]:[0-5][0-9]\s*$",
    "moment": r"^[0-9]{4}-[0-9]{1,2}-[0-9]{1,2} [0-9]{1,2}:[0-9]{1,2}$",
}

Schema = dict[str, Any]


def schema() -> Schema:
    """The schema of a build file, as ``json.dumps`` takes it."""
    parts: Schema = {
        "format": {
            "type": "integer",
            "minimum": 1,
            "maximum": FORMAT,
            "description": "of the file, not of the van",
        }
    }
    parts |= {key: _part(kind) for key, kind in SECTIONS.items()}
    parts |= {key: {"type": "array", "items": _part(kind)} for key, kind in LISTS.items()}
    parts["rows"] = {
        "type": "object",
        "description": "rows of one's own for the data tables",
        "additionalProperties": False,
        "properties": {name: _rows(name) for name in table_names()},
    }
    return {
        "$schema": DRAFT,
        "title": "A camper van's fresh-water system, for vanplumb",
        "type": "object",
        "required": ["format", "van"],
        "additionalProperties": False,
        "properties": parts,
    }


def _part(kind: type) -> Schema:
    declared = entries(kind)
    told = (kind.__doc__ or "").partition("\n\n")[0]
    made = told.startswith(f"{kind.__name__}(")  # what dataclasses say where nobody wrote anything
    return {
        "type": "object",
        "description": "" if made else " ".join(told.split()),
        "additionalProperties": False,
        "required": [key for key, (_, entry, _) in declared.items() if entry.required],
        "properties": {
            key: {"description": _about(entry, default), **_value(entry)}
            for key, (_, entry, default) in declared.items()
        },
    }


def _about(entry: Entry, default: Any) -> str:
    said = [entry.about] if entry.about else []
    if entry.word and entry.kind in ("quantity", "quantities"):
        said.append(f"such as {example(word(entry.word).kind)}")
    if not entry.required and default not in (None, "", (), MISSING) and entry.basis:
        said.append(f"has a default: {entry.basis}")
    return "; ".join(said)


def _value(entry: Entry) -> Schema:
    return _KINDS[entry.kind](entry)


def _text(entry: Entry) -> Schema:
    if entry.form:
        pattern = _FORMS[entry.form]
        filled = entry.required or entry.form in NEVER_EMPTY
        return {"type": "string", "pattern": pattern if filled else f"^$|{pattern}"}
    return {"type": "string", **({"pattern": _SOME_TEXT} if entry.required else {})}


def _row(entry: Entry) -> Schema:
    """A name of a row: any text, since the file may have rows of its own; those shipped first."""
    return {"type": "string", "examples": list(table(entry.table))}


def _figure(name: str) -> Schema:
    """A figure of a glossary word: with its unit as text, bare only where there is no unit."""
    text = {"type": "string", "pattern": _FIGURE}
    return {"anyOf": [{"type": "number"}, text]} if word(name).dimension == NONE else text


def _many(one: Schema) -> Schema:
    return {"type": "array", "items": one}


_KINDS: dict[str, Callable[[Entry], Schema]] = {
    "quantity": lambda entry: _figure(entry.word),
    "quantities": lambda entry: _many(_figure(entry.word)),
    "number": lambda entry: _figure(entry.word),
    "count": lambda entry: {"type": "integer", "minimum": 0, "maximum": int(entry.high or 0)},
    "flag": lambda entry: {"type": "boolean"},
    "text": _text,
    "texts": lambda entry: _many(_text(entry)),
    "name": lambda entry: {"type": "string", "pattern": _NAME},
    "reference": _text,
    "references": lambda entry: _many({"type": "string"}),
    "choice": lambda entry: {"enum": list(entry.options)},
    "row": _row,
    "counts_of_rows": lambda entry: {
        "type": "object",
        "additionalProperties": {
            "type": "integer",
            "minimum": 0,
            "maximum": int(entry.high or 0),
        },
    },
    "ends": lambda entry: {"type": "object", "additionalProperties": {"type": "string"}},
}


def _rows(name: str) -> Schema:
    """Rows of one's own; what a row must have may come from the row that it is like."""
    known = table(name)
    columns = {
        key: {"description": kind.about, **_cell(kind)} for key, kind in known.columns.items()
    }
    return {
        "type": "array",
        "items": {
            "type": "object",
            "additionalProperties": False,
            "required": ["name"],
            "properties": {
                "name": {"type": "string", "pattern": _SOME_TEXT},
                "like": {"enum": list(known)} if len(known) else {"type": "string"},
                **columns,
            },
        },
    }


def _cell(column: ColumnKind) -> Schema:
    if column.flag:
        return {"type": "boolean"}
    one = _figure(column.word) if column.word else {"type": "string"}
    return _many(one) if column.many else one
