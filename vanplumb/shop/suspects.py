"""Which single fault would explain the readings: causes in order, or that they look alike.

Every cause is worked out beforehand over its whole range; what differs between sound systems
is averaged out.  A cause is as likely as it makes the readings, so one that would explain
anything is worth less than one that says just this.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from .fit import Array, Measured, Model, Unknown

ALIKE = 0.2
"""A cause that is at least so likely as this part of the likeliest is not told from it."""
BELIEVED = 0.8
"""How likely the readings must make it that something is wrong at all, before it is said."""
Verdict = Literal["fits", "likely", "can't tell", "nothing fits"]


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
    healthy_misfit: float
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
        sound, sound_misfit = _likelihood(seen, sigma, base[:1], moves[:1])
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
            float(sound[0]), float(sound_misfit[0]), scores, values, errors, misfits,
            {self.names[i]: float(r) for i, r in zip(at, (seen - base[0]) / sigma, strict=True)},
        )  # fmt: skip

    def _told(
        self, sound: float, sound_misfit: float, scores: list[float], values: list[float],
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
        found = Diagnosis("likely", tuple(ranked), float(chances[0]), sound_misfit, len(odd), odd)
        verdict: Verdict = "likely"
        if chances[0] > 1 - BELIEVED:
            verdict = "fits"
        elif found.first.misfit > _far(len(odd)):
            verdict = "nothing fits"
        elif len(found.alike) > 1:
            verdict = "can't tell"
        return Diagnosis(verdict, found.ranked, found.healthy, sound_misfit, len(odd), odd)


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
