"""Lessons on water, heat and cold: how much, how warm, how weak, how soon, and what freezes."""

from __future__ import annotations

from dataclasses import replace

from ..chapters.budget import water_chapter
from ..drawings.charts.first_minute import FirstMinute, minute_picture, minute_scene
from ..formulas import mixing
from ..formulas.runs_heat import shell_resistance
from ..formulas.tube import tube_content
from ..pack import Pack
from ..trip.cold.frost import frost
from ..words.glossary import INCH
from ..words.quantity import read
from ..words.report import RIGHT, Caution, grid
from ..words.show import counted, show
from ..words.tables import table
from ..words.work import Work
from .cold import CONDUCTIVITY_FOAM
from .lesson import Bench, Figures, Lesson, Reading, Told, eg, van

BURN = Caution(
    "WARNING",
    "Water above 120 °F (49 °C) burns skin in minutes, at 140 °F (60 °C) in seconds. Try with a "
    "thermometer, never with a child's hand, and follow your local plumbing code.",
)


MOST_FLOW = 1e-3
"""More than any tap of a van gives, m³/s (common practice, no source)."""


def _ran(volume: float, time: float) -> float:
    """Flow of a tap that ran into a jug.  ValueError where no tap of a van does that."""
    if not volume:
        raise ValueError("Nothing ran into the jug: open the tap and try once more.")
    if volume / time > MOST_FLOW:
        raise ValueError("No tap of a van gives so much: look at the figures and their units.")
    return volume / time


def _water(units: str) -> Told:
    pack = van("heron")
    works = pack.water.works
    uses = next(g for g in water_chapter(pack.budget, pack.build).grids if g.key == "uses")
    crew = pack.build.crew
    crews = {n: Pack(replace(pack.build, crew=replace(crew, people=n))) for n in (2, 6)}
    stays = sorted((crews | {crew.people: pack}).items())
    people = grid(
        "The same tank with other crews, what runs off counted in",
        [(str(n), show(stay.water.nights, "count", units)) for n, stay in stays],
        {"people": 0, "nights": 1},
    )
    lost = show(pack.water.run_off_day, "volume", units)
    day = show(pack.water.volume_day, "volume", units)
    return Told(
        pack.water.need,
        "Set your number beside the day's water in the table. Most people think of showers and "
        "forget how often a tap is opened for a few seconds: hands and teeth, four people, every "
        "day. And each time hot water is wanted, the cold in the run goes first: of a day's "
        f"{day}, {lost} run off while somebody waits. The reserve goes on top of the need, it is "
        "not taken out of it.",
        (works["drinking"], works["need"]),
        (uses, people),
    )


def _tap_flow(found: Figures, units: str) -> str:
    if not found["time"]:
        raise ValueError("The time was nothing: let it run for ten seconds at least.")
    flow = _ran(found["volume"], found["time"])
    return (
        f"Your tap gives {show(flow, 'flow', units)}. Hands under it for 20 s take "
        f"{show(flow * 20, 'volume_small', units)}; four people who wash six times a day use "
        f"{show(flow * 20 * 24, 'volume', units)} at that tap alone."
    )


def _mixing(units: str) -> Told:
    share = mixing.hot_share.work(
        temperature_mixed="100 °F", temperature_hot="140 °F", temperature_cold="60 °F"
    )
    winter = mixing.temperature_from_share.work(
        share_hot=share.value, temperature_hot="140 °F", temperature_cold="40 °F"
    )
    rows = []
    for hot in ("120 °F", "140 °F", "160 °F", "180 °F"):
        warm = read(hot, "temperature")
        mixed = mixing.temperature_from_share.si(share.value, warm, read("60 °F", "temperature"))
        rows.append((show(warm, "temperature", units), show(float(mixed), "temperature", units)))
    return Told(
        winter.value,
        "What stays is not the warmth but the share of hot water that the valve lets through: "
        f"{show(share.value, 'share', units)} here. The cold water fell by "
        f"{show(20 / 1.8, 'rise', units)}, and half of what comes out is cold, so the tub falls by "
        "half of that. A valve that was set once does not know how hot the heater is, either: see "
        "the table. The last line is a burn.",
        (share, winter),
        (grid("A heater that is turned up, in summer", rows, {"heater": 0, "tub": 1}),),
    )


def _share_found(found: Figures, units: str) -> str:
    hot, cold, mixed = found["hot"], found["cold"], found["mixed"]
    if hot > 373.15 or cold < 273.15:
        raise ValueError("That is no water any more: read the thermometer and its unit again.")
    if not cold < mixed < hot:
        raise ValueError("The mixed water must be between cold and hot: read all three again.")
    share = float(mixing.hot_share.si(mixed, hot, cold))
    after = cold - 10.0
    winter = float(mixing.temperature_from_share.si(share, hot, after))
    return (
        f"Your valve passes {show(share, 'share', units)} hot water. If the tank were at "
        f"{show(after, 'temperature', units)}, it would give {show(winter, 'temperature', units)}."
    )


def _weak(units: str) -> Told:
    pack = van("dipper")
    moments = [pack.flow.solve(["shower"]), pack.flow.solve(["shower", "sink"])]
    both = moments[1]
    rows = [
        (
            moment.name,
            *(
                moment.fixtures[name].flow if name in {o.name for o in moment.opened} else None
                for name in ("shower", "sink")
            ),
            moment.pumps["pump"].outlet,
        )
        for moment in moments
    ]
    seen = grid(
        "What the fixtures get",
        rows,
        {
            "open": 0,
            "shower": (1, "flow"),
            "sink": (2, "flow"),
            "pump's pressure": (3, "pressure"),
        },
    )
    way = grid(
        "What is taken on the cold way to the shower",
        [
            (one.title, one.loss)
            for one in pack.flow.limits("shower", ["shower", "sink"]).ways["cold"]
        ],
        {"on the way": 0, "takes": (1, "pressure_loss")},
        note="The pump gives, so it stands with a minus.",
    )
    alone = moments[0].fixtures["shower"].flow
    return Told(
        both.fixtures["shower"].flow,
        f"Alone the shower gets {show(alone, 'flow', units)}, with the sink open "
        f"{show(both.fixtures['shower'].flow, 'flow', units)}. The pump gives less pressure the "
        "more it has to move, and the runs that both share take more. Loss does not grow with the "
        "flow but with nearly its square, so twice the flow costs nearly four times the pressure.",
        (),
        (seen, way),
    )


def _weaker(found: Figures, units: str) -> str:
    alone, both = found["alone"], found["both"]
    if not alone:
        raise ValueError("Nothing ran in while it was alone: open the shower fully.")
    _ran(alone, 20.0)
    left = both / alone
    if left > 1.02:
        return "More ran in with the second tap open: was the pump just starting? Time it again."
    return (
        f"With the second tap open {show(left, 'share', units)} of the flow is left. Where it is "
        "less than about 70 %, look for what both share: strainer, pump, a narrow run."
    )


def _cold_minute(units: str) -> Told:
    pack = van("dipper")
    wait = next(one for one in pack.trip.waits if one.fixture == "shower")
    minute = FirstMinute(
        wait.length,
        wait.content,
        wait.flow,
        wait.wait,
        wait.wasted,
        hot=pack.build.heater[0].setpoint,
        cold=pack.build.van.cold_water,
    )
    amounts = grid(
        "What goes down the drain",
        [
            ("water in the runs", wait.content),
            ("with what the tube's wall takes up", wait.held),
            ("runs off", wait.wasted),
        ],
        {"what": 0, "how much": (1, "volume_small")},
    )
    return Told(
        wait.wait,
        "A van is short, so the wait is shorter than at home. It is decided by what stands in the "
        "tube, and that grows with the square of the bore: half-inch tube holds nearly twice what "
        "three-eighths does. The tube's wall adds nearly two fifths to that.",
        tuple(wait.works.values()),
        (amounts,),
        minute_picture(minute, units),
        minute_scene(minute, units),
    )


def _jug(found: Figures, units: str) -> str:
    if not found["time"]:
        raise ValueError("The time was nothing: begin when you open the tap.")
    flow = _ran(found["volume"], found["time"])
    bore = table("tubes")["PEX 1/2 in"].number("bore")
    metres = found["volume"] / float(tube_content.si(bore, 1.0))
    length = round(metres / INCH) * INCH if units == "US" else round(metres, 2)
    return (
        f"{show(found['volume'], 'volume_small', units)} ran off at {show(flow, 'flow', units)}. "
        f"That much stands in about {show(length, 'length', units)} of half-inch PEX, its wall not "
        "counted. Measure the run with a tape: where the run is much shorter, the heater was "
        "late, not the tube."
    )


def _frost(units: str) -> Told:
    build = van("dipper").build

    def first(air: str) -> tuple[str, float, tuple[Work, ...]]:
        runs = [r for r in frost(build, outside=read(air, "temperature")).runs if r.to_zero]
        run = min(runs, key=lambda r: r.to_zero or 0.0)
        return run.label, float(run.to_zero or 0.0), tuple(run.works.values())

    label, soonest, works = first("14 °F")
    airs = ("25 °F", "14 °F", "0 °F", "-10 °F")
    rows = [
        (show(read(a, "temperature"), "temperature", units), show(first(a)[1], "duration", units))
        for a in airs
    ]
    return Told(
        soonest,
        f"First is {label}. Two times add up: until the water is at its freezing point, and then, "
        "much longer, until the heat of freezing is gone. A run holds very little water, and half "
        "an inch of foam does not keep it warm: it stretches minutes to an hour, never to a "
        "night. Only the runs outside and under the floor are in question while the cabin is "
        "heated.",
        works,
        (grid("Colder nights", rows, {"outside": 0, "ice begins after": (1, RIGHT)}),),
    )


def _foam(found: Figures, units: str) -> str:
    foam, outside = found["foam"], found["outside"]
    if not 0 < outside < 0.2:
        raise ValueError("Measure the tube across, without its foam.")
    if foam > 0.1:
        raise ValueError("That foam is thicker than any that is sold for tube: measure its wall.")
    if not foam:
        return "A bare tube: still air alone keeps its heat, and that is next to nothing."
    one, double = (
        float(shell_resistance.si(outside + 2 * f, outside, CONDUCTIVITY_FOAM))
        for f in (foam, 2 * foam)
    )
    return (
        f"Foam of twice the thickness would keep the heat {double / one:.2g} times as long, not "
        "twice: the outside, which loses it, grows too. A tap open a crack, or a drained run, "
        "does what foam can't."
    )


def _stays(units: str) -> Told:
    found = van("dipper").shop.draining
    pockets = sorted(found.pockets, key=lambda pocket: -pocket.volume)
    drains = [(one.where, one.height) for one in found.drains]
    return Told(
        found.stays,
        "Water leaves by falling, and only where air comes in behind it. Whatever lies below the "
        f"openings on both its sides keeps its water: on Dipper {counted(len(pockets), 'pocket')}, "
        f"the largest with {show(pockets[0].volume, 'volume_small', units)}. "
        f"{counted(len(drains), 'drain')} at the places in the second table would let it out. What "
        "stays in a few inches of tube is enough to burst a fitting.",
        (),
        (
            grid(
                "What stays in Dipper with every tap and drain open",
                [(found.where(pocket), found.holds(pocket), pocket.volume) for pocket in pockets],
                {"where": 0, "held by": 1, "water": (2, "volume_small")},
            ),
            grid(
                "Where a drain belongs",
                drains,
                {"place": 0, "height": (1, "height")},
            ),
        ),
    )


def _run_out(found: Figures, units: str) -> str:
    bore = table("tubes")["PEX 1/2 in"].number("bore")
    inside = float(tube_content.si(bore, found["length"])) if found["length"] else 0.0
    if not inside:
        raise ValueError("Measure how long the run is, low point and both legs.")
    left = found["volume"] / inside
    if not left:
        return "Nothing came out: this run emptied itself, or its low point lies elsewhere."
    if left > 1.3:
        return (
            "More came out than such a run of half-inch tube holds: it comes from farther on, or "
            "the tube is wider."
        )
    caught = show(left, "share", units) if left < 1 else "all"
    return (
        f"A run of that length in half-inch PEX holds {show(inside, 'volume_small', units)} when "
        f"full; you caught {caught} of that. It was there after the taps had "
        "run dry, and it would have frozen."
    )


LESSONS: tuple[Lesson, ...] = (
    Lesson(
        key="water",
        question="Heron takes four people for two nights between two fillings. How much water "
        "must her pump be able to reach? Think of drinking, hands, dishes, showers.",
        ask="water for the stay",
        word="volume",
        told=_water,
        units="SI",
        notebook="50_how_much_water.ipynb",
        example=eg("20 gal", "75 L"),
        bench=Bench(
            "a jug with marks and a watch",
            "Open the basin's tap as you do to wash your hands. Hold a jug under it for ten "
            "seconds or so.",
            (
                Reading("volume", "in the jug", "volume", eg("20 fl oz", "600 mL")),
                Reading("time", "in this time", "duration", eg("10 s", "10 s")),
            ),
            _tap_flow,
        ),
    ),
    Lesson(
        key="mixing",
        question="A van's laundry tub has a mixing valve that was set once with a thermometer, on "
        "a day when the heater gave 140 °F (60 °C) and the tank 60 °F (15.6 °C). It stands at "
        "100 °F (37.8 °C). Now it is winter and the tank is at 40 °F (4.4 °C). How warm is the "
        "water in the tub?",
        ask="in the tub",
        word="temperature",
        told=_mixing,
        caution=BURN,
        notebook="51_how_warm.ipynb",
        example=eg("95 °F", "35 °C"),
        bench=Bench(
            "a thermometer and a cup",
            "At one tap or valve, read the hot water alone, the cold alone, and both mixed as you "
            "like them. Let each run until the reading stands.",
            (
                Reading("hot", "hot alone", "temperature", eg("130 °F", "55 °C")),
                Reading("cold", "cold alone", "temperature", eg("58 °F", "14 °C")),
                Reading("mixed", "mixed", "temperature", eg("100 °F", "38 °C")),
            ),
            _share_found,
        ),
    ),
    Lesson(
        key="weak shower",
        question="Somebody showers in Dipper's wet room, where alone it gives about 2.2 gpm "
        "(8.2 L/min), and somebody opens the sink's tap. The shower's taps were not touched. "
        "What does the shower get now?",
        ask="the shower's flow",
        word="flow",
        told=_weak,
        notebook="52_shower_weakens.ipynb",
        example=eg("2 gpm", "7 L/min"),
        bench=Bench(
            "a bucket and a watch",
            "Let the shower run into the bucket for 20 s. Empty it, and do the same with the sink "
            "wide open.",
            (
                Reading("alone", "alone, in 20 s", "volume", eg("90 fl oz", "2.7 L")),
                Reading("both", "with the sink, in 20 s", "volume", eg("65 fl oz", "1.9 L")),
            ),
            _weaker,
        ),
    ),
    Lesson(
        key="cold minute",
        question="The store is hot. You open Dipper's shower in the morning. How long do you wait "
        "for hot water?",
        ask="the wait",
        word="duration",
        told=_cold_minute,
        notebook="53_first_minute.ipynb",
        example=eg("30 s", "30 s"),
        bench=Bench(
            "a jug with marks and a watch",
            "In the morning, open one hot tap fully and catch what runs until it is warm at your "
            "finger. Careful: it gets hot.",
            (
                Reading("volume", "in the jug", "volume", eg("15 fl oz", "450 mL")),
                Reading("time", "it took", "duration", eg("6 s", "6 s")),
            ),
            _jug,
        ),
        caution=BURN,
    ),
    Lesson(
        key="frost",
        question="Dipper stands in the hills in a night of 14 °F (−10 °C). How long without use "
        "until ice begins in the run that freezes first? It passes under the floor in half an "
        "inch (13 mm) of foam.",
        ask="until ice begins",
        word="duration",
        told=_frost,
        caution=Caution(
            "NOTICE",
            "Ice bursts tube, pump and heater. When in doubt, drain. Foam only delays.",
        ),
        notebook="56_will_it_freeze.ipynb",
        example=eg("6 h", "6 h"),
        bench=Bench(
            "a tape or a caliper",
            "Find a run with foam, under a floor or in a cabinet. Measure the wall of the foam, "
            "and the tube across.",
            (
                Reading("foam", "wall of the foam", "length", eg("1/2 in", "13 mm")),
                Reading("outside", "tube across", "length", eg("5/8 in", "16 mm")),
            ),
            _foam,
        ),
    ),
    Lesson(
        key="water stays",
        question="Dipper is emptied for the winter: her pump is off, every tap is open, and so is "
        "every drain that she has. How much water still stays in her lines?",
        ask="water that stays",
        word="volume_small",
        told=_stays,
        caution=Caution(
            "NOTICE",
            "Pump, strainer, check valves and heater keep water of their own: each has its way to "
            "be emptied.",
        ),
        notebook="59_where_water_stays.ipynb",
        example=eg("1 qt", "1 L"),
        bench=Bench(
            "a tape and a measuring cup",
            "With the taps run dry, open a low point over a cup: a drain, or the lowest joint "
            "with the pump off. Measure the run that leads to it.",
            (
                Reading("length", "length of the run", "length", eg("6 ft", "1.8 m")),
                Reading("volume", "came out", "volume", eg("4 fl oz", "120 mL")),
            ),
            _run_out,
        ),
    ),
)
