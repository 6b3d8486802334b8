"""Symbols of the schematic: simple outlines round a middle, the water coming from the left."""

from __future__ import annotations

from collections.abc import Callable

HALF = 15.0
"""Half the width of a symbol."""


def tank(level: float = 0.6) -> str:
    """An open box with its water."""
    y = 12 - 24 * max(min(level, 1.0), 0.0)
    return f'<path class="vp-water" d="M-14 {y:.1f}H14V13H-14Z"/><path d="M-14 -13V13H14V-13"/>'


def pump() -> str:
    return '<circle r="14"/><path class="vp-solid" d="M-6 -9L11 0L-6 9Z"/>'


def strainer() -> str:
    return '<path d="M-14 -10H14V10H-14Z"/><path d="M-7 10L7 -10M-14 4L-4 -10M4 10L14 -4"/>'


def check_valve() -> str:
    return (
        '<path d="M-12 -10H12V10H-12Z"/><path class="vp-solid" d="M-8 -7L6 0L-8 7Z"/>'
        '<path d="M7 -7V7"/>'
    )


def shut_off() -> str:
    return '<path d="M-12 -8L12 8V-8L-12 8Z"/><path d="M0 0V-11M-6 -11H6"/>'


def regulator() -> str:
    return (
        '<path d="M-12 -6L12 10V-6L-12 10Z"/><path d="M0 2V-7"/><path d="M-9 -7A9 7 0 0 1 9 -7Z"/>'
    )


def shore_inlet() -> str:
    return '<path d="M-14 -9H4L13 0L4 9H-14Z"/><path d="M-9 -4V4M-3 -4V4"/>'


def accumulator() -> str:
    return '<path d="M-9 -12A9 5 0 0 1 9 -12V12A9 5 0 0 1 -9 12Z"/><path d="M-9 1Q-4 -5 0 1T9 1"/>'


def heater() -> str:
    return '<path d="M-15 -14H15V14H-15Z"/><path d="M-9 8L-5 -8L0 8L5 -8L9 8"/>'


def mixing_valve() -> str:
    return '<path d="M-12 -16H0L12 0L0 16H-12L0 0Z"/><circle class="vp-solid" r="2.5"/>'


def tee() -> str:
    return '<circle class="vp-solid" r="4"/>'


def fixture() -> str:
    """A spout over a drop; the drop is shown while it runs."""
    return (
        '<path d="M-15 -6H4Q12 -6 12 3V5H5V2H-15Z"/><path d="M-5 -6V-12M-10 -12H0"/>'
        '<path class="vp-drop" d="M8.5 8Q4 14 8.5 16Q13 14 8.5 8Z"/>'
    )


SYMBOLS: dict[str, Callable[[], str]] = {
    "pump": pump,
    "strainer": strainer,
    "check valve": check_valve,
    "shut off": shut_off,
    "regulator": regulator,
    "shore inlet": shore_inlet,
    "accumulator": accumulator,
    "heater": heater,
    "mixing valve": mixing_valve,
    "tee": tee,
    "fixture": fixture,
}
