"""The house keeps its floors: imports go down, and some libraries have one door each."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest

PACKAGE = Path(__file__).parents[1] / "vanplumb"

# A room may import from rooms on its left and from itself, never from its right.
ORDER = [
    "words",
    "formulas",
    "network",
    "van",
    "flow",
    "trip",
    "board",
    "shop",
    "review",
    "chapters",
    "drawings",
    "sheet",
    "pack",
    "explore",
    "worksheets",
    "course",
    "cli",
]
FACE = "pack"  # `import vanplumb` gives what the pack gives, so it stands on that floor

DOORS = {"pint": "words/units.py", "ipywidgets": "worksheets/", "matplotlib": "drawings/"}
HEAVY = {"pint", "pandas", "matplotlib", "scipy", "shapely", "typst", "tomlkit"}


class Import(NamedTuple):
    """One import: the full dotted name, the line, and whether it runs when the module loads."""

    target: str
    line: int
    at_load: bool


def _is_type_checking(node: ast.AST) -> bool:
    return isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test)


def _targets(node: ast.AST, package: list[str]) -> Iterator[str]:
    """Dotted names that a statement or call imports, relative ones made absolute."""
    if isinstance(node, ast.Import):
        yield from (alias.name for alias in node.names)
    elif isinstance(node, ast.ImportFrom):
        base = package[: len(package) - node.level + 1] if node.level else []
        stem = ".".join(base + ([node.module] if node.module else []))
        yield from (f"{stem}.{alias.name}" for alias in node.names)
    elif isinstance(node, ast.Call):
        called = ast.unparse(node.func).rpartition(".")[2]
        if called in ("import_module", "__import__") and node.args:
            first = node.args[0]
            if isinstance(first, ast.Constant) and isinstance(first.value, str):
                name = first.value
                level = len(name) - len(name.lstrip("."))
                base = package[: len(package) - level + 1] if level else []
                yield ".".join([*base, name.lstrip(".")])


def imports_of(source: str, module: str, *, is_package: bool = False) -> list[Import]:
    """Every import in a module, those inside functions too; not those for type checking only."""
    package = module.split(".") if is_package else module.split(".")[:-1]
    found: list[Import] = []

    def walk(node: ast.AST, at_load: bool) -> None:
        if _is_type_checking(node):
            for rest in node.orelse:  # type: ignore[attr-defined]
                walk(rest, at_load)
            return
        line = getattr(node, "lineno", 0)
        found.extend(Import(name, line, at_load) for name in _targets(node, package))
        inside = at_load and not isinstance(
            node, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda
        )
        for child in ast.iter_child_nodes(node):
            walk(child, inside)

    walk(ast.parse(source), True)
    return found


def room_of(name: str) -> str | None:
    """The room of a dotted name inside the package; None for a name from elsewhere."""
    parts = name.split(".")
    if parts[0] != "vanplumb":
        return None
    return parts[1] if len(parts) > 1 and parts[1] in ORDER else FACE


def complaints(source: str, path: str) -> list[str]:
    """What a module at ``path`` (from the package's folder) does against the rules."""
    is_package = path.endswith("__init__.py")
    module = "vanplumb." + path.removesuffix(".py").replace("/", ".")
    module = module.removesuffix(".__init__")
    is_face = module in ("vanplumb.__init__", "vanplumb", "vanplumb.__main__")
    room = room_of(module)
    assert room is not None
    wrong = []
    for name, line, at_load in imports_of(source, module, is_package=is_package):
        top = name.split(".")[0]
        other = room_of(name)
        where = f"vanplumb/{path}:{line}"
        if name == "vanplumb.__version__":
            continue  # a number, known without loading anything
        if other is not None and not is_face and ORDER.index(other) > ORDER.index(room):
            wrong.append(f"{where}: {room} imports {name}, which is higher up")
        if top in DOORS and not path.startswith(DOORS[top]):
            wrong.append(f"{where}: only {DOORS[top]} imports {top}")
        if top in HEAVY and at_load:
            wrong.append(f"{where}: {top} is imported when the module loads")
        if room == "formulas" and not (
            other in ("words", "formulas") or top in ("numpy", "__future__")
        ):
            wrong.append(f"{where}: formulas imports {name}, not numpy or words")
    if path != "words/tables.py":
        wrong += [
            f"vanplumb/{path}:{node.lineno}: only words/tables.py reads the data folder"
            for node in ast.walk(ast.parse(source))
            if isinstance(node, ast.Constant)
            and isinstance(node.value, str)
            and (node.value in ("data", "_data") or node.value.startswith(("data/", "_data/")))
        ]
    return wrong


MODULES = sorted(p.relative_to(PACKAGE).as_posix() for p in PACKAGE.rglob("*.py"))


def test_there_are_modules_to_check() -> None:
    assert len(MODULES) > 3


def test_every_room_has_its_floor() -> None:
    face = {"__init__.py", "__main__.py", "py.typed"}
    rooms = {p.name.removesuffix(".py") for p in PACKAGE.iterdir() if p.name not in face}
    rooms -= {"__pycache__", "_data", "_notebooks"}
    assert rooms == set(ORDER)


@pytest.mark.parametrize("path", MODULES)
def test_imports_go_down_the_house_only(path: str) -> None:
    assert complaints((PACKAGE / path).read_text(encoding="utf-8"), path) == []


@pytest.mark.parametrize(
    "path, source, expected",
    [
        ("words/show.py", "from ..van import load", "words imports vanplumb.van.load"),
        ("flow/solve.py", "def f():\n    from vanplumb.trip import x", "flow imports"),
        ("flow/solve.py", "import vanplumb", "flow imports vanplumb"),
        ("flow/solve.py", "import importlib\nimportlib.import_module('vanplumb.cli')", "cli"),
        ("van/load.py", "def f():\n    import pint", "only words/units.py imports pint"),
        ("sheet/page.py", "def f():\n    from matplotlib import pyplot", "only drawings/"),
        ("cli.py", "import ipywidgets", "only worksheets/"),
        ("board/fit.py", "import scipy.optimize", "scipy is imported when the module loads"),
        ("board/fit.py", "if True:\n    from scipy import optimize", "when the module loads"),
        ("formulas/tank.py", "import math", "not numpy or words"),
        ("formulas/tank.py", "from ..van import parts", "higher up"),
        ("trip/days.py", "p = root / 'data' / 'tubes.csv'", "only words/tables.py reads"),
        ("sheet/page.py", "def f():\n    from ..pack import Pack", "sheet imports"),
    ],
)
def test_a_breach_is_noticed(path: str, source: str, expected: str) -> None:
    assert any(expected in complaint for complaint in complaints(source, path))


@pytest.mark.parametrize(
    "path, source",
    [
        ("words/units.py", "def f():\n    import pint"),
        ("board/fit.py", "def f():\n    from scipy import optimize"),
        ("sheet/page.py", "if TYPE_CHECKING:\n    from ..pack import Pack"),
        ("formulas/tank.py", "from numpy import pi\nfrom ..words.formula import formula"),
        ("worksheets/base.py", "import ipywidgets as widgets\nfrom ..pack import Pack"),
        ("cli.py", "from .pack import Pack"),
        ("words/tables.py", "p = root / 'data'"),
    ],
)
def test_what_is_allowed_passes(path: str, source: str) -> None:
    assert complaints(source, path) == []
