"""What holds for every formula, whatever its subject.  A new formula is picked up by itself."""

from __future__ import annotations

import ast
import importlib
import inspect
import math
import pkgutil
from collections import defaultdict
from functools import lru_cache
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest

import vanplumb.formulas
from vanplumb.words import sources
from vanplumb.words.formula import REGISTRY, Formula, FormulaError
from vanplumb.words.glossary import CONSTANTS, word
from vanplumb.words.maths import HANDS, letters
from vanplumb.words.proof import dimensions_hold, inside
from vanplumb.words.units import from_si, registry, si_unit, unit_for
from vanplumb.words.work import lines_of

for module in pkgutil.iter_modules(vanplumb.formulas.__path__):
    importlib.import_module(f"vanplumb.formulas.{module.name}")

FORMULAS = [f for f in REGISTRY.values() if f.__module__.startswith("vanplumb.formulas.")]
ROOM = Path(__file__).parent  # a wrong constant must fail here, so its check stands here
KNOWN_SOURCES = {s.title for s in vars(sources).values() if isinstance(s, sources.Source)}

every = pytest.mark.parametrize("f", FORMULAS, ids=lambda f: f.name)
PROVED = [f for f in FORMULAS if not f.empirical]
EMPIRICAL = [f for f in FORMULAS if f.empirical]


def test_there_are_formulas_to_look_at() -> None:
    assert len(FORMULAS) > 100


@every
def test_its_source_is_one_of_the_list_and_is_printed(f: Formula) -> None:
    assert f.source.title in KNOWN_SOURCES
    assert f.source.title in str(f.source)
    assert str(f.source) in f.work(**inside(f)).text()


@every
def test_it_is_under_ten_lines_and_its_docstring_is_a_sentence(f: Formula) -> None:
    assert len(lines_of(f)) < 10
    first = (inspect.getdoc(f.si) or "").split("\n\n")[0]
    assert first.strip() and first.rstrip()[-1] in ".;", "the docstring opens with a sentence"


@pytest.mark.parametrize("f", PROVED, ids=lambda f: f.name)
def test_it_has_the_dimension_that_it_claims(f: Formula) -> None:
    assert dimensions_hold(f)


@pytest.mark.parametrize("f", EMPIRICAL, ids=lambda f: f.name)
def test_hidden_units_owe_two_checks(f: Formula) -> None:
    assert len(checks().get(f.name, [])) >= 2, "constants with hidden units owe two points"


@pytest.mark.parametrize("f", PROVED, ids=lambda f: f.name)
def test_each_of_its_lines_has_the_dimension_of_its_name(f: Formula) -> None:
    scope = dict(f.si.__globals__)
    scope |= {n: registry().Quantity(v, unit_for(u)) for n, (_, u, v) in CONSTANTS.items()}
    here = {name: from_si(value, name) for name, value in inside(f).items()}
    for name, _, code in lines_of(f):
        target = name or f.result.name
        here[target] = eval(code, scope, here)
        quantity = registry().Quantity(here[target])
        assert quantity.dimensionality == si_unit(target).dimensionality, target


@every
def test_its_names_are_glossary_words(f: Formula) -> None:
    for name in [*f.parameters, *(name for name, _, _ in lines_of(f) if name)]:
        assert word(name).meaning


@every
def test_each_of_its_letters_means_one_thing(f: Formula) -> None:
    names = {*f.parameters, *(name for name, _, _ in lines_of(f) if name), f.result.name}
    assert len({letters(name, HANDS["text"]) for name in names}) == len(names)


@every
def test_its_worked_steps_end_in_the_result(f: Formula) -> None:
    values = inside(f)
    worked = f.work(**values)
    assert worked.value == f.si(**values)
    assert math.isfinite(worked.value)
    assert f(**{n: from_si(v, n) for n, v in values.items()}).magnitude == worked.value


@every
def test_an_array_gives_what_its_members_give(f: Formula) -> None:
    base = inside(f)
    spread = 1 + np.linspace(0, 1e-3, 6)
    many = {name: value * spread for name, value in base.items()}
    one_by_one = np.array([f.si(**{n: float(v[i]) for n, v in many.items()}) for i in range(6)])
    together = np.asarray(f.si(**many))
    assert together.shape == (6,)
    assert together == pytest.approx(one_by_one, rel=1e-12)
    assert np.isfinite(together).all()
    stacked = np.asarray(f.si(**{n: v.reshape(2, 3) for n, v in many.items()}))
    assert stacked == pytest.approx(one_by_one.reshape(2, 3), rel=1e-12)


@every
def test_it_renders_in_every_hand(f: Formula) -> None:
    worked = f.work(**inside(f))
    for system in ("US", "SI"):
        for line in worked.latex(system):
            assert line.count("{") == line.count("}")
            assert "=" in line
        for line in worked.mathml(system):
            ElementTree.fromstring(line)
        assert worked.text(system).count("=") >= len(worked.steps)


def test_typst_sets_the_steps_of_every_formula() -> None:
    import typst

    lines = [line for f in FORMULAS for line in f.work(**inside(f)).typst("US")]
    page = "\n\n".join(f"$ {line} $" for line in lines)
    assert typst.compile(page.encode(), format="pdf").startswith(b"%PDF")


@every
def test_a_call_without_arguments_names_them_all(f: Formula) -> None:
    with pytest.raises(FormulaError) as caught:
        f()
    assert all(f"missing `{name}`" in str(caught.value) for name in f.parameters)


@every
def test_a_value_out_of_bounds_is_refused_by_name(f: Formula) -> None:
    good = {name: from_si(value, name) for name, value in inside(f).items()}
    for name in f.parameters:
        low, high, _ = f.bounds[name]
        for beyond in (low - 1 - abs(low) * 0.01, high + 1 + abs(high) * 0.01):
            if math.isfinite(beyond):
                with pytest.raises(FormulaError, match=rf"{f.name}\(\): `{name}` must be"):
                    f(**{**good, name: from_si(beyond, name)})


@every
def test_a_test_that_is_not_itself_holds_it_to_account(f: Formula) -> None:
    assert f.name in checks(), f'no test here is marked @pytest.mark.checks("{f.name}")'


def test_every_check_names_a_formula_and_uses_it() -> None:
    known = {f.name for f in FORMULAS}
    for name, places in checks().items():
        assert name in known, f"{places[0][0]} checks {name}, which is no formula"
        for test, uses_it in places:
            assert uses_it, f"{test} says that it checks {name}, and does not use it"


@lru_cache(maxsize=1)
def checks() -> dict[str, list[tuple[str, bool]]]:
    """Formula name to the tests that are marked with it, and whether the test uses it.

    Read from the tests' source, so that a run of a few tests knows them all.  A test uses a
    formula through a name in its body or decorators, or through a helper of its module.
    """
    found: dict[str, list[tuple[str, bool]]] = defaultdict(list)
    for path in sorted(ROOM.rglob("test_*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        helpers = {d.name: _names(d) for d in tree.body if isinstance(d, ast.FunctionDef)}
        tables = {
            target.id: _names(line.value)
            for line in tree.body
            if isinstance(line, ast.Assign)
            for target in line.targets
            if isinstance(target, ast.Name)
        }
        for test in [d for d in tree.body if isinstance(d, ast.FunctionDef)]:
            marks = [d for d in test.decorator_list if "mark.checks" in ast.unparse(d)]
            for mark in marks:
                assert isinstance(mark, ast.Call)
                used = _names(test)
                for name in list(used):
                    used |= helpers.get(name, set()) | tables.get(name, set())
                for argument in mark.args:
                    assert isinstance(argument, ast.Constant)
                    place = f"{path.relative_to(ROOM)}::{test.name}"
                    found[str(argument.value)].append((place, str(argument.value) in used))
    return dict(found)


def _names(node: ast.AST) -> set[str]:
    """Every name and attribute that a piece of code mentions."""
    walked = list(ast.walk(node))
    return {n.id for n in walked if isinstance(n, ast.Name)} | {
        n.attr for n in walked if isinstance(n, ast.Attribute)
    }
