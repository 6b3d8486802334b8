"""Whether the parts of a build fit each other: names, pointers, ports.

Whether what was said about one part makes sense together.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise
from typing import Any

from ...words.show import show
from ...words.tables import table
from ..fittings import fittings_of
from ..kinds.heaters import KINDS as HEATERS
from ..kinds.pumps import KINDS as PUMPS
from ..model import Build
from ..parts import Component, Fixture, Heater, Manifold, MixingValve, Pump, Run, Tank
from ..pointers import Port, WiringError, resolve
from ..port_ends import port_names
from ..problems import listed, nearest, quoted
from ..region import RULES_BY_KEY, is_plastic, region_of, rules_of
from ..tank_heads import depth_over_diameter
from ..whole_van import Fuel, Shop, Situation, Use
from .values import Tables, minutes

Trouble = tuple[str, str]

TANK_NEEDS: dict[str, tuple[str, ...]] = {
    "box": ("length", "width", "height"),
    "lying cylinder": ("length", "diameter"),
    "standing cylinder": ("diameter", "height"),
    "stepped box": ("length", "width", "height", "step_length", "step_height"),
    "wedge": ("length", "width", "height", "height_low"),
    "stated": ("volume",),
}
LARGEST_TANK = 10.0
LEGS_WITHIN = 0.002
"""m by which legs and length of a run may differ: each is rounded."""


def tank(t: Tank, tables: Tables) -> Iterator[Trouble]:
    for key in TANK_NEEDS.get(t.shape, ()):
        if getattr(t, key) is None:
            yield key, f"is missing: a tank of the shape {t.shape} needs it"
    for key in ("length", "width", "height", "diameter"):
        if (getattr(t, key) or 0) > LARGEST_TANK:
            yield key, f"is more than {LARGEST_TANK:g} m, too large for a van"
    if t.shape == "stepped box":
        if (t.step_length or 0) >= (t.length or 1e9):
            yield "step_length", "must be less than the length"
        if (t.step_height or 0) >= (t.height or 1e9):
            yield "step_height", "must be less than the height"
    if t.shape == "wedge" and (t.height_low or 0) > (t.height or 1e9):
        yield "height_low", "must not be more than the height"
    if t.heads != "flat":
        yield from _heads(t)
    inside = t.diameter if t.shape == "lying cylinder" else t.height
    if inside is not None and t.pickup_height >= inside:
        yield "pickup_height", "must be less than the tank's height"


def _heads(t: Tank) -> Iterator[Trouble]:
    along = {"lying cylinder": "length", "standing cylinder": "height"}.get(t.shape)
    if along is None:
        yield "heads", f"are of a cylinder, but the shape is {t.shape}"
    elif t.diameter is not None and getattr(t, along) is not None:
        least = 2 * depth_over_diameter(t.heads) * t.diameter
        if getattr(t, along) < least:
            told = show(least, "length", "SI")
            yield along, f"must be {told} or more: it is over both {t.heads} heads"


def pump(p: Pump, tables: Tables) -> Iterator[Trouble]:
    row = tables("pumps").get(p.curve) if p.curve else None
    if row is not None and row["kind"] != p.kind:
        yield "curve", f"is of a pump of the kind {row['kind']}, but kind says {p.kind}"
    sizes = {key: len(getattr(p, key)) for key in ("curve_flow", "curve_pressure", "curve_current")}
    if p.curve_flow or p.curve_pressure:
        yield from _curve(p, sizes)
    elif PUMPS[p.kind].by_motor and not p.curve:
        yield (
            "",
            'needs its curve: a row such as curve = "12 V 2.8 gpm 40 psi", or '
            + ("curve_flow and curve_pressure"),
        )
    if PUMPS[p.kind].by_strokes and p.stroke_volume is None and not p.curve:
        yield "stroke_volume", "is missing: a foot or hand pump needs it, or a curve row"
    usual = row or {"cut_in": None, "cut_out": None}
    low = usual["cut_in"] if p.cut_in is None else p.cut_in
    high = usual["cut_out"] if p.cut_out is None else p.cut_out
    if low is None or high is None or low < high:
        return
    if p.cut_in is None:
        yield "cut_out", f"must be more than the cut-in of its curve {p.curve}"
    else:
        where = "cut_out" if p.cut_out is not None else f"the cut-out of its curve {p.curve}"
        yield "cut_in", f"must be less than {where}"


def _curve(p: Pump, sizes: dict[str, int]) -> Iterator[Trouble]:
    if p.curve:
        yield "curve", "and curve_flow are both given: give one of them"
    if sizes["curve_flow"] != sizes["curve_pressure"]:
        yield (
            "curve_pressure",
            (f"has {sizes['curve_pressure']} values, but curve_flow has {sizes['curve_flow']}"),
        )
        return
    if sizes["curve_flow"] < 2:
        yield "curve_flow", "needs two points or more"
    if sizes["curve_current"] not in (0, sizes["curve_flow"]):
        yield (
            "curve_current",
            (f"has {sizes['curve_current']} values, but curve_flow has {sizes['curve_flow']}"),
        )
    points = list(zip(p.curve_pressure, p.curve_flow, strict=True))
    steps = list(pairwise(points))
    if any(b[0] <= a[0] for a, b in steps):
        yield "curve_pressure", "must rise from each point to the next"
    elif any(b[1] >= a[1] for a, b in steps):
        yield "curve_flow", "must fall as the pressure rises"
    if any(flow < 0 or pressure < 0 for pressure, flow in points):
        yield "curve_flow", "and curve_pressure must not be negative"
    if any(current < 0 for current in p.curve_current):
        yield "curve_current", "must not be negative"


def heater(h: Heater, tables: Tables) -> Iterator[Trouble]:
    if HEATERS[h.kind].needs_store and h.volume is None:
        yield "volume", f"is missing: a {h.kind} heater needs it"
    if HEATERS[h.kind].needs_coolant and not h.coolant_power:
        yield "coolant_power", "is missing: a coolant coil needs it"
    if not (h.element_power or h.burner_power or h.coolant_power):
        yield "", "has no heat: give element_power, burner_power or coolant_power"
    if h.burner_power and not h.fuel:
        yield "fuel", "is missing: a burner needs it"
    if h.power_least > max(h.burner_power, h.element_power, h.coolant_power):
        yield "power_least", "must not be more than the heater's power"


def mixing_valve(m: MixingValve, tables: Tables) -> Iterator[Trouble]:
    if m.set_hot is not None and m.set_hot < m.setting:
        yield "set_hot", "must not be colder than the setting"
    if m.set_cold is not None and m.set_cold > m.setting:
        yield "set_cold", "must not be hotter than the setting"
    if m.set_hot is not None and m.set_cold is not None and m.set_hot <= m.set_cold:
        yield "set_hot", "must be hotter than set_cold"


def run(r: Run, tables: Tables) -> Iterator[Trouble]:
    if abs(r.rise) > r.length * 1.001:
        yield "rise", "must not be more than the length of the run"
    if r.start and r.start == r.end:
        yield "to", "is where the run comes from"
    if r.legs:
        yield from _legs(r, tables)


def _legs(r: Run, tables: Tables) -> Iterator[Trouble]:
    """Legs lie between elbows, and are as long together as the run."""
    rows = tables("fittings")
    elbows = sum(
        many for name, many in r.fittings
        if name in rows and rows[name]["kind"] == "elbow" and rows[name]["tube_ends"]
    )  # fmt: skip
    if len(r.legs) != elbows + 1:
        yield (
            "legs",
            f"has {len(r.legs)} lengths, but {elbows} elbows part the run into {elbows + 1}",
        )
    elif abs(sum(r.legs) - r.length) > LEGS_WITHIN:
        apart = show(abs(sum(r.legs) - r.length), "length", "SI")
        yield "legs", f"and length differ by {apart}: the legs together are the run"


def use(u: Use, tables: Tables) -> Iterator[Trouble]:
    if (u.duration is None) == (u.volume is None):
        said = "are both given" if u.duration is not None else "are both missing"
        yield "duration", f"and volume {said}: a use needs one of them"
    if (u.per_person is None) == (u.per_day is None):
        said = "are both given" if u.per_day is not None else "are both missing"
        yield "per_person", f"and per_day {said}: a use needs one of them"


def fuel(f: Fuel, tables: Tables) -> Iterator[Trouble]:
    if f.mass is not None and f.volume is not None:
        yield "mass", "and volume are both given: give one of them"
    if f.mass is None and f.volume is None:
        yield "mass", "and volume are both missing: give one of them"


def shop(s: Shop, tables: Tables) -> Iterator[Trouble]:
    if minutes(s.day_start) >= minutes(s.day_end):
        yield "day_end", "must be later than day_start"


RULES: dict[type, Callable[[Any, Tables], Iterator[Trouble]]] = {
    Tank: tank,
    Pump: pump,
    Heater: heater,
    MixingValve: mixing_valve,
    Run: run,
    Use: use,
    Fuel: fuel,
    Shop: shop,
}


Say = Callable[[object, str, str], None]
"""Called with a part, a key of it (or nothing) and what is wrong."""


def check_joins(build: Build, say: Say) -> None:
    """Say all that is wrong between the parts."""
    _names(build, say)
    _zones(build, say)
    _runs(build, say)
    _rules_of_the_place(build, say)
    _ends(build, say)
    _hung(build, say)
    for fixture in build.fixture:
        if fixture.grey:
            _grey(build, fixture, say)
    for use in build.use:
        _fixture(build, use, "fixture", (use.fixture,), say)
    for situation in build.situation:
        _fixture(build, situation, "open", situation.open, say)


def _rules_of_the_place(build: Build, say: Say) -> None:
    """A rule that was chosen must be one of the region, and one that lets the tube be tested so."""
    region = region_of(build)
    for key, name in RULES_BY_KEY.items():
        chosen = getattr(build.limits, key)
        if not chosen or chosen not in table(name, build.rows):
            continue
        known = rules_of(build, name)
        if chosen not in known:
            say(
                build.limits,
                key,
                f"is no rule of the region {region.key}: {quoted(chosen)}; "
                f"it has {listed(known, 30) if known else 'none that is known'}",
            )
    rule = rules_of(build, "test_rules").get(build.limits.test_rule)
    if rule is not None and rule["plastic"] is False and is_plastic(build):
        say(
            build.limits,
            "test_rule",
            f"is not for plastic tube, and this build has some: {quoted(rule.name)}, "
            f"{rule['about']}",
        )


def _ends(build: Build, say: Say) -> None:
    """Ends are said of ports that there are, and fittings are named that there are."""
    for component in build.components:
        known = port_names(build, component)
        for port, _ in component.ends:
            if port not in known:
                near = nearest(port, known) or f"; it has {listed(known)}"
                say(
                    component,
                    "ends",
                    f"names no port of {quoted(component.name)}: {quoted(port)}{near}",
                )
    named = [(run, key) for run in build.run for key in ("start_fittings", "end_fittings")]
    asked = [(run, key) for run, key in named if getattr(run, key)]
    if not asked:
        return
    parts = fittings_of(build.rows).parts
    for run, key in asked:
        for name in getattr(run, key):
            if name not in parts:
                say(run, key, f"names no fitting: {quoted(name)}{nearest(name, parts)}")


def _hung(build: Build, say: Say) -> None:
    """A pump that hangs in a tank: which there is, and no run leads to the pump as well."""
    tanks = [tank.name for tank in build.tank if tank.holds == "fresh"]
    for one in build.pump:
        if one.in_tank and one.in_tank not in tanks:
            near = nearest(one.in_tank, tanks)
            say(one, "in_tank", f"names no fresh tank of this build: {quoted(one.in_tank)}{near}")
        elif one.in_tank and any(run.end.partition(".")[0] == one.name for run in build.run):
            say(one, "in_tank", "must not be said where a run leads to the pump")


def _names(build: Build, say: Say) -> None:
    seen: dict[str, Component] = {}
    for component in build.components:
        if not component.name:
            continue
        if component.name in seen:
            say(component, "name", f"is used twice: {quoted(component.name)}")
        seen.setdefault(component.name, component)
    named: tuple[Sequence[Use | Situation], ...] = (build.use, build.situation)
    for parts in named:
        known: set[str] = set()
        for part in parts:
            if part.name in known:
                say(part, "name", f"is used twice: {quoted(part.name)}")
            known.add(part.name)


def _zones(build: Build, say: Say) -> None:
    manifolds = [m.name for m in build.manifold]
    seen: set[tuple[str, str]] = set()
    for zone in build.zone:
        if zone.manifold and zone.manifold not in manifolds:
            near = nearest(zone.manifold, manifolds)
            say(zone, "manifold", f"names no manifold of this build: {quoted(zone.manifold)}{near}")
        if zone.name and (zone.manifold, zone.name) in seen:
            say(zone, "name", f"is used twice in {quoted(zone.manifold)}: {quoted(zone.name)}")
        if zone.name in Manifold.inlets:
            say(zone, "name", f"must not be {quoted(zone.name)}: that is the manifold's own port")
        seen.add((zone.manifold, zone.name))


def _runs(build: Build, say: Say) -> None:
    taken: dict[Port, int] = {}
    shared = {c.name for c in (*build.tee, *build.tank)}
    for number, run in enumerate(build.run, 1):
        for key, pointer, leaving in (("from", run.start, True), ("to", run.end, False)):
            if not pointer:
                continue
            try:
                port = resolve(build, pointer, leaving)
            except WiringError as error:
                say(run, key, str(error))
                continue
            if port in taken and port.component not in shared:
                say(
                    run,
                    key,
                    f"takes {quoted(str(port))}, where run {taken[port]} is already: "
                    "part them with a [[tee]]",
                )
            taken.setdefault(port, number)
    for fixture in build.fixture:
        used = [p for p in fixture.inlets if Port(fixture.name, p) in taken]
        if "inlet" in used and len(used) > 1:
            say(
                fixture,
                "",
                f"has a run to {quoted(fixture.name)} and one to {quoted(f'{fixture.name}.hot')} "
                f"or {quoted(f'{fixture.name}.cold')}: name the ports of both",
            )


def _grey(build: Build, fixture: Fixture, say: Say) -> None:
    tanks = [t.name for t in build.tank]
    if fixture.grey not in tanks:
        near = nearest(fixture.grey, tanks)
        say(fixture, "grey", f"names no tank of this build: {quoted(fixture.grey)}{near}")
        return
    tank = build.component(fixture.grey)
    if isinstance(tank, Tank) and tank.holds != "grey":
        say(fixture, "grey", f"names {quoted(fixture.grey)}, which holds {tank.holds} water")


def _fixture(build: Build, part: object, key: str, names: tuple[str, ...], say: Say) -> None:
    known = [f.name for f in build.fixture]
    for name in names:
        if name and name not in known:
            near = nearest(name, known) or (f"; there are {listed(known)}" if known else "")
            say(part, key, f"names no fixture of this build: {quoted(name)}{near}")
