"""Benchmarks are asked for by name: pytest -n0 tests/benchmarks -s -p no:nbval"""

from __future__ import annotations

import os

# Seconds of processor time are compared, so what is timed may run on one processor only.
# This must be said before numpy is loaded.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from tests.browser.conftest import browser, context, lab, opened, run_notebook, scratch

__all__ = ["browser", "context", "lab", "opened", "run_notebook", "scratch"]
