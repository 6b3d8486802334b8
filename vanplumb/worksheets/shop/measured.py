"""Worksheet of the finished van: readings typed in, beside what was computed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ...chapters.readings import measured_chapter
from ...drawings.charts.shop import readings_picture
from ...sheet.wording import words_of
from ...shop.readings.measured import Judged, MeasuredVan, judge_readings
from ...shop.readings.van_model import HEAT, reading_parts
from ...shop.record.record import Record
from ...van import Build
from ...words.quantity import QuantityError, read
from ...words.regions import Local
from ...words.show import show
from ..frame.base import Worksheet
from ..frame.controls import Control, Flag
from ..frame.plain import line
from ..frame.recorded import Recorded

QUESTION = (
    "Open one outlet at a time and type what you read, in any unit; leave empty what you did not "
    "measure. What does not fit, and what should you look at first?"
)


class Reading(Control):
    """A reading that may be left empty; beside it stands what was computed.

    ``label`` names it in full in messages, ``short`` under its outlet's heading.
    """

    def __init__(self, key: str, label: str, short: str, word: str, computed: float) -> None:
        self.word, self.computed = word, computed
        super().__init__(key, label)
        self._value: float | None = None
        self._entry = self._named = line(description=short, continuous_update=False)
        self._frame(self._entry)
        self.box.add_class("vp-reading")
        self.units = "SI"
        self._entry.observe(self._typed, "value")
        self._tell(self._hint())

    def speak(self, say: Local) -> None:
        short = say(self._entry.description)
        super().speak(say)
        self._entry.description = short
        self._tell(self._hint())

    @property
    def value(self) -> float | None:
        return self._value

    @property
    def text(self) -> str:
        return str(self._entry.value)

    @property
    def written(self) -> str:
        return self.text

    def use_units(self, system: str) -> None:
        self.units = system
        self._tell(self._hint())

    def reading(self, value: Any) -> float | None:
        if value is None or (isinstance(value, str) and not value.strip()):
            return None
        return read(value, self.word) if isinstance(value, str) else float(value)

    def set(self, value: Any) -> None:
        self._value, self.problem = self.reading(value), ""
        self._quiet = True
        try:
            self._entry.value = (
                value if isinstance(value, str)
                else "" if value is None else show(value, self.word, self.units)
            )  # fmt: skip
        finally:
            self._quiet = False
        self._tell(self._hint())

    def _hint(self) -> str:
        return f"computed {show(self.computed, self.word, self.units)}"

    def _typed(self, change: Mapping[str, Any]) -> None:
        if self._quiet:
            return
        try:
            self._value, self.problem = self.reading(str(change["new"])), ""
        except QuantityError as error:
            self.problem = f"{self.label} {error}"
        self._tell(self._hint())
        self.on_change()


def measured_worksheet(
    build: Build, units: str = "", van: MeasuredVan | None = None, **values: Any
) -> Worksheet:
    """The worksheet of a build; ``values`` fill fields by name, such as ``basin_flow="1.1 gpm"``.

    ValueError if no network can be made of the build, KeyError for an unknown field.
    """
    model = van or MeasuredVan(build)
    _ = model.suspects  # worked out once, before the first reading
    fields: list[Any] = []
    names: dict[str, str] = {}
    outlet = ""
    for one in model.compare({}):
        place, what = reading_parts(one.name)
        if place != outlet:
            fields.append(place)
            outlet = place
        key = one.name.replace(", ", "_").replace(" ", "_")
        names[key] = one.name
        fields.append(Reading(key, one.name, what, one.word, one.computed))

    fields.append(Flag("fitting", "fit what differs between sound vans, too (takes a second)"))

    def compute(given: Mapping[str, Any]) -> Judged:
        seen = {names[k]: v for k, v in given.items() if k in names and v is not None}
        for name, value in seen.items():
            if value <= 0 and not name.endswith(HEAT):
                raise ValueError(f"{name} must be above 0")
        return judge_readings(model, seen, fitting=given["fitting"])

    sheet = Worksheet(
        f"Measured against computed: {build.van.name}",
        question=QUESTION,
        units=units or build.van.units,
        words=words_of(build),
        fields=fields,
        compute=compute,
        draw=_picture,
        chapter=lambda judged, system: measured_chapter(judged, system),
        captions=["Readings against what was computed, in their own uncertainties"],
    )
    if values:
        sheet.set(**values)
    return sheet


def _picture(judged: Judged, system: str) -> list[str]:
    """The readings beside what was computed; nothing as long as there is none."""
    read_any = any(one.measured is not None for one in judged.compared)
    return [readings_picture(judged)] if read_any else []


def measured_and_recorded(
    build: Build, record: Record, units: str = "", van: MeasuredVan | None = None
) -> Recorded:
    """The worksheet, with a way to write the readings into the van's record."""

    def events(sheet: Worksheet, said: Mapping[str, str]) -> list[tuple[str, dict[str, Any]]]:
        judged: Judged = sheet.result
        by = {"by": said["by"]} if said["by"] else {}
        found: list[tuple[str, dict[str, Any]]] = []
        for one in judged.compared:
            if one.measured is not None:
                value = show(one.measured, one.word, sheet.units)
                found.append(("reading taken", {"reading": one.name, "value": value, **by}))
        if not found:
            raise ValueError("there is no reading yet")
        verdict = sheet.figures["verdict"]
        return [*found, ("note", {"text": f"readings: {verdict}", **by})]

    return Recorded(measured_worksheet(build, units, van), record, events, {"by": "done by"})
