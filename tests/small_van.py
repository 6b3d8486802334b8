"""The smallest van that has a day at the bench: tank, pump, one cold tap."""

SMALL_VAN = """
format = 1
[van]
name = "Siskin"
units = "US"

[[tank]]
name = "tank"
shape = "stated"
volume = "10 gal"

[[pump]]
name = "pump"
kind = "electric"
curve = "12 V 2.8 gpm 40 psi"

[[fixture]]
name = "tap"
kind = "cold tap"

[[run]]
from = "tank"
to = "pump"
tube = "PEX 1/2 in"
length = "2 ft"

[[run]]
from = "pump"
to = "tap"
tube = "PEX 1/2 in"
length = "6 ft"
"""
