"""One writer for all files: the old one or the new one, never half of one."""

from __future__ import annotations

import os
import stat
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from vanplumb.words.files import file_name, write_whole


def test_it_makes_the_folder_and_leaves_nothing_else(tmp_path: Path) -> None:
    path = tmp_path / "one" / "two" / "sheet.html"
    assert write_whole(path, "Wärme\r\n") == path
    assert path.read_bytes() == "Wärme\r\n".encode()
    assert os.listdir(path.parent) == ["sheet.html"]


def test_it_follows_a_link_and_keeps_the_rights_of_the_file(tmp_path: Path) -> None:
    real, link = tmp_path / "real.csv", tmp_path / "link.csv"
    real.write_bytes(b"old")
    real.chmod(0o640)
    link.symlink_to(real)
    write_whole(link, b"new")
    assert link.is_symlink()
    assert real.read_bytes() == b"new"
    assert stat.S_IMODE(real.stat().st_mode) == 0o640


def test_a_write_that_fails_leaves_the_old_file_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = write_whole(tmp_path / "sheet.pdf", b"old")

    def full(*args: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space left"):
        write_whole(path, b"new and longer")
    assert path.read_bytes() == b"old"
    assert os.listdir(tmp_path) == ["sheet.pdf"]


def test_what_a_killed_one_left_goes_at_the_next_write(tmp_path: Path) -> None:
    (tmp_path / ".states.json.abc123.part").write_bytes(b"half")
    write_whole(tmp_path / "states.json", b"{}")
    assert os.listdir(tmp_path) == ["states.json"]


def test_many_at_once_leave_one_of_them_whole(tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    texts = [str(n) * 20_000 for n in range(10)]
    with ThreadPoolExecutor(5) as crew:
        list(crew.map(lambda text: write_whole(path, text), texts))
    assert path.read_text() in texts
    assert os.listdir(tmp_path) == ["list.csv"]


def test_names_of_files_are_small_letters_digits_and_dashes() -> None:
    assert file_name("Times of work, 2nd day") == "times-of-work-2nd-day"
    assert file_name("Fräulein Ärmel") == "fraulein-armel"
    assert file_name("日本") == "list"
    assert file_name("/../x", "van") == "x"
    long = file_name("a" * 59 + " b")
    assert len(long) <= 60 and not long.endswith("-")
