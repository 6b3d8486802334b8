"""Lessons at the bench: ends and stubs, when to test, what a gauge says, and how sure it makes."""

from __future__ import annotations

from ..formulas.joints import least_centres, upper_chance_none
from ..formulas.pressure import air_pressure_at, leak_rate
from ..pack import Pack, example
from ..shop.clock.clock import Plan, Task, warmer
from ..shop.joints.compounds import cure, joint_wait
from ..words.glossary import INCH
from ..words.quantity import read
from ..words.report import RIGHT, Amiss, Caution, grid
from ..words.show import show
from ..words.tables import Row, table
from .bench import DROP
from .lesson import Bench, Figures, Lesson, Reading, Told, eg, van

AIR = Caution(
    "WARNING",
    "Air under pressure throws parts. Low pressure only, eye protection, nobody near the joints "
    "while it rises. Test by water wherever you can.",
)


def _ends(units: str) -> Told:
    name = "NPT 1/2" if units == "US" else "R 1/2"
    rows = [
        (
            row.name,
            row.number("outside_diameter"),
            f"{row.number('threads_per_inch'):g}",
            "yes" if row["taper"] else "no",
        )
        for row in table("threads").values()
        if row.name.endswith(("1/2", "3/4"))
    ]
    threads = grid(
        "Threads that are taken for one another",
        rows,
        {
            "thread": 0,
            "across": (1, "diameter"),
            "threads to the inch": (2, RIGHT),
            "tapers": 3,
        },
        note="Typical sizes by their standards: measure yours.",
    )
    return Told(
        table("threads")[name].number("outside_diameter"),
        "The half inch is what the iron pipe of old was open inside; its thread goes round the "
        "outside. So no pipe thread is as wide as its name. Two that look alike, such as a hose "
        "thread and a pipe thread of three quarters, are a hair apart across, and are told apart "
        "by their crests: 11.5 and 14 to the inch. They go together for a turn or two and then "
        "leak. "
        "NPT and R have the same crests at a half, and other flanks: don't join them, either.",
        (),
        (threads,),
    )


_ALIKE = 0.06
"""How far threads are apart at most, as ``_which_thread`` counts, that measure the same.

A half-inch NPT tapers by 0.4 mm over the few crests that a caliper spans, and is as much wider
than R (1 in 16 on the diameter: ASME B1.20.1, ISO 7-1).
"""


def _which_thread(found: Figures, units: str) -> str:
    across, crests = found["across"], found["crests"]
    if not crests:
        raise ValueError("Count the crests along one inch (25.4 mm), the first one not counted.")
    rows = list(table("threads").values())

    def apart(row: Row) -> tuple[float, float]:
        wide, fine = row.number("outside_diameter"), row.number("threads_per_inch")
        return abs(fine - crests) / fine + 3 * abs(wide - across) / wide, wide

    best = min(rows, key=apart)
    if apart(best)[0] > 0.16:
        return (
            "None of the threads in the table is near that: is it a tube's outside, a metric "
            "thread, a hose end, or a size that the table does not have, such as 1/4? Measure over "
            "the crests, not in the grooves."
        )
    near = [r.name for r in rows if apart(r)[0] - apart(best)[0] < _ALIKE and r is not best]
    other = (
        f" So near that a tape or a caliper does not tell them apart, least of all where a thread "
        f"tapers: {', '.join(near)}. A thread gauge tells their flanks (60° or 55°), a straight "
        "edge whether it tapers."
        if near
        else ""
    )
    wide = show(best.number("outside_diameter"), "diameter", units)
    return (
        f"That is nearest to {best.name}: {wide} across, {best.number('threads_per_inch'):g} to "
        f"the inch.{other} Each fits only its own kind: say the whole name when you buy."
    )


def _stub(units: str) -> Told:
    row = table("tubes")["PEX 1/2 in"]
    take = 0.625 * INCH
    work = least_centres.work(
        length_stub=row.number("stub_least"), length_first=take, length_second=take
    )
    rows = []
    for name in ("PEX 3/8 in", "PEX 1/2 in", "PEX 5/8 in", "PEX 3/4 in", "PEX 1 in"):
        stub = table("tubes")[name].number("stub_least")
        rows.append((name, stub, float(least_centres.si(stub, take, take))))
    sizes = grid(
        "Other sizes with the same fittings",
        rows,
        {"tube": 0, "shortest tube": (1, "length"), "centres": (2, "length")},
        note="Measure your own fittings and read their maker's sheet.",
    )
    return Told(
        work.value,
        "From centre to centre there is fitting, tube, fitting. Whoever measures two inches "
        "(50 mm) between centres has cut a tube of three quarters of an inch (19 mm), and no ring "
        "goes on that.",
        (work,),
        (sizes,),
    )


def _tape(found: Figures, units: str) -> str:
    tube = found["centres"] - found["first"] - found["second"]
    if tube <= 0:
        raise ValueError("The take-offs are more than the distance: measure centre to shoulder.")
    least = table("tubes")["PEX 1/2 in"].number("stub_least")
    told = f"The tube between them is {show(tube, 'length', units)}."
    need = show(least, "length", units)
    if tube < least - 0.0005:
        return Amiss(
            f"{told} That is short of {need}, the least for half-inch PEX: look at both rings."
        )
    return f"{told} Half-inch PEX wants {need} at least, so it has room for its rings."


def _slowest(plan: Plan) -> Task:
    """The joint that waits longest from its making."""
    return max(plan.joints, key=lambda task: task.ready - task.end)


def _when(units: str) -> Told:
    plan = van("dipper").shop.clock
    last = sorted(plan.joints, key=lambda task: task.ready)[-3:]
    ready = grid(
        "The joint that waits longest, and those that are ready last",
        [(t.name, plan.told(t.end), plan.told(t.ready)) for t in (_slowest(plan), *last)],
        {"joint": 0, "made": 1, "ready": 2},
    )
    rows = []
    for shop in ("55 °F", "65 °F", "80 °F"):
        warm = read(shop, "temperature")
        cold = Pack(warmer(example("dipper"), warm)).shop.clock
        set_at, tested = cold.told(_slowest(cold).ready), cold.told(cold.test.start)
        rows.append((show(warm, "temperature", units), set_at, tested))
    filling = show((plan.test.start - last[-1].ready).total_seconds(), "duration", units)
    return Told(
        (plan.test.start - plan.start).total_seconds(),
        "Whichever joint is ready last decides. The sealant on the heater's threads wants more "
        "than a day in a shop that is a little cold, but it was put on in the first hour and sets "
        "while the rest is made. A crimp joint need not wait, but there are more than a hundred "
        "to make: compare the two kinds in the table. Threads that are sealed last would put "
        f"their whole wait on top of the work. Before the test the lines are filled: {filling}.",
        (),
        (
            ready,
            grid(
                "The same work in other shops",
                rows,
                {"shop": 0, "sealant set": 1, "test not before": 2},
            ),
        ),
    )


def _shop_warmth(found: Figures, units: str) -> str:
    warm = found["shop"]
    if not 250 < warm < 330:
        raise ValueError("That is no shop to work in: read the thermometer at the bench again.")
    waits = (
        ("an expansion joint", joint_wait("expansion", warm, None, units)),
        ("the anaerobic sealant", cure("anaerobic sealant", warm, None, units)),
    )
    told = [
        f"{name} waits {show(one.duration, 'duration', units)}"
        if one.duration is not None
        else f"{name} must not be made: {one.basis}"
        for name, one in waits
    ]
    return (
        f"At {show(warm, 'temperature', units)} {' and '.join(told)}. The sheet that came with "
        "yours decides."
    )


def _falling(units: str) -> Told:
    tight = air_pressure_at.work(
        pressure="40 psi", temperature="75 °F", temperature_reference="40 °F"
    )
    start = read("40 psi", "pressure"), read("75 °F", "temperature")
    rows = []
    for morning in ("75 °F", "60 °F", "50 °F", "40 °F", "30 °F"):
        cold = read(morning, "temperature")
        rows.append((show(cold, "temperature", units), float(air_pressure_at.si(*start, cold))))
    return Told(
        tight.value,
        "The gas law wants absolute pressure and absolute temperature. The gauge leaves out the "
        "air outside, about 14.7 psi (1.01 bar). Whoever puts the gauge's pressure into the law "
        "blames the cold for too little and a joint for too much; whoever divides degrees "
        "Fahrenheit looks for a leak all day. The cold explains the fall: the gauge tells of the "
        "shop's stove, not of a joint.",
        (tight,),
        (
            grid(
                "The same lines at other morning temperatures",
                rows,
                {"in the morning": 0, "the gauge shows": (1, "pressure")},
            ),
        ),
    )


def _gauge_step(units: str) -> float:
    """What a gauge can be read to, Pa (common practice, no source)."""
    return read("1 psi" if units == "US" else "0.05 bar", "pressure_loss")


MOST_AIR = 7e5
"""More than low pressure, and more than a van's tyre, Pa (common practice, no source)."""


def _hardest_test() -> float:
    """What no test by water goes beyond, Pa: a tenth above the highest of the rules."""
    rows = [row for row in table("test_rules").values() if row["medium"] == "water"]
    return 1.1 * max(row.number("pressure_least") for row in rows if row["pressure_least"])


def _two_gauges(found: Figures, units: str) -> str:
    if max(found["first"], found["then"]) > MOST_AIR:
        raise ValueError(
            "That is far too much air: it throws parts. Stand back and let it out, or read the "
            "gauge and its unit again."
        )
    if found["first"] <= _gauge_step(units):
        raise ValueError("There was no pressure to begin with: the gauge can't tell anything.")
    if not all(230 < found[one] < 340 for one in ("warm", "cool")):
        raise ValueError("That is no air to work in: read the thermometer and its unit again.")
    tight = float(air_pressure_at.si(found["first"], found["warm"], found["cool"]))
    apart = found["then"] - tight
    told = f"Tight lines would show {show(tight, 'pressure', units)} now."
    step = _gauge_step(units)
    if abs(apart) <= step:
        return f"{told} Yours do, to a step of the gauge: the warmth explains it."
    size = show(abs(apart), "pressure_loss", units)
    if apart < 0:
        return Amiss(f"{told} Yours show {size} less: soap on the joints, taps and gauge first.")
    return f"{told} Yours show {size} more: was the thermometer on the lines, or in the sun?"


def _test(units: str) -> Told:
    plan = van("dipper").shop.test
    psi = read("1 psi", "pressure_loss")
    lost = plan.stiffness.compliance * psi
    leak = leak_rate.work(compliance=plan.stiffness.compliance, pressure_loss=psi, duration=3600.0)
    rows = [
        (p.name, p.compliance * psi)
        for p in sorted(plan.stiffness.parts, key=lambda p: -p.compliance)[:5]
    ]
    kept, along = (plan.stiffness.warming(288.15, 286.15, stores=cools) for cools in (False, True))

    def moves(gained: float) -> str:
        way = "rise" if gained > 0 else "fall"
        return f"{way} by {show(abs(gained), 'pressure_loss', units)}"

    return Told(
        lost,
        f"Full lines are stiff: {show(lost, 'volume_small', units)} out, about "
        f"{lost / DROP:.2g} drops, and the gauge is 1 psi (0.07 bar) lower. In an hour that would "
        f"be a leak of {show(leak.value, 'leak', units)}. So a gauge finds leaks that no eye "
        "does. But two "
        "other things move it. Plastic tube creeps for hours, slower and slower. And "
        f"{show(2.0, 'rise', units)} colder alone makes Dipper's gauge {moves(kept)} where only "
        "her tubes get colder, since they shrink more than the water in them, and "
        f"{moves(along)} where the heater's water does, too. A leak goes on; creep slows down.",
        (leak,),
        (
            grid(
                "What takes up most at 1 psi (0.07 bar)",
                rows,
                {"part": 0, "water": (1, "volume_small")},
            ),
        ),
    )


def _three_readings(found: Figures, units: str) -> str:
    first, second = found["start"] - found["half"], found["half"] - found["end"]
    step = _gauge_step(units)
    if max(found["start"], found["half"], found["end"]) > _hardest_test():
        raise ValueError(
            "No van's lines are made for that: let the pressure out, or read the gauge again."
        )
    if found["start"] <= step:
        raise ValueError("The lines were not under pressure: run the pump to its cut-out first.")
    if first + second < -step:
        raise ValueError("It rose: was it warmer at the end, or is the pump still on?")
    if min(first, second) < -step:
        raise ValueError(
            "It fell and it rose: was it warmer in between, or did the pump start? Read anew."
        )
    if abs(first + second) <= step:
        return "It moved by less than a step of the gauge: nothing to see in this time."
    ratio = second / first if first > 0 else 9.9
    told = (
        f"It fell {show(first, 'pressure_loss', units)} in the first half and "
        f"{show(second, 'pressure_loss', units)} in the second."
    )
    if ratio < 0.6 and first - second < step:
        return f"{told} The halves differ by less than a step of the gauge: read on for longer."
    if ratio < 0.6:
        return f"{told} It slows down, as creep and settling do: pump up again and read once more."
    return Amiss(
        f"{told} It does not slow down, and neither does a leak or the cold: look at the "
        "thermometer, then at the joints."
    )


def _sure(units: str) -> Told:
    work = upper_chance_none.work(confidence=0.95, count=20)
    rows = [(f"{n}", float(upper_chance_none.si(0.95, n))) for n in (10, 20, 50, 100, 300, 1000)]
    return Told(
        work.value,
        "Twenty that held might have been luck: joints of which one in seven weeps hold twenty "
        "times in a row once in twenty tries. To show that fewer than one in a hundred weeps "
        "takes three hundred that held. So a van that passed says little of the next one, and "
        "the record of many vans says much.",
        (work,),
        (
            grid(
                "Joints that held, none wept, at 95\u00a0% confidence",
                rows,
                {"joints": (0, RIGHT), "greatest chance of one": (1, "chance")},
            ),
        ),
    )


def _own_record(found: Figures, units: str) -> str:
    held, wept = found["held"], found["wept"]
    if held < 1 or held % 1 or wept % 1:
        raise ValueError("Count whole joints, one at least.")
    if wept > held:
        raise ValueError("More wept than were made: count again.")
    if not wept:
        top = float(upper_chance_none.si(0.95, held))
        return (
            f"{held:g} held and none wept: at 95 % each still may weep with a chance of up to "
            f"{show(top, 'chance', 'SI')}."
        )
    return (
        f"{wept:g} of {held:g} wept, {show(wept / held, 'chance', 'SI')}. The page on records "
        "tells what that leaves open for the next van."
    )


LESSONS: tuple[Lesson, ...] = (
    Lesson(
        key="ends",
        question="A fitting is sold with a 1/2 in male pipe thread. How wide is it across the "
        "thread, on a caliper?",
        ask="across the thread",
        word="diameter",
        told=_ends,
        notebook="62_ends_that_fit.ipynb",
        example=eg("0.5 in", "12 mm"),
        bench=Bench(
            "a caliper or a tape",
            "Take any fitting with an outside thread from the box. Measure across the crests, and "
            "count the crests along one inch (25.4 mm).",
            (
                Reading("across", "across the crests", "length", eg("0.83 in", "20.9 mm")),
                Reading("crests", "crests on an inch", "count", eg("14", "14")),
            ),
            _which_thread,
        ),
    ),
    Lesson(
        key="short stub",
        question="On a manifold of half-inch PEX two tees stand side by side. An expansion joint "
        "needs its ring clear of the next fitting, so the tube between two fittings has a least "
        "length, and 5/8 in (16 mm) of each tee is fitting, not tube. How close may the tees' "
        "centres stand?",
        ask="centre to centre",
        word="length",
        told=_stub,
        notebook="54_short_stub.ipynb",
        example=eg("2 in", "50 mm"),
        bench=Bench(
            "a tape",
            "On a manifold or on the bench, measure two neighbours from centre to centre, and on "
            "each from its centre to the shoulder where the tube ends.",
            (
                Reading("centres", "centre to centre", "length", eg("3 1/2 in", "90 mm")),
                Reading("first", "first take-off", "length", eg("5/8 in", "16 mm")),
                Reading("second", "second take-off", "length", eg("5/8 in", "16 mm")),
            ),
            _tape,
        ),
    ),
    Lesson(
        key="when to test",
        question="It is Monday, half past seven in the morning, and work on Dipper starts. "
        "Counted from then, when may her joints see pressure?",
        ask="after the start",
        word="duration",
        told=_when,
        caution=Caution(
            "WARNING",
            "Test by water, not by air, wherever you can: air under pressure throws parts. Never "
            "test above what the weakest part is rated for.",
        ),
        notebook="55_when_to_test.ipynb",
        example=eg("10 h", "10 h"),
        bench=Bench(
            "a thermometer",
            "Lay a thermometer where the joints are made, on the bench or in the van, and read it "
            "after ten minutes.",
            (Reading("shop", "at the bench", "temperature", eg("61 °F", "16 °C")),),
            _shop_warmth,
        ),
    ),
    Lesson(
        key="test reading",
        question="Dipper's lines are full of water, without air, and the gauge stands at her test "
        "pressure. How much water must leave for it to fall by 1 psi (0.07 bar)?",
        ask="water that leaves",
        word="volume_small",
        told=_test,
        notebook="63_reading_a_test.ipynb",
        example=eg("5 fl oz", "150 mL"),
        caution=Caution(
            "WARNING", "Never test above what the weakest part is rated for, the heater among them."
        ),
        bench=Bench(
            "a gauge and a watch",
            "Fill the lines, run the pump to its cut-out and switch it off, taps shut. Read the "
            "gauge at once, after half an hour, and after an hour.",
            (
                Reading("start", "at once", "pressure", eg("45 psi", "3.1 bar")),
                Reading("half", "half way", "pressure", eg("43 psi", "2.95 bar")),
                Reading("end", "at the end", "pressure", eg("42 psi", "2.9 bar")),
            ),
            _three_readings,
        ),
    ),
    Lesson(
        key="falling gauge",
        question="Air was let into Dipper's lines in the afternoon: the gauge showed 40 psi "
        "(2.76 bar), and the shop was at 75 °F (24 °C). In the morning the shop is at 40 °F "
        "(4.4 °C). What would the gauge show if nothing leaked?",
        ask="in the morning",
        word="pressure",
        told=_falling,
        caution=AIR,
        notebook="57_whose_fault.ipynb",
        example=eg("40 psi", "2.8 bar"),
        bench=Bench(
            "a gauge and a thermometer",
            "Where lines stand under air at low pressure, or a tyre does, read gauge and "
            "thermometer now, and again when it is warmer or colder.",
            (
                Reading("first", "gauge first", "pressure", eg("30 psi", "2 bar")),
                Reading("warm", "thermometer first", "temperature", eg("72 °F", "22 °C")),
                Reading("then", "gauge later", "pressure", eg("28 psi", "1.9 bar")),
                Reading("cool", "thermometer later", "temperature", eg("48 °F", "9 °C")),
            ),
            _two_gauges,
        ),
    ),
    Lesson(
        key="how sure",
        question="Twenty joints were tested, and none wept. At 95 %, what is the greatest chance "
        "of a weep per joint that this still allows?",
        ask="chance for each joint",
        word="chance",
        told=_sure,
        notebook="64_how_sure.ipynb",
        example=eg("1 %", "1 %"),
        bench=Bench(
            "your notebook, or the record",
            "Count the joints of one kind that you have made so far, and those that wept at their "
            "test.",
            (
                Reading("held", "joints made", "count", eg("60", "60")),
                Reading("wept", "of them wept", "count", eg("0", "0")),
            ),
            _own_record,
        ),
    ),
)
