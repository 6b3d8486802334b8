"""The command line as a builder uses it: what it says, what it writes, how it ends."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from contextlib import redirect_stdout
from functools import cache
from io import StringIO
from pathlib import Path

import pytest

from vanplumb.cli import FINE, FOUND, PROBLEM, USAGE, main
from vanplumb.van import load


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], tuple[Path, str]]:
    """The folder that ``vanplumb demo`` writes of an example, and what it says; each made once."""

    @cache
    def made(name: str) -> tuple[Path, str]:
        out, said = tmp_path_factory.mktemp(name) / "pack", StringIO()
        with redirect_stdout(said):
            assert main(["demo", name, "-o", str(out)]) == FINE
        return out, said.getvalue()

    return made


@pytest.mark.parametrize("name", ["wren", "dipper"])
def test_demo_writes_the_pack_and_says_what_to_open(
    name: str, demo: Callable[[str], tuple[Path, str]]
) -> None:
    out, said = demo(name)
    assert (out / "sheet.pdf").read_bytes().startswith(b"%PDF")
    assert "</html>" in (out / "sheet.html").read_text(encoding="utf-8")
    assert "Open " in said and "sheet.pdf" in said
    for line in said.splitlines():
        if line.startswith("  "):
            assert (out / line.strip()).is_file(), line


def test_the_same_build_gives_the_same_bytes(
    tmp_path: Path, demo: Callable[[str], tuple[Path, str]]
) -> None:
    """In this process and in a fresh one, whose sets are in another order."""
    fresh = tmp_path / "fresh"
    code = "from vanplumb.cli import main; import sys; sys.exit(main(sys.argv[1:]))"
    done = subprocess.run(
        [sys.executable, "-c", code, "demo", "wren", "-o", str(fresh)],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "PYTHONHASHSEED": "1"},
    )
    assert done.returncode == 0, done.stderr
    one, two = (
        {p.relative_to(folder): p.read_bytes() for p in _files(folder)}
        for folder in (demo("wren")[0], fresh)
    )
    assert one == two and len(one) > 5


def _files(folder: Path) -> list[Path]:
    return sorted(p for p in folder.rglob("*") if p.is_file())


def test_new_then_check(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "mine.toml"
    assert main(["new", str(file)]) == FINE
    first = file.read_bytes()
    assert main(["new", str(file)]) == PROBLEM
    assert "exists and is left as it is" in capsys.readouterr().err
    assert file.read_bytes() == first
    assert main(["check", str(file)]) == FINE
    assert "the file is fine" in capsys.readouterr().out


def test_new_like_an_example_keeps_its_remarks(tmp_path: Path) -> None:
    file = tmp_path / "like.toml"
    assert main(["new", str(file), "--like", "wren"]) == FINE
    assert file.read_text(encoding="utf-8").startswith("#")


def test_check_lists_every_problem_with_its_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "bad.toml"
    file.write_text(
        'format = 1\n[van]\nname = "X"\nunits = "SI"\n[[tank]]\nname = "t"\nshape = "box"\n'
        'length = 60\nwidth = "12,7 mm"\nheight = "60 kg"\nvolum = "3 L"\n'
    )
    assert main(["check", str(file)]) == PROBLEM
    said = capsys.readouterr().err
    for line in (8, 9, 10, 11):
        assert f"line {line}" in said or f":{line}:" in said, said
    assert "Traceback" not in said


def test_strict_check_ends_otherwise_on_a_warning(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "dipper.toml"
    assert main(["new", str(file), "--like", "dipper"]) == FINE
    assert main(["check", str(file)]) == FINE
    assert main(["check", str(file), "--strict"]) == FOUND
    assert "WARNING" in capsys.readouterr().out


def test_pack_goes_beside_the_file(tmp_path: Path) -> None:
    file = tmp_path / "wren.toml"
    main(["new", str(file), "--like", "wren"])
    assert main(["pack", str(file), "--revision", "B", "--date", "2025-03-03"]) == FINE
    page = (tmp_path / "wren-pack" / "sheet.html").read_text(encoding="utf-8")
    assert "2025-03-03" in page


@pytest.mark.parametrize("command", ["check", "pack"])
def test_a_missing_file_or_a_folder_is_one_clear_line(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for target in (tmp_path / "nowhere.toml", tmp_path):
        assert main([command, str(target)]) == PROBLEM
        said = capsys.readouterr().err.strip()
        assert said and "Traceback" not in said and str(target.name) in said


def test_an_unknown_example_lists_those_there_are(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["demo", "penguin"]) == USAGE
    assert "dipper, heron, wren" in capsys.readouterr().err


def test_no_command_prints_the_help(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == USAGE
    assert "exit codes" in capsys.readouterr().out


def test_a_folder_that_cannot_be_made_is_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("")
    assert main(["demo", "wren", "-o", str(blocked / "pack")]) == PROBLEM
    assert "Traceback" not in capsys.readouterr().err


def test_notebooks_are_copied_and_kept(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "books"
    assert main(["notebooks", str(folder), "--copy-only"]) == FINE
    books = sorted(folder.glob("*.ipynb"))
    assert books
    books[0].write_text("mine")
    assert main(["notebooks", str(folder), "--copy-only"]) == FINE
    assert books[0].read_text() == "mine"
    assert "0 notebooks copied" in capsys.readouterr().out


def test_names_lists_tables_and_the_rows_of_one(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["names"]) == FINE
    tables = capsys.readouterr().out
    assert "tubes " in tables and "fixtures " in tables
    assert main(["names", "tubes", "--units", "SI"]) == FINE
    assert "PEX 1/2 in" in capsys.readouterr().out
    assert main(["names", "burn"]) == USAGE
    assert "no table 'burn'; there are backflow" in capsys.readouterr().err


@pytest.mark.parametrize("units, tube", [("US", "PEX 1/2 in"), ("SI", "PE-X 16x2.0")])
def test_a_new_file_in_either_units(tmp_path: Path, units: str, tube: str) -> None:
    file = tmp_path / "mine.toml"
    assert main(["new", str(file), "--units", units]) == FINE
    build = load(file)
    assert (build.van.units, build.run[0].tube) == (units, tube)


@pytest.mark.parametrize("inside", [True, False])
def test_build_files_beside_the_notebooks_are_shown(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, inside: bool
) -> None:
    here = tmp_path / "here"
    here.mkdir()
    monkeypatch.chdir(here)
    started: list[list[str]] = []

    def execv(path: str, command: list[str]) -> None:
        started.append(command)
        raise KeyboardInterrupt  # the command does not come back from there

    monkeypatch.setattr("vanplumb.notebook_commands.os.execv", execv)
    folder = here / "books" if inside else tmp_path / "books"
    main(["notebooks", str(folder)])
    root = here if inside else folder
    assert f"--ServerApp.root_dir={root}" in started[0]
    assert started[0][-1] == str(folder / "01_start.ipynb")


@pytest.mark.parametrize("place", [".", "/", "..", "/dev/null", "/dev/zero"])
@pytest.mark.parametrize("command", ["pack", "check", "sheet", "quote"])
def test_what_is_no_build_file_is_refused_in_a_line(
    place: str, command: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([command, place]) == PROBLEM
    told = capsys.readouterr().err.strip()
    assert len(told.splitlines()) == 1 and "Traceback" not in told


PLACES = {
    "cp1252": {"PYTHONIOENCODING": "cp1252", "PYTHONUTF8": "0"},
    "C locale": {"LC_ALL": "C", "PYTHONCOERCECLOCALE": "0", "PYTHONUTF8": "0"},
    "no home": {},
}


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("command", [["names", "tubes"], ["check", "wren.toml"], ["names"]])
def test_any_terminal_is_told_what_it_has_letters_for(
    place: str, command: list[str], project: Path
) -> None:
    """Old code pages, the C locale, no home: the same words, in letters that there are."""
    folder = project / "data" / "builds"
    env = {k: v for k, v in os.environ.items() if k not in ("HOME", "LANG", "PYTHONWARNINGS")}
    env |= {"PYTHONPATH": str(project), **PLACES[place]}
    done = subprocess.run(
        [sys.executable, "-m", "vanplumb", *command], cwd=folder, env=env, capture_output=True
    )
    assert done.returncode == FINE, done.stderr.decode("ascii", "replace")
    assert b"Traceback" not in done.stderr and b"Warning:" not in done.stderr
    if place == "C locale":
        assert done.stdout.isascii()
    assert b"?" not in done.stdout.replace(b'mean "', b"")


def test_without_docstrings_and_asserts_a_file_is_still_checked(project: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-OO", "-m", "vanplumb", "check", "data/builds/wren.toml"],
        cwd=project, env={**os.environ, "PYTHONPATH": str(project)}, capture_output=True,
    )  # fmt: skip
    assert done.returncode == FINE, done.stderr
