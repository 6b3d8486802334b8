"""The record of a van: a text file that only ever grows, one line an event.

An event is acknowledged when ``append`` returns: by then its line is on the disk.  One writer
at a time holds a lock.  A last line that a kill left half written is moved to a second file
beside the record, and the record says so; nothing is dropped in silence.

Each line bears a mark that follows from the line before (see ``events``), and a small file
beside the record keeps the mark of the last line, so that lines taken off its end are missed.
Before several lines are written together that file tells too what the last of them will be, so
that a kill among them leaves all of them or none.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any

from ...words.files import sync_folder, write_whole
from .events import OLD_NAMES, DamagedLine, Event, EventError, check, follows, read_line, write_line

HEAD = b"# record of one van, one line an event; only add lines, never change one\n"
WAIT = 20.0
NO_MARK = "-"
UNFINISHED = (
    "and what follows were to be written together and were cut off, they will be set aside at the "
    "next entry"
)
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


@dataclass(frozen=True)
class Last:
    """The last acknowledged line by number and mark; number 0 where there was none yet.

    ``due`` is the last of those that are being written together after it, if any are.
    """

    number: int
    mark: str
    due: tuple[int, str] | None = None

    def __str__(self) -> str:
        said = [self.number, self.mark or NO_MARK, *(self.due or ())]
        return " ".join(map(str, said)) + "\n"

    @classmethod
    def read(cls, text: str) -> Last:
        """What a file of it says.  ValueError if it is not one."""
        number, mark, *due = text.split()
        if len(due) not in (0, 2):
            raise ValueError(f"two or four words were expected, got {text!r}")
        found = cls(int(number), mark.replace(NO_MARK, ""))
        return replace(found, due=(int(due[0]), due[1])) if due else found

    def is_entry(self, event: Event) -> bool:
        """Whether this is the line of an event."""
        return (event.number, event.mark) == (self.number, self.mark)


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
        return self.append_together([(kind, details)])[0]

    def append_together(self, events: Iterable[tuple[str, Mapping[str, Any]]]) -> list[Event]:
        """Write some events, each with its details, all of them or none.

        They are on the disk when it returns, as quickly as one.  EventError if any is not complete,
        RecordError if they can't be written; in both cases nothing was added.  What a kill leaves
        of them is put aside like a torn line.
        """
        wanted = [(OLD_NAMES.get(kind, kind), details) for kind, details in events]
        for kind, details in wanted:
            check(kind, details)
        if not wanted:
            return []
        try:
            with self._opened(writing=True) as file:
                number, before = self._made_whole(file)
                now = self.clock()
                new = [Event(number + i, now, *one) for i, one in enumerate(wanted)]
                return self._write(file, new, before)
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
        good, cut = _split_off_unfinished(data, last)
        found = contents(good)
        missed = _missed(found, last)
        if cut:
            line = good.count(b"\n") + 1
            found = replace(found, problems=(*found.problems, Problem(line, UNFINISHED)))
        return replace(found, problems=(*found.problems, Problem(0, missed))) if missed else found

    def _gone(self) -> str:
        """What is told of a record that is not there while its last mark is."""
        last = self._known_last()
        if last is None:
            return ""
        if not last.number:
            return ""
        return (
            f"{self.path.name} is gone or empty, and {self.last.name} tells of entry {last.number}"
        )

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
        good, broken = _split_off_unfinished(data, self._known_last())
        if not broken:
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
            aside = Event(number, self.clock(), "line set aside", told)
            before = self._write(file, [aside], before)[0].mark
            number += 1
        return number, before

    def _write(self, file: int, events: list[Event], before: str) -> list[Event]:
        """Write the events' lines and keep the last mark, or nothing.  Gives them with marks."""
        size = os.fstat(file).st_size
        lines, written, mark = b"", [], before
        for event in events:
            line = write_line(event, mark)
            written.append(read_line(line[:-1]))
            lines, mark = lines + line, written[-1].mark
        last = Last(written[-1].number, mark)
        if len(written) > 1:  # a torn line shows itself, whole ones without the rest do not
            told = Last(written[0].number - 1, before, (last.number, last.mark))
            write_whole(self.last, str(told))
        self._add(file, lines)
        try:
            write_whole(self.last, str(last))
        except OSError:
            os.ftruncate(file, size)
            raise
        return written

    def _known_last(self) -> Last | None:
        """What is known of the last acknowledged line; None if nothing is."""
        try:
            return Last.read(self.last.read_text(encoding="utf-8"))
        except (FileNotFoundError, ValueError):
            return None

    def _keep(self, broken: bytes) -> None:
        with self.set_aside.open("ab") as file:
            file.write(broken if broken.endswith(b"\n") else broken + b"\n")
            file.flush()
            os.fsync(file.fileno())
        sync_folder(self.path.parent)

    def _add(self, file: int, line: bytes) -> None:
        """Write whole lines, or, if that fails, none of them."""
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


def _missed(found: Contents, last: Last | None) -> str:
    """What is missing at the end of a record, empty if nothing is known to be."""
    chained = any(len(e.mark) > 8 for e in found.events)
    if last is None:
        return "the file that keeps its last mark is missing: lines may be gone" if chained else ""
    if not last.number or any(last.is_entry(e) for e in found.events):
        return ""
    return f"entry {last.number} was written last, and is not there as it was written"


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


def _split_off_unfinished(data: bytes, last: Last | None) -> tuple[bytes, bytes]:
    """The record up to its last acknowledged line, and what a kill left of lines meant together.

    Nothing is split off where none were being written, where they are all there, or where the
    line before them is not to be found.
    """
    if last is None or last.due is None:
        return data, b""
    at, end = 0, None if last.number else _end_of_head(data)
    for line in data.splitlines(keepends=True):
        at += len(line)
        try:
            event = read_line(line.rstrip(b"\r\n"))
        except DamagedLine:
            continue
        if (event.number, event.mark) == last.due:
            return data, b""
        if last.is_entry(event):
            end = at
    return (data, b"") if end is None else (data[:end], data[end:])


def _end_of_head(data: bytes) -> int:
    """Where the first line that is no remark begins."""
    lines = data.splitlines(keepends=True)
    first = next((i for i, line in enumerate(lines) if not line.startswith(b"#")), len(lines))
    return sum(map(len, lines[:first]))


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
