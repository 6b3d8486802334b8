"""The cut plan: every piece once, nothing over length, and as few lengths as can be."""

from __future__ import annotations

import random
from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.cases import cases
from vanplumb.board.lists import cut_plan as stock
from vanplumb.board.lists.cut_plan import cut_plan, first_fit, fits, left_over

MM = 10_000


def check(plan, pieces, kerf, shelf=None, new=0) -> None:
    """Every piece once, nothing over length, no more of a length than there is."""
    assert sorted([*plan.pieces, *plan.missing]) == sorted(pieces)
    numbers = [n for bar in plan.bars for n in bar.numbers]
    assert [pieces[n] for n in numbers] == list(plan.pieces)
    assert [pieces[n] for n in plan.missing_numbers] == list(plan.missing)
    assert sorted([*numbers, *plan.missing_numbers]) == list(range(len(pieces)))
    for bar in plan.bars:
        assert bar.pieces and fits(bar.length, bar.pieces, kerf)
        gone = bar.length - sum(bar.pieces) - bar.left
        assert kerf * (len(bar.pieces) - 1) <= gone <= kerf * len(bar.pieces)
    if shelf is not None:
        used = Counter(b.length for b in plan.bars if not b.bought)
        have = Counter()
        for length, count in shelf:
            have[length] += count
        assert not used - have
        assert all(b.length == new for b in plan.bars if b.bought)


def rank(plan, new) -> tuple[int, int, int]:
    """What a plan is judged by: bought, whole lengths off the shelf, length taken."""
    return (
        plan.bought,
        sum(b.length >= new and not b.bought for b in plan.bars),
        sum(b.length for b in plan.bars),
    )


def best_of_all(pieces, shelf, kerf, new) -> tuple[int, int, int]:
    """The least rank by trying every way to put every piece on every length: few pieces only."""
    pieces = sorted(pieces, reverse=True)
    rooms = [(length, False) for length, count in shelf for _ in range(count)]
    best = (len(pieces) + 1, 0, 0)

    def put(number, free, used) -> None:
        nonlocal best
        so_far = (
            sum(b for _, b in used),
            sum(length >= new and not b for length, b in used),
            sum(length for length, _ in used),
        )
        if so_far >= best:
            return
        if number == len(pieces):
            best = so_far
            return
        need = pieces[number] + kerf
        for at, (room, of) in enumerate(free):
            if room >= need and (room, of) not in free[:at]:
                begun = [] if room < of[0] + kerf else [of]
                put(number + 1, [*free[:at], (room - need, of), *free[at + 1 :]], [*used, *begun])
        if new + kerf >= need:
            put(number + 1, [*free, (new + kerf - need, (new, True))], [*used, (new, True)])

    put(0, [(length + kerf, (length, b)) for length, b in rooms], [])
    return best


@pytest.mark.parametrize("seed", range(80))
def test_no_way_of_cutting_is_better(seed: int) -> None:
    """Mixed lengths and offcuts, up to seven pieces, each way tried: the plan is as good as any."""
    rng = random.Random(seed)
    kerf, new = rng.choice([0, 1, 2]), 100
    pieces = [rng.randrange(12, 75) for _ in range(rng.randrange(3, 8))]
    shelf = [(rng.randrange(20, 130), rng.choice([1, 1, 2])) for _ in range(rng.randrange(4))]
    plan = cut_plan(pieces, shelf, kerf, new)
    check(plan, pieces, kerf, shelf, new)
    assert plan.missing == ()
    assert rank(plan, new) == best_of_all(pieces, shelf, kerf, new)
    assert plan.least_bought == plan.bought and plan.proved


def test_a_full_shelf_of_two_lengths_buys_nothing() -> None:
    """60 and 60 fill the 120, 50 and 50 the 100; longest first puts a 60 on the 100."""
    pieces, shelf = [60, 60, 50, 50], [(100, 1), (120, 1)]
    bars, _ = first_fit(pieces, shelf, 0, 120)
    assert sum(b.bought for b in bars) == 1
    plan = cut_plan(pieces, shelf, 0)
    check(plan, pieces, 0, shelf)
    assert plan.bought == 0 and plan.waste == 0 and plan.proved
    assert "No plan buys fewer lengths" in plan.verdict


def test_offcuts_go_before_a_whole_length() -> None:
    """One whole length would leave 10 over, two offcuts leave 30: the offcuts are used up."""
    plan = cut_plan([50, 40], [(100, 1), (60, 2)], 0, 100)
    assert [(b.length, b.pieces) for b in plan.bars] == [(60, (50,)), (60, (40,))]
    # With only one offcut the whole length is needed, and the offcut stays.
    plan = cut_plan([50, 40], [(100, 1), (60, 1)], 0, 100)
    assert [(b.length, b.pieces) for b in plan.bars] == [(100, (50, 40))]


def test_a_piece_longer_than_what_can_be_bought_takes_the_one_long_length() -> None:
    """Two pieces of 150, one length of 160 on the shelf, 100 to be bought: one is missing."""
    plan = cut_plan([150, 30, 150], [(160, 1)], 0, 100)
    check(plan, [150, 30, 150], 0, [(160, 1)], 100)
    assert plan.missing == (150,) and plan.missing_numbers == (2,)


NOT_LENGTHS = (([0], [(9, 1)], 0), ([5], [(9, -1)], 0), ([5], [(0, 1)], 0), ([5], [(9, 1)], -1))


@pytest.mark.parametrize("pieces, shelf, kerf", NOT_LENGTHS)
def test_lengths_below_nothing_are_refused(pieces, shelf, kerf) -> None:
    with pytest.raises(ValueError, match="must be above zero"):
        cut_plan(pieces, shelf, kerf)


def test_patterns_save_a_length_where_longest_first_does_not() -> None:
    """Eight pieces that fill three lengths of 12 without a rest: 7+3+2, 6+6, 4+4+4.

    Longest first cuts 7 and 4 from the first length, and then needs a fourth.
    """
    pieces = [p * MM for p in (2, 6, 7, 4, 6, 4, 4, 3)]
    length = 12 * MM
    assert len(first_fit(pieces, [(length, 20)], 0, length)[0]) == 4
    plan = cut_plan(pieces, [(length, 20)], 0)
    assert len(plan.bars) == 3
    check(plan, pieces, 0)
    assert plan.waste == 0


@pytest.mark.parametrize("seed", range(24))
def test_sixty_pieces_reach_the_least_that_there_can_be(seed: int) -> None:
    rng = random.Random(seed)
    sizes = [rng.randrange(60, 1500) * MM for _ in range(20)]
    pieces = [rng.choice(sizes) for _ in range(60)]
    plan = cut_plan(pieces, [(6096 * MM, 99)], 1 * MM)
    check(plan, pieces, 1 * MM, [(6096 * MM, 99)])
    enough = -(-(sum(pieces) + MM * len(pieces)) // (6097 * MM))
    assert len(plan.bars) <= enough + 1


@settings(max_examples=cases(20), deadline=None)
@given(
    st.lists(st.integers(10, 1200), max_size=25),
    st.lists(st.tuples(st.integers(300, 1000), st.integers(1, 3)), max_size=4),
    st.integers(0, 3),
)
def test_any_shelf(pieces: list[int], shelf: list[tuple[int, int]], kerf: int) -> None:
    plan = cut_plan(pieces, shelf, kerf, 1000)
    check(plan, pieces, kerf, shelf, 1000)
    assert plan.least_bought <= plan.bought
    bars, _ = first_fit(pieces, shelf, kerf, 1000)
    assert plan.bought <= sum(b.bought for b in bars)
    assert all(p > 1000 for p in plan.missing)


def test_what_is_left_is_in_one_end_and_kerfs_are_lost() -> None:
    """Four of 30 with a kerf of 2 need both lengths; three on the 100 would leave only 4 and 33."""
    plan = cut_plan([30] * 4, [(100, 1), (65, 1)], 2, 100)
    bars = [(b.length, b.pieces, b.left) for b in plan.bars]
    assert bars == [(65, (30, 30), 1), (100, (30, 30), 36)]
    assert plan.offcuts(30) == (36,)
    assert fits(62, [30, 30], 2) and not fits(61, [30, 30], 2)
    assert left_over(62, [30, 30], 2) == 0


def test_patterns_made_by_price_reach_what_all_patterns_do(monkeypatch) -> None:
    """The way for many pieces, on cases small enough to write all patterns down."""
    worse = unproved = 0
    for seed in range(cases(10, 30)):
        rng = random.Random(seed)
        pieces = [rng.randrange(60, 700) * MM for _ in range(12)]
        shelf = [(rng.randrange(200, 900) * MM, 1) for _ in range(3)]
        exact = cut_plan(pieces, shelf, MM, 1000 * MM)
        with monkeypatch.context() as few:
            few.setattr(stock, "MOST_PATTERNS", 0)
            plan = cut_plan(pieces, shelf, MM, 1000 * MM)
        check(plan, pieces, MM, shelf, 1000 * MM)
        assert plan.least_bought <= exact.bought <= plan.bought
        worse += plan.bought - exact.bought
        unproved += plan.bought > plan.least_bought
        if plan.proved:
            assert rank(plan, 1000 * MM) == rank(exact, 1000 * MM)
    assert worse == 0 and unproved <= 2


@settings(max_examples=cases(15), deadline=None)
@given(
    st.lists(st.integers(10, 70), min_size=1, max_size=6),
    st.lists(st.floats(0, 1), min_size=6, max_size=6),
)
def test_the_bound_from_prices_holds_for_any_prices(pieces, prices) -> None:
    """Whatever the prices, no plan is cheaper than the bound: lengths of 100, each costing 1."""
    cutting = stock._Cutting(pieces, 1)
    bound = cutting.bound(prices[: len(cutting.sizes)], [101], [1.0], [float(len(pieces))])
    assert bound <= best_of_all(pieces, [], 1, 100)[0] + 1e-9


def test_nothing_to_cut_needs_nothing() -> None:
    assert cut_plan([], [(100, 1)], 0).bars == ()
    assert cut_plan([], [], 0).verdict.startswith("No plan")


def test_an_allowance_keeps_its_room_beside_every_piece() -> None:
    """Four pieces of 25 fill 100 to the last; with 1 spare for each only three go on it."""
    tight, roomy = (cut_plan([25] * 4, [(100, 2)], 0, allowance=spare) for spare in (0, 1))
    assert [b.pieces for b in tight.bars] == [(25,) * 4] and tight.bars[0].left == 0
    assert sorted(len(b.pieces) for b in roomy.bars) == [1, 3]
    for bar in roomy.bars:
        assert set(bar.pieces) == {25}
        assert bar.left == 100 - 26 * len(bar.pieces)
    assert cut_plan([100], [(100, 1)], 0, allowance=1).missing == (100,)
    assert cut_plan([100], [(100, 1)], 0).missing == ()
