"""`import vanplumb` is light: what is heavy comes when it is first needed."""

from __future__ import annotations

import subprocess
import sys

HEAVY = [
    "fluids",
    "jinja2",
    "pint",
    "pandas",
    "matplotlib",
    "scipy",
    "shapely",
    "typst",
    "tomlkit",
    "ipywidgets",
    "IPython",
    "jupyterlab",
]


def loaded_after(statement: str) -> list[str]:
    """Names of the heavy libraries that a fresh interpreter holds after one statement."""
    code = f"import sys; {statement}; print(*(m for m in {HEAVY!r} if m in sys.modules))"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True
    )
    return done.stdout.split()


def test_import_loads_nothing_heavy() -> None:
    assert loaded_after("import vanplumb") == []


def test_the_command_line_loads_nothing_heavy() -> None:
    assert loaded_after("import vanplumb.cli") == []


def test_the_check_would_notice() -> None:
    assert "pint" in loaded_after("import pint")
