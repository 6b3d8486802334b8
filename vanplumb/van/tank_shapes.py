"""Which formula gives a tank's content, by its shape; and the level for a content.

Depths are of the water above the tank's inside floor, in metres; contents in m³.  Depths,
contents and a tank's sizes may be arrays.  A tank whose size is only stated is taken as an
upright box.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeAlias, cast

import numpy as np
from numpy.typing import NDArray

from ..formulas import tank as formulas
from . import tank_heads

if TYPE_CHECKING:
    from ..words.formula import Formula
    from ..words.work import Work
    from .parts import Tank

Array: TypeAlias = float | NDArray[Any]
"""A figure, or one for each variant."""

NEEDS: dict[str, tuple[str, ...]] = {
    "box": ("length", "width", "height"),
    "lying cylinder": ("diameter", "length"),
    "standing cylinder": ("diameter", "height"),
    "stepped box": ("length", "width", "height", "step_length", "step_height"),
    "wedge": ("length", "width", "height", "height_low"),
    "stated": ("volume",),
}
"""The sizes that each shape can't do without."""


def missing(tank: Tank) -> tuple[str, ...]:
    """The sizes that a tank's shape needs and the build does not give."""
    return tuple(name for name in NEEDS[tank.shape] if getattr(tank, name) is None)


def full_depth(tank: Tank) -> float:
    """Inside height: the depth when full.  ValueError where a size is missing."""
    _complete(tank)
    if tank.shape == "lying cylinder":
        return _size(tank, "diameter")
    if tank.shape == "stated" and tank.height is None:
        raise ValueError(f"tank {tank.name!r}: its height is not given, so it has no level")
    return _size(tank, "height")


def content(tank: Tank, depth: Array) -> Array:
    """Water in the tank at a depth; depths below the floor or above the roof count as those."""
    wet = np.clip(depth, 0.0, full_depth(tank))
    if tank.shape == "stated":
        return _size(tank, "volume") * wet / full_depth(tank)
    formula, sizes = _law(tank)
    if tank.heads == "flat":
        return formula.si(depth=wet, **sizes)
    if tank.shape == "standing cylinder":
        return tank_heads.standing_content(
            tank.heads, _size(tank, "diameter"), _size(tank, "height"), wet
        )
    return formula.si(depth=wet, **sizes) + tank_heads.lying_heads(
        tank.heads, _size(tank, "diameter"), wet
    )


def volume(tank: Tank) -> float:
    """All that the tank holds: by its sizes, or as stated."""
    _complete(tank)
    if tank.shape == "stated":
        return _size(tank, "volume")
    return _plain(content(tank, full_depth(tank)))


def heel(tank: Tank) -> float:
    """Water below the pickup, which the pump can't reach; 0 where only a volume is stated."""
    if tank.shape == "stated" and tank.height is None:
        return 0.0
    return _plain(content(tank, tank.pickup_height))


def usable(tank: Tank) -> float:
    """What the pump can draw from the tank as full as it starts."""
    return _plain(
        formulas.usable_volume.si(
            volume=volume(tank), volume_heel=heel(tank), share_full=tank.fill_share
        )
    )


def level(tank: Tank, held: Array) -> Array:
    """Depth of the water for a content, between empty and full.

    Contents outside that range count as empty or full.
    """
    top = full_depth(tank)
    held = np.clip(held, 0.0, volume(tank))
    upright = tank.shape in ("box", "standing cylinder", "stated")
    if upright and tank.heads == "flat":
        return top * held / volume(tank)
    return _halving(lambda depth: content(tank, depth), held, top)


def volume_work(tank: Tank) -> tuple[Work, ...]:
    """Worked steps of what the tank holds; none where its volume is only stated."""
    return content_work(tank, full_depth(tank)) if tank.shape != "stated" else ()


def heel_work(tank: Tank) -> tuple[Work, ...]:
    """Worked steps of the water below the pickup."""
    return content_work(tank, tank.pickup_height) if tank.shape != "stated" else ()


def content_work(tank: Tank, depth: float) -> tuple[Work, ...]:
    """Worked steps of the content at one depth."""
    formula, sizes = _law(tank)
    if tank.heads != "flat":
        return (_headed_work(tank, float(np.clip(depth, 0.0, full_depth(tank)))),)
    return (formula.work(depth=float(np.clip(depth, 0.0, full_depth(tank))), **sizes),)


def _headed_work(tank: Tank, depth: float) -> Work:
    """The cylinder and its heads, added up."""
    from ..words.work import total

    whole = float(content(tank, depth))
    if tank.shape == "standing cylinder":
        diameter = _size(tank, "diameter")
        bulge = tank_heads.depth_over_diameter(tank.heads) * diameter
        wall = np.clip(depth - bulge, 0.0, _size(tank, "height") - 2 * bulge)
        straight = float(formulas.standing_cylinder_content.si(diameter=diameter, depth=wall))
    else:
        formula, sizes = _law(tank)
        straight = float(formula.si(depth=depth, **sizes))
    parts = [("cylinder", straight), (f"{tank.heads} heads", whole - straight)]
    return total("volume", parts, tank_heads.LIBRARY)


def _law(tank: Tank) -> tuple[Formula, dict[str, float]]:
    """The formula of the tank's shape and the sizes that go into it."""
    _complete(tank)
    if tank.shape == "lying cylinder":
        sizes = _sizes(tank, diameter="diameter", length="length")
        bulge = tank_heads.depth_over_diameter(tank.heads) * sizes["diameter"]
        return formulas.lying_cylinder_content, {**sizes, "length": sizes["length"] - 2 * bulge}
    if tank.shape == "standing cylinder":
        return formulas.standing_cylinder_content, _sizes(tank, diameter="diameter")
    flat = _sizes(tank, length="length", width="width")
    if tank.shape == "stepped box":
        step = _sizes(tank, length_step="step_length", height_step="step_height")
        return formulas.stepped_box_content, {**flat, **step}
    if tank.shape == "wedge" and np.any(_size(tank, "height") != _size(tank, "height_low")):
        roof = _sizes(tank, height_high="height", height_low="height_low")
        return formulas.wedge_content, {**flat, **roof}
    return formulas.box_content, flat


def _complete(tank: Tank) -> None:
    lacking = missing(tank)
    if lacking:
        raise ValueError(f"tank {tank.name!r}: a {tank.shape} needs {', '.join(lacking)}")


def _sizes(tank: Tank, **names: str) -> dict[str, float]:
    return {word: _size(tank, field) for word, field in names.items()}


def _size(tank: Tank, field: str) -> float:
    return _plain(getattr(tank, field))


def _plain(figure: Array) -> float:
    """A float, or the array that a build of variants has in its place."""
    return float(figure) if np.ndim(figure) == 0 else cast(float, np.asarray(figure, float))


def _halving(rising: Callable[[Array], Array], wanted: Array, top: float) -> Array:
    """Where a rising function of depth reaches a value, by halving what is left 60 times."""
    low = np.zeros(np.shape(wanted))
    high = np.full(np.shape(wanted), top)
    for _ in range(60):
        middle = (low + high) / 2
        under = rising(middle) < wanted
        low, high = np.where(under, middle, low), np.where(under, high, middle)
    found = (low + high) / 2
    return found if np.ndim(found) else float(found)
