"""What a van's record can say: kinds of events, what each must name, and one line for each.

A line reads ``00012 2025-03-03 09:12:05+01:00 joint wept {"joint": "C3"} 5f3a21bc07d4e6aab190…``:
a running number, the time, the event, what belongs to it, and its mark.  The mark is a checksum of
the line, 8 letters, and 16 more that follow from the mark of the line before, so that the lines
are a chain: one that is changed, taken out or put in no longer agrees with what follows.  It shows
gaps and edits; it is no signature.  Who writes the whole file anew makes a new chain, which only a
mark printed on paper gives away.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

KINDS: dict[str, tuple[str, ...]] = {
    "van started": ("van",),
    "joint made": ("joint", "kind"),
    "joint tested": ("joint",),
    "joint wept": ("joint",),
    "joint repaired": ("joint", "how"),
    "system tested": ("medium", "pressure", "result"),
    "disinfected": ("concentration", "duration"),
    "flushed": ("residual",),
    "drained": (),
    "filled for winter": ("antifreeze",),
    "filled": (),
    "valve set": ("valve", "temperature"),
    "reading taken": ("reading", "value"),
    "tried": ("what", "result"),
    "part fitted": ("part", "serial"),
    "part replaced": ("part", "with"),
    "photograph": ("of", "file", "sha256"),
    "sheet in use": ("sheet",),
    "gauge named": ("gauge", "range", "step"),
    "gauge read": ("gauge", "time", "pressure", "temperature"),
    "finding countersigned": ("finding", "where", "severity", "reason", "by", "sheet"),
    "handed over": ("to",),
    "came back": ("why",),
    "note": ("text",),
    "line set aside": ("line", "kept_in"),
}
"""Events, and the details that each must give; any others may be added."""
OLD_NAMES = {"joint weeped": "joint wept"}
"""What older records call an event, and what it is called now."""

_LINE = re.compile(
    r"^(?P<number>\d{5,}) (?P<time>\d{4}-\d\d-\d\d \d\d:\d\d:\d\d\S*) "
    r"(?P<kind>[a-z ]+) (?P<details>\{.*\}) (?P<mark>[0-9a-f]{8}(?:[0-9a-f]{16})?)$"
)


class EventError(ValueError):
    """An event that can't be written down; the message lists every problem."""


class DamagedLine(ValueError):
    """A line that is not whole; the message says what is wrong with it."""


@dataclass(frozen=True)
class Event:
    """One line of a record.  ``mark`` is the end of its line, empty before it is written."""

    number: int
    time: str
    kind: str
    details: Mapping[str, Any]
    mark: str = field(default="", compare=False)

    def get(self, name: str, otherwise: str = "") -> str:
        """One detail as a text."""
        return str(self.details.get(name, otherwise))

    @property
    def told(self) -> str:
        """The event in words, without number and time."""
        said = [f"{k.replace('_', ' ')} {v}" for k, v in self.details.items()]
        rest = [one.removesuffix(".") for one in said[:-1]] + said[-1:]  # no full stop within
        return f"{self.kind}: {', '.join(rest)}" if rest else self.kind


def check(kind: str, details: Mapping[str, Any]) -> None:
    """EventError if the kind is unknown, a detail is missing, or a value can't be written."""
    if kind not in KINDS:
        known = ", ".join(k for k in KINDS if k != "line set aside")
        raise EventError(f"doesn't know the event {kind!r}; there are {known}")
    problems = [
        f"needs `{name}`"
        for name in KINDS[kind]
        if details.get(name) is None or str(details[name]).strip() == ""
    ]
    for name, value in details.items():
        if not isinstance(value, str | int | float | bool):
            problems.append(f"`{name}` must be a text or a number, got {type(value).__name__}")
        elif isinstance(value, float) and value - value != 0:
            problems.append(f"`{name}` must be a number, got {value}")
        elif isinstance(value, str) and len(value) > 10_000:
            problems.append(f"`{name}` is longer than 10000 letters")
    if problems:
        raise EventError(f"{kind}: {'; '.join(problems)}")


def _sum(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def _mark(body: str, before: str) -> str:
    """The mark of a line that follows the line with the mark ``before``."""
    return _sum(body)[:8] + _sum(f"{before}\n{body}")[:16]


def _printable(text: str) -> str:
    """What a screen might not show is written as an escape."""
    out = []
    for c in text:
        if c.isprintable():
            out.append(c)
        elif ord(c) > 0xFFFF:
            high, low = divmod(ord(c) - 0x10000, 0x400)
            out.append(f"\\u{0xD800 + high:04x}\\u{0xDC00 + low:04x}")
        else:
            out.append(f"\\u{ord(c):04x}")
    return "".join(out)


def write_line(event: Event, before: str = "") -> bytes:
    """The event as one line, with its end; ``before`` is the mark of the line before."""
    details = _printable(json.dumps(dict(event.details), ensure_ascii=False))
    body = f"{event.number:05d} {event.time} {event.kind} {details}"
    return f"{body} {_mark(body, before)}\n".encode()


def read_line(line: bytes) -> Event:
    """The event of one line (without its end).  DamagedLine says what is wrong.

    Whether a chained line follows the one before is asked by ``follows``.
    """
    try:
        text = line.decode("utf-8")
    except UnicodeDecodeError:
        raise DamagedLine("is not text") from None
    match = _LINE.match(text)
    if match is None:
        raise DamagedLine("is not whole")
    mark = match["mark"]
    if _sum(text[: match.start("mark") - 1])[:8] != mark[:8]:
        raise DamagedLine("does not agree with its checksum")
    try:
        details = json.loads(match["details"])
    except ValueError:
        raise DamagedLine("has details that can't be read") from None
    kind = OLD_NAMES.get(match["kind"], match["kind"])
    return Event(int(match["number"]), match["time"], kind, details, mark)


def follows(line: bytes, before: str) -> bool:
    """Whether a line that was read stands after the line with the mark ``before``.

    Lines of older records have a checksum of their own only, and are taken as they stand.
    """
    body, _, mark = line.decode("utf-8").rpartition(" ")
    return len(mark) == 8 or _mark(body, before) == mark
