"""A third van solved twice: a valve that turns by itself, one that was set, hot water going round.

Odd on purpose: taps mix water that a thermostatic valve has tempered before; the shower's valve
was set once, on a day with other supplies; the loop comes back in front of the heater; the
strainer is clogged, a shut-off stands a third open, the pump's curve is bent twice; hose, copper
and plastic pipe of four bores.  Nothing of the kit is used on the other side (see
``test_independent_flow``, whose water and friction it shares): the unknowns are every line's flow,
every node's pressure and how each valve that turns stands, closed by ``scipy.optimize.root``.
Flows agree within 0.5 %, temperatures within 0.2 K.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest
from scipy.optimize import root

from tests.published.test_independent_flow import BAR, LITRE_MINUTE, G, friction, water
from vanplumb.flow.engine import Flow
from vanplumb.flow.solving import BuildFlow
from vanplumb.flow.van_network import network
from vanplumb.van import loads

COLD, HOT = 279.15, 345.15  # 6 and 72 °C
TEMPERED = 320.15  # 47 °C, what the thermostatic valve holds
LEVEL, PICKUP = 0.22, 0.04  # m
INCH = 0.0254
BORES = {
    "hose 13 mm": (13e-3, 10e-6),
    "PE-X 16x1.8": (12.4e-3, 1.5e-6),
    "copper M 1/2 in": (0.569 * INCH, 1.5e-6),
    "PE-X 12x2.0": (8e-3, 1.5e-6),
}
"""Bore and roughness of each tube, m."""
CURVE = ((0.0, 3.1), (4.0, 3.05), (8.0, 2.4), (12.0, 1.5), (17.0, 0.0))  # L/min, bar
CIRCULATOR = (0.12, 5.0)  # bar with nothing flowing, L/min with nothing in its way
KV = {
    "strainer": 4.0 * (1 - 0.35),
    "check": 2.5,
    "heater": 1.1,
    "tempering": 1.3,
    "shower valve": 1.0,
}
"""m³/h; the strainer is 35 % clogged."""
CRACKING = 3000.0  # Pa, of the check valve behind the pump
OWN_CHECK = 2000.0  # Pa, of a check valve in a mixing valve
THIRD_OPEN = 200.0  # velocity heads of a ball valve a third open
SINK, BASIN, SHOWER = (6.0, 1.1), (3.5, 0.8), (7.5, 1.3)  # L/min at bar
HEADS = {"adapter": 0.64, "tee": 4.3}  # velocity heads of insert fittings in the tube's bore
ADAPTERS = 9  # more than any run needs, so that the kit adds none

HEIGHT = {
    "fresh": 0.0, "strainer": 0.1, "pump": 0.05, "check": 0.3, "cold tee": 0.5, "return tee": 0.2,
    "heater": 0.1, "hot tee": 0.7, "far cold tee": 0.4, "last cold tee": 0.9, "tempering": 0.6,
    "warm tee": 0.75, "far hot tee": 0.8, "third valve": 0.85, "shower valve": 0.95, "return": 0.35,
    "sink": 1.05, "basin": 1.0, "shower": 2.0,
}  # fmt: skip
# from, to, tube, length m
RUNS = (
    ("fresh", "strainer", "hose 13 mm", 0.9),
    ("strainer", "pump", "hose 13 mm", 0.4),
    ("pump", "check", "PE-X 16x1.8", 0.5),
    ("check", "cold tee", "PE-X 16x1.8", 0.6),
    ("cold tee", "return tee", "copper M 1/2 in", 0.5),
    ("return tee", "heater", "copper M 1/2 in", 0.4),
    ("heater", "hot tee", "copper M 1/2 in", 1.1),
    ("hot tee", "tempering.hot", "PE-X 16x1.8", 0.8),
    ("cold tee", "far cold tee", "PE-X 16x1.8", 2.2),
    ("far cold tee", "tempering.cold", "PE-X 12x2.0", 0.7),
    ("tempering", "warm tee", "PE-X 12x2.0", 0.6),
    ("warm tee", "sink.hot", "PE-X 12x2.0", 1.3),
    ("warm tee", "basin.hot", "PE-X 12x2.0", 2.1),
    ("far cold tee", "last cold tee", "PE-X 16x1.8", 1.2),
    ("last cold tee", "sink.cold", "PE-X 12x2.0", 0.9),
    ("last cold tee", "basin.cold", "PE-X 12x2.0", 1.7),
    ("last cold tee", "shower valve.cold", "PE-X 12x2.0", 0.8),
    ("hot tee", "far hot tee", "PE-X 16x1.8", 2.5),
    ("far hot tee", "third valve", "PE-X 16x1.8", 0.3),
    ("third valve", "shower valve.hot", "PE-X 16x1.8", 0.4),
    ("shower valve", "shower", "PE-X 12x2.0", 1.6),
    ("far hot tee", "return", "PE-X 12x2.0", 2.4),
    ("return", "return tee", "PE-X 12x2.0", 1.9),
)
TAPS = {"sink": (SINK, 43.0), "basin": (BASIN, 36.0)}
"""Rated flow, and what its user sets it to, °C."""
SHOWER_SET = (41.0, 60.0, 12.0)
"""°C: what the shower's valve gave when it was set, and its supplies on that day."""


def text() -> str:
    """The van for the kit."""

    def part(section: str, **values: object) -> str:
        shown = [f'{k} = "{v}"' if isinstance(v, str) else f"{k} = {v}" for k, v in values.items()]
        return "\n".join([f"[[{section}]]", *(s.replace('"true"', "true") for s in shown)])

    def listed(values: list[str]) -> str:
        return "[" + ", ".join(f'"{v}"' for v in values) + "]"

    blocks = ['format = 1\n[van]\nname = "Round"\nunits = "SI"\ncold_water = "6 °C"']
    blocks.append(
        part("tank", name="fresh", shape="box", length="0.6 m", width="0.5 m", height="0.4 m",
             pickup_height=f"{PICKUP} m", fill_share=LEVEL / 0.4)
    )  # fmt: skip
    blocks.append(part("strainer", name="strainer", kv="4.0 m^3/h", clogged_share=0.35))
    blocks.append(
        part("pump", name="pump", kind="electric", lift="7 m")
        + f"\ncurve_flow = {listed([f'{q} L/min' for q, _ in reversed(CURVE)])}"
        + f"\ncurve_pressure = {listed([f'{p} bar' for _, p in reversed(CURVE)])}"
    )
    blocks.append(part("check_valve", name="check", kv="2.5 m^3/h", cracking=f"{CRACKING} Pa"))
    blocks.append(
        part("heater", name="heater", kind="storage", volume="12 L", setpoint="72 °C",
             element_power="1 kW", kv="1.1 m^3/h")
    )  # fmt: skip
    blocks += [part("tee", name=n) for n in HEIGHT if n.endswith("tee")]
    blocks.append(part("shut_off", name="third valve", valve="ball", opening=0.3333))
    blocks.append(
        part("mixing_valve", name="tempering", kind="thermostatic", setting="47 °C",
             kv="1.3 m^3/h", hot_check="true", cold_check="true")
    )  # fmt: skip
    warm, then_hot, then_cold = SHOWER_SET
    blocks.append(
        part("mixing_valve", name="shower valve", kind="fixed", setting=f"{warm} °C",
             set_hot=f"{then_hot} °C", set_cold=f"{then_cold} °C", kv="1.0 m^3/h",
             hot_check="true", cold_check="true")
    )  # fmt: skip
    blocks.append(
        part("recirculation_pump", name="return", control="timer", power="10 W",
             head=f"{CIRCULATOR[0]} bar", flow_most=f"{CIRCULATOR[1]} L/min")
    )  # fmt: skip
    for name, kind, (q, p), warm_as in (
        ("sink", "galley tap", SINK, "43 °C"), ("basin", "basin tap", BASIN, "36 °C"),
        ("shower", "shower", SHOWER, ""),
    ):  # fmt: skip
        more = {"temperature": warm_as} if warm_as else {}
        blocks.append(
            part("fixture", name=name, kind=kind, flow=f"{q} L/min", flow_pressure=f"{p} bar",
                 limited=False, **more).replace("False", "false")
        )  # fmt: skip
    for start, end, tube, length in RUNS:
        rise = HEIGHT[end.partition(".")[0]] - HEIGHT[start]
        tee = ', "insert tee branch" = 1' if start.endswith("tee") else ""
        blocks.append(
            part("run", **{"from": start, "to": end, "tube": tube, "length": f"{length} m",
                           "rise": f"{rise:.3f} m"})
            + f'\nfittings = {{ "insert adapter" = {ADAPTERS}{tee} }}'
        )  # fmt: skip
    return "\n".join(blocks)


# ---- the same van again, without the kit


@dataclass(frozen=True)
class Line:
    """A way for water: a tube with velocity heads, a Kv (m³/h) or a pump with its curve.

    ``mixer`` names the valve whose position is a factor of its Kv, ``side`` which of its ways.
    """

    start: str
    end: str
    length: float = 0.0
    bore: float = 0.0
    rough: float = 0.0
    heads: float = 0.0
    kv: float = math.inf
    rise: float = 0.0
    opens: float = 0.0
    curve: tuple[tuple[float, float], ...] = ()
    mixer: str = ""
    side: str = ""

    def loss(self, flow: float, temperature: float, share: float) -> float:
        """Pressure at the start less that at the end, at a mass flow in kg/s."""
        density, viscosity = water(temperature)
        volume = flow / density
        lost = density * G * self.rise + self.opens
        if math.isfinite(self.kv):
            kv = self.kv / 3600 * ((share if self.side == "hot" else 1 - share) or 1.0)
            lost += BAR * volume * abs(volume) / kv**2 * density / 1000
        if self.bore:
            speed = volume / (math.pi / 4 * self.bore**2)
            factor = friction(density * abs(speed) * self.bore / viscosity, self.rough / self.bore)
            ahead = factor * self.length / self.bore + self.heads
            lost += ahead * density * speed * abs(speed) / 2
        if self.curve:
            flows, pressures = zip(*self.curve, strict=True)
            lost -= float(np.interp(volume / LITRE_MINUTE, flows, pressures)) * BAR
        return lost


def rated_kv(rated: tuple[float, float]) -> float:
    return rated[0] * LITRE_MINUTE * 3600 / math.sqrt(rated[1])


def lines(opened: dict[str, str], circulating: bool) -> list[Line]:
    """The ways that are open: nothing runs back, and what ends blind stands."""
    ends = {"heater": ("heater.cold", "heater.hot"), "tempering": ("", "tempering.mixed"),
            "shower valve": ("", "shower valve.mixed")}  # fmt: skip
    inline = ("strainer", "pump", "check", "third valve", "return")
    ends |= {name: (f"{name}.in", f"{name}.out") for name in inline}
    found = []
    for start, end, tube, length in RUNS:
        bore, rough = BORES[tube]
        heads = ADAPTERS * HEADS["adapter"] + (HEADS["tee"] if start.endswith("tee") else 0.0)
        rise = HEIGHT[end.partition(".")[0]] - HEIGHT[start]
        one, other = ends.get(start, ("", start))[1], ends.get(end, (end, ""))[0] or end
        found.append(Line(one, other, length, bore, rough, heads, rise=rise))
    found.append(Line("strainer.in", "strainer.out", kv=KV["strainer"]))
    found.append(Line("pump.in", "pump.out", curve=CURVE))
    found.append(Line("check.in", "check.out", kv=KV["check"], opens=CRACKING))
    found.append(Line("heater.cold", "heater.hot", kv=KV["heater"]))
    wide, rough = BORES["PE-X 16x1.8"]
    found.append(
        Line("third valve.in", "third valve.out", bore=wide, rough=rough, heads=THIRD_OPEN)
    )
    if circulating:
        head, most = CIRCULATOR
        found.append(Line("return.in", "return.out", curve=((0.0, head), (most, 0.0))))
    ways = {"tempering": {"sink", "basin"}, "shower valve": {"shower"}}
    for name, behind in ways.items():
        if any(opened.get(fixture) in ("mixed", "hot") for fixture in behind):
            for side in ("hot", "cold"):
                found.append(
                    Line(f"{name}.{side}", f"{name}.mixed", kv=KV[name], opens=OWN_CHECK,
                         mixer=name, side=side)
                )  # fmt: skip
    for name, (rated, _) in TAPS.items():
        half = rated_kv(rated) / math.sqrt(0.5)  # the cartridge takes half of the pressure
        for side in ("hot", "cold") if name in opened else ():
            if opened[name] in ("mixed", side):
                mixer = name if opened[name] == "mixed" else ""
                found.append(
                    Line(f"{name}.{side}", f"{name}.mixed", kv=half, mixer=mixer, side=side)
                )
        if name in opened:
            found.append(Line(f"{name}.mixed", "air", kv=half))
    if "shower" in opened:
        found.append(Line("shower", "air", kv=rated_kv(SHOWER)))
    while True:
        count: dict[str, int] = {}
        for line in found:
            for node in (line.start, line.end):
                count[node] = count.get(node, 0) + 1
        kept = [
            k for k in found if all(count[n] > 1 or n in ("air", "fresh") for n in (k.start, k.end))
        ]
        if len(kept) == len(found):
            return found
        found = kept


def solve(
    found: list[Line], turned: dict[str, float], aims: dict[str, float]
) -> tuple[dict[Line, float], dict[str, float], dict[str, float]]:
    """Mass flow of each line, temperature of each node, and how each valve stands.

    ``turned`` have stood still since they were set; each of ``aims`` turns until its water is so
    warm: the heat that its hot water brings over that is what its cold water lacks.
    """
    held = {"fresh": water(COLD)[0] * G * (LEVEL - PICKUP), "air": 0.0}
    nodes = sorted({n for k in found for n in (k.start, k.end)} - set(held))
    warm = {n: HOT if "hot" in n else COLD for n in [*nodes, *held]}
    turns = sorted({k.mixer for k in found if k.mixer in aims})
    ways = {name: {k.side: i for i, k in enumerate(found) if k.mixer == name} for name in turns}
    many = len(found)
    guess = np.array([0.5] * many + [1.0] * len(nodes) + [0.0] * len(turns))
    for _ in range(25):

        def stand(x: np.ndarray) -> dict[str, float]:
            odds = x[many + len(nodes) :]
            return {
                **turned,
                **{n: 1 / (1 + math.exp(-o)) for n, o in zip(turns, odds, strict=True)},
            }

        def residual(x: np.ndarray, warm: dict[str, float] = warm) -> np.ndarray:
            flows, shares = x[:many] * 0.1, stand(x)
            pressure = {**held, **dict(zip(nodes, x[many : many + len(nodes)] * BAR, strict=True))}
            off = []
            balance = dict.fromkeys([*nodes, *held], 0.0)
            for line, flow in zip(found, flows, strict=True):
                source = line.start if flow >= 0 else line.end
                lost = line.loss(flow, warm[source], shares.get(line.mixer, 0.0))
                off.append((pressure[line.start] - pressure[line.end] - lost) / BAR)
                balance[line.start] -= flow / 0.1
                balance[line.end] += flow / 0.1
            off += [balance[n] for n in nodes]
            for name in turns:
                hot, cold = (ways[name][side] for side in ("hot", "cold"))
                over = x[hot] * (warm[found[hot].start] - aims[name])
                off.append((over - x[cold] * (aims[name] - warm[found[cold].start])) / 10)
            return np.array(off)

        answer = root(residual, guess, method="hybr", options={"xtol": 1e-12})
        if not np.max(np.abs(answer.fun)) < 1e-8:
            answer = root(residual, guess, method="lm", options={"xtol": 1e-14, "ftol": 1e-14})
        assert np.max(np.abs(answer.fun)) < 1e-7
        guess = answer.x
        flows = dict(zip(found, answer.x[:many] * 0.1, strict=True))
        news = mixed(flows, nodes)
        moved = max(abs(news[n] - warm[n]) for n in nodes)
        warm = news
        if moved < 1e-6:
            break
    return flows, warm, stand(guess)


def mixed(flows: dict[Line, float], nodes: list[str]) -> dict[str, float]:
    """Every node has the mean of what flows in, by mass; the heater's outlet its setpoint."""
    place = {n: i for i, n in enumerate(nodes)}
    matrix, right = np.eye(len(nodes)) * 1e-12, np.full(len(nodes), 1e-12 * COLD)
    for line, flow in flows.items():
        start, end = (line.start, line.end) if flow >= 0 else (line.end, line.start)
        if end not in place:
            continue
        matrix[place[end], place[end]] += abs(flow)
        if end == "heater.hot":
            right[place[end]] += abs(flow) * HOT
        elif start == "fresh":
            right[place[end]] += abs(flow) * COLD
        else:
            matrix[place[end], place[start]] -= abs(flow)
    found = np.linalg.solve(matrix, right)
    return {**dict(zip(nodes, found.tolist(), strict=True)), "fresh": COLD, "air": COLD}


OUTLETS = {"sink": "sink.mixed", "basin": "basin.mixed", "shower": "shower"}
ZERO = 273.15


@cache
def as_set() -> dict[str, float]:
    """How each stands that was set with its own fixture open alone, nothing going round.

    The shower's valve was set with other supplies: what it keeps is the share of hot water, so
    today it is taken as set to what that share gives today.
    """
    warm, then_hot, then_cold = SHOWER_SET
    share = (warm - then_cold) / (then_hot - then_cold)
    aims = {"shower valve": ("shower", COLD + share * (HOT - COLD))}
    aims |= {name: (name, ZERO + wanted) for name, (_, wanted) in TAPS.items()}
    found = {}
    for name, (fixture, aim) in aims.items():
        _, _, stands = solve(
            lines({fixture: "mixed"}, False), {}, {name: aim, "tempering": TEMPERED}
        )
        found[name] = stands[name]
    return found


SITUATIONS: dict[str, dict[str, str]] = {
    "sink alone": {"sink": "mixed"},
    "basin alone": {"basin": "mixed"},
    "shower alone": {"shower": "mixed"},
    "sink to hot": {"sink": "hot"},
    "sink to cold": {"sink": "cold"},
    "sink and basin": {"sink": "mixed", "basin": "mixed"},
    "shower, sink to hot": {"shower": "mixed", "sink": "hot"},
    "shower, sink to cold": {"shower": "mixed", "sink": "cold"},
    "shower, basin to hot, sink to cold": {"shower": "mixed", "basin": "hot", "sink": "cold"},
    "everything as set": {"shower": "mixed", "basin": "mixed", "sink": "mixed"},
    "everything hot": {"shower": "mixed", "basin": "hot", "sink": "hot"},
    "everything cold": {"shower": "mixed", "basin": "cold", "sink": "cold"},
}


def answer(
    opened: dict[str, str], circulating: bool
) -> tuple[dict[Line, float], dict[str, float], dict[str, float], bool]:
    """Flows, temperatures, how valves stand, and whether water goes round.

    Where a tap draws so much through the heater that its water would come backwards through the
    loop, the check of the loop's pump holds it.
    """
    aims = {"tempering": TEMPERED}
    found = solve(lines(opened, circulating), as_set(), aims)
    if circulating and any(q < 0 for k, q in found[0].items() if k.start == "return.in"):
        return *solve(lines(opened, False), as_set(), aims), False
    assert all(flow > -1e-9 for flow in found[0].values()), "nothing else may run backwards"
    return *found, circulating


@cache
def kit(circulating: bool) -> BuildFlow:
    """The van as it was set, at rest or with its hot water going round."""
    whole = Flow(loads(text()))
    if not circulating:
        return whole
    return BuildFlow(whole.build, whole.positions, network(whole.build, recirculating=True))


@pytest.mark.parametrize("circulating", [False, True], ids=["at rest", "going round"])
@pytest.mark.parametrize("name", SITUATIONS)
def test_flows_and_temperatures_agree_with_equations_written_out_again(
    name: str, circulating: bool
) -> None:
    opened = SITUATIONS[name]
    moment = kit(circulating).solve(opened)
    flows, warm, stands, goes = answer(opened, circulating)
    assert moment.found
    for fixture in opened:
        node = OUTLETS[fixture]
        [mass] = [q for k, q in flows.items() if (k.start, k.end) == (node, "air")]
        got = moment.fixtures[fixture]
        assert got.flow == pytest.approx(mass / water(warm[node])[0], rel=5e-3), fixture
        assert got.temperature == pytest.approx(warm[node], abs=0.2), fixture
    if "tempering" in stands:
        assert moment.positions["tempering"] == pytest.approx(stands["tempering"], abs=3e-3)
    if circulating:
        back = [q for k, q in flows.items() if k.start == "return.in"] if goes else [0.0]
        assert moment.links["return"].mass_flow == pytest.approx(back[0], rel=5e-3, abs=1e-6)


def test_the_pump_of_the_loop_is_held_by_its_check_where_much_hot_is_drawn() -> None:
    """The odd ones are among the situations: both kinds of them."""
    goes = {name: answer(opened, True)[3] for name, opened in SITUATIONS.items()}
    assert set(goes.values()) == {True, False}


def test_the_valves_stand_as_found_again() -> None:
    flow = kit(False)
    stand = dict(zip(flow.made.mixers, flow.positions[0].tolist(), strict=True))
    for name, position in as_set().items():
        assert stand[name] == pytest.approx(position, abs=3e-3), name


def test_hot_water_goes_round_with_every_tap_shut() -> None:
    moment = kit(True).solve({})
    flows, _, _ = solve(lines({}, True), as_set(), {})
    [mass] = [q for k, q in flows.items() if k.start == "return.in"]
    assert 0.2 < mass / water(HOT)[0] / LITRE_MINUTE < CIRCULATOR[1]
    assert moment.links["return"].mass_flow == pytest.approx(mass, rel=5e-3)
