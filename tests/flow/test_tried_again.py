"""Answers that took many starts are looked for once for each question, and for no other."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from vanplumb.network import convection, network
from vanplumb.network.network import Link, Network
from vanplumb.network.newton import Batch


def lines(density: float = 998.0, length: float = 36.0) -> Network:
    net = Network(density=density, viscosity=1.0e-3)
    net.hold("under", pressure=0.0)
    net.hold("over", pressure=2e5)
    net.add(Link(name="pipe", start="over", end="under", length=length, diameter=0.02))
    return net


def test_a_question_is_tried_again_once(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[float] = []
    first, again = network.run, network._try_again

    def gives_up(*args: Any) -> Any:
        found = first(*args)
        return replace(found, done=np.zeros_like(found.done))

    def counted(layout: Any, *args: Any) -> Any:
        asked.append(layout.net.density)
        return again(layout, *args)

    plain = lines().solve().flow["pipe"]
    monkeypatch.setattr(network, "run", gives_up)
    monkeypatch.setattr(network, "_try_again", counted)
    for _ in range(3):
        answer = lines().solve()
        assert answer.found.all()
        assert answer.flow["pipe"] == pytest.approx(plain, rel=1e-6)
    assert len(asked) == 1
    lines(length=37.0).solve()
    lines(density=990.0).solve()
    assert len(asked) == 3


def test_what_was_not_found_is_tried_by_turns_in_one_batch(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Each then gets the answer that it gets alone."""
    first, sizes = network.run, list[int]()

    def gives_up_at_first(batch: Any, *args: Any) -> Any:
        sizes.append(batch.size)
        found = first(batch, *args)
        return found if len(sizes) > 1 else replace(found, done=np.zeros_like(found.done))

    pressures = np.array([1.1e5, 2.1e5, 3.1e5])
    plain = lines().with_held({"over": pressures}).solve().flow["pipe"]
    monkeypatch.setattr(network, "run", gives_up_at_first)
    monkeypatch.setattr(network, "found_together", lambda starts: None)
    answer = lines().with_held({"over": pressures}).solve()
    assert answer.found.all()
    assert answer.flow["pipe"] == pytest.approx(plain, rel=1e-6)
    assert sizes == [3, 3]


def test_a_start_that_leads_the_same_way_is_not_followed(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the flows close at first as from another start, nothing else can come of it."""
    begun, followed = list[float](), list[float]()

    def begins(batch: Any, start: float) -> None:
        begun.append(start)
        soft(batch, start)

    def closes(batch: Any, *args: Any) -> None:
        followed.append(float(batch.flow[0, 0]))

    soft = Batch.begin_soft
    monkeypatch.setattr(Batch, "begin_soft", begins)
    monkeypatch.setattr(convection, "_close", closes)
    net = lines()
    layout = net.layout()
    starts = network._begun_alone(layout, layout.figures, layout.open_paths(layout.open), "")
    assert convection.found_together(starts) is None
    assert begun == [0.03]
    assert len(followed) == 2  # as it is, and with lines that mix; of the first start alone
