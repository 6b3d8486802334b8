"""Worksheet of the water for a trip: crew, nights, tanks, and what fails first."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ...board.as_laid import on_its_board
from ...chapters.trip import what_if_chapter
from ...drawings.charts.lanes import SCREEN
from ...drawings.charts.trip import trip_chart
from ...drawings.charts.vessels import stay_picture, stay_scene
from ...pack import example
from ...sheet.wording import words_of
from ...trip.what_if import WhatIf, fresh_volume, grey_volume, what_if
from ...van import Build
from ...words.show import show
from ..frame.base import Flag, Quantity, Worksheet
from ..frame.living import LivingPicture

QUESTION = (
    "Does the water last, is the third shower warm, and what ends the stay? Type a value in any "
    "unit and press Enter, or drag. The habits and the runs are those of the build."
)


def trip_worksheet(
    build: Build | None = None, units: str = "", **values: float | str | bool
) -> Worksheet:
    """The worksheet on a build (the example Dipper if none is given), in its units.

    QuantityError or KeyError if one of ``values`` does not belong to its field.
    """
    van = on_its_board(build if build is not None else example("dipper"))
    fresh, grey = fresh_volume(van), grey_volume(van)

    system = units or van.van.units

    def tank(key: str, label: str, volume: float) -> Quantity:
        about = f"times the {show(volume, 'volume', system)} of the build"
        return Quantity(key, label, "number", 1.0, 0.25, 4.0, step=0.05, about=about)

    fields: list[Any] = [
        Quantity("people", "people", "count", float(max(van.crew.people, 1)), 1, 8, step=1),
        Quantity("nights", "nights", "count", float(max(van.crew.nights, 1)), 1, 10, step=1),
        Quantity(
            "drinking",
            "drunk and cooked with",
            "volume",
            van.crew.drinking,
            0.0,
            max(0.010, van.crew.drinking),
            step={"US": 0.05, "SI": 0.1},
            about="by each, in a day",
        ),
        Quantity(
            "thrift",
            "taps run",
            "share",
            1.0,
            0.3,
            1.0,
            about="of the time that the build says: 100 % is as it is, less is careful",
        ),
        "Tanks",
        tank("fresh", "fresh tank", fresh),
        *([tank("grey", "grey tank", grey)] if grey else []),
        "Hot water",
        Flag("return_line", "the first water goes back to the tank", False),
        "Chance",
        Flag("chances", "play 200 random trips as well", False),
        Flag("ranks", "rank what matters most", False, about="takes a second or two"),
    ]
    picture = LivingPicture()
    sheet = Worksheet(
        f"Water for the trip of {van.van.name}",
        question=QUESTION,
        units=system,
        words=words_of(van),
        fields=fields,
        compute=lambda given: _compute(van, given),
        draw=lambda found, shown: [trip_chart(found.trip.planned, shown, wide=SCREEN)],
        chapter=lambda found, shown: what_if_chapter(found),
        hide=lambda given: [] if given["chances"] else ["ranks"],
        keep=_kept,
        file=str(van.path or ""),
        captions=["The planned stay, hour by hour"],
        ahead=True,
        living=picture,
        move=lambda found, shown: picture.show(
            stay_picture(found.trip.planned, shown), stay_scene(found.trip.planned, shown)
        ),
    )
    if values:
        sheet.set(**values)
    return sheet


def _compute(build: Build, values: Mapping[str, Any]) -> WhatIf:
    return what_if(
        build,
        people=round(values["people"]),
        nights=round(values["nights"]),
        drinking=values["drinking"],
        fresh=values["fresh"] * fresh_volume(build),
        grey=values.get("grey", 1.0) * grey_volume(build),
        thrift=values["thrift"],
        return_line=values["return_line"],
        chances=values["chances"],
        ranks=values["ranks"],
    )


def _kept(sheet: Worksheet, part: str) -> dict[str, Any]:
    """What a build file says about the crew.  Tanks are changed there by their sizes."""
    return {
        "crew.people": round(sheet.values["people"]),
        "crew.nights": round(sheet.values["nights"]),
        "crew.drinking": sheet.written["drinking"],
    }
