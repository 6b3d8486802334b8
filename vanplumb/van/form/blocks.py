"""The blocks of a build file's text: found, put in, taken out, all else to the letter as it was.

A block is a heading such as ``[[tank]]`` with its keys, the remarks that stand right above it and
those that follow its last key.  Works on any text that is TOML, a build or not yet.  Parts of one
kind may stand apart from each other in a file, which a library for TOML that keeps an order of
its own would gather; so the places come from the walk that also finds the lines of problems.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from ..file.toml_text import KeyPath, reason, walk
from ..file.write import put, toml
from ..model import LISTS, SECTIONS
from ..problems import quoted


class FormError(ValueError):
    """A step that can't be done; the message says why, and nothing is changed."""


class Unreadable(FormError):
    """The text is no TOML; ``line`` is where its reader stopped."""

    def __init__(self, line: int, told: str) -> None:
        super().__init__(f"line {line}: {told}")
        self.line, self.told = line, told


@dataclass(frozen=True)
class Block:
    """One part as the text has it.  ``place`` is its path, ``start`` and ``end`` its letters.

    ``label`` is as in ``Build.given``: "tank.fresh", "run.3", "van".
    """

    kind: str
    number: int
    place: KeyPath
    label: str
    values: Mapping[str, Any]
    line: int
    start: int
    end: int

    @property
    def name(self) -> str:
        return str(self.values.get("name", ""))

    def said(self, key: str) -> str:
        """A value as text, empty if it is not said."""
        return str(self.values.get(key, ""))


def read(text: str) -> dict[str, Any]:
    """What the text holds.  Unreadable if it is no TOML."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise Unreadable(*reason(text, error)) from None
    except (RecursionError, ValueError, OverflowError):
        raise Unreadable(
            1, "is nested too deeply, or has a number with far too many digits"
        ) from None


@lru_cache(maxsize=16)
def blocks(text: str) -> tuple[Block, ...]:
    """Every section and part, in the order of the kinds, then of the file.

    Those in a table written on one line have no letters of their own: ``start`` is ``end``.
    """
    data, at = read(text), walk(text)
    starts = _line_starts(text)
    found = []
    for key in (*SECTIONS, *LISTS):
        said: Any = data.get(key)
        many = isinstance(said, list)
        parts: list[Any] = said if many else [said]
        for number, one in enumerate(parts):
            if not isinstance(one, dict):
                continue
            place: KeyPath = (key, number) if many else (key,)
            line = at.lines.get(place, 1)
            start = end = 0
            if place in at.ends:
                start = _with_lead(text, starts, line)
                end = _with_tail(text, at.ends[place])
            label = _label(key, one, number) if many else key
            found.append(Block(key, number, place, label, one, line, start, end))
    return tuple(found)


def _label(kind: str, said: Mapping[str, Any], number: int) -> str:
    name = said.get("name")
    if not isinstance(name, str) or not name.strip():
        return f"{kind}.{number + 1}"
    return f"{kind}.{said.get('manifold', '?')}.{name}" if kind == "zone" else f"{kind}.{name}"


def block_of(text: str, label: str) -> Block:
    """The block of that label.  FormError if there is none."""
    for one in blocks(text):
        if one.label == label:
            return one
    raise FormError(f"there is no {quoted(label)} in the text")


def put_value(text: str, place: KeyPath, key: str, value: Any) -> str:
    """The text with one value changed or put in; None takes the key out."""
    try:
        return put(text, place, key, value)
    except LookupError as error:
        raise FormError(f"{key} {error.args[0]}") from None


def with_block(
    text: str, kind: str, values: Mapping[str, Any], remarks: Mapping[str, str] | None = None
) -> str:
    """The text with one more part, behind the last of its kind or of those before it."""
    found = blocks(text)
    told = remarks or {}
    lines = [f"[[{kind}]]" if kind in LISTS else f"[{kind}]"]
    for key, value in values.items():
        line = f"{key} = {toml(value)}"
        lines.append(f"{line.ljust(32)} # {told[key]}" if key in told else line)
    order = [*SECTIONS, *LISTS]
    groups = [[b for b in found if b.kind == before] for before in order[: order.index(kind) + 1]]
    zones = [b for b in found if b.kind == "zone"]
    if kind == "manifold":  # behind the zones of the last one
        groups[-1] += zones
    elif kind == "zone":  # behind those of its own manifold
        of = values.get("manifold")
        groups[-1] = [b for b in zones if b.said("manifold") == of]
        groups[-1] += [b for b in found if b.kind == "manifold" and b.name == of]
    at = next(
        (max(ends) for g in reversed(groups) if (ends := [b.end for b in g if b.end])), len(text)
    )
    mark = "\r\n" if "\r\n" in text else "\n"
    head, rest = text[:at], text[at:]
    gap = "" if not head else mark if head.endswith("\n") else mark * 2
    after = "" if not rest or rest[0] in "\r\n" else mark
    return head + gap + mark.join(lines) + mark + after + rest


def without_blocks(text: str, places: set[KeyPath]) -> str:
    """The text without some parts.  FormError if one is in a table written on one line."""
    gone = [b for b in blocks(text) if b.place in places]
    for one in gone:
        if one.start == one.end:
            raise FormError(
                f"{one.label} is in a table written on one line: give the table lines of its own"
            )
    for one in sorted(gone, key=lambda b: -b.start):
        end = one.end
        blank = re.compile(r"[ \t]*\r?\n")
        while match := blank.match(text, end):  # the blank lines behind it go with it
            end = match.end()
        kept = text[one.end : end] if not text[: one.start].strip() else ""
        text = text[: one.start] + kept.lstrip("\r\n") + text[end:]
    return text


def _line_starts(text: str) -> list[int]:
    return [0, *(m.end() for m in re.finditer("\n", text))]


_HEADING = re.compile(r"\s*#\s*(-{3}|={3}|\[)")
"""A remark that heads what follows, or a heading that is a remark: of no block."""


def _with_lead(text: str, starts: list[int], line: int) -> int:
    """Where a block begins: at the remarks right above its heading, if a blank line parts them."""
    first = line - 1
    while first > 0:
        above = text[starts[first - 1] : starts[first]]
        if not above.lstrip().startswith("#") or _HEADING.match(above):
            break
        first -= 1
    top = first == 0 or bool(text[starts[first - 1] : starts[first]].strip())
    return starts[line - 1] if top else starts[first]


def _with_tail(text: str, end: int) -> int:
    """Where a block ends: behind the line of its last key and the remarks that follow at once."""
    at = text.find("\n", end)
    at = len(text) if at < 0 else at + 1
    while at < len(text):
        stop = text.find("\n", at)
        stop = len(text) if stop < 0 else stop + 1
        line = text[at:stop]
        if not line.lstrip().startswith("#") or _HEADING.match(line):
            break
        at = stop
    return at
