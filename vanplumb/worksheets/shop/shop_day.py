"""The shop day: from the order of work to the signed hand-over, each step a page.

Every page works on one build and writes what was done into one record.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from pathlib import Path
from typing import Any

from ...board.as_laid import on_its_board
from ...chapters.shop_day import clock_chapter, dose_chapter, setting_chapter, test_chapter
from ...drawings.charts.clock import SCREEN, clock_picture
from ...drawings.charts.shop import test_picture
from ...flow.service_pressure import service_pressures
from ...pack import Pack
from ...sheet.wording import words_of
from ...shop import Shop
from ...shop.clock.clock import Effect
from ...shop.disinfect import Dose, agents_of, plan_dose, strip_says
from ...shop.readings.setting import (
    AtFlow,
    SetValve,
    judge_setting,
    read_outlet,
    read_supplies,
    setting_steps,
)
from ...shop.record.history import as_left
from ...shop.record.record import Record
from ...shop.test.by_rule import RuleResult, by_rule
from ...shop.test.leak import Judgement, judge, read_readings
from ...shop.test.pressure_test import TestPlan, plan_test
from ...van import Build
from ...van.region import rules_of
from ...words.quantity import QuantityError, read
from ...words.show import counted, show
from ...words.tables import table
from ..frame.base import Choice, Flag, Quantity, Text, Worksheet
from ..frame.controls import Lines
from ..frame.recorded import Recorded
from .bench import Bench
from .hand_over import HandOver

BY = {"by": "done by"}
READ = {"gauge": "gauge's serial number", **BY}
DELAYS = [("an hour", 3600.0), ("half a day", 43200.0), ("a day", 86400.0), ("two days", 172800.0),
          ("four days", 345600.0)]  # fmt: skip


class ShopDay:
    """The pages of one van's day in the shop; each is made when it is first asked for.

    ``van`` is the build, or its pack: what that has worked out already is not worked out anew.
    ``record`` is the path of the van's record, or a Record.
    """

    def __init__(self, van: Build | Pack, record: Path | str | Record, units: str = "") -> None:
        self.pack = van if isinstance(van, Pack) else Pack(van)
        self.build = self.pack.build if isinstance(van, Pack) else van
        self.units = units or self.build.van.units
        self.record = record if isinstance(record, Record) else Record(record)
        self.shop = self.pack.shop

    def __repr__(self) -> str:
        return f"Shop day of {self.build.van.name}: {counted(len(self.shop.joints), 'joint')}"

    @cached_property
    def clock(self) -> Worksheet:
        """Order of work, first water, test and hand-over; what one late joint does."""
        return clock_worksheet(self.shop, self.units)

    @cached_property
    def bench(self) -> Bench:
        """The joints, one run after another: made, tested, wept, repaired."""
        return Bench(self.shop, self.record)

    @cached_property
    def test(self) -> Recorded:
        """The pressure test: readings typed in, and what they say."""
        return Recorded(
            test_worksheet(self.build, self.units), self.record, _tested, READ, self.bench.refresh
        )

    @cached_property
    def disinfecting(self) -> Recorded:
        """How much chlorine, how long, what is left."""
        asks = {"residual": "chlorine left", **BY}
        return Recorded(dose_worksheet(self.build, self.units), self.record, _dosed, asks)

    def setting(self, valve: str = "") -> Recorded:
        """Setting one mixing valve (the first if none is named).  KeyError if there is none."""
        names = [v.name for v in self.build.mixing_valve]
        if not names or (valve and valve not in names):
            raise KeyError(f"no mixing valve {valve!r}; there are {', '.join(names) or 'none'}")
        sheet = setting_worksheet(self.build, valve or names[0], self.units)
        return Recorded(sheet, self.record, _set, BY)

    @cached_property
    def hand_over(self) -> HandOver:
        """The papers, and who gave the van to whom."""
        return HandOver(
            self.shop, self.pack.all_findings, self.record, lambda: as_left(self.record.read())
        )


def clock_worksheet(shop: Shop, units: str = "") -> Worksheet:
    """The clock with the shop's own temperature, hours and compounds."""
    from dataclasses import replace

    build = shop.build
    stated = build.shop
    compounds = list(table("compounds", build.rows))
    names = {j.name for j in shop.joints}

    def compute(values: Mapping[str, Any]) -> tuple[Shop, Effect | None]:
        changed = replace(
            stated,
            temperature=values["temperature"],
            start=values["start"],
            day_start=values["day_start"],
            day_end=values["day_end"],
            weekend=values["weekend"],
            cold_compound=values["cold_compound"],
            hot_compound=values["hot_compound"],
        )
        now = shop.at(changed)
        late = None
        joint = values["late"].strip()
        if joint and joint not in names:
            raise ValueError(f'no joint is named "{joint[:40]}"; the bench lists them all')
        if joint and not now.clock.refused:
            late = now.late(joint, values["delay"])
        return now, late

    return Worksheet(
        "Order of work and the clock",
        question="When may the joints see pressure, and when can the van be handed over?",
        units=units or build.van.units,
        words=words_of(build),
        fields=[
            Quantity(
                "temperature", "shop temperature", "temperature", stated.temperature,
                min(stated.temperature, 263.15), max(stated.temperature, 308.15),
            ),
            Text("start", "work starts", stated.start, about="such as 2025-03-03 08:00"),
            Text("day_start", "the day begins", stated.day_start),
            Text("day_end", "the day ends", stated.day_end),
            Flag("weekend", "work on Saturday and Sunday too", stated.weekend),
            "Threads",
            Choice("cold_compound", "cold", compounds, stated.cold_compound),
            Choice("hot_compound", "hot", compounds, stated.hot_compound),
            "If one joint is late",
            Text("late", "which joint", "", about="such as pump inlet thread; empty if none"),
            Choice("delay", "by", DELAYS, 86400.0),
        ],
        compute=compute,
        draw=lambda made, system: [
            clock_picture(made[1].after if made[1] else made[0].clock, SCREEN)
        ],
        chapter=lambda made, system: clock_chapter(*made),
        findings=lambda made: [],
        captions=["Order of work, waiting and the test"],
        ahead=True,
    )  # fmt: skip


def test_worksheet(build: Build, units: str = "") -> Worksheet:
    """Readings of a test, and whether they mean a leak."""
    build = on_its_board(build)
    system = units or build.van.units
    us = system == "US"
    known, pressures = rules_of(build, "test_rules"), service_pressures(build)
    usual = plan_test(build, pressures=pressures).rule.name

    def compute(values: Mapping[str, Any]) -> tuple[TestPlan, Judgement, RuleResult]:
        plan = plan_test(build, str(known[values["rule"]]["medium"]), values["rule"], pressures)
        readings = read_readings(values["readings"])
        ruled = by_rule(plan, readings, values["step"], system)
        return plan, judge(readings, plan.medium, plan.stiffness, values["step"]), ruled

    return Worksheet(
        "Pressure test",
        question="Type what the gauge shows, one line a reading; judge from when it has settled.",
        units=system,
        words=words_of(build),
        fields=[
            Choice("rule", "by the rule", [(name, name) for name in known], usual),
            Quantity("step", "the gauge shows steps of", "pressure",
                     "1 psi" if us else "0.05 bar", "0.0005 bar", "0.5 bar"),
            Lines("readings", "time, pressure, temperature", ""),
        ],
        compute=compute,
        draw=lambda made, shown: [test_picture(made[0], made[1], shown)],
        chapter=lambda made, shown: test_chapter(made[0], made[1], build, made[2]),
        captions=["Readings at one temperature, with what was fitted"],
    )  # fmt: skip


def dose_worksheet(build: Build, units: str = "") -> Worksheet:
    """Chlorine for a build's water."""
    build = on_its_board(build)
    known = rules_of(build, "disinfection_rules")
    usual = plan_dose(build)
    agents = tuple(dict.fromkeys(a for way in known.values() for a in agents_of(build, way)))

    def compute(values: Mapping[str, Any]) -> tuple[Dose, tuple[str, str]]:
        dose = plan_dose(build, values["way"], values["chlorine"])
        begun, over = (read_strip(values[key]) for key in ("strip", "strip_after"))
        return dose, strip_says(dose.way, begun, over)

    def strip(key: str, label: str) -> Text:
        return Text(key, label, "", about="such as 50 mg/L; empty if none was read")

    return Worksheet(
        "Disinfecting",
        question="How much chlorine goes in, how long does it stand, how does it get out?",
        units=units or build.van.units,
        words=words_of(build),
        fields=[
            Choice("way", "way", list(known), usual.way.name),
            Choice("chlorine", "with", list(agents), usual.chlorine.name),
            "Strips, the weakest outlet",
            strip("strip", "when the time begins"),
            strip("strip_after", "when it is over"),
        ],
        compute=compute,
        draw=lambda made, system: [],
        chapter=lambda made, system: dose_chapter(made[0], system, made[1]),
    )


def read_strip(text: str) -> float | None:
    """What a strip showed, kg/m³; None where nothing was read.  ValueError if it can't be read."""
    if not text.strip():
        return None
    try:
        return read(text, "concentration")
    except QuantityError as error:
        raise ValueError(f"the strip {error}") from None


def setting_worksheet(build: Build, name: str, units: str = "") -> Worksheet:
    """One mixing valve from two measurements."""
    valve = next(v for v in build.mixing_valve if v.name == name)
    system = units or build.van.units
    us = system == "US"
    outlet, supplies = (
        ("1.5 gpm, 100 °F", "140 °F, 60 °F") if us else ("6 L/min, 38 °C", "60 °C, 15 °C")
    )

    def compute(values: Mapping[str, Any]) -> SetValve:
        full, half = read_outlet(values["outlet"])
        hot, cold = read_supplies(values["supplies"])
        return judge_setting(build, valve, full, half, hot, cold)

    return Worksheet(
        f"Setting {name}",
        question="Measure the outlet at two flows, and both supplies, and type what was read.",
        units=system,
        words=words_of(build),
        fields=[
            Lines("outlet", "outlet: flow, temperature", "",
                  about=f"two lines: full open, then about half, such as {outlet}"),
            Lines("supplies", "supplies then: hot, cold", "", about=f"such as {supplies}"),
        ],
        compute=compute,
        draw=lambda found, system: [],
        chapter=lambda found, system: setting_chapter(found, setting_steps(build)),
    )  # fmt: skip


def _tested(sheet: Worksheet, said: Mapping[str, str]) -> list[tuple[str, dict[str, Any]]]:
    plan, found, ruled = sheet.result
    for word, asked in (("gauge", "the gauge's serial number"), ("by", "who read it")):
        if not said.get(word):
            raise ValueError(f"type {asked}")
    if ruled.result == "can't tell":
        raise ValueError(f"{ruled.rule} can't tell yet: {ruled.why}")
    pressure = show(found.corrected[0].pressure, "pressure", sheet.units)
    details = {"medium": plan.medium, "pressure": pressure, "rule": plan.rule.name,
               "by_rule": ruled.result,
               "result": {"creep": "tight, the tube gave"}.get(found.verdict, found.verdict),
               "readings": len(found.corrected), "gauge": said["gauge"],
               "no_more_than": show(found.most, "leak", sheet.units), **_by(said)}  # fmt: skip
    return [("system tested", details)]


def _dosed(sheet: Worksheet, said: Mapping[str, str]) -> list[tuple[str, dict[str, Any]]]:
    dose: Dose = sheet.result[0]
    strength = show(dose.way.number("concentration"), "concentration", sheet.units)
    stood = show(dose.duration, "duration", sheet.units)
    done = {"concentration": strength, "duration": stood, "with": dose.chlorine.name,
            "amount": dose.told(sheet.units), **_by(said)}  # fmt: skip
    events: list[tuple[str, dict[str, Any]]] = [("disinfected", done)]
    if said.get("residual"):
        events.append(("flushed", {"residual": said["residual"], **_by(said)}))
    return events


def _set(sheet: Worksheet, said: Mapping[str, str]) -> list[tuple[str, dict[str, Any]]]:
    found: SetValve = sheet.result
    if not found.good:
        raise ValueError("the valve is not right yet: read the remarks above")
    low, high = found.readings

    def told(one: AtFlow) -> str:
        warm = show(one.temperature, "temperature", sheet.units)
        return f"{warm} at {show(one.flow, 'flow', sheet.units)}"

    details = {"valve": found.valve, "temperature": f"{told(high)}, {told(low)}", **_by(said)}
    return [("valve set", details)]


def _by(said: Mapping[str, str]) -> dict[str, str]:
    return {"by": said["by"]} if said.get("by") else {}
