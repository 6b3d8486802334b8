"""What each heater can do: time to hot, recovery, usable and mixed water, growth.

Sums on one heater at rest.  How the store cools and recovers through a day is the business
of the timeline.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from ...formulas import heater as h
from ...formulas.mixing import mixed_yield
from ...formulas.water import water_density, water_specific_heat
from ...van.kinds import heaters
from ...van.model import Build
from ...van.parts import Heater
from ...words.report import Answer, Caution, Chapter
from ...words.show import show
from ...words.work import Work

USABLE_SHARE = 0.70
"""Part of a store that comes out hot before cold mixes in; ASHRAE gives 60 to 80 %."""
SHOWER = 40 + 273.15
"""Mixed water that the yield is told for where no fixture says what it wants, K."""
SCALDING = 49 + 273.15


@dataclass(frozen=True)
class SourceFacts:
    """One way to heat the water: its power, what of it gets there, and what that gives.

    ``time`` for one filling is None for a flow-through heater.  ``works`` ends in recovery.
    """

    label: str
    power: float
    efficiency: float
    time: float | None
    recovery: float
    works: tuple[Work, ...]


@dataclass(frozen=True)
class HeaterFacts:
    """Figures of one heater, SI.  Those of a store are None for a flow-through heater."""

    heater: Heater
    cold: float
    target: float
    sources: tuple[SourceFacts, ...]
    heat: float | None = None
    usable: float | None = None
    mixed: float | None = None
    growth: float | None = None
    works: dict[str, Work] = field(default_factory=dict)

    @property
    def name(self) -> str:
        return self.heater.name


def heater_facts(build: Build) -> tuple[HeaterFacts, ...]:
    """The figures of every heater of a build."""
    return tuple(_facts(build, heater) for heater in build.heater)


def target(build: Build, heater: Heater) -> float:
    """The warmest water that a fixture or mixing valve wants, below the setpoint, K."""
    wanted = [f.temperature for f in build.fixture if f.temperature is not None]
    wanted += [m.setting for m in build.mixing_valve]
    below = [t for t in wanted if t < heater.setpoint]
    return max(below, default=min(SHOWER, heater.setpoint))


def _facts(build: Build, heater: Heater) -> HeaterFacts:
    cold, hot = build.van.cold_water, heater.setpoint
    aim = target(build, heater)
    if hot <= cold:
        return HeaterFacts(heater, cold, aim, ())
    mean = (cold + hot) / 2
    density = water_density.work(temperature=cold)
    warmth = water_specific_heat.work(temperature=mean)
    works: dict[str, Work] = {"density": density, "specific_heat": warmth}
    heat = usable = mixed = growth = None
    if heaters.has_store(heater):
        works["heat"] = h.heat_to_warm.work(
            density=density.value, volume=heater.volume, specific_heat=warmth.value, rise=hot - cold
        )
        works["usable"] = h.usable_hot.work(volume=heater.volume, share_usable=USABLE_SHARE)
        works["growth"] = h.expansion_volume.work(
            volume=heater.volume,
            density_cold=float(water_density.si(cold)),
            density_hot=float(water_density.si(hot)),
        )
        heat, usable = works["heat"].value, works["usable"].value
        growth = max(works["growth"].value, 0.0)
        if cold < aim <= hot:
            works["mixed"] = mixed_yield.work(
                volume_hot=usable,
                temperature_hot=hot,
                temperature_cold=cold,
                temperature_mixed=aim,
            )
            mixed = works["mixed"].value
    sources = tuple(
        _source(
            source.label,
            source.power,
            source.efficiency,
            heat,
            density.value,
            warmth.value,
            hot - cold,
        )
        for source in heaters.sources(heater)
    )
    return HeaterFacts(heater, cold, aim, sources, heat, usable, mixed, growth, works)


def _source(
    label: str,
    power: float,
    efficiency: float,
    heat: float | None,
    density: float,
    specific_heat: float,
    rise: float,
) -> SourceFacts:
    speed = h.recovery.work(
        power=power, efficiency=efficiency, density=density, specific_heat=specific_heat, rise=rise
    )
    if heat is None:
        return SourceFacts(label, power, efficiency, None, speed.value, (speed,))
    time = h.heating_time.work(heat=heat, power=power, efficiency=efficiency)
    return SourceFacts(label, power, efficiency, time.value, speed.value, (time, speed))


def chapter(build: Build, facts: tuple[HeaterFacts, ...]) -> Chapter:
    """The heaters on the sheet."""
    return Chapter(
        key="heater",
        title="Heater",
        basis=(
            "Heat taken up by the water itself; the heater's own metal is left aside.",
            f"Of a store, {USABLE_SHARE * 100:.0f} % comes out hot before cold mixes in "
            "(ASHRAE Handbook, service water heating, 60 to 80 %, from memory).",
            "Density of the cold water that is filled in, specific heat at the mean of cold and "
            "setpoint: see the properties of water.",
        ),
        inputs=tuple(row for one in facts for row in _inputs(build, one)),
        answers=tuple(row for one in facts for row in _answers(build, one)),
        cautions=_cautions(build),
    )


def _inputs(build: Build, one: HeaterFacts) -> list[Answer]:
    def basis(path: str, otherwise: str) -> str:
        return "given" if path in build.given else otherwise

    rows = [
        Answer(f"Setpoint of {one.name}", one.heater.setpoint, "temperature", basis="given"),
        Answer("Cold water", one.cold, "temperature", basis=basis("van.cold_water", "assumed")),
    ]
    if one.heater.volume is not None:
        rows.append(Answer(f"Content of {one.name}", one.heater.volume, "volume", basis="given"))
    for source in one.sources:
        rows.append(Answer(f"Power of the {source.label}", source.power, "power", basis="given"))
        if source.label == "burner":
            path = f"heater.{one.name}.burner_efficiency"
            how = basis(path, "typical, see its plate")
            rows.append(Answer("Efficiency", source.efficiency, "efficiency", basis=how))
    return rows


def _answers(build: Build, one: HeaterFacts) -> list[Answer]:
    system = build.van.units
    cold, hot = (show(t, "temperature", system) for t in (one.cold, one.heater.setpoint))
    span = f"{cold} to {hot}"
    rise = show(one.heater.setpoint - one.cold, "rise", system)
    found: list[Answer] = []
    if one.heat is not None:
        work = (one.works["heat"],)
        found.append(Answer("Heat for one filling", one.heat, "heat", work, note=span))
    for source in one.sources:
        if source.time is not None:
            found.append(
                Answer(
                    f"Time to heat with the {source.label}",
                    source.time,
                    "duration",
                    (source.works[0],),
                    note=span,
                    key=source is one.sources[0],
                )
            )
        label = "Most hot water" if one.heat is None else "Recovery"
        hourly = show(source.recovery * 3600, "volume", system)
        found.append(
            Answer(
                f"{label} with the {source.label}",
                source.recovery,
                "flow",
                (source.works[-1],),
                note=f"{hourly} an hour, at a rise of {rise}",
                key=one.heat is None,
            )
        )
    if one.usable is not None:
        found.append(Answer("Usable hot water", one.usable, "volume", (one.works["usable"],)))
    if one.mixed is not None:
        label = f"Water at {show(one.target, 'temperature', system)} from one store"
        found.append(Answer(label, one.mixed, "volume", (one.works["mixed"],), key=True))
    if one.growth is not None:
        found.append(
            Answer(
                "Growth of the water as it is heated",
                one.growth,
                "volume_small",
                (one.works["growth"],),
                note="must find room, or it opens the relief valve",
            )
        )
    return found


def _cautions(build: Build) -> tuple[Caution, ...]:
    found = []
    if any(x.setpoint >= SCALDING for x in build.heater):
        found.append(
            Caution(
                "WARNING",
                "Water from the heater scalds. Every outlet that people wash at needs a mixing "
                "valve that limits its temperature; follow the local plumbing code.",
            )
        )
    if any(x.burner_power for x in build.heater):
        found.append(
            Caution(
                "DANGER",
                "Burned fuel needs its flue, its air and a carbon monoxide alarm. Gas and fuel "
                "lines are for a licensed fitter, by the local code and the heater's manual.",
            )
        )
    if any(heaters.on_mains(x) for x in build.heater):
        found.append(
            Caution(
                "DANGER",
                "Mains electricity beside water: earth, residual-current protection and wiring "
                "by a licensed electrician. Never switch an element on in an empty store.",
            )
        )
    if build.heater:
        found.append(
            Caution(
                "WARNING",
                "Never block a relief valve or put a plug in its place. Lead its drain outside, "
                "downwards, where nobody is hit by hot water.",
            )
        )
    return tuple(found)
