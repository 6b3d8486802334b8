"""Worksheet of one run in a cold night: when it freezes, what foam buys, what glycol does."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ...chapters.frost import cold_night_chapter
from ...drawings.charts.frost import frost_chart
from ...drawings.charts.ice import ice_picture, ice_scene
from ...sheet.wording import words_of
from ...trip.cold.night import PLACES, ColdNight, cold_night
from ...van import Build
from ...van.trace import title
from ...words.tables import table
from ..frame.base import Choice, Quantity, Worksheet
from ..frame.controls import temperature_field
from ..frame.living import LivingPicture

QUESTION = (
    "When does this run freeze, and what would help: foam, another way, glycol? Type a value in "
    "any unit and press Enter, or drag."
)


def frost_worksheet(
    units: str = "US", *, build: Build | None = None, **values: float | str
) -> Worksheet:
    """The worksheet, opened with ``values`` for some of its fields.

    It speaks as the ``build``'s region does, or else as the units' usual one.
    QuantityError or KeyError if a value does not belong to its field.
    """

    picture = LivingPicture()
    sheet = Worksheet(
        "A cold night",
        question=QUESTION,
        units=units,
        words=words_of(build) if build else None,
        fields=[
            Choice("tube", "tube", list(table("tubes")), "PEX 1/2 in"),
            Quantity(
                "insulation", "foam", "thickness", "1/2 in", "0 in", "2 in", about="thickness"
            ),
            Choice("place", "it lies", [(shown, key) for key, shown in PLACES.items()]),
            "The night",
            temperature_field("coldest", "coldest, at 06:00", "14 °F", "-40 °C", "10 °C"),
            temperature_field("warmest", "at dusk, 18:00", "36 °F", "-30 °C", "20 °C"),
            temperature_field("cabin", "kept at, inside", "64 °F", "1 °C", "25 °C"),
            "In the tube",
            temperature_field("water", "at dusk it is at", "54 °F", "1 °C", "70 °C"),
            Quantity(
                "by_volume",
                "propylene glycol",
                "share",
                0.0,
                0.0,
                0.55,
                step=1,
                about="by volume before mixing; 0 is plain water",
            ),
        ],
        compute=_compute,
        draw=lambda found, system: [frost_chart(found, system)],
        chapter=cold_night_chapter,
        hide=lambda given: [] if given["place"] == "cabin" else ["cabin"],
        captions=["The night from dusk to dusk"],
        living=picture,
        move=lambda found, system: picture.show(
            ice_picture(found, system), ice_scene(found, system)
        ),
    )
    if values:
        sheet.set(**values)
    return sheet


def runs_of(build: Build) -> list[str]:
    """The runs of a build as they are offered: number and way."""
    return [f"{n + 1}: {title(build, n)}" for n in range(len(build.run))]


def frost_of_run(build: Build, name: str) -> Worksheet:
    """The worksheet of one run of a build, in its coldest night and its units.

    ValueError if there is no such run, or its tube is not one of the kit's own table.
    """
    number = runs_of(build).index(name)
    run, van = build.run[number], build.van
    warmest = van.outside if van.outside_day is None else van.outside_day
    return frost_worksheet(
        van.units,
        build=build,
        tube=run.tube,
        insulation=min(run.insulation, 0.0508),
        place="cabin" if run.place == "cabin" else "underfloor",
        coldest=min(max(van.outside, 233.15), 283.15),
        warmest=min(max(warmest, 243.15), 293.15),
        cabin=min(max(van.cabin, 274.15), 298.15),
        water=min(max(van.cold_water, 274.15), 343.15),
    )


def _compute(values: Mapping[str, Any]) -> ColdNight:
    return cold_night(**values)
