"""Thermostatic mixing valves inside Newton's method: the position is solved for with the rest.

The hot and the cold way of a valve open against each other.  That their flows stand in the
ratio that the wanted temperature asks for is one more equation, and the valve's position one
more unknown; it is eliminated on the spot, so the system keeps its size.
"""

from __future__ import annotations

import numpy as np

from .layout import Figures, Layout
from .links import Floats, within
from .losses import OPENING_LEAST

FARTHEST = float(np.log(1 / OPENING_LEAST - 1))
"""Greatest log-odds of a valve's position."""
STRIDE = 2.0


def hot_share(layout: Layout, f: Figures, warm: Floats) -> Floats:
    """Share of hot water that gives the wanted temperature, shape (V, mixers), 0 to 1."""
    hot, cold = warm[:, layout.start[layout.hot]], warm[:, layout.start[layout.cold]]
    apart = np.where(np.abs(hot - cold) > 1e-6, hot - cold, 1e-6)
    return within((f.mixed - cold) / apart, OPENING_LEAST, 1 - OPENING_LEAST)


class MixerStep:
    """One round's equations of the valves that find their own position."""

    def __init__(
        self,
        layout: Layout,
        f: Figures,
        share: Floats,
        give: Floats,
        carried: Floats,
        by_position: Floats,
        position: Floats,
        passes: Floats,
    ) -> None:
        self.layout, self.share = layout, share
        half = len(layout.hot)
        give, carried = give[:, layout.ways], carried[:, layout.ways]
        self.give = (give[:, :half], give[:, half:])
        self.tilt = (by_position[:, :half], by_position[:, half:])
        self.carried = (carried[:, :half], carried[:, half:])
        self.odds = np.log(position / (1 - position))
        below = (1 - share) * self.give[0] * self.tilt[0] - share * self.give[1] * self.tilt[1]
        runs = f.thermostatic & (passes @ layout.leaves_mixer > 0)
        hot, cold = give[:, :half] > 0, give[:, half:] > 0
        self.runs = runs & hot & cold & (below < -1e-300)
        # with one way barred the valve turns to the other: it shuts hot off when cold fails
        most, least = share > 1 - 1.5 * OPENING_LEAST, share < 1.5 * OPENING_LEAST
        self.lame = np.where(np.where(hot, most, ~least), STRIDE, -STRIDE) * (runs & (hot ^ cold))
        self.wholly = most * STRIDE - least * STRIDE
        self.pinned = (self.odds * np.sign(share - 0.5) >= FARTHEST) | most | least
        self.moves = self.runs & ~self.pinned
        self.below = np.where(self.moves, below, 1.0)

    def add(self, values: Floats, right: Floats) -> None:
        """Puts the equations into the system."""
        layout = self.layout
        (give_h, give_c), (tilt_h, tilt_c) = self.give, self.tilt
        on = np.where(self.moves, 1.0 / self.below, 0.0)
        by_h, by_c = on * (1 - self.share) * give_h, -on * self.share * give_c
        push_h, push_c = -give_h * tilt_h, -give_c * tilt_c
        four = [push_h * by_h, push_h * by_c, push_c * by_h, push_c * by_c]
        values += np.concatenate(four, axis=1) @ layout.mixer_stencil
        plain = on * ((1 - self.share) * self.carried[0] - self.share * self.carried[1])
        right -= np.concatenate([push_h * plain, push_c * plain], axis=1) @ layout.ways_free

    def apply(self, flow: Floats, position: Floats) -> tuple[Floats, Floats]:
        """Flows (changed in place) and positions after the round.

        ``flow`` came from the pressures alone, with the positions as they were.
        """
        layout = self.layout
        hot, cold = flow[:, layout.hot], flow[:, layout.cold]
        turn = np.where(self.moves, ((1 - self.share) * hot - self.share * cold) / self.below, 0.0)
        flow[:, layout.hot] = hot - self.give[0] * self.tilt[0] * turn
        flow[:, layout.cold] = cold - self.give[1] * self.tilt[1] * turn
        off = (1 - self.share) * hot - self.share * cold
        inward = np.sign(self.odds) * off > 0
        turn = np.where(self.runs & self.pinned & inward, -np.sign(self.odds), turn)
        turn = np.where(self.wholly != 0, self.wholly, turn)
        odds = within(self.odds + within(turn, -STRIDE, STRIDE), -FARTHEST, FARTHEST)
        alone = within(self.odds + self.lame, -FARTHEST, FARTHEST)
        odds = np.where(self.runs, odds, alone)
        moves = self.runs | (self.lame != 0)
        return flow, np.where(moves, 1 / (1 + np.exp(-odds)), position)
