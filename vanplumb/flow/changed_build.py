"""A build with some of its figures changed, without a file: one value, or one for each variant."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, replace
from typing import Any

import numpy as np

from ..van.entries import Entry
from ..van.model import Build, label_of
from ..words.quantity import QuantityError, read


def vary(build: Build, changes: Mapping[str, Any]) -> Build:
    """The build with other values.

    Keys are paths as in ``Build.given``: ``"heater.heater.setpoint"``, ``"run.3.length"``.
    A value is a text with its unit, an SI number, or the name of a table's row; a list or
    array of these gives one to each variant.  ValueError lists every path that names nothing
    and every value that can't be read.
    """
    problems: list[str] = []
    edits: dict[str, dict[int, dict[str, Any]]] = {}
    for path, value in changes.items():
        try:
            section, index, key, entry = find(build, path)
            edits.setdefault(section, {}).setdefault(index, {})[key] = values(value, entry)
        except (KeyError, QuantityError) as error:
            problems.append(f"{path}: {error.args[0] if error.args else error}")
    if problems:
        raise ValueError("; ".join(problems))
    news: dict[str, Any] = {}
    for section, parts in edits.items():
        held = getattr(build, section)
        if isinstance(held, tuple):
            news[section] = tuple(
                replace(part, **parts[i]) if i in parts else part for i, part in enumerate(held)
            )
        else:
            news[section] = replace(held, **parts[0])
    return replace(build, **news)


def find(build: Build, path: str) -> tuple[str, int, str, Entry]:
    """Section, place in it, field and what may stand there.  KeyError if the path is unknown."""
    label, _, key = path.rpartition(".")
    section = label.partition(".")[0]
    held = getattr(build, section, None) if section in {f.name for f in fields(build)} else None
    parts: tuple[Any, ...] = held if isinstance(held, tuple) else (held,)
    for i, part in enumerate(parts):
        if part is None:
            continue
        if isinstance(held, tuple) and label_of(section, part, i + 1) != label:
            continue
        if not isinstance(held, tuple) and section != label:
            continue
        for f in fields(part):
            entry = f.metadata.get("entry")
            if entry is not None and (entry.key or f.name) == key:
                return section, i, f.name, entry
        raise KeyError(f"has no value {key!r}")
    raise KeyError("names no part of this build")


def values(value: Any, entry: Entry) -> Any:
    """One value, or an array of them, in SI.  QuantityError if it can't be read."""
    if entry.kind in ("quantity", "number") and entry.word:
        if isinstance(value, str):
            return read(value, entry.word)
        if hasattr(value, "to_base_units"):
            value = value.to_base_units().magnitude
        if isinstance(value, list | tuple | np.ndarray):
            listed = [read(v, entry.word) if isinstance(v, str) else float(v) for v in value]
            return np.array(listed)
        if isinstance(value, int | float) and not isinstance(value, bool):
            return float(value)
        raise QuantityError(f"needs a value for {entry.word}, got {value!r}")
    if isinstance(value, list | tuple | np.ndarray):
        return np.asarray(value)
    return value
