"""The colours of warm and cold water: in order for every kind of colour sight, and seen on both."""

from __future__ import annotations

import re
from itertools import combinations, pairwise

import numpy as np
import pytest

from vanplumb.drawings.warmth import STOPS, TICKS, colour, legend

# How dichromats see linear RGB: Machado, Oliveira and Fernandes 2009, severity 1.0, from memory.
SIGHT = {
    "all three": np.eye(3),
    "no red": [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ],
    "no green": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ],
}
TO_XYZ = np.array(
    [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
)  # IEC 61966-2-1
WHITE = np.array([0.9505, 1.0, 1.0888])


def linear(shade: str) -> np.ndarray:
    c = np.frombuffer(bytes.fromhex(shade[1:]), np.uint8) / 255
    return np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)


def lab(rgb: np.ndarray) -> np.ndarray:
    """CIE 1976 L*a*b*."""
    share = TO_XYZ @ np.clip(rgb, 0, 1) / WHITE
    f = np.where(share > 216 / 24389, np.cbrt(share), (24389 / 27 * share + 16) / 116)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def contrast(one: str, other: str) -> float:
    """As WCAG 2.2 defines it."""
    low, high = sorted(float(TO_XYZ[1] @ linear(shade)) for shade in (one, other))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("sight", SIGHT)
def test_temperatures_ten_degrees_apart_are_told_apart(sight):
    seen = [lab(SIGHT[sight] @ linear(shade)) for _, shade in STOPS]
    for (i, a), (j, b) in combinations(enumerate(seen), 2):
        # 2.3 is just seen side by side (Mahy 1994, from memory); here they stand far apart
        assert np.linalg.norm(a - b) > 18, (STOPS[i], STOPS[j])


def test_every_colour_stands_out_on_both_themes():
    # WCAG 2.2, 1.4.11: 3 to 1 for what a picture needs to be understood
    for warm in range(0, 75):
        for paper in ("#ffffff", "#111111"):
            assert contrast(colour(warm + 273.15), paper) >= 3.0, (warm, paper)


def test_between_two_stops_the_colour_lies_between():
    for (low, one), (high, other) in pairwise(STOPS):
        assert colour(low + 273.15) == one and colour(high + 273.15) == other
        middle = bytes.fromhex(colour((low + high) / 2 + 273.15)[1:])
        ends = zip(bytes.fromhex(one[1:]), bytes.fromhex(other[1:]), strict=True)
        assert all(abs(m - (a + b) / 2) <= 1 for m, (a, b) in zip(middle, ends, strict=True))
    assert colour(float("nan")) == colour(0.0) == STOPS[0][1]
    assert colour(400.0) == STOPS[-1][1]


@pytest.mark.parametrize("units", TICKS)
def test_numbers_of_the_legend_stand_at_their_colours(units):
    text = legend(units, "scale")
    found = re.findall(r'<text x="([\d.]+)"[^>]*>(\d+)( °[CF])?</text>', text)
    assert len(found) >= 6 and found[-1][2].strip() in ("°C", "°F")
    (x0, t0, _), (x1, t1, _) = found[0], found[-1]
    for x, tick, _ in found:
        even = float(x0) + (float(x1) - float(x0)) * (int(tick) - int(t0)) / (int(t1) - int(t0))
        assert float(x) == pytest.approx(even, abs=0.2)
