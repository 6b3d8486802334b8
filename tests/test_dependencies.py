"""What pyproject.toml asks for is what the code imports, neither more nor less."""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest

# Distributions whose modules have another name.
MODULE = {"pillow": "PIL"}
# Run as commands or loaded as plugins, never imported: what runs them.
COMMANDS = {"jupyterlab": '"-m", "jupyterlab"', "voila": '"-m", "voila"'}
TOOLS = {"build", "mypy", "nbval", "pandas-stubs", "pytest-xdist", "ruff", "types-shapely"}


def names(requirements: list[str]) -> set[str]:
    return {re.split(r"[\s<>=~!\[;]", text)[0] for text in requirements}


def module_of(distribution: str) -> str:
    return MODULE.get(distribution, distribution.replace("-", "_")).lower()


def imported(*folders: Path) -> set[str]:
    """Top names of all that is imported from outside, late imports and types too."""
    found: set[str] = set()
    for path in (p for folder in folders for p in folder.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                found |= {alias.name.split(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and not node.level and node.module:
                found.add(node.module.split(".")[0])
            elif isinstance(node, ast.Call) and node.args:
                late = ast.unparse(node.func).endswith(("import_module", "importorskip"))
                name = node.args[0].value if isinstance(node.args[0], ast.Constant) else None
                if late and isinstance(name, str):
                    found.add(name.split(".")[0])
    outside = found - set(sys.stdlib_module_names) - {"", "_typeshed"}  # that one is for types
    return {name.lower() for name in outside}


@pytest.fixture(scope="module")
def declared(project: Path) -> Any:
    return tomllib.loads((project / "pyproject.toml").read_text(encoding="utf-8"))["project"]


def test_every_dependency_is_imported_or_run(project: Path, declared: Any) -> None:
    here = imported(project / "vanplumb")
    code = "\n".join(p.read_text(encoding="utf-8") for p in (project / "vanplumb").rglob("*.py"))
    for name in names(declared["dependencies"]):
        if name in COMMANDS:
            assert COMMANDS[name] in code, f"{name} is asked for, and nothing runs it"
        else:
            assert module_of(name) in here, f"{name} is asked for, and nothing imports it"


def test_every_import_of_the_package_is_asked_for(project: Path, declared: Any) -> None:
    asked = {module_of(name) for name in names(declared["dependencies"])}
    assert imported(project / "vanplumb") - {"vanplumb"} <= asked


def test_every_dependency_of_the_tests_is_imported_or_a_tool(project: Path, declared: Any) -> None:
    here = imported(project / "tests")
    asked = names(declared["optional-dependencies"]["test"])
    assert {name for name in asked - TOOLS if module_of(name) not in here} == set()
    assert asked >= TOOLS
