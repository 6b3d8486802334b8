"""Each rule on flow speaks when it should and is silent on a sound build."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.review.test_rules import HOT_RUN, NO_VESSEL, SOUND, Change, both, cut, swap, without_run
from vanplumb import example
from vanplumb.pack import Pack
from vanplumb.review import RULES, Finding, flow
from vanplumb.van import loads

MINE = {n for n, r in RULES.items() if r.__module__ == flow.__name__}

WEAK = swap('curve = "12 V 2.8 gpm 40 psi"', 'curve = "12 V submersible 8 L/min"\nlift = "6 ft"')
NARROW_COLD = swap(
    'from = "joint"\nto = "cold"\ntube = "PEX 1/2 in"\nlength = "0.3 m"',
    'from = "joint"\nto = "cold"\ntube = "PE-X 12x2.0"\nlength = "6 m"',
)
HOTTER = both(
    swap('kind = "thermostatic"', 'kind = "fixed"'),
    swap(
        'from = "cold.mixer"\nto = "mixer.cold"\ntube = "PEX 1/2 in"\nlength = "0.5 m"',
        'from = "cold.mixer"\nto = "side.any"\ntube = "PE-X 12x2.0"\nlength = "8 m"\n'
        '[[run]]\nfrom = "side"\nto = "mixer.cold"\ntube = "PEX 1/2 in"\nlength = "0.5 m"\n'
        '[[run]]\nfrom = "side"\nto = "basin"\ntube = "PEX 1/2 in"\nlength = "0.5 m"',
    ),
    without_run("cold.basin", "basin"),
    swap('[[tee]]\nname = "joint"', '[[tee]]\nname = "joint"\n[[tee]]\nname = "side"'),
    swap('[[zone]]\nmanifold = "cold"\nname = "basin"\n', ""),
    swap('kind = "cold tap"', 'kind = "cold tap"\nflow = "10 L/min"'),
)
COLDER = both(
    swap('kind = "thermostatic"', 'kind = "fixed"'),
    swap('to = "mixer.hot"\ntube', 'to = "hot tee"\ntube'),
    swap('[[tee]]\nname = "joint"', '[[tee]]\nname = "joint"\n[[tee]]\nname = "hot tee"'),
    swap(
        'from = "heater"\nto = "hot tee"\ntube = "PEX 1/2 in"',
        'from = "heater"\nto = "hot tee"\ntube = "PE-X 12x2.0"',
    ),
    swap(
        '[[run]]\nfrom = "cold.mixer"',
        '[[run]]\nfrom = "hot tee"\nto = "mixer.hot"\n'
        'tube = "PEX 1/2 in"\nlength = "0.5 m"\n[[run]]\nfrom = "hot tee"\nto = "sink.hot"\n'
        'tube = "PEX 1/2 in"\nlength = "0.5 m"\n[[run]]\nfrom = "cold.mixer"',
    ),
    swap(
        '[[fixture]]\nname = "basin"',
        '[[fixture]]\nname = "sink"\nkind = "cold tap"\n[[fixture]]\nname = "basin"',
    ),
)
SUCTION = swap(
    'from = "strainer"\nto = "pump"\ntube = "PEX 1/2 in"\nlength = "0.3 m"',
    'from = "strainer"\nto = "pump"\ntube = "PE-X 12x2.0"\nlength = "3 m"',
)
CHOKED = swap('name = "strainer"', 'name = "strainer"\nclogged_share = 0.85')

CASES: list[tuple[str, str, Change]] = [
    (
        "no_water_at_any_tap",
        "WARNING",
        both(without_run("joint", "cold"), without_run("heater", "mixer.hot")),
    ),
    ("fixture_starved", "NOTICE", WEAK),
    (
        "tap_gets_no_warmer",
        "NOTICE",
        both(
            swap('kind = "cold tap"', 'kind = "basin tap"\ntemperature = "40 °C"'),
            swap('to = "basin"', 'to = "basin.cold"'),
            swap(HOT_RUN, 'from = "heater"\nto = "basin.hot"\ntube = "PEX 1/2 in"'),
            without_run("mixer", "shower"),
            swap('setpoint = "60 °C"', 'setpoint = "30 °C"'),
        ),
    ),
    ("temperature_jumps", "WARNING", HOTTER),
    ("temperature_jumps", "NOTICE", COLDER),
    (
        "water_crosses_in_valve",
        "WARNING",
        both(cut("hot_check = true\n"), cut("cold_check = true\n"), NARROW_COLD),
    ),
    ("pump_cycles_fast", "NOTICE", swap('volume = "2 L"', 'volume = "0.1 L"')),
    ("pump_cycles_fast", "NOTICE", NO_VESSEL),
    ("pump_sucks_too_hard", "NOTICE", SUCTION),
    ("pump_sucks_too_hard", "NOTICE", CHOKED),
    (
        "rises_do_not_close",
        "NOTICE",
        swap(
            'to = "mixer.hot"\ntube = "PEX 1/2 in"',
            'to = "mixer.hot"\nrise = "0.3 m"\ntube = "PEX 1/2 in"',
        ),
    ),
    (
        "speed_with_all_open",
        "NOTICE",
        swap("[shop]", '[limits]\nvelocity_cold = "0.5 m/s"\n[shop]'),
    ),
    (  # flowing, 2.4 bar stand in the basin's run; shut as quickly as a toilet, 2.9 bar
        "surge_over_rating",
        "CAUTION",
        both(
            swap(
                "[[run]]",
                '[[rows.tubes]]\nname = "weak tube"\nlike = "PEX 1/2 in"\n'
                'rating_temperatures = ["20 °C"]\nrating_pressures = ["2.6 bar"]\n[[run]]',
            ),
            swap('to = "basin"\ntube = "PEX 1/2 in"', 'to = "basin"\ntube = "weak tube"'),
            swap('kind = "cold tap"', 'kind = "toilet"'),
        ),
    ),
]


def found(text: str) -> tuple[Finding, ...]:
    pack = Pack(loads(text))
    return tuple(replace(f, rule=name) for name in sorted(MINE) for f in RULES[name](pack))


def test_a_sound_build_is_left_alone() -> None:
    assert [(f.rule, f.where, f.what) for f in found(SOUND)] == []


@pytest.mark.parametrize("name, severity, change", CASES, ids=[f"{n}-{s}" for n, s, _ in CASES])
def test_rule_speaks(name: str, severity: str, change: Change) -> None:
    hits = list(RULES[name](Pack(loads(change(SOUND)))))
    assert severity in [f.severity for f in hits]
    for one in hits:
        value, limit = one.shown("US")
        assert value and limit and str(one.source) and one.advice.endswith(".")


def test_the_jump_is_told_in_degrees() -> None:
    [one] = [f for f in found(HOTTER(SOUND)) if f.rule == "temperature_jumps"]
    assert "hotter when basin opens" in one.what
    assert isinstance(one.value, float) and one.value > 2.0
    assert "±2 K" in str(one.source)


def test_the_advice_names_the_side_that_gives_way() -> None:
    """A jump up, a jump down by a narrow hot run, a jump down by a heater at its limit."""
    [up] = [f for f in found(HOTTER(SOUND)) if f.rule == "temperature_jumps"]
    [down] = [f for f in found(COLDER(SOUND)) if f.rule == "temperature_jumps"]
    assert "cold side loses pressure" in up.advice and "set it cooler" in up.advice
    assert "hot side loses pressure" in down.advice and "Don't set it hotter" in down.advice
    build = example("heron")
    jumps = {f.where: f for f in flow.temperature_jumps(Pack(build))}
    assert "can't warm both flows" in jumps["galley"].advice
    assert "hot side loses pressure" in jumps["laundry tub"].advice
    # with a burner that warms both, the galley's hot water stays as hot as it was
    strong = replace(build.heater[0], burner_power=2 * build.heater[0].burner_power)
    pack = Pack(replace(build, heater=(strong,)))
    assert all("can't warm" not in f.advice for f in flow.temperature_jumps(pack))


@pytest.mark.parametrize("least, swings", [("2.2 L/min", False), ("4 L/min", True)])
def test_a_burner_and_a_valve_that_chase_each_other_are_told(least: str, swings: bool) -> None:
    """A flow-through heater that needs more than the valve lets through of its hot water.

    Alight, its water is too hot and the valve draws less than it needs; out, the valve opens
    to hot and it lights again.
    """
    text = example("heron").text.replace('flow_least = "2.2 L/min"', f'flow_least = "{least}"')
    pack = Pack(loads(text))
    # only this situation: it takes seconds to find that one has no answer
    shower = replace(pack.flow.solve(["shower"]), name="shower alone")
    vars(pack.flow)["situations"] = (shower,)
    told = list(RULES["no_steady_flow"](pack))
    assert bool(told) is swings
    if swings:
        assert [f.where for f in told] == ["shower alone"]
        assert all("lights and goes out" in f.what for f in told)


def test_every_rule_has_a_case() -> None:
    spoken = {name for name, _, _ in CASES} | {"no_steady_flow"}
    assert spoken == MINE
