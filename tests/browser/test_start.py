"""The first notebook in a real browser."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.browser.lab import Notebook

pytestmark = pytest.mark.browser

NAME = "01_start.ipynb"


def test_it_runs_without_complaint(run_notebook: Callable[..., Notebook]) -> None:
    one = run_notebook(NAME, again=False)
    assert one.failures() == []
    assert one.page.locator(".vanplumb table").count() >= 2
    assert one.page.locator(".vanplumb math").count() >= 1
    assert one.page.locator(".vanplumb .vp-caution").count() >= 1
