"""One run of tube in one cold night, with water or with glycol in it."""

from __future__ import annotations

from dataclasses import dataclass, field

from ...formulas.frost import glycol_viscosity, share_by_mass
from ...words.glossary import ICE_POINT
from ...words.report import Answer, Caution, Chapter
from ...words.show import show
from ...words.tables import table
from ...words.work import Work
from ..play.timeline import clock
from .frost import BETWEEN, BLOCKED, GLYCOL_DENSITY, Night, antifreeze_for, freezing_works, night_of
from .glycol import first_ice_works

PLACES = {
    "underfloor": "under the floor or outside, in wind",
    "parked": "inside a van that is left cold",
    "cabin": "inside a van that is kept warm",
}


@dataclass(frozen=True)
class ColdNight:
    """One run in one night; SI.  ``steady`` works hold for air as cold as the coldest."""

    tube: str
    insulation: float
    place: str
    coldest: float
    water: float
    by_volume: float
    freezing: float
    night: Night
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
            share_volume=by_volume, density_glycol=GLYCOL_DENSITY, density_water=998.2
        )
        works["fit"], works["freezing"] = first_ice_works(works["mass"].value)
        works["viscosity"] = glycol_viscosity.work(share_glycol=works["mass"].value)
        freezing = works["freezing"].value
    start = max(water, freezing + 0.1)
    night, loss = night_of(
        row,
        insulation,
        windy=place == "underfloor",
        coldest=coldest,
        warmest=warmest,
        water=start,
        steady=cabin if place == "cabin" else None,
        freezing=freezing,
    )
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
        to_freezing,
        to_blocked,
        works,
    )


def cold_night_chapter(found: ColdNight, system: str) -> Chapter:
    """One run in one cold night on a sheet."""
    night = found.night
    answers = []
    if found.by_volume > 0:
        answers += [
            Answer(
                "the mix begins to freeze at",
                found.freezing,
                "temperature",
                (found.works["mass"], found.works["fit"], found.works["freezing"]),
                key=True,
            ),
            Answer("coldest that it gets", found.lowest, "temperature"),
            Answer(
                "how thick it is at 20 °C",
                found.works["viscosity"].value,
                "viscosity",
                (found.works["viscosity"],),
                note="water has 1.0",
            ),
        ]
    when = night.clock_freezing
    answers.append(
        Answer("ice begins at", clock(when) if when is not None else "no ice this night", key=True)
    )
    blocked = night.clock_blocked
    answers.append(
        Answer(
            f"blocked ({BLOCKED * 100:.0f} % ice) at",
            clock(blocked) if blocked is not None else "not this night",
        )
    )
    answers.append(Answer("most ice", found.ice, "share"))
    if found.to_freezing is not None and found.to_blocked is not None:
        cold = show(found.coldest, "temperature", system)
        answers += [
            Answer(
                f"to freezing in steady air of {cold}",
                found.to_freezing,
                "duration",
                tuple(found.works[k] for k in (*BETWEEN, "zero") if k in found.works),
            ),
            Answer(
                f"to {BLOCKED * 100:.0f} % ice in that air",
                found.to_blocked,
                "duration",
                (found.works["ice"], found.works["blocked"]),
            ),
        ]
    needed = antifreeze_for(found.coldest, 0.0) if found.coldest < ICE_POINT else None
    if needed is not None:
        answers.append(
            Answer(
                "glycol that would hold off all ice, by volume",
                needed.by_volume,
                "share",
                needed.works,
            )
        )
    return Chapter(
        key="cold_night",
        title="A cold night",
        basis=(
            "A metre of tube is one lump of still liquid, cooled through wall, foam and skin; air "
            "is coldest at 06:00 and swings as a wave; wind takes 25 W/(m² K) (assumed).",
            "Time to freezing: ASHRAE Handbook 2009 and 2019; glycol: Melinder 2010.",
        ),
        answers=tuple(answers),
        cautions=(
            Caution(
                "CAUTION",
                "Ice bursts valves, pump heads and heaters before tubes: drain them first.",
            ),
            Caution(
                "WARNING",
                "Only propylene glycol sold for drinking water systems; motor coolant is "
                "poisonous. Never thin a ready mix; flush it out before drinking.",
            ),
        ),
        not_computed=(
            "Tanks, pump, valves and filters.",
            "How cold the ice gets once all is ice. It is held at the freezing point here, so by "
            "day it may begin to melt too early.",
            "Additives of a bought antifreeze; and that, as ice forms, the rest of a mix grows "
            "richer and freezes later. Leaving that aside errs to the early side.",
        ),
    )
