"""Values that may be meant, but hardly are: a tank 3 mm long, 1755 psi.

Such a value is asked about, never refused: a van may be odd.  What is probable is common practice,
no source; what it may have been meant to be is the same figure in another unit or with its point
elsewhere, where that is probable.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ..words.brief import brief
from ..words.glossary import word
from ..words.quantity import QuantityError, split
from ..words.quantity import read as read_quantity
from ..words.show import show, unit
from ..words.unit_table import LITRE as L
from .entries import entries
from .model import LISTS, SECTIONS, Build, label_of

PROBABLE: dict[str, tuple[float, float]] = {
    # glossary word, or kind.key where that is narrower: from, to, in SI
    "pressure": (0.03e5, 14e5),
    "flow": (0.1 * L / 60, 60 * L / 60),
    "voltage": (3.0, 420.0),
    "current": (0.05, 300.0),
    "tank.length": (0.1, 3.0),
    "tank.width": (0.08, 2.2),
    "tank.height": (0.08, 1.5),
    "tank.diameter": (0.1, 1.0),
    "tank.step_length": (0.03, 2.0),
    "tank.step_height": (0.02, 1.0),
    "tank.height_low": (0.01, 1.5),
    "tank.volume": (3 * L, 1500 * L),
    "tank.wall": (0.0005, 0.03),
    "tank.vent_diameter": (0.003, 0.15),
    "tank.fill_diameter": (0.008, 0.2),
    "tank.space_length": (0.1, 4.0),
    "tank.space_width": (0.08, 2.5),
    "tank.space_height": (0.08, 2.2),
    "tank.base_height": (-1.2, 2.2),
    "tank.mass_empty": (0.1, 150.0),
    "run.length": (0.02, 20.0),
    "run.rise": (-3.0, 3.0),
    "run.insulation": (0.002, 0.06),
    "run.clip_spacing": (0.05, 3.0),
    "manifold.stub": (0.02, 0.5),
    "heater.volume": (0.1 * L, 150 * L),
    "heater.setpoint": (303.15, 363.15),
    "heater.element_power": (50.0, 6000.0),
    "heater.burner_power": (300.0, 40000.0),
    "heater.coolant_power": (300.0, 30000.0),
    "heater.standing_loss": (2.0, 400.0),
    "heater.mass": (1.0, 120.0),
    "mixing_valve.setting": (298.15, 343.15),
    "accumulator.volume": (0.05 * L, 40 * L),
    "pump.mass": (0.1, 20.0),
    "pump.lift": (0.2, 8.0),
    "pump.stroke_volume": (0.02 * L, 2 * L),
    "fixture.temperature": (288.15, 338.15),
    "van.length": (3.0, 13.0),
    "van.payload": (50.0, 6000.0),
    "van.cold_water": (273.65, 308.15),
    "van.cabin": (263.15, 318.15),
    "van.outside": (223.15, 313.15),
    "van.outside_day": (233.15, 328.15),
    "crew.drinking": (0.5 * L, 30 * L),
    "battery.capacity": (3 * 3600.0, 3000 * 3600.0),
    "board.width": (0.1, 2.5),
    "board.height": (0.1, 2.2),
    "board.thickness": (0.003, 0.06),
    "board.depth": (0.03, 1.0),
    "fuel.mass": (0.2, 60.0),
    "fuel.volume": (0.2 * L, 200 * L),
    "use.duration": (1.0, 3600.0),
    "use.volume": (0.02 * L, 200 * L),
    "stock.length": (0.1, 200.0),
    "shop.temperature": (253.15, 323.15),
}
NOTHING = 1e-12
"""A value of nothing says that there is none: no insulation, no rise."""
OTHERS = {
    "length": ("mm", "cm", "m", "in", "ft"),
    "height": ("mm", "cm", "m", "in", "ft"),
    "depth": ("mm", "cm", "in"),
    "diameter": ("mm", "cm", "in"),
    "thickness": ("mm", "in"),
    "pressure": ("psi", "bar", "kPa"),
    "volume": ("L", "mL", "gal", "fl oz"),
    "flow": ("gpm", "L/min"),
    "temperature": ("°C", "°F"),
    "power": ("W", "kW", "Btu/h"),
    "mass": ("kg", "lb", "g"),
    "charge": ("Ah",),
    "duration": ("s", "min"),
}
POINTS = (10.0, 100.0, 1000.0, 0.1, 0.01, 0.001)
MOST = 3


@brief
@dataclass(frozen=True)
class Doubt:
    """One improbable value.  ``path`` is as in ``Build.given``; ``low`` and ``high`` are SI."""

    path: str
    word: str
    value: float
    low: float
    high: float
    told: str
    instead: tuple[str, ...]


def did_you_mean(kind: str, key: str, name: str, si: float, text: str, system: str) -> Doubt | None:
    """What a value may have been meant to be; None for a probable one, and where nobody knows."""
    bounds = PROBABLE.get(f"{kind}.{key}") or PROBABLE.get(name)
    if bounds is None or abs(si) <= NOTHING or bounds[0] <= si <= bounds[1]:
        return None
    low, high = bounds
    instead = tuple(dict.fromkeys(_others(text, name, low, high, system)))[:MOST]
    range_told = f"usual is {show(low, name, system)} to {show(high, name, system)}"
    asked = f": did you mean {' or '.join(instead)}?" if instead else "."
    told = f"{text} is improbable ({range_told}){asked}"
    return Doubt(f"{kind}.{key}", name, si, low, high, told, instead)


def _others(text: str, name: str, low: float, high: float, system: str) -> Iterator[str]:
    """The same figure in another unit, then with its point elsewhere, where that is probable."""
    try:
        number, mark = split(text)
    except QuantityError:
        return
    units = OTHERS.get(word(name).kind, ())
    own = unit(name, system)
    ours = [u for u in units if u != mark]
    ours.sort(key=lambda u: u != own)
    tries = [f"{number:.6g} {u}" for u in ours]
    if word(name).kind != "temperature":
        tries[1:1] = [f"{number * times:.6g} {mark}" for times in POINTS]
    seen: list[float] = []
    for one in tries:
        try:
            si = read_quantity(one, name)
        except QuantityError:
            continue
        if low <= si <= high and not any(abs(si - s) <= 1e-6 * abs(s) for s in seen):
            seen.append(si)
            yield one


def doubts(build: Build) -> tuple[Doubt, ...]:
    """Every improbable value that the file states, in the order of the kinds and the file."""
    found = []
    for kind, declared in {**SECTIONS, **LISTS}.items():
        said = getattr(build, kind)
        parts = said if isinstance(said, tuple) else (said,) if said is not None else ()
        for number, part in enumerate(parts, 1):
            label = kind if kind in SECTIONS else label_of(kind, part, number)
            for key, (field, entry, _) in entries(declared).items():
                path = f"{label}.{key}"
                if entry.kind != "quantity" or path not in build.given:
                    continue
                text, si = build.given[path], getattr(part, field)
                one = did_you_mean(kind, key, entry.word, si, text, build.van.units)
                if one is not None:
                    found.append(
                        Doubt(path, one.word, si, one.low, one.high, one.told, one.instead)
                    )
    return tuple(found)
