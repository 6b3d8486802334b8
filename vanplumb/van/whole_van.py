"""What is said once for the whole van: crew, battery, fuel, board, shop, limits."""

from __future__ import annotations

from dataclasses import dataclass

from ..words.brief import brief
from ..words.regions import REGIONS
from .entries import (
    choice,
    count,
    flag,
    name,
    number,
    quantity,
    reference,
    references,
    row,
    text,
    texts,
)
from .parts import BOILING, COLDEST, FREEZING, HOTTEST, PRACTICE, TINY


@brief
@dataclass(frozen=True, kw_only=True)
class Van:
    name: str = text(required=True, about="of the build")
    units: str = choice("US", "SI", required=True, about="what the reader sees")
    region: str = choice(
        *REGIONS, default="", about="whose rules and words; US for US units, EU for SI if not said"
    )
    length: float | None = quantity(
        "height", low=1, high=20, about="of the van from end to end, for what it must carry"
    )
    payload: float | None = quantity(
        "mass", high=20000, about="that the van may still carry, all in"
    )
    wheelbase: float | None = quantity(
        "distance", low=1, high=12, about="from the front axle to the rear one"
    )
    pipework_behind_front_axle: float | None = quantity(
        "distance",
        low=-3,
        high=15,
        about="of the middle of tube and of all parts that say no place",
    )
    front_axle_weighed: float | None = quantity(
        "mass", high=20000, about="on the front axle, by a weighbridge"
    )
    rear_axle_weighed: float | None = quantity(
        "mass", high=20000, about="on the rear axle, by a weighbridge"
    )
    weighed: str = choice(
        "before the water system",
        "with it, dry",
        about="what was in the van when its axles were weighed",
    )
    front_axle_limit: float | None = quantity(
        "mass", high=20000, about="allowed on the front axle, by the van's plate"
    )
    rear_axle_limit: float | None = quantity(
        "mass", high=20000, about="allowed on the rear axle, by the van's plate"
    )
    altitude: float = quantity(
        "height",
        0.0,
        basis="sea level",
        low=-500,
        high=6000,
        about="where it camps: thinner air, less suction",
    )
    cold_water: float = quantity(
        "temperature",
        288.15,
        basis="assumed",
        about="in the fresh tank",
        low=FREEZING,
        high=BOILING,
    )
    cabin: float = quantity(
        "temperature", 293.15, basis="assumed", about="air in the van", low=COLDEST, high=HOTTEST
    )
    outside: float = quantity(
        "temperature", 283.15, basis="assumed", about="coldest night air", low=COLDEST, high=HOTTEST
    )
    outside_day: float | None = quantity(
        "temperature", about="warmest day air", low=COLDEST, high=HOTTEST
    )
    builder: str = text(about="who answers for the work")
    currency: str = text("", about="for prices, such as EUR")
    note: str = text(about="free remark, printed on the sheet")


@dataclass(frozen=True, kw_only=True)
class Crew:
    people: int = count(2, most=50, about="who sleep in the van")
    nights: int = count(3, most=366, about="between two fillings")
    drinking: float = quantity(
        "volume",
        0.005,
        basis="Sphere Handbook 2011, drinking and food 2.5–3 L, with a margin",
        about="per person and day, drunk and cooked with",
        high=0.1,
    )
    reserve: float = number("share", 0.10, basis=PRACTICE, about="of the need, kept back")
    heater_hours: tuple[str, ...] = texts(
        form="span", about="when the heater is on; day and night if not said"
    )
    drive_hours: tuple[str, ...] = texts(
        form="span", about="when the engine runs; an hour from 10:00 if not said"
    )
    hookup_hours: tuple[str, ...] = texts(
        form="span", about="when mains feed the heater's element; never if not said"
    )


@brief
@dataclass(frozen=True, kw_only=True)
class Use:
    """One habit: what is drawn where, how often, how long and how warm."""

    name: str = name("unique among the uses, without a point")
    fixture: str = reference(required=True, about="where it is drawn")
    per_person: float | None = number("count", about="times a day for each of the crew", high=100)
    per_day: float | None = number("count", about="times a day for the whole crew", high=1000)
    duration: float | None = quantity("duration", about="of open tap, once", high=7200)
    volume: float | None = quantity("volume", about="instead of a duration", high=1.0)
    temperature: float | None = quantity(
        "temperature", about="wanted; cold if not said", low=FREEZING, high=BOILING
    )
    hours: tuple[str, ...] = texts(
        form="clock", about='clock times such as "07:30"; spread by itself if not said'
    )
    spread: float = number("share", 0.25, basis="assumed", about="chance: how much it varies")


@dataclass(frozen=True, kw_only=True)
class Situation:
    """Fixtures open at once, to look at."""

    name: str = name("unique among the situations, without a point")
    open: tuple[str, ...] = references(about="fixtures")


@brief
@dataclass(frozen=True, kw_only=True)
class Battery:
    capacity: float = quantity("charge", required=True, low=TINY, about="printed on it")
    voltage: float = quantity(
        "voltage",
        12.8,
        low=1,
        high=1000,
        basis="typical for lithium; 12.2 for lead",
        about="mean while it gives",
    )
    usable: float = number(
        "share",
        0.8,
        basis="typical for lithium; 0.5 for lead",
        about="part of the capacity that may be used",
    )
    start_share: float = number("share", 1.0, about="how full it starts")
    second_capacity: float = quantity(
        "charge", 0.0, low=0, about="of a second battery of the same voltage beside it"
    )
    charge_current: float = quantity("current", 0.0, low=0, about="while charging")
    charge_hours: tuple[str, ...] = texts(form="span", about='windows such as "10:00-15:00"')
    other_load: float = quantity("power", 0.0, about="all that is not water, mean")
    inverter_efficiency: float = number(
        "efficiency", 0.88, basis="typical, see its plate", about="what comes out over what goes in"
    )

    @property
    def whole_capacity(self) -> float:
        """Charge of both batteries, C."""
        return self.capacity + self.second_capacity


@dataclass(frozen=True, kw_only=True)
class Fuel:
    kind: str = row("fuels", required=True, about="what is carried")
    mass: float | None = quantity("mass", about="carried for the heater")
    volume: float | None = quantity("volume", about="carried, instead of a mass")
    behind_front_axle: float | None = quantity(
        "distance", low=-3, high=15, about="of its middle; less than 0 where it stands ahead of it"
    )


@dataclass(frozen=True, kw_only=True)
class Board:
    width: float | None = quantity("length", about="of the board, or the most that fits")
    height: float | None = quantity("length", about="of the board, or the most that fits")
    thickness: float = quantity("length", 0.018, basis=PRACTICE, about="of the plywood")
    depth: float | None = quantity("length", about="free in front of the board")
    margin: float = quantity("length", 0.020, basis=PRACTICE, about="kept free at the edges")
    finger: float = quantity("length", 0.020, basis=PRACTICE, about="room for fingers at a handle")
    hot_side: str = choice(
        "left", "right", about="where hot comes in at a valve, seen from the front, if it can"
    )
    clip_valves: bool = flag(
        False, about="stubs long enough for a clip beside each valve, where a tube is too short"
    )
    pin: tuple[str, ...] = texts(about="what must stay where it is; see the board worksheet")


@dataclass(frozen=True, kw_only=True)
class Stock:
    """Tube on the shelf."""

    tube: str = row("tubes", required=True, about="size and sort")
    length: float = quantity("length", required=True, about="of one piece")
    pieces: int = count(1, most=1000, about="how many of that length")


@brief
@dataclass(frozen=True, kw_only=True)
class Shop:
    temperature: float = quantity(
        "temperature",
        293.15,
        basis="assumed",
        low=COLDEST,
        high=HOTTEST,
        about="air where the joints are made and set",
    )
    start: str = text("", form="moment", about='when work starts, "2025-03-03 08:00"')
    day_start: str = text("08:00", form="clock", about="of a working day")
    day_end: str = text("17:00", form="clock", about="of a working day")
    weekend: bool = flag(False, about="work on Saturday and Sunday too")
    cold_compound: str = row("compounds", "PTFE tape", about="on threads of the cold side")
    hot_compound: str = row("compounds", "PTFE tape", about="on threads of the hot side")
    test_pressure: float | None = quantity("pressure", low=0, about="of the finished work")
    cut_allowance: float = quantity(
        "length",
        0.0127,
        basis="common practice, no source",
        low=0,
        about="spare length kept for each piece of tube, for a spoiled cut",
    )
    expansion_tool: str = choice(
        "not said", "powered", "by hand", about="how often each end is expanded goes by it"
    )
    bend_corners: bool = flag(
        False, about="tube bent at its corners instead of elbows, where its least radius allows"
    )
    rate: float | None = number("price", about="of an hour of work, for the quote")
    margin: float = number("share", 0.0, about="on parts and work, for the quote")
    tax: float = number("share", 0.0, about="VAT or sales tax on all of it, for the quote")
    tax_on_work: bool = flag(True, about="whether the tax is on the work too, as VAT is")


@brief
@dataclass(frozen=True, kw_only=True)
class Limits:
    """The builder's own limits, where they are stricter or looser than the usual ones."""

    outlet_temperature: float | None = quantity(
        "temperature", about="at any mixed outlet", low=FREEZING, high=BOILING
    )
    velocity_cold: float | None = quantity("velocity", low=TINY, about="highest in tube, cold")
    velocity_hot: float | None = quantity("velocity", low=TINY, about="highest in tube, hot")
    working_pressure: float | None = quantity("pressure", low=0, about="highest in service")
    design_pressure: float | None = quantity(
        "pressure", low=0, about="highest that it is designed for, where a test rule asks for it"
    )
    test_rule: str = row("test_rules", about="of the pressure test, instead of the region's usual")
    disinfection: str = row("disinfection_rules", about="instead of the region's usual way")
    mixed_limit: str = row("mixed_limits", about="at all mixed outlets, instead of the region's")
    wait: float | None = quantity("duration", about="longest for hot water")
    water_share_of_payload: float | None = number(
        "share", about="most of the payload that water may take"
    )
