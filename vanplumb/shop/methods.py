"""Which ways of joining belong to which tube."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ..words.tables import table

Own = Mapping[str, Mapping[str, Mapping[str, Any]]]

_WHY = {
    "expansion": "the tube must stretch over the fitting and shrink back (ASTM F1960)",
    "solder": "it takes copper",
    "hose clamp": "a clamp holds soft hose on a ribbed end",
}


def methods_for(tube: str, own: Own | None = None) -> tuple[str, ...]:
    """Methods that hold this tube, its usual one first.  KeyError for an unknown tube."""
    row = table("tubes", own)[tube]
    usual = row["joint"]
    found = [
        j.name for j in table("joints", own).values() if row["material"] in (j["materials"] or ())
    ]
    return tuple(sorted(found, key=lambda name: name != usual))


def mismatch(method: str, tube: str, own: Own | None = None) -> str:
    """Why a method does not belong to a tube, or an empty text if it does."""
    row, joint = table("tubes", own)[tube], table("joints", own)[method]
    materials = joint["materials"] or ()
    if row["material"] in materials:
        return ""
    ways = ", ".join(methods_for(tube, own)) or "none in the table"
    if not materials:
        return f"{method} holds no tube; for {tube} there are: {ways}"
    why = f": {_WHY[method]}" if method in _WHY else ""
    return (
        f"{method} joints are for {' and '.join(materials)}, not for {tube} "
        f"({row['material']}){why}; for it there are: {ways}"
    )


def method_of(tube: str, stated: str, own: Own | None = None) -> str:
    """The method at the ends of a run: as stated, else the tube's usual one."""
    return stated or str(table("tubes", own)[tube]["joint"] or "")
