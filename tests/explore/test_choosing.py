"""Which variants nothing beats, targets and their prices, reasons; against brute force."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.cases import cases
from vanplumb.explore import Variants, explore, meet, reason, span
from vanplumb.explore import unbeaten as ways
from vanplumb.explore.choices import Span, axes, usual
from vanplumb.explore.side_by_side import chapter, compare
from vanplumb.explore.targets import Target, target
from vanplumb.explore.unbeaten import unbeaten
from vanplumb.pack import example
from vanplumb.shop.readings.suspects import smaller
from vanplumb.van import loads


@pytest.fixture(scope="module")
def variants() -> Variants:
    return explore(
        example("dipper"),
        {
            "tank.fresh.height": span("8 in", "16 in", 5),
            "heater.heater.volume": ["2.5 gal", "4 gal", "6 gal"],
            "fixture.shower.flow": ["1.0 gpm", "1.6 gpm"],
            ("run.14.tube", "run.21.tube"): ["PEX-B 3/8 in", "PEX-B 1/2 in", "PEX-B 3/4 in"],
        },
        ["weight", "nights", "wait shower", "flow shower", "mixed", "temperature shower"],
    )


OWN_ROWS = """
[[rows.pumps]]
name = "the blue one"
like = "12 V 2.8 gpm 40 psi"

[[rows.pumps]]
name = "the wet one"
like = "12 V submersible 8 L/min"

[[rows.tubes]]
name = "the white one"
like = "PEX-B 1/2 in"
bore = "0.46 in"
"""


def test_pumps_and_tubes_are_alike_by_what_they_are_and_not_by_their_names() -> None:
    build = loads((example("dipper").text or "") + OWN_ROWS)
    found = usual(build)
    shipped = ["12 V 2.0 gpm 30 psi", "12 V 2.8 gpm 40 psi", "12 V 3.4 gpm 50 psi"]
    assert sorted(found["pump.pump.curve"]) == sorted([*shipped, "the blue one"])
    (tubes,) = (names for path, names in found.items() if path[0].endswith(".tube"))
    assert sorted(tubes) == ["PEX-B 1/2 in", "PEX-B 3/4 in", "PEX-B 3/8 in", "the white one"]
    assert smaller(build, "PEX-B 1/2 in") == ("the white one", pytest.approx(0.46 * 0.0254))


def beaten_by_any(costs: np.ndarray, i: int) -> bool:
    """Straight from the definition: nowhere worse, somewhere better."""
    return any(
        all(a <= b for a, b in zip(other, costs[i], strict=True))
        and any(a < b for a, b in zip(other, costs[i], strict=True))
        for other in costs
    )


@settings(deadline=None, max_examples=cases(20))
@given(st.lists(st.tuples(*[st.integers(0, 6)] * 3), min_size=1, max_size=40))
def test_unbeaten_rows_are_those_of_the_definition(rows: list[tuple[int, int, int]]) -> None:
    costs = np.array(rows, float)
    assert unbeaten(costs).tolist() == [not beaten_by_any(costs, i) for i in range(len(costs))]


@pytest.mark.parametrize("small", [2, 256])
@pytest.mark.parametrize("seed", range(40))
def test_unbeaten_rows_in_halves_and_all_at_once(
    seed: int, small: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Up to five objectives, with ties: the halves meet where all pairs would."""
    monkeypatch.setattr(ways, "SMALL", small)
    monkeypatch.setattr(ways, "PAIRS", small)
    generator = np.random.default_rng(seed)
    shape = (generator.integers(1, 60), generator.integers(1, 6))
    costs = generator.integers(0, generator.integers(2, 9), shape).astype(float)
    assert unbeaten(costs).tolist() == [not beaten_by_any(costs, i) for i in range(len(costs))]


def test_unbeaten_among_real_results(variants: Variants) -> None:
    keys = ["weight", "nights", "wait shower", "flow shower"]
    costs = variants.costs(keys)
    expected = [i for i in range(variants.size) if not beaten_by_any(costs, i)]
    assert variants.unbeaten(keys).tolist() == expected
    assert 1 < len(expected) < variants.size


def test_no_figure_means_out() -> None:
    assert unbeaten(np.array([[np.nan, 0.0], [1.0, 1.0]])).tolist() == [False, True]


def test_a_direction_can_be_turned(variants: Variants) -> None:
    heaviest = variants.unbeaten({"weight": "more"})
    assert variants.values["weight"][heaviest].max() == variants.values["weight"].max()
    with pytest.raises(ValueError, match="temperature shower: say whether"):
        variants.unbeaten(["temperature shower"])


def test_targets_are_those_of_a_loop(variants: Variants) -> None:
    outcome = meet(
        variants, ["wait at shower <= 6 s", "nights >= 2.2", "warm water at a time >= 4 gal"]
    )
    v, gallons = variants.values, 4 * 3.785411784e-3
    good = [
        i
        for i in range(variants.size)
        if v["wait shower"][i] <= 6.0 and v["nights"][i] >= 2.2 and v["mixed"][i] >= gallons
    ]  # fmt: skip
    assert outcome.count == len(good) > 0
    assert outcome.value == min(v["weight"][i] for i in good)
    assert outcome.best in good
    assert outcome.misses == ()


def test_what_a_target_costs_is_the_best_without_it(variants: Variants) -> None:
    texts = ["wait at shower <= 6 s", "nights >= 2.2", "warm water at a time >= 4 gal"]
    outcome = meet(variants, texts)
    for i, price in enumerate(outcome.prices):
        without = meet(variants, texts[:i] + texts[i + 1 :])
        assert price.dropped == without.value
        assert price.dropped <= price.loosened <= outcome.value
        assert price.binds == (price.dropped < outcome.value)
    assert any(price.binds for price in outcome.prices)
    assert not all(price.binds for price in outcome.prices)


@pytest.mark.parametrize("share", [0.0, 0.05, 0.3])
def test_looser_targets_never_lose_a_variant(variants: Variants, share: float) -> None:
    for text in ("weight <= 150 kg", "nights >= 3"):
        one = target(variants, text)
        figures = variants.values[one.key]
        assert np.all(one.looser(share).met(figures) >= one.met(figures))


def test_targets_that_can_not_be_met_name_the_nearest(variants: Variants) -> None:
    outcome = meet(variants, ["nights >= 30", "weight <= 150 kg"])
    assert (outcome.best, outcome.count) == (None, 0)
    assert outcome.nearest is not None
    assert "nights at least 30" in repr(outcome)
    assert repr(outcome).startswith("No variant meets all targets; the nearest misses: ")
    assert np.isnan(outcome.value)


@pytest.mark.parametrize(
    "text, said",
    [
        ("nights", "needs a target such as"),
        ("nigths >= 4", "no result 'nigths'.*nights"),
        ("wait at shower <= 20 kg", "wait at shower: needs a duration|wait at shower: .*kg"),
    ],
)
def test_a_target_that_can_not_be_read_is_told(variants: Variants, text: str, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        meet(variants, [text])


@pytest.mark.parametrize(
    "text", ["nights >= 3", "nights at least 3", "nights ≥ 3", " nights  at least  3 "]
)
def test_a_target_is_told_in_words_however_it_was_typed(variants: Variants, text: str) -> None:
    assert target(variants, text) == Target("nights", "more", 3.0, "nights at least 3")
    assert target(variants, "weight < 150 kg") == target(variants, "weight at most 150 kg")


def test_a_trade_names_no_figure_that_reads_alike(variants: Variants) -> None:
    told = [
        one.text
        for n in range(0, variants.size, variants.size // cases(6, 40))
        for one in reason(variants, n, ["weight", "nights", "wait shower", "flow shower"]).trades
    ]
    pairs = [pair.rsplit(" → ", 1) for text in told for pair in text.split(", ") if " → " in pair]
    assert pairs
    assert not [(old, new) for old, new in pairs if old.endswith(f" {new}")]


def test_a_figure_that_is_missing_meets_no_target() -> None:
    one = Target("x", "less", 1.0, "x <= 1")
    assert one.met(np.array([np.nan, 0.5, 2.0])).tolist() == [False, True, False]
    assert one.short(np.array([np.nan, 0.5, 2.0])).tolist() == [np.inf, 0.0, 1.0]


def test_a_grid_has_every_combination_once(variants: Variants) -> None:
    chosen = [tuple(axis.codes[i] for axis in variants.axes) for i in range(variants.size)]
    sizes = [range(len(axis.values)) for axis in variants.axes]
    assert sorted(chosen) == sorted(itertools.product(*sizes))


def test_the_same_seed_gives_the_same_sample() -> None:
    build, choices = example("dipper"), {"crew.people": [1, 2, 3, 4, 5]}
    one, two, other = (axes(build, choices, sample=50, seed=s)[0].codes for s in (3, 3, 4))
    assert one.tolist() == two.tolist() != other.tolist()


@pytest.mark.parametrize(
    "choices, said",
    [
        ({"heater.heatr.volume": ["4 gal"]}, "heater.heatr.volume: names no part"),
        ({"heater.heater.volume": ["4 kg"]}, "heater.heater.volume: needs a volume"),
        ({"run.12.tube": ["PEX 9 in"]}, "no row 'PEX 9 in' in tubes"),
        ({"tank.fresh.height": ["-2 in"]}, "must be"),
        ({"heater.heater.kind": ["steam"]}, "must be one of storage"),
        ({"run.12.tube": span("1 in", "2 in")}, "a range needs a quantity"),
        ({"crew.people": []}, "names no value"),
        ({"crew.people": range(400), "crew.nights": range(1, 400)}, "make 159600 variants"),
    ],
)
def test_a_choice_that_can_not_be_is_told(choices: dict, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        axes(example("dipper"), choices)


def test_all_problems_are_told_at_once() -> None:
    with pytest.raises(ValueError, match=r"(?s)heatr.*PEX 9"):
        axes(example("dipper"), {"heater.heatr.volume": [1.0], "run.12.tube": ["PEX 9 in"]})


def test_a_reason_names_changes_limits_and_trades(variants: Variants) -> None:
    keys = ["weight", "nights", "wait shower", "flow shower"]
    one = int(variants.unbeaten(keys)[3])
    told = reason(variants, one, keys)
    assert told.beaten_by is None
    for trade in told.trades:
        place = keys.index(trade.key)
        costs = variants.costs(keys)
        assert costs[trade.variant][place] < costs[one][place]
        assert np.any(costs[trade.variant] > costs[one])
    assert {limit.key for limit in told.limits} == set(keys)
    by = {limit.key: limit.by for limit in told.limits}
    assert "water in fresh" in by["weight"]
    assert "cold water on the way" in by["wait shower"]
    assert "takes most of the pressure on the way" in by["flow shower"]
    assert "of a day's water" in by["nights"]


def test_a_beaten_variant_names_one_that_beats_it(variants: Variants) -> None:
    keys = ["weight", "nights", "wait shower", "flow shower"]
    beaten = sorted(set(range(variants.size)) - set(variants.unbeaten(keys).tolist()))[0]
    told = reason(variants, beaten, keys)
    assert told.beaten_by is not None
    costs = variants.costs(keys)
    assert np.all(costs[told.beaten_by] <= costs[beaten])
    assert np.any(costs[told.beaten_by] < costs[beaten])
    assert f"variant {told.beaten_by} is nowhere worse" in repr(told)


def test_the_base_itself_changes_nothing() -> None:
    variants = explore(example("dipper"), {"heater.heater.volume": ["5 gal"]}, ["weight"])
    assert reason(variants, 0, ["weight"]).changes == {}


def test_results_that_do_not_exist_are_told() -> None:
    with pytest.raises(KeyError, match="did you mean"):
        explore(example("dipper"), {}, ["wieght"])


def test_frame_carries_the_readers_units(variants: Variants) -> None:
    frame = variants.frame([0])
    assert frame["fresh, height, in"].iloc[0] == pytest.approx(8.0)
    pounds = variants.values["weight"][0] / 0.45359237
    assert frame["weight when leaving, lb"].iloc[0] == pytest.approx(pounds)


def test_what_a_target_does_is_told_by_a_head_and_a_yes_or_no(variants: Variants) -> None:
    """A target that every variant meets holds nothing back; one that is tight does."""
    one = compare(variants, {"weight": "less"}, targets=["nights >= 0.1", "nights >= 2.2"])
    grid = next(g for g in chapter(one).grids if g.title.startswith("What each target costs"))
    assert grid.columns[-1].head == "holds the best back"
    assert [row[-1] for row in grid.rows] == ["no", "yes"]
    loose, tight = grid.rows
    assert loose[1] == loose[3] and tight[1] != tight[3]


@pytest.mark.parametrize("count", [1, 10**9])
def test_a_range_of_too_few_or_too_many_steps_is_refused_before_it_is_made(count: int) -> None:
    with pytest.raises(ValueError, match="2 to 100000 steps"):
        span(1.0, 2.0, count)
    with pytest.raises(ValueError, match="2 to 100000 steps"):
        explore(example("dipper"), {"crew.reserve": Span(0.1, 0.2, count)}, ["weight"])


@pytest.mark.parametrize("given", [[float("nan")], [0.1, float("inf")], range(10**9)])
def test_values_that_are_no_numbers_or_far_too_many_are_refused(given: object) -> None:
    with pytest.raises(ValueError, match=r"no number|more than 100000 values|must be"):
        explore(example("dipper"), {"crew.reserve": given}, ["weight"])
