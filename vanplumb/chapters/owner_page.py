"""The owner's first page: what there is, what each handle does, and what to do when.

Only what the van has is spoken of; temperatures are those that were measured, or said to be
not measured.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from typing import TYPE_CHECKING

from ..shop.commissioning import ALONE, VALVES
from ..shop.winter import every_tap, screens
from ..trip.stay.elements import Element, elements
from ..trip.stay.feeds import tank_sets
from ..van.handles import handle_letters, own_tank, selected_tanks, what_it_does
from ..van.heights import heights
from ..van.kinds import heaters, line_parts, pumps
from ..van.region import backflow_devices, device_told
from ..van.tank_shapes import volume
from ..van.trace import served
from ..van.wiring import tank_words
from ..words.report import RIGHT, WRITE, Answer, Caution, Chapter, Grid, grid
from ..words.show import show, together
from ..words.tables import table
from .commissioning import Seen

if TYPE_CHECKING:
    from ..shop.engine import Shop
    from ..van.model import Build
    from ..van.parts import Heater, LinePart, Pump, RecirculationPump

NOT_MEASURED = "not measured"
BY_ITSELF = ("washing machine", "toilet")
"""Sorts of fixtures that no hand holds open."""


def owner_page(
    shop: Shop, seen: Mapping[str, Seen] | None = None, dates: Mapping[str, str] | None = None
) -> Chapter:
    """The page, with what the record holds: readings by their names, and dates of what was done.

    ``dates`` are those of "pressure test", "disinfected" and "handed over", as ``2025-03-07``.
    """
    build, seen, dates = shop.build, seen or {}, dates or {}
    lists = [
        _list("have", "What you have", _have(build)),
        _handles(build),
        _list("leak", "When something leaks", _leak(build)),
        _list("fill", "Filling", _fill(build)),
        _list("shore", "Water from a hose", _shore(build)),
        _list("switch", "Switching tanks", _switch(build)),
        _list("winter", "Before the first frost", _winter(shop)),
        _list("spring", "In spring", _spring(shop)),
        _temperatures(shop, seen),
        _service(shop, seen, dates),
    ]
    return Chapter(
        "owner-page",
        "Your water at a glance",
        inputs=(Answer("who to call", build.van.builder or "the builder"),),
        grids=tuple(g for g in lists if g.rows),
        cautions=_cautions(build),
    )


def _list(key: str, title: str, steps: Iterator[str]) -> Grid:
    return grid(title, [(s,) for s in steps], {"": 0}, key=key)


def _have(build: Build) -> Iterator[str]:
    units = build.van.units
    for tank in build.tank:
        grey = "" if tank.holds == "fresh" or "grey" in tank.name else ", for used water"
        yield f"{tank_words(tank.name)}, {show(volume(tank), 'volume', units)}{grey}"
    yield from map(_told_pump, build.pump)
    if build.shore_inlet:
        kept = ", through a regulator" if build.regulator else ""
        yield f"an inlet for a hose: {together([s.name for s in build.shore_inlet])}{kept}"
    yield from (_told_heater(build, h) for h in build.heater)
    for valve in build.mixing_valve:
        yield f"{valve.name}: mixes hot and cold, set by the builder; leave it as it is"
    for cushion in build.accumulator:
        often = ", so that the pump starts less often" if pumps.electric(build) else ""
        yield f"{cushion.name}: an air cushion{often}"
    if build.line_part:
        yield f"in the lines: {together([_told_part(p) for p in build.line_part])}"
    yield from map(_told_circulator, build.recirculation_pump)
    yield f"outlets: {together([f.name for f in build.fixture])}"


def _told_part(part: LinePart) -> str:
    return part.name if part.kind in part.name else f"{part.name} ({part.kind})"


def _told_circulator(pump: RecirculationPump) -> str:
    """What switches it, which whoever lives in the van must know."""
    at = f", {together(list(pump.hours))}" if pump.hours else ""
    by = {"timer": "by its timer", "thermostat": "by its thermostat", "button": "by its button"}
    when = at or (", at all hours" if pump.control != "button" else "")
    return f"{pump.name}: brings hot water round {by[pump.control]}{when}"


def _told_pump(pump: Pump) -> str:
    return f"{pump.name}, {'electric' if pumps.is_electric(pump) else f'worked by {pump.kind}'}"


def _told_heater(build: Build, heater: Heater) -> str:
    units = build.van.units
    size = ""
    if heaters.has_store(heater):
        size = f", {show(heaters.store_volume(heater), 'volume', units)}"
    elif heaters.follows_flow(heater):
        size = ", warms as water flows"
    by = together([source.label for source in heaters.sources(heater)])
    return f"{heater.name}{size}" + (f", heated by {by}" if by else "")


def _handles(build: Build) -> Grid:
    letters = handle_letters(build)
    return grid(
        "Which handle does what",
        letters.items(),
        {
            "on it": 1,
            "handle": lambda row: row[0].rpartition(".")[2] if "." in row[0] else row[0],
            "what it does": lambda row: what_it_does(build, row[0]),
        },
        key="handles",
        note="along the pipe is open, across it is shut" if letters else "",
    )


def _lowest(build: Build) -> str:
    """The outlet that stands lowest of those that a hand opens, the first where several do."""
    high, rows = heights(build), table("fixtures", build.rows)
    by_hand = [
        f for f in build.fixture if f.kind not in rows or rows[f.kind]["sort"] not in BY_ITSELF
    ]
    return min(by_hand or build.fixture, key=lambda f: float(high[f.name])).name


def _leak(build: Build) -> Iterator[str]:
    if any(heaters.on_mains(h) for h in build.heater):
        yield "unplug from mains electricity before you touch anything that is wet"
    for pump in build.pump:
        yield (
            f"{pump.name} off: its switch, or its fuse" if pumps.is_electric(pump)
            else f"leave the {pump.name} alone" if "pump" in pump.name
            else f"leave the pump ({pump.name}) alone"
        )  # fmt: skip
    if build.shore_inlet:
        yield "shut the site's tap and take the hose off"
    if build.heater:
        yield f"{together([h.name for h in build.heater])} off, before it can run dry"
    if (pumps.electric(build) or build.shore_inlet) and build.fixture:
        yield f"open {_lowest(build)} until nothing comes: then there is no pressure left"
    if handle_letters(build):
        yield "shut the handle of the line that leaks; what the other handles feed may be used"
    fresh = [tank_words(t.name) for t in build.tank if t.holds == "fresh"]
    if fresh:
        where = " before the handles, or you can't tell where" if build.zone else " still"
        yield f"if it leaks{where}: empty the {together(fresh)} outside"
    yield "wipe it dry, and call before you use that line again"


def _fill(build: Build) -> Iterator[str]:
    units = build.van.units
    grey = [tank_words(t.name) for t in build.tank if t.holds == "grey"]
    if grey:
        yield f"empty the {together(grey)} first, where it is allowed"
    for tank in build.tank:
        if tank.holds == "fresh":
            yield (
                f"fill the {tank_words(tank.name)} with water that is fit to drink, by a clean "
                f"hose or can; it holds {show(volume(tank), 'volume', units)}"
            )
    for one in tank_sets(build):
        if len(one.tanks) > 1 and one.spilt > 1e-6:
            names = together([f"the {tank_words(tank.name)}" for tank in one.tanks])
            yield (
                f"{names} find one level by themselves: stop when the lowest is full, what is "
                f"filled in above that ({show(one.spilt, 'volume', units)}) runs out"
            )
    for pump in build.pump:
        yield f"{pump.name} on" if pumps.is_electric(pump) else f"work the {pump.name}"
    yield "open each outlet until no air comes" + (", cold first, then hot" if build.heater else "")
    if build.heater:
        names = together([h.name for h in build.heater])
        yield f"{names} on, once water comes out of every hot tap"


def _shore(build: Build) -> Iterator[str]:
    if not build.shore_inlet:
        return
    through = "through the regulator, " if build.regulator else ""
    device = ""
    if any(inlet.backflow == "none" for inlet in build.shore_inlet):
        devices = backflow_devices(build, "shore inlet", continuous=True)
        told = " or ".join(map(device_told, devices)) or "a backflow device, by the local rule"
        device = f"with {told}, "
    yield f"only {through}{device}by a hose that is sold for drinking water"
    if pumps.electric(build):
        yield f"{together([p.name for p in pumps.electric(build)])} off"
    yield "shut the site's tap when you leave the van, and before you take the hose off"


def _switch(build: Build) -> Iterator[str]:
    """How to go from one fresh tank to another, where handles or pumps part them."""
    fresh = [t for t in build.tank if t.holds == "fresh"]
    if len(fresh) < 2:
        return
    letters = handle_letters(build)
    own = {own_tank(build, v.name): v.name for v in build.shut_off}
    by = {t.name: own[t.name] for t in fresh if t.name in own}
    for tank in fresh:
        if tank.name in by:
            shut = together([f"{by[n]} ({letters[by[n]]})" for n in by if n != tank.name])
            mine = by[tank.name]
            others = f", then shut {shut}" if shut else ""
            yield f"to the {tank_words(tank.name)}: open {mine} ({letters[mine]}){others}"
    for selector in build.tank_selector:
        tanks = together([f"the {t}" for t in selected_tanks(build, selector.name).values()])
        yield f"turn {selector.name} ({letters[selector.name]}): it chooses between {tanks}"
    if by or build.tank_selector:
        return
    fed = {t.name: served(build, t.name) for t in fresh}
    taps = [tap for names in fed.values() for tap in names]
    if all(fed.values()) and len(taps) == len(set(taps)):
        for name, names in fed.items():
            yield f"the {tank_words(name)} feeds {together(list(names))} alone"
        yield "no pipe joins the tanks: none helps out when another is empty"
    else:
        yield "no handle parts the tanks: water comes from them as the pipes let it"


def _winter(shop: Shop) -> Iterator[str]:
    build = shop.build
    for heater in build.heater:
        yield f"{heater.name} off and cold"
    if build.shore_inlet:
        yield "hose off"
    yield f"open {every_tap(build)}"
    if shop.winter.drains:
        yield f"open: {'; '.join(shop.winter.drains)}"
    if shop.draining.pockets:
        amount = show(shop.draining.stays, "volume", build.van.units)
        yield (
            f"{amount} stays in the pipes all the same: blow it out, or fill with antifreeze, see "
            "Winter inside"
        )
    if pumps.electric(build):
        yield f"{together([p.name for p in pumps.electric(build)])} off, its fuse out"


def _spring(shop: Shop) -> Iterator[str]:
    later = [p.name for p in line_parts.left_out(shop.build, "disinfecting")]
    stay = f"; {together(later)} only after disinfecting" if later else ""
    yield f"shut every drain, put {screens(shop.build)} in{stay}"
    yield "fill as above, look at every joint, flush until nothing tastes or foams"
    if shop.dose:
        yield "disinfect before anybody drinks, see Disinfecting inside"


def _temperatures(shop: Shop, seen: Mapping[str, Seen]) -> Grid:
    """What was measured, one outlet a line; what was not says so."""
    asked = [
        c.name
        for c in shop.commissioning.checks
        if c.word == "temperature" and c.group in (ALONE, VALVES)
    ]

    def measured(name: str) -> str:
        one = seen.get(name)
        if one is None:
            return NOT_MEASURED
        value = f"{one.value}, {one.verdict} its band" if one.outside else one.value
        return f"{value} ({one.date})"

    return grid(
        "Temperatures measured",
        asked,
        {
            "at": lambda name: name.removesuffix(", temperature").removesuffix(", as set"),
            "measured": (measured, RIGHT),
        },
        key="temperatures",
        note="Measured as the van was left. They change with the water in the tank and the heater: "
        "try with your hand." if asked else "",
    )  # fmt: skip


def _service(shop: Shop, seen: Mapping[str, Seen], dates: Mapping[str, str]) -> Grid:
    """What is due when, from what was done."""
    build = shop.build
    done = {name: one.date for name, one in seen.items() if not one.outside}

    def last(*names: str) -> str:
        return min((done.get(n) or dates.get(n, "") for n in names), default="")

    heat = [c.name for c in shop.commissioning.checks if c.word == "temperature"
            and c.group in (ALONE, VALVES)]  # fmt: skip
    pressed = pumps.electric(build) or build.shore_inlet
    how = "under pressure" if pressed else "while water runs"
    rows = [(f"look at every joint, {how}", last("pressure test"))]
    if shop.dose:
        rows.append(("disinfect" + (", wash the strainer" if build.strainer else ""),
                     last("disinfected")))  # fmt: skip
    if heat:
        rows.append(("measure the temperatures", last(*heat)))
    for heater in build.heater:
        if heater.relief is not None:
            rows.append((f"relief valve of {heater.name}, by its lever, cold",
                         last(f"relief valve of {heater.name} lifted")))  # fmt: skip
    rows += [(f"air in the {a.name}", last(f"{a.name}, precharge")) for a in build.accumulator]
    rows += [
        (f"new {worn} for {one.part.name}{_after(one)}", "")
        for one in elements(build)
        if (worn := line_parts.worn_part(build, one.part))
    ]
    rows += [
        (f"burner and exhaust of {h.name}, by a licensed fitter", "")
        for h in build.heater
        if heaters.burns_fuel(h)
    ]
    return grid(
        "Service, each year",
        rows,
        {
            "what": 0,
            "last": (lambda row: row[1], WRITE),
            "due": (lambda row: a_year_on(row[1]), WRITE),
        },
        key="service",
        note="After any work on the water: a pressure test, then disinfect. Common practice, no "
        "source; the makers' instructions go first.",
    )


def _after(one: Element) -> str:
    """When it is due, where that is before the year is over."""
    return f", after {one.days:.0f} days in use" if one.days < 365 else ""


def a_year_on(day: str) -> str:
    """The date a year later, ``2026-03-07``; 28 February for a leap day, empty for none."""
    if not day:
        return ""
    then = date.fromisoformat(day)
    try:
        return then.replace(year=then.year + 1).isoformat()
    except ValueError:
        return then.replace(year=then.year + 1, day=28).isoformat()


def _cautions(build: Build) -> tuple[Caution, ...]:
    said = []
    if build.heater:
        said.append(Caution("WARNING", "Hot water scalds, children in seconds. Try it with your "
                            "hand first. Never light a heater that is not full."))  # fmt: skip
    if any(heaters.burns_fuel(h) for h in build.heater):
        said.append(Caution("WARNING", "Burning fuel makes carbon monoxide: exhaust clear, alarm "
                            "tested."))  # fmt: skip
    return tuple(said)
