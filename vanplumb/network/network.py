"""A network of water lines: named nodes, links between them, and where the pressure is known.

This is the one door to the solver.  A textbook problem and a van go through it alike::

    net = Network(density=998.0, viscosity=1.002e-3)
    net.hold("lower", pressure=0.0)                       # a reservoir: pressure is known
    net.hold("upper", pressure=0.0)
    net.add(Link(name="pipe", start="lower", end="upper", length=36.0, diameter=0.04,
                 roughness=45e-6, rise=8.0))
    answer = net.solve()
    answer.flow["pipe"], answer.pressure["lower"]

Every figure is SI.  Any figure of a link, a held pressure or a drawn flow may be an array of
shape (variants,): all variants are then solved in one batch, and answers have that shape.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, fields, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from ..words.brief import brief
from .convection import found_together
from .layout import Figures, Layout
from .links import Curve, Figure, Flags, Floats, Heat, Lines, Link, Mixer, take_rows
from .losses import OPENING_LEAST
from .newton import HASTY, ROUNDS, Batch, Found, run
from .solution import Solution

OTHER_STARTS = ((0.3, True), (10.0, True), (0.3, False), (10.0, False), (0.1, False))
"""Times the typical flows, and whether check valves only resist at first: from where a variant
that was not found is tried at last."""
TOGETHER_FIRST = 300
"""Paths and junctions up to which flows and temperatures are found together before other starts
are tried."""
KEPT = 256
"""Answers that took many starts, of networks of one shape, which are kept."""
SOON = 25
"""Rounds in which it mostly shows which burners light."""
PLAINLY_OUT, PLAINLY_LIT = 0.4, 1.25
"""Times its least flow below and above which it is plain at once that a burner is out or lit: over
120 random vans and a valve's search, unlit water gave 0.99 to 2.2 times the flow of lit water."""
BATCH = 2048
"""Variants at once: what stays in the fast memory."""


@brief
@dataclass
class Network(Lines):
    """Water lines that can be added to and solved.

    A changed network is another one: ``with_link``, ``with_held`` or ``dataclasses.replace``.
    """

    _layout: Layout | None = field(default=None, init=False, repr=False, compare=False)

    def add(self, *links: Link) -> None:
        """Adds links.  ValueError if a name is taken or a size is impossible."""
        for link in links:
            if any(link.name == other.name for other in self.links):
                raise ValueError(f"two links are named {link.name!r}")
            link.check()
            self.links = (*self.links, link)
        self._layout = None

    def mix(self, mixer: Mixer) -> None:
        """Joins two links to a mixing valve.  ValueError if they don't end at one node."""
        hot, cold = self.link(mixer.hot), self.link(mixer.cold)
        if hot.end != cold.end:
            raise ValueError(f"{mixer.hot!r} and {mixer.cold!r} must end at one node")
        self.mixers = (*self.mixers, mixer)
        self._layout = None

    def hold(self, node: str, *, pressure: Figure = 0.0, temperature: Figure | None = None) -> None:
        """The pressure at a node is known: a water surface, the open air, a hose.

        Water that comes from there has ``temperature``.
        """
        warm = self.temperature if temperature is None else temperature
        self.held = {**self.held, node: (pressure, warm)}
        self._layout = None

    def draw(self, node: str, flow: Figure) -> None:
        """Water is taken out at a node, in m³/s whatever its pressure; negative puts it in."""
        self.drawn = {**self.drawn, node: flow}
        self._layout = None

    def link(self, name: str) -> Link:
        """The link of that name.  KeyError if there is none."""
        for link in self.links:
            if link.name == name:
                return link
        raise KeyError(name)

    def with_link(self, name: str, **figures: Any) -> Network:
        """The network with other figures of one link.  KeyError if there is none."""
        old = self.link(name)
        new = replace(old, **figures)
        new.check()
        return replace(self, links=tuple(new if k is old else k for k in self.links))

    def with_held(self, pressures: Mapping[str, Figure]) -> Network:
        """The network with other pressures at nodes that are held.  KeyError for one that isn't."""
        news = {node: (pressure, self.held[node][1]) for node, pressure in pressures.items()}
        return replace(self, held={**self.held, **news})

    def layout(self) -> Layout:
        """The network in arrays, made once."""
        if self._layout is None:
            self._layout = Layout(self)
        return self._layout

    def solve(
        self,
        open: Mapping[str, Any] | Iterable[str] | None = None,
        *,
        thermostatic: ArrayLike | None = None,
        positions: ArrayLike | None = None,
        method: str = "",
        patient: bool = True,
    ) -> Solution:
        """Pressures, flows and temperatures.

        ``open`` says anew which links are open: flags by name, each a bool or an array of
        shape (variants,).  ``positions`` and ``thermostatic`` (shape (variants, mixers)) say
        anew how the mixing valves stand.  ``method`` is "dense" or "sparse", chosen by the
        number of variants if empty.  Without ``patient`` variants that are not found soon are left:
        a search over many looks on.  ValueError if no pressure is held anywhere.
        """
        layout = self.layout()
        given = open if isinstance(open, Mapping) or open is None else dict.fromkeys(open, True)
        links = layout.open_links(given or {})
        figures = layout.figures_with(thermostatic, positions)
        return Solution(layout, figures, answers(layout, figures, links, method, patient), links)


def answers(
    layout: Layout, figures: Figures, links: Flags, method: str = "", patient: bool = True
) -> Found:
    """What ``Network.solve`` finds, as the solver has it; ``links`` (V, L) flags the open ones."""
    paths = layout.open_paths(links)
    count = max(len(paths), *(len(getattr(figures, f.name)) for f in fields(Figures)))
    parts = []
    for first in range(0, count, BATCH):
        chosen = slice(first, min(first + BATCH, count))
        size = chosen.stop - chosen.start
        part = figures if count == 1 else figures.take(chosen)
        opened = paths if len(paths) == 1 else paths[chosen]
        opened = np.broadcast_to(opened, (size, paths.shape[1]))
        parts.append(_from_cold(layout, part, opened, method, patient))
    return Found.joined(parts)


def _from_cold(layout: Layout, f: Figures, opened: Flags, method: str, patient: bool) -> Found:
    """Answers with burners that light at a flow as they are when the taps are opened.

    Near its least flow a burner may have two steady states, or none: lit water is thinner, and
    valves answer its warmth.  Each begins unlit and lights where enough flows then; where too
    little flows through it once it burns, it goes out and lights again for ever, and there is no
    steady state.  So nothing but the taps decides which of two states it is.
    """
    if not (f.flow_least > 0).any():
        return _found(layout, f, opened, method, patient)
    found = run(Batch.begin(layout, f, opened, method), SOON)
    left = np.flatnonzero(~_plain(layout, f, found))
    if len(left):
        found.put(left, _lit_in_turn(layout, f.take(left), opened[left], method, patient))
    return found


def _plain(layout: Layout, f: Figures, found: Found) -> Flags:
    """Whether it is plain which burners light, shape (V,): as each does with the flow it has.

    Unlit water is thicker and valves turn to hot for want of it, but that moves no flow by so much.
    Where none is lit, a valve that turns by itself has to be turned to hot yet.
    """
    through, least = np.abs(found.flow[:, layout.heaters]), _least(layout, f, found)
    lit = through >= least
    far = (least <= 0) | (through > PLAINLY_LIT * least) | (through < PLAINLY_OUT * least)
    some, turns = (lit & (least > 0)).any(axis=1), f.thermostatic.any(axis=1)
    return np.asarray(found.done & np.where(some, far.all(axis=1), ~turns))


def _lit_in_turn(layout: Layout, f: Figures, opened: Flags, method: str, patient: bool) -> Found:
    """All burners unlit at first; then those light that get enough, until no more do."""
    lit = np.broadcast_to(f.flow_least <= 0, (len(opened), f.flow_least.shape[1]))
    unlit = replace(f, flow_least=np.where(lit, 0.0, np.inf))
    if len(layout.hot) and not lit[:, layout.joined].any():
        # with nothing hot a valve that turns by itself asks for it
        wholly = np.where(f.thermostatic, 1.0 - OPENING_LEAST, f.position)
        unlit = replace(unlit, position=wholly)
    found = _found(layout, unlit, opened, method, patient)
    for _ in range(lit.shape[1]):
        lights = ~lit & _enough(layout, f, found) & found.done[:, None]
        rows = np.flatnonzero(lights.any(axis=1))
        if not len(rows):
            break
        lit = lit | lights
        some = replace(f.take(rows), flow_least=np.where(lit[rows], 0.0, np.inf))
        found.put(rows, _found(layout, some, opened[rows], method, patient, found.take(rows)))
    goes_out = lit & ~_enough(layout, f, found)
    found.done[goes_out.any(axis=1)] = False
    return found


def _least(layout: Layout, f: Figures, found: Found) -> Floats:
    """Least flow of each heater, kg/s, shape (V, heaters)."""
    return f.flow_least * found.density[:, layout.heaters]


def _enough(layout: Layout, f: Figures, found: Found) -> Flags:
    """Whether each heater has its least flow, shape (V, heaters)."""
    return np.asarray(np.abs(found.flow[:, layout.heaters]) >= _least(layout, f, found))


def _found(
    layout: Layout,
    f: Figures,
    opened: Flags,
    method: str,
    patient: bool,
    near: Found | None = None,
) -> Found:
    """Answers, from other starts where the first gives none; ``near`` are flows to begin with.

    With very many fixtures open a pump's suction cuts its flow so far that most of what ran before
    runs dry: in a large network those that are not found are tried with the cut made first.
    """
    rounds = ROUNDS if patient else HASTY
    batch = Batch.begin(layout, f, opened, method)
    if near is not None:
        batch.begin_near(near)
    found = run(batch, rounds)
    left = np.flatnonzero(~found.done)
    if len(left) and _large(layout) and np.isfinite(f.inlet_least).any():
        cut = Batch.begin(layout, f.take(left), opened[left], method)
        cut.begin_starved()
        again = run(cut, rounds)
        good = np.flatnonzero(again.done)
        found.put(left[good], take_rows(again, good))
    left = np.flatnonzero(~found.done)
    if patient and len(left):
        answers = _tried_again(layout, f.take(left), opened[left], method)
        for i, answer in zip(left, answers, strict=True):
            if answer is not None:
                found.put(np.array([i]), answer)
    return found


def _tried_again(layout: Layout, f: Figures, open: Flags, method: str) -> list[Found | None]:
    """What ``_try_again`` gives; the same question takes seconds and is asked time and again."""
    keys = [
        _question(layout, f.take(np.array([i])), open[i : i + 1], method) for i in range(len(open))
    ]
    known = layout.tried_again
    new = {key: i for i, key in reversed([*enumerate(keys)]) if key not in known}
    answers = {key: known[key] for key in keys if key in known}
    if new:
        rows = np.array([*new.values()])
        answers |= zip(new, _try_again(layout, f.take(rows), open[rows], method), strict=True)
    for key in new:
        while len(known) >= KEPT:
            known.pop(next(iter(known)))
        known[key] = answers[key]
    return [answers[key] for key in keys]


def _question(layout: Layout, one: Figures, open: Flags, method: str) -> bytes:
    """What tells one variant from others of a layout."""
    net = layout.net
    told = hashlib.sha256(repr((method, net.density, net.viscosity, net.specific_heat)).encode())
    for array in (
        open,
        layout.tubes,
        layout.limited_links,
        *(getattr(one, f.name) for f in fields(one)),
    ):
        told.update(str(array.shape).encode() + np.ascontiguousarray(array).tobytes())
    return told.digest()


def _try_again(layout: Layout, f: Figures, open: Flags, method: str) -> list[Found | None]:
    """Variants that were not found, from other starts; None for each that has no answer.

    Flows and temperatures are found together then, and last by turns: with very many fixtures
    open these come to rest where the other way does not.  In a large network they come first, since
    the work of the other way grows with the cube of its size.
    """
    answers: list[Found | None] = [None] * len(open)
    for way in (_by_turns, _together) if _large(layout) else (_together, _by_turns):
        left = np.array([i for i, answer in enumerate(answers) if answer is None], int)
        if len(left):
            for i, answer in zip(left, way(layout, f.take(left), open[left], method), strict=True):
                answers[i] = answer
    return answers


def _large(layout: Layout) -> bool:
    return len(layout.paths) + len(layout.free) > TOGETHER_FIRST


def _together(layout: Layout, f: Figures, open: Flags, method: str) -> list[Found | None]:
    """Flows and temperatures found together, each variant alone, from several starts.

    Where a pump's suction may cut its flow, the cut is where it begins: the flow that it has to be
    cut from may be one that a heater makes unsteady.
    """
    rows = [np.array([i]) for i in range(len(open))]
    return [found_together(_begun_alone(layout, f.take(row), open[row], method)) for row in rows]


def _begun_alone(layout: Layout, one: Figures, open: Flags, method: str) -> Iterator[Batch]:
    """One variant, begun from each start in turn."""
    cuts = bool(np.isfinite(one.inlet_least).any())
    for start in (1.0, *((None,) if cuts else ()), 0.03):
        alone = Batch.begin(layout, one, open, method)
        if start is None:
            alone.begin_starved()
        elif start != 1.0:
            alone.begin_soft(start)
        yield alone


def _by_turns(layout: Layout, f: Figures, open: Flags, method: str) -> list[Found | None]:
    """Flows and temperatures found by turns, all variants in one batch, from other starts."""
    answers: list[Found | None] = [None] * len(open)
    left = np.arange(len(open))
    for start, soft in OTHER_STARTS:
        some = Batch.begin(layout, f.take(left), open[left], method)
        if soft:
            some.begin_soft(start)
        else:
            some.begin_at(start)
        by_turns = run(some)
        for i in np.flatnonzero(by_turns.done):
            answers[left[i]] = by_turns.take(np.array([i]))
        left = left[~by_turns.done]
        if not len(left):
            break
    return answers


__all__ = ["Curve", "Heat", "Link", "Mixer", "Network", "Solution"]
