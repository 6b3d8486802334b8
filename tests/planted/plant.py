"""Plants small faults in a copy of the package, one at a time, and tells which tests notice.

    python tests/planted/plant.py                      all faults: own room first, then the others
    python tests/planted/plant.py --room flow shop     those of some rooms
    python tests/planted/plant.py --number 12 13       some faults of the list
    python tests/planted/plant.py --own                the room's own tests only

A fault that a room's own tests miss is given to the tests of all other rooms; notebooks, browser
and benchmarks are left out.  The work tree is never touched.  Tests that fail without any fault
are told, and left out, so that they can't pass for watchfulness.
"""

from __future__ import annotations

import argparse
import contextlib
import importlib
import os
import re
import shutil
import signal
import sys
import tempfile
import time
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

HERE = Path(__file__).parent
PROJECT = HERE.parent.parent
LEFT_OUT = ("browser", "benchmarks", "planted")
# A room's own tests; a room that is not named here has them in the folder of its name.
TESTS_OF = {"network": ("network", "flow")}
# Loaded once, before each run is forked off: nothing of the kit is among them.
HEAVY = ("numpy", "pandas", "pint", "scipy.optimize", "scipy.stats", "shapely", "hypothesis")
LONGEST = 900.0  # seconds; a run that hangs is one that CI would notice
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


def copy_of_the_project(to: Path) -> None:
    """What the tests need, with its times, so that compiled files stay valid."""
    for name in ("vanplumb", "data", "tests", "notebooks"):
        shutil.copytree(PROJECT / name, to / name, ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("pyproject.toml", "README.md", "DEVELOPERS.md", "LICENSE"):
        shutil.copy2(PROJECT / name, to / name)


def run(where: Path, paths: Sequence[str], *options: str) -> Run:
    """Pytest in a process of its own, forked off this one."""
    log, start = where / "run.log", time.monotonic()
    child = os.fork()
    if child == 0:
        code = 3
        with contextlib.suppress(BaseException):
            out = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
            os.dup2(out, 1)
            os.dup2(out, 2)
            os.setpgid(0, 0)
            os.chdir(where)
            sys.path[:] = [str(where), *(p for p in sys.path if p != str(PROJECT))]
            import pytest

            quiet = ["-q", "-n0", "-p", "no:nbval", "-p", "no:cacheprovider", "--tb=no", "-rfE"]
            code = int(pytest.main([*quiet, *options, *paths]))
            sys.stdout.flush()
        os._exit(code)
    hung = False
    while True:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            break
        if time.monotonic() - start > LONGEST:
            os.killpg(child, signal.SIGKILL)
            _, status = os.waitpid(child, 0)
            hung = True
            break
        time.sleep(0.05)
    text = log.read_text(errors="replace")
    failed = tuple(re.findall(r"^(?:FAILED|ERROR) (\S.*?)(?: - .*)?$", text, re.M))
    code = os.waitstatus_to_exitcode(status)
    if code not in (0, 1, 2) and not hung:
        print(text[-2000:])
        raise SystemExit(f"pytest ended with {code} on {' '.join(paths)}")
    return Run(code == 0, failed, time.monotonic() - start, hung)


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


class Garden:
    """A copy of the project in which faults are planted and pulled out again."""

    def __init__(self, root: Path):
        self.root = root
        copy_of_the_project(root)
        folders = [p.name for p in sorted((root / "tests").iterdir()) if p.is_dir()]
        self.rooms = [n for n in folders if n not in LEFT_OUT and not n.startswith("_")]
        self.sick: dict[str, tuple[str, ...]] = {}

    def own(self, room: str) -> list[str]:
        names = TESTS_OF.get(room, (room,))
        return [f"tests/{name}" for name in names if (self.root / "tests" / name).is_dir()]

    def others(self, room: str) -> list[str]:
        own = self.own(room)
        files = [f"tests/{p.name}" for p in sorted((self.root / "tests").glob("test_*.py"))]
        rest = [f"tests/{name}" for name in self.rooms if f"tests/{name}" not in own]
        return [*rest, *(f for f in files if f != "tests/test_notebooks.py")]

    def healthy(self, paths: Sequence[str]) -> list[str]:
        """Options that leave out what fails without any fault."""
        for path in paths:
            if path not in self.sick:
                start = run(self.root, [path], "--continue-on-collection-errors")
                self.sick[path] = start.failed
                print(f"{path} without faults: {start.seconds:.0f} s", flush=True)
                for test in start.failed:
                    print(f"  fails by itself, left out: {test}", flush=True)
        left_out = [test for path in paths for test in self.sick[path]]
        return [f"--deselect={test}" if "::" in test else f"--ignore={test}" for test in left_out]

    def planted(self, fault: Fault, paths: Sequence[str]) -> Run:
        """A run of the tests with the fault in place."""
        options = self.healthy(paths)
        path = where_it_is(fault, self.root)
        text, times = path.read_text(encoding="utf-8"), path.stat()
        os.environ["PYTHONDONTWRITEBYTECODE"] = "1"
        sys.dont_write_bytecode = True
        try:
            path.write_text(text.replace(fault.was, fault.is_now), encoding="utf-8")
            return run(self.root, paths, "-x", *options)
        finally:
            path.write_text(text, encoding="utf-8")
            os.utime(path, ns=(times.st_atime_ns, times.st_mtime_ns))
            os.environ.pop("PYTHONDONTWRITEBYTECODE")
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
    by_own, by_any, lost = [], [], []
    with tempfile.TemporaryDirectory() as folder:
        garden = Garden(Path(folder))
        for number, fault in numbered:
            try:
                seen = garden.planted(fault, garden.own(fault.room))
                who = "own"
                if seen.passed and not asked.own:
                    seen, who = garden.planted(fault, garden.others(fault.room)), "others"
            except LookupError as problem:
                lost.append(number)
                print(f"{number:3} {fault.room:9} LOST      {problem}", flush=True)
                continue
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
