"""A van with one of every part that a line may pass, for the tests of several rooms."""

from __future__ import annotations

TEXT = """\
format = 1
[van]
name = "All parts"
units = "SI"
outside = "-8 °C"
[crew]
people = 2
nights = 3
heater_hours = ["06:00-09:00", "17:00-22:00"]
drive_hours = ["10:00-12:00"]
hookup_hours = ["19:00-23:00"]
[battery]
capacity = "100 Ah"
second_capacity = "100 Ah"
[[tank]]
name = "fresh"
shape = "box"
length = "800 mm"
width = "400 mm"
height = "300 mm"
[[tank]]
name = "reserve"
shape = "box"
length = "400 mm"
width = "300 mm"
height = "300 mm"
[[tank_selector]]
name = "selector"
[[line_part]]
name = "pick-up"
kind = "antifreeze pick-up"
[[strainer]]
name = "strainer"
[[pump]]
name = "pump"
kind = "electric"
curve = "12 V 9 L/min 2.0 bar"
[[tee]]
name = "low tee"
[[drain_valve]]
name = "frost drain"
kind = "in frost"
place = "cabin"
[[line_part]]
name = "grit filter"
kind = "sediment filter"
[[tee]]
name = "drink tee"
[[line_part]]
name = "carbon"
kind = "carbon filter"
[[line_part]]
name = "lamp"
kind = "ultraviolet lamp"
[[tee]]
name = "cold tee"
[[line_part]]
name = "softener"
kind = "softener"
[[tee]]
name = "loop tee"
[[heater]]
name = "boiler"
kind = "storage"
volume = "15 L"
setpoint = "60 °C"
element_power = "750 W"
coolant_power = "3 kW"
relief = "4 bar"
relief_drain = "under the floor"
bypass = "three valves"
[[line_part]]
name = "union"
kind = "union"
[[tee]]
name = "hot tee"
[[air_vent]]
name = "vent"
[[recirculation_pump]]
name = "loop pump"
control = "timer"
power = "15 W"
hours = ["06:30-08:00", "18:00-20:00"]
[[line_part]]
name = "box coupling"
kind = "quick connector"
[[fixture]]
name = "drinking tap"
kind = "cold tap"
[[fixture]]
name = "sink"
kind = "galley tap"
[[fixture]]
name = "shower box"
kind = "outside shower"
[[fixture]]
name = "washer"
kind = "washing machine"
[[use]]
name = "drink"
fixture = "drinking tap"
per_person = 3
volume = "1 L"
[[use]]
name = "dishes"
fixture = "sink"
per_day = 2
volume = "5 L"
temperature = "45 °C"
"""
RUNS = [
    ("fresh", "selector.first", "0.3 m", 0),
    ("reserve", "selector.second", "0.3 m", 0),
    ("selector", "pick-up", "0.2 m", 0),
    ("pick-up", "strainer", "0.2 m", 0),
    ("strainer", "pump", "0.2 m", 0.05),
    ("pump", "low tee", "0.2 m", -0.05),
    ("low tee", "frost drain", "0.2 m", -0.1),
    ("low tee", "grit filter", "0.4 m", 0.1),
    ("grit filter", "drink tee", "0.4 m", 0.1),
    ("drink tee", "carbon", "0.3 m", 0.1),
    ("carbon", "lamp", "0.2 m", 0),
    ("lamp", "drinking tap", "1 m", 0.4),
    ("drink tee", "cold tee", "0.4 m", 0),
    ("cold tee", "sink.cold", "1 m", 0.4),
    ("cold tee", "washer", "1 m", 0.1),
    ("cold tee", "softener", "0.4 m", 0),
    ("softener", "loop tee", "0.4 m", 0),
    ("loop tee", "boiler", "0.3 m", 0.05),
    ("boiler", "union", "0.1 m", 0),
    ("union", "hot tee", "2 m", 0.3),
    ("hot tee", "sink.hot", "0.5 m", 0.1),
    ("hot tee", "vent", "0.3 m", 0.3),
    ("hot tee", "loop pump", "0.2 m", 0),
    ("loop pump", "loop tee", "2 m", -0.35),
    ("hot tee", "box coupling", "1 m", -0.2),
    ("box coupling", "shower box", "0.5 m", 0),
]
TEXT += "".join(
    f'[[run]]\nfrom = "{a}"\nto = "{b}"\ntube = "PE-X 16x2.0"\nlength = "{n}"\nrise = "{r:.2f} m"\n'
    for a, b, n, r in RUNS
)
