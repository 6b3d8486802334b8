"""Random build files: any source, heater and valves, manifold or tees, one to five fixtures."""

from __future__ import annotations

import random

TUBES = ("PEX 3/8 in", "PEX 1/2 in", "PEX 3/4 in", "PE-X 12x2.0", "PE-X 16x2.0", "hose 12 mm")
PUMPS = ("12 V 2.0 gpm 30 psi", "12 V 2.8 gpm 40 psi", "12 V submersible 8 L/min")
COLD_KINDS = ("cold tap", "toilet", "hose outlet")
MIXED_KINDS = ("shower", "outside shower", "shower 8 L/min limited")
TAP_KINDS = ("galley tap", "basin tap", "tap 5 L/min limited")

SPARES = """
[[heater]]
name = "spare heater"
kind = "storage"
volume = "30 L"
setpoint = "80 °C"
element_power = "2 kW"
[[pump]]
name = "spare pump"
kind = "electric"
curve = "12 V 3.4 gpm 50 psi"
[[tank]]
name = "spare tank"
shape = "stated"
volume = "90 L"
[[accumulator]]
name = "spare vessel"
volume = "2 L"
precharge = "2 bar"
[[shore_inlet]]
name = "spare inlet"
pressure = "9 bar"
"""
"""Parts that no run leads to."""


class Text:
    """Collects the parts of a build file."""

    def __init__(self, rng: random.Random) -> None:
        self.rng = rng
        self.blocks: list[str] = ["format = 1"]

    def part(self, section: str, /, **values: object) -> None:
        lines = []
        for key, value in values.items():
            shown = str(value).lower() if isinstance(value, bool) else value
            lines.append(f"{key} = {shown}" if not isinstance(value, str) else f'{key} = "{value}"')
        self.blocks.append("\n".join([f"[[{section}]]", *lines]))

    def run(self, start: str, end: str) -> None:
        rng = self.rng
        length = rng.uniform(0.05, 4)
        high = min(0.8, 0.9 * length)
        rise = 0.0 if rng.random() < 0.3 else rng.uniform(-high, high)
        self.part(
            "run",
            **{
                "from": start,
                "to": end,
                "tube": rng.choice(TUBES),
                "length": f"{length:.3f} m",
                "rise": f"{rise:.3f} m",
            },
        )


def random_build(seed: int) -> str:
    """The text of a valid build file."""
    rng = random.Random(seed)
    t = Text(rng)
    setpoint = rng.choice([15, 45, 60, 75])  # 15: no warmer than the cold water
    t.blocks.append(
        f'[van]\nname = "Random {seed}"\nunits = "{rng.choice(["US", "SI"])}"\n'
        f'cold_water = "15 °C"\naltitude = "{rng.choice([0, 500, 3000])} m"'
    )
    t.part(
        "tank",
        name="fresh",
        shape="box",
        length="0.8 m",
        width="0.4 m",
        height="0.3 m",
        base_height="0 m",
        fill_share=rng.choice([1.0, 0.5, 0.02]),
    )
    source = _supply(t, rng)
    hot = None
    if rng.random() < 0.8:
        kind = rng.choice(["storage", "flow-through", "coolant coil"])
        more: dict[str, object] = {"volume": "10 L"}
        if kind == "storage":
            more["element_power"] = "1 kW"
        elif kind == "flow-through":
            more |= {"burner_power": f"{rng.uniform(3, 25):.1f} kW", "fuel": "propane"}
            if rng.random() < 0.5:
                more["flow_least"] = "2 L/min"
        elif kind == "coolant coil":
            more |= {"coolant_power": f"{rng.uniform(0.5, 6):.1f} kW"}
        t.part("heater", name="heater", kind=kind, setpoint=f"{setpoint} °C", **more)
        hot = "heater"
    count = rng.randint(1, 5)
    cold_outs = _branches(t, rng, "cold", source, 2 * count + 1)
    if hot:
        t.run(next(cold_outs), "heater")
    hot_outs = _branches(t, rng, "hot", "heater", 2 * count) if hot else iter(())
    for i in range(count):
        name = f"fixture {i}"
        choice = rng.random()
        if not hot or choice < 0.3:
            t.part("fixture", name=name, kind=rng.choice(COLD_KINDS))
            t.run(next(cold_outs), name)
        elif choice < 0.6:
            t.part("fixture", name=name, kind=rng.choice(TAP_KINDS))
            t.run(next(cold_outs), f"{name}.cold")
            t.run(next(hot_outs), f"{name}.hot")
        else:
            t.part(
                "mixing_valve",
                name=f"valve {i}",
                kind=rng.choice(["fixed", "thermostatic"]),
                setting="38 °C",
                hot_check=rng.random() < 0.6,
                cold_check=rng.random() < 0.6,
            )
            t.run(next(cold_outs), f"valve {i}.cold")
            t.run(next(hot_outs), f"valve {i}.hot")
            t.part("fixture", name=name, kind=rng.choice(MIXED_KINDS))
            t.run(f"valve {i}", name)
    return "\n".join(t.blocks)


def _supply(t: Text, rng: random.Random) -> str:
    """Everything up to where cold water branches off; gives the pointer to leave from."""
    here = "fresh"
    if rng.random() < 0.5:
        t.part("strainer", name="strainer", clogged_share=rng.choice([0.0, 0.0, 0.9]))
        t.run(here, "strainer")
        here = "strainer"
    draw = rng.random()
    if draw < 0.7:
        more: dict[str, object] = {"curve": rng.choice(PUMPS)}
        if rng.random() < 0.3:
            more["supply_voltage"] = f"{rng.choice([8, 10.5, 12, 14.4])} V"
        if rng.random() < 0.15:
            more["lift"] = "0.1 m"  # tanks below its reach
        t.part("pump", name="pump", kind="electric", **more)
        t.run(here, "pump")
        here = "pump"
    elif draw < 0.85:
        t.part("pump", name="pump", kind="foot", curve="foot pump")
        t.run(here, "pump")
        here = "pump"
    if rng.random() < 0.4:
        t.part("check_valve", name="check", reversed=rng.random() < 0.2)
        t.run(here, "check")
        here = "check"
    if rng.random() < 0.3:
        t.part("shut_off", name="main valve", opening=rng.choice([0.0, 0.4, 1.0]))
        t.run(here, "main valve")
        here = "main valve"
    if rng.random() < 0.4:
        t.part("tee", name="meet")
        t.part("shore_inlet", name="shore", pressure=f"{rng.uniform(0.5, 6):.1f} bar")
        t.run(here, "meet")
        if rng.random() < 0.6:
            t.part("regulator", name="regulator", setting=f"{rng.uniform(1, 4):.1f} bar")
            t.run("shore", "regulator")
            t.run("regulator", "meet")
        else:
            t.run("shore", "meet")
        if rng.random() < 0.5:
            t.part("accumulator", name="vessel", volume="1 L", precharge="1.5 bar")
            t.run("meet", "vessel")
        here = "meet"
    return here


def _branches(t: Text, rng: random.Random, side: str, source: str, most: int):
    """Pointers to leave from: zones of a manifold, or a trunk with tees."""
    if rng.random() < 0.5:
        name = f"{side} manifold"
        t.part(
            "manifold",
            name=name,
            side=side,
            tube="PEX 1/2 in",
            form=rng.choice(["tees", "block"]),
        )
        t.run(source, name)
        for i in range(most):
            t.part("zone", manifold=name, name=f"z{i}", opening=0.0 if rng.random() < 0.05 else 1.0)
        for i in range(most):
            yield f"{name}.z{i}"
        return
    here = source
    for i in range(most):
        tee = f"{side} tee {i}"
        t.part("tee", name=tee)
        t.run(here, tee)
        here = tee
        yield tee
