"""What a phone at the bench hands back: checked entry by entry, and taken whole or not at all."""

from __future__ import annotations

import json
import shutil
import tempfile
from collections.abc import Iterable, Mapping
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ...words.quantity import QuantityError, read
from .events import Event, EventError
from .history import states
from .record import Record
from .signing import Refused, commission, dosed, make_joints, name_gauge, read_gauge

if TYPE_CHECKING:
    from ..engine import Shop

MOST = 5_000_000
"""Bytes of a file that is read at all."""
MEASURED = {
    "disinfected": {"concentration": "concentration", "duration": "duration"},
    "flushed": {"residual": "concentration"},
    "valve set": {"temperature": "temperature"},
}
"""Details that are figures with a unit: the glossary's word of each."""
PLAIN = (
    "disinfected",
    "flushed",
    "valve set",
    "part fitted",
    "joint wept",
    "joint repaired",
    "note",
)


def take(shop: Shop, record: Record, path: Path | str) -> list[Event]:
    """Write what the page handed back into the record.  Gives the events that are new to it.

    Refused, with nothing written, for a file of another van or state, or if any entry is refused;
    every such entry is told.
    """
    entries = _entries(shop, Path(path))
    known = {e.get("entry") for e in record.read().events}
    new = [e for e in entries if e["id"] not in known]
    with tempfile.TemporaryDirectory() as folder:
        trial = Record(Path(folder) / record.path.name, record.clock)
        for one, other in ((record.path, trial.path), (record.last, trial.last)):
            if one.exists():
                shutil.copyfile(one, other)
        wrong = []
        for number, entry in enumerate(new, 1):
            try:
                _write(shop, trial, entry)
            except (Refused, EventError, QuantityError) as why:
                wrong.append(f"entry {number}, {entry['kind']} at {entry['time'][:16]}: {why}")
    if wrong:
        raise Refused("nothing was taken:\n" + "\n".join(f"- {one}" for one in wrong))
    return [_write(shop, record, entry) for entry in new]


def _entries(shop: Shop, path: Path) -> list[dict[str, Any]]:
    """The entries of a file, each with id, time, kind and details."""
    if path.stat().st_size > MOST:
        raise Refused(f"{path.name} is too large to be a file of the bench")
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
        if not isinstance(data, dict) or data["format"] != 1:
            raise ValueError
        entries = data["entries"]
        whole = all(
            isinstance(e, dict)
            and all(isinstance(e.get(k), str) for k in ("id", "time", "kind"))
            and isinstance(e.get("details"), dict)
            for e in entries
        )
    except (ValueError, KeyError, TypeError, RecursionError):
        whole, data, entries = False, {}, []
    if not whole:
        raise Refused(f"{path.name} is not a file that the bench page handed back")
    if data.get("mark") != shop.build.mark:
        raise Refused(
            f"{path.name} is of state {data.get('mark')} of {data.get('van')}, the build file now "
            f"{shop.build.mark}: take it with the build file as it was"
        )
    return list(entries)


def _write(shop: Shop, record: Record, entry: Mapping[str, Any]) -> Event:
    """Check one entry and write it, with its own id and the time at which it was noted."""
    kind, said = entry["kind"], {k: str(v) for k, v in entry["details"].items()}
    by = said.pop("by", "")
    if not by.strip():
        raise Refused("has no initials")
    when = _time(entry["time"])
    if when > datetime.now().astimezone():
        raise Refused("is of the future: the phone's clock is ahead")
    marked = _Marked(record, entry["id"], when.isoformat(sep=" ", timespec="seconds"))
    if kind == "joint made":
        tool, batch = said.get("tool", ""), said.get("batch", "")
        return make_joints(shop, marked, [said.get("joint", "")], by, tool, batch)[0]
    if kind == "gauge named":
        return name_gauge(
            marked, said.get("gauge", ""), said.get("range", ""), said.get("step", ""), by
        )
    if kind == "gauge read":
        return read_gauge(
            marked, said.get("gauge", ""), said.get("pressure", ""), said.get("temperature", ""),
            by, said.get("time", ""),
        )  # fmt: skip
    if kind in ("reading taken", "tried"):
        name = said.get("reading") or said.get("what", "")
        value, _, why = (said.get("value") or said.get("result", "")).partition(": ")
        return commission(shop, marked, name, value, by, why)[0]
    if kind not in PLAIN:
        raise Refused(f"a phone can't note {kind!r}")
    _check(shop, record, kind, said)
    if kind == "valve set":
        line = f"{said.get('valve')}, as set"
        return commission(shop, marked, line, said.get("temperature", ""), by)[0]
    if kind == "flushed" and shop.dose is not None:
        return commission(shop, marked, f"{shop.dose.agent} left", said["residual"], by)[0]
    if kind == "disinfected":
        return dosed(marked, said["concentration"], said["duration"], by, said.get("with", ""))
    return marked.append(kind, **said, by=by.strip())


def _check(shop: Shop, record: Record, kind: str, said: Mapping[str, str]) -> None:
    for name, word in MEASURED.get(kind, {}).items():
        read(said.get(name, ""), word)
    if kind.startswith("joint ") and said.get("joint") not in states(record.read()):
        raise Refused(f"{said.get('joint')} is not in the record yet")
    names = {
        "valve set": ("valve", [v.name for v in shop.build.mixing_valve]),
        "part fitted": ("part", [c.name for c in shop.build.components]),
    }
    if kind in names:
        word, known = names[kind]
        if said.get(word) not in known:
            raise Refused(f"the build names no {word} {said.get(word)!r}")


class _Marked(Record):
    """The same record; what is written bears the id of its entry and when it was noted."""

    def __init__(self, record: Record, entry: str, noted: str) -> None:
        super().__init__(record.path, record.clock)
        self._more = {"noted": noted, "entry": entry}

    def append_together(self, events: Iterable[tuple[str, Mapping[str, Any]]]) -> list[Event]:
        return super().append_together((kind, {**said, **self._more}) for kind, said in events)


def _time(text: str) -> datetime:
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        raise Refused(f"has a time that can't be read, {text[:30]!r}") from None
    return found if found.tzinfo else found.astimezone()
