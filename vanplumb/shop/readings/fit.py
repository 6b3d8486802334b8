"""Fitting the unknowns of a model to readings, within bounds and with their uncertainty.

A model is any function from parameters to readings, both by name, values as arrays of shape
(variants,).  Nothing here knows about water.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Model = Callable[[Mapping[str, Array]], Mapping[str, Array]]

STEP = 1e-3
"""Part of an unknown's range by which slopes are taken."""


@dataclass(frozen=True)
class Unknown:
    """What may be different in this one system: its usual value, its bounds, its usual spread."""

    name: str
    usual: float
    low: float
    high: float
    spread: float


@dataclass(frozen=True)
class Measured:
    """A reading and its standard uncertainty, SI."""

    value: float
    sigma: float


@dataclass(frozen=True)
class Estimate:
    """A fitted unknown.

    ``told`` is False where the readings say next to nothing about it: its uncertainty is
    what was known before.  ``bound`` is "low" or "high" where the fit ended at a bound.
    """

    name: str
    value: float
    sigma: float
    told: bool
    bound: str = ""


@dataclass(frozen=True)
class Fitted:
    """A fit.  ``left`` is what is left of each reading, in its own uncertainties."""

    estimates: Mapping[str, Estimate]
    left: Mapping[str, float]
    misfit: float
    linked: tuple[tuple[str, str], ...]

    @property
    def odd(self) -> tuple[str, ...]:
        """Readings that are more than three uncertainties off, the worst first."""
        far = [name for name, r in self.left.items() if abs(r) > 3]
        return tuple(sorted(far, key=lambda n: -abs(self.left[n])))


def fit(model: Model, unknowns: Sequence[Unknown], measured: Mapping[str, Measured]) -> Fitted:
    """Least squares of the unknowns within their bounds.

    What was known before counts as one more reading of each unknown, so that the fit has an
    answer even with few readings.  ValueError without readings or unknowns.
    """
    from scipy.optimize import least_squares

    if not measured or not unknowns:
        raise ValueError("needs at least one reading and one unknown")
    names = list(measured)
    seen = np.array([measured[n].value for n in names])
    sigma = np.array([measured[n].sigma for n in names])
    usual = np.array([u.usual for u in unknowns])
    spread = np.array([u.spread for u in unknowns])
    low, high = np.array([u.low for u in unknowns]), np.array([u.high for u in unknowns])
    size = high - low

    def readings(points: Array) -> Array:
        """Predicted readings (points, readings) for scaled unknowns (points, unknowns)."""
        said = {u.name: low[i] + size[i] * points[:, i] for i, u in enumerate(unknowns)}
        out = model(said)
        return np.column_stack([np.broadcast_to(out[n], len(points)) for n in names])

    def residual(x: Array) -> Array:
        known = (low + size * x - usual) / spread
        return np.concatenate([(readings(x[None])[0] - seen) / sigma, known])

    def slopes(x: Array) -> Array:
        """Taken on both sides, and the gentler one kept: a pump's switch makes readings jump."""
        steps = STEP * np.eye(len(x))
        moved = readings(np.clip(np.vstack([x, x + steps, x - steps]), 0, 1))
        up, down = moved[1 : len(x) + 1] - moved[0], moved[0] - moved[len(x) + 1 :]
        size_up = np.minimum(x + STEP, 1)[:, None] - x[:, None]
        size_down = x[:, None] - np.maximum(x - STEP, 0)[:, None]
        with np.errstate(divide="ignore", invalid="ignore"):
            up, down = up / size_up, down / size_down
        up, down = np.where(size_up > 0, up, down), np.where(size_down > 0, down, up)
        part = np.where(np.abs(up) < np.abs(down), up, down).T / sigma[:, None]
        return np.vstack([part, np.diag(size / spread)])

    found = min(
        (
            least_squares(
                residual, start, jac=slopes, bounds=(0, 1), x_scale="jac", ftol=1e-5, xtol=1e-5
            )
            for start in _starts(readings, usual, spread, low, size, seen, sigma)
        ),
        key=lambda one: float(one.cost),
    )
    jacobian = slopes(found.x)
    covariance = np.linalg.pinv(jacobian.T @ jacobian) * size[:, None] * size[None]
    errors = np.sqrt(np.diag(covariance))
    values = low + size * found.x
    estimates = {
        u.name: Estimate(
            u.name,
            float(values[i]),
            float(errors[i]),
            bool(errors[i] < 0.9 * u.spread),
            "low" if found.x[i] < 1e-3 else "high" if found.x[i] > 1 - 1e-3 else "",
        )
        for i, u in enumerate(unknowns)
    }
    predicted = readings(found.x[None])[0]
    left = (seen - predicted) / sigma
    return Fitted(
        estimates,
        dict(zip(names, map(float, left), strict=True)),
        float(left @ left),
        _linked(unknowns, covariance, estimates),
    )


def _starts(
    readings: Callable[[Array], Array], usual: Array, spread: Array, low: Array, size: Array,
    seen: Array, sigma: Array,
) -> list[Array]:  # fmt: skip
    """The usual values, and the best of those two spreads to either side in one unknown."""
    around = [usual] + [usual + s * np.eye(len(usual))[i] * spread
                        for i in range(len(usual)) for s in (-2.0, -1.0, 1.0, 2.0)]  # fmt: skip
    points = np.clip((np.array(around) - low) / size, 0.001, 0.999)
    known = (((low + size * points - usual) / spread) ** 2).sum(axis=1)
    cost = (((readings(points) - seen) / sigma) ** 2).sum(axis=1) + known
    best = int(np.argmin(cost))
    return [points[0]] if best == 0 else [points[0], points[best]]


def _linked(
    unknowns: Sequence[Unknown], covariance: Array, estimates: Mapping[str, Estimate]
) -> tuple[tuple[str, str], ...]:
    """Pairs of unknowns that the readings can't tell apart: one up, the other down."""
    scale = np.sqrt(np.diag(covariance))
    together = covariance / np.maximum(np.outer(scale, scale), 1e-300)
    return tuple(
        (one.name, two.name)
        for i, one in enumerate(unknowns)
        for j, two in enumerate(unknowns)
        if j > i and abs(together[i, j]) > 0.8
        and estimates[one.name].told and estimates[two.name].told
    )  # fmt: skip
