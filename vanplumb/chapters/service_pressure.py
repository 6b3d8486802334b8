"""What is printed of the highest pressures in service, and of heated water with the taps shut."""

from __future__ import annotations

from ..flow.closed_heating import MARGIN, QUICK, RECKONED, SLOW, Heating
from ..flow.relief import relief_capacities
from ..flow.service_pressure import ServicePressure, ServicePressures
from ..van.kinds.heaters import hottest
from ..van.model import Build
from ..van.ratings import highest_of_runs, rating_at
from ..van.trace import title
from ..van.wiring import place
from ..words.hazards import RELIEF
from ..words.report import Answer, Caution, Chapter, Grid, grid
from ..words.show import show, together
from ..words.tables import table


def _before(found: ServicePressures) -> str:
    """What stands before a regulator, where that is more than anything behind it."""
    build = found.build
    most = max((found.of_part(part.name).value for part in build.components), default=0.0)
    if most <= found.highest.value * (1 + 1e-9):
        return ""
    bare = show(most, "pressure", build.van.units)
    return f"; before its regulator, shore water stands at up to {bare}"


def weaker(found: ServicePressures) -> str:
    """Which part gives before anything holds the pressure, or is made for less than is held."""
    first = found.gives_first
    if first is None or first.pressure > found.highest.value * (1 + 1e-9):
        return ""
    made = show(first.pressure, "pressure", found.build.van.units)
    if found.highest.unheld:
        return f"; {first.part}, made for {made}, gives first: no relief valve holds it"
    return f"; more than {first.part} is made for, {made}"


def pressures_chapter(found: ServicePressures) -> Chapter:
    """The highest pressure at every part beside what it is made for."""
    build = found.build
    units = build.van.units
    every = [row for one in found.heatings for row in _heating(one, len(found.heatings), units)]
    top = found.highest
    return Chapter(
        key="expansion",
        title="Highest pressures in service",
        basis=(
            "What a supply holds: a pump up to its cut-out, shore water behind its regulator or "
            "bare, a full tank; with the height of each part. Or, where it is higher, what water "
            "makes that warms with every tap shut and can't go back past a check valve, up to its "
            "relief valve. Surge comes on top for moments: see pressures and flows.",
            "It is heated to the hottest that the heater reaches, not to its setpoint: the "
            "setpoint and its differential, or the engine's coolant.",
            "Tubes give by their elastic modulus at room temperature (see the tube runs; plastic "
            "gives up to twice as much when hot), the heater not at all. The air in a vessel lies "
            f"between keeping its temperature (exponent {SLOW:g}) and keeping its heat "
            f"({QUICK:g}); {RECKONED:g} is used (assumed).",
            f"A vessel is sized to stay {MARGIN * 100:.0f} % under the lowest rating on the way "
            "(common practice, no source).",
        ),
        answers=(
            Answer(
                "Highest pressure in service",
                top.told(units),
                "pressure",
                note=f"{top.why}; at {place(found.build, top.place)}"
                f"{_before(found)}{weaker(found)}",
                key=True,
            ),
            *every,
            *_relief(build),
        ),
        grids=(_grid(found),),
        cautions=_cautions(found),
        not_computed=(
            *(
                ("Steam, if the thermostat sticks: that is what the relief valve is for.",)
                if build.heater
                else ()
            ),
            "What fixtures, valves and hoses are made for: read their plates and papers.",
        ),
    )


def _heating(one: Heating, many: int, units: str) -> list[Answer]:
    tail = f", {together(sorted(one.heaters))}" if many > 1 else ""
    begins = f"from {show(one.start, 'pressure', units)} ({one.supply})"
    if len(one.heaters) > 1:
        begins = f"at {one.heater}, the lowest of {together(sorted(one.heaters))}; {begins}"
    grown = [one.works[k] for k in one.works if k.startswith("growth")]
    rows = [
        Answer(
            f"Room that the water needs as it warms{tail}",
            one.growth,
            "volume",
            tuple(grown) if len(grown) == 1 else (),
            note=f"to {show(one.hottest, 'temperature', units)}",
        )
    ]
    if not one.closed:
        note = "water goes back to the tank"
        rows.append(Answer(f"Pressure with every tap shut{tail}", one.start, "pressure", note=note))
        return rows
    if one.unheld:
        past = f"past {show(one.limit.pressure, 'pressure', units)}"
        what = f"what {one.limit.part} is made for: it gives first, for no relief valve opens"
        rows.append(Answer(f"Pressure after one heat-up{tail}", past, note=what, key=True))
    elif one.opens:
        rows.append(
            Answer(f"Pressure after one heat-up{tail}", one.end, "pressure", key=True,
                   note=f"the relief valve's opening; {begins}")
        )  # fmt: skip
    else:
        span = f"{show(one.slow, 'pressure', units)} to {show(one.quick, 'pressure', units)}"
        rows.append(
            Answer(f"Pressure after one heat-up with every tap shut{tail}", one.pressure,
                   "pressure", one.pressure_works, key=True,
                   note=f"{begins}; {span} as the air keeps its temperature or its heat")
        )  # fmt: skip
    if one.relief is not None:
        rows.append(Answer(f"Relief valve opens at{tail}", one.relief, "pressure"))
        helped = one.opens_bare and not one.opens and bool(one.cushions)
        rows.append(
            Answer(f"Does the relief valve open{tail}", "yes" if one.opens else "no",
                   note="it would without the accumulator" if helped else "", key=one.opens)
        )  # fmt: skip
    if one.opens and one.opens_at is not None:
        rows.append(Answer(f"It opens when the water is at{tail}", one.opens_at, "temperature"))
        let = (one.works["discharge"],) if len(grown) == 1 else ()
        rows.append(Answer(f"It lets out each time{tail}", one.discharge, "volume_small", let))
    lowest = f"{one.limit.part}, {one.limit.why}"
    rows.append(
        Answer(f"Lowest rating on the way{tail}", one.limit.pressure, "pressure", note=lowest)
    )
    if one.vessel is not None:
        rows.append(
            Answer(f"Least vessel that would take it all up{tail}", one.vessel, "volume",
                   (one.works["vessel"],), note="precharged to the cold pressure")
        )  # fmt: skip
    return rows


def _relief(build: Build) -> list[Answer]:
    """All heat put in beside what the relief valve can carry off."""
    rows = []
    found = relief_capacities(build)
    for one in found:
        tail = f", {one.heater.name}" if len(found) > 1 else ""
        rows.append(
            Answer(f"Heat put in by all its sources at once{tail}", one.put_in, "power",
                   one.put_in_works, note="as their plates say")
        )  # fmt: skip
        label = f"Heat that the relief valve carries off{tail}"
        if one.carries is None:
            rows.append(Answer(label, "not known", note="see the valve's plate: it must be more"))
        else:
            how = "in hot water, not in steam" if one.carries_works else "by its plate"
            rows.append(Answer(label, one.carries, "power", one.carries_works, note=how))
    return rows


def _highest(at: ServicePressure, units: str) -> tuple[object, object]:
    """Where a place ends after one heat-up, and its highest: figures, or what is passed."""
    if at.gives is not None and at.heated is not None:
        return f"over {show(at.heated, 'pressure', units)}", at.told(units)
    return at.heated, at.value


def _grid(found: ServicePressures) -> Grid:
    build = found.build
    units = build.van.units
    tubes, heats = table("tubes", build.rows), highest_of_runs(build)
    rows: list[tuple[object, ...]] = []
    for number, run in enumerate(build.run):
        at = found.of_run(number)
        hot = heats[number].value
        made = rating_at(tubes[run.tube], hot)
        rows.append((f"run {number + 1}, {title(build, number)}", hot, at.supply,
                     *_highest(at, units), made, at.why))  # fmt: skip
    for heater in build.heater:
        at = found.of_part(heater.name)
        rows.append((heater.name, hottest(heater), at.supply, *_highest(at, units),
                     heater.pressure_rating, at.why))  # fmt: skip
    for vessel in build.accumulator:
        at = found.of_part(vessel.name)
        rows.append((vessel.name, None, at.supply, *_highest(at, units), vessel.pressure_rating,
                     at.why))  # fmt: skip
    for fixture in build.fixture:
        at = found.of_part(fixture.name)
        rows.append((fixture.name, None, at.supply, *_highest(at, units), None, at.why))
    return grid(
        "Highest pressure at each part",
        rows,
        {
            "part": 0,
            "water as hot as": (1, "temperature"),
            "held by a supply": (2, "pressure"),
            "after one heat-up": (3, "pressure"),
            "highest": (4, "pressure"),
            "made for": (5, "pressure"),
            "what sets it": 6,
        },
        key="service pressure",
        note="Made for: the tube's rating at that temperature, or what the build says of a part.",
    )


def _cautions(found: ServicePressures) -> tuple[Caution, ...]:
    if not found.build.heater:
        return ()
    return (RELIEF.caution(),)
