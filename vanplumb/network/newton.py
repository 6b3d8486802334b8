"""Newton's method on flows and pressures together, for a batch of variants at once.

Where a step leads too far, it is found how far to go along it.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from functools import cached_property

import numpy as np

from .layout import Figures, Layout
from .links import Flags, Floats, Rows, Whole, take_rows, within
from .losses import OPENING_LEAST, loss, properties
from .mixers import MixerStep, hot_share
from .pumps import settle_pumps
from .states import State, put_held_flows, tie_outlets
from .temperatures import Outside, entering, from_outside, temperatures

ROUNDS, HASTY = 150, 45
"""Rounds after which a variant counts as not found; fewer in a search over many."""
SOFTEN = (25, 70)
"""Rounds at which variants that are not done go back to soft check valves."""
CALM = 15
"""Round from which water that hardly moves keeps its temperature: else a line that warms,
stirs, cools and stands still again would never settle."""
EARLY = 0.5
"""Loss left over, as such a share, from which temperatures are worth working out: by then the
water goes where it will go, nearly."""
NEAR = 0.05
"""Loss left over, as such a share, below which a step is no longer looked at for being too far,
and check valves and pumps are."""
CLOSE = 1e-11
"""Loss left over, as a share of the greatest pressure at work, when the answer counts as found."""
STILL, EASY = 1e-9, 1e-3
"""K that a temperature may have moved in the last round at a heater, and how much less any other
counts."""
SETTLING = 1e-4
"""Loss left over, as such a share, and K at a heater, below which only warmth has yet to come to
rest: check valves are left as they are."""
BALANCED, SMALL_FLOW = 1e-10, 1e-3
"""Share of the greatest flow, or of 1 g/s, that may not balance at a junction."""
STRIDE = 3.0
"""Times its flow and a typical one that a path may gain in a round: a flat curve would throw it
much farther."""
LEAST_TYPICAL = 1e-12
"""kg/s, for a path that can give nothing, such as a pump whose curve ends at no flow."""
TYPICAL = 2e4
"""Pa: what the first guess of a flow assumes to be lost along each path."""
LEAVE = 0.15
"""Share of a batch that must be found before those leave it."""


MOVED = (
    "flow", "takes", "slope", "tilt", "warm", "density", "viscosity",
    "share", "last_share", "last_off", "still", "stands",
)  # fmt: skip
"""Arrays of a batch that change where a step is shortened."""


@dataclass
class Found:
    """Answers of V variants, as the solver has them: by path, junction, node and holder.

    ``pressure`` is NaN at junctions that nothing held reaches; ``done`` flags the variants that
    were found, after so many ``rounds``, and ``exchanged`` (kg/s) what every line of theirs had to
    exchange with its neighbours.
    """

    flow: Floats  # V, P
    pressure: Floats  # V, N
    warm: Floats  # V, N + H
    density: Floats  # V, P
    viscosity: Floats  # V, P
    position: Floats  # V, mixers
    live: Flags  # V, P
    reached: Flags  # V, N
    holding: Flags  # V, K
    cycling: Flags  # V, pumps, and so on
    resting: Flags
    starved: Flags
    share: Floats
    filling: Floats
    duration: Floats
    done: Flags  # V
    rounds: Whole  # V
    exchanged: Floats  # V

    def put(self, rows: Whole, answers: Found) -> None:
        """Writes the answers of some variants in their place."""
        for f in fields(self):
            getattr(self, f.name)[rows] = getattr(answers, f.name)

    def take(self, rows: Rows) -> Found:
        """The answers of some variants."""
        return take_rows(self, rows)

    @classmethod
    def joined(cls, parts: list[Found]) -> Found:
        """Batches one after the other."""
        if len(parts) == 1:
            return parts[0]
        return cls(
            **{f.name: np.concatenate([getattr(p, f.name) for p in parts]) for f in fields(cls)}
        )


@dataclass
class Batch:
    """Some variants on their way to the answer.

    ``flow`` (V, P), ``pressure`` (V, N), ``warm`` (V, N + H) and ``position`` (V, mixers) are
    the guess, ``difference`` the pressure at each path's start less that at its end; ``takes``,
    ``slope`` and ``tilt`` are what each path takes at it.  ``typical`` is the
    size of flow that was begun with.  ``share`` is the hot share that self-acting valves aim at,
    ``last_share`` and ``last_off`` the guess before and how far it was off.  ``still`` paths and
    ``stands`` nodes keep their temperature.  ``fresh`` variants began a round from flows that
    don't balance, ``settling`` ones are nearly found.  ``held_part``, ``drawn`` and ``outside``
    are what the held nodes and draws put in, ``scale`` the greatest pressure at work.  ``index``
    is each variant's place among those that ``run`` began with: who is found leaves, so that the
    last few run alone.  ``warmed`` says that temperatures are worked out by now, ``keeps`` that the
    water keeps those it has; ``exchanged`` (kg/s) is what each line exchanges with its neighbours.
    """

    layout: Layout
    f: Figures
    method: str
    state: State
    outside: Outside
    index: Whole
    warm: Floats
    flow: Floats
    flow_before: Floats
    pressure: Floats
    difference: Floats
    density: Floats
    viscosity: Floats
    position: Floats
    typical: Floats
    held_part: Floats
    drawn: Floats
    scale: Floats
    share: Floats
    last_share: Floats
    last_off: Floats
    still: Flags
    stands: Flags
    fresh: Flags
    settling: Flags
    rounds: Whole
    takes: Floats
    slope: Floats
    tilt: Floats
    warmed: bool = False
    keeps: bool = False
    exchanged: float = 0.0

    @classmethod
    def begin(cls, layout: Layout, f: Figures, open: Flags, method: str = "") -> Batch:
        """The first guess: ``open`` (V, P) flags the paths without a shut link."""
        size = len(open)
        state = State.begin(layout, f, open)
        # where no figure differs from variant to variant, all begin with one guess
        rows = size if size > 1 and f.several else 1
        free = np.broadcast_to(f.standing, (rows, len(layout.free)))
        held = np.broadcast_to(f.held_warm, (rows, f.held_warm.shape[1]))
        warm = np.concatenate([free, held], axis=1)
        position = np.broadcast_to(f.position, (rows, f.position.shape[1]))
        density, viscosity = properties(layout, np.zeros((rows, open.shape[1])), warm)
        guess = typical = _typical(layout, f, density)
        if len(layout.hot):
            # little comes through a way that is nearly shut: too great a guess halves in each round
            guess = typical.copy()
            guess[:, layout.hot] *= position
            guess[:, layout.cold] *= 1.0 - position
        losses = loss(layout, f, guess, density, viscosity, position)

        def each(figures: Floats) -> Floats:
            return np.array(np.broadcast_to(figures, (size, figures.shape[1])))

        takes, slope, tilt = (each(x) for x in losses)
        warm, flow = each(warm), np.where(state.live, guess, 0.0)
        held_part = f.held @ layout.ends_held.T
        share = hot_share(layout, f, warm)
        return cls(
            layout=layout,
            f=f,
            method=method,
            state=state,
            outside=from_outside(layout, f, size),
            index=np.arange(size),
            warm=warm,
            flow=flow,
            flow_before=flow,
            pressure=np.zeros((size, len(layout.free))),
            difference=each(held_part),
            density=each(density),
            viscosity=each(viscosity),
            position=each(position),
            typical=each(typical),
            held_part=held_part,
            drawn=f.drawn * density[:, :1],
            scale=1e3 + np.abs(held_part).max(axis=1, initial=0.0),
            share=share,
            last_share=share,
            last_off=np.full_like(share, 1e9),
            still=np.zeros(open.shape, bool),
            stands=np.zeros(warm.shape, bool),
            fresh=np.zeros(size, bool),
            settling=np.zeros(size, bool),
            rounds=np.zeros(size, int),
            takes=takes,
            slope=slope,
            tilt=tilt,
        )

    def take(self, rows: Rows) -> Batch:
        """Some of the variants."""
        f = self.f.take(rows)
        taken = replace(take_rows(self, rows), f=f, state=self.state.take(rows))
        taken.outside = from_outside(self.layout, f, taken.size)
        return taken

    @property
    def size(self) -> int:
        return len(self.index)

    @property
    def fixed(self) -> bool:
        """Whether density is the same everywhere."""
        return self.layout.net.density is not None

    @cached_property
    def finds(self) -> bool:
        """Whether a mixing valve finds its own position."""
        return bool(len(self.layout.hot)) and bool(np.any(self.f.thermostatic))

    def begin_soft(self, start: float) -> None:
        """Begins anew from so many times the typical flows, with check valves that resist."""
        self.flow = np.where(self.state.live, start * self.typical, 0.0)
        self.state.soften(np.ones(self.size, bool))
        self.lose()

    def begin_at(self, start: float) -> None:
        """Begins anew from so many times the typical flows."""
        self.flow = np.where(self.state.live, start * self.typical, 0.0)
        self.lose()

    def begin_near(self, answers: Found) -> None:
        """Begins anew from the flows and pressures of answers to nearly the same question.

        Water begins as it stands by: what was cold may be hot now.
        """
        self.flow = np.where(self.state.live, answers.flow, 0.0)
        self.pressure = np.nan_to_num(answers.pressure)
        self.difference = self.held_part + self.pressure @ self.layout.ends_free.T
        self.density, self.viscosity = answers.density, answers.viscosity
        self.lose()

    def begin_starved(self) -> None:
        """Begins with every pump cut by its suction that has a least pressure there."""
        state = self.state
        least = np.broadcast_to(self.f.inlet_least, state.pumps.starved.shape)
        state.pumps.starved = np.isfinite(least) & state.open[:, self.layout.pumps]
        state.mark()
        state.reach()
        self.flow = np.where(state.live, 0.1 * self.typical, 0.0)
        self.lose()

    def answers(self, done: Flags) -> Found:
        """Where the variants stand; ``done`` (V,) flags those that are found."""
        state = self.state
        if self.fixed and not self.finds:
            self._warm_up(0)
        return Found(
            flow=self.flow,
            pressure=np.where(state.reached, self.pressure, np.nan),
            warm=self.warm,
            density=self.density,
            viscosity=self.viscosity,
            position=self.position,
            live=state.live,
            reached=state.reached,
            holding=state.holding,
            cycling=state.pumps.cycling,
            resting=state.pumps.resting,
            starved=state.pumps.starved,
            share=state.pumps.share,
            filling=state.pumps.filling,
            duration=state.pumps.duration,
            done=done,
            rounds=self.rounds,
            exchanged=np.full(self.size, self.exchanged),
        )

    def lose(self) -> None:
        """What each path takes at the present flow: ``takes``, ``slope`` and ``tilt``."""
        self.takes, self.slope, self.tilt = loss(
            self.layout,
            self.f,
            self.flow,
            self.density,
            self.viscosity,
            self.position,
            self.state.against(self.flow),
        )

    def round(self, turn: int) -> Flags:
        """One round.  Gives which variants are found, shape (V,)."""
        if turn in SOFTEN:
            self.state.soften(~self.settling)
            self.fresh |= ~self.settling
        difference, flipped = self._step(turn)
        water = (self.warm, self.density, self.viscosity, self.share)
        warms = self.warmed and not self.keeps
        moved = np.full(self.size, 0.0 if self.keeps else np.inf)
        if warms:
            moved = self._warm_up(turn)
        before, step = self.takes, self.flow - self.flow_before
        self.lose()
        left = self.left(difference)
        top = np.maximum(self.scale, np.maximum.reduce(np.abs(self.takes), axis=1))
        worst = np.maximum.reduce(np.abs(left), axis=1)
        tried = turn and np.count_nonzero(worst > NEAR * top)
        if tried:
            far = too_far(self, difference, before, step, left, flipped | self.fresh)[2]
            if far.any():
                moved = self._go_back(turn, far, difference, before, step, water, moved, flipped)
                worst = np.abs(self.left(difference)).max(axis=1)
        self.fresh = flipped
        near = (worst < NEAR * top) & ~flipped
        if self.fixed and not self.finds:
            moved = np.zeros(self.size)
        elif not self.warmed and (worst < EARLY * top).any():
            # at once, so that a valve that finds its position knows in the next round where to
            self.warmed = True
            if not self.keeps:
                moved = self._warm_up(turn)
                self.lose()
                worst = np.abs(self.left(difference)).max(axis=1)
                near = (worst < NEAR * top) & ~flipped
        if np.count_nonzero(self.state.soft):
            found = self.state.soft & near & (worst < 1e-8 * top)
            self.state.harden(self.flow, found)
            self.flow = np.where(self.state.live, self.flow, 0.0)
            self.lose()
            near &= ~found & ~self.state.soft
            self.fresh = self.fresh | found
        self.settling = near & (worst < SETTLING * top) & (moved < SETTLING)
        ready = near & (worst < CLOSE * top) & (moved < STILL)
        if ready.any():
            ready &= self._balance() < BALANCED
            if len(self.layout.pumps):
                changed = settle_pumps(
                    self.layout,
                    self.f,
                    self.state,
                    self.flow,
                    self.density,
                    self.pressure,
                    difference - self.takes,
                    ready,
                )
                ready &= ~changed
                self.fresh = self.fresh | changed
        return ready

    def _go_back(
        self,
        turn: int,
        far: Flags,
        difference: Floats,
        before: Floats,
        step: Floats,
        water: tuple[Floats, ...],
        moved: Floats,
        flipped: Flags,
    ) -> Floats:
        """Shortens the step of the variants for which it led too ``far``, (V,).

        ``water`` is what they had when the step was found: along a step it keeps its warmth.
        Gives how far each variant's temperatures have moved, shape (V,).
        """
        rows = np.flatnonzero(far)
        few = self if len(rows) == self.size else self.take(rows)
        warms = self.warmed and not self.keeps
        after = (few.warm, few.density, few.viscosity, few.share)
        few.warm, few.density, few.viscosity, few.share = (w[rows] for w in water)
        raw = few.flow
        few.lose()
        difference, fresh = difference[rows], (flipped | self.fresh)[rows]
        shorten(few, difference, before[rows], step[rows], few.left(difference), fresh)
        moved = moved.copy()
        if few.flow is raw:
            few.warm, few.density, few.viscosity, few.share = after
        elif warms:
            moved[rows] = few._warm_up(turn)
        if warms:
            few.lose()
        if few is not self:
            for name in MOVED:
                whole = getattr(self, name).copy()
                whole[rows] = getattr(few, name)
                setattr(self, name, whole)
        return moved

    def _balance(self) -> Floats:
        """What does not balance at the worst junction, over the greatest flow, shape (V,)."""
        off = np.where(self.state.reached, self.flow @ self.layout.ends_free + self.drawn, 0.0)
        most = np.maximum(np.abs(self.flow).max(axis=1), SMALL_FLOW)
        return np.abs(off).max(axis=1, initial=0.0) / most

    def _step(self, turn: int) -> tuple[Floats, Flags]:
        """One linear solve.  Gives the pressure differences (V, P) and who changed state (V,)."""
        layout, f, state = self.layout, self.f, self.state
        runs, off = state.runs, self.difference - self.takes
        reach = np.abs(self.flow)
        reach += np.abs(self.typical)
        steep = np.abs(off)
        steep /= STRIDE * reach
        give = runs / np.maximum(steep, self.slope)
        off *= give
        off += self.flow
        carried = np.where(runs, off, 0.0)
        values = give @ layout.stencil
        right = -(carried @ layout.ends_free) - self.drawn
        mix = None
        if self.finds and self.warmed:
            passes = (state.live & ~state.idle).astype(float)
            mix = MixerStep(layout, f, self.share, give, carried, self.tilt, self.position, passes)
            mix.add(values, right)
        holds = bool(np.count_nonzero(state.holding) or np.count_nonzero(state.pumps.starved))
        if holds:
            tie_outlets(layout, f, state, values, right, self.pressure)
        values[:, layout.diagonal] += ~state.reached
        right *= state.reached
        change = layout.matrix.solve(values, right, self.method)
        self.pressure = self.pressure + change
        raised = change @ layout.ends_free.T
        new = give * raised
        new += carried
        if mix is not None:
            new, self.position = mix.apply(new, self.position)
        if holds:
            put_held_flows(layout, f, state, new, self.pressure)
        self.difference = difference = self.difference + raised
        self.flow_before = self.flow
        self.flow, flipped = state.correct(
            f, new, difference, self.takes, self.pressure, self.typical, turn
        )
        return difference, flipped

    def left(self, difference: Floats) -> Floats:
        """What does not close along each path, shape (V, P)."""
        return np.where(self.state.runs, difference - self.takes, 0.0)

    def _next_share(self) -> None:
        """The next guess of the hot shares, by the secant of how far the last two were off."""
        found = hot_share(self.layout, self.f, self.warm)
        off = found - self.share
        apart = off - self.last_off
        steady = (np.abs(off) < np.abs(self.last_off)) & (np.abs(apart) > 1e-13)
        part = np.where(steady, off / np.where(steady, apart, 1.0), 0.0)
        nearer = found - within(part, -4.0, 4.0) * (found - self.last_share)
        self.last_share, self.last_off = found, off
        self.share = within(nearer, OPENING_LEAST, 1 - OPENING_LEAST)

    def _warm_up(self, turn: int) -> Floats:
        """New temperatures and what hangs on them.  Gives how far the worst moved, shape (V,).

        They close with the flows whatever they were before, but for what limited heaters give,
        which was worked out from the last guess of what enters: the rest may move ``EASY`` more.
        """
        last, against = self.warm, self.state.against(self.flow)
        self.warm = temperatures(
            self.layout,
            self.f,
            self.flow if against is None else np.where(against, 0.0, self.flow),
            self.warm,
            self.density,
            self.state.live,
            self.outside,
            self.method,
        )
        if turn > CALM:
            most = np.abs(self.flow).max(axis=1, keepdims=True, initial=0.0)
            little = 1e-5 * most + 1e-6
            along, through = np.abs(self.flow), np.abs(self.flow) @ self.layout.touch
            self.still = (self.still | (along < little)) & (along < 10 * little)
            self.stands = (self.stands | (through < little)) & (through < 10 * little)
            self.warm = np.where(self.stands, last, self.warm)
        if not self.fixed:
            density, viscosity = properties(self.layout, self.flow, self.warm)
            self.density = np.where(self.still, self.density, density)
            self.viscosity = np.where(self.still, self.viscosity, viscosity)
        if self.finds:
            self._next_share()
        moved = np.abs(self.warm - last)
        worst = EASY * np.maximum.reduce(moved, axis=1, initial=0.0)
        if not self.layout.all_stores:
            worst = np.maximum(worst, entering(self.layout, self.flow, moved).max(axis=1))
        return worst


def run(batch: Batch, rounds: int = ROUNDS) -> Found:
    """Rounds until every variant is found, or patience ends."""
    found: Found | None = None
    for turn in range(rounds):
        done = batch.round(turn)
        batch.rounds += 1
        if done.all() or turn == rounds - 1:
            break
        if np.count_nonzero(done) > LEAVE * batch.size:
            answers = batch.answers(done)
            if found is None:
                found = answers
            found.put(batch.index[done], take_rows(answers, np.flatnonzero(done)))
            batch = batch.take(np.flatnonzero(~done))
    answers = batch.answers(done)
    if found is None:
        return answers
    found.put(batch.index, answers)
    return found


def _typical(layout: Layout, f: Figures, density: Floats) -> Floats:
    """A flow to begin with, from ``TYPICAL`` or the middle of a pump's curve."""
    drag = np.array(np.broadcast_to(f.quadratic, density.shape))
    if len(layout.tubes):
        drag += (0.03 * f.tube) @ layout.tube_gather
    flow = np.sqrt(TYPICAL * density / np.maximum(drag, 1e-3))
    line = np.maximum(f.linear, 1e-9)
    flow = np.minimum(flow, TYPICAL / line)
    if len(layout.limited):
        most = f.limit * density[:, layout.limited]
        flow[:, layout.limited] = np.minimum(flow[:, layout.limited], most)
    if len(layout.pumps):
        flow[:, layout.pumps] = 0.5 * f.pump_flow[..., -1] * density[:, layout.pumps]
    flow = np.maximum(flow, LEAST_TYPICAL)
    return np.where(~f.forward & f.back, -flow, flow)


SEARCH = 24
"""Tries to find how far to go along a step that led too far."""


def too_far(
    batch: Batch, difference: Floats, before: Floats, step: Floats, left: Floats, fresh: Flags
) -> tuple[Floats, Floats, Flags]:
    """The slack at the start and at the end of a step, and whether it led too far, (V,).

    The slack is the slope, along the step, of the function that the answer makes least.
    ``fresh`` variants began from flows that don't balance, and are left alone.
    """
    if batch.finds and batch.warmed:
        # a valve that has just turned takes something else than the step that was used
        step = step * batch.layout.not_mixer
    ahead = np.sum(step * np.where(batch.state.runs, difference - before, 0.0), axis=1)
    behind = -np.sum(step * left, axis=1)
    return ahead, behind, ~fresh & (ahead > 0) & (behind > ahead)


def shorten(
    batch: Batch, difference: Floats, before: Floats, step: Floats, left: Floats, fresh: Flags
) -> Floats:
    """Goes back along a step that led too far.  Gives what does not close then."""
    ahead, behind, far = too_far(batch, difference, before, step, left, fresh)
    if not far.any():
        return left
    low, high = np.zeros(batch.size), np.ones(batch.size)
    at_low, at_high = -ahead, behind
    settled, kept = ~far, np.ones(batch.size)
    for turn in range(SEARCH):
        # on a line at first; then by halves, since at a check valve the slack jumps
        gap = np.where(far & (at_high > at_low), at_high - at_low, 1.0)
        line = np.clip((low * at_high - high * at_low) / gap, low, high)
        share = line if turn < 3 else 0.5 * (low + high) if turn < SEARCH - 1 else high
        share = np.where(settled, kept, share)
        batch.flow = batch.flow_before + share[:, None] * step
        batch.lose()
        left = batch.left(difference)
        slack = -np.sum(step * left, axis=1)
        # shut valves are no steps in the loss: one try will do
        settled = settled | (np.abs(slack) < 0.5 * ahead) | ~batch.state.soft
        kept = share
        if settled.all():
            break
        below = slack < 0
        at_low, at_high = np.where(below, slack, at_low), np.where(below, at_high, slack)
        low, high = np.where(below, share, low), np.where(below, high, share)
    return left
