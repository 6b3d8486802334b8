"""The formula mechanism: one body, checked call, worked steps in four hands, proof."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.cases import cases
from vanplumb.words.formula import REGISTRY, FormulaError, formula
from vanplumb.words.proof import dimensions_hold
from vanplumb.words.sources import CENGEL
from vanplumb.words.units import Q
from vanplumb.words.work import lines_of, solved

BODY = '''
from numpy import pi, sqrt, log10
from vanplumb.words.formula import formula
from vanplumb.words.glossary import GRAVITY
from vanplumb.words.sources import CENGEL

@formula("duration", source=CENGEL.at("sec. 5"), valid={"coefficient": (0.5, 1.0)})
def trial_drain(area_tank, diameter_hole, coefficient, depth):
    """Time for a tank to empty."""
    area_hole = pi / 4 * diameter_hole**2
    velocity = sqrt(2 * GRAVITY * depth)
    return 2 * area_tank * depth / (coefficient * area_hole * velocity)

@formula("length", source=CENGEL)
def trial_wrong(depth, area):
    """A length and an area added."""
    return depth + area

@formula("residual", source=CENGEL)
def trial_residual(number, share):
    """Zero where the square is the share."""
    return number**2 - (share - -1)

@formula("number", source=CENGEL)
def trial_if(number):
    """Not a formula."""
    if number:
        pass
    return number
'''


@pytest.fixture(scope="module")
def trial(tmp_path_factory: pytest.TempPathFactory) -> ModuleType:
    path: Path = tmp_path_factory.mktemp("trial") / "trial.py"
    path.write_text(BODY)
    spec = importlib.util.spec_from_file_location("trial", path)
    assert spec and spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    for name in [n for n in REGISTRY if n.startswith("trial_")]:
        del REGISTRY[name]
    return module


GOOD = {"area_tank": 0.12, "diameter_hole": 0.012, "coefficient": 0.62, "depth": 0.4}


def test_call_with_quantities_and_texts(trial: ModuleType) -> None:
    found = trial.trial_drain(
        area_tank=Q(1200, "cm^2"), diameter_hole="12 mm", coefficient=0.62, depth=Q(40, "cm")
    )
    assert found.to("s").magnitude == pytest.approx(trial.trial_drain.si(**GOOD), rel=1e-12)


def test_every_problem_in_one_message(trial: ModuleType) -> None:
    with pytest.raises(FormulaError) as caught:
        trial.trial_drain(diameter_hole=Q(12, "s"), coefficient=0.3, area_tank="1 m^2", foo=1)
    text = str(caught.value)
    assert text.startswith("trial_drain(): ")
    for part in (
        "missing `depth`",
        "`diameter_hole` needs a diameter",
        "got 12 s",
        "`coefficient` must be 0.5 to 1, got 0.3",
        "doesn't know `foo`",
    ):
        assert part in text


def test_arrays_are_checked_too(trial: ModuleType) -> None:
    import numpy as np

    with pytest.raises(FormulaError, match="`depth` must be 0 mm or more"):
        trial.trial_drain(
            area_tank="1 m^2",
            diameter_hole="1 cm",
            coefficient=0.6,
            depth=Q(np.array([1, -1]), "m"),
        )


def test_division_by_zero_is_told_in_words() -> None:
    from vanplumb.formulas.tube import plug_wait

    with pytest.raises(FormulaError, match=r"plug_wait\(\): has no answer where `flow` is zero"):
        plug_wait(volume="1 L", flow="0 gpm")
    with pytest.raises(FormulaError, match="`flow` is zero"):
        plug_wait.work(volume=0.001, flow=0.0)


def test_worked_steps_read_as_written(trial: ModuleType) -> None:
    text = trial.trial_drain.work(**GOOD).text().splitlines()
    assert text[1] == "v = √(2·g·h) = √(2·9.80665·0.4) = 2.8009 m/s"
    assert text[2].startswith("t = 2·A_tank·h / (C·A_hole·v) = 2·0.12·0.4 / (0.62·1.131e-4·2.8009)")
    assert text[2].endswith("= 488.79 s")
    assert text[3] == "[Cengel and Cimbala, Fluid Mechanics, sec. 5 (from memory)]"


def test_worked_steps_read_in_the_readers_units(trial: ModuleType) -> None:
    text = trial.trial_drain.work(**GOOD).text("US").splitlines()
    assert text[1] == "v = √(2·g·h) = √(2·32.174 ft/s²·15.748 in / 12) = 9.189 ft/s"
    assert text[2].endswith("= 8.1 min")
    assert text[3] == "(1 ft = 12 in; 1 min = 60 s)"


def test_brackets_stay_where_they_matter(trial: ModuleType) -> None:
    work = trial.trial_residual.work(number=1.2, share=0.44)
    assert work.text().startswith("R = N^2 − (x − (−1)) = 1.2^2 − (0.44 − (−1)) = ")


@settings(max_examples=cases(16))
@given(st.floats(1e-3, 10), st.floats(1e-4, 0.5), st.floats(0.5, 1.0), st.floats(1e-3, 5))
def test_printed_figures_give_the_printed_answer(
    trial: ModuleType, area: float, diameter: float, coefficient: float, depth: float
) -> None:
    """Someone with a pocket calculator gets the printed answer from the printed figures."""
    from math import pi, sqrt

    work = trial.trial_drain.work(
        area_tank=area, diameter_hole=diameter, coefficient=coefficient, depth=depth
    )
    for line in work.lines("text"):
        *_, figures, answer = line.split(" = ")
        by_hand = eval(
            figures.replace("·", "*").replace("^", "**").replace("√", "sqrt").replace("−", "-"),
            {"sqrt": sqrt, "π": pi},
        )
        assert by_hand == pytest.approx(float(answer.split()[0]), rel=3e-4)


def test_mathml_is_well_formed_and_typst_compiles(trial: ModuleType) -> None:
    import xml.etree.ElementTree as ET

    import typst

    work = trial.trial_drain.work(**GOOD)
    for line in work.mathml("SI"):
        assert ET.fromstring(line).tag == "math"
    page = "\n".join(f"$ {line} $" for line in work.typst("US"))
    assert typst.compile(page.encode(), format="pdf").startswith(b"%PDF")


def test_dimensions_are_proved(trial: ModuleType) -> None:
    from pint import DimensionalityError

    assert dimensions_hold(trial.trial_drain)
    with pytest.raises(DimensionalityError):
        dimensions_hold(trial.trial_wrong)


def test_solved_shows_the_residual(trial: ModuleType) -> None:
    work = solved(trial.trial_residual, "number", number=1.2, share=0.44)
    assert work.value == 1.2
    assert abs(work.steps[-1].value) < 1e-12
    with pytest.raises(ValueError, match="trial_residual has no flow"):
        solved(trial.trial_residual, "flow", number=1.2, share=0.44)


def test_a_body_with_a_branch_is_refused(trial: ModuleType) -> None:
    with pytest.raises(ValueError, match="a formula can't hold 'if number"):
        lines_of(trial.trial_if)


def test_a_stray_range_or_unknown_word_is_refused() -> None:
    with pytest.raises(KeyError, match="glossary"):
        formula("number", source=CENGEL)(lambda wibble: wibble)
    with pytest.raises(ValueError, match="valid names"):

        @formula("number", source=CENGEL, valid={"depth": (0, 1)})
        def only_width(width):  # type: ignore[no-untyped-def]
            return width
