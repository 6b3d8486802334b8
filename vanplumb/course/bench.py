"""Exercises on the bench: ends, stubs, waiting, a test that is read, and how sure that makes."""

from __future__ import annotations

from ..formulas import pressure as pressure_test
from ..formulas.joints import (
    chance_of_any,
    latest_ready,
    least_centres,
    made_up_length,
    upper_chance_none,
)
from ..words.glossary import INCH, PRESSURE_STANDARD
from ..words.quantity import read
from ..words.show import show, to_figures
from ..words.tables import table
from ..words.unit_table import DAY
from .exercise import Draw, Exercise, Mistake, exercise, inches, ladder
from .water import SI_TUBES, US_TUBES

DROP = 0.05e-6
"""A drop of water, m³ (common practice, no source)."""


def hours(low: float, high: float, step: float) -> tuple[str, ...]:
    """Times from low to high hours, as a clock tells them: "2 h 15 min"."""
    minutes = range(round(low * 60), round(high * 60) + 1, round(step * 60))
    return tuple(clock(60.0 * m) for m in minutes)


def clock(seconds: float) -> str:
    """A time in hours and minutes: "45 min", "3 h", "2 h 15 min"."""
    whole, rest = divmod(round(seconds / 60), 60)
    return " ".join([f"{whole} h"] * (whole > 0) + [f"{rest} min"] * (rest > 0 or not whole))


@exercise(
    "ends",
    "Do these ends fit?",
    us={
        "thread": ("NPT 3/8", "NPT 1/2", "NPT 3/4", "NPT 1"),
        "by hand": ladder(0.25, 0.45, 0.002, "in"),
        "turns": ladder(1, 4, 0.125),
    },
    si={
        "thread": ("R 3/8", "R 1/2", "R 3/4", "R 1"),
        "by hand": ladder(6, 11, 0.05, "mm"),
    },
)
def how_far_in(draw: Draw) -> Exercise:
    """How far a taper thread stands in its socket after hand and wrench."""
    threads = table("threads")[draw["thread"]].number("threads_per_inch")
    by_hand, turns, pitch = draw.si("by hand", "length"), draw.number("turns"), INCH / threads
    work = made_up_length.work(length_hand=by_hand, count_wrench=turns, pitch=pitch)
    units = draw.units
    return Exercise(
        draw=draw,
        question="A taper thread was run in by hand and then turned with the wrench. How far does "
        "it stand in its socket?",
        given=(
            ("thread", draw["thread"]),
            ("threads to the inch", f"{threads:g}"),
            ("in by hand", draw["by hand"]),
            ("turns of the wrench", draw["turns"]),
        ),
        answer=work.value,
        word="diameter",  # read with a caliper, so it is told in decimals
        work=(work,),
        mistakes=(
            Mistake(
                "wrench alone",
                turns * pitch,
                "that is the wrench's part alone: it had gone in by hand before.",
            ),
            Mistake("hand alone", by_hand, "that is as far as the hand takes it."),
            Mistake(
                "one turn",
                by_hand + pitch,
                "that is one turn of the wrench; each turn takes it one thread farther.",
            ),
            Mistake(
                "turns over ten",
                by_hand + turns * INCH / 10,
                "a turn takes it one thread in: an inch over the threads to the inch.",
            ),
            Mistake(
                "turns times the threads",
                by_hand + turns * threads * (INCH if units == "US" else 0.001),
                "you multiplied the turns by the threads to the inch: a thread is an inch over "
                "them.",
            ),
            Mistake(
                "turns for inches",
                by_hand + turns * (INCH if units == "US" else 0.001),
                "a turn takes it one thread in: an inch over the threads to the inch.",
            ),
        ),
        hints=(
            "A turn takes a thread in by one thread.",
            "One thread is an inch over the threads to the inch; add what went in by hand.",
        ),
        why=f"{threads:g} threads to the inch are {show(pitch, 'diameter', units)} each. "
        f"{draw['turns']} turns take it {show(turns * pitch, 'diameter', units)} farther than "
        "the hand did.",
        within="2 % of it",
    )


@exercise(
    "short stub",
    "Which stub is too short?",
    us={
        "tube": US_TUBES,
        "first": inches(8, 20),
        "other": inches(8, 20),
        "spare": inches(4, 26),
    },
    si={
        "tube": SI_TUBES,
        "first": ladder(12, 30, 1, "mm"),
        "other": ladder(12, 30, 1, "mm"),
        "spare": ladder(6, 25, 1, "mm"),
    },
)
def which_stub(draw: Draw) -> Exercise:
    """Least distance of two fittings' centres on a manifold, with tube to spare."""
    least = table("tubes")[draw["tube"]].number("stub_least")
    take, other = draw.si("first", "length"), draw.si("other", "length")
    spare = draw.si("spare", "length")
    stub = least + spare
    work = least_centres.work(length_stub=stub, length_first=take, length_second=other)
    units = draw.units
    return Exercise(
        draw=draw,
        question="How close may the centres of these two fittings stand? The tube between them "
        "must not be shorter than its size allows, and there shall be some to spare, so that a "
        "bad joint can be cut off and made anew.",
        given=(
            ("tube", draw["tube"]),
            ("shortest tube between two fittings", show(least, "length", units)),
            ("tube to spare", draw["spare"]),
            ("take-off of the first fitting", draw["first"]),
            ("take-off of the second", draw["other"]),
        ),
        answer=work.value,
        word="length",
        work=(work,),
        mistakes=(
            Mistake("tube alone", stub, "that is the tube alone: each fitting takes its part too."),
            Mistake("one take-off", stub + take, "you counted only one of the two fittings."),
            Mistake("other take-off", stub + other, "you counted only one of the two fittings."),
            Mistake(
                "no spare", least + take + other, "you left no tube to spare for a second try."
            ),
            Mistake(
                "taken away",
                abs(stub - take - other),
                "take-offs come off the centre distance to give the tube; here you go the other "
                "way.",
            ),
        ),
        hints=(
            "From centre to centre: take-off, tube, take-off.",
            "Add both take-offs and the spare to the shortest tube.",
        ),
        why=f"The tube is {show(least, 'length', units)} and {draw['spare']} to spare. Centre to "
        f"centre there is {draw['first']} of the first fitting and {draw['other']} of the second "
        "as well.",
        within="1/16 in" if units == "US" else "2 mm",
        rounds=False,
    )


@exercise(
    "when to test",
    "When may I test?",
    us={
        "thread": hours(0.5, 7.5, 0.25),
        "compound": ("18 h", "24 h", "36 h", "48 h"),
        "after": tuple(f"{n / 2:g}" for n in (*range(-12, -2), *range(3, 13))),
        "ring": ("30 min", "1 h", "1 h 30 min", "2 h", "3 h"),
    },
    si={},
)
def when_to_test(draw: Draw) -> Exercise:
    """Hours after the first joint until the system may see pressure."""
    thread, compound = draw.si("thread", "duration"), draw.si("compound", "duration")
    wait = draw.si("ring", "duration")
    made = thread + compound + draw.number("after") * 3600 - wait
    work = latest_ready.work(
        duration_first=thread,
        duration_first_wait=compound,
        duration_last=made,
        duration_last_wait=wait,
    )
    threads_last = thread + compound > made + wait
    return Exercise(
        draw=draw,
        question="Threads are sealed first, expansion joints are made last, in a cold shop. "
        "Counted from the start of work, when may the system see pressure?",
        given=(
            ("last thread sealed after", draw["thread"]),
            ("full set of the compound", draw["compound"]),
            ("last expansion joint after", clock(made)),
            ("wait of an expansion joint at this temperature", draw["ring"]),
        ),
        answer=work.value,
        word="duration",
        work=(work,),
        mistakes=(
            Mistake(
                "last joint only",
                made + wait,
                "the joint made last is not the one that is ready last.",
            )
            if threads_last
            else Mistake(
                "longest wait only",
                thread + compound,
                "the longest wait does not end last here.",
            ),
            Mistake("wait alone", compound, "the wait starts when the joint is made."),
            Mistake("no wait", made, "an expansion joint waits, too, before it sees pressure."),
            Mistake(
                "all added",
                thread + compound + made + wait,
                "the waits run side by side, not one after the other.",
            ),
            Mistake(
                "longest wait after the last joint",
                made + compound,
                "each joint has its own wait, from its own making.",
            ),
        ),
        hints=(
            "For each joint: when is it made, and when is it ready?",
            "The test waits for whichever is ready last.",
        ),
        why=f"The threads are ready after {clock(thread + compound)}, the expansion joints after "
        f"{clock(made + wait)}. The later of the two decides, here the "
        f"{'threads' if threads_last else 'expansion joints'}.",
        within="6 min",
        rounds=False,  # half an hour early is under pressure too early
    )


@exercise(
    "falling gauge",
    "Whose fault is the reading?",
    us={
        "start": ladder(10, 40, 0.5, "psi"),
        "warm": ladder(75, 95, 1, "°F"),
        "cool": ladder(34, 45, 1, "°F"),
    },
    si={
        "start": ladder(0.7, 2.8, 0.05, "bar"),
        "warm": ladder(24, 35, 0.5, "°C"),
        "cool": ladder(1, 7, 0.5, "°C"),
    },
)
def whose_fault(draw: Draw) -> Exercise:
    """Gauge pressure of trapped air after it has cooled: no leak at all."""
    start = draw.si("start", "pressure")
    warm, cool = draw.si("warm", "temperature"), draw.si("cool", "temperature")
    work = pressure_test.air_pressure_at.work(
        pressure=start, temperature=warm, temperature_reference=cool
    )
    zero = read("0 °F" if draw.units == "US" else "0 °C", "temperature")
    by_reading = (start + PRESSURE_STANDARD) * (cool - zero) / (warm - zero) - PRESSURE_STANDARD
    outside = "14.7 psi" if draw.units == "US" else "1.013 bar"
    units = draw.units
    return Exercise(
        draw=draw,
        question="Air stood in the lines at this gauge pressure in the afternoon. At night the "
        "shop is cold and nothing leaks. What does the gauge show?",
        given=(
            ("gauge in the afternoon", draw["start"]),
            ("air then", draw["warm"]),
            ("air at night", draw["cool"]),
            ("outside pressure", outside),
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
            "Cold over warm, in kelvins (°C + 273) or degrees Rankine (°F + 460).",
        ),
        why=f"With the outside air it was {show(start + PRESSURE_STANDARD, 'pressure', units)} "
        f"absolute. The cold takes {100 * (1 - cool / warm):.2g} % of that, "
        f"{show(start - work.value, 'pressure_loss', units)}, and no joint leaks.",
        within="0.3 % of it",
        span=start + PRESSURE_STANDARD,
    )


@exercise(
    "test reading",
    "What does the gauge of a test say?",
    us={
        "start": ladder(50, 80, 2, "psi"),
        "fall": ladder(1, 8, 0.5, "psi"),
        "time": hours(0.5, 4, 0.5),
        "give": ladder(0.02, 0.12, 0.01, "fl oz/psi"),
    },
    si={
        "start": ladder(3.5, 5.5, 0.125, "bar"),
        "fall": ladder(0.08, 0.5, 0.03, "bar"),
        "give": ladder(9, 49, 4, "mL/bar"),
    },
)
def how_great_a_leak(draw: Draw) -> Exercise:
    """The leak that a fall of a water test's gauge means."""
    start, fall = draw.si("start", "pressure"), draw.si("fall", "pressure_loss")
    time, give = draw.si("time", "duration"), draw.si("give", "compliance")
    work = pressure_test.leak_rate.work(compliance=give, pressure_loss=fall, duration=time)
    lost = pressure_test.lost_volume.work(compliance=give, pressure_loss=fall)
    units = draw.units
    return Exercise(
        draw=draw,
        question="The lines were full of water, settled, and as warm at the end as at the start. "
        "How great a leak does this fall mean? Write it for a day or for a minute.",
        given=(
            ("gauge at the start", draw["start"]),
            ("gauge at the end", _less(draw["start"], draw["fall"])),
            ("time between them", draw["time"]),
            ("water that the lines take up", draw["give"].replace("/", " for each ")),
        ),
        answer=work.value,
        word="leak",
        work=(lost, work),
        mistakes=(
            Mistake(
                "start for fall",
                give * start / time,
                "you took the pressure at the start: what counts is how far it fell.",
            ),
            Mistake(
                "end for fall",
                give * (start - fall) / time,
                "you took the pressure at the end: what counts is how far it fell.",
            ),
            Mistake(
                "time left out",
                give * fall / (DAY if units == "US" else 60.0),
                "that is all that was lost: how much is it in a day?"
                if units == "US"
                else "that is all that was lost: how much is it in a minute?",
            ),
            Mistake(
                "time not divided by",
                give * fall / 3600,
                f"that would be the leak if all of it had left in one hour: it took "
                f"{draw['time']}.",
            ),
            Mistake(
                "one step of the gauge",
                give * read("1 psi" if units == "US" else "1 bar", "pressure_loss") / time,
                f"that is for a fall of {'1 psi' if units == 'US' else '1 bar'}: it fell "
                f"{draw['fall']}.",
            ),
            Mistake(
                "an hour for a day",
                give * fall / time * 3600 / DAY,
                "that is what leaves in an hour: a day has 24.",
            ),
        ),
        hints=(
            "First the water that must have left for the gauge to fall so far.",
            "Water lost = fall × what the lines take up; then over the time.",
        ),
        why=f"The gauge fell {draw['fall']}, so {show(lost.value, 'volume_small', units)} left in "
        f"{draw['time']}. A drop is about {to_figures(DROP, 'volume_small', units)}: that is "
        f"{work.value * 60 / DROP:.2g} drops a minute. Creep and warmth were left out here, "
        "and in a real test they are not.",
        within="3 % of it",
    )


def _less(start: str, fall: str) -> str:
    """What is left of a reading, in its own unit."""
    (high, unit), (low, _) = start.split(" "), fall.split(" ")
    return f"{round(float(high) - float(low), 6):g} {unit}"


@exercise(
    "how sure",
    "How sure are the joints?",
    us={
        # fewer to come than held, or the answer is near the confidence, and near a hundred
        "held": ladder(75, 145, 1),
        "next": ladder(20, 57, 1),
        "confidence": ("80 %", "90 %", "95 %", "99 %"),
    },
    si={},
)
def how_sure(draw: Draw) -> Exercise:
    """The chance of a weep in the next van that joints which held still allow."""
    held, coming = int(draw["held"]), int(draw["next"])
    confidence = draw.si("confidence", "confidence")
    each = upper_chance_none.work(confidence=confidence, count=held)
    work = chance_of_any.work(chance=each.value, count=coming)
    return Exercise(
        draw=draw,
        question="So many joints of one kind were tested and none wept. Another van has so many "
        "of them. What is the greatest chance that at least one weeps there, which the tests "
        "still allow at this confidence?",
        given=(
            ("joints that held", draw["held"]),
            ("joints in the next van", draw["next"]),
            ("confidence", draw["confidence"]),
        ),
        answer=work.value,
        word="chance",
        work=(each, work),
        mistakes=(
            Mistake(
                "one joint",
                each.value,
                "that is the chance of one joint: the next van has more of them.",
            ),
            Mistake(
                "none wept, so none will",
                0.0,
                "none wept so far: that shows a low chance, not none.",
            ),
            Mistake(
                "times the joints",
                each.value * coming,
                "chances of many don't add up: all must hold, so multiply the chances of holding.",
            ),
            Mistake(
                "one in so many",
                1 - (1 - 1 / held) ** coming,
                "one in so many is what one weep would have shown; none wept.",
            ),
            Mistake(
                "confidence for the chance",
                confidence,
                "that is how sure the tests are: it is given, and not the chance that is asked.",
            ),
            Mistake(
                "all hold",
                1 - work.value,
                "that is the chance that all hold; asked is that one weeps.",
            ),
        ),
        hints=(
            "First one joint: all tested held with chance (1 − p)^n. Which p makes that "
            f"{100 - 100 * confidence:g} %?",
            "Then the next van: 1 less the chance that every joint holds.",
        ),
        why=f"{held} joints that held still allow {show(each.value, 'chance', 'SI')} for each. "
        f"All {coming} of the next van then hold with a chance of "
        f"{show(1 - work.value, 'chance', 'SI')}. More joints tested, not better luck, bring it "
        "down.",
        within="0.5 %",  # of a hundred: of a near certainty, a share would let all pass
        rounds=False,
    )
