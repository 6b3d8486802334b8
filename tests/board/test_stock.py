"""The cut plan: every piece once, nothing over length, and as few lengths as can be."""

from __future__ import annotations

import random
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vanplumb.board.lists.stock import column_generation, cut_plan, first_fit, fits, left_over

MM = 10_000


def check(plan, pieces, kerf) -> None:
    assert sorted([*plan.pieces, *plan.missing]) == sorted(pieces)
    for bar in plan.bars:
        assert fits(bar.length, bar.pieces, kerf)
        assert bar.left == left_over(bar.length, bar.pieces, kerf) >= 0 or bar.left > -kerf


def fewest(pieces: list[int], length: int, kerf: int) -> int:
    """The least number of lengths by trying everything: for few pieces only."""
    pieces = sorted(pieces, reverse=True)

    @cache
    def fit(number: int, rooms: tuple[int, ...]) -> bool:
        if number == len(pieces):
            return True
        need = pieces[number] + kerf
        for k, room in enumerate(rooms):
            if room >= need and (k == 0 or rooms[k - 1] != room):
                after = tuple(sorted((*rooms[:k], room - need, *rooms[k + 1 :])))
                if fit(number + 1, after):
                    return True
        return False

    count = 1
    while not fit(0, (length + kerf,) * count):
        count += 1
    return count


def test_as_few_lengths_as_trying_everything_finds() -> None:
    """Of 60 small cases at most two may need one length more, none two."""
    over = []
    for seed in range(60):
        rng = random.Random(seed)
        length, kerf = 1000 * MM, rng.choice([0, 1 * MM, 2 * MM])
        sizes = [rng.randrange(90, 700) * MM for _ in range(5)]
        pieces = [rng.choice(sizes) for _ in range(9)]
        plan = cut_plan(pieces, [(length, 20)], kerf)
        check(plan, pieces, kerf)
        least = fewest(pieces, length, kerf)
        assert plan.bound <= least
        over.append(len(plan.bars) - least)
    assert max(over) <= 1 and sum(over) <= 2


def test_column_generation_saves_a_length_where_longest_first_does_not() -> None:
    """Eight pieces that fill three lengths of 12 without a rest: 7+3+2, 6+6, 4+4+4.

    Longest first cuts 7 and 4 from the first length, and then needs a fourth.
    """
    pieces = [p * MM for p in (2, 6, 7, 4, 6, 4, 4, 3)]
    length = 12 * MM
    assert len(first_fit(pieces, [(length, 20)], 0, length).bars) == 4
    plan = cut_plan(pieces, [(length, 20)], 0)
    assert len(plan.bars) == 3 and plan.method.startswith("patterns")
    check(plan, pieces, 0)
    assert plan.waste == 0


@pytest.mark.parametrize("seed", range(24))
def test_sixty_pieces_reach_the_least_that_there_can_be(seed: int) -> None:
    rng = random.Random(seed)
    sizes = [rng.randrange(60, 1500) * MM for _ in range(20)]
    pieces = [rng.choice(sizes) for _ in range(60)]
    plan = cut_plan(pieces, [(6096 * MM, 99)], 1 * MM)
    check(plan, pieces, 1 * MM)
    assert len(plan.bars) <= plan.bound + 1


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.integers(10, 1200), max_size=25),
    st.lists(st.tuples(st.integers(300, 1000), st.integers(1, 3)), max_size=4),
    st.integers(0, 3),
)
def test_any_shelf(pieces: list[int], shelf: list[tuple[int, int]], kerf: int) -> None:
    plan = cut_plan(pieces, shelf, kerf, 1000)
    check(plan, pieces, kerf)
    have = sum(count for _, count in shelf)
    assert sum(not bar.bought for bar in plan.bars) <= have
    assert all(p > 1000 for p in plan.missing)


def test_short_lengths_are_used_up_first_and_kerfs_are_lost() -> None:
    plan = cut_plan([30, 30, 30], [(100, 1), (65, 1)], 2, 100)
    bars = [(b.length, b.pieces, b.left) for b in plan.bars]
    assert bars == [(65, (30, 30), 1), (100, (30,), 68)]
    assert plan.offcuts(50) == (68,)
    assert fits(62, [30, 30], 2) and not fits(61, [30, 30], 2)
    assert left_over(62, [30, 30], 2) == 0


def test_patterns_cover_the_demand() -> None:
    patterns = column_generation([7, 7, 5, 5, 5, 3], 12, 0)
    assert sorted(p for pattern in patterns for p in pattern) == [3, 5, 5, 5, 7, 7]
    assert all(sum(pattern) <= 12 for pattern in patterns)
    assert cut_plan([], [(100, 1)], 0).bars == ()


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
