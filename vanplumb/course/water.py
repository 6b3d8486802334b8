"""Exercises on water and heat: how much, how warm, how weak, how long till hot."""

from __future__ import annotations

from ..formulas import mixing, needs, tube
from ..formulas.water import water_density, water_viscosity
from ..network.losses import friction_factor
from ..words.quantity import read
from ..words.show import show
from ..words.tables import table
from ..words.unit_table import FOOT, G
from .exercise import Draw, Exercise, Mistake, exercise, ladder

US_TUBES = ("PEX 3/8 in", "PEX 1/2 in", "PEX 3/4 in")
SI_TUBES = ("PE-X 12x2.0", "PE-X 16x2.0", "PE-X 20x1.9")


@exercise(
    "water",
    "How much water?",
    us={
        "people": ladder(2, 6, 1),
        "nights": ladder(2, 9, 1),
        "each": ladder(2, 5.9, 0.1, "gal"),
        "reserve": ("5 %", "8 %", "10 %", "12 %", "15 %", "20 %", "25 %"),
    },
    si={"each": ladder(8, 23.6, 0.4, "L")},
)
def how_much_water(draw: Draw) -> Exercise:
    """Water for a crew and some nights, with a reserve."""
    people, nights = int(draw["people"]), int(draw["nights"])
    reserve = draw.si("reserve", "share")
    day = needs.drinking_water.work(count_people=people, volume_person=draw.si("each", "volume"))
    need = needs.water_for_stay.work(
        volume_day=day.value, count_nights=nights, share_reserve=reserve
    )
    bare = day.value * nights
    return Exercise(
        draw=draw,
        question=f"Another crew: {people} people for {nights} nights. What must their tank give "
        "the pump, with the reserve on top?",
        given=(
            ("people", str(people)),
            ("nights", str(nights)),
            ("each a day, all uses", draw["each"]),
            ("reserve, on top", draw["reserve"]),
        ),
        answer=need.value,
        word="volume",
        work=(day, need),
        mistakes=(
            Mistake("reserve left out", bare, "that is the need without its reserve."),
            Mistake("one person", need.value / people, "that is for one person."),
            Mistake("one night", need.value / nights, "that is for one night only."),
            Mistake(
                "reserve taken off", bare * (1 - reserve), "the reserve goes on top, not off it."
            ),
            Mistake("reserve alone", bare * reserve, "that is the reserve alone."),
            Mistake(
                "reserve as a share of the tank",
                bare / (1 - reserve),
                "you took the reserve as a share of the tank; it is one of the need, on top of it.",
            ),
        ),
        hints=(
            "First one day of the whole crew, then the nights, then the reserve.",
            f"The reserve makes it 1 + {reserve:g} times as much.",
        ),
        why=f"A day of the whole crew takes {show(day.value, 'volume', draw.units)}. {nights} such "
        f"days take {show(bare, 'volume', draw.units)}, and {draw['reserve']} of that goes on top.",
        within="1.5 % of it",
    )


@exercise(
    "mixing",
    "How warm out of the valve?",
    us={
        "hot": ladder(120, 160, 1, "°F"),
        "cold": ladder(38, 70, 1, "°F"),
        "share": tuple(f"{n} %" for n in (30, 35, 40, 42, 58, 60, 65, 70)),
    },
    si={"hot": ladder(49, 71, 0.5, "°C"), "cold": ladder(3, 21, 0.5, "°C")},
)
def how_warm(draw: Draw) -> Exercise:
    """Temperature out of a mixing valve from its hot share."""
    hot, cold = draw.si("hot", "temperature"), draw.si("cold", "temperature")
    share = draw.si("share", "share")
    work = mixing.temperature_from_share.work(
        share_hot=share, temperature_hot=hot, temperature_cold=cold
    )
    zero = read("0 °F" if draw.units == "US" else "0 °C", "temperature")
    return Exercise(
        draw=draw,
        question="A mixing valve passes this share of hot water. How warm is what comes out?",
        given=(("hot", draw["hot"]), ("cold", draw["cold"]), ("hot share", draw["share"])),
        answer=work.value,
        word="temperature",
        work=(work,),
        mistakes=(
            Mistake(
                "shares swapped",
                cold + (1 - share) * (hot - cold),
                "you gave the hot share to the cold water.",
            ),
            Mistake(
                "rise taken for a temperature",
                zero + share * (hot - cold),
                "that is the rise above the cold water, not the temperature: add the cold.",
            ),
            Mistake(
                "cold left out",
                zero + share * (hot - zero),
                "the cold water brings warmth too: count it.",
            ),
            Mistake(
                "plain mean", (hot + cold) / 2, "that is the plain mean; the shares are not even."
            ),
        ),
        hints=(
            "Start from the cold water and ask how far towards the hot one the mix goes.",
            "It goes the hot share of the way from cold to hot.",
        ),
        why=f"From cold to hot it is {show(hot - cold, 'rise', draw.units)}. The mix goes "
        f"{draw['share']} of that way, {show(share * (hot - cold), 'rise', draw.units)}, up from "
        f"{draw['cold']}.",
        within="1.5 % of it",
        span=hot - cold,
        rounds=False,  # a figure that tells whether water burns is not rounded down
    )


@exercise(
    "weak shower",
    "Why does the shower weaken?",
    us={
        "tube": US_TUBES,
        "length": ladder(4, 16, 0.5, "ft"),
        "shower": ladder(1, 2.5, 0.1, "gpm"),
        "tap": ladder(0.6, 1.6, 0.1, "gpm"),
    },
    si={
        "tube": SI_TUBES,
        "length": ladder(1.2, 5, 0.1, "m"),
        "shower": ladder(4, 9, 0.5, "L/min"),
        "tap": ladder(2.5, 6, 0.25, "L/min"),
    },
)
def why_weaker(draw: Draw) -> Exercise:
    """Loss of a shared run when a second tap opens."""
    bore = table("tubes")[draw["tube"]].number("bore")
    rough = table("tubes")[draw["tube"]].number("roughness")
    length = draw.si("length", "length")
    shower, tap = draw.si("shower", "flow"), draw.si("tap", "flow")
    warm = 288.15
    dense, thick = float(water_density.si(warm)), float(water_viscosity.si(warm))

    def loss(flow: float, wide: float) -> float:
        speed = float(tube.velocity.si(flow, wide))
        factor = float(
            friction_factor(float(tube.reynolds.si(dense, speed, wide, thick)), rough / wide)
        )
        return float(tube.friction_loss.si(factor, length, wide, dense, speed))

    both = shower + tap
    speed = tube.velocity.work(flow=both, diameter=bore)
    number = tube.reynolds.work(density=dense, velocity=speed.value, diameter=bore, viscosity=thick)
    factor = float(friction_factor(number.value, rough / bore))
    work = tube.friction_loss.work(
        friction_factor=factor, length=length, diameter=bore, density=dense, velocity=speed.value
    )
    alone = loss(shower, bore)
    units = draw.units
    pounds = units == "US"  # of mass in the density, of force in the pressure

    def as_told(flow: float) -> float:
        """The loss of another flow with the factor that the question gives for both."""
        return work.value * (flow / both) ** 2

    return Exercise(
        draw=draw,
        question="Shower and tap hang on one run. Both are open. What does friction take along the "
        f"run? The friction factor is {factor:.4f} at this flow.",
        given=(
            ("tube", draw["tube"]),
            ("bore", show(bore, "diameter", units)),
            ("length", draw["length"]),
            ("shower", draw["shower"]),
            ("tap", draw["tap"]),
            ("density of the water", show(dense, "density", units)),
        ),
        answer=work.value,
        word="pressure_loss",
        work=(speed, number, work),
        mistakes=(
            Mistake("shower alone", alone, "that is the shower alone: both flows pass the run."),
            Mistake(
                "tap alone", loss(tap, bore), "that is the tap alone: both flows pass the run."
            ),
            Mistake(
                "losses added",
                alone + loss(tap, bore),
                "you added the losses of each flow. Add the flows first: loss grows with the "
                "square.",
            ),
            Mistake(
                "loss taken as proportional",
                alone * both / shower,
                "loss does not grow with the flow but with nearly its square.",
            ),
            Mistake(
                "radius for diameter",
                work.value * 2**5,
                "you took the radius for the bore: in area and in length over bore.",
            ),
            Mistake("half forgotten", work.value * 2, "the kinetic pressure has a half in front."),
            Mistake(
                "shower alone, factor of both",
                as_told(shower),
                "that is the shower alone: both flows pass the run.",
            ),
            Mistake(
                "tap alone, factor of both",
                as_told(tap),
                "that is the tap alone: both flows pass the run.",
            ),
            Mistake(
                "losses added, factor of both",
                as_told(shower) + as_told(tap),
                "you added the losses of each flow. Add the flows first: loss grows with the "
                "square.",
            ),
            *(
                Mistake(
                    "pounds of mass for pounds of force",
                    work.value * G / FOOT,
                    "a pound in the density is one of mass, in psi one of force: divide by 32.2 "
                    "as well.",
                )
                for _ in range(pounds)
            ),
        ),
        hints=(
            "Add the two flows, then find the speed in the bore.",
            "Loss = factor × length over bore × half the density × speed squared."
            + " In pounds, feet and seconds, divide by 32.2, and by 144 for psi." * pounds,
        ),
        why=f"Both flows together are {show(both, 'flow', units)}, which run at "
        f"{show(speed.value, 'velocity', units)}. The shower alone would lose "
        f"{show(alone, 'pressure_loss', units)} here: {both / shower:.2g} times the flow costs "
        f"{work.value / alone:.2g} times that.",
        within="4 % of it",
    )


@exercise(
    "cold minute",
    "Why is the first minute cold?",
    us={
        "tube": US_TUBES,
        "length": ladder(36, 240, 1, "in"),
        "flow": ladder(0.5, 2.2, 0.1, "gpm"),
    },
    si={
        "tube": SI_TUBES,
        "length": ladder(900, 6100, 20, "mm"),
        "flow": ladder(2, 8, 0.4, "L/min"),
    },
)
def why_cold_first(draw: Draw) -> Exercise:
    """Time until hot water has pushed the cooled water out of a run."""
    row = table("tubes")[draw["tube"]]
    bore, outside = row.number("bore"), row.number("od")
    length, flow = draw.si("length", "length"), draw.si("flow", "flow")
    content = tube.tube_content.work(diameter=bore, length=length)
    work = tube.plug_wait.work(volume=content.value, flow=flow)
    units = draw.units
    return Exercise(
        draw=draw,
        question="The run to the tap has cooled. How long does the tap run before hot water can "
        "arrive, if the cooled water is pushed out as a plug?",
        given=(
            ("tube", draw["tube"]),
            ("bore", show(bore, "diameter", units)),
            ("length", draw["length"]),
            ("flow", draw["flow"]),
        ),
        answer=work.value,
        word="duration",
        work=(content, work),
        mistakes=(
            Mistake(
                "diameter for radius",
                work.value * 4,
                "you took the bore for the radius: the content is four times too large.",
            ),
            Mistake(
                "outside diameter",
                work.value * (outside / bore) ** 2,
                "you took the outside of the tube; water fills its bore.",
            ),
            Mistake(
                "half the bore squared wrongly",
                work.value / 4,
                "you halved the radius again: π/4 goes with the bore, π with the radius.",
            ),
        ),
        hints=(
            "How much water stands in the run? Then: how long does the flow take to move it?",
            "Content = π/4 × bore² × length; time = content over flow.",
        ),
        why=f"The run holds {show(content.value, 'volume_small', units)}, and {draw['flow']} "
        f"moves that in {show(work.value, 'duration', units)}. The tube's own wall takes up some "
        "warmth as well, so in the van it is a little longer.",
        within="3 % of it",
    )
