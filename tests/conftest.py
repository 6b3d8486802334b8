"""What every test shares: notebooks are run and compared strictly, without an option to forget."""

from __future__ import annotations

import os
import pickle
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import fields
from functools import cache, cached_property
from hashlib import sha256
from pathlib import Path
from typing import Any

# The matrices are small: threads that wait for one another only cost.  Before numpy is loaded.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import pytest
from hypothesis import Phase, settings

from tests import cases
from tests.replayed import use_what_was_shown

TESTS = Path(__file__).parent

# One commit gives one verdict, soon.  HYPOTHESIS_PROFILE names another for a run's special purpose.
settings.register_profile("quick", max_examples=20, derandomize=True, deadline=None)
# For versions of libraries, not for what vans there are: .ci/run
settings.register_profile("brief", max_examples=5, derandomize=True, deadline=None)
# What fails is not made smaller, which takes longest: tests/planted asks only whether it fails.
settings.register_profile(
    "planted", settings.get_profile("quick"), phases=[Phase.explicit, Phase.generate]
)

COUNTED = pytest.StashKey[int]()


def pytest_addoption(parser: pytest.Parser) -> None:
    group = parser.getgroup("roaming", "for what nobody thought of")
    group.addoption("--roaming", action="store_true", help="run slow tests too, on more cases")
    group.addoption("--times", type=int, default=1, help="so many times more cases of --roaming")
    told = "so many random builds for each law that holds for any"
    group.addoption("--builds", type=int, default=0, help=told)


def pytest_configure(config: pytest.Config) -> None:
    """How many cases; and nbval on, unless it is left out on purpose with ``-p no:nbval``."""
    cases.roaming, cases.times = config.option.roaming, config.option.times
    cases.laws = config.option.builds
    if cases.roaming:
        more = 300 * cases.times
        settings.register_profile("roaming", max_examples=more, deadline=None)
    settings.load_profile(
        "roaming" if cases.roaming else os.environ.get("HYPOTHESIS_PROFILE", "quick")
    )
    config.addinivalue_line("markers", "checks(*names): the formulas that a test holds to account")
    if config.pluginmanager.hasplugin("nbval"):
        config.option.nbval = True
        config.option.nbval_current_env = True
        config.option.nbval_cell_timeout = 300
        config.option.nbval_sanitize_with = str(TESTS / "notebooks.sanitize")
        use_what_was_shown()


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave out what roams, unless it is asked for, and put the rest in order.

    Browser tests come first, since they take longest, and those of a notebook together: looks at
    it, and then the comparison of what it showed.
    """
    roaming = [] if cases.roaming else [item for item in items if "roaming" in item.keywords]
    if roaming:
        config.hook.pytest_deselected(items=roaming)
        items[:] = [item for item in items if "roaming" not in item.keywords]
    files = Counter(item.nodeid.split("::")[0] for item in items)
    left = {item.nodeid.split("::")[0] for item in roaming}
    cases.others_of.update({file: files[file] for file in left})
    config.stash[COUNTED] = len(roaming)
    if hasattr(config, "workeroutput"):
        config.workeroutput["roaming"] = len(roaming)
    items.sort(
        key=lambda item: (
            (0, part(item.nodeid))
            if "browser" in item.keywords or item.path.suffix == ".ipynb"
            else (1, "")
        )
    )


def pytest_testnodedown(node: Any) -> None:
    """Every worker leaves out the same, and tells the one who asked how many."""
    node.config.stash[COUNTED] = getattr(node, "workeroutput", {}).get("roaming", 0)


def pytest_terminal_summary(terminalreporter: Any, config: pytest.Config) -> None:
    """Say how many were left out: workers don't."""
    if count := config.stash.get(COUNTED, 0):
        terminalreporter.write_line(f"{count} roaming tests left out: pytest --roaming runs them")


def part(nodeid: str) -> str:
    """Which tests go to one worker, in their order: those of a file; in the browser, of a notebook.

    A notebook's cells need one kernel, and a notebook is opened once for all who look at it:
    the one that the test is given, or else the one that its file is about.
    """
    file = nodeid.split("::")[0]
    if file.endswith(".ipynb"):
        return file.rpartition("/")[2]
    if "browser/" not in file:
        return file
    notebook = re.search(r"\[.*?(\d\d_\w+\.ipynb).*\]$", nodeid)
    return notebook[1] if notebook else about(file)


@cache
def about(file: str) -> str:
    """The notebook that a browser test's file says it is about, if any, or the file itself."""
    name = re.search(r'^NAME = "(.+\.ipynb)"$', (TESTS.parent / file).read_text("utf-8"), re.M)
    return name[1] if name else file


def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Any:
    """The workers share the tests part by part."""
    from xdist.scheduler import LoadScopeScheduling

    class ByPart(LoadScopeScheduling):  # type: ignore[misc, unused-ignore]
        def _split_scope(self, nodeid: str) -> str:
            return part(nodeid)

    return ByPart(config, log)


@pytest.fixture(scope="session")
def project() -> Path:
    """The folder that holds pyproject.toml."""
    return TESTS.parent


@pytest.fixture(scope="session", autouse=True)
def boards_found_once(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Searches once for the board of builds that need the same board: it takes seconds.

    What is found depends on the needs and the build's own rows alone, and nothing changes a
    layout once it is found; tests of the search itself ask the search, not the plan.  The workers
    of one run share what they find through a folder that is this run's own.
    """
    from vanplumb.board.plan import BoardPlan

    search = BoardPlan.__dict__["found"]
    known: dict[bytes, Any] = {}
    own = tmp_path_factory.getbasetemp()
    folder = (own.parent if "PYTEST_XDIST_WORKER" in os.environ else own) / "boards"
    folder.mkdir(exist_ok=True)

    def found(plan: BoardPlan) -> Any:
        if plan._state is not None:
            return search.func(plan)
        needs = [getattr(plan.needs, f.name) for f in fields(plan.needs) if f.name != "catalogue"]
        key = pickle.dumps((needs, plan.build.rows, list(plan.needs.catalogue.rows)))
        if key not in known:
            if len(known) > 100:
                known.clear()
            kept = folder / f"{sha256(key).hexdigest()}.board"
            if kept.exists():
                known[key] = pickle.loads(kept.read_bytes())
            else:
                known[key] = search.func(plan)
                half = kept.with_suffix(f".{os.getpid()}")
                half.write_bytes(pickle.dumps(known[key]))
                half.replace(kept)
        return known[key]

    once = cached_property(found)
    once.__set_name__(BoardPlan, "found")
    BoardPlan.found = once  # type: ignore[method-assign]
    yield
    BoardPlan.found = search
