"""The record: nothing acknowledged is lost, nothing damaged is dropped in silence."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.cases import cases
from vanplumb.shop.record import record as record_file
from vanplumb.shop.record.events import Event, EventError, read_line, write_line
from vanplumb.shop.record.record import HEAD, Record, RecordError, contents

KILLS = cases(5, 100)
"""How often a writer is killed."""
WRITER = """
import sys
from vanplumb.shop.record.record import Record
record = Record(sys.argv[1])
for i in range(int(sys.argv[3])):
    event = record.append("note", text=f"{sys.argv[2]} {i} " + "x" * 300)
    sys.stdout.write(f"{event.number} {sys.argv[2]} {i}\\n")
    sys.stdout.flush()
"""
TOGETHER = """
import sys
from vanplumb.shop.record.record import Record
record = Record(sys.argv[1])
for i in range(int(sys.argv[3])):
    many = [("note", {"text": f"{sys.argv[2]} {i} {n} " + "x" * 60}) for n in range(5)]
    for event in record.append_together(many):
        sys.stdout.write(f"{event.number} {sys.argv[2]} {i}\\n")
    sys.stdout.flush()
"""
# a writer whose disk takes a few bytes at a time, and which dies at one of them: it tears a line
SLOW_DISK = """
import os, signal, sys
real, left = os.write, int(sys.argv[4])
def slowly(file, data):
    global left
    left -= 1
    if left == 0:
        os.kill(os.getpid(), signal.SIGKILL)
    return real(file, bytes(data[:40]))
os.write = slowly
"""
TIME = "2025-03-03 09:12:05+01:00"


def fixed() -> str:
    return TIME


def start(
    path: Path, who: str, count: int, *more: str, writer: str = WRITER
) -> subprocess.Popen[str]:
    program = SLOW_DISK + writer if more else writer
    return subprocess.Popen(
        [sys.executable, "-c", program, str(path), who, str(count), *more],
        stdout=subprocess.PIPE,
        text=True,
        cwd=Path(__file__).parents[2],
    )


def acknowledged(out: str) -> list[tuple[int, str]]:
    """Number and name of each whole acknowledgement; a torn last one counts as none."""
    whole = out[: out.rfind("\n") + 1].splitlines()
    return [(int(n), f"{who} {i}") for n, who, i in (line.split() for line in whole)]


def held(path: Path) -> dict[int, str]:
    found = Record(path).read()
    return {e.number: " ".join(e.get("text").split()[:2]) for e in found.of("note")}


def test_a_line_reads_like_a_sentence(tmp_path: Path) -> None:
    record = Record(tmp_path / "van.log", clock=fixed)
    record.append("joint wept", joint="C3", note="drop at the ring", by="A. Builder")
    line = (tmp_path / "van.log").read_text().splitlines()[1]
    assert line.startswith(f'00001 {TIME} joint wept {{"joint": "C3", "note": "drop at the ring"')
    assert record.read().events[0].told.startswith("joint wept: joint C3")


def test_no_full_stop_stands_within_what_is_told() -> None:
    event = Event(1, TIME, "note", {"text": "It weeps.", "by": "A. B."})
    assert event.told == "note: text It weeps, by A. B."


def test_events_come_back_as_written(tmp_path: Path) -> None:
    record = Record(tmp_path / "van.log", clock=fixed)
    record.append("valve set", valve="mixer", temperature="105 °F")
    record.append("part replaced", part="pump", **{"with": "pump"})
    found = record.read()
    assert [e.kind for e in found.events] == ["valve set", "part replaced"]
    assert [e.number for e in found.events] == [1, 2]
    assert found.problems == ()


@settings(max_examples=cases(66), deadline=None)
@given(
    st.dictionaries(
        st.text(min_size=1, max_size=8), st.text(max_size=60) | st.integers() | st.booleans()
    )
)
def test_any_text_survives_a_line(details: dict[str, object]) -> None:
    event = Event(7, TIME, "note", details)
    line = write_line(event)
    assert line.count(b"\n") == 1
    assert line[:-1].decode().isprintable()
    assert read_line(line[:-1]) == event


def test_every_changed_byte_is_noticed() -> None:
    first = write_line(Event(6, TIME, "note", {"text": "pumped up"}))
    line = write_line(
        Event(7, TIME, "note", {"text": "tight at 60 psi"}), read_line(first[:-1]).mark
    )
    assert contents(first + line).problems == ()
    for at in range(len(line) - 1):
        changed = bytearray(line)
        changed[at] ^= 0x01
        assert len(contents(first + bytes(changed)).problems) == 1


@pytest.mark.parametrize("cut", range(1, 75, 3))
def test_a_torn_last_line_is_kept_and_told(tmp_path: Path, cut: int) -> None:
    path = tmp_path / "van.log"
    record = Record(path, clock=fixed)
    record.append("note", text="first")
    whole = path.read_bytes()
    torn = write_line(Event(2, TIME, "note", {"text": "second, half written"}))[:cut]
    path.write_bytes(whole + torn)
    before = record.read()
    assert [e.get("text") for e in before.events] == ["first"]
    assert "set aside at the next entry" in str(before.problems[0])
    assert path.read_bytes() == whole + torn  # reading changes nothing
    record.append("note", text="third")
    after = record.read()
    assert after.problems == ()
    assert [e.kind for e in after.events] == ["note", "line set aside", "note"]
    assert [e.number for e in after.events] == [1, 2, 3]
    assert record.set_aside.read_bytes() == torn + b"\n"
    assert record.set_aside.name in after.events[1].get("kept_in")


def test_a_line_that_lacks_only_its_end_is_kept(tmp_path: Path) -> None:
    path = tmp_path / "van.log"
    record = Record(path, clock=fixed)
    record.append("note", text="first")
    path.write_bytes(path.read_bytes()[:-1])
    record.append("note", text="second")
    assert [e.get("text") for e in record.read().events] == ["first", "second"]
    assert not record.set_aside.exists()


def test_a_torn_head_is_no_trouble(tmp_path: Path) -> None:
    path = tmp_path / "van.log"
    path.write_bytes(b"# record of o")
    record = Record(path, clock=fixed)
    record.append("note", text="first")
    assert [e.get("text") for e in record.read().of("note")] == ["first"]


def test_a_damaged_line_in_the_middle_is_told_and_the_rest_read(tmp_path: Path) -> None:
    path = tmp_path / "van.log"
    record = Record(path, clock=fixed)
    for text in ("one", "two", "three"):
        record.append("note", text=text)
    path.write_bytes(path.read_bytes().replace(b'"two"', b'"twx"'))
    found = record.read()
    assert [e.get("text") for e in found.events] == ["one", "three"]
    assert str(found.problems[0]) == "line 3 does not agree with its checksum"


def test_a_line_taken_out_is_noticed(tmp_path: Path) -> None:
    path = tmp_path / "van.log"
    record = Record(path, clock=fixed)
    for text in ("one", "two", "three"):
        record.append("note", text=text)
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join([*lines[:2], *lines[3:]]))
    assert "has number 3, 2 was expected" in str(record.read().problems[0])


def test_killed_at_any_moment_no_acknowledged_event_is_lost(tmp_path: Path) -> None:
    path = tmp_path / "van.log"
    rng = random.Random(4)
    promised: list[tuple[int, str]] = []
    killed = 0
    for turn in range(KILLS):
        writer = start(path, f"w{turn}", 100_000)
        first = writer.stdout.readline() if writer.stdout else ""
        time.sleep(rng.uniform(0.0, 0.12))
        os.kill(writer.pid, signal.SIGKILL)
        rest, _ = writer.communicate(timeout=20)
        killed += writer.returncode == -signal.SIGKILL
        promised += acknowledged(first + rest)
    print(f"\n{killed} kills, {len(promised)} lines promised")
    assert killed == KILLS
    assert len(promised) >= KILLS
    found = held(path)
    assert [name for number, name in promised if found.get(number) != name] == []
    numbers = sorted(e.number for e in Record(path).read().events)
    assert numbers == list(range(1, len(numbers) + 1))


def test_killed_in_the_middle_of_a_line(tmp_path: Path) -> None:
    path = tmp_path / "van.log"
    rng = random.Random(5)
    promised: list[tuple[int, str]] = []
    for turn in range(KILLS):
        writer = start(path, f"w{turn}", 100_000, str(rng.randint(15, 60)))
        told, _ = writer.communicate(timeout=60)
        assert writer.returncode == -signal.SIGKILL
        promised += acknowledged(told)
    record = Record(path)
    record.append("note", text="last 0")
    found = held(path)
    assert [name for number, name in promised if found.get(number) != name] == []
    told = record.read().of("line set aside")
    assert len(told) >= 3  # some kills did tear a line, or this test shows nothing
    assert len(record.set_aside.read_bytes().splitlines()) >= len(told)
    assert record.read().problems == ()


def test_killed_among_lines_written_together_all_or_none_are_there(tmp_path: Path) -> None:
    """Each writer's fives stay fives, wherever it dies; one that was acknowledged is there."""
    path = tmp_path / "van.log"
    rng = random.Random(6)
    promised: list[tuple[int, str]] = []
    for turn in range(KILLS):
        writer = start(path, f"w{turn}", 100_000, str(rng.randint(15, 90)), writer=TOGETHER)
        told, _ = writer.communicate(timeout=60)
        assert writer.returncode == -signal.SIGKILL
        promised += acknowledged(told)
        assert set(Counter(held(path).values()).values()) <= {5}
    record = Record(path)
    record.append("note", text="last 0")
    found = held(path)
    assert [name for number, name in promised if found.get(number) != name] == []
    assert set(Counter(found.values()).values()) == {5, 1}
    assert record.read().of("line set aside")  # some kills did cut fives
    assert record.read().problems == ()


def five(record: Record) -> list[Event]:
    return record.append_together([("note", {"text": f"five {n}"}) for n in range(5)])


@pytest.mark.parametrize("earlier", [0, 2])
def test_whole_lines_of_some_that_were_cut_off_are_set_aside(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, earlier: int
) -> None:
    """Cut at every line's end, so that each that is there is whole; then once more not cut."""
    for kept in range(6):
        record = Record(tmp_path / f"van {kept}.log", clock=fixed)
        for n in range(earlier):
            record.append("note", text=f"earlier {n}")
        told: list[str] = []
        real = record_file.write_whole

        def heard(path: Path, text: str, told: list[str] = told, real: Any = real) -> Path:
            told.append(text)
            return Path(real(path, text))

        with monkeypatch.context() as hearing:
            hearing.setattr(record_file, "write_whole", heard)
            five(record)
        record.last.write_text(told[0])  # as a kill before the last step leaves it
        lines = record.path.read_bytes().splitlines(keepends=True)
        record.path.write_bytes(b"".join(lines[: 1 + earlier + kept]))
        before = record.read()
        whole = kept == 5
        assert [e.number for e in before.events] == list(range(1, earlier + 5 * whole + 1))
        cut = [p for p in before.problems if "written together" in p.what]
        assert [p.line for p in cut] == [earlier + 2] * (0 < kept < 5)
        assert len(before.problems) == len(cut)
        record.append("note", text="after")
        assert record.read().problems == ()
        assert len(record.read().of("line set aside")) == len(cut)
        if cut:
            kept_lines = record.set_aside.read_bytes()
            assert kept_lines == b"".join(lines[1 + earlier : 1 + earlier + kept])


def test_lines_written_together_cost_the_disk_as_little_as_two(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    record = Record(tmp_path / "van.log", clock=fixed)
    record.append("note", text="first")
    real, synced = os.fsync, []

    def counted(file: int) -> None:
        synced.append(file)
        real(file)

    monkeypatch.setattr(os, "fsync", counted)
    assert [e.number for e in five(record)] == [2, 3, 4, 5, 6]
    assert len(synced) == 5
    assert [e.get("text") for e in record.read().events[1:]] == [f"five {n}" for n in range(5)]
    assert record.read().problems == ()


def test_one_that_is_not_complete_keeps_all_out(tmp_path: Path) -> None:
    record = Record(tmp_path / "van.log", clock=fixed)
    with pytest.raises(EventError, match="needs `how`"):
        record.append_together([("note", {"text": "x"}), ("joint repaired", {"joint": "C3"})])
    assert not record.path.exists()
    assert record.append_together([]) == [] and not record.path.exists()


@pytest.mark.parametrize("left", [0, 1])
def test_a_full_disk_keeps_all_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, left: int
) -> None:
    """At what is told before, and at the last mark."""
    record = of_three(tmp_path)
    before, real, room = record.path.read_bytes(), record_file.write_whole, [left]

    def full(path: Path, text: str) -> Path:
        if not room[0]:
            raise OSError(28, "No space left on device")
        room[0] -= 1
        return Path(real(path, text))

    monkeypatch.setattr(record_file, "write_whole", full)
    with pytest.raises(RecordError, match="no space left"):
        five(record)
    monkeypatch.undo()
    assert record.path.read_bytes() == before and record.read().problems == ()
    record.append("note", text="four")
    assert len(record.read().events) == 4 and record.read().problems == ()


def test_two_writers_lose_nothing(tmp_path: Path) -> None:
    path = tmp_path / "van.log"
    writers = [start(path, who, 120) for who in ("left", "right")]
    promised: list[tuple[int, str]] = []
    for writer in writers:
        out, _ = writer.communicate(timeout=60)
        assert writer.returncode == 0
        promised += acknowledged(out)
    assert len(promised) == 240
    assert len({number for number, _ in promised}) == 240
    found = held(path)
    assert {number: name for number, name in promised} == found
    assert Record(path).read().problems == ()


def test_two_writers_one_killed(tmp_path: Path) -> None:
    path = tmp_path / "van.log"
    other, victim = start(path, "other", 60), start(path, "victim", 100_000)
    first = victim.stdout.readline() if victim.stdout else ""
    time.sleep(0.1)
    os.kill(victim.pid, signal.SIGKILL)
    rest, _ = victim.communicate(timeout=20)
    out, _ = other.communicate(timeout=60)
    assert other.returncode == 0
    promised = acknowledged(out) + acknowledged(first + rest)
    found = held(path)
    assert [p for p in promised if found.get(p[0]) != p[1]] == []


def test_a_full_disk_adds_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "van.log"
    record = Record(path, clock=fixed)
    record.append("note", text="first")
    before = path.read_bytes()
    real = os.write

    def short(file: int, data: bytes) -> int:
        if len(data) > 10:
            return real(file, data[:10])
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "write", short)
    with pytest.raises(RecordError, match=r"can't write the record van\.log: no space left"):
        record.append("note", text="second")
    monkeypatch.undo()
    assert path.read_bytes() == before


def test_what_can_not_be_written_is_told_all_at_once(tmp_path: Path) -> None:
    record = Record(tmp_path / "van.log")
    with pytest.raises(EventError, match="needs `joint`; needs `how`; `extra` must be a text"):
        record.append("joint repaired", extra=[1])
    with pytest.raises(EventError, match="doesn't know the event 'joint lost'"):
        record.append("joint lost")
    with pytest.raises(EventError, match="`value` must be a number, got nan"):
        record.append("reading taken", reading="pressure", value=float("nan"))
    assert not record.path.exists()


def test_a_folder_in_place_of_a_record(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="can't write the record"):
        Record(tmp_path).append("note", text="x")


def test_details_are_plain_json(tmp_path: Path) -> None:
    record = Record(tmp_path / "van.log", clock=fixed)
    record.append("note", text='<script>alert("x")</script>\nsecond line')
    line = record.path.read_text(encoding="utf-8").splitlines()[1]
    middle = line[line.index("{") : line.rindex("}") + 1]
    assert json.loads(middle)["text"].endswith("second line")


def test_an_older_word_for_an_event_is_still_read(tmp_path: Path) -> None:
    """Its line stays as it was written, checksum and all."""
    old = write_line(Event(1, TIME, "joint weeped", {"joint": "C3"}))
    path = tmp_path / "van.log"
    path.write_bytes(HEAD + old)
    record = Record(path, clock=fixed)
    record.append("joint weeped", joint="C4")
    found = record.read()
    assert [e.kind for e in found.events] == ["joint wept", "joint wept"] and not found.problems
    assert path.read_bytes().startswith(HEAD + old)


def of_three(tmp_path: Path) -> Record:
    record = Record(tmp_path / "van.log", clock=fixed)
    for text in ("one", "two", "three"):
        record.append("note", text=text)
    assert record.read().problems == ()
    return record


def test_a_line_forged_with_its_own_checksum_breaks_the_chain(tmp_path: Path) -> None:
    record = of_three(tmp_path)
    lines = record.path.read_bytes().splitlines(keepends=True)
    forged = write_line(Event(2, TIME, "note", {"text": "tow"}))
    record.path.write_bytes(b"".join([*lines[:2], forged, lines[3]]))
    assert [str(p) for p in record.read().problems] == [
        "line 3 does not follow the line before: one was changed, removed or put in",
        "line 4 does not follow the line before: one was changed, removed or put in",
    ]


def test_the_last_line_taken_off_or_forged_is_missed(tmp_path: Path) -> None:
    record = of_three(tmp_path)
    whole = record.path.read_bytes()
    lines = whole.splitlines(keepends=True)
    record.path.write_bytes(b"".join(lines[:-1]))
    (problem,) = record.read().problems
    assert str(problem) == "entry 3 was written last, and is not there as it was written"
    before = read_line(lines[2][:-1]).mark
    record.path.write_bytes(
        b"".join(lines[:-1]) + write_line(Event(3, TIME, "note", {"text": "four"}), before)
    )
    assert "entry 3" in str(record.read().problems[0])
    record.path.write_bytes(whole)
    record.last.unlink()
    assert "keeps its last mark is missing" in str(record.read().problems[0])


def test_line_ends_of_another_system_are_read(tmp_path: Path) -> None:
    record = of_three(tmp_path)
    record.path.write_bytes(record.path.read_bytes().replace(b"\n", b"\r\n"))
    assert record.read().problems == ()
    record.append("note", text="four")
    found = record.read()
    assert [e.get("text") for e in found.events] == ["one", "two", "three", "four"]
    assert found.problems == ()


def test_lines_of_an_older_record_are_read_and_the_chain_begins_after_them(tmp_path: Path) -> None:
    """An older line bears eight letters: a checksum of its own."""
    old = write_line(Event(1, TIME, "note", {"text": "old"}))
    short = old[:-17] + b"\n"
    record = Record(tmp_path / "van.log", clock=fixed)
    record.path.write_bytes(HEAD + short)
    assert record.read().problems == ()
    record.append("note", text="new")
    assert record.read().problems == ()
    record.path.write_bytes(HEAD + record.path.read_bytes().splitlines(keepends=True)[2])
    assert len(record.read().problems) == 1


def test_a_full_disk_at_the_last_mark_adds_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    record = of_three(tmp_path)
    before = record.path.read_bytes()

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("vanplumb.shop.record.record.write_whole", full)
    with pytest.raises(RecordError, match="no space left"):
        record.append("note", text="four")
    monkeypatch.undo()
    assert record.path.read_bytes() == before and record.read().problems == ()
