"""The record of a van: a text file that only ever grows, one line an event.

An event is acknowledged when ``append`` returns: by then its line is on the disk.  One writer
at a time holds a lock.  A last line that a kill left half written is moved to a second file
beside the record, and the record says so; nothing is dropped in silence.

Each line bears a mark that follows from the line before (see ``events``), and a small file
beside the record keeps the mark of the last line, so that lines taken off its end are missed.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any

from ...words.files import sync_folder, write_whole
from .events import OLD_NAMES, DamagedLine, Event, EventError, check, follows, read_line, write_line

HEAD = b"# record of one van, one line an event; only add lines, never change one\n"
WAIT = 20.0
OWN_WORDS = ("batch", "by", "gauge", "how", "of", "reason", "serial", "text", "to", "tool",
             "warranty", "why", "with")  # fmt: skip
"""Details of events that somebody typed."""


class RecordError(OSError):
    """The record can't be read or written; the message says why and what to do."""


@dataclass(frozen=True)
class Problem:
    """Something that is wrong in a record: which line (from 1; 0 for the whole), and what."""

    line: int
    what: str

    def __str__(self) -> str:
        return f"line {self.line} {self.what}" if self.line else self.what


@dataclass(frozen=True)
class Contents:
    """All that a record holds: events in order, and what could not be read."""

    events: tuple[Event, ...] = ()
    problems: tuple[Problem, ...] = ()

    @property
    def mark(self) -> str:
        """The mark of the last line: printed on a paper, it tells whether lines changed since."""
        return self.events[-1].mark if self.events else ""

    @property
    def typed(self) -> tuple[str, ...]:
        """What people wrote in their own words, each once: it is printed as it was written."""
        said = (e.get(key) for e in self.events for key in OWN_WORDS)
        return tuple(dict.fromkeys(filter(None, said)))

    def of(self, *kinds: str) -> tuple[Event, ...]:
        """The events of some kinds."""
        return tuple(e for e in self.events if e.kind in kinds)


def _now() -> str:
    return datetime.now().astimezone().isoformat(sep=" ", timespec="seconds")


class Record:
    """One van's record in one file.

    ``clock`` gives the time as text; tests and worked examples put their own.
    """

    def __init__(self, path: Path | str, clock: Callable[[], str] = _now) -> None:
        self.path = Path(path)
        self.clock = clock

    def __repr__(self) -> str:
        return f"Record {self.path.name}"

    @property
    def set_aside(self) -> Path:
        """Where damaged last lines are kept."""
        return self.path.with_name(self.path.name + ".damaged")

    @property
    def last(self) -> Path:
        """Where the number and the mark of the last line are kept."""
        return self.path.with_name(self.path.name + ".last")

    def append(self, kind: str, /, **details: Any) -> Event:
        """Write one event and return it once it is on the disk.

        EventError if the event is not complete, RecordError if it can't be written; in both
        cases nothing was added.
        """
        kind = OLD_NAMES.get(kind, kind)
        check(kind, details)
        try:
            with self._opened(writing=True) as file:
                number, before = self._made_whole(file)
                return self._write(file, Event(number, self.clock(), kind, details), before)
        except EventError:
            raise
        except OSError as error:
            raise self._told(error, "write") from error

    def read(self) -> Contents:
        """All events, and every line that can't be trusted.  Changes nothing.

        A record that does not exist yet is empty.
        """
        if not self.path.exists():
            gone = self._gone()
            return Contents(problems=(Problem(0, gone),) if gone else ())
        try:
            with self._opened(writing=False) as file:
                data = _all(file)
                last = self._known_last()
        except OSError as error:
            raise self._told(error, "read") from error
        found = contents(data)
        missed = _missed(found, last)
        return replace(found, problems=(*found.problems, Problem(0, missed))) if missed else found

    def _gone(self) -> str:
        """What is told of a record that is not there while its last mark is."""
        last = self._known_last()
        if last is None:
            return ""
        return f"{self.path.name} is gone or empty, and {self.last.name} tells of entry {last[0]}"

    @contextmanager
    def _opened(self, *, writing: bool) -> Iterator[int]:
        flags = os.O_RDWR | os.O_CREAT | os.O_APPEND if writing else os.O_RDONLY
        new = writing and not self.path.exists()
        file = os.open(self.path, flags | getattr(os, "O_BINARY", 0), 0o644)
        try:
            _lock(file, shared=not writing)
            if new:
                sync_folder(self.path.parent)
            yield file
        finally:
            os.close(file)

    def _made_whole(self, file: int) -> tuple[int, str]:
        """Put a damaged last line aside, and give the next number and the mark to follow."""
        data = _all(file)
        if not data:
            if gone := self._gone():
                raise RecordError(f"{gone}: put it back")
            self._add(file, HEAD)
            return 1, ""
        good, broken = _split_off_damage(data)
        if broken:
            self._keep(broken)
            os.ftruncate(file, len(good))
            os.fsync(file)
        elif not data.endswith(b"\n"):
            self._add(file, b"\n")
        known = contents(good)
        number = max((e.number for e in known.events), default=0) + 1
        before = known.mark
        if broken:
            shown = broken.decode("utf-8", "replace").strip()[:200] or "(blank)"
            told = {"line": shown, "kept_in": self.set_aside.name}
            event = self._write(file, Event(number, self.clock(), "line set aside", told), before)
            number, before = number + 1, event.mark
        return number, before

    def _write(self, file: int, event: Event, before: str) -> Event:
        """Write the event's line and keep its mark, or neither.  Gives it with its mark."""
        size = os.fstat(file).st_size
        line = write_line(event, before)
        self._add(file, line)
        written = read_line(line[:-1])
        try:
            write_whole(self.last, f"{written.number} {written.mark}\n")
        except OSError:
            os.ftruncate(file, size)
            raise
        return written

    def _known_last(self) -> tuple[int, str] | None:
        """Number and mark of the last acknowledged line; None if that is not known."""
        try:
            number, mark = self.last.read_text(encoding="utf-8").split()
            return int(number), mark
        except (FileNotFoundError, ValueError):
            return None

    def _keep(self, broken: bytes) -> None:
        with self.set_aside.open("ab") as file:
            file.write(broken if broken.endswith(b"\n") else broken + b"\n")
            file.flush()
            os.fsync(file.fileno())
        sync_folder(self.path.parent)

    def _add(self, file: int, line: bytes) -> None:
        """Write a whole line, or, if that fails, none of it."""
        size = os.fstat(file).st_size
        try:
            written = 0
            while written < len(line):
                written += os.write(file, line[written:])
            os.fsync(file)
        except OSError:
            os.ftruncate(file, size)
            raise

    def _told(self, error: OSError, verb: str) -> RecordError:
        reason = (error.strerror or str(error)).lower()
        return RecordError(f"can't {verb} the record {self.path.name}: {reason}")


def _missed(found: Contents, last: tuple[int, str] | None) -> str:
    """What is missing at the end of a record, empty if nothing is known to be."""
    chained = any(len(e.mark) > 8 for e in found.events)
    if last is None:
        return "the file that keeps its last mark is missing: lines may be gone" if chained else ""
    number, mark = last
    if any(e.number == number and e.mark == mark for e in found.events):
        return ""
    return f"entry {number} was written last, and is not there as it was written"


def contents(data: bytes) -> Contents:
    """The events in the bytes of a record, and what is wrong with it."""
    events: list[Event] = []
    problems: list[Problem] = []
    lines = [line.removesuffix(b"\r") for line in data.split(b"\n")]
    before: str | None = ""  # None after a line that can't be trusted
    if lines and lines[-1] == b"":
        lines.pop()
    for at, line in enumerate(lines, start=1):
        if line.startswith(b"#") or not line.strip():
            continue
        try:
            event = read_line(line)
        except DamagedLine as why:
            last = ", it will be set aside at the next entry" if at == len(lines) else ""
            problems.append(Problem(at, f"{why}{last}"))
            before = None
            continue
        due = events[-1].number + 1 if events else event.number
        if event.number != due and not problems:
            problems.append(Problem(at, f"has number {event.number}, {due} was expected"))
        elif before is not None and not follows(line, before):
            problems.append(
                Problem(at, "does not follow the line before: one was changed, removed or put in")
            )
        before = event.mark
        events.append(event)
    return Contents(tuple(events), tuple(problems))


def _split_off_damage(data: bytes) -> tuple[bytes, bytes]:
    """The record up to its last whole line, and a damaged last line if there is one."""
    body = data[:-1] if data.endswith(b"\n") else data
    start = body.rfind(b"\n") + 1
    last = body[start:].removesuffix(b"\r")
    if last.startswith(b"#"):
        return (data, b"") if data.endswith(b"\n") else (data[:start], data[start:])
    try:
        read_line(last)
    except DamagedLine:
        return data[:start], data[start:]
    return data, b""


def _all(file: int) -> bytes:
    os.lseek(file, 0, os.SEEK_SET)
    parts = []
    while part := os.read(file, 1 << 20):
        parts.append(part)
    return b"".join(parts)


def _lock(file: int, *, shared: bool) -> None:
    """Wait for the lock; it goes when the file is closed or the process ends."""
    try:
        import fcntl
    except ImportError:  # Windows has another door
        _lock_windows(file)
        return
    mode = (fcntl.LOCK_SH if shared else fcntl.LOCK_EX) | fcntl.LOCK_NB
    end = time.monotonic() + WAIT
    while True:
        try:
            fcntl.flock(file, mode)
            return
        except BlockingIOError:
            if time.monotonic() > end:
                raise TimeoutError(
                    0, "another program holds it; close that and try again"
                ) from None
            time.sleep(0.005)


def _lock_windows(file: int) -> None:
    import msvcrt

    os.lseek(file, 0x7FFF0000, os.SEEK_SET)
    msvcrt.locking(file, msvcrt.LK_LOCK, 1)  # type: ignore[attr-defined]
