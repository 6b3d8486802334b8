"""Every formula's steps in the reader's units: the same answer, or openly in SI."""

from __future__ import annotations

import importlib
import pkgutil
from random import Random

import pytest

import vanplumb.formulas
from tests.sheet.by_hand import conversion, in_si, line_of
from vanplumb.formulas.frost import time_to_freezing
from vanplumb.formulas.mixing import hot_share, mixed_temperature, temperature_from_share
from vanplumb.formulas.pressure import air_pressure_at
from vanplumb.formulas.runs_heat import radiation_film
from vanplumb.formulas.tube import colebrook_residual
from vanplumb.words.formula import REGISTRY, Formula, FormulaError
from vanplumb.words.proof import inside
from vanplumb.words.units import Q
from vanplumb.words.work import solved, total

for module in pkgutil.iter_modules(vanplumb.formulas.__path__):
    importlib.import_module(f"vanplumb.formulas.{module.name}")

FORMULAS = [f for f in REGISTRY.values() if f.__module__.startswith("vanplumb.formulas.")]
HELD_IN_SI = {
    "hidden units": {f.name for f in FORMULAS if f.empirical},
    "powers of absolute temperatures": {"air_pressure", "radiation_film", "rayleigh"},
    "inches and pounds with watts, metres and millipascals": {
        "kv_from_loss_coefficient", "loss_coefficient_from_kv", "reynolds", "skin_resistance",
        "still_air_film", "wire_reach",
    },
}  # fmt: skip

AIR = {"pressure": 6e5, "volume": 0.003}


@pytest.mark.parametrize("system", ["US", "SI"])
@pytest.mark.parametrize("f", FORMULAS, ids=lambda f: f.name)
def test_it_gives_the_same_answer_or_stays_in_si(f: Formula, system: str) -> None:
    """Printed figures, keyed in, give the printed answer, and that is the answer in SI."""
    work = f.work(**inside(f))
    if work.readers(system) is None:
        assert work.lines("text", system)[0].startswith(work.lines("text")[0])
        return
    for text, step in zip(work.lines("mathml", system), work.steps, strict=True):
        line = line_of(text, five=False)
        if line.by_hand is not None:
            assert line.answer.holds(line.by_hand), line.text
        found = in_si(line.answer, line.letter)
        assert abs(found.value - step.value) <= found.half * (1 + 1e-6), line.text
    for known in work.conversions(system):
        printed, true = conversion(known)
        assert printed.holds(true), known


USUAL = {
    "length": (0.01, 10.0), "height": (0.1, 5.0), "diameter": (0.005, 0.05), "volume": (1e-4, 0.3),
    "flow": (1e-5, 3e-4), "pressure": (1e4, 6e5), "pressure_loss": (1e3, 2e5),
    "density": (950.0, 1050.0), "duration": (1.0, 2e5), "temperature": (274.0, 360.0),
    "rise": (1.0, 60.0), "share": (0.01, 1.0), "mass": (0.1, 300.0), "power": (5.0, 2e4),
    "energy": (1e4, 1e7), "heat": (1e5, 2e7), "velocity": (0.1, 4.0),
}  # fmt: skip
"""What a van has of each kind."""


@pytest.mark.roaming
@pytest.mark.filterwarnings("ignore:invalid value")
def test_a_thousand_steps_of_usual_size_close_by_hand() -> None:
    chosen, done = Random(17), 0
    for f in FORMULAS:
        for _ in range(20):
            values = {}
            for name in f.parameters:
                low, high, _ = f.bounds[name]
                least, most = USUAL.get(f.words[name].kind, (0.2, 5.0))
                values[name] = min(max(chosen.uniform(least, most), low), high)
            try:
                work = f.work(**values)
            except (FormulaError, TypeError):  # a root of what is below nothing
                continue
            for system in ("US", "SI"):
                if work.readers(system) is None:
                    continue
                for text, step in zip(work.lines("mathml", system), work.steps, strict=True):
                    line = line_of(text, five=False)
                    assert line.by_hand is None or line.answer.holds(line.by_hand), line.text
                    found = in_si(line.answer, line.letter)
                    assert abs(found.value - step.value) <= found.half * (1 + 1e-6), line.text
                    done += 1
    assert done > 1000


def test_what_stays_in_si_does_so_for_a_reason() -> None:
    own = {"air_energy": AIR, "air_energy_sudden": AIR}
    found = {f.name for f in FORMULAS if f.work(**own.get(f.name, inside(f))).readers("US") is None}
    assert found == set().union(*HELD_IN_SI.values())


def test_a_ratio_of_differences_needs_no_units() -> None:
    work = hot_share.work(
        temperature_mixed=Q(105, "°F"), temperature_hot=Q(140, "°F"), temperature_cold=Q(60, "°F")
    )
    assert work.lines("text", "US") == [
        "x = (T_mixed − T_cold) / (T_hot − T_cold) = (105 − 60) / (140 − 60) = 56 %"
    ]
    assert work.in_si("text", "US") == work.lines("text")
    assert "333.15" in work.lines("text")[0]


def test_degrees_are_weighed_where_shares_make_one() -> None:
    """Weights that add up to one leave the zero of a scale out of it; other weights don't."""
    warm = mixed_temperature.work(
        mass_flow_hot=Q(3, "lb/min"),
        mass_flow_cold=Q(1, "lb/min"),
        temperature_hot=Q(120, "°F"),
        temperature_cold=Q(60, "°F"),
    )
    assert warm.lines("text", "US")[-1].endswith("= 105 °F")
    by_share = temperature_from_share.work(
        share_hot=0.75, temperature_hot=Q(120, "°F"), temperature_cold=Q(60, "°F")
    )
    assert by_share.lines("text", "US")[-1].endswith("= 60 °F + 0.75·(120 − 60) °F = 105 °F")
    skin = radiation_film.work(**inside(radiation_film))
    assert skin.readers("SI") is None and skin.only_si("US")


def test_a_ratio_of_temperatures_counts_from_absolute_zero_even_where_it_is_one() -> None:
    """In °F the figures would close here by chance, and mislead whoever warms the air."""
    still = air_pressure_at.work(
        pressure=Q(60, "psi"), temperature=Q(68, "°F"), temperature_reference=Q(68, "°F")
    )
    assert "528 / 528" in still.lines("text", "US")[-1]
    assert still.conversions("US") == ("°R = °F + 459.67",)


def test_the_gas_law_is_worked_in_the_readers_units() -> None:
    """40 psi and 14.7 of the air outside, from 75 to 40 °F: 534.7 and 499.7 °R."""
    cooled = air_pressure_at.work(
        pressure=Q(40, "psi"), temperature=Q(75, "°F"), temperature_reference=Q(40, "°F")
    )
    first, last = cooled.lines("text", "US")
    assert first.endswith("= 40 + 14.7 = 54.7 psi")
    assert "54.7 psi·499.7 / 534.7 − 14.7 psi" in last and last.endswith("= 36 psi")
    by_hand = 54.696 * 499.67 / 534.67 - 14.696
    assert by_hand == pytest.approx(cooled.value / 6894.757, rel=1e-4)
    first, last = cooled.lines("text", "SI")
    assert "·277.6 / 297" in last and last.endswith(" bar")


def test_a_long_sum_is_told_by_its_largest_parts() -> None:
    parts = [(f"part {n}", 0.001 * (n + 1)) for n in range(24)]
    work = total("volume", parts)
    (line,) = work.lines("text", "SI")
    assert "17_others" in line and line.count("+") == 14
    assert line.endswith("= 300 L")
    assert work.in_si("text", "SI")[0].count("+") == 46


@pytest.mark.filterwarnings("ignore:divide by zero")
def test_steps_without_a_finite_answer_are_told_as_they_are() -> None:
    work = time_to_freezing.work(
        density=1000.0, specific_heat=4200.0, diameter=0.012, resistance_per_length=1.0,
        rise_start=0.0, rise_freezing=5.0,
    )  # fmt: skip
    assert work.readers("US") is None
    assert work.text("US").count("inf") >= 2


def test_what_is_left_of_a_solved_equation_is_told_to_five_places() -> None:
    work = solved(
        colebrook_residual, "friction_factor",
        friction_factor=0.027199, reynolds=16988.0, roughness_relative=1.2433e-4,
    )  # fmt: skip
    left = work.lines("text", "US")[-1].rpartition(" = ")[2]
    assert left == f"−{-work.steps[-1].value:.5f}"
    assert not work.in_si("text", "US"), "the same figures need no second telling"
