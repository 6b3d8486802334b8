"""What is said about one part makes sense together, or is told."""

from __future__ import annotations

import pytest

from vanplumb.van import BuildError, loads

HEAD = 'format = 1\n[van]\nname = "x"\nunits = "SI"\n'
TANK = '[[tank]]\nname = "t"\n'
PUMP = '[[pump]]\nname = "p"\n'
HEATER = '[[heater]]\nname = "h"\nsetpoint = "60 °C"\n'
VALVE = '[[mixing_valve]]\nname = "m"\nkind = "fixed"\nsetting = "40 °C"\n'
USE = '[[fixture]]\nname = "f"\nkind = "shower"\n[[use]]\nname = "u"\nfixture = "f"\n'
CURVE = 'kind = "electric"\ncurve_flow = ["10 L/min", "0 L/min"]\n'

WRONG = [
    (TANK + 'shape = "box"\nlength = "1 m"', "t.width is missing.*box"),
    (TANK + 'shape = "lying cylinder"\nlength = "1 m"', "t.diameter is missing"),
    (TANK + 'shape = "standing cylinder"\nheight = "1 m"', "t.diameter is missing"),
    (TANK + 'shape = "stated"', "t.volume is missing"),
    (TANK + 'shape = "stated"\nvolume = "0 L"', "more than nothing"),
    (
        TANK + 'shape = "stepped box"\nlength = "1 m"\nwidth = "1 m"\nheight = "0.3 m"\n'
        'step_length = "1 m"\nstep_height = "0.1 m"',
        "step_length must be less than the length",
    ),
    (
        TANK + 'shape = "stepped box"\nlength = "1 m"\nwidth = "1 m"\nheight = "0.3 m"\n'
        'step_length = "0.2 m"\nstep_height = "0.3 m"',
        "step_height must be less than the height",
    ),
    (
        TANK + 'shape = "wedge"\nlength = "1 m"\nwidth = "1 m"\nheight = "0.3 m"\n'
        'height_low = "0.4 m"',
        "height_low must not be more",
    ),
    (
        TANK + 'shape = "box"\nlength = "1 m"\nwidth = "1 m"\nheight = "0.3 m"\n'
        'pickup_height = "0.3 m"',
        "pickup_height must be less",
    ),
    (PUMP + 'kind = "electric"', "needs its curve"),
    (PUMP + 'kind = "foot"', "stroke_volume is missing"),
    (PUMP + 'kind = "foot"\ncurve = "12 V 2.8 gpm 40 psi"', "of the kind electric"),
    (PUMP + CURVE + 'curve_pressure = ["0 bar"]', "has 1 values, but curve_flow has 2"),
    (PUMP + CURVE + 'curve_pressure = ["2 bar", "1 bar"]', "must rise"),
    (PUMP + CURVE + 'curve_pressure = ["-1 bar", "1 bar"]', "must not be negative"),
    (
        PUMP + 'kind = "electric"\ncurve_flow = ["1 L/min", "2 L/min"]\n'
        'curve_pressure = ["0 bar", "1 bar"]',
        "must fall",
    ),
    (
        PUMP + 'kind = "electric"\ncurve_flow = ["1 L/min"]\ncurve_pressure = ["0 bar"]',
        "two points",
    ),
    (
        PUMP + CURVE + 'curve_pressure = ["0 bar", "1 bar"]\ncurve_current = ["1 A"]',
        "curve_current has 1 values",
    ),
    (
        PUMP + CURVE + 'curve_pressure = ["0 bar", "1 bar"]\ncurve = "12 V 2.8 gpm 40 psi"',
        "are both given",
    ),
    (
        PUMP + 'kind = "electric"\ncurve = "12 V 2.8 gpm 40 psi"\n'
        'cut_in = "3 bar"\ncut_out = "2 bar"',
        "cut_in must be less than cut_out",
    ),
    (HEATER + 'kind = "storage"\nelement_power = "1 kW"', "h.volume is missing"),
    (HEATER + 'kind = "storage"\nvolume = "10 L"', "has no heat"),
    (HEATER + 'kind = "flow-through"\nburner_power = "10 kW"', "h.fuel is missing"),
    (HEATER + 'kind = "coolant coil"', "coolant_power is missing"),
    (
        HEATER + 'kind = "flow-through"\nelement_power = "1 kW"\npower_least = "2 kW"',
        "power_least must not be more",
    ),
    (HEATER.replace("60 °C", "200 °C"), "setpoint must be 0 °C to 100 °C"),
    (VALVE + 'set_hot = "30 °C"', "set_hot must not be colder"),
    (VALVE + 'set_cold = "50 °C"', "set_cold must not be hotter"),
    (USE + "per_day = 1", "duration and volume are both missing"),
    (USE + 'per_day = 1\nvolume = "1 L"\nduration = "1 s"', "are both given"),
    (USE + 'volume = "1 L"', "per_person and per_day are both missing"),
    (USE + 'volume = "1 L"\nper_day = 1\nper_person = 1', "are both given"),
    (USE + 'volume = "1 L"\nper_day = 1\nhours = ["7.30"]', 'clock time such as "07:30"'),
    (USE + 'volume = "1 L"\nper_day = 1\nhours = ["24:30"]', "clock time"),
    (USE + 'volume = "1 L"\nper_day = -1', "must be 0 or more"),
    ('[fuel]\nkind = "propane"', "mass and volume are both missing"),
    ('[fuel]\nkind = "propane"\nmass = "1 kg"\nvolume = "1 L"', "are both given"),
    ('[shop]\nday_start = "17:00"\nday_end = "08:00"', "day_end must be later"),
    ('[shop]\nstart = "tomorrow"', "a day and a time"),
    ('[battery]\ncapacity = "100 Ah"\ncharge_hours = ["10"]', "a span of time"),
    ('[battery]\ncapacity = "100 Ah"\nusable = 1.5', "must be 0 % to 100 %|must be 0"),
    ('[battery]\ncapacity = "0 Ah"', "more than nothing"),
    (USE + 'volume = "1 L"\nper_day = 1e9', "must be 1000 or less"),
    ('[fuel]\nkind = "diesel"\nmass = "1000000 kg"', "must be .* or less"),
    ('[[regulator]]\nname = "r"\nsetting = "45000 psi"', "must be 4351 psi or less, .*: look at"),
    ('[[stock]]\ntube = "PEX 1/2 in"\nlength = "2000000 mm"', "length must be 1000 m or less"),
    ('[[stock]]\ntube = "PEX 1/2 in"\nlength = "80000 in"', "length must be 3281 ft or less"),
    ('[fuel]\nkind = "diesel"\nmass = "90000 lb"', "mass must be 44092 lb or less"),
    (HEATER.replace("60 °C", "300 °F"), "setpoint must be 32 °F to 212 °F"),
    ('[[regulator]]\nname = "r"\nsetting = "-4 psi"', "setting must be 0 or more"),
    (PUMP + CURVE + 'curve_pressure = ["0 bar", "4000 bar"]', "number 2: must be 300.*or less"),
    ("[crew]\npeople = 2.5", "whole number"),
    ("[crew]\npeople = -1", "must be 0 to 50"),
    ("[crew]\npeople = true", "whole number"),
    ('[crew]\nreserve = "10 L"', "a volume"),
]


@pytest.mark.parametrize("text, message", WRONG, ids=range(len(WRONG)))
def test_what_makes_no_sense_is_told(text: str, message: str) -> None:
    with pytest.raises(BuildError, match=message) as caught:
        loads(HEAD + text + "\n")
    assert all(p.line >= 5 for p in caught.value.problems)


RIGHT = [
    TANK + 'shape = "stated"\nvolume = "20 L"',
    TANK + 'shape = "wedge"\nlength = "1 m"\nwidth = "1 m"\nheight = "0.3 m"\nheight_low = "0.3 m"',
    PUMP + CURVE + 'curve_pressure = ["0 bar", "2 bar"]',
    PUMP + 'kind = "foot"\ncurve = "foot pump"',
    PUMP + 'kind = "hand"\nstroke_volume = "0.1 L"',
    HEATER + 'kind = "coolant coil"\ncoolant_power = "4 kW"',
    VALVE + 'set_hot = "60 °C"\nset_cold = "10 °C"',
    USE + 'volume = "1 L"\nper_day = 1\nhours = ["7:30", "24:00"]',
    '[fuel]\nkind = "diesel"\nvolume = "80 L"',
    '[battery]\ncapacity = "100 Ah"\nusable = "80 %"\ncharge_hours = ["22:00-06:00"]',
    "[crew]\npeople = 0\nreserve = 0.1",
]


@pytest.mark.parametrize("text", RIGHT, ids=range(len(RIGHT)))
def test_what_makes_sense_loads(text: str) -> None:
    loads(HEAD + text + "\n")


def test_what_follows_from_an_unreadable_kind_is_not_told_too() -> None:
    with pytest.raises(BuildError) as caught:
        loads(HEAD + HEATER + 'kind = "storag"\n')
    assert [p.path for p in caught.value.problems] == ["heater.h.kind"]
