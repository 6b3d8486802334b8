"""Exercises on the bench and in the cold: stubs, waiting, frost, and a gauge that falls."""

from __future__ import annotations

from random import Random

from ..formulas import frost as freezing
from ..formulas import pressure as pressure_test
from ..formulas.joints import latest_ready, least_centres
from ..formulas.runs_heat import shell_resistance
from ..formulas.water import water_density, water_specific_heat
from ..words.glossary import PRESSURE_STANDARD
from ..words.show import show
from ..words.tables import table
from .exercise import Exercise, Mistake, exercise, pick
from .water import _us


@exercise("short stub")
def which_stub(seed: int, units: str, random: Random) -> Exercise:
    """Least distance of two fittings' centres on a manifold."""
    name = random.choice(_us(units, ("PEX 1/2 in", "PEX 3/4 in"), ("PE-X 16x2.0", "PE-X 20x1.9")))
    least = table("tubes")[name].number("stub_least")
    take, take_text = pick(
        random, _us(units, ("5/8 in", "3/4 in", "7/8 in"), ("16 mm", "19 mm", "22 mm")), "length"
    )
    other, other_text = pick(
        random, _us(units, ("1/2 in", "1 in", "1 1/8 in"), ("12 mm", "25 mm", "28 mm")), "length"
    )
    work = least_centres.work(length_stub=least, length_first=take, length_second=other)
    return Exercise(
        key="short stub",
        title="Which stub is too short?",
        seed=seed,
        units=units,
        question="How close may the centres of these two fittings stand, so that the tube between "
        "them is not shorter than its size allows?",
        given=(
            ("tube", name),
            ("shortest tube between two fittings", show(least, "length", units)),
            ("take-off of the first fitting", take_text),
            ("take-off of the second", other_text),
        ),
        answer=work.value,
        word="length",
        work=(work,),
        mistakes=(
            Mistake(
                "tube alone", least, "that is the tube alone: each fitting takes its part too."
            ),
            Mistake("one take-off", least + take, "you counted only one of the two fittings."),
            Mistake("other take-off", least + other, "you counted only one of the two fittings."),
            Mistake(
                "taken away",
                abs(least - take - other),
                "take-offs come off the centre distance to give the tube; here you go the other "
                "way.",
            ),
        ),
        hints=(
            "From centre to centre: take-off, tube, take-off.",
            "Add both take-offs to the shortest tube.",
        ),
        within=0.01,
    )


@exercise("when to test")
def when_to_test(seed: int, units: str, random: Random) -> Exercise:
    """Hours after the first joint until the system may see pressure."""
    ring_wait = 0.5 * 3600
    compound_wait, compound_text = pick(random, ("24 h", "72 h"), "duration")
    thread_at, thread_text = pick(random, ("1 h", "2 h", "3 h"), "duration")
    ring_at, ring_text = pick(random, ("20 h", "26 h", "30 h"), "duration")
    work = latest_ready.work(
        duration_first=thread_at,
        duration_first_wait=compound_wait,
        duration_last=ring_at,
        duration_last_wait=ring_wait,
    )
    return Exercise(
        key="when to test",
        title="When may I test?",
        seed=seed,
        units=units,
        question="Threads are sealed first, expansion joints are made last. Counted from the start "
        "of work, when may the system see pressure?",
        given=(
            ("last thread sealed after", thread_text),
            ("full set of the compound", compound_text),
            ("last expansion joint after", ring_text),
            ("wait of an expansion joint", show(ring_wait, "duration", units)),
        ),
        answer=work.value,
        word="duration",
        work=(work,),
        mistakes=(
            Mistake(
                "last joint only",
                ring_at + ring_wait,
                "the joint made last is not the one that is ready last.",
            )
            if thread_at + compound_wait > ring_at + ring_wait
            else Mistake(
                "longest wait only",
                thread_at + compound_wait,
                "the longest wait does not end last here.",
            ),
            Mistake("wait alone", compound_wait, "the wait starts when the joint is made."),
            Mistake(
                "all added",
                thread_at + compound_wait + ring_at + ring_wait,
                "the waits run side by side, not one after the other.",
            ),
            Mistake(
                "longest wait after the last joint",
                ring_at + compound_wait,
                "each joint has its own wait, from its own making.",
            ),
        ),
        hints=(
            "For each joint: when is it made, and when is it ready?",
            "The test waits for whichever is ready last.",
        ),
        within=0.01,
    )


@exercise("frost")
def will_it_freeze(seed: int, units: str, random: Random) -> Exercise:
    """Time until still water in an insulated run reaches freezing point."""
    name = random.choice(_us(units, ("PEX 1/2 in", "PEX 3/4 in"), ("PE-X 16x2.0", "PE-X 20x1.9")))
    row = table("tubes")[name]
    bore, outside = row.number("bore"), row.number("od")
    foam, foam_text = pick(random, _us(units, ("1/2 in", "3/4 in"), ("9 mm", "13 mm")), "length")
    start, start_text = pick(
        random, _us(units, ("50 °F", "60 °F"), ("10 °C", "15 °C")), "temperature"
    )
    air, air_text = pick(random, _us(units, ("10 °F", "20 °F"), ("-10 °C", "-6 °C")), "temperature")
    conductivity = 0.040
    shell = shell_resistance.work(
        diameter_outside=outside + 2 * foam, diameter_inside=outside, conductivity=conductivity
    )
    dense, warmth = float(water_density.si(278.15)), float(water_specific_heat.si(278.15))

    def time(resistance: float, wide: float, first: float, second: float) -> float:
        return float(freezing.time_to_freezing.si(dense, warmth, wide, resistance, first, second))

    work = freezing.time_to_freezing.work(
        density=dense,
        specific_heat=warmth,
        diameter=bore,
        resistance_per_length=shell.value,
        rise_start=start - air,
        rise_freezing=273.15 - air,
    )
    thin = float(shell_resistance.si(outside + foam, outside, conductivity))
    return Exercise(
        key="frost",
        title="Will it freeze?",
        seed=seed,
        units=units,
        question="A full run lies still in the cold. Only the foam keeps the heat. How long until "
        "the water is at its freezing point?",
        given=(
            ("tube", name),
            ("bore", show(bore, "diameter", units)),
            ("outside", show(outside, "diameter", units)),
            ("foam, thickness", foam_text),
            ("foam, conductivity", "0.040 W/(m K)"),
            ("water at first", start_text),
            ("air", air_text),
            (
                "heat of the water",
                f"density {dense:.1f} kg/m³, specific heat {warmth:.0f} J/(kg K)",
            ),
        ),
        answer=work.value,
        word="duration",
        work=(shell, work),
        mistakes=(
            Mistake(
                "diameter for radius",
                work.value * 4,
                "you took the bore for the radius: four times the water.",
            ),
            Mistake(
                "outside for bore",
                time(shell.value, outside, start - air, 273.15 - air),
                "water fills the bore, not the outside of the tube.",
            ),
            Mistake(
                "foam on one side",
                time(thin, bore, start - air, 273.15 - air),
                "foam lies on both sides: the outside grows by twice its thickness.",
            ),
            Mistake("minutes for seconds", work.value / 60, "that number is in minutes."),
            Mistake("minutes for hours", work.value * 60, "that number is in minutes, not hours."),
        ),
        hints=(
            "Two things count: how much heat the water holds, and what the foam puts in its way.",
            "Time = heat capacity of a metre × resistance of a metre × ln of the two differences "
            "to the air.",
        ),
        within=0.05,
    )


@exercise("falling gauge")
def whose_fault(seed: int, units: str, random: Random) -> Exercise:
    """Gauge pressure of trapped air after it has cooled: no leak at all."""
    start, start_text = pick(
        random, _us(units, ("50 psi", "60 psi"), ("3.5 bar", "4 bar")), "pressure"
    )
    warm, warm_text = pick(
        random, _us(units, ("75 °F", "80 °F"), ("24 °C", "27 °C")), "temperature"
    )
    cool, cool_text = pick(random, _us(units, ("45 °F", "50 °F"), ("7 °C", "10 °C")), "temperature")
    work = pressure_test.air_pressure_at.work(
        pressure=start, temperature=warm, temperature_reference=cool
    )
    zero = 255.372 if units == "US" else 273.15
    by_reading = (start + PRESSURE_STANDARD) * (cool - zero) / (warm - zero) - PRESSURE_STANDARD
    return Exercise(
        key="falling gauge",
        title="Whose fault is the reading?",
        seed=seed,
        units=units,
        question="Air stood in the lines at this gauge pressure in the afternoon. At night the "
        "shop is cold and nothing leaks. What does the gauge show?",
        given=(
            ("gauge in the afternoon", start_text),
            ("air then", warm_text),
            ("air at night", cool_text),
            ("outside pressure", show(PRESSURE_STANDARD, "pressure", units)),
        ),
        answer=work.value,
        word="pressure",
        work=(work,),
        mistakes=(
            Mistake(
                "gauge for absolute",
                start * cool / warm,
                "you took the gauge's pressure for the absolute one: the law is for absolute.",
            ),
            Mistake(
                "absolute for gauge",
                work.value + PRESSURE_STANDARD,
                "that is the absolute pressure: the gauge shows it less the outside air.",
            ),
            Mistake(
                "degrees for kelvin",
                by_reading,
                "you divided thermometer readings: the law is for kelvins (or degrees Rankine).",
            ),
            Mistake(
                "upside down",
                (start + PRESSURE_STANDARD) * warm / cool - PRESSURE_STANDARD,
                "the air got colder, so its pressure falls.",
            ),
        ),
        hints=(
            "Add the outside pressure, scale with the absolute temperatures, take it off again.",
            "Cold over warm, in kelvins.",
        ),
        within=0.005,
        span=start,
    )
