"""Water that drives itself: warm water rises, and where it rises decides what gets warm.

Newton's rounds work temperatures out from the flows just found, and flows from temperatures just
found.  In a ring where next to nothing but its warmth moves the water, the two may chase one
another for ever: a line full of hot water draws cold water in, and full of cold water lets the hot
in again.  Here both are found together, for one variant at a time: the flows are solved with the
water as warm as it is, then all temperatures move by Newton's method on how far each is from what
those flows make it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from .links import Floats
from .losses import water_of
from .mixers import hot_share
from .newton import EASY, SMALL_FLOW, STILL, Batch, Found
from .temperatures import SEEP, entering, from_outside, temperatures

MIXED, ENOUGH = 1e-3, 1e-5
"""kg/s that each line exchanges with its neighbours where nothing less closes: at first so much
that all is lukewarm and easily found, then ever less, each from the answer before, down to what
no line that stands can do without: in it warm and cold water pass one another at more than
these 10 mm³/s."""
STRIDE, STRIDE_LEAST = 10.0, 1.15
"""By how much less each time, and where patience ends."""
STEPS, INNER = 15, 60
"""Newton steps on the temperatures, and rounds on the flows for each."""
MOST, EACH = 800, 4
"""Rounds after which it is given up, or so many for each path and junction of a large network: what
was found in some thousand random vans took 548 at most."""
SAME = 1e-6
"""Share, of a flow or of 1 g/s, by which the flows from two starts may differ and be the same."""
SHORTER = (1.0, 0.4, 0.1, 0.02)
"""Shares of a step that are tried."""
WARMING, PATIENCE = 0.4, 8
"""Share of the way where no step leads nearer, and how often that is gone."""
NUDGE = 1e-4
"""K by which each temperature is moved to see what that moves."""


@dataclass
class _Water:
    """How warm it is in each path, (V, P), and at each node, (V, N + H)."""

    along: Floats
    at: Floats

    def moved(self, by: _Water, share: float, low: float, high: float) -> _Water:
        """So far along a step, within what can be."""
        return _Water(
            np.clip(self.along + share * by.along, low, high),
            np.clip(self.at + share * by.at, low, high),
        )


def found_together(starts: Iterable[Batch]) -> Found | None:
    """The answer of one variant, begun in several ways, flows and temperatures found together.

    None if they can't be found either.  Starts differ in their flows alone: where the flows close
    at first just as they did from a start before, all that follows would be the same, too, and is
    left out.
    """
    before: list[Floats] = []
    for batch in starts:
        batch.warmed = batch.keeps = True
        ahead = batch.flow >= 0
        layout = batch.layout
        along = np.where(ahead, batch.warm[:, layout.start], batch.warm[:, layout.end])
        water = _Water(along, batch.warm)
        if _flows(batch, water):
            if any(np.allclose(batch.flow, flow, rtol=SAME, atol=SAME * SMALL_FLOW)
                   for flow in before):  # fmt: skip
                continue
            before.append(batch.flow)
            if _close(batch, water, SEEP) is not None:
                return batch.answers(np.ones(1, bool))
        answer = _found_by_mixing(batch, water)
        if answer is not None:
            return answer
    return None


def _found_by_mixing(batch: Batch, water: _Water) -> Found | None:
    """The answer with lines that exchange ever less with their neighbours."""
    exchanged, last, stride = MIXED, np.inf, STRIDE
    while stride > STRIDE_LEAST:
        closed = _close(batch, water, exchanged)
        if closed is not None:
            if exchanged <= ENOUGH:
                batch.exchanged = exchanged
                return batch.answers(np.ones(1, bool))
            water, last = closed, exchanged
        elif np.isinf(last):
            return None
        else:
            stride = np.sqrt(stride)
        exchanged = max(last / stride, ENOUGH)
    return None


def _close(batch: Batch, water: _Water, exchanged: float) -> _Water | None:
    """Newton's method on the temperatures; None if it doesn't close."""
    if not _flows(batch, water):
        return None
    off = _off(batch, water, exchanged)
    low, high = _bounds(batch)
    patience = PATIENCE if exchanged == MIXED else 0
    for _ in range(STEPS):
        if _worst(batch, off) < STILL:
            return water
        off_here, size = off, _size(off)
        move = _step(batch, water, off, exchanged)
        for share in SHORTER:
            tried = water.moved(move, share, low, high)
            if not _flows(batch, tried):
                continue
            off = _off(batch, tried, exchanged)
            if _size(off) < (1 - 0.1 * share) * size or _worst(batch, off) < STILL:
                break
        else:
            # part of the way to what the flows make of them, as water would warm in time
            patience -= 1
            tried = water.moved(off_here, WARMING, low, high)
            if patience < 0 or not _flows(batch, tried):
                return None
            off = _off(batch, tried, exchanged)
        water = tried
    return None


def _size(off: _Water) -> float:
    return float(np.linalg.norm(off.along) + np.linalg.norm(off.at))


def _bounds(batch: Batch) -> tuple[float, float]:
    """The coldest and the hottest that water can be here, K."""
    known = [batch.f.held_warm, batch.f.standing, batch.f.setpoint]
    whole = np.concatenate([np.ravel(k) for k in known])
    whole = whole[np.isfinite(whole)]
    return float(whole.min()), float(whole.max())


def _worst(batch: Batch, off: _Water) -> float:
    """How far the worst temperature is off, counted as in Newton's rounds, K."""
    apart = np.abs(off.at)
    worst = EASY * max(float(apart.max(initial=0.0)), float(np.abs(off.along).max(initial=0.0)))
    if not batch.layout.all_stores:
        worst = max(worst, float(entering(batch.layout, batch.flow, apart).max()))
    return worst


def _set(batch: Batch, water: _Water) -> None:
    """Gives the water other temperatures."""
    batch.warm = water.at
    batch.density, batch.viscosity = water_of(batch.layout, water.along)
    if batch.finds:
        batch.share = hot_share(batch.layout, batch.f, water.at)
    batch.lose()


def _flows(batch: Batch, water: _Water) -> bool:
    """Solves the flows with water of these temperatures.  Gives whether they were found."""
    _set(batch, water)
    size = len(batch.layout.paths) + len(batch.layout.free)
    if batch.rounds.max() >= max(MOST, EACH * size):
        return False
    for turn in range(INNER):
        done = batch.round(turn)
        batch.rounds = batch.rounds + 1
        if done[0]:
            return True
    return False


def _off(batch: Batch, water: _Water, exchanged: float) -> _Water:
    """What the flows make of the temperatures, less what they are."""
    layout, flow = batch.layout, batch.flow
    at = temperatures(
        layout, batch.f, flow, water.at, batch.density, batch.state.live,
        batch.outside, batch.method, exchanged,
    )  # fmt: skip
    share = 0.5 + 0.5 * flow / np.sqrt(flow**2 + exchanged**2)
    along = share * at[:, layout.start] + (1.0 - share) * at[:, layout.end]
    return _Water(along - water.along, at - water.at)


def _step(batch: Batch, water: _Water, off: _Water, exchanged: float) -> _Water:
    """Newton's step of the temperatures: each nudged in turn, all in one batch."""
    free, paths = len(batch.layout.free), water.along.shape[1]
    many = _repeated(batch, paths + free + 1)
    along = water.along + NUDGE * np.eye(paths + free + 1, paths)
    at = water.at + NUDGE * np.eye(paths + free + 1, water.at.shape[1], k=-paths)
    at[-1] = water.at[0]
    nudged = _Water(along, at)
    _set(many, nudged)
    many._step(1)
    made = _off(many, nudged, exchanged)
    both = np.concatenate([made.along, made.at[:, :free]], axis=1)
    slopes = (both[:-1] - both[-1]).T / NUDGE
    here = np.concatenate([off.along, off.at[:, :free]], axis=1)[0]
    found = np.linalg.lstsq(slopes, -here, rcond=1e-13)[0]
    whole = np.zeros_like(water.at)
    whole[0, :free] = found[paths:]
    return _Water(found[None, :paths], whole)


def _repeated(batch: Batch, times: int) -> Batch:
    """A batch of so many copies of the one variant."""

    def rows(held: Any) -> dict[str, Any]:
        listed = ((f.name, getattr(held, f.name)) for f in fields(held))
        return {k: np.repeat(a, times, axis=0) for k, a in listed if isinstance(a, np.ndarray)}

    state = replace(batch.state, **rows(batch.state), pumps=replace(
        batch.state.pumps, **rows(batch.state.pumps)))  # fmt: skip
    outside = from_outside(batch.layout, batch.f, times)
    return replace(batch, **rows(batch), state=state, outside=outside)
