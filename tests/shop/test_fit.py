"""Fits and faults: planted in simulated vans, measured with noise, found again."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

import numpy as np
import pytest
from shop_rig import UNKNOWNS, causes, measure, rig, sigma_of

from tests.cases import cases
from vanplumb.shop.readings.fit import Measured, Unknown, fit
from vanplumb.shop.readings.suspects import Cause, Diagnosis, Suspects
from vanplumb.shop.readings.van_model import VanModel

Array = np.ndarray
VANS = cases(50, 200)
"""Simulated vans that are judged."""
VISIBLE = 4.0
"""A planted fault moves at least one reading by so many of its uncertainties, or it is no fault
that these instruments could show."""

APART = ("low voltage at the pump", "clogged strainer", "clogged screen", "wrong tube")


@pytest.fixture(scope="module")
def model() -> VanModel:
    return rig()


@pytest.fixture(scope="module")
def suspects(model: VanModel) -> Suspects:
    return Suspects(model, causes(), UNKNOWNS)


def plant(
    model: VanModel, chosen: list[Cause], count: int, seed: int
) -> list[tuple[Cause, dict[str, Measured]]]:
    """Simulated vans, each different in all unknowns, each with one visible fault, measured."""
    rng = np.random.default_rng(seed)
    tried: list[Cause] = []
    sound: list[dict[str, float]] = []
    faulty: list[dict[str, float]] = []
    for _ in range(int(2.5 * count)):
        cause = chosen[int(rng.integers(len(chosen)))]
        van = {
            u.name: float(np.clip(u.usual + u.spread * rng.standard_normal(), u.low, u.high))
            for u in UNKNOWNS
        }
        low, high = min(cause.steps), max(cause.steps)
        value = float(rng.uniform(low, high)) if cause.between else cause.steps[0]
        tried.append(cause)
        sound.append(van)
        faulty.append({**van, cause.parameter: value})
    before, after = run(model, sound), run(model, faulty)
    found = []
    for i, cause in enumerate(tried):
        at = {n: float(v[i]) for n, v in after.items()}
        moved = max(abs(at[n] - float(before[n][i])) / sigma_of(n, float(before[n][i])) for n in at)
        if moved >= VISIBLE:
            found.append((cause, measure(at, rng)))
    assert len(found) >= count
    return found[:count]


def run(model: VanModel, vans: list[dict[str, float]]) -> Mapping[str, Array]:
    names = sorted({n for van in vans for n in van})
    return model({n: np.array([van.get(n, np.nan) for van in vans]) for n in names})


def test_the_right_cause_comes_first_in_nine_of_ten(model: VanModel, suspects: Suspects) -> None:
    # causes that these readings can tell apart; a cold tube's bore is not among them
    chosen = [c for c in causes() if c.name.startswith(APART) and "cold" not in c.name]
    planted = plant(model, chosen, VANS, 20250303)
    first = Counter(c.name == suspects.judge(seen).first.cause.name for c, seen in planted)
    assert {c.name.split(",")[0] for c, _ in planted} == set(APART)
    assert first[True] >= 0.9 * VANS


def test_a_valve_and_a_kink_on_one_way_are_not_told_apart(
    model: VanModel, suspects: Suspects
) -> None:
    chosen = [c for c in causes() if c.name.startswith(("valve", "kink"))]
    planted = plant(model, chosen, VANS, 20250304)
    good = wrong = 0
    for cause, seen in planted:
        found = suspects.judge(seen)
        way = cause.name.split(", ")[1]
        names = {r.cause.name for r in found.alike}
        both = {f"valve not open, {way}", f"kink, {way}"} <= names
        good += found.verdict == "can't tell" and both
        wrong += found.verdict == "likely" and way not in found.first.cause.name
    assert good >= 0.9 * VANS
    assert wrong <= 0.01 * VANS


def test_over_all_causes_the_right_one_is_first_or_told_as_one_of_the_alike(
    model: VanModel, suspects: Suspects
) -> None:
    planted = plant(model, list(causes()), VANS, 20250305)
    good = 0
    for cause, seen in planted:
        found = suspects.judge(seen)
        right = cause.name == found.first.cause.name and found.verdict == "likely"
        among = cause.name in {r.cause.name for r in found.alike}
        good += right or (among and found.verdict == "can't tell")
    assert good >= 0.9 * VANS


def test_sound_vans_are_seldom_accused(model: VanModel, suspects: Suspects) -> None:
    rng = np.random.default_rng(8)
    vans = [
        {u.name: float(np.clip(u.usual + u.spread * rng.standard_normal(), u.low, u.high))
         for u in UNKNOWNS}
        for _ in range(VANS)
    ]  # fmt: skip
    out = run(model, vans)
    accused = 0
    for i in range(len(vans)):
        found = suspects.judge(measure({n: float(v[i]) for n, v in out.items()}, rng))
        accused += found.verdict != "fits"
    assert accused <= 0.05 * VANS


def test_readings_that_nothing_explains_are_told(model: VanModel, suspects: Suspects) -> None:
    sound = {n: Measured(float(v[0]), sigma_of(n, float(v[0]))) for n, v in model({}).items()}
    name = "shower hot, pump current"
    sound[name] = Measured(sound[name].value + 3.0, 0.1)
    found = suspects.judge(sound)
    assert found.verdict == "nothing fits"
    assert max(found.odd, key=lambda n: abs(found.odd[n])) == name


def test_few_readings_can_not_tell(model: VanModel, suspects: Suspects) -> None:
    name = "galley cold, flow"
    usual = float(model({})[name][0])
    found: Diagnosis = suspects.judge({name: Measured(0.8 * usual, 0.02 * usual)})
    assert found.verdict == "can't tell"
    assert len(found.alike) >= 3


def test_chances_are_shares_of_what_is_wrong(model: VanModel, suspects: Suspects) -> None:
    out = model({"strainer": np.array([0.85])})
    found = suspects.judge(
        {n: Measured(float(v[0]), sigma_of(n, float(v[0]))) for n, v in out.items()}
    )
    assert sum(r.chance for r in found.ranked) == pytest.approx(1.0)
    assert found.first.cause.name == "clogged strainer"
    assert found.first.value == pytest.approx(0.85, abs=3 * found.first.sigma + 0.02)


def test_an_unknown_reading_is_refused(suspects: Suspects) -> None:
    with pytest.raises(ValueError, match="no such reading; there are galley cold, flow"):
        suspects.judge({"bath, flow": Measured(1.0, 0.1)})


# the fit itself, against the closed form of linear least squares with prior knowledge


def line(parameters: Mapping[str, Array]) -> dict[str, Array]:
    a, b = np.atleast_1d(parameters["a"]), np.atleast_1d(parameters["b"])
    return {f"at {x}": a + b * x for x in range(6)}


def test_fit_of_a_line_is_the_closed_form() -> None:
    unknowns = [Unknown("a", 0.0, -10, 10, 2.0), Unknown("b", 1.0, -10, 10, 3.0)]
    rng = np.random.default_rng(2)
    seen = {f"at {x}": Measured(0.7 + 1.8 * x + 0.3 * rng.standard_normal(), 0.3) for x in range(6)}
    design = np.array([[1.0, x] for x in range(6)])
    values = np.array([seen[f"at {x}"].value for x in range(6)])
    inverse = design.T @ design / 0.09 + np.diag([1 / 4, 1 / 9])
    right = design.T @ values / 0.09 + np.array([0.0, 1.0 / 9])
    best, covariance = np.linalg.solve(inverse, right), np.linalg.inv(inverse)
    found = fit(line, unknowns, seen)
    for i, name in enumerate("ab"):
        assert found.estimates[name].value == pytest.approx(best[i], abs=1e-6)
        assert found.estimates[name].sigma == pytest.approx(np.sqrt(covariance[i, i]), rel=1e-4)
        assert found.estimates[name].told
    assert found.odd == ()


def test_fit_stays_within_bounds_and_says_so() -> None:
    unknowns = [Unknown("a", 0.0, -1, 1, 1.0), Unknown("b", 0.0, -1, 1, 1.0)]
    seen = {f"at {x}": Measured(5.0 * x, 0.1) for x in range(6)}
    found = fit(line, unknowns, seen)
    assert found.estimates["b"].bound == "high"
    assert found.estimates["b"].value <= 1.0
    assert found.odd


def test_a_reading_says_nothing_about_what_it_does_not_touch() -> None:
    unknowns = [Unknown("a", 0.0, -9, 9, 1.0), Unknown("b", 0.0, -9, 9, 1.0)]
    found = fit(line, unknowns, {"at 0": Measured(2.0, 0.1)})
    assert found.estimates["a"].told
    assert not found.estimates["b"].told
    with pytest.raises(ValueError, match="at least one reading and one unknown"):
        fit(line, unknowns, {})


def test_two_unknowns_that_only_add_are_told_as_linked() -> None:
    def total(parameters: Mapping[str, Array]) -> dict[str, Array]:
        return {"sum": np.atleast_1d(parameters["a"] + parameters["b"])}

    unknowns = [Unknown("a", 0.0, -9, 9, 1.0), Unknown("b", 0.0, -9, 9, 1.0)]
    assert fit(total, unknowns, {"sum": Measured(1.0, 0.01)}).linked == (("a", "b"),)


def test_uncertainties_of_the_fit_are_honest(model: VanModel) -> None:
    # in simulated vans the truth lies within two uncertainties about as often as it should
    rng = np.random.default_rng(9)
    inside = total = 0
    vans = cases(4, 20)
    for _ in range(vans):
        van = {
            u.name: float(np.clip(u.usual + u.spread * rng.standard_normal(), u.low, u.high))
            for u in UNKNOWNS
        }
        out = model({n: np.array([v]) for n, v in van.items()})
        found = fit(model, UNKNOWNS, measure({n: float(v[0]) for n, v in out.items()}, rng))
        for name, estimate in found.estimates.items():
            inside += abs(estimate.value - van[name]) <= 2 * estimate.sigma
            total += 1
    assert total == vans * len(UNKNOWNS)
    assert 0.90 <= inside / total <= 1.0


def test_the_readings_narrow_what_is_known_of_the_pump(model: VanModel) -> None:
    out = model({"speed": np.array([0.93])})
    seen = {n: Measured(float(v[0]), sigma_of(n, float(v[0]))) for n, v in out.items()}
    found = fit(model, UNKNOWNS, seen).estimates["speed"]
    assert found.told
    assert found.value == pytest.approx(0.93, abs=3 * found.sigma)
