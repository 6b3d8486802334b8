"""A pack of our own invention with every kind of block that a chapter can hold."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from vanplumb.formulas.tank import water_mass
from vanplumb.review.finding import Finding
from vanplumb.van.model import Build
from vanplumb.van.parts import Fixture, Heater, MixingValve, Pump, Run, Tank
from vanplumb.van.whole_van import Crew, Van
from vanplumb.words.formula import Formula
from vanplumb.words.report import Answer, Caution, Chapter, Column, Grid, Picture
from vanplumb.words.sources import HSG274, PRACTICE, TMV3, Source
from vanplumb.words.work import solved

OWN = Source("own-sums", "This test's own sums", "memory")
RULE = """<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="12mm" viewBox="0 0 100 12">
<rect x="0" y="2" width="100" height="8" fill="#222"/></svg>"""
CHART = """<?xml version="1.0" encoding="utf-8"?>
<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 320 150" font-family="sans-serif">
<style>text { font-size: 11px; fill: #333 } .hot { stroke: #c22 } .mixed { stroke: #74b }</style>
<path d="M30 130H310M30 130V10" stroke="#333" fill="none"/>
<path class="hot" d="M30 30L310 60" fill="none" stroke-width="2"/>
<path class="mixed" d="M30 70L310 96" fill="none" stroke-width="2"/>
<text x="250" y="50">hot supply</text><text x="250" y="86">mixed</text>
<text x="120" y="147">minutes of draw</text></svg>"""


def heat_left_over(temperature_hot, temperature_cold, temperature_mixed, share):  # type: ignore[no-untyped-def]
    """Heat that the mixed water has too much, as a part of the difference of the supplies."""
    rise = temperature_hot - temperature_cold
    temperature = share * temperature_hot + (1 - share) * temperature_cold
    return (temperature_mixed - temperature) / rise


# Made without the decorator, so that it isn't listed among the kit's own formulas.
BALANCE = Formula(heat_left_over, "residual", OWN.at("line 2"))


def sample_build(name: str = "Dipper", units: str = "US") -> Build:
    """A small van with every kind of part that the inputs show."""
    return Build(
        van=Van(name=name, units=units, builder="R. Example", payload=900.0, note="Two berths"),
        crew=Crew(people=2, nights=4),
        tank=(Tank(name="fresh", shape="box", length=0.9, width=0.4, height=0.25),),
        pump=(Pump(name="pump", kind="electric", curve="3 gpm"),),
        heater=(Heater(name="heater", kind="storage", volume=0.01, setpoint=338.15),),
        mixing_valve=(MixingValve(name="basin mixer", kind="fixed", setting=313.15),),
        fixture=(Fixture(name="shower", kind="shower"),),
        run=(
            Run(start="fresh", end="pump", tube="PEX 1/2", length=0.8),
            Run(start="pump", end="heater", tube="PEX 1/2", length=1.6, rise=0.3),
        ),
        given={
            "van.payload": "900 kg",
            "crew.people": "2",
            "crew.nights": "4",
            "tank.fresh.shape": "box",
            "tank.fresh.length": "90 cm",
            "tank.fresh.width": "40 cm",
            "tank.fresh.height": "25 cm",
            "pump.pump.kind": "electric",
            "pump.pump.curve": "3 gpm",
            "heater.heater.setpoint": "65 °C",
            "heater.heater.volume": "10 L",
            "run.1.tube": "PEX 1/2",
            "run.1.length": "80 cm",
            "run.2.tube": "PEX 1/2",
            "run.2.length": "1.6 m",
            "run.2.rise": "30 cm",
        },
        path=Path("dipper.toml"),
        text="format = 1",
    )


def sample_chapters() -> tuple[Chapter, ...]:
    """A water chapter and a mixing chapter."""
    mass = water_mass.work(density=998.2, volume=0.09)
    share = 0.5
    mixed = solved(
        BALANCE,
        "share",
        temperature_hot=338.15,
        temperature_cold=288.15,
        temperature_mixed=313.15,
        share=share,
    )
    water = Chapter(
        key="water",
        title="Water and the tank",
        basis=("Two people, four nights between fillings.", "The tank stands level."),
        inputs=(
            Answer("Tank, length inside", 0.9, "length", basis="given"),
            Answer("Wall of the tank", 0.005, "length", basis="common practice, no source"),
            Answer("Cold water", 288.15, "temperature", basis="assumed", note="not measured"),
        ),
        answers=(
            Answer("Tank holds", 0.09, "volume", key=True, basis="inside sizes"),
            Answer("Mass of the water", 89.84, "mass", work=(mass,), key=True),
        ),
        grids=(
            Grid(
                "Use in a day",
                (Column("use"), Column("volume", "volume"), Column("times", align="right")),
                (("dishes", 0.004, 2), ("shower", 0.012, 1), ("=cmd|'/c calc'!A1", None, 3)),
                key="uses",
                note="Per person.",
            ),
        ),
        pictures=(
            Picture("bar", "A bar of 100 mm.", RULE),
            Picture("chart", "The outlet drifts as the store cools.", CHART),
        ),
        cautions=(Caution("CAUTION", "Drinking water: fill from a tested source only."),),
        not_computed=("Slosh of a half-full tank on the road.",),
    )
    mixing = Chapter(
        key="mixing",
        title="The low basin",
        answers=(
            Answer("Share of hot water", share, "share", work=(mixed,), key=True),
            Answer("Outlet", 313.15, "temperature", key=True, note="as it was set"),
            Answer("Valve", "set once, by hand"),
        ),
        cautions=(
            Caution("NOTICE", "Set it again after a change of the heater's setpoint."),
            Caution("WARNING", "Scald: measure the outlet with a thermometer before use."),
        ),
    )
    return water, mixing


def sample_findings() -> tuple[Finding, ...]:
    """One of each severity."""
    return (
        Finding("NOTICE", "Stub shorter than usual", "hot manifold", 0.04, 0.0508, PRACTICE,
                "Cut it longer.", "length", "stub_length"),
        Finding("DANGER", "The basin can scald", "basin mixer", 333.15, 317.15,
                TMV3.at("bath, assisted"), "Fit a thermostatic valve.", "temperature", "scald"),
        Finding("WARNING", "The store is kept below the legionella advice", "heater", 328.15,
                333.15, HSG274, "Raise the setpoint.", "temperature", "legionella"),
        Finding("CAUTION", "No check valve", "basin mixer", "none", "one at each inlet",
                PRACTICE, "Fit one at each inlet.", "", "check_valves"),
    )  # fmt: skip


def sample_pack(name: str = "Dipper", units: str = "US", **changes: Any) -> Any:
    """A stand-in for a pack: build, chapters and findings, and nothing else."""
    parts = {
        "build": sample_build(name, units),
        "chapters": sample_chapters(),
        "findings": sample_findings(),
    }
    made = parts | changes
    return SimpleNamespace(**made, as_written=made["build"], all_findings=made["findings"])


@pytest.fixture
def make_pack() -> Any:
    """The maker of packs, for tests that need more than one."""
    return sample_pack


@pytest.fixture(params=["US", "SI"])
def pack(request: pytest.FixtureRequest) -> Any:
    """A whole pack in each system of units."""
    return sample_pack(units=request.param)
