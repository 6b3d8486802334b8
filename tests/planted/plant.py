"""Plants small faults in a copy of the package, one at a time, and tells which tests notice.

    python tests/planted/plant.py                      all faults: own room first, then the others
    python tests/planted/plant.py --room flow shop     those of some rooms
    python tests/planted/plant.py --number 12 13       some faults of the list
    python tests/planted/plant.py --own                the room's own tests only

First each folder of tests runs without faults, to see which tests pass through which of the
faulty functions and how long they take.  Then a fault is given to those tests, the shortest
first, and to the others of their files; if its own room's miss it, to those of all other rooms.
Notebooks, browser and benchmarks are left out.  The work tree is never touched.  Tests that fail
without any fault are told, and left out, so that they can't pass for watchfulness.
"""

from __future__ import annotations

import argparse
import ast
import contextlib
import importlib
import json
import os
import re
import resource
import shutil
import signal
import sys
import tempfile
import time
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

HERE = Path(__file__).parent
PROJECT = HERE.parent.parent
LEFT_OUT = ("browser", "benchmarks", "planted")
# A room's own tests; a room that is not named here has them in the folder of its name.
TESTS_OF = {"network": ("network", "flow")}
# Loaded once, before each run is forked off: nothing of the kit is among them.
HEAVY = ("numpy", "pandas", "pint", "scipy.optimize", "scipy.stats", "shapely", "hypothesis")
MARKS, WATCHED = "planted_marks", "watched.json"
MARKS_CODE = """
import os

passed = {}


def hit(numbers):
    test = os.environ.get("PYTEST_CURRENT_TEST", "").rpartition(" ")[0]
    passed.setdefault(test, set()).update(numbers)
"""
LONGEST = 600  # seconds of processor time; a run that hangs is one that CI would notice
WHOLE, OWN = 0.90, 0.75  # shares that must be caught


@dataclass(frozen=True)
class Fault:
    """In which room, what stands there, and what a slip would put in its place."""

    room: str
    was: str
    is_now: str


def all_faults() -> list[Fault]:
    """The list beside this file, in its order."""
    rooms = tomllib.loads((HERE / "faults.toml").read_text(encoding="utf-8"))
    return [Fault(room, one["was"], one["is"]) for room, many in rooms.items() for one in many]


@dataclass(frozen=True)
class Run:
    """How a run of tests ended, and the tests that failed."""

    passed: bool
    failed: tuple[str, ...]
    seconds: float
    hung: bool = False


@dataclass(frozen=True)
class Health:
    """What a folder's tests do without faults: seconds by test, faults by test, and what fails.

    Faulty functions that ran while nothing was under test stand under "".
    """

    seconds: dict[str, float]
    passes: dict[str, set[int]]
    failed: tuple[str, ...]


class Watch:
    """A plugin that writes down how long each test took; the marks know what it passed through."""

    def __init__(self) -> None:
        self.seconds: dict[str, float] = {}

    def pytest_runtest_logreport(self, report: Any) -> None:
        self.seconds[report.nodeid] = self.seconds.get(report.nodeid, 0.0) + report.duration

    def pytest_sessionfinish(self) -> None:
        marks = sys.modules.get(MARKS)
        passed = getattr(marks, "passed", {})
        found = {test: sorted(numbers) for test, numbers in passed.items()}
        Path(WATCHED).write_text(json.dumps([self.seconds, found]), encoding="utf-8")


class Choose:
    """A plugin that runs some tests only, in the order given."""

    def __init__(self, order: Sequence[str]) -> None:
        self.place = {test: i for i, test in enumerate(order)}

    @pytest.hookimpl(trylast=True)
    def pytest_collection_modifyitems(self, items: list[Any]) -> None:
        items[:] = sorted(
            (item for item in items if item.nodeid in self.place),
            key=lambda item: self.place[item.nodeid],
        )


def copy_of_the_project(to: Path) -> None:
    """What the tests need, with its times, so that compiled files stay valid."""
    for name in ("vanplumb", "data", "tests", "notebooks"):
        shutil.copytree(PROJECT / name, to / name, ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("pyproject.toml", "README.md", "DEVELOPERS.md", "LICENSE"):
        shutil.copy2(PROJECT / name, to / name)


def run(where: Path, paths: Sequence[str], plugin: object, *options: str) -> Run:
    """Pytest in a process of its own, forked off this one."""
    log, start = where / "run.log", time.monotonic()
    child = os.fork()
    if child == 0:
        code = 3
        with contextlib.suppress(BaseException):
            out = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
            os.dup2(out, 1)
            os.dup2(out, 2)
            resource.setrlimit(resource.RLIMIT_CPU, (LONGEST, LONGEST + 60))
            os.chdir(where)
            os.environ["HYPOTHESIS_PROFILE"] = "planted"
            sys.path[:] = [str(where), *(p for p in sys.path if p != str(PROJECT))]
            quiet = ["-q", "-n0", "-p", "no:nbval", "-p", "no:cacheprovider", "--tb=no", "-rfE"]
            code = int(pytest.main([*quiet, *options, *paths], plugins=[plugin]))
            sys.stdout.flush()
        os._exit(code)
    _, status = os.waitpid(child, 0)
    hung = os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGXCPU
    text = log.read_text(errors="replace")
    failed = tuple(re.findall(r"^(?:FAILED|ERROR) (\S.*?)(?: - .*)?$", text, re.M))
    code = os.waitstatus_to_exitcode(status)
    if code not in (0, 1, 2, 5) and not hung:
        print(text[-2000:])
        raise SystemExit(f"pytest ended with {code} on {' '.join(paths)}")
    return Run(code in (0, 5), failed, time.monotonic() - start, hung)


def where_it_is(fault: Fault, root: Path) -> Path:
    """The one file of the package that holds the fault's old text, once."""
    found = [
        (path, path.read_text(encoding="utf-8").count(fault.was))
        for path in sorted((root / "vanplumb").rglob("*.py"))
    ]
    found = [(path, count) for path, count in found if count]
    if sum(count for _, count in found) != 1:
        places = ", ".join(f"{path.relative_to(root)} ({count})" for path, count in found)
        raise LookupError(f"found {places or 'nowhere'}, needed once: {fault.was!r}")
    return found[0][0]


def marked(text: str, spans: Mapping[int, set[str]], positions: Mapping[int, int]) -> str:
    """The text of a module with a mark at the head of each function that holds a fault.

    ``positions`` are where faults stand in it, ``spans`` the names that faults outside any
    function give to others: whoever uses such a name is marked too.
    """
    tree = ast.parse(text)
    starts = [0]
    for line in text.splitlines(keepends=True):
        starts.append(starts[-1] + len(line))
    heads: dict[int, set[int]] = {}
    for node in ast.walk(tree):
        if not isinstance(node, ast.FunctionDef) or node.end_lineno is None:
            continue
        begin, end = starts[node.lineno - 1], starts[node.end_lineno]
        inside = {n for n, place in positions.items() if begin <= place < end}
        used = {n.id for n in ast.walk(node) if isinstance(n, ast.Name)}
        used |= {n.attr for n in ast.walk(node) if isinstance(n, ast.Attribute)}
        inside |= {n for n, names in spans.items() if names & used}
        body = node.body[1:] if ast.get_docstring(node) and len(node.body) > 1 else node.body
        if inside and body[0].lineno > node.lineno:
            heads.setdefault(body[0].lineno - 1, set()).update(inside)
    lines = text.splitlines(keepends=True)
    for at in sorted(heads, reverse=True):
        margin = lines[at][: len(lines[at]) - len(lines[at].lstrip())]
        lines.insert(at, f"{margin}__import__({MARKS!r}).hit({sorted(heads[at])})\n")
    return "".join(lines)


def name_given(text: str, place: int) -> set[str]:
    """The name that a fault outside any function changes; none if it stands in a function."""
    line = text.count("\n", 0, place) + 1
    for node in ast.parse(text).body:
        if node.lineno <= line <= (node.end_lineno or node.lineno):
            if isinstance(node, ast.Assign):
                return {n.id for n in node.targets if isinstance(n, ast.Name)}
            if isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
                return {node.target.id}
    return set()


class Garden:
    """A copy of the project in which faults are planted and pulled out again."""

    def __init__(self, root: Path, faults: Mapping[int, Fault]):
        self.root, self.faults = root, faults
        copy_of_the_project(root)
        folders = [p.name for p in sorted((root / "tests").iterdir()) if p.is_dir()]
        self.rooms = [n for n in folders if n not in LEFT_OUT and not n.startswith("_")]
        self.known: dict[str, Health] = {}
        (root / f"{MARKS}.py").write_text(MARKS_CODE, encoding="utf-8")
        self.places: dict[int, Path] = {}
        self.lost: dict[int, str] = {}
        for number, fault in faults.items():
            try:
                self.places[number] = where_it_is(fault, root)
            except LookupError as problem:
                self.lost[number] = str(problem)

    def own(self, room: str) -> list[str]:
        names = TESTS_OF.get(room, (room,))
        return [f"tests/{name}" for name in names if (self.root / "tests" / name).is_dir()]

    def others(self, room: str) -> list[str]:
        own = self.own(room)
        files = [f"tests/{p.name}" for p in sorted((self.root / "tests").glob("test_*.py"))]
        rest = [f"tests/{name}" for name in self.rooms if f"tests/{name}" not in own]
        return [*rest, *(f for f in files if f != "tests/test_notebooks.py")]

    def health(self, path: str) -> Health:
        """How a folder's tests do without faults, with marks in the functions to be faulty."""
        if path not in self.known:
            with self.marks():
                start = run(self.root, [path], Watch(), "--continue-on-collection-errors")
            seconds, passes = json.loads((self.root / WATCHED).read_text(encoding="utf-8"))
            found = {test: set(numbers) for test, numbers in passes.items()}
            self.known[path] = Health(seconds, found, start.failed)
            print(f"{path} without faults: {start.seconds:.0f} s", flush=True)
            for test in start.failed:
                print(f"  fails by itself, left out: {test}", flush=True)
        return self.known[path]

    @contextlib.contextmanager
    def marks(self) -> Iterator[None]:
        """The package with its marks; formulas have none, since their text is what they print."""
        texts: dict[Path, str] = {}
        names: dict[int, set[str]] = {}
        places: dict[Path, dict[int, int]] = {}
        for number, path in self.places.items():
            text = texts.setdefault(path, path.read_text(encoding="utf-8"))
            if path.parent.name != "formulas":
                place = text.index(self.faults[number].was)
                places.setdefault(path, {})[number] = place
                names[number] = name_given(text, place)
        for path in (self.root / "vanplumb").rglob("*.py"):
            if path.parent.name != "formulas":
                texts.setdefault(path, path.read_text(encoding="utf-8"))
        with contextlib.ExitStack() as undo:
            for path, text in texts.items():
                if path.parent.name != "formulas":
                    new = marked(text, names, places.get(path, {}))
                    if new != text:
                        undo.enter_context(changed(path, new))
            yield

    def order(self, number: int, paths: Sequence[str]) -> list[str]:
        """Tests worth running: those that pass through the fault, then the rest of their files."""
        first: dict[str, float] = {}
        then: dict[str, float] = {}
        for path in paths:
            health = self.health(path)
            well = {t: s for t, s in health.seconds.items() if t not in health.failed}
            if self.faults[number].room == "formulas":
                hits = {t for t in well if self._names(t.split("::")[0], self._formula(number))}
            else:
                always = number in health.passes.get("", ())
                hits = {t for t in well if always or number in health.passes.get(t, ())}
            files = {test.split("::")[0] for test in hits}
            for test, seconds in well.items():
                if test in hits:
                    first[test] = seconds
                elif test.split("::")[0] in files:
                    then[test] = seconds
        return sorted(first, key=first.__getitem__) + sorted(then, key=then.__getitem__)

    def _formula(self, number: int) -> str:
        """The name of the formula in which a fault stands."""
        text = self.places[number].read_text(encoding="utf-8")
        before = text[: text.index(self.faults[number].was) + len(self.faults[number].was)]
        return re.findall(r"^def (\w+)\(", before, re.M)[-1]

    def _names(self, file: str, name: str) -> bool:
        """Whether a file of tests speaks of a formula, which most import by name."""
        return name in (self.root / file).read_text(encoding="utf-8")

    def planted(self, number: int, paths: Sequence[str]) -> Run:
        """A run of the tests with the fault in place."""
        order, fault, path = self.order(number, paths), self.faults[number], self.places[number]
        if not order:
            return Run(True, (), 0.0)
        files = sorted({test.split("::")[0] for test in order})
        text = path.read_text(encoding="utf-8")
        with changed(path, text.replace(fault.was, fault.is_now)):
            return run(self.root, files, Choose(order), "-x")


@contextlib.contextmanager
def changed(path: Path, text: str) -> Iterator[None]:
    """Another text in a file for a while; its time afterwards is the old one."""
    before, times = path.read_text(encoding="utf-8"), path.stat()
    sys.dont_write_bytecode = True
    try:
        path.write_text(text, encoding="utf-8")
        yield
    finally:
        path.write_text(before, encoding="utf-8")
        os.utime(path, ns=(times.st_atime_ns, times.st_mtime_ns))
        sys.dont_write_bytecode = False


def main() -> int:
    chosen = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    chosen.add_argument("--room", nargs="+", default=[], help="faults of these rooms")
    chosen.add_argument("--number", nargs="+", type=int, default=[], help="faults by number")
    chosen.add_argument("--own", action="store_true", help="the room's own tests only")
    asked = chosen.parse_args()
    numbered = [
        (number, fault)
        for number, fault in enumerate(all_faults(), 1)
        if (not asked.room or fault.room in asked.room)
        and (not asked.number or number in asked.number)
    ]
    for name in HEAVY:
        importlib.import_module(name)
    by_own, by_any = [], []
    with tempfile.TemporaryDirectory() as folder:
        garden = Garden(Path(folder), dict(numbered))
        lost = garden.lost
        for number, fault in numbered:
            if number in lost:
                print(f"{number:3} {fault.room:9} LOST      {lost[number]}", flush=True)
                continue
            seen, who = garden.planted(number, garden.own(fault.room)), "own"
            if seen.passed and not asked.own:
                seen, who = garden.planted(number, garden.others(fault.room)), "others"
            if seen.passed:
                who, why = "MISSED", f"{fault.was.strip()!r} -> {fault.is_now.strip()!r}"
            else:
                by_any.append(number)
                by_own += [number] if who == "own" else []
                why = "hangs" if seen.hung else ", ".join(seen.failed)
            print(f"{number:3} {fault.room:9} {who:9} {seen.seconds:5.0f} s  {why}", flush=True)
    planted = len(numbered) - len(lost)
    if not planted:
        return 1
    print(f"planted {planted}: own room caught {len(by_own)}", end="")
    print("" if asked.own else f", all tests {len(by_any)}")
    enough = len(by_own) >= OWN * planted and (asked.own or len(by_any) >= WHOLE * planted)
    return 0 if enough and not lost else 1


if __name__ == "__main__":
    sys.exit(main())
