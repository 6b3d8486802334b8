"""A whole build file from eight answers: parts, tees or manifolds, runs, habits.

What nobody has measured yet is typical or estimated, and its line says so.  Lengths of runs are
those of a van of usual size (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from ...words.show import show, unit, value
from ...words.tables import table
from ..connect import connector_of
from ..ends import method_of
from ..file.read import loads
from ..file.template import quantity
from ..file.write import toml
from ..model import FORMAT, Build
from ..port_ends import end_of_port
from .questions import Answers

MEASURE = "estimated, to be measured"
PLATE = "typical, see its plate"
REACH = {
    # m of tube from where it is shared out (common practice, no source)
    "sink": 2.4,
    "basin": 1.8,
    "shower": 1.5,
    "outside shower": 2.4,
    "drinking tap": 2.7,
    "toilet": 1.8,
    "hose outlet": 2.7,
    "heater": 0.9,
    "mixing valve": 0.4,
}
HEIGHT = {
    # steps of 4 in or 0.1 m above the pump, so that rises round a ring close
    "accumulator": 1,
    "manifold": 3,
    "heater": 1,
    "mixing valve": 3,
    "sink": 8,
    "basin": 7,
    "shower": 10,
    "outside shower": 4,
    "drinking tap": 8,
    "toilet": 2,
    "hose outlet": 1,
}
STEP = {"US": (4, "in", 0.1016), "SI": (0.1, "m", 0.1)}
SUCTION = {
    "PEX 1/2 in": "PEX 3/4 in",
    "PEX-B 1/2 in": "PEX-B 3/4 in",
    "PE-X 15x1.7": "PE-X 22x2.1",
    "PE-X 16x2.0": "PE-X 20x1.9",
}
"""Wider tube from the tank to the pump (common practice, no source)."""
MAINS = "18:00-10:00"
"""When a van with an electric store stands at a site (assumed)."""
NEXT = 0.5
"""m of trunk from one tee to the next."""
HOT_AND_COLD = ("sink", "basin", "shower")
FIXTURES = {
    # with hot and cold, with cold alone
    "sink": ("galley tap", "cold tap"),
    "basin": ("basin tap", "cold tap"),
    "shower": ("shower", "shower"),
    "outside shower": ("outside shower", "outside shower"),
    "drinking tap": ("cold tap", "cold tap"),
    "toilet": ("toilet", "toilet"),
    "hose outlet": ("hose outlet", "hose outlet"),
}
OUTSIDE = ("outside shower", "hose outlet")
HABITS = {
    # row of the table of habits: where it is done, the first of these that there is
    "washing hands": ("basin", "sink"),
    "brushing teeth": ("basin", "sink"),
    "shower": ("shower",),
    "dish washing": ("sink",),
    "sandy feet": ("outside shower",),
    "toilet flush": ("toilet",),
}
"""Without cooking: what the crew drinks a day has its food in it."""
STORE_LOSS = 45.0
"""W that a small store loses (typical, see its plate)."""
RINSE = 311.15
"""K that a mixing valve is set to: warm, and below what any region allows at a tap (38 °C)."""
Values = Mapping[str, Any]


@dataclass(frozen=True)
class _Said:
    """A value with a remark behind it."""

    value: Any
    remark: str


@dataclass
class _File:
    """The text as it grows.  Quantities are written in the reader's units."""

    units: str
    lines: list[str] = field(default_factory=list)

    def heading(self, text: str) -> None:
        self.lines += ["", f"# --- {text} ".ljust(80, "-")]

    def block(self, head: str, values: Values) -> None:
        self.lines += ["", head]
        for key, said in values.items():
            one, remark = (said.value, said.remark) if isinstance(said, _Said) else (said, "")
            line = f"{key} = {toml(one)}"
            self.lines.append(f"{line.ljust(32)} # {remark}" if remark else line)

    def q(self, si: float, word: str) -> str:
        """A value as a builder writes it."""
        return quantity(si, word, self.units)

    def reach(self, metres: float) -> str:
        """A length that nobody measured: whole halves of a foot, or tenths of a metre."""
        if self.units == "US":
            return f"{max(round(metres / 0.1524), 1) * 6:g} in"
        return f"{max(round(metres * 10), 1) / 10:g} m"

    def rise(self, steps: int) -> str:
        size, mark, _ = STEP[self.units]
        return f"{steps * size:.3g} {mark}"

    def warm(self, kelvins: float) -> str:
        """A temperature in whole degrees."""
        degrees = value(kelvins, "temperature", self.units)
        return f"{round(degrees)} {'°F' if self.units == 'US' else '°C'}"


def build_text(answers: Answers, name: str = "my van") -> str:
    """The text of a build file that loads, for any answers that the questions take.

    It is made twice: which fittings join a run to its parts is known when the parts are there.
    """
    first = loads(_text(_Kit(answers, name, ())))
    return _text(_Kit(answers, name, _adapters(first)))


def _text(kit: _Kit) -> str:
    return "\n".join(kit.file.lines) + "\n"


def _adapters(build: Build) -> tuple[int, ...]:
    """Fittings at both ends of each run, as the lists will pick them."""
    connector = connector_of(build)
    found = []
    for run, ports in zip(build.run, build.run_ends, strict=True):
        method = method_of(run.tube, run.joint)
        ends = (end_of_port(build, port, run) for port in ports)
        found.append(sum(len(connector.chain(e.end, run.tube, method).steps) for e in ends))
    return tuple(found)


class _Kit:
    """One build on its way into a file."""

    def __init__(self, answers: Answers, name: str, adapters: tuple[int, ...]) -> None:
        self.a, self.name, self.adapters = answers, name, adapters
        self.file = _File(answers.units)
        self.fit = _fittings(answers.joints)
        self.runs: list[Values] = []
        self._top()
        self._supply()
        self._shared()
        self._hot()
        self._taps()
        self._runs()
        self._habits()

    def _top(self) -> None:
        a, f = self.a, self.file
        tank = show(a.tank, "volume", a.units)
        row = table("regions")[a.region]
        f.lines += [
            f"# {self.name}: {a.beds} beds, {a.seats} seats, {tank}; made by eight questions.",
            f'# Lines with "{MEASURE}" hold what a van of usual size has: measure yours.',
            "# Scald, fuel, relief valves, mains electricity and drinking water can hurt people:",
            "# local codes and licensed practice come before anything computed from this file.",
            "",
            f"format = {FORMAT}",
        ]
        van: dict[str, Any] = {"name": self.name, "units": a.units, "region": a.region}
        if currency := row["currencies"]:
            van["currency"] = currency[0] if isinstance(currency, tuple) else currency
        f.block("[van]", van)
        crew: dict[str, Any] = {"people": a.beds}
        crew["nights"] = _Said(2, "assumed, between two fillings")
        if a.heater == "electric store":  # what stands on mains must not empty the battery
            crew["hookup_hours"] = _Said([MAINS], "assumed, when it stands on mains")
            crew["heater_hours"] = _Said([MAINS], "the element is off when it does not")
        f.block("[crew]", crew)
        if not a.by_strokes:
            f.block(
                "[battery]", {"capacity": _Said("100 Ah", "typical, see what is printed on it")}
            )
        if a.heater.startswith("gas"):
            bottle = 9.07 if a.units == "US" else 9.0  # 20 lb, or what is filled as 9 kg
            mass = _Said(self.file.q(bottle, "mass"), PLATE)
            f.block("[fuel]", {"kind": "propane", "mass": mass})
        if a.sharing == "board":
            f.block(
                "[board]",
                {
                    "width": _Said(f.q(0.9144 if a.units == "US" else 0.9, "length"), MEASURE),
                    "height": _Said(f.q(0.762 if a.units == "US" else 0.8, "length"), MEASURE),
                },
            )

    def _tank(self, name: str, holds: str) -> Values:
        given: dict[str, Any] = {"name": name}
        if holds != "fresh":
            given["holds"] = holds
        size = f"{value(self.a.tank, 'volume', self.a.units):.5g} "
        size += unit("volume", self.a.units)
        given["shape"] = _Said("stated", 'measured inside: shape = "box", length, width, height')
        given["volume"] = size
        if holds != "fresh":
            given["fill_share"] = 0
        return given

    def _supply(self) -> None:
        a, f = self.a, self.file
        f.heading("supply")
        f.block("[[tank]]", self._tank("fresh", "fresh"))
        f.block("[[tank]]", self._tank("grey", "grey"))
        pump: dict[str, Any] = {"name": "pump", "kind": str(table("pumps")[a.pump]["kind"])}
        pump["curve"] = _Said(a.pump, "typical of its size")
        if a.hung:
            pump["in_tank"] = "fresh"
        here = "pump"
        suction = "entrance projecting" if a.by_strokes else "entrance"
        if a.hung or a.by_strokes:
            f.block("[[pump]]", pump)
            if not a.hung:
                self._run("fresh", "pump", 0.6, {suction: 1})
        else:
            f.block("[[strainer]]", {"name": "strainer"})
            f.block("[[pump]]", pump)
            self._run("fresh", "strainer", 0.5, {suction: 1})
            self._run("strainer", "pump", 0.3, {})
        if a.hot:
            f.block("[[check_valve]]", {"name": "pump check"})
            self._run("pump", "pump check", 0.3, {})
            here = "pump check"
        if a.hot or not (a.by_strokes or a.hung):
            # A pump without a switch has no cut-in to go by: half of what it gives at most.
            row = table("pumps")[a.pump]
            air = 0.2e5 if a.hung else row.number("cut_in") - 0.14e5
            below = "2 psi" if a.units == "US" else "0.14 bar"
            why = "about half of the pump's most" if a.hung else f"{below} below the pump's cut-in"
            given = {
                "name": "accumulator",
                "volume": _Said("68 fl oz" if a.units == "US" else "2 L", PLATE),
                "precharge": _Said(f.q(air, "pressure"), why),
            }
            f.block("[[tee]]", {"name": "accumulator tee"})
            f.block("[[accumulator]]", given)
            self._run(here, "accumulator tee", 0.3, {self.fit["part"]: 1, self.fit["run"]: 1})
            self._run(
                "accumulator tee", "accumulator", 0.2,
                {self.fit["branch"]: 1},
            )  # fmt: skip
            here = "accumulator tee"
        self.source = here

    @property
    def tempered(self) -> bool:
        """Whether all hot water goes through a mixing valve: coolant heats beyond any setpoint."""
        return self.a.heater == "engine store"

    @property
    def valve(self) -> bool:
        return self.tempered or (self.a.hot and "outside shower" in self.a.taps)

    # what is fed, each (name of what takes it, pointer)

    def _cold(self) -> list[tuple[str, str]]:
        a = self.a
        found = [("heater", "heater")] if a.hot else []
        found += [("mixing valve", "mixing valve.cold")] if self.valve else []
        for tap in a.taps:
            if not (a.hot and tap == "outside shower"):
                found.append((tap, f"{tap}.cold" if a.hot and tap in HOT_AND_COLD else tap))
        return found

    def _warm(self) -> list[tuple[str, str]]:
        """What the heater feeds, or the valve behind it."""
        a = self.a
        if not a.hot:
            return []
        found = [(tap, f"{tap}.hot") for tap in a.taps if tap in HOT_AND_COLD]
        if "outside shower" in a.taps:
            tempered = ("outside shower", "outside shower")
            found.append(tempered if self.tempered else ("mixing valve", "mixing valve.hot"))
        return found

    def _shared(self) -> None:
        """Manifolds and tees, and the runs from them."""
        self.file.heading("shared out")
        way = self._manifold if self.a.sharing == "board" else self._trunk
        way("cold", self.source, self._cold())
        if self.tempered:
            fit = {self.fit["elbow"]: 1}
            self._run("heater", "mixing valve.hot", REACH["mixing valve"], fit, warm=True)
            way("mixed", "mixing valve", self._warm())
        else:
            way("hot", "heater", self._warm())

    def _manifold(self, side: str, source: str, fed: list[tuple[str, str]]) -> None:
        if not fed:
            return
        name = f"{side} manifold"
        self.file.block("[[manifold]]", {"name": name, "side": side, "tube": self.a.joints})
        for zone, _ in fed:
            self.file.block("[[zone]]", {"manifold": name, "name": zone})
        fit = {self.fit["elbow"]: 2}
        self._run(source, name, 1.2, fit, warm=side != "cold")
        for zone, pointer in fed:
            self._run(f"{name}.{zone}", pointer, REACH[zone], fit, warm=side != "cold")

    def _trunk(self, side: str, source: str, fed: list[tuple[str, str]]) -> None:
        here = source
        for number, (what, pointer) in enumerate(fed):
            if number == len(fed) - 1:
                fit = {self.fit["elbow"]: 2}
                self._run(here, pointer, REACH[what], fit, warm=side != "cold")
                return
            tee = f"{what} {side} tee"
            self.file.block("[[tee]]", {"name": tee})
            fit = {self.fit["run"]: 1}
            self._run(here, tee, NEXT if number else 1.0, fit, warm=side != "cold")
            fit = {self.fit["branch"]: 1, self.fit["elbow"]: 1}
            self._run(tee, pointer, REACH[what], fit, warm=side != "cold")
            here = tee

    def _hot(self) -> None:
        a, f = self.a, self.file
        if not a.hot:
            return
        f.heading("hot water")
        us = a.units == "US"
        store = a.heater.endswith("store")
        given: dict[str, Any] = {
            "name": "heater",
            "kind": {"engine store": "coolant coil"}.get(
                a.heater, "storage" if store else "flow-through"
            ),
        }
        if store:
            given["volume"] = _Said("4 gal" if us else "15 L", PLATE)
        given["setpoint"] = _Said(f.warm(333.15 if store else 323.15), "to be set")
        if a.heater in ("electric store", "engine store"):
            given["element_power"] = _Said("1000 W", PLATE)
            given["element_voltage"] = "120 V" if us else "230 V"
        if a.heater == "engine store":
            given["coolant_power"] = _Said("3000 W", PLATE)
        if a.heater == "gas store":
            given["burner_power"] = _Said("10000 Btu/h" if us else "3 kW", PLATE)
            given["fuel"] = "propane"
        if a.heater == "gas flow-through":
            given["burner_power"] = _Said("50000 Btu/h" if us else "15 kW", PLATE)
            given["power_least"] = _Said("16000 Btu/h" if us else "5 kW", PLATE)
            given["flow_least"] = _Said("0.5 gpm" if us else "2 L/min", PLATE)
            given["fuel"] = "propane"
        if store:
            given["standing_loss"] = _Said(f"{STORE_LOSS:g} W", PLATE)
        given["relief"] = _Said("150 psi" if us else "4 bar", PLATE)
        if store and us:
            given["relief_temperature"] = _Said("210 °F", PLATE)
        given["pressure_rating"] = _Said("150 psi" if us else "8 bar", PLATE)
        f.block("[[heater]]", given)
        if not self.valve:
            return
        valve = {
            "name": "mixing valve",
            "kind": "thermostatic",
            "setting": _Said(f.warm(RINSE), "to be set and measured at the outlet"),
            "hot_check": True,
            "cold_check": True,
        }
        f.block("[[mixing_valve]]", valve)
        if not self.tempered:
            fit = {self.fit["elbow"]: 2}
            self._run("mixing valve", "outside shower", REACH["outside shower"], fit, warm=True)

    def _taps(self) -> None:
        a = self.a
        self.file.heading("taps")
        for tap in a.taps:
            hot = a.hot and (tap in HOT_AND_COLD or tap == "outside shower")
            kind = FIXTURES[tap][0 if hot else 1]
            given: dict[str, Any] = {"name": tap, "kind": "foot pump tap" if a.by_strokes else kind}
            if tap in OUTSIDE:
                given["place"] = "outside"
            elif tap != "toilet":
                given["grey"] = "grey"
            self.file.block("[[fixture]]", given)

    def _run(
        self,
        start: str,
        end: str,
        length: float,
        fittings: Mapping[str, int],
        *,
        warm: bool = False,
    ) -> None:
        tube = self.a.joints
        if end in ("strainer", "pump"):
            tube = SUCTION.get(tube, tube)
        given: dict[str, Any] = {"from": start, "to": end, "tube": tube}
        steps = _height(end) - _height(start)
        least = abs(steps) * STEP[self.a.units][2] + 0.1
        given["length"] = _Said(self.file.reach(max(length, least)), MEASURE)
        if steps:
            given["rise"] = _Said(self.file.rise(steps), MEASURE)
        if warm:
            given["insulation"] = _Said("1/2 in" if self.a.units == "US" else "13 mm", "advised")
        number = len(self.runs)
        adapters = self.adapters[number] if self.adapters else 0
        counted = {**fittings, **({self.fit["part"]: adapters} if adapters else {})}
        if counted:
            given["fittings"] = counted
        self.runs.append(given)

    def _runs(self) -> None:
        self.file.heading("runs: from where water comes to where it goes")
        for given in self.runs:
            self.file.block("[[run]]", given)

    def _habits(self) -> None:
        a = self.a
        uses = list(self._uses())
        if uses:
            self.file.heading("habits: typical ones, put in yours")
        for given in uses:
            self.file.block("[[use]]", given)
        self.file.heading("taps open at once")
        for tap in a.taps:
            if tap in ("sink", "shower"):
                self.file.block("[[situation]]", {"name": f"{tap} alone", "open": [tap]})
        if len(a.taps) > 1:
            given = {"name": "everything open", "open": list(a.taps)}
            self.file.block("[[situation]]", given)

    def _uses(self) -> Iterator[Values]:
        """Of those who sleep in the van, and the hands of those who come along by day."""
        for name, places in HABITS.items():
            tap = next((p for p in places if p in self.a.taps), "")
            if not tap:
                continue
            row = table("habits")[name]
            given: dict[str, Any] = {"name": name, "fixture": tap}
            given["per_person"] = _figure(float(row.number("per_person")))
            if row["duration"] is not None:
                given["duration"] = f"{float(row.number('duration')):g} s"
            else:
                given["volume"] = self.file.q(float(row.number("volume")), "volume")
            warm = row["temperature"]
            if warm is not None and self.a.hot and tap not in ("toilet", "drinking tap"):
                given["temperature"] = self.file.warm(
                    min(float(row.number("temperature")), RINSE if self.tempered else 400.0)
                )
            yield given
        guests = self.a.seats - self.a.beds
        tap = next((p for p in ("basin", "sink") if p in self.a.taps), "")
        if guests > 0 and tap:
            row = table("habits")["washing hands"]
            yield {
                "name": "day guests' hands",
                "fixture": tap,
                "per_day": 2 * guests,
                "duration": f"{float(row.number('duration')):g} s",
            }


def _figure(number: float) -> int | float:
    return int(number) if number == int(number) else number


def _fittings(tube: str) -> Mapping[str, str]:
    """What a run's own losses are counted as, by how its tube is joined."""
    row = table("tubes")[tube]
    if str(row["material"]) == "hose":
        return {"elbow": "bend", "run": "tee run", "branch": "tee branch", "part": "adapter"}
    lead = "insert " if str(row["joint"]) in ("crimp", "push-fit") else ""
    names = {"elbow": "elbow 90", "run": "tee run", "branch": "tee branch", "part": "adapter"}
    return {key: lead + name for key, name in names.items()}


def _height(pointer: str) -> int:
    """Of what a run comes from or goes to, in steps above the pump."""
    name = pointer.partition(".")[0]
    return HEIGHT["manifold"] if name.endswith("manifold") else HEIGHT.get(name, 0)
