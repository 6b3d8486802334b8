"""What every component has, and the bounds that they share.

Every dimensional field is a float in SI (metres, pascals gauge, kelvins, seconds, watts).
``None`` means: not said, and no default would be honest; the code that needs it says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from .fields import name, text

PRACTICE = "common practice, no source"

FREEZING, BOILING = 273.15, 373.15
"""Bounds of liquid water at sea level, K."""
COLDEST, HOTTEST = 213.15, 343.15
"""Bounds of the air that a van meets, K (−60 to 70 °C)."""
TINY = 1e-9
"""Low bound of what must be more than nothing."""


@dataclass(frozen=True, kw_only=True)
class Component:
    """Anything that a run can end at.  ``inlets`` and ``outlets`` are its port names."""

    inlets: ClassVar[tuple[str, ...]] = ("inlet",)
    outlets: ClassVar[tuple[str, ...]] = ("outlet",)

    name: str = name()
    note: str = text(about="free remark, printed on the sheet")
