"""The house keeps its floors: imports go down, no files go round in a circle.

Imports inside functions and imports for types count like any other: what a file has to know of
is what a reader has to know of.  Some libraries have one door each.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import NamedTuple

import pytest

from vanplumb import formulas

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
    "lists",
    "shop",
    "answers",
    "review",
    "chapters",
    "drawings",
    "sheet",
    "pack",
    "reference",
    "explore",
    "course",
    "worksheets",
    "office_commands",
    "record_commands",
    "notebook_commands",
    "cli",
]
FACE = "pack"  # `import vanplumb` gives what the pack gives, so it stands on that floor

# The same inside a room that has a second floor.  A room's own files stand where they can.
FLOORS = {
    "van": ["kinds", "file", "form"],
    "flow": ["mixing"],
    "trip": ["stay", "hot_runs", "play", "cold"],
    "board": ["parts", "place", "lists", "search", "hands"],
    "shop": ["joints", "readings", "test", "clock", "record", "draining"],
    "drawings": ["schematic", "board", "charts"],
    "worksheets": ["frame", "shop", "van", "page", "lessons"],
}

# What still goes round, or up a second floor.  Nothing may join, and what is mended must go.
CIRCLES: list[set[str]] = []
UPSTAIRS: set[tuple[str, str]] = {
    ("board.parts", "board.place"),
}

# What is made for printing is made in chapters/ and above; engines give plain results.
PRINTED = {f"vanplumb.words.report.{name}" for name in ("Answer", "Chapter", "Column", "Picture")}

DOORS = {
    "fluids": "van/tank_heads.py",
    "pint": "words/units.py",
    "ipywidgets": "worksheets/",
    "matplotlib": "drawings/",
}
HEAVY = {"fluids", "jinja2", "pint", "pandas", "matplotlib", "scipy", "shapely", "typst", "tomlkit"}


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
    """Every import in a module, those inside functions and those for types too."""
    package = module.split(".") if is_package else module.split(".")[:-1]
    found: list[Import] = []

    def walk(node: ast.AST, at_load: bool) -> None:
        line = getattr(node, "lineno", 0)
        found.extend(Import(name, line, at_load) for name in _targets(node, package))
        late = isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda)
        inside = at_load and not late and not _is_type_checking(node)
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
        if name in PRINTED and ORDER.index(room) < ORDER.index("chapters") and room != "words":
            wrong.append(f"{where}: {room} makes {name.rpartition('.')[2]}s, which chapters/ does")
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


def test_every_file_of_formulas_is_a_named_subject() -> None:
    files = {p.stem for p in (PACKAGE / "formulas").glob("*.py")} - {"__init__"}
    assert files == set(formulas.SUBJECTS)


@pytest.mark.parametrize("path", MODULES)
def test_imports_go_down_the_house_only(path: str) -> None:
    assert complaints((PACKAGE / path).read_text(encoding="utf-8"), path) == []


def module_of(path: str) -> str:
    """The dotted name of a module inside the package: "flow.mixing.valve"."""
    return path.removesuffix(".py").removesuffix("__init__").rstrip("/").replace("/", ".")


Graph = dict[str, set[str]]


def graph_of(sources: dict[str, str]) -> Graph:
    """Which module names which others, by the paths and texts of all; the face left out."""
    modules = {module_of(path): path for path in sources}
    found: Graph = {}
    for module, path in modules.items():
        if not module:
            continue
        seen = set()
        is_package = path.endswith("__init__.py")
        for one in imports_of(sources[path], f"vanplumb.{module}", is_package=is_package):
            name = one.target.removeprefix("vanplumb.")
            if name == one.target:
                continue
            seen.add(name if name in modules else name.rpartition(".")[0])
        found[module] = {name for name in seen if name in modules and name not in ("", module)}
    return found


def circles_of(graph: Graph) -> list[set[str]]:
    """Sets of modules each of which leads to all others of its set (Tarjan 1972)."""
    order: dict[str, int] = {}
    low: dict[str, int] = {}
    stack: list[str] = []
    found: list[set[str]] = []

    def visit(node: str) -> None:
        order[node] = low[node] = len(order)
        stack.append(node)
        for other in sorted(graph.get(node, ())):
            if other not in order:
                visit(other)
                low[node] = min(low[node], low[other])
            elif other in stack:
                low[node] = min(low[node], order[other])
        if low[node] == order[node]:
            place = stack.index(node)
            group = set(stack[place:])
            del stack[place:]
            if len(group) > 1:
                found.append(group)

    for node in graph:
        if node not in order:
            visit(node)
    return found


def upstairs(graph: Graph) -> dict[tuple[str, str], list[str]]:
    """Imports from a lower part of a room into a higher one: the two parts, and which files."""
    found: dict[tuple[str, str], list[str]] = {}
    for module, others in graph.items():
        room, _, rest = module.partition(".")
        floors = FLOORS.get(room, [])
        mine = rest.split(".")[0]
        for other in others:
            its_room, _, its_rest = other.partition(".")
            its = its_rest.split(".")[0]
            if its_room != room or mine not in floors or its not in floors:
                continue
            if floors.index(its) > floors.index(mine):
                pair = (f"{room}.{mine}", f"{room}.{its}")
                found.setdefault(pair, []).append(f"{module} imports {other}")
    return found


@cache
def graph() -> Graph:
    return graph_of({path: (PACKAGE / path).read_text(encoding="utf-8") for path in MODULES})


def test_no_files_import_one_another_in_a_circle() -> None:
    new = [
        sorted(group)
        for group in circles_of(graph())
        if not any(group <= known for known in CIRCLES)
    ]
    assert new == []


def test_circles_that_are_gone_are_not_listed() -> None:
    groups = circles_of(graph())
    assert [sorted(known) for known in CIRCLES if not any(g <= known for g in groups)] == []


def test_imports_go_down_the_second_floors() -> None:
    found = upstairs(graph())
    assert {pair: files for pair, files in found.items() if pair not in UPSTAIRS} == {}
    assert set(found) >= UPSTAIRS, "a stair that is gone is still listed"


def test_every_second_floor_is_in_order() -> None:
    there: dict[str, set[str]] = {}
    for path in MODULES:
        parts = path.split("/")
        if len(parts) > 2:
            there.setdefault(parts[0], set()).add(parts[1])
    assert there == {room: set(floors) for room, floors in FLOORS.items()}


def test_a_circle_is_noticed_whatever_it_is_made_of() -> None:
    sources = {
        "van/a.py": "from .b import x",
        "van/b.py": "def f():\n    from . import c",
        "van/c.py": "if TYPE_CHECKING:\n    from .a import y",
        "van/d.py": "from .a import x",
        "van/__init__.py": "from .d import x",
    }
    assert circles_of(graph_of(sources)) == [{"van.a", "van.b", "van.c"}]
    assert circles_of(graph_of({**sources, "van/c.py": ""})) == []


def test_a_step_up_a_second_floor_is_noticed() -> None:
    sources = {
        "board/hands/a.py": "from ..parts import b",
        "board/parts/b.py": "from ..place.c import x",
        "board/place/c.py": "",
        "board/plan.py": "from .hands.a import x",
    }
    assert set(upstairs(graph_of(sources))) == {("board.parts", "board.place")}


def test_no_two_classes_of_a_room_have_one_name() -> None:
    seen: dict[tuple[str, str], str] = {}
    twice = []
    for path in sorted(PACKAGE.rglob("*.py")):
        inside = path.relative_to(PACKAGE)
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.ClassDef):
                first = seen.setdefault((inside.parts[0], node.name), str(inside))
                if first != str(inside):
                    twice.append((node.name, first, str(inside)))
    assert seen
    assert twice == []


def test_the_order_is_the_one_that_is_told() -> None:
    text = (PACKAGE.parent / "DEVELOPERS.md").read_text(encoding="utf-8")
    house = text.partition("## The house")[2].partition("\n## ")[0]
    rows = [line.split("`")[1] for line in house.splitlines() if line.startswith("| `")]
    assert [row.rstrip("/").removesuffix(".py") for row in rows] == ORDER
    for room, floors in FLOORS.items():
        line = next(line for line in house.splitlines() if line.startswith(f"| `{room}/`"))
        assert ", ".join(f"`{floor}/`" for floor in floors) in line


@pytest.mark.parametrize(
    "path, source, expected",
    [
        ("words/show.py", "from ..van import load", "words imports vanplumb.van.load"),
        ("flow/solve.py", "def f():\n    from vanplumb.trip import x", "flow imports"),
        ("flow/solve.py", "import vanplumb", "flow imports vanplumb"),
        ("flow/solve.py", "import importlib\nimportlib.import_module('vanplumb.cli')", "cli"),
        ("van/load.py", "def f():\n    import pint", "only words/units.py imports pint"),
        ("sheet/page.py", "def f():\n    from matplotlib import pyplot", "only drawings/"),
        ("flow/tanks.py", "def f():\n    from fluids import TANK", "only van/tank_heads.py"),
        ("cli.py", "import ipywidgets", "only worksheets/"),
        ("flow/a.py", "from ..words.report import Chapter", "which chapters/ does"),
        ("board/fit.py", "import scipy.optimize", "scipy is imported when the module loads"),
        ("board/fit.py", "if True:\n    from scipy import optimize", "when the module loads"),
        ("formulas/tank.py", "import math", "not numpy or words"),
        ("formulas/tank.py", "from ..van import parts", "higher up"),
        ("trip/days.py", "p = root / 'data' / 'tubes.csv'", "only words/tables.py reads"),
        ("sheet/page.py", "def f():\n    from ..pack import Pack", "sheet imports"),
        ("sheet/page.py", "if TYPE_CHECKING:\n    from ..pack import Pack", "higher up"),
    ],
)
def test_a_breach_is_noticed(path: str, source: str, expected: str) -> None:
    assert any(expected in complaint for complaint in complaints(source, path))


@pytest.mark.parametrize(
    "path, source",
    [
        ("words/units.py", "def f():\n    import pint"),
        ("board/fit.py", "def f():\n    from scipy import optimize"),
        ("sheet/page.py", "if TYPE_CHECKING:\n    from ..answers import Answers"),
        ("board/fit.py", "if TYPE_CHECKING:\n    from scipy import sparse"),
        ("formulas/tank.py", "from numpy import pi\nfrom ..words.formula import formula"),
        ("worksheets/base.py", "import ipywidgets as widgets\nfrom ..pack import Pack"),
        ("cli.py", "from .pack import Pack"),
        ("shop/dose.py", "from ..words.report import Caution"),
        ("words/tables.py", "p = root / 'data'"),
    ],
)
def test_what_is_allowed_passes(path: str, source: str) -> None:
    assert complaints(source, path) == []
