"""Worksheet of a heater and a row of showers: storage or flow-through, and its recovery."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ...chapters.hot_water import session_chapter
from ...drawings.charts.session import session_chart
from ...drawings.charts.showers import showers_picture, showers_scene
from ...sheet.wording import words_of
from ...trip.play.session import Session, session
from ...van import Build
from ...van.kinds import heaters
from ...van.main_parts import main_heater
from ...van.region import region_of, usual_region
from ...words.show import show
from ..frame.base import Choice, Quantity, Worksheet
from ..frame.controls import temperature_field
from ..frame.living import LivingPicture

QUESTION = (
    "How many showers in a row are warm, and how soon is it hot again? Type a value in any unit "
    "and press Enter, or drag."
)
STORE = ("volume", "differential", "standing_loss", "element_power")
THROUGH = ("flow_least", "start_delay")


def heater_of_build(build: Build) -> Worksheet:
    """The worksheet opened with the first heater of a build, in its units.

    ValueError if the build has none.
    """
    heater = main_heater(build)
    if heater is None:
        raise ValueError(f"{build.van.name} has no heater")
    values: dict[str, Any] = {
        "kind": "flow-through" if heaters.follows_flow(heater) else "storage",
        "setpoint": heater.setpoint,
        "differential": heater.differential,
        "burner_power": heater.burner_power,
        "efficiency": heater.burner_efficiency,
        "element_power": 0.0 if heater.burner_power else heater.element_power,
        "flow_least": heater.flow_least,
        "start_delay": heater.start_delay,
        "cold": build.van.cold_water,
    }
    if not heaters.follows_flow(heater):
        values["volume"] = heater.volume or 0.015
        values["standing_loss"] = heater.standing_loss or 0.0
    left_out = heater.element_power if heater.burner_power and heater.element_power else 0.0
    return heater_worksheet(
        build.van.units,
        part=heater.name,
        file=str(build.path or ""),
        left_out=left_out,
        build=build,
        **values,
    )


def heater_worksheet(
    units: str = "US",
    *,
    part: str = "",
    file: str = "",
    left_out: float = 0.0,
    build: Build | None = None,
    **values: float | str,
) -> Worksheet:
    """The worksheet, opened with ``values`` for some of its fields.

    ``left_out`` is the power of an element that the build has beside its burner: it needs a
    hook-up, so it starts at nothing, and keeping it at nothing leaves the build's own alone.
    Words and advice are those of the ``build``'s region, or else of the units' usual one.
    QuantityError or KeyError if a value does not belong to its field.
    """

    region = region_of(build).key if build else usual_region(units)

    def power(
        key: str, label: str, value: str, high: str, step: float, about: str = ""
    ) -> Quantity:
        return Quantity(key, label, "power", value, "0 W", high, step=step, about=about)

    beside = ""
    if left_out:
        beside = f"the {show(left_out, 'power', units)} of the build need a hook-up: left out"

    picture = LivingPicture()
    sheet = Worksheet(
        "Heater and showers",
        question=QUESTION,
        units=units,
        words=words_of(build) if build else None,
        fields=[
            Choice(
                "kind",
                "the heater is",
                [("a store", "storage"), ("flow-through", "flow-through")],
            ),
            Quantity("volume", "holds", "volume", "4 gal", "0.5 gal", "20 gal", step=0.5),
            temperature_field("setpoint", "setpoint", "140 °F", "35 °C", "85 °C"),
            Quantity(
                "differential",
                "starts again below it by",
                "rise",
                "5 K",
                "1 K",
                "20 K",
                about="the thermostat's differential",
            ),
            power("burner_power", "burner", "3500 W", "30 kW", 100, "heat in the fuel"),
            Quantity("efficiency", "of which the water gets", "share", 0.75, 0.3, 1.0, step=1),
            power("element_power", "electric element", "0 W", "3 kW", 20, beside),
            power(
                "standing_loss",
                "standing loss",
                "45 W",
                "200 W",
                5,
                f"hot, in a cabin of {show(heaters.LOSS_AIR, 'temperature', units)}",
            ),
            Quantity("flow_least", "least flow", "flow", "0.5 gpm", "0 gpm", "2 gpm", step=0.05),
            Quantity(
                "start_delay",
                "from the first flow to the burner on",
                "duration",
                "4 s",
                "0 s",
                "30 s",
                step=1,
            ),
            "The showers",
            Quantity("count", "showers", "count", 3, 1, 8, step=1),
            Quantity("duration", "each runs for", "duration", "180 s", "30 s", "900 s", step=10),
            Quantity("gap", "time between them", "duration", "120 s", "0 s", "3600 s", step=30),
            Quantity("flow", "flow", "flow", "1.5 gpm", "0.5 gpm", "3 gpm", step=0.05),
            temperature_field("wanted", "wanted", "105 °F", "25 °C", "48 °C"),
            temperature_field("cold", "cold water", "60 °F", "1 °C", "30 °C"),
        ],
        compute=_compute,
        draw=lambda found, system: [session_chart(found, system)],
        chapter=lambda found, system: session_chapter(found, system, region),
        hide=lambda given: THROUGH if given["kind"] == "storage" else STORE,
        keep=lambda sheet, name: _kept(sheet, name, left_out),
        part=("heater's name", part),
        file=file,
        captions=["From switching on until it is hot again"],
        ahead=True,
        living=picture,
        move=lambda found, system: picture.show(
            showers_picture(found, system), showers_scene(found, system)
        ),
    )
    if values:
        sheet.set(**values)
    return sheet


def _compute(values: Mapping[str, Any]) -> Session:
    given = dict(values)
    given["count"] = round(given["count"])
    return session(**given)


def _kept(sheet: Worksheet, name: str, left_out: float = 0.0) -> dict[str, Any]:
    """What a build file says about such a heater; an element left out is left as it is."""
    if not name:
        raise ValueError("type the name of the heater in the build file")
    texts = sheet.written
    keys = ["kind", "setpoint", "burner_power"]
    keys += list(STORE if texts["kind"] == "storage" else THROUGH)
    if left_out and not sheet.values["element_power"]:
        keys = [key for key in keys if key != "element_power"]
    said = {f"heater.{name}.{key}": texts[key] for key in keys}
    if texts["kind"] == "storage":
        # A difference of temperatures: a degree Fahrenheit alone would be a temperature.
        said[f"heater.{name}.differential"] = f"{sheet.values['differential']:.6g} K"
    said[f"heater.{name}.burner_efficiency"] = sheet.values["efficiency"]
    return said
