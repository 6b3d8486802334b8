"""What was measured at a van, put back where its build file has a key for it.

The signed build file stays as it is; what comes out is the text of another one, which can be
worked out like any.  Figures that no key holds (a kink, a clogged screen) are not made up.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from ...van.file.template import quantity
from ...van.file.write import changed
from ...van.kinds import pumps
from ...van.parts import Fixture
from ...van.rows import own_or_row
from ...words.quantity import read
from ...words.show import show
from ..readings.measured import judge_readings, word_of
from .history import taken
from .record import Contents
from .signing import Refused

if TYPE_CHECKING:
    from ..engine import Shop


FITTED = "fitted to the readings of the outlets"


@dataclass(frozen=True)
class Moved:
    """One value of the build file: its path, what the file says or takes, what was measured."""

    path: str
    said: str
    measured: str
    basis: str


def outlet_readings(shop: Shop, contents: Contents) -> dict[str, float]:
    """The last readings that the model gives too, SI, by their names."""
    if shop.commissioning.measured is None:
        return {}
    known = shop.measured.computed
    return {
        name: read(one.value, word_of(name))
        for name, one in taken(contents).items()
        if name in known
    }


def moved(shop: Shop, contents: Contents) -> list[Moved]:
    """Every value of the build file that was read as such: pressures and valves that are set."""
    build, seen = shop.build, taken(contents)
    found: list[Moved] = []

    def set_(name: str, path: str, word: str, said: Any) -> None:
        if name in seen:
            was = show(said, word, build.van.units) if said is not None else "(not said)"
            found.append(Moved(path, was, seen[name].value, name))

    for pump in build.pump:
        if pumps.has_switch(build, pump):
            low, high = pumps.switch(build, pump)
            set_(f"{pump.name}, cut-in", f"pump.{pump.name}.cut_in", "pressure", low)
            set_(f"{pump.name}, cut-out", f"pump.{pump.name}.cut_out", "pressure", high)
    for one in build.accumulator:
        set_(f"{one.name}, precharge", f"accumulator.{one.name}.precharge", "pressure",
             one.precharge)  # fmt: skip
    for regulator in build.regulator:
        set_(f"{regulator.name}, pressure behind it", f"regulator.{regulator.name}.setting",
             "pressure", regulator.setting)  # fmt: skip
    for valve in build.mixing_valve:
        set_(f"{valve.name}, as set", f"mixing_valve.{valve.name}.setting", "temperature",
             valve.setting)  # fmt: skip
    return found


def fitted(shop: Shop, contents: Contents) -> tuple[list[Moved], str]:
    """What the readings of outlets say of taps and stores, and why they say nothing.

    Readings that do not fit a sound van say nothing of its taps: something else is wrong.
    """
    values = outlet_readings(shop, contents)
    if not values:
        return [], ""
    judged = judge_readings(shop.measured, values)
    assert judged.fitted is not None and judged.diagnosis is not None
    if judged.diagnosis.verdict != "fits":
        return [], (
            "The readings of the outlets do not fit a sound van: nothing of them is put into the "
            "file before that is put right."
        )
    build, units = shop.build, shop.build.van.units
    found: list[Moved] = []
    for name, one in judged.fitted.estimates.items():
        if not one.told or one.bound:
            continue
        kind, _, part = name.partition(" ")
        if kind == "store":
            heater = next(h for h in build.heater if h.name == part)
            found.append(Moved(f"heater.{part}.setpoint",
                               show(heater.setpoint, "temperature", units),
                               quantity(one.value, "temperature", units), FITTED))  # fmt: skip
        elif kind == "tap":
            fixture = next(f for f in build.fixture if f.name == part)
            flow = _rated(shop, fixture)
            if flow is not None:
                found.append(Moved(f"fixture.{part}.flow", show(flow, "flow", units),
                                   quantity(flow * one.value, "flow", units), FITTED))  # fmt: skip
    return found, ""


def _rated(shop: Shop, fixture: Fixture) -> float | None:
    """The rated flow of a fixture whose passage alone sets it, m³/s; None where a limiter does."""
    limited = own_or_row(shop.build, fixture, "limited", "fixtures", fixture.kind, "limited")
    flow = own_or_row(shop.build, fixture, "flow", "fixtures", fixture.kind, "flow")
    return None if limited or flow is None else float(flow)


def as_measured(shop: Shop, contents: Contents) -> tuple[str, tuple[Moved, ...], str]:
    """The text of the build file with what was measured in it, what was moved, and a remark.

    Refused if nothing was measured that the file has a key for, or it was read from no file.
    """
    more, remark = fitted(shop, contents)
    found = (*moved(shop, contents), *more)
    if not found:
        raise Refused(remark or "nothing was measured yet that the build file has a key for")
    if not shop.build.text:
        raise Refused("the build was read from no file")
    return changed(shop.build.text, {m.path: m.measured for m in found}), found, remark
