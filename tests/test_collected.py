"""Every test file and notebook is run by a bare ``pytest``, and no test hides where none looks."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

from tests import cases

LEFT_OUT = {"tests/benchmarks"}  # they take minutes and are asked for by name

# Pytest's own collection, with the command's options; files are told and not imported.
TELL = """
import sys
import pytest

class Tell:
    @pytest.hookimpl(tryfirst=True)
    def pytest_make_collect_report(self, collector):
        if isinstance(collector, pytest.File):
            print("file:", collector.path.relative_to(collector.config.rootpath).as_posix())
            return pytest.CollectReport(collector.nodeid, "passed", None, [])

sys.exit(pytest.main(["--collect-only", "-q", "-s", "-n0", "-p", "no:cacheprovider"], [Tell()]))
"""


def on_disk(project: Path) -> set[str]:
    """Files of tests and notebooks, but for those that are left out by name."""
    tests = [p.relative_to(project).as_posix() for p in (project / "tests").rglob("test_*.py")]
    books = [p.relative_to(project).as_posix() for p in (project / "notebooks").glob("*.ipynb")]
    return {p for p in [*tests, *books] if Path(p).parent.as_posix() not in LEFT_OUT}


def test_every_file_of_tests_and_every_notebook_is_collected(project: Path) -> None:
    pytest.importorskip("nbval")
    done = subprocess.run(
        [sys.executable, "-c", TELL], cwd=project, capture_output=True, text=True, timeout=300
    )
    collected = {
        line.removeprefix("file: ") for line in done.stdout.splitlines() if line[:6] == "file: "
    }
    assert collected == on_disk(project), done.stderr


def test_what_is_left_out_is_there_and_only_that(project: Path) -> None:
    for folder in LEFT_OUT:
        assert list((project / folder).glob("test_*.py")), f"{folder} has no tests: don't name it"


def test_every_test_stands_where_pytest_looks(project: Path) -> None:
    """A file named test_*.py has tests, and none stand in a file of another name."""
    for path in sorted((project / "tests").rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        functions = [n for n in ast.walk(tree) if isinstance(n, ast.FunctionDef)]
        tests = [f.name for f in functions if f.name.startswith("test_")]
        where = path.relative_to(project)
        if path.name.startswith("test_"):
            assert tests, f"{where} has no tests"
        else:
            assert not tests, f"{where} has tests that are never run: {tests}"


def test_no_file_is_left_out_because_all_its_tests_roam(request: pytest.FixtureRequest) -> None:
    """Each keeps something that is run by default; files named in part on the command apart."""
    if any("::" in one for one in request.config.args):
        pytest.skip("only single tests were asked for")
    assert [file for file, others in cases.others_of.items() if others == 0] == []
