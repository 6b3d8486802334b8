"""Two papers from one build: the owner's at the hand-over, and the card at the bench."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from ..flow.service_pressure import service_pressures
from ..shop.readings.setting import setting_steps
from ..shop.winter import every_tap
from ..van.kinds import pumps
from ..van.kinds.heaters import hottest
from ..van.parts import Heater, LinePart
from ..van.pointers import kind_of
from ..van.region import backflow_devices, device_told
from ..van.tank_shapes import volume
from ..van.wiring import tank_words
from ..words.glossary import ICE_POINT
from ..words.hazards import RELIEF, SCALD
from ..words.report import RIGHT, WRITE, Answer, Caution, Chapter, Grid, grid
from ..words.show import show
from .commissioning import Seen
from .owner_page import NOT_MEASURED
from .service_pressure import weaker
from .shop import clock_grid, joints_grid, sorts_grid, steps_grid

if TYPE_CHECKING:
    from ..shop.engine import Shop
    from ..van.model import Build


MORE_READINGS = 2
"""Lines of the card for readings at other times."""


def owner_paper(
    shop: Shop,
    notes: Mapping[str, str] | None = None,
    seen: Mapping[str, Seen] | None = None,
) -> Chapter:
    """The longer paper behind the owner's first page: what is where, and every step in full.

    ``notes`` are what was done and set at this van, from its record, printed as given; ``seen``
    its readings, by the names of the commissioning form.
    """
    grids = [_where(shop), steps_grid("Filling", shop.winter.first_filling), _draining(shop)]
    if shop.dose:
        grids.append(steps_grid("Disinfecting", shop.dose.steps, note=shop.dose.way.basis))
    grids.append(steps_grid("Winter", shop.winter.steps))
    done = [*_measured(shop, seen or {})]
    if notes:
        done.insert(0, grid("At the hand-over", notes.items(), {"what": 0, "as left": 1}))
    return Chapter(
        "owner",
        "Your water, in full",
        answers=_limits(shop, seen or {}),
        grids=(*done, *grids),
        cautions=_owner_cautions(shop),
        not_computed=(
            "whether water from any tap on the road is fit to drink",
            "the parts' own instructions: they come first",
        ),
    )


def _measured(shop: Shop, seen: Mapping[str, Seen]) -> Iterator[Grid]:
    """What was read at the van, beside the band that it belongs in; nothing without a reading."""
    units = shop.build.van.units
    rows = [c for c in shop.commissioning.checks if c.word and c.name in seen]
    if rows:
        yield grid(
            "As measured",
            rows,
            {
                "what": "name",
                "measured": (lambda c: seen[c.name].value, RIGHT),
                "expected": (lambda c: c.band(units), RIGHT),
                "on": lambda c: seen[c.name].date,
            },
        )


def _limits(shop: Shop, seen: Mapping[str, Seen]) -> tuple[Answer, ...]:
    """What the tanks hold, and what the van was worked out for: said to be that, not measured."""
    build = shop.build
    fresh = [t for t in build.tank if t.holds == "fresh"]
    found = [
        Answer(f"{tank_words(t.name)} holds", volume(t), "volume")
        for t in (*fresh, *(t for t in build.tank if t not in fresh))
    ]
    pressures = service_pressures(build)
    pressure = pressures.highest
    found.append(Answer("highest pressure in service", pressure.told(build.van.units), "pressure",
                        basis="worked out", note=pressure.why + weaker(pressures)))  # fmt: skip
    found += [
        Answer(f"{h.name}: its water may get as hot as", hottest(h), "temperature",
               basis="worked out", note=f"{_heated_by(h)}; not what comes out of a mixed outlet")
        for h in build.heater
    ]  # fmt: skip
    for valve in build.mixing_valve:
        read = seen.get(f"{valve.name}, as set")
        if read is None:
            found.append(Answer(f"{valve.name} is set to", NOT_MEASURED))
        else:
            found.append(Answer(f"{valve.name} is set to", read.value, basis="measured",
                                note=f"{read.date}; leave it, measure it each year"))  # fmt: skip
    found.append(Answer("drain or lay up before", ICE_POINT, "temperature",
                        note="pipes outside and under the floor first"))  # fmt: skip
    return tuple(found)


def _heated_by(heater: Heater) -> str:
    """What sets the hottest that a heater's water gets."""
    by_setting = hottest(replace(heater, coolant_power=0.0))
    return "by the engine's coolant" if hottest(heater) > by_setting else "from its setting"


def _where(shop: Shop) -> Grid:
    """What is where, one component a line."""
    rows = []
    for one in shop.build.components:
        kind = kind_of(one)
        if kind == "tee":
            continue
        what = one.kind if isinstance(one, LinePart) else kind
        place = getattr(one, "place", "") or "on the board" if kind in ("manifold", "zone") else ""
        if kind in ("tank", "fixture"):
            place = one.place  # type: ignore[attr-defined]
        if kind == "drain valve":  # its own place is where it lets the water go
            into = shop.build.runs_into.get(one.name, ())
            place = next((shop.build.run[number].place for number, _, _ in into), "")
        doing = ""
        if kind == "manifold":
            zones = shop.build.zones(one.name)
            doing = "shut-offs: " + ", ".join(z.name for z in zones)
        rows.append((one.name, what, place or "cabin", doing or one.note))
    return grid("What is where", rows, {"name": 0, "kind": 1, "place": 2, "note": 3})


def _draining(shop: Shop) -> Grid:
    build = shop.build
    steps = [f"{p.name} off" for p in pumps.electric(build)]
    steps += [f"{h.name} off and cold" for h in build.heater]
    steps.append(f"open {every_tap(build)}")
    steps += [f"open: {where}" for where in shop.winter.drains]
    drains = " and drains" if shop.winter.drains else ""
    steps.append(f"leave taps{drains} open until no more water comes")
    kept = shop.draining.pockets
    if kept:
        amount = show(shop.draining.stays, "volume", shop.build.van.units)
        where = "; ".join(dict.fromkeys(shop.draining.where(one) for one in kept))
        steps.append(
            f"{amount} stays all the same, lowest at {where}: before frost it is blown out"
        )
    return steps_grid("Draining", steps)


def _backflow(build: Build) -> str:
    """The backflow devices of the region for an inlet that is left on."""
    devices = backflow_devices(build, "shore inlet", continuous=True)
    return " or ".join(map(device_told, devices)) or "a backflow device, by the local rule"


def _owner_cautions(shop: Shop) -> tuple[Caution, ...]:
    build = shop.build
    said = []
    if build.heater:
        said.append(
            Caution(
                "WARNING",
                "Hot water scalds, children in seconds. Try the water with your hand before "
                "anybody gets under it.",
                SCALD.name,
            )
        )
        said.append(Caution("WARNING", "Never shut or cap a relief valve. Never light a heater "
                            "that is not full of water.", RELIEF.name))  # fmt: skip
    if any(h.burner_power for h in build.heater):
        said.append(
            Caution(
                "WARNING",
                "Burning fuel makes carbon monoxide: exhaust clear, alarm tested, and never as a "
                "room heater. Work on fuel lines is for a licensed fitter.",
            )
        )
    if any(h.element_power for h in build.heater):
        said.append(
            Caution("WARNING", "Mains electricity near water: unplug before any cover comes off.")
        )
    if build.shore_inlet:
        said.append(
            Caution("WARNING", "Shore water only through the regulator and a hose that is sold "
                    f"for drinking water, with {_backflow(build)}.")
        )  # fmt: skip
    return (*said, *shop.winter.cautions)


def shop_card(shop: Shop) -> Chapter:
    """What hangs at the bench: counts, order of work, joints, test and setting."""
    plan, test = shop.clock, shop.test
    units = shop.build.van.units
    answers = [
        Answer("shop", shop.build.shop.temperature, "temperature"),
        Answer("joints", float(len(shop.joints)), "count"),
    ]
    if not plan.refused:
        answers += [
            Answer("first water not before", plan.told(plan.task("fill and bleed").start)),
            Answer("test", plan.told(plan.test.start),
                   note=f"{show(test.pressure, 'pressure', units)} for "
                        f"{show(test.duration, 'duration', units)} at least"),
            Answer("hand-over", plan.told(plan.hand_over.end)),
        ]  # fmt: skip
    grids = [sorts_grid(shop), clock_grid(shop), steps_grid("Pressure test", test.steps)]
    if shop.build.mixing_valve:
        grids.append(steps_grid("Setting the mixing valve", setting_steps(shop.build)))
    grids += [_readings(shop), joints_grid(shop)]
    return Chapter(
        "card",
        "Shop card",
        answers=tuple(answers),
        grids=tuple(grids),
        cautions=(
            *test.cautions,
            Caution("NOTICE", "A joint that is not on the list, or not made as the list says, "
                    "goes into the record before the test."),
        ),
    )  # fmt: skip


def _readings(shop: Shop) -> Grid:
    """A table to fill in by hand at the test: begin, middle and end of each stage, and more."""
    units, begins = shop.build.van.units, 0.0
    rows: list[tuple[str, str]] = []
    for stage in shop.test.stages:
        what = "kept up by pumping" if stage.kind == "pump" else "watched, not pumped"
        said = f"{show(stage.pressure, 'pressure', units)}, {what}"
        rows += [
            (show(begins + part * stage.duration, "duration", units), said) for part in (0, 0.5, 1)
        ]
        begins += stage.duration
    rows += [("", "")] * MORE_READINGS
    blank = {head: (lambda row: "", WRITE) for head in ("pressure", "temperature", "by")}
    return grid(
        "Readings of the test",
        rows,
        {"after": (0, WRITE), "stage": 1, **blank},
        note="From when the time of the rule begins. A verdict takes three readings that settle.",
    )
