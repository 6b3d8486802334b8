"""Disinfecting by the way of the region: what is dosed, how much, how long, how it is got out."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from ..flow.elasticity import content_of
from ..formulas.disinfection import (
    after_refill,
    bleach_volume,
    chlorine_exposure,
    flushing_volume,
    granule_mass,
    strength_by_weight,
)
from ..trip.stay.feeds import sources
from ..van.kinds import heaters, line_parts
from ..van.main_parts import as_joined
from ..van.region import NOT_KNOWN, disinfection, region_of, rules_of
from ..van.tank_shapes import heel, volume
from ..van.water_held import BESIDE, held_beside_runs, stretches
from ..words.brief import brief
from ..words.report import Caution
from ..words.show import show, together
from ..words.tables import Row, table
from ..words.work import Work, total
from .winter import hot_and_cold, screens, through_loops

if TYPE_CHECKING:
    from ..van.model import Build

LEFT_LEAST = 0.02
"""Part of the water that stays behind when a tank is drained, at the least (assumed)."""
OLD_LEFT = 0.05
"""Part of a store's old water that may be left in it when the time begins (assumed)."""
STRIP_SHARE = 0.25
"""How far a test strip may be off, as a share of what it shows (typical, from memory)."""


@brief
@dataclass(frozen=True)
class Dose:
    """A disinfection.  ``bleach`` is a volume (liquid) or a mass (granules), SI.

    ``refills`` is how often the tank must be drained and filled before the residual is fit
    to drink (``drinking``), by dilution alone.  ``through_heater`` must be drawn at the hot
    outlets before a cold store, which mixes, holds the dose; a layered one needs its own
    content only.
    """

    way: Row
    chlorine: Row
    volume: float
    tank: float
    lines: float
    bleach: float
    by_mass: bool
    duration: float
    exposure: float
    residual: float
    refills: int
    drinking: float
    through_heater: float
    steps: tuple[str, ...]
    cautions: tuple[Caution, ...]
    work: tuple[Work, ...]
    thinned: tuple[Work, ...]
    problems: tuple[str, ...] = ()

    @property
    def agent(self) -> str:
        """What works in it: chlorine or hydrogen peroxide."""
        return str(self.way["agent"])

    def told(self, units: str) -> str:
        """The dose as a builder measures it: ``1.6 fl oz``, ``47 mL``, ``8 g``."""
        if self.by_mass:
            return f"{self.bleach * 1000:.0f} g"
        return show(self.bleach, "volume_small", units)


def _held(build: Build) -> tuple[float, tuple[Work, ...]]:
    """All the water to be dosed, m³, with its steps."""
    runs = content_of(build, range(len(build.run)))
    parts = [(t.name, volume(t)) for t in build.tank if t.holds == "fresh"]
    parts += [(h.name, h.volume) for h in build.heater if h.volume]
    parts += line_parts.wetted(build, "disinfecting")
    parts.append(("runs", runs.volume))
    if beside := float(held_beside_runs(build)):
        parts.append((BESIDE, beside))
    whole = total("volume", parts)
    return whole.value, (*runs.works, whole)


def plan_dose(
    build: Build,
    way: str = "",
    chlorine: str = "",
    *,
    by_weight: float | None = None,
) -> Dose:
    """How to disinfect a build, by a way of its region (the usual one if none is named).

    The tank is dosed for all the water, since it also goes into the runs and the heater.
    ``by_weight`` is the label's share of chlorine by weight, if it says so.  KeyError for an
    unknown way or chlorine, ValueError for a way of another region, or for what the way
    does not work with.
    """
    build = as_joined(build)
    rule = _way(build, way)
    agent = _agent(build, rule, chlorine)
    whole, contents = _held(build)
    tank = sum(volume(t) for t in build.tank if t.holds == "fresh")
    wanted = rule.number("concentration")
    by_mass = agent["form"] == "granules"
    work: list[Work] = [*contents]
    if by_mass:
        work.append(granule_mass.work(concentration=wanted, volume=whole, share=agent["share"]))
    else:
        strength = agent.number("strength")
        if by_weight is not None:
            made = strength_by_weight.work(share=by_weight, density=agent.number("density"))
            work.append(made)
            strength = made.value
        work.append(
            bleach_volume.work(concentration=wanted, volume=whole, concentration_bleach=strength)
        )
    bleach = work[-1].value
    stands = rule.number("duration")
    if rule.name == "mains" and build.van.cold_water < 278.15:
        stands *= 2
    exposure = chlorine_exposure.work(concentration=wanted, duration=stands)
    work.append(exposure)
    drinking = rule["drinking"] or region_of(build).row.number("drinking_chlorine")
    heels = sum(heel(t) for t in build.tank if t.holds == "fresh")
    left = max(heels, LEFT_LEAST * whole)
    refills = _refills(wanted, left, whole, drinking)
    thinned = after_refill.work(
        concentration=wanted, volume_left=left, volume=whole, count_fillings=refills
    )
    stores = sum(heaters.store_volume(h) for h in build.heater)
    through = 0.0
    if stores:
        flushed = flushing_volume.work(
            volume=stores, concentration=wanted, concentration_end=OLD_LEFT * wanted
        )
        work.append(flushed)
        through = flushed.value
    dose = Dose(
        rule, agent, whole, tank, whole - tank, bleach, by_mass, stands, exposure.value,
        thinned.value, refills, drinking, through, (), _cautions(build, rule, agent), tuple(work),
        (thinned,), _problems(build, rule),
    )  # fmt: skip
    return Dose(**{**dose.__dict__, "steps": _steps(build, dose)})


def _way(build: Build, name: str) -> Row:
    if not name:
        usual = disinfection(build)
        if usual is None:
            raise ValueError(f"a way to disinfect is {NOT_KNOWN}, {region_of(build).title}")
        return usual
    row = table("disinfection_rules", build.rows)[name]
    if name not in rules_of(build, "disinfection_rules"):
        raise ValueError(f"{name} is no way of this region, {region_of(build).title}")
    return row


def agents_of(build: Build, way: Row) -> tuple[str, ...]:
    """What a way can be done with in the build's region."""
    known = rules_of(build, "bleaches").values()
    return tuple(r.name for r in known if r["agent"] == way["agent"])


def _agent(build: Build, way: Row, name: str) -> Row:
    known = agents_of(build, way)
    if not name:
        usual = str(region_of(build).row["bleach"])
        name = usual if usual in known else known[0]
    row = table("bleaches", build.rows)[name]
    if row["agent"] != way["agent"]:
        raise ValueError(f"{way.name} is done with {way['agent']}, and {name} is {row['agent']}")
    return row


def _problems(build: Build, way: Row) -> tuple[str, ...]:
    most, units = way["temperature_greatest"], build.van.units
    if most is not None and build.van.cold_water > most:
        return (
            f"the water is at {show(build.van.cold_water, 'temperature', units)}, warmer than the "
            f"{show(most, 'temperature', units)} of {way.name}",
        )
    return ()


def _refills(start: float, left: float, whole: float, drinking: float) -> int:
    if whole <= 0 or start <= drinking:
        return 1
    return max(1, math.ceil(math.log(start / drinking) / math.log(whole / left) - 1e-9))


def strip_says(
    way: Row, lowest: float | None, lowest_after: float | None = None
) -> tuple[str, str]:
    """What strips at the outlets say: "passed", "failed" or "can't tell", and why.

    ``lowest`` is the weakest outlet when the time begins, ``lowest_after`` when it is over,
    kg/m³; None where none was read.  A strip is off by a quarter either way.
    """
    found = []
    wanted = way.number("concentration")
    for value, asked, when in (
        (lowest, wanted, "when the time began"),
        (lowest_after, way["residual_least"], "when it was over"),
    ):
        if asked is None:
            continue
        if value is None:
            found.append(("can't tell", f"no strip was read {when}"))
        elif value < asked * (1 - STRIP_SHARE):
            found.append(("failed", f"too weak {when}: do it again"))
        elif value < asked * (1 - 1e-9):
            found.append(("can't tell", f"within what a strip may be off {when}: read again"))
        else:
            found.append(("passed", f"strong enough {when}"))
    for result in ("failed", "can't tell", "passed"):
        why = [said for verdict, said in found if verdict == result]
        if why:
            return result, "; ".join(why)
    return "can't tell", "the way says nothing to read"


def shares(build: Build, dose: Dose) -> tuple[tuple[str, float, Dose], ...]:
    """What of the dose goes into each fresh tank: its name, what it holds, its own dose.

    Runs, heaters and filters are dosed from the tanks that feed them, in proportion to their
    sizes where several do; what no tank feeds, from all.
    """
    fresh = {t.name: volume(t) for t in build.tank if t.holds == "fresh"}
    dosed = dict(fresh)
    for behind, content in _contents(build):
        feeding = behind & set(fresh) or set(fresh)
        whole = sum(fresh[name] for name in feeding)
        for name in feeding:
            dosed[name] += content * (fresh[name] / whole if whole > 0 else 1 / len(feeding))
    whole = sum(dosed.values())
    return tuple(
        (name, held, replace(dose, bleach=dose.bleach * dosed[name] / whole))
        for name, held in fresh.items()
    )


def _contents(build: Build) -> Iterator[tuple[set[str], float]]:
    """What each run, heater and line part holds, m³, with the sources of its water by name."""
    known: dict[str, set[str]] = {}

    def behind(name: str) -> set[str]:
        if name not in known:
            known[name] = set(sources(build, name))
        return known[name]

    tanks = {tank.name for tank in build.tank}
    for number, (first, _) in enumerate(build.run_ends):
        start = first.component
        yield {start} if start in tanks else behind(start), content_of(build, [number]).volume
    for heater in build.heater:
        if heater.volume:
            yield behind(heater.name), heater.volume
    for name, held in line_parts.wetted(build, "disinfecting"):
        yield behind(name), held
    for one in stretches(build):
        yield behind(one.component), one.volume


def _into_tanks(build: Build, dose: Dose) -> str:
    units = build.van.units
    each = shares(build, dose) if dose.tank > 0 else ()
    if len(each) < 2:
        into = (
            f"pour it into the tank and fill up ({show(dose.tank, 'volume', units)})"
            if dose.tank
            else "and feed it in where the water comes in, before anything else"
        )
        return f"stir {dose.told(units)} of {dose.chlorine.name} into a bucket of water, {into}"
    told = "; ".join(
        f"{part.told(units)} for {name} ({show(held, 'volume', units)})"
        for name, held, part in each
    )
    return (
        f"stir {dose.chlorine.name} into a bucket of water for each tank, pour it in and fill the "
        f"tank up: {told}"
    )


def _steps(build: Build, dose: Dose) -> tuple[str, ...]:
    units = build.van.units
    heat = ["heater off and cold, its fuel and mains electricity cut"] if build.heater else []
    last = f"{dose.way['about']}" if dose.way["about"] else ""
    times = {1: "once", 2: "twice"}.get(dose.refills, f"{dose.refills} times")
    tank, heater = ["tank"] if dose.tank else [], ["heater"] if build.heater else []
    both = hot_and_cold(build)
    often = f"drain {together([*tank, 'runs', *heater])}, fill with fresh water and draw, {times}"
    top = "; top up the tank" if dose.tank else ""
    wanted = show(dose.way.number("concentration"), "concentration", units)
    hot = []
    if dose.through_heater:
        much = show(dose.through_heater, "volume", units)
        hot = [
            f"draw {much} in all at the hot outlets: a cold store mixes what comes in with what is "
            "in it, so its own content once leaves a third of the old water; dose what you top up"
        ]
    least = dose.way["residual_least"]
    after = []
    if least is not None:
        after = [f"a strip again: less than {show(least, 'concentration', units)} left at any "
                 "outlet, do it again"]  # fmt: skip
    smell = "until it smells of chlorine" if dose.agent == "chlorine" else "until a strip shows it"
    return (
        f"flush the {together([*tank, 'runs'])} with clean water first",
        *heat,
        f"take out {screens(build)}",
        *line_parts.out_of_the_way(build, "disinfecting"),
        _into_tanks(build, dose),
        f"draw at every outlet{both}, {smell}{top}",
        *(f"again with {one.name} turned to the other tank" for one in build.tank_selector),
        *through_loops(build),
        *hot,
        f"a test strip at every outlet: {wanted} or more before the time begins",
        f"let it stand for {show(dose.duration, 'duration', units)}"
        + ("" if dose.way["duration_greatest"] == dose.duration else " at least")
        + (f" ({last})" if last else ""),
        *after,
        f"{often} at least",
        f"the rinse goes {region_of(build).row['rinse']}",
        f"measure: under {show(dose.drinking, 'concentration', units)} to drink, by a test strip",
        f"put {screens(build)} back",
        *line_parts.back_in(build, line_parts.left_out(build, "disinfecting")),
    )


def _cautions(build: Build, way: Row, agent: Row) -> tuple[Caution, ...]:
    about = f"{agent['about'][0].upper()}{agent['about'][1:]}."
    burns = (
        "Chlorine burns eyes and lungs: goggles, gloves, open doors. Never mix it with acid or "
        f"ammonia. {about}"
        if way["agent"] == "chlorine"
        else "Hydrogen peroxide burns skin and eyes and gives off oxygen: goggles, gloves, the "
        f"tank's vent open. Never mix it with chlorine. {about}"
    )
    lead = ""
    if region_of(build).key == "US":
        lead = " Lead in what is wetted: 0.25 % by weighted area at most (NSF/ANSI/CAN 372)."
    return (
        Caution("WARNING", burns),
        Caution(
            "WARNING",
            "Nobody drinks until a test shows a low residual; the health authority's rule comes "
            f"first.{lead}",
        ),
    )
