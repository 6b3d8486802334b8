"""Exercises on the cold: when a run freezes, and what is left in one that was let run out."""

from __future__ import annotations

from ..formulas import frost as freezing
from ..formulas.runs_heat import shell_resistance
from ..formulas.tube import filled_leg, tube_content
from ..formulas.water import water_density, water_specific_heat
from ..words.glossary import ICE_POINT
from ..words.show import show
from ..words.tables import table
from ..words.work import total
from .exercise import Draw, Exercise, Mistake, exercise, inches, ladder
from .water import SI_TUBES, US_TUBES

CONDUCTIVITY_FOAM = 0.040
"""Of foam sold for tube, W/(m K); typical, measure yours (common practice, no source)."""


@exercise(
    "frost",
    "Will it freeze?",
    us={
        "tube": US_TUBES,
        "foam": ("3/8 in", "1/2 in", "3/4 in", "1 in"),
        "start": ladder(40, 70, 1, "°F"),
        "air": ladder(0, 28, 1, "°F"),
    },
    si={
        "tube": SI_TUBES,
        "foam": ("9 mm", "13 mm", "19 mm", "25 mm"),
        "start": ladder(5, 20, 0.5, "°C"),
        "air": ladder(-18, -2, 0.5, "°C"),
    },
)
def will_it_freeze(draw: Draw) -> Exercise:
    """Time until still water in an insulated run reaches freezing point."""
    row = table("tubes")[draw["tube"]]
    bore, outside = row.number("bore"), row.number("od")
    foam = draw.si("foam", "length")
    start, air = draw.si("start", "temperature"), draw.si("air", "temperature")
    shell = shell_resistance.work(
        diameter_outside=outside + 2 * foam,
        diameter_inside=outside,
        conductivity=CONDUCTIVITY_FOAM,
    )
    dense, warmth = float(water_density.si(278.15)), float(water_specific_heat.si(278.15))

    def time(resistance: float, wide: float) -> float:
        return float(
            freezing.time_to_freezing.si(
                dense, warmth, wide, resistance, start - air, ICE_POINT - air
            )
        )

    work = freezing.time_to_freezing.work(
        density=dense,
        specific_heat=warmth,
        diameter=bore,
        resistance_per_length=shell.value,
        rise_start=start - air,
        rise_freezing=ICE_POINT - air,
    )
    thin = float(shell_resistance.si(outside + foam, outside, CONDUCTIVITY_FOAM))
    units = draw.units
    long = "foot" if units == "US" else "metre"
    return Exercise(
        draw=draw,
        question="A full run lies still in the cold. Only the foam keeps the heat. How long until "
        "the water is at its freezing point?",
        given=(
            ("tube", draw["tube"]),
            ("bore", show(bore, "diameter", units)),
            ("outside", show(outside, "diameter", units)),
            ("foam, thickness", draw["foam"]),
            ("foam, conductivity", show(CONDUCTIVITY_FOAM, "conductivity", units)),
            ("water at first", draw["start"]),
            ("air", draw["air"]),
            (
                "heat of the water",
                f"density {show(dense, 'density', units)}, "
                f"specific heat {show(warmth, 'specific_heat', units)}",
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
                time(shell.value, outside),
                "water fills the bore, not the outside of the tube.",
            ),
            Mistake(
                "foam on one side",
                time(thin, bore),
                "foam lies on both sides: the outside grows by twice its thickness.",
            ),
        ),
        hints=(
            "Two things count: how much heat the water holds, and what the foam puts in its way.",
            f"Time = heat capacity of a {long} × resistance of a {long} × ln of the two "
            "differences to the air.",
        ),
        why=f"The water falls from {draw['start']} to freezing in air of {draw['air']}; the foam "
        "sets how fast. Then it begins to freeze. Foam delays that, and does not prevent it.",
        within="5 % of it",
        rounds=False,
    )


@exercise(
    "water stays",
    "Where does water stay?",
    us={
        "tube": US_TUBES,
        "low": inches(12, 48),
        "more": inches(8, 40),
        "first": ladder(18, 60, 3, "in"),
        "other": ladder(24, 96, 6, "in"),
    },
    si={
        "tube": SI_TUBES,
        "low": ladder(20, 80, 2, "mm"),
        "more": ladder(15, 75, 5, "mm"),
        "first": ladder(500, 1500, 100, "mm"),
        "other": ladder(600, 2400, 200, "mm"),
    },
)
def what_stays(draw: Draw) -> Exercise:
    """Water left in a run that sags between its ends."""
    row = table("tubes")[draw["tube"]]
    bore, outside = row.number("bore"), row.number("od")
    low = draw.si("low", "length")
    high = low + draw.si("more", "length")
    first, other = draw.si("first", "length"), draw.si("other", "length")
    leg = filled_leg.work(length=other, depth_water=low, depth_end=high)
    full = total("length", [("the first leg, whole", first), ("the other leg", leg.value)])
    work = tube_content.work(diameter=bore, length=full.value)
    units = draw.units

    def holds(length: float, wide: float = bore) -> float:
        return float(tube_content.si(wide, length))

    return Exercise(
        draw=draw,
        question="A run sags between two open ends, and each leg rises evenly from the low point. "
        "The system was let run out. How much water is left in the sag?",
        given=(
            ("tube", draw["tube"]),
            ("bore", show(bore, "diameter", units)),
            ("first leg, length", draw["first"]),
            ("its end above the low point", draw["low"]),
            ("other leg, length", draw["other"]),
            ("its end above the low point", show(high, "length", units)),
        ),
        answer=work.value,
        word="volume_small",
        work=(leg, full, work),
        mistakes=(
            Mistake(
                "both legs whole",
                holds(first + other),
                "the higher leg is not full: water stands no higher than the lower end.",
            ),
            Mistake(
                "first leg alone",
                holds(first),
                "the other leg holds water, too, up to the same level.",
            ),
            Mistake(
                "both legs whole less none",
                holds(leg.value),
                "that is the other leg alone; the first one is full.",
            ),
            Mistake(
                "outside for bore",
                holds(full.value, outside),
                "water fills the bore, not the outside of the tube.",
            ),
            Mistake(
                "diameter for radius",
                4 * work.value,
                "you took the bore for the radius: four times the water.",
            ),
        ),
        hints=(
            "Water runs out over the lower of the two ends: it stands that high in both legs.",
            "The first leg is full; of the other, the part that lies below that level is.",
        ),
        why=f"Water runs out until it stands as high as the lower end, {draw['low']}. That fills "
        f"the first leg and {show(leg.value, 'length', units)} of the other, "
        f"{show(full.value, 'length', units)} in all. A drain belongs at the low point.",
        within="3 % of it",
    )
