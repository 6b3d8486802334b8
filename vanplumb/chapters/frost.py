"""Frost on the sheet: the runs of a van in its cold night, and one run in one night."""

from __future__ import annotations

from ..shop.draining.draining import Draining
from ..trip.cold.frost import BETWEEN, Frost, antifreeze_for
from ..trip.cold.night import ColdNight
from ..trip.hot_runs.ice import BLOCKED
from ..trip.play.timeline import clock
from ..van.model import Build
from ..words.glossary import ICE_POINT
from ..words.hazards import ANTIFREEZE
from ..words.report import RIGHT, Answer, Caution, Chapter, Grid, grid
from ..words.show import show
from ..words.work import total


def frost_chapter(build: Build, frost: Frost, draining: Draining | None = None) -> Chapter:
    """Which runs freeze in the cold night, what stays when it is drained, what to fill.

    Without ``draining`` the headers count as level with their inlets, as without a board.
    """
    system = build.van.units
    drained = draining or Draining(build)
    cold = frost.freezing
    night = f"at {show(build.van.outside, 'temperature', system)} outside"
    night += "" if "van.outside" in build.given else " (assumed)"
    answers = [
        Answer(
            "Runs that reach freezing in the night",
            ", ".join(run.label for run in cold) if cold else f"none {night}, cabin kept warm",
            note=night,
            key=True,
        )
    ]
    for run in cold:
        if run.to_zero is not None and run.to_blocked is not None:
            answers.append(
                Answer(
                    f"{run.label}: time to freezing in air at the night's coldest",
                    run.to_zero,
                    "duration",
                    tuple(run.works[k] for k in (*BETWEEN, "zero") if k in run.works),
                )
            )
            answers.append(
                Answer(
                    f"{run.label}: time to {BLOCKED * 100:.0f} % ice",
                    run.to_blocked,
                    "duration",
                    (run.works["ice"], run.works["blocked"]),
                )
            )
    parked = [run for run in frost.runs if run.parked >= BLOCKED]
    if parked:
        answers.append(
            Answer(
                "Runs that would be blocked with the cabin left cold",
                f"{len(parked)} of {len(frost.runs)}",
            )
        )
    answers += _stays(drained)
    fill = frost.antifreeze
    if fill is not None:
        answers.append(
            Answer(
                "Propylene glycol that holds off ice to "
                + show(fill.temperature, "temperature", system),
                fill.by_volume,
                "share",
                fill.works,
                note=f"by volume; the lines hold {show(fill.amount, 'volume', system)}",
            )
        )
    return Chapter(
        key="frost",
        title="Cold nights",
        basis=(
            f"Air outside from {show(frost.outside_day, 'temperature', system)} by day to "
            f"{show(frost.outside, 'temperature', system)} at 06:00, as a wave.",
            "Still water, one lump a metre, cooling through wall, foam and skin; runs under the "
            "floor and outside lie in wind (25 W/(m² K), assumed).",
            "Time to freezing: ASHRAE Handbook 2009 and 2019; ice takes 333.6 kJ/kg.",
            "Drained by its weight alone, with no pull of a siphon, all taps, drains, shut-offs "
            "and zones open, strainers' bowls off, and air let in everywhere; runs fall or rise "
            "evenly from end to end"
            + (
                f", the board's parts stand as laid out, hung upright{_off(drained, system)}."
                if drained.system.on_board
                else "."
            ),
        ),
        inputs=(
            Answer("Coldest air of the night", frost.outside, "temperature"),
            Answer("Air in the van", frost.cabin, "temperature"),
            Answer("Water at dusk", frost.start, "temperature"),
        ),
        answers=tuple(answers),
        grids=(
            *_pockets(drained),
            *_nights(frost),
        ),
        cautions=(
            Caution(
                "NOTICE",
                f"Ice takes 9 % more room than water and bursts {_bursts_first(build)} before "
                f"tubes. Drain {_drained(build)} before frost.",
            ),
            ANTIFREEZE.caution(),
        ),
        not_computed=(
            "Water that stays in the bodies of pumps, valves and taps, films and drops; sags "
            "between two ends of a run; whether air gets into a narrow tube that is closed above.",
            "Tanks, valves and filters, which have their own times."
            if not build.pump
            else "Tanks, pump, valves and filters, which have their own times.",
            "Heat from the cabin that reaches a run through its penetrations.",
        ),
    )


def _off(drained: Draining, units: str) -> str:
    """How much higher or lower parts hang on the board than their runs say."""
    told = [
        f"{name} {show(abs(by), 'length', units)} {'higher' if by > 0 else 'lower'}"
        for name, by in drained.system.off.items()
        if abs(by) > 0.01
    ]
    return f" (than its runs say, {', '.join(told)})" if told else ""


def _stays(drained: Draining) -> list[Answer]:
    """How much water stays in all, and the fewest drains that would let it out."""
    if not drained.pockets:
        return [Answer("Water that stays with everything open", "none")]
    each = [(drained.where(one), one.volume) for one in drained.pockets]
    summed = total("volume", each)
    return [
        Answer("Water that stays with everything open", summed.value, "volume", (summed,)),
        Answer(
            "Fewest drains that would let it out",
            float(len(drained.drains)),
            "count",
            note="at " + "; at ".join(place.where for place in drained.drains),
        ),
    ]


def _pockets(drained: Draining) -> tuple[Grid, ...]:
    """Every pocket of water that no open drain empties."""
    if not drained.pockets:
        return ()
    return (
        grid(
            "Water that stays with everything open",
            drained.pockets,
            {
                "lowest at": drained.where,
                "water": ("volume", "volume"),
                "stands in": drained.holds,
                "drains": (lambda one: float(len(one.bottoms)), "count"),
                "kept by": lambda one: ", ".join(one.blocked) or "its height",
            },
            key="pockets",
            note="A drain is needed at the bottom of each; else blow it out.",
        ),
    )


def _nights(frost: Frost) -> tuple[Grid, ...]:
    """Each run in the night, where it freezes at all."""
    if frost.outside >= ICE_POINT:
        return ()
    return (
        grid(
            "Runs in the cold night",
            frost.runs,
            {
                "run": "label",
                "lies": "run.place",
                "foam": (lambda one: one.run.insulation or None, "length"),
                "freezing at": (lambda one: _clock(one.clock_zero), RIGHT),
                "20 % ice at": (lambda one: _clock(one.clock_blocked), RIGHT),
                "most ice": ("ice", "share"),
                "cabin left cold": ("parked", "share"),
            },
            key="frost",
        ),
    )


def _listed(names: list[str]) -> str:
    return f"{', '.join(names[:-1])} and {names[-1]}"


def _bursts_first(build: Build) -> str:
    """What of this van ice bursts before its tubes."""
    found = ["valves", *(["pump heads"] if build.pump else [])]
    return _listed([*found, *(["heaters"] if build.heater else [])])


def _drained(build: Build) -> str:
    """What of this van is drained before frost."""
    kinds = {"heater": build.heater, "pump": build.pump, "strainer": build.strainer}
    return _listed([*(name for name, some in kinds.items() if some), "valves", "low points"])


def _clock(when: float | None) -> str | None:
    return None if when is None else clock(when)


def cold_night_chapter(found: ColdNight, system: str) -> Chapter:
    """One run in one cold night on a sheet."""
    night = found.night
    answers = []
    if found.by_volume > 0:
        answers += [
            Answer(
                "the mix begins to freeze at",
                found.freezing,
                "temperature",
                (found.works["mass"], found.works["fit"], found.works["freezing"]),
                key=True,
            ),
            Answer("coldest that it gets", found.lowest, "temperature"),
            Answer(
                "how thick it is at 20 °C",
                found.works["viscosity"].value,
                "viscosity",
                (found.works["viscosity"],),
                note="water has 1.0",
            ),
        ]
    when = night.clock_freezing
    answers.append(
        Answer("ice begins at", clock(when) if when is not None else "no ice this night", key=True)
    )
    blocked = night.clock_blocked
    answers.append(
        Answer(
            f"blocked ({BLOCKED * 100:.0f} % ice) at",
            clock(blocked) if blocked is not None else "not this night",
        )
    )
    answers.append(Answer("most ice", found.ice, "share"))
    if found.to_freezing is not None and found.to_blocked is not None:
        cold = show(found.coldest, "temperature", system)
        answers += [
            Answer(
                f"to freezing in steady air of {cold}",
                found.to_freezing,
                "duration",
                tuple(found.works[k] for k in (*BETWEEN, "zero") if k in found.works),
            ),
            Answer(
                f"to {BLOCKED * 100:.0f} % ice in that air",
                found.to_blocked,
                "duration",
                (found.works["ice"], found.works["blocked"]),
            ),
        ]
    needed = antifreeze_for(found.coldest, 0.0) if found.coldest < ICE_POINT else None
    if needed is not None:
        answers.append(
            Answer(
                "glycol that would hold off all ice, by volume",
                needed.by_volume,
                "share",
                needed.works,
            )
        )
    return Chapter(
        key="cold_night",
        title="A cold night",
        basis=(
            "A metre of tube is one lump of still liquid, cooled through wall, foam and skin; air "
            "is coldest at 06:00 and swings as a wave; wind takes 25 W/(m² K) (assumed).",
            "Time to freezing: ASHRAE Handbook 2009 and 2019; glycol: Melinder 2010.",
        ),
        answers=tuple(answers),
        cautions=(
            Caution(
                "NOTICE",
                "Ice bursts valves, pump heads and heaters before tubes: drain them first.",
            ),
            ANTIFREEZE.caution(),
        ),
        not_computed=(
            "Tanks, pump, valves and filters.",
            "How cold the ice gets once all is ice. It is held at the freezing point here, so by "
            "day it may begin to melt too early.",
            "Additives of a bought antifreeze; and that, as ice forms, the rest of a mix grows "
            "richer and freezes later. Leaving that aside errs to the early side.",
        ),
    )
