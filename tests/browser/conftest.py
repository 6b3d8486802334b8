"""One lab and one browser for all browser tests; skipped with a reason where there is none."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.browser.lab import CHROMIUM, Notebook, running_browser, running_lab


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    if CHROMIUM is None:
        pytest.skip("no chromium on this machine: install it to test the worksheets in a browser")
    with running_browser() as one:
        yield one


@pytest.fixture(scope="session")
def lab(tmp_path_factory: pytest.TempPathFactory, browser: Any, project: Path) -> Iterator[str]:
    with running_lab(tmp_path_factory.mktemp("lab"), project / "notebooks") as address:
        yield address


@pytest.fixture(scope="session")
def opened() -> Iterator[list[Notebook]]:
    """The notebook that is open, if any: one at a time, kept for the tests that want the same."""
    held: list[Notebook] = []
    yield held
    for one in held:
        one.close()


@pytest.fixture
def run_notebook(browser: Any, lab: str, opened: list[Notebook]) -> Callable[..., Notebook]:
    """``run_notebook("02_mixing_valve.ipynb", width=420, dark=True)``: run from the top.

    It is run once more if another test has used it since.  With ``again=False`` one that was run
    already is only looked at, as it stands, and whoever asks so leaves it as it was.
    """

    def run(name: str, *, again: bool = True, **view: Any) -> Notebook:
        new = not opened or opened[0].name != name
        if new:
            while opened:
                opened.pop().close()
            opened.append(Notebook(browser, lab, name))
        opened[0].view(**view)
        if new or (again and opened[0].used):
            opened[0].run_all()
            opened[0].used = False
        opened[0].used |= again
        opened[0].settle()
        return opened[0]

    return run
