"""Hot water on the sheet: the heaters, a row of showers, waiting for it, and its growth."""

from __future__ import annotations

from ..trip.hot_runs.waits import GONE_COLD, Wait
from ..trip.play.session import Session
from ..trip.stay.heaters import USABLE_SHARE, HeaterFacts
from ..van.kinds import heaters
from ..van.model import Build
from ..van.region import region_of, usual_region
from ..words.glossary import ICE_POINT
from ..words.hazards import EXHAUST, MAINS, RELIEF, SCALD
from ..words.report import RIGHT, Answer, Caution, Chapter, grid
from ..words.show import show
from ..words.tables import table

SCALDING = 49 + ICE_POINT
"""A heater set as hot as this gets a word on scalding, K."""


def heater_chapter(build: Build, facts: tuple[HeaterFacts, ...]) -> Chapter:
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
        inputs=tuple(row for one in facts for row in _heater_inputs(build, one)),
        answers=tuple(row for one in facts for row in _heater_answers(build, one)),
        cautions=_heater_cautions(build),
    )


def _heater_inputs(build: Build, one: HeaterFacts) -> list[Answer]:
    def basis(path: str, otherwise: str) -> str:
        return "given" if path in build.given else otherwise

    rows = [
        Answer(f"Setpoint of {one.name}", one.heater.setpoint, "temperature", basis="given"),
        Answer("Cold water", one.cold, "temperature", basis=basis("van.cold_water", "assumed")),
    ]
    if one.heater.volume is not None:
        rows.append(Answer(f"Content of {one.name}", one.heater.volume, "volume", basis="given"))
    for source in one.sources:
        rows.append(Answer(f"Power of the {source.label}", source.plate, "power", basis="given"))
        if source.label == "burner":
            path = f"heater.{one.name}.burner_efficiency"
            how = basis(path, "typical, see its plate")
            rows.append(Answer("Efficiency", source.efficiency, "efficiency", basis=how))
    return rows


def _heater_answers(build: Build, one: HeaterFacts) -> list[Answer]:
    system = build.van.units
    cold, hot = (show(t, "temperature", system) for t in (one.cold, one.heater.setpoint))
    span = f"{cold} to {hot}"
    rise = show(one.heater.setpoint - one.cold, "rise", system)
    found: list[Answer] = []
    if one.heat is not None:
        work = (one.works["heat"],)
        found.append(Answer("Heat for one filling", one.heat, "heat", work, note=span))
    for source in one.sources:
        if source.thin is not None:
            found.append(
                Answer(
                    f"Power of the {source.label} in thin air",
                    source.power,
                    "power",
                    work=(source.thin,),
                    note="natural draught; its manual rules",
                )
            )
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


def _heater_cautions(build: Build) -> tuple[Caution, ...]:
    found = []
    if any(x.setpoint >= SCALDING for x in build.heater):
        found.append(SCALD.caution())
    if any(x.burner_power for x in build.heater):
        found.append(EXHAUST.caution())
    if any(heaters.on_mains(x) for x in build.heater):
        found.append(MAINS.caution("Never switch an element on in an empty store."))
    if build.heater:
        found.append(RELIEF.caution())
    return tuple(found)


def session_chapter(found: Session, system: str, region: str = "") -> Chapter:
    """The heater and its showers on a sheet."""
    works = found.works
    count = len(found.showers)
    coolest = min(found.showers, key=lambda one: one.warmth)
    answers = [
        Answer("showers that are warm", f"{found.warm} of {count}", key=True),
        Answer("coolest of them, on the whole", coolest.warmth, "temperature"),
    ]
    if not found.heater.flow_through:
        answers += [
            Answer(
                "from cold to hot",
                found.heat_time if found.heat_time is not None else "never: it loses as much",
                "duration" if found.heat_time is not None else "",
                (works["heat"], works["time"]),
                note="the steps leave the losses aside",
            ),
            Answer(
                "hot again after the last",
                found.recovered if found.recovered is not None else "not within four hours",
                "duration" if found.recovered is not None else "",
            ),
            Answer("comes out hot before cold mixes in", works["usable"].value, "volume",
                   (works["usable"],)),
        ]  # fmt: skip
        if "yield" in works:
            warm = show(found.wanted, "temperature", system)
            answers.append(
                Answer(f"which makes, at {warm}", works["yield"].value, "volume", (works["yield"],))
            )
    else:
        answers.append(
            Answer(
                "most that it can warm the whole flow",
                works["rise"].value,
                "rise",
                (works["rise"],),
            )
        )
    hourly = show(works["recovery"].value * 3600, "volume", system)
    answers.append(
        Answer(
            "recovery",
            works["recovery"].value,
            "flow",
            (works["recovery"],),
            note=f"{hourly} an hour, from cold to the setpoint",
        )
    )
    gap = float(found.outcome.heat_gap()[0])
    answers.append(
        Answer("heat unaccounted for", "less than 0.0001 %" if gap < 1e-6 else f"{gap * 100:.2f} %")
    )
    cautions = []
    if found.heater.setpoint > 322.15:
        cautions.append(SCALD.caution("Mix it with a valve that shuts when cold fails."))
    if not found.heater.flow_through:
        cautions += lukewarm_store(region or usual_region(system), found.heater.setpoint, system)
    return Chapter(
        key="session",
        title="Heater and showers",
        basis=(
            "The lowest 30 % of a store is stirred by the cold that comes in; above it the water "
            "moves as a plug in layers. Runs are left out.",
            "A hand mixes to what is wanted as long as the hot water allows it.",
        ),
        answers=tuple(answers),
        cautions=tuple(cautions),
        not_computed=("The heater's own metal.", "Runs between heater and shower."),
    )


def lukewarm_store(region: str, setpoint: float, units: str, on: str = "") -> list[Caution]:
    """The caution beside a store that is kept cooler than a region advises."""
    row = next(
        r
        for r in table("water_temperatures").values()
        if region in r["regions"] and r["place"] == "store"
    )
    least = row.number("least")
    if setpoint >= least - 0.01:
        return []
    return [
        Caution(
            "WARNING",
            f"A store below {show(least, 'temperature', units)} may breed legionella "
            f"({row.source('least')}). Follow local advice{on}.",
        )
    ]


def waiting_chapter(build: Build, waits: tuple[Wait, ...]) -> Chapter:
    """The wait for hot water at each fixture after the runs have gone cold."""
    system = build.van.units
    longest = max(waits, key=lambda w: w.wait)
    most = max(waits, key=lambda w: w.wasted)
    here = region_of(build).row
    limit = here["hot_draw_greatest"]
    asked = []
    if limit is not None:
        least = show(limit, "volume", system)
        asked = [f"{here.source('hot_draw_greatest')}: at most {least} drawn before hot."]
    warm = show(GONE_COLD, "temperature", system)
    return Chapter(
        key="waiting",
        title="Waiting for hot water",
        basis=(
            "Runs gone cold; the front gives heat to the tube's wall, so it runs late.",
            "A tap mixed by hand is turned to hot while waiting.",
            "Each tap gives what it gives open alone, as it was set: see pressures and flows.",
            *asked,
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
                note="more than that" if limit is not None and most.wasted > limit else "",
            ),
        ),
        grids=(
            grid(
                "Waits",
                waits,
                {
                    "fixture": "fixture",
                    "flow": ("flow", "flow"),
                    "run": ("length", "height"),
                    "holds": ("content", "volume"),
                    "wait, tube's heat left out": ("bare", "duration"),
                    "wait": ("wait", "duration"),
                    "run off": ("wasted", "volume"),
                    "stays warm": (lambda w: _kept(w, system), RIGHT),
                },
                key="waits",
                note=f"Stays warm: until the water in the run is at {warm}.",
            ),
        ),
        not_computed=(
            "Mixing of hot and cold at the front itself, which lengthens the wait a little.",
        ),
    )


def _kept(wait: Wait, system: str) -> str | None:
    return None if wait.stays_warm is None else show(wait.stays_warm, "duration", system)
