"""Small vans: the smallest with a day at the bench (tank, pump, one cold tap), and its pieces."""

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

STATED = 'shape = "stated"\nvolume = "10 gal"\n'
BOX = 'shape = "box"\nlength = "30 in"\nwidth = "16 in"\nheight = "12 in"\n'


def head(
    name: str = "Snipe", pump: str = "12 V 2.0 gpm 30 psi", tank: str = STATED, van: str = ""
) -> str:
    """A van with a tank "fresh" and a pump "pump"; ``van`` are more lines about it."""
    return (
        f'format = 1\n[van]\nname = "{name}"\nunits = "US"\n{van}'
        f'[[tank]]\nname = "fresh"\n{tank}'
        f'[[pump]]\nname = "pump"\nkind = "electric"\ncurve = "{pump}"\n'
    )


def tap(name: str = "tap") -> str:
    """A cold tap."""
    return f'[[fixture]]\nname = "{name}"\nkind = "cold tap"\n'


def tee(name: str) -> str:
    return f'[[tee]]\nname = "{name}"\n'


def run(
    start: str, end: str, fittings: str = "", length: str = "3 ft", tube: str = "PEX 1/2 in"
) -> str:
    """A run; ``fittings`` are what its table of them holds."""
    said = f"fittings = {{ {fittings} }}\n" if fittings else ""
    return f'[[run]]\nfrom = "{start}"\nto = "{end}"\ntube = "{tube}"\nlength = "{length}"\n{said}'
