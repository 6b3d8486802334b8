"""Each rule speaks when it should, with its limit and source, and is silent on a sound build."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import pytest

from tests.examples import pack_of
from vanplumb.pack import Pack
from vanplumb.review import RULES, SEVERITIES, Finding, backflow, heat, pressure, supply, tank, tube
from vanplumb.review.finding import told_once
from vanplumb.van import loads
from vanplumb.words.sources import PRACTICE

SOUND = """\
format = 1
[van]
name = "Sound"
units = "SI"
payload = "500 kg"
[crew]
people = 2
nights = 2
drinking = "4 L"
[shop]
hot_compound = "high-temperature sealant"
[[tank]]
name = "fresh"
shape = "box"
length = "800 mm"
width = "400 mm"
height = "300 mm"
space_length = "900 mm"
space_width = "450 mm"
space_height = "350 mm"
fill_diameter = "30 mm"
vent_diameter = "15 mm"
pickup_height = "15 mm"
[[strainer]]
name = "strainer"
[[pump]]
name = "pump"
kind = "electric"
curve = "12 V 2.8 gpm 40 psi"
[[shore_inlet]]
name = "shore"
pressure = "4 bar"
backflow = "air gap"
[[regulator]]
name = "regulator"
setting = "3 bar"
[[tee]]
name = "joint"
[[accumulator]]
name = "vessel"
volume = "2 L"
precharge = "30 psi"
[[manifold]]
name = "cold"
side = "cold"
tube = "PEX 1/2 in"
stub = "2 in"
[[zone]]
manifold = "cold"
name = "heater"
[[zone]]
manifold = "cold"
name = "mixer"
[[zone]]
manifold = "cold"
name = "basin"
[[heater]]
name = "heater"
kind = "storage"
volume = "10 L"
setpoint = "60 °C"
coolant_power = "2 kW"
relief = "8 bar"
pressure_rating = "8 bar"
[[tee]]
name = "hot tee"
[[mixing_valve]]
name = "mixer"
kind = "thermostatic"
setting = "41 °C"
hot_check = true
cold_check = true
[[fixture]]
name = "shower"
kind = "shower"
backflow = true
[[fixture]]
name = "basin"
kind = "cold tap"
"""
RUNS = (
    ("fresh", "strainer", "0.3 m"),
    ("strainer", "pump", "0.3 m"),
    ("pump", "joint", "0.3 m"),
    ("shore", "regulator", "0.3 m"),
    ("regulator", "joint", "0.3 m"),
    ("joint", "vessel", "0.3 m"),
    ("joint", "cold", "0.3 m"),
    ("cold.heater", "heater", "0.5 m"),
    ("heater", "mixer.hot", "0.5 m"),
    ("cold.mixer", "mixer.cold", "0.5 m"),
    ("mixer", "shower", "1 m"),
    ("cold.basin", "basin", "1 m"),
)
SOUND = SOUND.replace('[[tee]]\nname = "hot tee"\n', "") + "".join(
    f'[[run]]\nfrom = "{a}"\nto = "{b}"\ntube = "PEX 1/2 in"\nlength = "{n}"\n' for a, b, n in RUNS
)

Change = Callable[[str], str]


def swap(old: str, new: str) -> Change:
    def change(text: str) -> str:
        assert old in text, old
        return text.replace(old, new, 1)

    return change


def both(*changes: Change) -> Change:
    def change(text: str) -> str:
        for one in changes:
            text = one(text)
        return text

    return change


def without_run(a: str, b: str) -> Change:
    def change(text: str) -> str:
        head, *blocks = text.split("[[run]]\n")
        kept = [x for x in blocks if f'from = "{a}"\nto = "{b}"\n' not in x]
        assert len(kept) == len(blocks) - 1
        return "".join([head, *(f"[[run]]\n{x}" for x in kept)])

    return change


def cut(block: str) -> Change:
    return swap(block, "")


NO_VESSEL = both(
    cut('[[accumulator]]\nname = "vessel"\nvolume = "2 L"\nprecharge = "30 psi"\n'),
    without_run("joint", "vessel"),
)
NO_REGULATOR = both(
    cut('[[regulator]]\nname = "regulator"\nsetting = "3 bar"\n'),
    without_run("regulator", "joint"),
    swap('to = "regulator"', 'to = "joint"'),
)
HOT_RUN = 'from = "heater"\nto = "mixer.hot"\ntube = "PEX 1/2 in"'

TWO_TANKS = both(
    swap(
        "[[strainer]]",
        '[[tank]]\nname = "upper"\nshape = "box"\nlength = "0.4 m"\nwidth = "0.4 m"\n'
        'height = "0.3 m"\nbase_height = "0.6 m"\nvent_diameter = "15 mm"\n[[strainer]]',
    ),
    swap(
        '[[run]]\nfrom = "fresh"\nto = "strainer"',
        '[[tee]]\nname = "low tee"\n[[run]]\nfrom = "upper"\nto = "low tee"\n'
        'tube = "PEX 1/2 in"\nlength = "1 m"\nrise = "-0.6 m"\n'
        '[[run]]\nfrom = "fresh"\nto = "low tee"\ntube = "PEX 1/2 in"\nlength = "0.3 m"\n'
        '[[run]]\nfrom = "low tee"\nto = "strainer"',
    ),
)
CASES: list[tuple[str, str, Change]] = [
    ("tank_runs_over_into_a_lower_one", "NOTICE", TWO_TANKS),
    ("scald_at_mixed_outlet", "WARNING", swap('setting = "41 °C"', 'setting = "52 °C"')),
    (
        "scald_at_mixed_outlet",
        "CAUTION",
        both(swap('units = "SI"', 'units = "US"'), swap('setting = "41 °C"', 'setting = "46 °C"')),
    ),
    (
        "unmixed_hot_at_fixture",
        "WARNING",
        both(
            swap('kind = "cold tap"', 'kind = "basin tap"'),
            swap('to = "basin"', 'to = "basin.cold"'),
            swap('kind = "shower"', 'kind = "galley tap"'),
            swap(HOT_RUN, 'from = "heater"\nto = "shower.hot"\ntube = "PEX 1/2 in"'),
            without_run("mixer", "shower"),
        ),
    ),
    (
        "fixed_valve_on_a_hot_store",
        "WARNING",
        both(
            swap('kind = "thermostatic"', 'kind = "fixed"'),
            swap('setpoint = "60 °C"', 'setpoint = "80 °C"\ndifferential = "15 K"'),
            swap('setting = "41 °C"', 'setting = "42 °C"'),
        ),
    ),
    ("set_once_valve_without_cold", "WARNING", swap('kind = "thermostatic"', 'kind = "fixed"')),
    ("thermostatic_valve_cannot_hold", "CAUTION", swap('"60 °C"', '"48 °C"')),
    ("valve_that_cannot_be_set", "CAUTION", swap('setpoint = "60 °C"', 'setpoint = "40 °C"')),
    ("valve_that_cannot_be_set", "CAUTION", swap('setting = "41 °C"', 'setting = "5 °C"')),
    ("store_below_legionella_advice", "WARNING", swap('"60 °C"', '"50 °C"')),
    ("relief_missing", "DANGER", cut('relief = "8 bar"\n')),
    (
        "relief_opens_on_heat_in_use",
        "WARNING",
        swap('relief = "8 bar"', 'relief = "8 bar"\nrelief_temperature = "75 °C"'),
    ),
    (
        "relief_too_small",
        "DANGER",
        swap('relief = "8 bar"', 'relief = "8 bar"\nrelief_capacity = "1.9 kW"'),
    ),
    ("relief_above_rating", "DANGER", swap('relief = "8 bar"', 'relief = "9 bar"')),
    ("no_room_to_grow", "CAUTION", NO_VESSEL),
    ("checks_missing_at_valve", "CAUTION", cut("cold_check = true\n")),
    (
        "mains_beside_water",
        "WARNING",
        swap('coolant_power = "2 kW"', 'element_power = "1 kW"\nelement_voltage = "230 V"'),
    ),
    (
        "plastic_tube_at_a_heater",
        "NOTICE",
        swap('coolant_power = "2 kW"', 'burner_power = "3 kW"\nfuel = "propane"'),
    ),
    (
        "tube_over_rating",
        "WARNING",
        both(NO_VESSEL, swap('relief = "8 bar"\npressure_rating = "8 bar"', 'relief = "9 bar"')),
    ),
    ("tube_over_rating", "WARNING", swap('"60 °C"', '"98 °C"')),
    (
        "relief_above_tube",
        "WARNING",
        swap('relief = "8 bar"\npressure_rating = "8 bar"', 'relief = "11 bar"'),
    ),
    (
        "tube_not_for_hot_water",
        "WARNING",
        swap(HOT_RUN, HOT_RUN.replace("PEX 1/2 in", "hose 12 mm")),
    ),
    (
        "tube_not_for_drinking_water",
        "WARNING",
        both(
            swap(
                "[[run]]",
                '[[rows.tubes]]\nname = "garden hose"\nmaterial = "hose"\n'
                'od = "17 mm"\nbore = "12 mm"\nroughness = "0.01 mm"\nhot = false\n'
                'drinking = false\nrating_temperatures = ["20 °C", "60 °C"]\n'
                'rating_pressures = ["6 bar", "3 bar"]\njoint = "hose clamp"\n[[run]]',
            ),
            swap('to = "basin"\ntube = "PEX 1/2 in"', 'to = "basin"\ntube = "garden hose"'),
        ),
    ),
    (
        "joint_not_for_tube",
        "WARNING",
        swap(
            'tube = "PEX 1/2 in"\nlength', 'tube = "copper L 1/2 in"\njoint = "expansion"\nlength'
        ),
    ),
    (
        "water_too_fast",
        "NOTICE",
        swap('kind = "cold tap"', 'kind = "cold tap"\nflow = "20 L/min"'),
    ),
    ("stub_too_short", "NOTICE", swap('stub = "2 in"', 'stub = "1 1/2 in"')),
    ("stub_too_short", "NOTICE", swap('length = "1 m"', 'length = "40 mm"')),
    (
        "clips_too_far_apart",
        "NOTICE",
        swap(f"{HOT_RUN}\nlength", f'{HOT_RUN}\nclip_spacing = "36 in"\nlength'),
    ),
    (
        "heated_run_has_no_give",
        "NOTICE",
        swap(f'{HOT_RUN}\nlength = "0.5 m"', f'{HOT_RUN}\nlength = "2 m"'),
    ),
    (
        "static_pressure_high",
        "WARNING",
        both(swap('pressure = "4 bar"', 'pressure = "8 bar"'), swap('"3 bar"', '"6 bar"')),
    ),
    ("shore_without_regulator", "WARNING", NO_REGULATOR),
    (
        "shore_without_regulator",
        "WARNING",
        both(
            without_run("regulator", "joint"),
            swap('to = "regulator"', 'to = "joint"'),
            swap('from = "pump"\nto = "joint"', 'from = "pump"\nto = "regulator"'),
        ),
    ),
    ("shore_without_backflow_protection", "WARNING", swap('"air gap"', '"none"')),
    ("shore_without_backflow_protection", "CAUTION", swap('"air gap"', '"vacuum breaker"')),
    ("shore_without_backflow_protection", "CAUTION", swap('"air gap"', '"double check"')),
    ("hand_shower_unprotected", "CAUTION", cut("backflow = true\n")),
    (
        "shore_could_fill_the_tank",
        "NOTICE",
        swap('curve = "12 V 2.8 gpm 40 psi"', 'curve = "12 V 2.8 gpm 40 psi"\ncheck = false'),
    ),
    (
        "strainer_missing",
        "NOTICE",
        both(
            cut('[[strainer]]\nname = "strainer"\n'),
            without_run("strainer", "pump"),
            swap('to = "strainer"', 'to = "pump"'),
        ),
    ),
    ("precharge_off", "NOTICE", swap('precharge = "30 psi"', 'precharge = "40 psi"')),
    (
        "accumulator_not_for_drinking_water",
        "WARNING",
        swap('precharge = "30 psi"', 'precharge = "30 psi"\npotable = false'),
    ),
    ("fixture_without_water", "NOTICE", without_run("cold.basin", "basin")),
    ("open_end", "NOTICE", without_run("pump", "joint")),
    (
        "hose_outlet_unprotected",
        "CAUTION",
        swap('kind = "cold tap"', 'kind = "hose outlet"\nplace = "outside"'),
    ),
    (
        "quick_valve_hammers",
        "NOTICE",
        both(NO_VESSEL, swap('kind = "cold tap"', 'kind = "toilet"')),
    ),
    ("heel_large", "NOTICE", swap('pickup_height = "15 mm"', 'pickup_height = "40 mm"')),
    ("tank_does_not_fit", "NOTICE", swap('"900 mm"', '"805 mm"')),
    ("printed_volume_differs", "NOTICE", swap("pickup_height", 'volume = "20 L"\npickup_height')),
    (
        "overflow_narrow",
        "NOTICE",
        swap('vent_diameter = "15 mm"', 'vent_diameter = "15 mm"\noverflow_diameter = "10 mm"'),
    ),
    ("vent_missing", "NOTICE", cut('vent_diameter = "15 mm"\n')),
    ("vent_missing", "NOTICE", swap('vent_diameter = "15 mm"', 'vent_diameter = "8 mm"')),
    ("water_heavy_for_the_van", "NOTICE", swap('"500 kg"', '"250 kg"')),
    ("water_heavy_for_the_van", "WARNING", swap('"500 kg"', '"60 kg"')),
    ("water_short_for_the_stay", "NOTICE", swap("nights = 2", "nights = 30")),
]

ELSEWHERE = {
    "coolant_past_setpoint",
    "flow_through_without_relief",
    "vessel_cut_off_from_heater",
    "relief_opens_at_each_heating",
    "relief_stands_open",
    "heater_over_rating",
    "vessel_over_rating",
    "stated_working_pressure_exceeded",
    "heated_past_a_rating",
    "burner_weaker_in_thin_air",
}
"""Rules whose cases stand in test_heater_rules.py and flow/test_service_pressure.py."""
MINE = {
    n
    for n, r in RULES.items()
    if r.__module__ in {m.__name__ for m in (backflow, heat, pressure, supply, tank, tube)}
} - ELSEWHERE


def found(text: str) -> tuple[Finding, ...]:
    pack = Pack(loads(text))
    return tuple(f for f in pack.findings if f.rule in MINE)


def test_a_sound_build_is_left_alone() -> None:
    assert [(f.rule, f.where) for f in found(SOUND)] == []


def test_every_rule_has_a_case() -> None:
    assert {name for name, _, _ in CASES} == MINE
    assert len(MINE) >= 15


@pytest.mark.parametrize("name, severity, change", CASES, ids=[f"{n}-{s}" for n, s, _ in CASES])
def test_rule_speaks(name: str, severity: str, change: Change) -> None:
    hits = list(RULES[name](Pack(loads(change(SOUND)))))
    assert [f.severity for f in hits][:1] == [severity]
    for one in hits:
        value, limit = one.shown("US")
        assert value and limit and str(one.source) and one.advice.endswith(".")


def test_findings_stand_worst_first() -> None:
    rules = found(both(cut('relief = "8 bar"\n'), cut('vent_diameter = "15 mm"\n'))(SOUND))
    order = [list(SEVERITIES).index(f.severity) for f in rules]
    assert order == sorted(order)
    assert rules[0].severity == "DANGER"


def test_an_unknown_severity_is_refused() -> None:
    with pytest.raises(ValueError, match="severity must be one of DANGER"):
        Finding("GRAVE", "", "", "", "", PRACTICE, "")


def test_a_check_valve_behind_the_lower_tank_keeps_the_upper_one_from_running_into_it() -> None:
    """The right way round it does; fitted the wrong way round, or behind the upper one, not."""
    name = "tank_runs_over_into_a_lower_one"

    def guarded(tank: str, reversed_: str = "false") -> list[str]:
        valve = f'[[check_valve]]\nname = "stop"\nreversed = {reversed_}\n[[strainer]]'
        text = swap("[[strainer]]", valve)(TWO_TANKS(SOUND))
        more = f'[[run]]\nfrom = "{tank}"\nto = "stop"\ntube = "PEX 1/2 in"\nlength = "0.1 m"\n'
        text = swap(
            f'[[run]]\nfrom = "{tank}"\nto = "low tee"',
            more + '[[run]]\nfrom = "stop"\nto = "low tee"',
        )(text)
        return [f.where for f in RULES[name](Pack(loads(text)))]

    assert guarded("fresh") == []
    assert guarded("fresh", "true") == guarded("upper") == ["upper"]


def test_a_selector_keeps_the_water_of_two_tanks_apart_but_not_when_both_are_open() -> None:
    def sinks(set_to: str) -> list[str]:
        text = swap(
            '[[tee]]\nname = "low tee"',
            f'[[tank_selector]]\nname = "low tee"\nset_to = "{set_to}"',
        )(TWO_TANKS(SOUND))
        text = text.replace(
            'from = "upper"\nto = "low tee"', 'from = "upper"\nto = "low tee.first"'
        )
        text = text.replace(
            'from = "fresh"\nto = "low tee"', 'from = "fresh"\nto = "low tee.second"'
        )
        rule = RULES["tank_runs_over_into_a_lower_one"]
        return [f.where for f in rule(Pack(loads(text)))]

    assert sinks("both") == ["upper"]
    assert sinks("first") == sinks("second") == []


def test_a_finding_in_several_places_is_told_once_and_what_differs_is_told_by_place() -> None:
    one = Finding("NOTICE", "It grows.", "run 1", 0.018, 0.01, PRACTICE, "Bend it.", "length")
    other = replace(one, where="run 2", value=0.012)
    apart = replace(one, where="run 3", advice="Leave it.")
    told = told_once([one, other, apart, replace(one, where="run 4")], "SI")
    assert [f.where for f in told] == ["run 1; run 2; run 4", "run 3"]
    assert told[0].shown("SI") == ("18 mm (run 1); 12 mm (run 2); 18 mm (run 4)", "10 mm")
    assert told[1] == apart
    alike = told_once([one, replace(one, where="run 2")], "SI")[0]
    assert alike.shown("US") == one.shown("US") and alike.where == "run 1; run 2"


def test_runs_that_are_too_fast_at_once_are_told_in_one_line() -> None:
    """With everything open on shore five of Dipper's runs carry too much: the worst, with all."""
    pack = pack_of("dipper")
    told = [f for f in pack.findings if f.rule == "water_too_fast"]
    fast = [one for one in pack.flow.runs if one.velocity > 8.0 * 0.3048]
    assert len(fast) == 5 and len(told) == 1
    assert told[0].value == max(one.velocity for one in fast)
    for one in fast:
        assert re.search(rf"\b{one.number + 1}\b", told[0].what + told[0].where)


def test_hot_that_is_colder_than_the_valve_is_set_to_is_told_as_that() -> None:
    rule = RULES["thermostatic_valve_cannot_hold"]
    (near,) = rule(Pack(loads(swap('"60 °C"', '"48 °C"')(SOUND))))
    assert near.value > 0 and "by less than such a valve needs" in near.what
    (cold,) = rule(Pack(loads(swap('setpoint = "60 °C"', 'setpoint = "43 °C"')(SOUND))))
    assert cold.value < 0 and "colder than what the valve is set to" in cold.what
