"""What may be wrong in a finished van, as causes that the model can try.

Runs in a row are one suspect: a kink in one of them reads like a kink in the next.

Which single fault would explain the readings: causes in order, or that they look alike.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from ...van.trace import title
from ...van.wiring import place
from ...words.brief import brief
from ...words.tables import table
from .fit import Array, Measured, Model, Unknown
from .van_model import VanModel

if TYPE_CHECKING:
    from ...van.model import Build

ALIKE = 0.2
"""A cause that is at least so likely as this part of the likeliest is not told from it."""
BELIEVED = 0.8
"""How likely the readings must make it that something is wrong at all, before it is said."""
Verdict = Literal["fits", "likely", "can't tell", "nothing fits"]


@brief
@dataclass(frozen=True)
class Cause:
    """One thing that may be wrong: a parameter and the values that it would then have.

    ``steps`` are tried as they stand, or with values between them if ``between``.
    ``weight`` says how usual it is beside the others; ``look`` what to do first.
    """

    name: str
    parameter: str
    steps: tuple[float, ...]
    look: str = ""
    between: bool = True
    weight: float = 1.0


@dataclass(frozen=True)
class Ranked:
    """One cause and how well it explains the readings; ``chance`` among all that was tried."""

    cause: Cause
    chance: float
    value: float
    sigma: float
    misfit: float


@dataclass(frozen=True)
class Diagnosis:
    """What the readings say: causes in order, and whether the first can be told from the next."""

    verdict: Verdict
    ranked: tuple[Ranked, ...]
    healthy: float
    readings: int
    odd: Mapping[str, float]

    @property
    def first(self) -> Ranked:
        return self.ranked[0]

    @property
    def alike(self) -> tuple[Ranked, ...]:
        """The causes that can't be told apart: the first and those nearly as likely."""
        return tuple(r for r in self.ranked if r.chance >= ALIKE * self.first.chance)


class Suspects:
    """Causes of one model, worked out beforehand, so that judging readings is quick.

    ``unknowns`` are what differs between sound systems: their spread is allowed for.
    """

    def __init__(self, model: Model, causes: Sequence[Cause], unknowns: Sequence[Unknown]) -> None:
        self.causes = tuple(causes)
        self.unknowns = tuple(unknowns)
        usual = {u.name: u.usual for u in unknowns}
        rows: list[dict[str, float]] = [usual]
        rows += [{**usual, c.parameter: value} for c in causes for value in c.steps]
        signs = [1.0 if u.usual + u.spread <= u.high else -1.0 for u in unknowns]
        rows += [
            {**usual, u.name: u.usual + sign * u.spread}
            for u, sign in zip(unknowns, signs, strict=True)
        ]
        names = {name for row in rows for name in row}
        out = model({n: np.array([row.get(n, np.nan) for row in rows]) for n in sorted(names)})
        self.names = tuple(out)
        table = np.column_stack([np.broadcast_to(out[n], len(rows)) for n in self.names])
        points = len(rows) - len(unknowns)
        self._base = table[:points]
        # what an unknown does to a sound system it does to a faulty one in proportion
        part = (table[points:] / table[0] - 1.0) * np.array(signs)[:, None]
        self._moves = part[None] * self._base[:, None]

    def __repr__(self) -> str:
        return f"Suspects: {len(self.causes)}"

    def judge(self, measured: Mapping[str, Measured]) -> Diagnosis:
        """Rank the causes by how likely each makes the readings, nuisances averaged out.

        ValueError if no reading is one that the model gives.
        """
        at = [i for i, n in enumerate(self.names) if n in measured]
        if not at:
            raise ValueError(f"no such reading; there are {', '.join(self.names)}")
        seen = np.array([measured[self.names[i]].value for i in at])
        sigma = np.array([measured[self.names[i]].sigma for i in at])
        base, moves = self._base[:, at], self._moves[:, :, at]
        sound, _ = _likelihood(seen, sigma, base[:1], moves[:1])
        scores, values, errors, misfits = [], [], [], []
        start = 1
        for cause in self.causes:
            stop = start + len(cause.steps)
            grid = np.array(cause.steps)
            mine, shifts = base[start:stop], moves[start:stop]
            if cause.between and len(grid) > 1:
                grid, mine, shifts = _between(grid, mine, shifts)
            logs, misfit = _likelihood(seen, sigma, mine, shifts)
            top = float(logs.max())
            weights = np.exp(logs - top)
            scores.append(top + float(np.log(weights.mean())) + float(np.log(cause.weight)))
            weights /= weights.sum()
            mean = float(weights @ grid)
            values.append(float(grid[int(np.argmax(logs))]) if not cause.between else mean)
            errors.append(float(np.sqrt(weights @ (grid - mean) ** 2)))
            misfits.append(float(misfit.min()))
            start = stop
        return self._told(
            float(sound[0]), scores, values, errors, misfits,
            {self.names[i]: float(r) for i, r in zip(at, (seen - base[0]) / sigma, strict=True)},
        )  # fmt: skip

    def _told(
        self, sound: float, scores: list[float], values: list[float],
        errors: list[float], misfits: list[float], odd: Mapping[str, float],
    ) -> Diagnosis:  # fmt: skip
        """Chances from scores, and the verdict.  Sound and not sound weigh the same before."""
        count = sum(c.weight for c in self.causes)
        everything = np.array([sound, *(s - np.log(count) for s in scores)])
        chances = np.exp(everything - everything.max())
        chances /= chances.sum()
        faulty = max(1e-300, 1 - float(chances[0]))
        ranked = sorted(
            (
                Ranked(c, float(chances[i + 1]) / faulty, values[i], errors[i], misfits[i])
                for i, c in enumerate(self.causes)
            ),
            key=lambda r: -r.chance,
        )
        found = Diagnosis("likely", tuple(ranked), float(chances[0]), len(odd), odd)
        verdict: Verdict = "likely"
        if chances[0] > 1 - BELIEVED:
            verdict = "fits"
        elif found.first.misfit > _far(len(odd)):
            verdict = "nothing fits"
        elif len(found.alike) > 1:
            verdict = "can't tell"
        return Diagnosis(verdict, found.ranked, found.healthy, len(odd), odd)


def _far(readings: int) -> float:
    """A misfit that so many sound readings reach once in ten thousand times (Wilson, Hilferty)."""
    n = max(readings, 1)
    return float(n * (1 - 2 / (9 * n) + 3.72 * np.sqrt(2 / (9 * n))) ** 3)


def _likelihood(seen: Array, sigma: Array, base: Array, moves: Array) -> tuple[Array, Array]:
    """Log likelihood and misfit of the readings at each point, nuisances averaged out."""
    spread = np.einsum("pur,pus->prs", moves, moves) + np.diag(sigma**2)
    off = seen - base
    lower = np.linalg.cholesky(spread)
    scaled = np.linalg.solve(lower, off[..., None])[..., 0]
    misfit = (scaled**2).sum(axis=1)
    size = np.log(np.diagonal(lower, axis1=1, axis2=2)).sum(axis=1)
    return -0.5 * misfit - size, misfit


def _between(grid: Array, base: Array, moves: Array) -> tuple[Array, Array, Array]:
    """Four straight steps between each two tabulated ones."""
    fine = np.linspace(0, len(grid) - 1, 4 * (len(grid) - 1) + 1)
    left = np.minimum(fine.astype(int), len(grid) - 2)
    part = fine - left

    def mix(values: Array) -> Array:
        weight = part.reshape(-1, *([1] * (values.ndim - 1)))
        return np.asarray(values[left] * (1 - weight) + values[left + 1] * weight)

    return mix(grid), mix(base), mix(moves)


OPENINGS = (0.65, 0.6, 0.54, 0.48, 0.42, 0.36, 0.3, 0.25, 0.2, 0.16, 0.13)
LOSSES = (15.0, 40.0, 80.0, 150.0, 300.0, 600.0, 1000.0, 1500.0)
CLOGGED = (0.2, 0.35, 0.5, 0.6, 0.7, 0.78, 0.85, 0.9)
SPEEDS = (0.93, 0.89, 0.85, 0.8, 0.75, 0.7)
COOLER = (4.0, 7.0, 11.0, 16.0, 22.0)
TURNED = (-0.3, -0.2, -0.12, -0.07, 0.07, 0.12, 0.2, 0.3)
LONG = 0.9
"""Runs of at least so many metres are tried as wrong tube."""


def upstream(build: Build, fixture: str, port: str = "") -> frozenset[int]:
    """Numbers of all runs that water may come through to a fixture, or to one port of it."""
    pairs = [build.ends(run) for run in build.run]
    found: set[int] = set()
    todo = [
        i for i, (_, end) in enumerate(pairs) if end.component == fixture and port in ("", end.port)
    ]
    while todo:
        i = todo.pop()
        if i in found:
            continue
        found.add(i)
        behind = pairs[i][0].component
        todo += [j for j, (_, end) in enumerate(pairs) if end.component == behind]
    return frozenset(found)


def hot_runs(build: Build, fixture: str, port: str = "") -> tuple[int, ...]:
    """Runs between a heater and a fixture, in the order of the water."""
    pairs = [build.ends(run) for run in build.run]
    reached = {h.name for h in build.heater}
    order: list[int] = []
    wanted = upstream(build, fixture, port)
    while True:
        more = [
            i
            for i, (start, _) in enumerate(pairs)
            if i in wanted and i not in order and start.component in reached
        ]
        if not more:
            return tuple(order)
        order += more
        reached |= {pairs[i][1].component for i in more}


def causes_of(
    build: Build, model: VanModel, mixers: Sequence[str], reach: Mapping[str, frozenset[int]]
) -> tuple[Cause, ...]:
    """Suspects of a build: pump, screens, filters, valves, tubes, heater, mixing valves.

    ``reach`` has, by outlet, the numbers of the runs that carry water when it is open alone.
    """
    levers = model.levers
    found: list[Cause] = []

    def add(name: str, lever: str, steps: Iterable[float], look: str, *, between: bool = True,
            weight: float = 1.0) -> None:  # fmt: skip
        if lever in levers:
            found.append(Cause(name, lever, tuple(steps), look, between, weight))

    for zone in build.zone:
        link = f"{zone.manifold}.{zone.name}"
        add(f"valve not fully open: {place(build, link)}", f"valve {link}", OPENINGS,
            "turn the handle all the way and measure again", weight=2.0)  # fmt: skip
    for valve in build.shut_off:
        add(f"valve not fully open: {valve.name}", f"valve {valve.name}", OPENINGS,
            "turn the handle all the way and measure again", weight=2.0)  # fmt: skip
    for strainer in build.strainer:
        add(f"clogged screen: {strainer.name}", f"strainer {strainer.name}", CLOGGED,
            "take the bowl off and wash the mesh", weight=2.0)  # fmt: skip
    for part in build.line_part:
        add(f"clogged filter: {part.name}", f"filter {part.name}", CLOGGED,
            "lead the water round it or take out its element", weight=2.0)  # fmt: skip
    for fixture in build.fixture:
        add(f"clogged screen: {fixture.name}", f"screen {fixture.name}", CLOGGED,
            "unscrew the aerator or the shower head", weight=2.0)  # fmt: skip
    add("low voltage at the pump", "speed", SPEEDS,
        "measure at its terminals while it runs; leads, fuse, earth", weight=2.0)  # fmt: skip
    for heater in build.heater:
        lever = f"store {heater.name}"
        if lever in levers:
            cooler = [model.usual(lever) - d for d in COOLER]
            add(f"{heater.name} not at its setpoint", lever, cooler, "wait until it switches off")
    for name in mixers:
        lever = f"turned {name}"
        if lever in levers:
            usual = model.usual(lever)
            steps = [usual + d for d in TURNED if 0.02 < usual + d < 0.98]
            add(f"{name} not as it was set", lever, steps, "set it again at two flows")
    for group in groups(build, reach):
        number = max(group, key=lambda i: build.run[i].length)
        where = ", ".join(f"run {i + 1}" for i in group)
        name = f"kink: {where} ({title(build, number)})" if len(group) == 1 else f"kink: {where}"
        add(name, f"kink {number + 1}", LOSSES, "follow the tube by hand, bend by bend")
    wet = frozenset().union(*reach.values())
    for i, run in enumerate(build.run):
        if i in wet and run.length >= LONG and (bore := smaller(build, run.tube)):
            add(f"wrong tube: run {i + 1} ({title(build, i)}) in {bore[0]}", f"bore {i + 1}",
                (bore[1],), "read the print on the tube", between=False, weight=0.5)  # fmt: skip
    return tuple(found)


def groups(build: Build, reach: Mapping[str, frozenset[int]]) -> tuple[tuple[int, ...], ...]:
    """Runs that the same outlets draw through, on the same side of the pump."""
    before = {
        i
        for i in range(len(build.run))
        if any(build.ends(build.run[i])[1].component == p.name for p in build.pump)
    }
    for i in list(before):
        before |= upstream(build, build.ends(build.run[i])[0].component)
    found: dict[tuple[frozenset[str], bool], list[int]] = {}
    for i in range(len(build.run)):
        outlets = frozenset(name for name, runs in reach.items() if i in runs)
        if outlets:
            found.setdefault((outlets, i in before), []).append(i)
    return tuple(tuple(g) for g in found.values())


def smaller(build: Build, tube: str) -> tuple[str, float] | None:
    """The next smaller tube of the same material, joined alike if there is one: name and bore."""
    tubes = table("tubes", build.rows)
    row = tubes[tube]
    below = [
        r
        for r in tubes.values()
        if r["material"] == row["material"] and r.number("bore") < 0.97 * row.number("bore")
    ]
    if not below:
        return None
    best = max(below, key=lambda r: (r.number("bore"), r["joint"] == row["joint"]))
    return best.name, best.number("bore")
