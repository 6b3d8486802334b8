"""A van with three waters that no tube joins: run down from a roof, trodden, and pumped."""

THREE_WATERS = """
format = 1
[van]
name = "Dunlin"
units = "SI"

[[tank]]
name = "roof tank"
shape = "box"
length = "900 mm"
width = "300 mm"
height = "200 mm"
base_height = "1.7 m"

[[heater]]
name = "store"
kind = "storage"
volume = "8 L"
setpoint = "60 °C"
element_power = "200 W"
element_voltage = "12 V"
relief = "3 bar"

[[tee]]
name = "high tee"

[[fixture]]
name = "galley"
kind = "galley tap"
flow = "3 L/min"
flow_pressure = "0.1 bar"
temperature = "40 °C"

[[run]]
from = "roof tank"
to = "high tee"
tube = "PE-X 16x2.0"
length = "1 m"
rise = "-0.8 m"

[[run]]
from = "high tee"
to = "galley.cold"
tube = "PE-X 16x2.0"
length = "0.5 m"

[[run]]
from = "high tee"
to = "store"
tube = "PE-X 16x2.0"
length = "0.5 m"

[[run]]
from = "store"
to = "galley.hot"
tube = "PE-X 16x2.0"
length = "0.5 m"

[[tank]]
name = "can"
shape = "box"
length = "300 mm"
width = "200 mm"
height = "300 mm"

[[pump]]
name = "pedal"
kind = "foot"
curve = "foot pump"

[[fixture]]
name = "spout"
kind = "foot pump tap"

[[run]]
from = "can"
to = "pedal"
tube = "hose 12 mm"
length = "0.4 m"

[[run]]
from = "pedal"
to = "spout"
tube = "hose 12 mm"
length = "1 m"

[[tank]]
name = "wash tank"
shape = "box"
length = "600 mm"
width = "300 mm"
height = "300 mm"

[[pump]]
name = "pump"
kind = "electric"
curve = "12 V 9 L/min 2.0 bar"

[[fixture]]
name = "shower"
kind = "outside shower"

[[run]]
from = "wash tank"
to = "pump"
tube = "PE-X 16x2.0"
length = "0.4 m"

[[run]]
from = "pump"
to = "shower"
tube = "PE-X 16x2.0"
length = "3 m"
"""
"""The store's relief valve and the pedal's hose see nothing of what the electric pump makes."""
