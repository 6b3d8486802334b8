"""A small van on the test bench: pump, heater, three outlets, every lever that can be wrong."""

from __future__ import annotations

import numpy as np

from vanplumb.network.network import Curve, Heat, Link, Network
from vanplumb.shop.readings.fit import Measured, Unknown
from vanplumb.shop.readings.suspects import Cause
from vanplumb.shop.readings.van_model import Lever, Outlet, PumpFacts, VanModel
from vanplumb.van import loads, template
from vanplumb.words.quantity import read
from vanplumb.words.tables import table

HALF = table("tubes")["PEX 1/2 in"].number("bore")
SMALL = table("tubes")["PEX 3/8 in"].number("bore")
PUMP = table("pumps")["12 V 2.8 gpm 40 psi"]
RISING = np.argsort(PUMP["curve_flow"])
GPM = read("1 gpm", "flow")
TAPS = {"galley": 1.0, "shower": 1.5}
FEET = {"galley": 9, "shower": 16}


def tube(name: str, start: str, end: str, feet: float, loss: float) -> Link:
    return Link(
        name=name, start=start, end=end, length=feet * 0.3048, diameter=HALF, roughness=1.5e-6,
        loss=loss,
    )  # fmt: skip


def rig() -> VanModel:
    net = Network(temperature=288.15)
    net.hold("tank")
    net.hold("air")
    net.add(
        Link(name="strainer", start="tank", end="s", kv=1.5 / 3600),
        tube("suction", "s", "p", 2, 3),
        Link(
            name="pump", start="p", end="q",
            curve=Curve(flow=np.array(PUMP["curve_flow"])[RISING],
                        pressure=np.array(PUMP["curve_pressure"])[RISING]),
        ),
        tube("feed", "q", "cold", 4, 5),
        tube("to heater", "cold", "h", 4, 8),
        Link(name="heater", start="h", end="g", kv=1.5 / 3600, heat=Heat(setpoint=333.15)),
        tube("from heater", "g", "hot", 4, 8),
    )  # fmt: skip
    fixtures, outlets, levers = [], [], {}
    for tap, rated in TAPS.items():
        for side in ("cold", "hot"):
            name = f"{tap} {side}"
            net.add(tube(f"run {name}", side, f"{name} end", FEET[tap], 12))
            # each side of the tap passes the rated flow at 20 psi by itself
            kv = rated * GPM / np.sqrt(20 * 6894.757 / 1e5)
            net.add(Link(name=f"side {name}", start=f"{name} end", end=f"{tap} mouth", kv=2 * kv))
            fixtures.append(f"side {name}")
            hot = ("from heater", f"run {name}") if side == "hot" else ()
            outlets.append(Outlet(name, (f"side {name}",), hot))
            levers[f"valve {name}"] = Lever(f"run {name}", "opening")
            levers[f"kink {name}"] = Lever(f"run {name}", "loss")
            levers[f"bore {name}"] = Lever(f"run {name}", "bore")
        net.add(Link(name=f"screen {tap}", start=f"{tap} mouth", end="air", kv=1.2 * kv))
        levers[f"screen {tap}"] = Lever(f"screen {tap}", "clogged")
        levers[f"tap {tap}"] = Lever(f"screen {tap}", "kv")
    levers["strainer"] = Lever("strainer", "clogged")
    levers["speed"] = Lever("pump", "speed")
    levers["store"] = Lever("heater", "setpoint")
    levers["fittings"] = Lever("", "fittings")
    facts = PumpFacts("pump", PUMP["curve_pressure"], PUMP["curve_current"], "p", "q")
    return VanModel(net, fixtures, outlets, levers, loads(template()), facts)


UNKNOWNS = (
    Unknown("fittings", 1.0, 0.6, 1.6, 0.15),
    Unknown("speed", 1.0, 0.85, 1.15, 0.03),
    Unknown("store", 333.15, 325.0, 340.0, 1.5),
    *(Unknown(f"tap {tap}", 1.0, 0.8, 1.2, 0.03) for tap in TAPS),
)

OPENINGS = (0.7, 0.66, 0.6, 0.55, 0.5, 0.45, 0.4, 0.36, 0.33, 0.28, 0.24, 0.2, 0.16, 0.13)
LOSSES = (20.0, 40.0, 80.0, 150.0, 300.0, 600.0, 1000.0, 1500.0)
CLOGGED = (0.2, 0.35, 0.5, 0.6, 0.7, 0.78, 0.85, 0.9)
SPEEDS = (0.92, 0.88, 0.84, 0.8, 0.75, 0.7, 0.65)


def causes() -> tuple[Cause, ...]:
    found = [
        Cause("low voltage at the pump", "speed", SPEEDS),
        Cause("clogged strainer", "strainer", CLOGGED),
    ]
    for tap in TAPS:
        found.append(Cause(f"clogged screen, {tap}", f"screen {tap}", CLOGGED))
        for side in ("cold", "hot"):
            name = f"{tap} {side}"
            found.append(Cause(f"valve not open, {name}", f"valve {name}", OPENINGS))
            found.append(Cause(f"kink, {name}", f"kink {name}", LOSSES))
            found.append(Cause(f"wrong tube, {name}", f"bore {name}", (SMALL,), between=False))
    return tuple(found)


def sigma_of(name: str, value: float) -> float:
    """Uncertainty of a reading: bucket and watch, dial gauge, thermometer, clamp meter."""
    what = name.split(", ")[1]
    return {
        "flow": 0.02 * value,
        "pump pressure": 5000.0,
        "pump current": 0.1,
        "time to hot": 0.3 + 0.04 * value,
        "temperature": 0.7,
    }[what]


def measure(readings: dict[str, float], rng: np.random.Generator) -> dict[str, Measured]:
    """The readings with the noise of their instruments."""
    out = {}
    for name, value in readings.items():
        sigma = sigma_of(name, value)
        out[name] = Measured(value + sigma * rng.standard_normal(), sigma)
    return out
