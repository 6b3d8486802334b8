"""Benchmarks are asked for by name: pytest -n0 tests/benchmarks -s -p no:nbval"""

from __future__ import annotations

from tests.browser.conftest import browser, lab, opened, run_notebook

__all__ = ["browser", "lab", "opened", "run_notebook"]
