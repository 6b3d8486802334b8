"""One run of tube in one cold night, with water or with glycol in it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from ...formulas.frost import glycol_viscosity, share_by_mass
from ...formulas.water import DENSITY_ROOM
from ...words.glossary import ICE_POINT
from ...words.tables import table
from ...words.work import Work
from .frost import GLYCOL_DENSITY, Night, freezing_works, night_of
from .glycol import first_ice_works

PLACES = {
    "underfloor": "under the floor or outside, in wind",
    "parked": "inside a van that is left cold",
    "cabin": "inside a van that is kept warm",
}


@dataclass(frozen=True)
class ColdNight:
    """One run in one night; SI.  ``steady`` works hold for air as cold as the coldest.

    ``ends`` is the same night in the fittings at its ends: of brass, and with no foam on them.
    """

    tube: str
    insulation: float
    place: str
    coldest: float
    water: float
    by_volume: float
    freezing: float
    night: Night
    ends: Night
    to_freezing: float | None
    to_blocked: float | None
    works: dict[str, Work] = field(default_factory=dict)

    @property
    def ice(self) -> float:
        """The most ice in the night, as a share."""
        return float(self.night.ice.max())

    @property
    def lowest(self) -> float:
        """The coldest that the run gets."""
        return float(self.night.temperature.min())


def cold_night(
    *,
    tube: str = "PEX 1/2 in",
    insulation: float = 0.0127,
    place: str = "underfloor",
    coldest: float = 263.15,
    warmest: float = 275.15,
    water: float = 285.15,
    cabin: float = 291.15,
    by_volume: float = 0.0,
) -> ColdNight:
    """Play one night.  ``by_volume`` is the share of glycol before mixing, 0 for water.

    ValueError for a tube that is not in the table, or a day colder than its night.
    """
    rows = table("tubes")
    if tube not in rows:
        raise ValueError(f"no tube {tube!r} in the table")
    if warmest < coldest:
        raise ValueError("the day's air is colder than the night's")
    row = rows[tube]
    works: dict[str, Work] = {}
    freezing = ICE_POINT
    if by_volume > 0:
        works["mass"] = share_by_mass.work(
            share_volume=by_volume, density_glycol=GLYCOL_DENSITY, density_water=DENSITY_ROOM
        )
        works["fit"], works["freezing"] = first_ice_works(works["mass"].value)
        works["viscosity"] = glycol_viscosity.work(share_glycol=works["mass"].value)
        freezing = works["freezing"].value
    start = max(water, freezing + 0.1)
    same: dict[str, Any] = {
        "windy": place == "underfloor",
        "coldest": coldest,
        "warmest": warmest,
        "water": start,
        "steady": cabin if place == "cabin" else None,
        "freezing": freezing,
    }
    night, loss = night_of(row, insulation, **same)
    ends, _ = night_of(row, 0.0, metal=True, **same)
    to_freezing = to_blocked = None
    if by_volume == 0:
        steps = freezing_works(row, loss, start, cabin if place == "cabin" else coldest)
        if steps:
            works |= steps
            to_freezing = steps["zero"].value
            to_blocked = steps["blocked"].value
    return ColdNight(
        tube,
        insulation,
        place,
        coldest,
        start,
        by_volume,
        freezing,
        night,
        ends,
        to_freezing,
        to_blocked,
        works,
    )
