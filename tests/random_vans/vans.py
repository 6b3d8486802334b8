"""Vans that nobody drew: valid build files made from the component fields and the tables.

A van is made of a supply, a way to share out (manifolds, or a trunk with tees), heat, mixing
valves, fixtures, habits and what stands once for the whole van.  What a key may hold comes from
the declarations that the reader goes by, so a new key joins by itself; what can't be said by a
declaration (which runs make sense) is said here.
"""

from __future__ import annotations

import tomllib
from dataclasses import MISSING
from itertools import pairwise
from random import Random
from typing import Any

from vanplumb.van.entries import Entry, entries
from vanplumb.van.file.template import quantity, sample
from vanplumb.van.file.values import ValueProblem, read_value
from vanplumb.van.file.write import toml
from vanplumb.van.model import LISTS, SECTIONS
from vanplumb.words.quantity import QuantityError, read
from vanplumb.words.tables import table

Van = dict[str, Any]

SHAPES = {
    "box": ("length", "width", "height"),
    "lying cylinder": ("length", "diameter"),
    "standing cylinder": ("diameter", "height"),
    "stepped box": ("length", "width", "height", "step_length", "step_height"),
    "wedge": ("length", "width", "height", "height_low"),
    "stated": ("volume",),
}
NAMES = ("galley", "basin", "shower", "tub", "toilet", "hose", "√", "Spüle", "a & b", "<b>", "'")
LEFT_OUT = ("pin", "ends", "start_fittings", "end_fittings", "legs", "heads", "joint", "region")
"""Keys with a grammar of their own, which other tests try."""


def text_of(van: Van) -> str:
    """A van as a build file."""
    lines = ["format = 1"]
    for key in SECTIONS:
        if key in van:
            lines += ["", f"[{key}]", *(f"{k} = {toml(v)}" for k, v in van[key].items())]
    for key in LISTS:
        for part in van.get(key, ()):
            lines += ["", f"[[{key}]]", *(f"{k} = {toml(v)}" for k, v in part.items())]
    for name, rows in van.get("rows", {}).items():
        for row in rows:
            lines += ["", f"[[rows.{name}]]", *(f"{k} = {toml(v)}" for k, v in row.items())]
    return "\n".join(lines) + "\n"


def value(kind: str, key: str, entry: Entry, default: Any, rng: Random, units: str) -> Any:
    """A value that the key may hold; None if none was hit on."""
    if entry.kind in ("quantity", "number", "quantities") and entry.word:
        return _figure(kind, key, entry, default, rng, units)
    if entry.kind == "count":
        return rng.randint(0, min(int(entry.high or 0), 4))
    if entry.kind == "flag":
        return rng.random() < 0.5
    if entry.kind == "choice":
        return rng.choice(entry.options)
    if entry.kind == "row":
        return rng.choice(list(table(entry.table)))
    if entry.kind == "counts_of_rows":
        rows = rng.sample(list(table(entry.table)), rng.randint(0, 3))
        return {row: rng.randint(0, 3) for row in rows}
    if entry.form == "clock":
        clock = f"{rng.randint(0, 23):02}:{rng.choice((0, 15, 30, 59)):02}"
        return [clock] if entry.kind == "texts" else clock
    if entry.form == "span":
        return [f"{rng.randint(0, 11):02}:00-{rng.randint(12, 24):02}:00"]
    if entry.form == "moment":
        return rng.choice(("2025-03-03 08:00", "2026-12-31 23:59", "2199-12-30 08:00"))
    if entry.kind == "text":
        return rng.choice(("a remark", "ä √ ½ \u202e <b> $x$", "", "=1+1"))
    return None


def _figure(kind: str, key: str, entry: Entry, default: Any, rng: Random, units: str) -> Any:
    shown = tomllib.loads(f"x = {sample(kind, key, entry, default, units)}")["x"]
    if not isinstance(shown, str | int | float):
        return None
    try:
        si = read(shown, entry.word)
    except QuantityError:
        return None
    for _ in range(5):
        by = rng.uniform(-8, 8) if "temperature" in entry.word else 0.0
        said: Any = si * 10 ** rng.uniform(-0.5, 0.4) if not by else si + by
        if rng.random() < 0.08:
            said = rng.choice((0.0, entry.low or 0.0, si * 10 ** rng.uniform(-2, 2)))
        try:
            said = quantity(said, entry.word, units)
            read_value(said, entry, table)
            return said
        except (ValueProblem, QuantityError, ValueError):
            continue
    return None


LOWEST = 0.1
"""m, the height of the lowest tank that is made here."""
TALLEST = 2.0
"""m: the tallest tank that a van holds; one that is drawn taller is made so tall."""


class Maker:
    """One van."""

    def __init__(self, seed: int) -> None:
        self.rng = Random(seed)
        self.units = self.rng.choice(("US", "SI"))
        self.van: Van = {}
        inch = self.units == "US"
        tubes = [n for n in table("tubes") if n.startswith(("PEX", "copper")) == inch]
        self.tube = self.rng.choice(tubes)
        self.other = self.rng.choice(tubes) if self.rng.random() < 0.4 else self.tube

    def part(self, kind: str, /, often: float = 0.25, **said: Any) -> str:
        """Add a part with some of its optional keys.  Gives its name."""
        declared = entries({**SECTIONS, **LISTS}[kind])
        whole: Van = {k: v for k, v in said.items() if k in declared}
        for key, (_, entry, default) in declared.items():
            if key in whole or key in LEFT_OUT or key == "name":
                continue
            if entry.required or self.rng.random() < often:
                new = value(kind, key, entry, default, self.rng, self.units)
                if new is not None and (entry.required or default is not MISSING):
                    whole[key] = new
        ordered = {k: whole[k] for k in declared if k in whole}
        if kind in SECTIONS:
            self.van[kind] = ordered
        else:
            self.van.setdefault(kind, []).append(ordered)
        return str(said.get("name", ""))

    def run(self, start: str, end: str) -> None:
        tube = self.tube if self.rng.random() < 0.8 else self.other
        metres = self.rng.choice((0.1, 0.3, 0.8, 2.0, 4.0)) * self.rng.uniform(0.7, 1.3)
        said: Van = {"from": start, "to": end, "tube": tube, "length": f"{metres:.2f} m"}
        if self.rng.random() < 0.4:
            said["rise"] = f"{self.rng.uniform(-0.9, 0.9) * metres * 0.8:.2f} m"
        self.part("run", 0.15, **said)
        last = self.van["run"][-1]
        if "rise" not in said:
            last.pop("rise", None)

    def make(self) -> Van:
        """The whole van."""
        rng = self.rng
        self.part("van", 0.3, name=rng.choice(("Snipe", "√", "Ruff & <b>")), units=self.units)
        if rng.random() < 0.8:
            self.part("crew", 0.6)
        node = self._supply()
        hot = self._heat(node) if rng.random() < 0.7 else None
        self._taps(hot)
        for name in ("battery", "fuel", "board", "shop", "limits"):
            if rng.random() < 0.5:
                self.part(name, 0.35)
        self._mend()
        # last, so that what is drawn above is the same with and without them
        if rng.random() < 0.2:
            self._second_tank()
        if hot and rng.random() < 0.3:
            self._return()
        if hot and rng.random() < 0.3:
            self.van["heater"][-1] |= {"bypass": rng.choice(("one valve", "three valves"))}
        return self.van

    def _second_tank(self) -> None:
        """Another fresh tank, and what draws from the one or the other."""
        shape = self.rng.choice(list(SHAPES))
        self._tank("spare", "fresh", shape, dict.fromkeys(SHAPES[shape]))
        selector = self.part("tank_selector", 0.5, name="selector")
        first = next(r for r in self.van["run"] if r["from"] == "fresh")
        first["from"] = selector
        self.run("fresh", f"{selector}.first")
        self.run("spare", f"{selector}.second")

    def _return(self) -> None:
        """A pump that brings hot water back to the heater, from the end of what carries it."""
        into = next(r for r in self.van["run"] if r["to"] == "heater")
        hot = [r["to"] for r in self.van["run"] if r["to"].startswith(("hot tee", "hot manifold"))]
        if not hot:
            return
        start = hot[-1]
        if start == "hot manifold":
            self.part("zone", 0.15, manifold=start, name="return")
            start = f"{start}.return"
        way = [start, self.part("recirculation_pump", 0.3, name="return pump")]
        if self.rng.random() < 0.6:
            way.append(self.part("check_valve", name="return check"))
        into["to"] = self.part("tee", name="return tee")
        for a, b in pairwise([*way, "return tee", "heater"]):
            self.run(a, b)

    def _supply(self) -> str:
        """Tank, pump and shore up to one tee that feeds the rest.  Gives the tee's name."""
        rng = self.rng
        shape = rng.choice(list(SHAPES))
        sizes = {k: None for k in SHAPES[shape]}
        self._tank("fresh", "fresh", shape, sizes)
        if rng.random() < 0.5:
            other = rng.choice(list(SHAPES))
            self._tank("grey", "grey", other, dict.fromkeys(SHAPES[other]))
        chain = ["fresh"]
        if rng.random() < 0.6:
            chain.append(self.part("strainer", name="strainer"))
        kind = rng.choice(("electric", "electric", "electric", "foot", "hand", ""))
        if kind:
            rows = [n for n, row in table("pumps").items() if row["kind"] == kind]
            self.part("pump", 0.15, name="pump", kind=kind, curve=rng.choice(rows))
            for key in ("curve_flow", "curve_pressure", "curve_current"):
                self.van["pump"][-1].pop(key, None)
            chain.append("pump")
        if rng.random() < 0.5:
            chain.append(self.part("check_valve", name="check"))
        if rng.random() < 0.3:
            chain.append(self.part("shut_off", name="stop"))
        chain.append(self.part("tee", name="tee"))
        for number in range(rng.choice((0, 0, 1, 2))):
            chain.insert(-1, self.part("line_part", name=f"part {number}"))
        for a, b in pairwise(chain):
            self.run(a, b)
        if rng.random() < 0.2:
            self.part("air_vent", name="vent")
            self.run("tee", "vent")
        if rng.random() < 0.5:
            self.part("accumulator", name="vessel")
            self.run("tee", "vessel")
        if rng.random() < 0.3:
            self.part("drain_valve", name="drain")
            self.run("tee", "drain")
        if rng.random() < 0.5:
            shore = [self.part("shore_inlet", name="shore")]
            if rng.random() < 0.8:
                shore.append(self.part("regulator", name="regulator"))
            if rng.random() < 0.7:
                shore.append(self.part("check_valve", name="shore check"))
            for a, b in zip(shore, [*shore[1:], "tee"], strict=True):
                self.run(a, b)
        return "tee"

    def _tank(self, name: str, holds: str, shape: str, sizes: Van) -> None:
        rng = self.rng
        made = {
            "length": rng.uniform(0.3, 1.2), "width": rng.uniform(0.2, 0.6),
            "height": rng.uniform(0.15, 0.5), "diameter": rng.uniform(0.15, 0.4),
            "step_length": rng.uniform(0.05, 0.25), "step_height": rng.uniform(0.03, 0.14),
            "height_low": rng.uniform(0.05, 0.15),
        }  # fmt: skip
        said = {k: f"{made[k] * 1000:.0f} mm" for k in sizes if k in made}
        if "volume" in sizes:
            said["volume"] = f"{rng.uniform(5, 120):.0f} L"
        self.part("tank", 0.2, name=name, holds=holds, shape=shape, **said)
        tank = self.van["tank"][-1]
        if "pickup_height" in tank and read(tank["pickup_height"], "depth") >= LOWEST:
            tank.pop("pickup_height")
        if "height" in tank:
            high = read(tank["height"], "length")
            if not LOWEST <= high <= TALLEST:
                tank["height"] = f"{min(max(high, LOWEST), TALLEST):g} m"
        every = dict.fromkeys(k for keys in SHAPES.values() for k in keys)
        for key in every.keys() - {*SHAPES[shape], "volume"}:
            if shape != "stated" or key != "height":
                tank.pop(key, None)

    def _heat(self, node: str) -> str:
        """A heater behind the tee.  Gives where hot water comes from."""
        rng = self.rng
        kind = rng.choice(("storage", "flow-through", "coolant coil"))
        said: Van = {"kind": kind, "volume": f"{rng.uniform(0.3, 20):.1f} L"}
        source = rng.choice(("element", "burner")) if kind != "coolant coil" else "coolant"
        if source == "element":
            said["element_power"] = f"{rng.uniform(200, 3000):.0f} W"
        elif source == "burner":
            said |= {"burner_power": f"{rng.uniform(1, 16):.1f} kW", "fuel": rng.choice(
                list(table("fuels")))}  # fmt: skip
        else:
            said["coolant_power"] = f"{rng.uniform(1, 8):.1f} kW"
        self.part("heater", 0.2, name="heater", **said)
        heater = self.van["heater"][-1]
        if source != "burner":
            heater.pop("burner_power", None)
        heater.pop("power_least", None)
        self.run(node, "heater")
        return "heater"

    def _taps(self, hot: str | None) -> None:
        """Fixtures fed from manifolds or from trunks of tees."""
        rng = self.rng
        names = rng.sample(NAMES, rng.randint(0, 5))
        manifolds = rng.random() < 0.5
        feeds = {"cold": "tee"} | ({"hot": hot} if hot else {})
        wants = {"cold": 0, "hot": 0}
        ends: list[tuple[str, str]] = []
        for name in names:
            kind = rng.choice(list(table("fixtures")))
            both = table("fixtures")[kind]["supplies"] == "hot cold" and hot
            grey = "grey" if len(self.van["tank"]) > 1 and rng.random() < 0.5 else ""
            self.part("fixture", 0.15, name=name, kind=kind, grey=grey)
            if both and rng.random() < 0.5:
                valve = f"valve of {len(ends)}"
                self.part("mixing_valve", 0.2, name=valve, setting=f"{rng.randint(30, 48)} °C")
                ends += [("hot", f"{valve}.hot"), ("cold", f"{valve}.cold")]
                self.run(valve, f"{name}")
            elif both:
                ends += [("hot", f"{name}.hot"), ("cold", f"{name}.cold")]
            else:
                side = rng.choice(("hot", "cold")) if hot else "cold"
                ends.append((side, name))
            if rng.random() < 0.7:
                said = {"per_day": rng.choice((0.5, 1, 3))} if rng.random() < 0.5 else {
                    "per_person": rng.choice((0.3, 1, 2))}  # fmt: skip
                amount = {"duration": f"{rng.randint(2, 300)} s"} if rng.random() < 0.7 else {
                    "volume": f"{rng.uniform(0.2, 20):.1f} L"}  # fmt: skip
                if rng.random() < 0.6:
                    said["temperature"] = f"{rng.randint(20, 55)} °C"
                self.part("use", 0.0, name=f"use {name}", fixture=name, **said, **amount)
        used = dict.fromkeys(side for side, _ in ends)  # in their order: a seed is one van
        for side in used:
            if manifolds:
                header = f"{side} manifold"
                self.part("manifold", 0.2, name=header, side=side, tube=self.tube)
                self.run(str(feeds[side]), header)
        last = dict(feeds)
        for side, end in ends:
            wants[side] += 1
            if manifolds:
                zone = f"z{wants[side]}"
                self.part("zone", 0.15, manifold=f"{side} manifold", name=zone)
                self.run(f"{side} manifold.{zone}", end)
            else:
                tee = self.part("tee", name=f"{side} tee {wants[side]}")
                self.run(str(last[side]), tee)
                self.run(tee, end)
                last[side] = tee
        if names and rng.random() < 0.4:
            self.part(
                "situation", 0.0, name="some", open=rng.sample(names, rng.randint(1, len(names)))
            )
        if rng.random() < 0.4:
            self.part("stock", 0.5, tube=self.tube, length="3 m")

    def _mend(self) -> None:
        """What is said of one value by another: one of the two goes."""
        for pump in self.van.get("pump", ()):
            for key in ("cut_in", "cut_out"):
                pump.pop(key, None) if self.rng.random() < 0.7 else None
            usual = table("pumps")[pump["curve"]] if "curve" in pump else {}
            low, high = (
                read(pump[k], "pressure") if k in pump else usual.get(k)
                for k in ("cut_in", "cut_out")
            )
            if low is not None and high is not None and low >= high:
                pump.pop("cut_in", None), pump.pop("cut_out", None)
        shop = self.van.get("shop", {})
        if "day_start" in shop or "day_end" in shop:
            shop |= {"day_start": "07:30", "day_end": "16:00"}
        for valve in self.van.get("mixing_valve", ()):
            valve.pop("set_hot", None), valve.pop("set_cold", None)
        fuel = self.van.get("fuel")
        if fuel is not None:
            fuel.pop("volume", None)
            fuel.setdefault("mass", "5 kg")
        for key in ("test_rule", "disinfection", "mixed_limit"):
            self.van.get("limits", {}).pop(key, None)


def make(seed: int) -> Van:
    """The van of a seed."""
    return Maker(seed).make()


def begun(seed: int) -> Van:
    """A file only begun: a van with some of its parts and hardly a run."""
    rng = Random(seed)
    whole = make(seed)
    kept: Van = {"van": {k: whole["van"][k] for k in ("name", "units")}}
    for key, parts in whole.items():
        if key in SECTIONS and rng.random() < 0.2:
            kept[key] = parts
        elif key in LISTS and key not in ("run", "zone", "use", "situation"):
            some = [p for p in parts if rng.random() < 0.3]
            if some:
                kept[key] = some
    names = {p["name"] for k in LISTS for p in kept.get(k, ()) if "name" in p}
    for fixture in kept.get("fixture", ()):
        if fixture.get("grey") not in names:
            fixture.pop("grey", None)
    return kept
