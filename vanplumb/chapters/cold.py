"""Waiting, cold nights and heated water on the sheet."""

from __future__ import annotations

from ..trip.cold.expansion import Expansion
from ..trip.cold.frost import BETWEEN, BLOCKED, Frost
from ..trip.hot_runs.waits import DRAWN_LIMIT, Wait
from ..trip.play.timeline import clock
from ..van.model import Build
from ..words.glossary import ICE_POINT
from ..words.report import Answer, Caution, Chapter, Column, Grid
from ..words.show import show


def waiting_chapter(build: Build, waits: tuple[Wait, ...]) -> Chapter:
    """The wait for hot water at each fixture after the runs have gone cold."""
    system = build.van.units
    rows = tuple(
        (w.fixture, w.flow, w.length, w.content, w.bare, w.wait, w.wasted, _kept(w, system))
        for w in waits
    )

    longest = max(waits, key=lambda w: w.wait)
    most = max(waits, key=lambda w: w.wasted)
    limit = show(DRAWN_LIMIT, "volume", system)
    return Chapter(
        key="waiting",
        title="Waiting for hot water",
        basis=(
            "Runs gone cold; the front gives heat to the tube's wall, so it runs late.",
            "A tap mixed by hand is turned to hot while waiting.",
            f"US EPA WaterSense homes, version 1.2, section 3.3: at most {limit} drawn before hot.",
        ),
        answers=(
            Answer(
                f"Longest wait, at the {longest.fixture}",
                longest.wait,
                "duration",
                longest.steps,
                key=True,
            ),
            Answer(
                f"Most run off, at the {most.fixture}",
                most.wasted,
                "volume",
                (most.works["run off"],),
                note="over the WaterSense figure" if most.wasted > DRAWN_LIMIT else "",
            ),
        ),
        grids=(
            Grid(
                "Waits",
                (
                    Column("fixture"),
                    Column("flow", "flow", "right"),
                    Column("run", "height", "right"),
                    Column("holds", "volume", "right"),
                    Column("wait, tube's heat left out", "duration", "right"),
                    Column("wait", "duration", "right"),
                    Column("run off", "volume", "right"),
                    Column("stays warm", align="right"),
                ),
                rows,
                key="waits",
                note="Stays warm: until the water in the run is at 35 °C (95 °F).",
            ),
        ),
        not_computed=(
            "Mixing of hot and cold at the front itself, which lengthens the wait a little.",
        ),
    )


def _kept(wait: Wait, system: str) -> str | None:
    return None if wait.stays_warm is None else show(wait.stays_warm, "duration", system)


def frost_chapter(build: Build, frost: Frost) -> Chapter:
    """Which runs freeze in the cold night, what to drain, what to fill."""
    system = build.van.units
    cold = frost.freezing
    answers = [
        Answer(
            "Runs that reach freezing in the night",
            ", ".join(run.label for run in cold) if cold else "none, with the cabin kept warm",
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
    if frost.drain:
        answers.append(
            Answer(
                "Low points, where a drain belongs",
                ", ".join(f"{n} ({show(h, 'height', system)} up)" for n, h in frost.drain),
            )
        )
    fill = frost.antifreeze
    if fill is not None:
        answers.append(
            Answer(
                "Propylene glycol that holds off ice to "
                + show(fill.temperature, "temperature", system),
                fill.by_volume,
                "share",
                fill.works,
                note=f"by volume; the runs hold {show(fill.amount, 'volume', system)}",
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
        ),
        inputs=(
            Answer("Coldest air of the night", frost.outside, "temperature"),
            Answer("Air in the van", frost.cabin, "temperature"),
            Answer("Water at dusk", frost.start, "temperature"),
        ),
        answers=tuple(answers),
        grids=()
        if frost.outside >= ICE_POINT
        else (
            Grid(
                "Runs in the cold night",
                (
                    Column("run"),
                    Column("lies"),
                    Column("foam", "length", "right"),
                    Column("freezing at", align="right"),
                    Column("20 % ice at", align="right"),
                    Column("most ice", "share", "right"),
                    Column("cabin left cold", "share", "right"),
                ),
                tuple(
                    (
                        run.label,
                        run.run.place,
                        run.run.insulation or None,
                        clock(run.clock_zero) if run.clock_zero is not None else None,
                        clock(run.clock_blocked) if run.clock_blocked is not None else None,
                        run.ice,
                        run.parked,
                    )
                    for run in frost.runs
                ),
                key="frost",
            ),
        ),
        cautions=(
            Caution(
                "CAUTION",
                "Ice takes 9 % more room than water and bursts valves, pump heads and heaters "
                "before tubes. Drain heater, pump, strainer, valves and low points before frost.",
            ),
            Caution(
                "WARNING",
                "Only propylene glycol sold for drinking water systems may go into them; motor "
                "coolant is poisonous. Never thin a ready mix; flush it out before drinking.",
            ),
        ),
        not_computed=(
            "Tanks, pump, valves and filters, which have their own times.",
            "Heat from the cabin that reaches a run through its penetrations.",
        ),
    )


def expansion_chapter(build: Build, found: Expansion) -> Chapter:
    """How far pressure climbs when the heater warms with every tap shut."""
    answers = [
        Answer(
            "Room that the water needs as it warms",
            found.growth,
            "volume",
            (found.works["growth"],),
        ),
        Answer(
            "Pressure after one heat-up with every tap shut",
            found.pressure,
            "pressure",
            found.pressure_works if found.closed else (),
            note="" if found.closed else "water goes back to the tank",
            key=True,
        ),
    ]
    if found.relief is not None:
        answers.append(Answer("Relief valve opens at", found.relief, "pressure"))
        answers.append(
            Answer(
                "Does the relief valve open",
                "yes" if found.opens else "no",
                note="it would without the accumulator"
                if found.opens_bare and not found.opens
                else "",
                key=found.opens,
            )
        )
    if found.opens and found.opens_at is not None:
        answers.append(Answer("It opens when the water is at", found.opens_at, "temperature"))
        answers.append(
            Answer(
                "It lets out each time",
                found.discharge,
                "volume_small",
                (found.works["discharge"],),
            )
        )
    if found.vessel is not None and found.closed:
        answers.append(
            Answer(
                "Least vessel that would take it up, precharged to the cold pressure",
                found.vessel,
                "volume",
                (found.works["vessel"],),
            )
        )
    return Chapter(
        key="expansion",
        title="Heated water with the taps shut",
        basis=(
            f"It begins at the highest pressure that a supply holds, "
            f"{show(found.start, 'pressure', build.van.units)} ({found.supply}); a check valve "
            "keeps water from going back.",
            "Tubes give by their elastic modulus at room temperature (see the tube runs; plastic "
            "gives up to twice as much when hot), the heater not at all; air cushions follow "
            "Boyle's law.",
        ),
        answers=tuple(answers),
        cautions=(
            Caution(
                "WARNING",
                "A heater that is shut in can burst. Its relief valve must never be plugged, "
                "valved off or set higher than the heater's rating, and must drain where hot "
                "water hurts nobody. Follow local codes.",
            ),
        ),
        not_computed=("Steam, if the thermostat sticks: that is what the relief valve is for.",),
    )
