"""A pack's folder is the old pack, the new one, or seen to be neither, whenever one is killed."""

from __future__ import annotations

import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.cases import cases
from vanplumb.cli import FINE, PROBLEM, main
from vanplumb.sheet import pack_folder
from vanplumb.sheet.pack_folder import CONTENTS, OLD, contents, what_is_not_whole, whole_pack

KILLS = cases(5, 100)
"""How often a writer is killed."""
WRITER = """
import sys
from pathlib import Path
from vanplumb.sheet.pack_folder import whole_pack
folder = Path(sys.argv[1])
print("ready", flush=True)
for turn in range(int(sys.argv[2]), 10**9):
    with whole_pack(folder, {"build": str(turn)}) as stage:
        (stage / "lists").mkdir()
        for name in ("sheet.pdf", "sheet.html", "lists/a.csv", f"lists/only-{turn % 2}.csv"):
            (stage / name).write_text(str(turn) * 3000)
    if len(sys.argv) > 3:
        break
"""


def pack(folder: Path, **files: str) -> None:
    with whole_pack(folder, {"build": "Wren"}) as stage:
        for name, text in files.items():
            (stage / name).write_text(text)


def hidden(folder: Path) -> list[str]:
    return [p.name for p in folder.iterdir() if p.name.startswith(".")]


def test_what_a_pack_no_longer_makes_goes_to_old_states(tmp_path: Path) -> None:
    pack(tmp_path, sheet="1", board="1")
    (tmp_path / "mine.txt").write_text("of the builder")
    pack(tmp_path, sheet="2")
    assert what_is_not_whole(tmp_path) == [] and hidden(tmp_path) == []
    assert (tmp_path / OLD / "1" / "board").read_text() == "1"
    assert not (tmp_path / "board").exists() and (tmp_path / "mine.txt").exists()
    pack(tmp_path, sheet="3", board="3")
    pack(tmp_path, sheet="4")
    assert (tmp_path / OLD / "2" / "board").read_text() == "3"


def test_a_change_a_loss_and_a_break_are_seen(tmp_path: Path, capsys) -> None:
    assert "missing" in what_is_not_whole(tmp_path)[0]
    pack(tmp_path, sheet="1", board="1")
    assert main(["check", str(tmp_path)]) == FINE
    (tmp_path / "sheet").write_text("2")
    (tmp_path / "board").unlink()
    assert sorted(what_is_not_whole(tmp_path)) == [
        "board is missing",
        "sheet was changed since the pack was written",
    ]
    assert main(["check", str(tmp_path)]) == PROBLEM
    (tmp_path / CONTENTS).write_text('{"whole": false, "files": {}}')
    assert "broken off" in what_is_not_whole(tmp_path)[0]


def test_work_that_fails_leaves_the_old_pack(tmp_path: Path) -> None:
    pack(tmp_path, sheet="1")
    with pytest.raises(OSError, match="full"), whole_pack(tmp_path, {}) as stage:
        (stage / "sheet").write_text("2")
        raise OSError("the disk is full")
    assert what_is_not_whole(tmp_path) == [] and hidden(tmp_path) == []
    assert (tmp_path / "sheet").read_text() == "1"


def test_a_key_to_stop_is_heeded_when_every_file_stands(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pack(tmp_path, a="1", b="1", c="1")
    turns = iter(range(100))
    place = pack_folder._place

    def interrupted(folder: Path, name: str) -> Path:
        if next(turns) == 1:
            raise KeyboardInterrupt
        return place(folder, name)

    monkeypatch.setattr(pack_folder, "_place", interrupted)
    with pytest.raises(KeyboardInterrupt):
        pack(tmp_path, a="2", b="2")
    assert what_is_not_whole(tmp_path) == [] and hidden(tmp_path) == []
    assert (tmp_path / "a").read_text() == (tmp_path / "b").read_text() == "2"
    assert not (tmp_path / "c").exists()


def test_a_link_that_leads_outside_is_replaced_and_a_folder_that_does_is_refused(
    tmp_path: Path,
) -> None:
    folder, outside = tmp_path / "pack", tmp_path / "outside"
    folder.mkdir(), outside.mkdir()
    (outside / "sheet").write_text("keep")
    (folder / "sheet").symlink_to(outside / "sheet")
    pack(folder, sheet="1")
    assert (outside / "sheet").read_text() == "keep" and (folder / "sheet").read_text() == "1"
    (folder / "lists").symlink_to(outside)
    with pytest.raises(NotADirectoryError), whole_pack(folder, {}) as stage:
        (stage / "lists").mkdir()
        (stage / "lists" / "a.csv").write_text("1")
    assert not (outside / "a.csv").exists()


@pytest.mark.skipif(sys.platform == "win32", reason="kills by signal")
def test_a_killed_writer_leaves_a_pack_that_is_whole_or_says_that_it_is_not(
    tmp_path: Path,
) -> None:
    generator, seen = random.Random(7), {"whole": 0, "half": 0}
    for turn in range(KILLS):
        command = [sys.executable, "-c", WRITER, str(tmp_path), str(turn * 1000)]
        with subprocess.Popen(command, stdout=subprocess.PIPE) as writer:
            assert writer.stdout is not None and writer.stdout.readline()
            time.sleep(generator.uniform(0.0, 0.2))
            writer.send_signal(signal.SIGKILL)
        said, wrong = contents(tmp_path), what_is_not_whole(tmp_path)
        if not said and not any(seen.values()):
            continue  # killed before anything stood
        if said["whole"]:
            assert wrong == []
            texts = {(tmp_path / name).read_text() for name in said["files"]}
            assert texts == {said["build"] * 3000}
            seen["whole"] += 1
        else:
            assert "broken off" in wrong[0]
            seen["half"] += 1
    subprocess.run([sys.executable, "-c", WRITER, str(tmp_path), "1", "once"], check=True)
    assert what_is_not_whole(tmp_path) == [] and hidden(tmp_path) == []
    print(f"\n{KILLS} kills: {seen['whole']} whole, {seen['half']} seen to be half")
    assert sum(seen.values()) >= KILLS - 1


def test_two_packs_into_one_folder_at_once(tmp_path: Path) -> None:
    commands = [[sys.executable, "-c", WRITER, str(tmp_path), n, "once"] for n in ("4", "7")]
    for _ in range(cases(1, 3)):
        writers = [subprocess.Popen(c, stdout=subprocess.DEVNULL) for c in commands]
        assert [w.wait(60) for w in writers] == [0, 0]
        assert what_is_not_whole(tmp_path) == [] and hidden(tmp_path) == []
