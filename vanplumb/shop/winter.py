"""Draining, blowing out and filling for winter, and the first filling in spring."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..flow.elasticity import content_of
from ..formulas.frost import (
    antifreeze_mass,
    filling_mass,
    glycol_density,
    thinned_share,
    water_left,
)
from ..formulas.water import DENSITY_ROOM
from ..trip.cold.glycol import first_ice_works, freezing_point, share_for
from ..van.kinds import heaters, line_parts, pumps
from ..van.water_held import BESIDE, held_beside_runs
from ..words.brief import brief
from ..words.hazards import ANTIFREEZE
from ..words.report import Caution
from ..words.show import show, together
from ..words.tables import table
from ..words.unit_table import PSI
from ..words.work import Work, total
from .draining.draining import Draining

if TYPE_CHECKING:
    from ..van.model import Build
    from ..van.parts import LinePart

BLOW_MOST = 30 * PSI
"""Air pressure for blowing out, Pa: 30 psi; up to 50 is told of (common practice, no source)."""
LEFT = 0.15
"""Part of the water that stays in the runs after draining and blowing out (assumed); more where
the pockets that no drain empties hold more."""
TRAP = 2.5e-4
"""Antifreeze for the trap or drain of each fixture, m³ (assumed)."""


@brief
@dataclass(frozen=True)
class Winter:
    """A winter filling.  ``antifreeze`` is the volume to buy, ``freezes`` where first ice forms."""

    coldest: float
    share: float
    lines: float
    left: float
    antifreeze: float
    freezes: float
    drains: tuple[str, ...]
    steps: tuple[str, ...]
    first_filling: tuple[str, ...]
    cautions: tuple[Caution, ...]
    problems: tuple[str, ...]
    work: tuple[Work, ...]


def plan_winter(
    build: Build,
    draining: Draining | None = None,
    *,
    coldest: float | None = None,
    share: float = 0.5,
) -> Winter:
    """How to lay a build up.

    ``draining`` tells what stays once all is open, with its board if it has one; ``coldest`` is
    the coldest that the van will get, K (the build's night air if not said);
    ``share`` the glycol in the antifreeze that is bought.  What the heater holds is
    not in the sum: it is drained, and stays empty.
    """
    cold = build.van.outside if coldest is None else coldest
    runs = content_of(build, range(len(build.run)))
    held = [("runs", runs.volume)]
    if beside := float(held_beside_runs(build)):
        held.append((BESIDE, beside))
    whole = total("volume", held)
    lines = whole.value
    drained = draining or Draining(build)
    density = glycol_density.work(share_glycol=share)
    stays = max(LEFT, min(drained.stays / lines, 1.0)) if lines else LEFT
    left = water_left.work(share_left=stays, volume=lines, density=DENSITY_ROOM)
    wanted = share_for(cold)
    problems = []
    works: list[Work] = [*runs.works, *([whole] if len(held) > 1 else []), density, left]
    fill = lines
    if wanted is None or wanted >= share:
        problems.append(
            f"antifreeze with {share * 100:.0f} % glycol freezes at "
            f"{show(freezing_point(share), 'temperature', build.van.units)}: "
            f"not cold enough for {show(cold, 'temperature', build.van.units)}"
        )
    elif wanted > 0:
        needed = antifreeze_mass.work(
            share_glycol=share, share_wanted=wanted, mass_water=left.value
        )
        works.append(needed)
        fill = max(lines, needed.value / density.value)
    filled = filling_mass.work(volume=fill, density=density.value)
    after = thinned_share.work(
        share_glycol=share, mass=filled.value, mass_water=max(left.value, 1e-9)
    )
    ice = first_ice_works(after.value)
    bowls = line_parts.wetted(build, "antifreeze")
    traps = ("drains and traps", len(build.fixture) * TRAP)
    every = total("volume", [("runs", fill), *bowls, traps])
    works += [filled, after, *ice, every]
    return Winter(
        cold, share, lines, stays * lines, every.value, ice[-1].value,
        drained.opened, _steps(build, drained, every.value), _first_filling(build),
        _cautions(build), tuple(problems), tuple(works),
    )  # fmt: skip


def hot_and_cold(build: Build) -> str:
    """ ", hot and cold" in a van that heats water, else nothing."""
    return ", hot and cold" if build.heater else ""


def every_tap(build: Build) -> str:
    """All that is opened so that water may leave, of what the van has."""
    said = [f"every tap{hot_and_cold(build)}"]
    if build.shut_off or build.zone:
        said.append("every shut-off")
    return " and ".join(said)


def screens(build: Build) -> str:
    """What catches dirt on the way and is taken out before a dose, of what the van has."""
    return "filters and aerators" if build.strainer else "aerators"


def _steps(build: Build, drained: Draining, antifreeze: float) -> tuple[str, ...]:
    units, both = build.van.units, hot_and_cold(build)
    heater = ["heater off and cold, then drained"] if build.heater else []
    electric = bool(pumps.electric(build))
    empties = "let the tank run out at the taps"
    if build.pump:
        empties = "work the pump until no more water comes"
    if electric:
        empties = "run the pump dry for some seconds so that its head empties"
    ways = ["the shore inlet"] if build.shore_inlet else []
    ways += ["the pump's outlet"] if build.pump else []
    blow = " or ".join(ways) or "the first run, taken off the tank"
    return (
        *heater,
        *_round_the_heater(build, units),
        f"open {every_tap(build)}"
        + (f", and every drain: {'; '.join(drained.opened)}" if drained.opened else ""),
        empties,
        f"blow out by {blow}, {show(BLOW_MOST, 'pressure', units)} "
        "of air at most, one outlet after another",
        *_kept(drained, units),
        *_line_parts(build),
        f"then draw in antifreeze for drinking water systems, {show(antifreeze, 'volume', units)} "
        f"in all, until it comes undiluted out of every outlet{both}",
        *through_loops(build),
        *_machines(build),
        "pour some into every drain; leave taps half open",
        *(["pump off, its fuse out until it is needed"] if electric else []),
        "write the day and the product into the record",
    )


def _round_the_heater(build: Build, units: str) -> tuple[str, ...]:
    """How antifreeze gets to the hot taps past each heater."""
    said = []
    for heater in build.heater:
        if heater.bypass == "three valves":
            said.append(f"{heater.name}: shut its two valves and open its bypass between them")
        elif heater.bypass == "one valve":
            said.append(f"{heater.name}: open its bypass, and shut the valves at its two ends")
        else:
            much = show(float(heaters.content(heater)), "volume", units)
            said.append(
                f"{heater.name} has no bypass: antifreeze gets to the hot taps only through it, "
                f"which takes {much} more; else blow the hot lines out and leave them empty"
            )
    return tuple(said)


def _line_parts(build: Build) -> tuple[str, ...]:
    """What is taken out before antifreeze comes, and where it is drawn in."""
    said = [*line_parts.out_of_the_way(build, "antifreeze")]
    said += [
        f"put the hose of {part.name} into the antifreeze and turn its valve to it"
        for part in build.line_part
        if line_parts.row_of(build, part)["sort"] == "pick-up"
    ]
    return tuple(said)


def through_loops(build: Build) -> tuple[str, ...]:
    """What a loop without an outlet of its own needs, so that what is drawn in gets there too."""
    return tuple(
        f"run {pump.name} for some minutes meanwhile: no outlet draws through its loop"
        for pump in build.recirculation_pump
    )


def _machines(build: Build) -> tuple[str, ...]:
    """Outlets that no hand holds open."""
    rows = table("fixtures", build.rows)
    said = {
        "washing machine": "let {} take some in, hot and cold if it has both, and empty itself, as "
        "its sheet says",
        "toilet": "flush {} until it comes there",
    }
    return tuple(
        said[sort].format(f.name)
        for f in build.fixture
        if f.kind in rows and (sort := str(rows[f.kind]["sort"])) in said
    )


def _kept(drained: Draining, units: str) -> tuple[str, ...]:
    """What blowing out must reach, as no drain does."""
    return tuple(
        f"no drain empties this, so blow it out until no more water comes: {drained.holds(one)} "
        f"({show(one.volume, 'volume', units)}, lowest at {drained.where(one)})"
        for one in drained.pockets
    )


def _first_filling(build: Build) -> tuple[str, ...]:
    heater = [
        f"open the valves of {h.name} and shut its bypass: left open, hot taps get cold water"
        for h in build.heater
        if h.bypass != "none"
    ]
    out = line_parts.left_out(build, "antifreeze")
    later = line_parts.left_out(build, "disinfecting")
    stay = f"; what was kept out of the antifreeze stays out: {_named(out)}" if out else ""
    bleed = ["heater full (water out of every hot tap) before it is lit"] if build.heater else []
    run = "run the pump" if pumps.electric(build) else "work the pump" if build.pump else ""
    order = ": cold first, then hot" if build.heater else ""
    shut = "with all outlets shut"
    holds = (
        f"while the pump holds pressure {shut}"
        if pumps.electric(build)
        else (
            "while somebody works the pump" if build.pump else f"while the tank stands full {shut}"
        )
    )
    return (
        f"drains shut, {screens(build)} in{stay}",
        *heater,
        f"fill the tank, {run + ', ' if run else ''}open outlets from the nearest to the farthest",
        *_brim_full(build),
        f"let each run until no air comes{order}",
        *_let_air_out(build),
        *bleed,
        f"look at every joint {holds}",
        *_flushed(build, [p for p in out if p not in later], later),
    )  # fmt: skip


def _named(parts: Iterable[LinePart]) -> str:
    return together([part.name for part in parts])


def _flushed(
    build: Build, before: Sequence[LinePart], later: Sequence[LinePart]
) -> tuple[str, ...]:
    """The end of a first filling; some parts come back before a dose, others after it only."""
    flush = "after antifreeze: flush until nothing tastes, foams or colours"
    if not before and not later:
        return (f"{flush}, then disinfect",)
    return (
        flush,
        *line_parts.back_in(build, before),
        "then disinfect" + (f"; {_named(later)} only after that" if later else ""),
        *line_parts.back_in(build, later),
    )


def _brim_full(build: Build) -> tuple[str, ...]:
    """What no pressure test reaches is looked at with the tank full."""
    to = {
        "filler": any(t.fill_diameter is not None for t in build.tank),
        "vent": any(t.vent_diameter is not None for t in build.tank),
        "overflow": any(t.overflow_diameter is not None for t in build.tank),
    }
    hoses = together([name for name, there in to.items() if there])
    return (f"look at the hoses of {hoses} with the tank full to the brim",) if hoses else ()


def _let_air_out(build: Build) -> tuple[str, ...]:
    """Vents that somebody opens, selectors and loops, which hold air back at a filling."""
    said = [
        f"open {vent.name} until water comes, and shut it"
        for vent in build.air_vent
        if vent.kind == "by hand"
    ]
    said += [f"turn {one.name} to each tank in turn" for one in build.tank_selector]
    said += [f"run {pump.name} until no air is heard in it" for pump in build.recirculation_pump]
    return tuple(said)


def _cautions(build: Build) -> tuple[Caution, ...]:
    lit = " A heater that is lit while dry is destroyed." if build.heater else ""
    return (
        ANTIFREEZE.caution(),
        Caution(
            "NOTICE",
            "The burst temperature on a label is far below the first ice; product that has met "
            f"water freezes earlier.{lit}",
        ),
    )
