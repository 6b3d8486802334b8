"""What the builder wants to stay: lines such as ``"hot manifold.shower leaves up"``.

A line is a name and what holds for it:

- zone: ``leaves up`` (down, left, right), ``handle turned``, ``handle as bought``,
  ``handle flat`` (forward, back), ``valve <part>``, ``gap <length>`` (tube of the header
  before it), ``stub <length>`` (tube between header and valve), ``side left`` (right)
- manifold: ``order a, b, c``, ``lying``, ``upright``, ``one row``, ``two rows after a``,
  ``corner <length>, <length>`` (tubes before and in the corner of two rows),
  ``fed from the far end`` (right or top),
  ``at <x>, <y>`` (its first fitting, from the board's lower left corner)
- mixing valve, check valve, accumulator: ``on board``, ``part <part>``,
  ``at <x>, <y>``, ``turn 90``
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from vanplumb.words.quantity import QuantityError, read

from .state import ticks

if TYPE_CHECKING:
    from vanplumb.build.model import Build

SIDES = ("up", "down", "left", "right")
BENDS = ("flat", "forward", "back")


@dataclass
class Pins:
    """What is pinned, by the name of the zone, manifold or device.  Lengths in ticks."""

    leaves: dict[str, str] = field(default_factory=dict)
    turned: dict[str, bool] = field(default_factory=dict)
    bend: dict[str, str] = field(default_factory=dict)
    valve: dict[str, str] = field(default_factory=dict)
    gap: dict[str, int] = field(default_factory=dict)
    stub: dict[str, int] = field(default_factory=dict)
    side: dict[str, int] = field(default_factory=dict)
    order: dict[str, tuple[str, ...]] = field(default_factory=dict)
    upright: dict[str, bool] = field(default_factory=dict)
    fold: dict[str, str] = field(default_factory=dict)
    corner: dict[str, tuple[int, int]] = field(default_factory=dict)
    backward: dict[str, bool] = field(default_factory=dict)
    at: dict[str, tuple[int, int]] = field(default_factory=dict)
    turn: dict[str, int] = field(default_factory=dict)
    parts: dict[str, str] = field(default_factory=dict)
    on_board: list[str] = field(default_factory=list)


def _length(text: str) -> int:
    return ticks(read(text, "height") * 1000)


def _place(text: str) -> tuple[int, int]:
    try:
        x, y = (item.strip() for item in text.split(","))
    except ValueError as error:
        raise QuantityError('needs two lengths such as "at 120 mm, 80 mm"') from error
    return _length(x), _length(y)


def _one_of(text: str, options: tuple[str, ...]) -> str:
    if text not in options:
        raise QuantityError(f"needs one of {', '.join(options)}, got {text!r}")
    return text


def read_pins(build: Build) -> tuple[Pins, list[str]]:
    """The pins of a build, and what could not be read, in words."""
    zones = {f"{z.manifold}.{z.name}": z.manifold for z in build.zone}
    manifolds = {m.name for m in build.manifold}
    kinds = ("mixing_valve", "check_valve", "accumulator")
    devices = {c.name for key in kinds for c in getattr(build, key)}
    names = sorted([*zones, *manifolds, *devices], key=len, reverse=True)
    pins, problems = Pins(), []
    for line in build.board.pin:
        name = next((n for n in names if line == n or line.startswith(n + " ")), None)
        if name is None:
            problems.append(f"pin {line!r}: begins with no zone, manifold or device of this build")
            continue
        said = line[len(name) :].strip()
        try:
            if name in zones:
                _zone(pins, name, said)
            elif name in manifolds:
                own = {z.name for z in build.zones(name)}
                _manifold(pins, name, said, own)
            else:
                _device(pins, name, said)
        except QuantityError as error:
            problems.append(f"pin {line!r}: {error}")
    return pins, problems


def _zone(pins: Pins, key: str, said: str) -> None:
    verb, _, rest = said.partition(" ")
    if verb == "leaves":
        pins.leaves[key] = _one_of(rest, SIDES)
    elif verb == "handle" and rest in ("turned", "as bought"):
        pins.turned[key] = rest == "turned"
    elif verb == "handle":
        pins.bend[key] = _one_of(rest, (*BENDS, "turned", "as bought"))
    elif verb == "valve" and rest:
        pins.valve[key] = rest
    elif verb == "gap":
        pins.gap[key] = _length(rest)
    elif verb == "stub":
        pins.stub[key] = _length(rest)
    elif verb == "side":
        pins.side[key] = 1 if _one_of(rest, ("left", "right")) == "left" else -1
    else:
        raise QuantityError("a zone can have: leaves, handle, valve, gap, stub, side")


def _manifold(pins: Pins, name: str, said: str, zones: set[str]) -> None:
    if said in ("lying", "upright"):
        pins.upright[name] = said == "upright"
    elif said in ("fed from the far end", "fed from the near end"):
        pins.backward[name] = said.endswith("far end")
    elif said.startswith("corner "):
        pins.corner[name] = _place(said[7:])
    elif said == "one row":
        pins.fold[name] = ""
    elif match := re.fullmatch(r"two rows after (.+)", said):
        if match[1] not in zones:
            raise QuantityError(f"there is no zone {match[1]!r}")
        pins.fold[name] = match[1]
    elif said.startswith("order "):
        order = tuple(item.strip() for item in said[6:].split(","))
        if set(order) != zones or len(order) != len(zones):
            raise QuantityError(f"order must name each of {', '.join(sorted(zones))} once")
        pins.order[name] = order
    elif said.startswith("at "):
        pins.at[name] = _place(said[3:])
    else:
        raise QuantityError(
            "a manifold can have: order, lying, upright, one row, two rows after, corner, "
            "fed from the far end, at"
        )


def _device(pins: Pins, name: str, said: str) -> None:
    verb, _, rest = said.partition(" ")
    if said == "on board":
        pins.on_board.append(name)
    elif verb == "part" and rest:
        pins.parts[name] = rest
    elif verb == "at":
        pins.at[name] = _place(rest)
    elif verb == "turn":
        pins.turn[name] = int(_one_of(rest, ("0", "90", "180", "270")))
    else:
        raise QuantityError("a device can have: on board, part, at, turn")
