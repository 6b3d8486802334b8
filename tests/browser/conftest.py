"""One lab and one browser for all browser tests; skipped with a reason where there is none."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests import cases
from tests.browser.lab import CHROMIUM, Notebook, running_browser, running_lab
from tests.replayed import shown


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    if CHROMIUM is None:
        pytest.skip("no chromium on this machine: install it to test the worksheets in a browser")
    with running_browser() as one:
        yield one


@pytest.fixture(scope="session")
def scratch(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the lab has what it needs; the notebooks that it serves are in ``notebooks``."""
    return tmp_path_factory.mktemp("lab")


@pytest.fixture(scope="session")
def lab(scratch: Path, browser: Any, project: Path) -> Iterator[str]:
    with running_lab(scratch, project / "notebooks") as address:
        yield address


@pytest.fixture(scope="session")
def context(browser: Any) -> Any:
    """What the pages of the lab share, beside the browser: its code, once loaded."""
    return browser.new_context()


@pytest.fixture(scope="session")
def opened() -> Iterator[list[Notebook]]:
    """The notebook that is open, if any: one at a time, kept for the tests that want the same."""
    held: list[Notebook] = []
    yield held
    for one in held:
        one.close()


@pytest.fixture
def run_notebook(
    context: Any, lab: str, scratch: Path, opened: list[Notebook]
) -> Callable[..., Notebook]:
    """``run_notebook("02_mixing_valve.ipynb", width=420, dark=True)``: run from the top.

    It is run once more if another test has used it since, but for one with the same ``user``: such
    tests go on where the one before has left it, unless they roam.  With ``again=False`` one that
    was run already is only looked at, as it stands, and whoever asks so leaves it as it was.  Files
    that others left beside it are taken away first, but for ``beside=True``.
    """

    def run(
        name: str, *, again: bool = True, user: str = "", beside: bool = False, **view: Any
    ) -> Notebook:
        new = not opened or opened[0].name != name
        if new:
            while opened:
                opened.pop().close()
            if not beside:
                tidy(scratch / "notebooks")
            opened.append(Notebook(context, lab, name))
        opened[0].view(**view)
        same = bool(user) and opened[0].user == user
        goes_on = same and not cases.roaming and not opened[0].failures()
        if new or (again and opened[0].used and not goes_on):
            opened[0].run_all()
            opened[0].used = False
            if new and not beside:
                shown[name] = opened[0].outputs()
        if again:
            opened[0].used, opened[0].user = True, user
        opened[0].settle()
        return opened[0]

    return run


def tidy(folder: Path) -> None:
    """Leave notebooks only."""
    for path in folder.iterdir():
        if path.is_dir():
            shutil.rmtree(path)
        elif path.suffix != ".ipynb":
            path.unlink()
