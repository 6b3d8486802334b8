"""Exercises on water and heat: how much, how warm, how weak, how long till hot."""

from __future__ import annotations

from random import Random

from ..formulas import mixing, needs, tube
from ..formulas.water import water_density, water_viscosity
from ..network.losses import friction_factor
from ..words.show import show
from ..words.tables import table
from .exercise import Exercise, Mistake, exercise, pick


def _us(units: str, us: tuple[str, ...], si: tuple[str, ...]) -> tuple[str, ...]:
    return us if units == "US" else si


@exercise("water")
def how_much_water(seed: int, units: str, random: Random) -> Exercise:
    """Water for a crew and some nights, with a reserve."""
    people, nights = random.randint(2, 5), random.randint(2, 7)
    each, each_text = pick(
        random,
        _us(units, ("2.5 gal", "3 gal", "3.5 gal", "4 gal"), ("9 L", "11 L", "13 L", "15 L")),
        "volume",
    )
    reserve = random.choice((0.1, 0.15, 0.2))
    day = needs.drinking_water.work(count_people=people, volume_person=each)
    need = needs.water_for_stay.work(
        volume_day=day.value, count_nights=nights, share_reserve=reserve
    )
    bare = day.value * nights
    return Exercise(
        key="water",
        title="How much water?",
        seed=seed,
        units=units,
        question=f"{people} people stay {nights} nights between two fillings. How much water must "
        "the pump be able to reach, with the reserve?",
        given=(
            ("people", str(people)),
            ("nights", str(nights)),
            ("each a day, all uses", each_text),
            ("reserve, on top", f"{reserve * 100:.0f} %"),
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
        ),
        hints=(
            "First one day of the whole crew, then the nights, then the reserve.",
            f"The reserve makes it 1 + {reserve:g} times as much.",
        ),
    )


@exercise("mixing")
def how_warm(seed: int, units: str, random: Random) -> Exercise:
    """Temperature out of a mixing valve from its hot share."""
    hot, hot_text = pick(
        random,
        _us(units, ("130 °F", "140 °F", "150 °F"), ("55 °C", "60 °C", "65 °C")),
        "temperature",
    )
    cold, cold_text = pick(
        random, _us(units, ("45 °F", "50 °F", "60 °F"), ("8 °C", "12 °C", "16 °C")), "temperature"
    )
    share = random.choice((0.35, 0.4, 0.55, 0.6))
    work = mixing.temperature_from_share.work(
        share_hot=share, temperature_hot=hot, temperature_cold=cold
    )
    swapped = cold + (1 - share) * (hot - cold)
    zero = 255.372 if units == "US" else 273.15
    as_reading = zero + share * (hot - cold)
    no_cold = zero + share * (hot - zero)
    return Exercise(
        key="mixing",
        title="How warm out of the valve?",
        seed=seed,
        units=units,
        question="A mixing valve passes this share of hot water. How warm is what comes out?",
        given=(("hot", hot_text), ("cold", cold_text), ("hot share", f"{share * 100:.0f} %")),
        answer=work.value,
        word="temperature",
        work=(work,),
        mistakes=(
            Mistake("shares swapped", swapped, "you gave the hot share to the cold water."),
            Mistake(
                "rise taken for a temperature",
                as_reading,
                "that is the rise above the cold water, not the temperature: add the cold.",
            ),
            Mistake("cold left out", no_cold, "the cold water brings warmth too: count it."),
            Mistake(
                "plain mean", (hot + cold) / 2, "that is the plain mean; the shares are not even."
            ),
        ),
        hints=(
            "Start from the cold water and ask how far towards the hot one the mix goes.",
            "It goes the hot share of the way from cold to hot.",
        ),
        within=0.02,
        span=hot - cold,
    )


@exercise("weak shower")
def why_weaker(seed: int, units: str, random: Random) -> Exercise:
    """Loss of a shared run when a second tap opens."""
    names = _us(units, ("PEX 1/2 in", "PEX 3/8 in"), ("PE-X 16x2.0", "PE-X 12x2.0"))
    name = random.choice(names)
    bore = table("tubes")[name].number("bore")
    rough = table("tubes")[name].number("roughness")
    length, length_text = pick(
        random, _us(units, ("6 ft", "9 ft", "12 ft"), ("2 m", "3 m", "4 m")), "length"
    )
    shower, shower_text = pick(
        random, _us(units, ("1.2 gpm", "1.5 gpm"), ("5 L/min", "6 L/min")), "flow"
    )
    tap, tap_text = pick(random, _us(units, ("0.8 gpm", "1.0 gpm"), ("3 L/min", "4 L/min")), "flow")
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
    return Exercise(
        key="weak shower",
        title="Why does the shower weaken?",
        seed=seed,
        units=units,
        question="Shower and tap hang on one run. Both are open. What does friction take along the "
        f"run? The friction factor is {factor:.4f} at this flow.",
        given=(
            ("tube", name),
            ("bore", show(bore, "diameter", units)),
            ("length", length_text),
            ("shower", shower_text),
            ("tap", tap_text),
            ("density of the water", show(dense, "density", units)),
        ),
        answer=work.value,
        word="pressure_loss",
        work=(speed, number, work),
        mistakes=(
            Mistake("shower alone", alone, "that is the shower alone: both flows pass the run."),
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
        ),
        hints=(
            "Add the two flows, then find the speed in the bore.",
            "Loss = factor × length over bore × half the density × speed squared.",
        ),
        within=0.04,
    )


@exercise("cold minute")
def why_cold_first(seed: int, units: str, random: Random) -> Exercise:
    """Time until hot water has pushed the cooled water out of a run."""
    name = random.choice(_us(units, ("PEX 1/2 in", "PEX 3/4 in"), ("PE-X 16x2.0", "PE-X 20x1.9")))
    row = table("tubes")[name]
    bore, outside = row.number("bore"), row.number("od")
    length, length_text = pick(
        random, _us(units, ("8 ft", "12 ft", "15 ft"), ("3 m", "4 m", "5 m")), "length"
    )
    flow, flow_text = pick(
        random,
        _us(units, ("0.8 gpm", "1.0 gpm", "1.5 gpm"), ("3 L/min", "4 L/min", "5 L/min")),
        "flow",
    )
    content = tube.tube_content.work(diameter=bore, length=length)
    work = tube.plug_wait.work(volume=content.value, flow=flow)
    return Exercise(
        key="cold minute",
        title="Why is the first minute cold?",
        seed=seed,
        units=units,
        question="The run to the tap has cooled. How long does the tap run before hot water can "
        "arrive, if the cooled water is pushed out as a plug?",
        given=(
            ("tube", name),
            ("bore", show(bore, "diameter", units)),
            ("length", length_text),
            ("flow", flow_text),
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
            Mistake("minutes for seconds", work.value / 60, "that number is in minutes."),
            Mistake("seconds for minutes", work.value * 60, "that number is in seconds."),
        ),
        hints=(
            "How much water stands in the run? Then: how long does the flow take to move it?",
            "Content = π/4 × bore² × length; time = content over flow.",
        ),
    )
