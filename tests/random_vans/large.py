"""Vans with very many taps, to see what a large build costs: a wash bus, a field kitchen.

No van has sixty fixtures, but a trailer of showers or a mobile clinic may, and a search over all
combinations that ends with ten would never end there.  Fixtures stand in groups of ten, by turns
on a pair of manifolds and along a pair of trunks, some with two supplies and some behind a mixing
valve; shut-offs fill the number of runs up.
"""

from __future__ import annotations

from itertools import pairwise
from random import Random
from typing import Any

from .vans import text_of

GROUP = 10
"""Fixtures on one pair of manifolds, or along one pair of trunks."""
TUBE, WIDE = "PEX 1/2 in", "PEX 3/4 in"


class _Large:
    def __init__(self, fixtures: int, runs: int, seed: int, checks: bool) -> None:
        self.rng = Random(seed)
        self.fixtures, self.runs, self.checks = fixtures, runs, checks
        self.van: dict[str, Any] = {}

    def part(self, kind: str, /, **said: Any) -> str:
        self.van.setdefault(kind, []).append(said)
        return str(said.get("name", ""))

    def run(self, start: str, end: str, tube: str = TUBE) -> None:
        metres = self.rng.uniform(0.3, 3.0)
        said = {"from": start, "to": end, "tube": tube, "length": f"{metres:.2f} m"}
        rise = self.rng.uniform(-0.2, 0.2) * metres
        self.part("run", **said, rise=f"{rise:.2f} m", fittings={"elbow 90": 1})

    def chain(self, *names: str, tube: str = TUBE) -> None:
        for start, end in pairwise(names):
            self.run(start, end, tube)

    def make(self) -> dict[str, Any]:
        rng, count = self.rng, self.fixtures
        self.van["van"] = {"name": "Ruff", "units": "SI", "outside": "-5 °C"}
        self.van["crew"] = {"people": 4, "nights": 1, "drinking": "2 L"}
        self.van["battery"] = {"capacity": "600 Ah", "voltage": "12.8 V"}
        self.part("tank", name="fresh", volume=f"{40 * count} L", shape="stated")
        self.part("tank", name="grey", holds="grey", volume=f"{40 * count} L", shape="stated")
        self.part("strainer", name="strainer")
        most = 3 * count
        self.part("pump", name="pump", kind="electric", cut_in="2.5 bar", cut_out="3.5 bar",
                  curve_flow=[f"{most} L/min", f"{most / 2} L/min", "0 L/min"],
                  curve_pressure=["0 bar", "2.5 bar", "4 bar"],
                  curve_current=["30 A", "40 A", "20 A"])  # fmt: skip
        self.part("check_valve", name="pump check")
        self.part("accumulator", name="vessel", volume="2 L", precharge="2.2 bar")
        self.part("heater", name="heater", kind="storage", volume="60 L", setpoint="60 °C",
                  element_power="2 kW", relief="6 bar")  # fmt: skip
        for name in ("vessel tee", "heater tee"):
            self.part("tee", name=name)
        self.chain("fresh", "strainer", "pump", "pump check", "vessel tee", tube=WIDE)
        self.run("vessel tee", "vessel")
        self.chain("vessel tee", "heater tee", "heater", tube=WIDE)
        ends = {"cold": "heater tee", "hot": "heater"}
        for group in range(0, count, GROUP):
            ends = self.group(group // GROUP, range(group, min(group + GROUP, count)), ends)
        # a run more for each shut-off set into the way to a fixture
        last = [r for r in self.van["run"] if r["to"].split(".")[0].startswith("tap")]
        rng.shuffle(last)
        number = 0
        while len(self.van["run"]) < self.runs:
            run = last[number % len(last)]
            number += 1
            name = self.part("shut_off", name=f"stop {number}", valve="ball")
            self.part("run", **{**run, "from": name, "rise": "0 m"})
            run["to"] = name
            last[(number - 1) % len(last)] = self.van["run"][-1]
        self.part("situation", name="some", open=[f"tap {i}" for i in range(0, count, 7)])
        self.part("stock", tube=TUBE, length="3 m")
        return self.van

    def group(self, number: int, members: range, feeds: dict[str, str]) -> dict[str, str]:
        """Ten fixtures behind two tees.  Gives the tees from which the next ten are fed."""
        taken = {}
        for side, before in feeds.items():
            tee = self.part("tee", name=f"{side} tee {number}")
            self.run(before, tee, WIDE)
            taken[side] = tee
        zoned = number % 2 == 0
        at = dict(taken)
        if zoned:
            for side in taken:
                at[side] = self.part("manifold", name=f"{side} manifold {number}", side=side,
                                     tube=TUBE)  # fmt: skip
                self.run(taken[side], at[side])
        used = {"cold": 0, "hot": 0}

        def outlet(side: str) -> str:
            """The next place from which a branch may leave."""
            used[side] += 1
            if zoned:
                zone = f"z{used[side]}"
                self.part("zone", manifold=at[side], name=zone)
                return f"{at[side]}.{zone}"
            tee = self.part("tee", name=f"{side} branch {number}-{used[side]}")
            self.run(at[side], tee)
            at[side] = tee
            return tee

        for i in members:
            kinds = ("galley tap", "shower", "cold tap", "hose outlet", "toilet")
            kind = kinds[i % len(kinds)]
            tap = self.part("fixture", name=f"tap {i}", kind=kind, grey="grey")
            if kind == "galley tap":
                self.run(outlet("cold"), f"{tap}.cold")
                self.run(outlet("hot"), f"{tap}.hot")
            elif kind == "shower":
                how = "thermostatic" if i % 4 else "fixed"
                valve = self.part("mixing_valve", name=f"valve {i}", kind=how, setting="40 °C",
                                  hot_check=self.checks, cold_check=self.checks,
                                  kv="1.2 m^3/h")  # fmt: skip
                self.run(outlet("cold"), f"{valve}.cold")
                self.run(outlet("hot"), f"{valve}.hot")
                self.run(valve, tap)
            else:
                self.run(outlet("cold"), tap)
            self.part("use", name=f"use of {tap}", fixture=tap, per_day=2, duration="20 s")
        return taken


def large(fixtures: int, runs: int, seed: int = 0, *, checks: bool = True) -> str:
    """The build file of a van with so many fixtures and at least so many runs.

    ``checks`` says whether its mixing valves have check valves at their inlets.
    """
    return text_of(_Large(fixtures, runs, seed, checks).make())
