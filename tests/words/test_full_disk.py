"""A disk that fills at any write leaves the old file or the new one, whole, and says so."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from vanplumb.cli import PROBLEM, main
from vanplumb.sheet.pack_folder import contents, what_is_not_whole, whole_pack
from vanplumb.shop.record.record import Record, RecordError
from vanplumb.van import change, load, save
from vanplumb.words.tables import example_builds

WREN = example_builds()["wren"].read_text(encoding="utf-8")
CALLS = ("fsync", "replace")
"""What may find no room beside a write itself."""


@contextmanager
def room_for(count: int, patch: pytest.MonkeyPatch) -> Iterator[Callable[[], int]]:
    """A disk with room for so many steps that take some; all later ones fail.

    Gives how many were asked for.
    """
    asked = 0

    def limited(real: Callable[..., object]) -> Callable[..., object]:
        def call(*arguments: object, **named: object) -> object:
            nonlocal asked
            asked += 1
            if asked > count:
                raise OSError(errno.ENOSPC, "No space left on device")
            return real(*arguments, **named)

        return call

    def half(file: int, data: bytes) -> int:
        """The step that finds no more room has written a few bytes before."""
        nonlocal asked
        asked += 1
        if asked > count + 1:
            raise OSError(errno.ENOSPC, "No space left on device")
        return write(file, data if asked <= count else data[:7])

    write = os.write
    with patch.context() as inside:
        for name in CALLS:
            inside.setattr(os, name, limited(getattr(os, name)))
        inside.setattr(os, "write", half)
        yield lambda: asked


def until_there_is_room(work: Callable[[int], bool], most: int = 60) -> int:
    """Do the work with room for 0, 1, 2 ... steps until it succeeds; gives how often it failed."""
    for count in range(most):
        if work(count):
            return count
    raise AssertionError("it never succeeded")


def test_a_build_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "wren.toml"
    save(WREN, path)
    old = path.read_bytes()

    def work(count: int) -> bool:
        try:
            with room_for(count, monkeypatch):
                change(path, {"van.name": "Snipe"})
        except OSError as error:
            assert error.errno == errno.ENOSPC
            assert path.read_bytes() == old or load(path).van.name == "Snipe"
            assert [n for n in os.listdir(tmp_path) if n != "wren.toml"] == []
            return False
        return True

    assert until_there_is_room(work) >= 2
    assert load(path).van.name == "Snipe"


def test_a_record(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    record = Record(tmp_path / "van.log")
    record.append("note", text="first")
    known = 1

    def work(count: int) -> bool:
        nonlocal known
        try:
            with room_for(count, monkeypatch):
                record.append("note", text="second")
        except RecordError as error:
            assert "no space left" in str(error)
            found = record.read()
            assert len(found.events) == known and found.problems == ()
            return False
        return True

    assert until_there_is_room(work) >= 2
    found = record.read()
    assert [e.get("text") for e in found.events] == ["first", "second"] and found.problems == ()


def test_a_pack(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def pack(text: str) -> None:
        with whole_pack(tmp_path, {"build": text}) as stage:
            for name in ("sheet", "list", f"only {text}"):
                (stage / name).write_text(text)

    pack("old")
    seen = {"old": 0, "half": 0}

    def work(count: int) -> bool:
        try:
            with room_for(count, monkeypatch):
                pack("new")
        except OSError as error:
            assert error.errno == errno.ENOSPC
            if contents(tmp_path)["whole"]:
                assert what_is_not_whole(tmp_path) == []
                assert (tmp_path / "sheet").read_text() == contents(tmp_path)["build"]
                seen["old"] += 1
            else:
                assert "broken off" in what_is_not_whole(tmp_path)[0]
                seen["half"] += 1
            assert [n for n in os.listdir(tmp_path) if n.startswith(".")] == []
            return False
        return True

    assert until_there_is_room(work) >= 5
    assert seen["old"] and seen["half"]
    assert what_is_not_whole(tmp_path) == [] and contents(tmp_path)["build"] == "new"
    assert (tmp_path / "sheet").read_text() == "new" and not (tmp_path / "only old").exists()


def test_the_command_says_so_in_a_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "mine.toml"
    with room_for(0, monkeypatch):
        assert main(["new", str(path), "--like", "wren"]) == PROBLEM
    assert "No space left on device" in capsys.readouterr().err and not path.exists()
