"""Saving a build file whole or not at all, with the user's comments and order kept.

Changing values in the text of a build file: only their own letters change.
"""

from __future__ import annotations

import os
import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from ...words.files import folder_held, replace_whole
from ..model import LISTS, SECTIONS, Build
from ..problems import BuildError, Problem, listed, nearest, quoted, short
from .read import loads, read_text
from .toml_text import KeyPath, Walker, walk

_ESCAPES = {'"': '\\"', "\\": "\\\\", "\n": "\\n", "\t": "\\t", "\r": "\\r"}


def changed(text: str, values: Mapping[str, Any], name: str = "") -> str:
    """The text of a build file with some values changed, and all else to the letter as it was.

    Keys are paths as in ``Build.given``; a value of None takes the key out.  Raises BuildError
    if the text is no build or a path names no part of it.
    """
    loads(text, name=name)
    problems = []
    for path, value in values.items():
        try:
            text = _one(text, path, value)
        except LookupError as error:
            problems.append(Problem(0, path, str(error.args[0])))
    if problems:
        raise BuildError(problems, name)
    return text


def toml(value: Any) -> str:
    """A value as TOML writes it.  TypeError for what TOML has no word for."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return '"' + "".join(_letter(c) for c in value) + '"'
    if isinstance(value, int):
        return repr(int(value))
    if isinstance(value, float):
        return repr(float(value))
    if isinstance(value, Mapping):
        pairs = ", ".join(f"{toml(str(k))} = {toml(v)}" for k, v in value.items())
        return f"{{ {pairs} }}" if pairs else "{}"
    if isinstance(value, Sequence):
        return "[" + ", ".join(toml(v) for v in value) + "]"
    raise TypeError(f"a build file can't hold {value!r}")


def _letter(c: str) -> str:
    if c in _ESCAPES:
        return _ESCAPES[c]
    return f"\\u{ord(c):04x}" if ord(c) < 32 or ord(c) == 127 else c


def _one(text: str, path: str, value: Any) -> str:
    """One value changed, put in or taken out.  LookupError with the reason if it can't be."""
    holder, key = _holder(tomllib.loads(text), path)
    return put(text, holder, key, value)


GUESSED = re.compile(
    r"\A[ \t]*#[ \t]*(estimated, to be measured|typical, see its plate|typical of its size"
    r"|typical, see what is printed on it|assumed, [^\r\n]*)(?=\r?$)",
    re.MULTILINE,
)
"""What the kit itself remarks behind a value that nobody has said yet: untrue of one that is."""


def put(text: str, holder: KeyPath, key: str, value: Any) -> str:
    """One value changed, put in or taken out, in the table at a path of any text that is TOML.

    Remarks stay, but for the kit's own that the value was a guess.
    LookupError with the reason if it can't be.
    """
    at = walk(text)
    place = (*holder, key)
    if place in at.values:
        start, end = at.values[place]
        if value is not None:
            rest = text[end:]
            if text[start:end] != toml(value):
                rest = GUESSED.sub("", rest, count=1)
            return text[:start] + toml(value) + rest
        return _without(text, at, place, end)
    if value is None:
        return text
    line_end = "\r\n" if "\r\n" in text else "\n"
    if holder not in at.lines:
        gap = line_end * (1 if text.endswith("\n") else 2)
        return f"{text}{gap}[{holder[0]}]{line_end}{key} = {toml(value)}{line_end}"
    if holder not in at.ends:
        raise LookupError("is in a table written on one line: give the table lines of its own")
    end = _line_end(text, at.ends[holder])
    return f"{text[:end]}{line_end}{key} = {toml(value)}{text[end:]}"


def _without(text: str, at: Walker, place: KeyPath, end: int) -> str:
    if place not in at.keys:
        raise LookupError("is in a table written on one line: give the table lines of its own")
    start = text.rfind("\n", 0, at.keys[place]) + 1
    rest = text.find("\n", end)
    return text[:start] + (text[rest + 1 :] if rest >= 0 else "")


def _line_end(text: str, place: int) -> int:
    """Where the line ends that a place is on, before the mark that ends it."""
    end = text.find("\n", place)
    if end < 0:
        return len(text)
    return end - 1 if text[end - 1] == "\r" else end


def _holder(data: Mapping[str, Any], path: str) -> tuple[KeyPath, str]:
    """Where the table stands that a path ends in, and the key.  LookupError if there is none."""
    head, _, rest = path.partition(".")
    middle, _, key = rest.rpartition(".")
    if head == "format":
        raise LookupError("can't be changed")
    if not key:
        raise LookupError('is no path of a value, such as "van.units" or "run.3.rise"')
    if head in SECTIONS and not middle:
        return (head,), key
    if head == "rows":
        table, _, row = middle.partition(".")
        rows = data.get("rows", {}).get(table, [])
        return ("rows", table, _number(rows, row, "row")), key
    if head not in LISTS:
        raise LookupError(f"names no part of a build{nearest(head, [*SECTIONS, *LISTS])}")
    parts = data.get(head, [])
    if head == "zone":
        manifold, _, middle = middle.partition(".")
        parts = [p if p["manifold"] == manifold else {} for p in parts]
    return (head, _number(parts, middle, head.replace("_", " "))), key


def _number(parts: Sequence[Mapping[str, Any]], name: str, kind: str) -> int:
    """Which part has that name, or that number counted from 1 if such parts have no names."""
    for number, part in enumerate(parts):
        if part.get("name") == name:
            return number
    names = [str(p["name"]) for p in parts if "name" in p]
    numbered = not names and name.isascii() and name.isdigit() and len(name) < 6
    if numbered and 1 <= int(name) <= len(parts):
        return int(name) - 1
    has = f"; there are {listed(names)}" if names else f"; there are {len(parts)}"
    raise LookupError(f"names no {kind} of this build: {quoted(name)}{has}")


def save(build: Build | str, path: str | os.PathLike[str]) -> Path:
    """Write a build, or the text of one, to a file, and give the file's path.

    The file is replaced in one step: whoever reads it, at any moment, finds the old text or
    the new one, whole.  Raises BuildError, and writes nothing, if the text is no build;
    ValueError for a Build that is not what its text says; OSError if the folder can't be
    written.
    """
    text = build.text if isinstance(build, Build) else build
    if isinstance(build, Build) and not text:
        raise ValueError("this build was not read from a text, so there is none to save")
    said = loads(text, name=short(os.fspath(path), 200))
    if isinstance(build, Build) and replace(said, path=build.path) != build:
        raise ValueError("this build is not what its text says: use change() to change a file")
    target = Path(os.path.realpath(path))
    with folder_held(target.parent) as alone:
        replace_whole(target, text, alone=alone)
    return Path(path)


def change(path: str | os.PathLike[str], values: Mapping[str, Any]) -> Build:
    """Change some values of a build file, keep its comments and order, and give the new Build.

    Keys are paths as in ``Build.given``: ``"mixing_valve.basin valve.setting"``, ``"run.3.rise"``
    (the third run), ``"van.units"``.  A value of None takes the key out, so that its default
    holds.  Raises BuildError, and writes nothing, if a path names no part or if the changed
    file would not load.  Two that change one file at once wait for each other.
    """
    target = Path(os.path.realpath(path))
    with folder_held(target.parent) as alone:
        text = changed(read_text(path), values, name=short(os.fspath(path), 200))
        build = loads(text, path=Path(path), name=short(os.fspath(path), 200))
        replace_whole(target, text, alone=alone)
    return build
