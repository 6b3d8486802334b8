"""A sum that fails shouts: on page one, in the review, and in the exit code."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache
from importlib import import_module
from inspect import isfunction
from pathlib import Path
from pkgutil import walk_packages
from types import FrameType, ModuleType
from typing import Any

import pytest

import vanplumb
from tests import cases
from tests.examples import pack_of
from tests.small_van import SMALL_VAN
from vanplumb import Pack, example
from vanplumb.board import plan
from vanplumb.cli import UNANSWERED, main
from vanplumb.pack import examples
from vanplumb.review import RULES, SEVERITIES
from vanplumb.review.finding import guards
from vanplumb.sheet.contents import sheet_of
from vanplumb.van import Build, loads

ENGINES = ("flow", "trip", "board", "shop", "lists")


BOARD_VAN = SMALL_VAN.replace('to = "tap"', 'to = "cold manifold"') + "".join(
    f'''[[zone]]
manifold = "cold manifold"
name = "{name}"
[[run]]
from = "cold manifold.{name}"
to = "{name}"
tube = "PEX-B 1/2 in"
length = "3 ft"
'''
    for name in ("tap", "hose")
)
BOARD_VAN = (
    BOARD_VAN.replace("PEX 1/2 in", "PEX-B 1/2 in")
    + """[[manifold]]
name = "cold manifold"
side = "cold"
tube = "PEX-B 1/2 in"
[[fixture]]
name = "hose"
kind = "hose outlet"
"""
)


class OnPurpose(RuntimeError):
    """The error that is raised in place of an engine's answer."""


def everything(build: Build) -> Pack:
    pack = Pack(build)
    _ = pack.chapters, pack.findings
    return pack


def called(build: Build) -> list[tuple[str, str]]:
    """Every function of an engine that a pack of a build asks for, by module and name."""
    found: dict[tuple[str, str], None] = {}

    def note(frame: FrameType, event: str, _: Any) -> None:
        if event == "call":
            module = frame.f_globals.get("__name__", "")
            room = module.split(".")[1] if module.count(".") else ""
            name = frame.f_code.co_name
            if room in ENGINES and frame.f_code.co_qualname == name and name[0] not in "_<":
                found[module, name] = None

    sys.setprofile(note)
    try:
        everything(build)
    finally:
        sys.setprofile(None)
    return [(m, n) for m, n in found if isfunction(getattr(sys.modules[m], n, None))]


@cache
def all_imported() -> None:
    """Import all that works anything out: what is imported later would keep a broken function."""
    for one in walk_packages(vanplumb.__path__, "vanplumb."):
        if not one.name.startswith(("vanplumb.worksheets", "vanplumb.__main__")):
            import_module(one.name)


def broken(monkeypatch: pytest.MonkeyPatch, module: str, name: str) -> None:
    """Let one function raise, wherever it has been imported to; its boards are not known before."""
    all_imported()
    if module.startswith("vanplumb.board"):
        plan._PLANS.clear()
    right = getattr(sys.modules[module], name)

    def wrong(*args: Any, **kwargs: Any) -> Any:
        raise OnPurpose(f"{name} was broken on purpose")

    for other in list(sys.modules.values()):
        if isinstance(other, ModuleType) and other.__name__.startswith("vanplumb"):
            for key, value in list(vars(other).items()):
                if value is right:
                    monkeypatch.setattr(other, key, wrong)


WREN = called(example("wren"))
STEP = 7
"""Of every function of the small van each seventh is tried, and of every engine one at least."""


def some() -> Iterator[tuple[str, str]]:
    by_room: dict[str, list[tuple[str, str]]] = {}
    for module, name in WREN:
        by_room.setdefault(module.split(".")[1], []).append((module, name))
    for those in by_room.values():
        yield from those[::STEP]


def shouts(build: Build, word: str) -> None:
    pack = everything(build)
    mine = [f for f in pack.all_findings if f.not_worked_out and word in f.what]
    assert mine, "nobody tells that it failed"
    assert pack.failures, "check and pack would end as if all were well"
    opener = sheet_of(pack)
    assert any(word in one.what for one in opener.urgent), "page one does not tell it"
    assert any(word in one.what for one in opener.findings), "the review does not tell it"


@pytest.mark.parametrize("module, name", list(some()), ids=lambda x: x.rpartition(".")[2])
def test_an_error_in_an_engine_is_seen(
    module: str, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    broken(monkeypatch, module, name)
    shouts(example("wren"), f"{name} was broken on purpose")


EVERY = [
    (van, module, name)
    for van in (examples() if cases.roaming else ())
    for module, name in (WREN if van == "wren" else called(example(van)))
]


@pytest.mark.roaming
@pytest.mark.parametrize("van, module, name", EVERY, ids=lambda x: x.rpartition(".")[2])
def test_an_error_in_any_engine_function_is_seen(
    van: str, module: str, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    broken(monkeypatch, module, name)
    shouts(example(van), f"{name} was broken on purpose")


@pytest.mark.parametrize(
    "module, name",
    [("vanplumb.board.as_laid", "as_laid"), ("vanplumb.board.parts.needs", "needs_of")],
)
def test_a_board_that_fails_takes_nothing_else_with_it(
    module: str, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The other sums go by the file, and it is told."""
    broken(monkeypatch, module, name)
    van = loads(BOARD_VAN)
    shouts(van, f"{name} was broken on purpose")
    pack = everything(van)
    assert pack.build is van
    failed = {c.title for c in pack.chapters if any("broken" in x for x in c.not_computed)}
    assert "Highest pressures in service" in {c.title for c in pack.chapters} - failed


def test_check_and_pack_have_an_exit_code_of_their_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "wren.toml"
    path.write_text(example("wren").text, encoding="utf-8")
    assert main(["check", str(path)]) == 0
    broken(monkeypatch, "vanplumb.trip.play.simulate", "simulate")
    assert main(["check", str(path)]) == UNANSWERED
    assert "Not worked out" in capsys.readouterr().out
    assert main(["pack", str(path), "-o", str(tmp_path / "out")]) == UNANSWERED
    assert (tmp_path / "out" / "sheet.pdf").exists(), "the rest is written all the same"
    assert "simulate was broken on purpose" in (tmp_path / "out" / "sheet.html").read_text()


def test_a_build_that_says_too_little_is_told_once_with_all_it_leaves_unjudged() -> None:
    build = example("dipper")
    silent = replace(build, heater=(replace(build.heater[0], volume=None),))
    pack = everything(silent)
    told = [f for f in pack.all_findings if "needs a volume" in f.what]
    assert len(told) == 1
    assert "trip runs dry" in told[0].what
    chapter = next(c for c in pack.chapters if c.title == "Days and nights")
    assert chapter.not_computed and not chapter.answers


def test_it_has_the_rank_of_what_it_would_have_guarded(monkeypatch: pytest.MonkeyPatch) -> None:
    ranks = {name: guards(check) for name, check in RULES.items()}
    assert set(ranks.values()) <= set(SEVERITIES)
    assert ranks["relief_stands_open"] == "DANGER"
    assert ranks["tube_over_rating"] == "WARNING"
    assert ranks["water_short_for_the_stay"] == "NOTICE"
    broken(monkeypatch, "vanplumb.flow.service_pressure", "service_pressures")
    worst = everything(example("wren")).all_findings[0]
    assert worst.severity == "DANGER" and worst.not_worked_out


def test_a_van_that_works_has_nothing_unanswered() -> None:
    for name in ("wren", "heron"):
        assert everything(example(name)).failures == ()


def test_a_fault_in_one_rule_leaves_the_others_their_say(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    whole = {f.rule for f in pack_of("heron").findings}
    first = next(iter(whole))

    def fails(answers: object) -> Iterator[object]:
        raise ZeroDivisionError("division by zero")

    check: Callable[..., Any] = fails
    monkeypatch.setitem(RULES, first, check)
    found = {f.rule for f in everything(example("heron")).findings}
    assert found == (whole - {first}) | {"not_worked_out"}
