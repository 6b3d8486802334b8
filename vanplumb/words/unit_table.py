"""The units that a build file, a worksheet or a table may use, each with its factor to SI.

One list serves the strict parser, the display and the pint registry; a test compares every
factor with pint's own.  Factors are exact by definition (NIST SP 811, appendix B.8) unless
they derive from the 15 °C or thermochemical calorie families, which are not used here:
the Btu is the International Table Btu.
"""

from __future__ import annotations

from dataclasses import dataclass

Dimension = tuple[int, int, int, int, int]
"""Exponents of metre, kilogram, second, kelvin, ampere."""

NONE: Dimension = (0, 0, 0, 0, 0)
LENGTH: Dimension = (1, 0, 0, 0, 0)
AREA: Dimension = (2, 0, 0, 0, 0)
VOLUME: Dimension = (3, 0, 0, 0, 0)
MASS: Dimension = (0, 1, 0, 0, 0)
TIME: Dimension = (0, 0, 1, 0, 0)
TEMPERATURE: Dimension = (0, 0, 0, 1, 0)
CURRENT: Dimension = (0, 0, 0, 0, 1)
FLOW: Dimension = (3, 0, -1, 0, 0)
PRESSURE: Dimension = (-1, 1, -2, 0, 0)
FORCE: Dimension = (1, 1, -2, 0, 0)
ENERGY: Dimension = (2, 1, -2, 0, 0)
POWER: Dimension = (2, 1, -3, 0, 0)
VOLTAGE: Dimension = (2, 1, -3, 0, -1)
CHARGE: Dimension = (0, 0, 1, 0, 1)
FREQUENCY: Dimension = (0, 0, -1, 0, 0)

NAMES: dict[Dimension, str] = {
    NONE: "a plain number",
    LENGTH: "a length",
    AREA: "an area",
    VOLUME: "a volume",
    MASS: "a mass",
    TIME: "a time",
    TEMPERATURE: "a temperature",
    CURRENT: "a current",
    FLOW: "a flow",
    PRESSURE: "a pressure",
    FORCE: "a force",
    ENERGY: "an energy",
    POWER: "a power",
    VOLTAGE: "a voltage",
    CHARGE: "a charge",
    FREQUENCY: "a rate per time",
    (1, 0, -1, 0, 0): "a speed",
    (-3, 1, 0, 0, 0): "a density",
    (1, 1, -3, -1, 0): "a conductivity",
    (2, 0, -2, -1, 0): "a specific heat",
    (0, 1, -1, 0, 0): "a mass flow",
    (-1, 1, -1, 0, 0): "a viscosity",
    (0, 0, 0, -1, 0): "an expansion per kelvin",
}


@dataclass(frozen=True)
class Unit:
    """One unit: SI value = number * factor + offset.  ``rise`` marks a temperature difference."""

    name: str
    dimension: Dimension
    factor: float
    offset: float = 0.0
    rise: bool = False
    pint: str = ""


INCH = 0.0254
FOOT = 0.3048
GALLON = 231 * INCH**3
POUND = 0.45359237
G = 9.80665
PSI = POUND * G / INCH**2
BTU = 1055.05585262
LITRE = 1e-3
DAY = 86400.0

_LIST: tuple[tuple[Unit, str], ...] = (
    (Unit("m", LENGTH, 1.0), "m metre metres meter meters"),
    (Unit("cm", LENGTH, 0.01), "cm"),
    (Unit("mm", LENGTH, 0.001), "mm"),
    (Unit("km", LENGTH, 1000.0), "km"),
    (Unit("in", LENGTH, INCH, pint="inch"), 'in inch inches " ″'),
    (Unit("ft", LENGTH, FOOT, pint="foot"), "ft foot feet ' ′"),
    (Unit("m²", AREA, 1.0, pint="m**2"), "sqm"),
    (Unit("L", VOLUME, LITRE, pint="liter"), "L l litre litres liter liters"),
    (Unit("mL", VOLUME, 1e-6, pint="milliliter"), "mL ml cc"),
    (Unit("gal", VOLUME, GALLON, pint="gallon"), "gal gallon gallons USgal"),
    (Unit("qt", VOLUME, GALLON / 4, pint="quart"), "qt quart quarts"),
    (Unit("pt", VOLUME, GALLON / 8, pint="pint"), "pt pint pints"),
    (Unit("fl oz", VOLUME, GALLON / 128, pint="fluid_ounce"), "floz fl_oz"),
    (Unit("cup", VOLUME, GALLON / 16, pint="cup"), "cup cups"),
    (Unit("kg", MASS, 1.0), "kg kilogram kilograms"),
    (Unit("g", MASS, 0.001, pint="gram"), "g gram grams"),
    (Unit("mg", MASS, 1e-6, pint="milligram"), "mg"),
    (Unit("lb", MASS, POUND, pint="pound"), "lb lbs pound pounds"),
    (Unit("oz", MASS, POUND / 16, pint="ounce"), "oz ounce ounces"),
    (Unit("s", TIME, 1.0), "s sec second seconds"),
    (Unit("min", TIME, 60.0, pint="minute"), "min minute minutes"),
    (Unit("h", TIME, 3600.0, pint="hour"), "h hr hour hours"),
    (Unit("d", TIME, 86400.0, pint="day"), "d day days"),
    (Unit("K", TEMPERATURE, 1.0, rise=True, pint="kelvin"), "K kelvin Δ°C delta_degC C° Δ°c"),
    (Unit("Δ°F", TEMPERATURE, 5 / 9, rise=True, pint="delta_degF"), "Δ°F delta_degF F° R"),
    (Unit("°C", TEMPERATURE, 1.0, 273.15, pint="degC"), "°C C degC celsius ºC ℃"),
    (
        Unit("°F", TEMPERATURE, 5 / 9, 459.67 * 5 / 9, pint="degF"),
        "°F F degF fahrenheit ºF ℉",
    ),
    (Unit("A", CURRENT, 1.0, pint="ampere"), "A amp amps ampere"),
    (Unit("mA", CURRENT, 1e-3, pint="milliampere"), "mA"),
    (Unit("V", VOLTAGE, 1.0, pint="volt"), "V volt volts"),
    (Unit("gpm", FLOW, GALLON / 60, pint="gallon/minute"), "gpm GPM"),
    (Unit("gph", FLOW, GALLON / 3600, pint="gallon/hour"), "gph"),
    (Unit("L/min", FLOW, LITRE / 60, pint="liter/minute"), "lpm Lpm LPM"),
    (Unit("Pa", PRESSURE, 1.0, pint="pascal"), "Pa"),
    (Unit("mPa", PRESSURE, 1e-3, pint="millipascal"), "mPa"),
    (Unit("kPa", PRESSURE, 1e3, pint="kilopascal"), "kPa kpa"),
    (Unit("MPa", PRESSURE, 1e6, pint="megapascal"), "MPa"),
    (Unit("bar", PRESSURE, 1e5, pint="bar"), "bar barg bars"),
    (Unit("mbar", PRESSURE, 1e2, pint="millibar"), "mbar"),
    (Unit("psi", PRESSURE, PSI, pint="psi"), "psi psig"),
    (Unit("mPa s", (-1, 1, -1, 0, 0), 1e-3, pint="millipascal*second"), ""),
    (Unit("N", FORCE, 1.0, pint="newton"), "N"),
    (Unit("lbf", FORCE, POUND * G, pint="pound_force"), "lbf"),
    (Unit("J", ENERGY, 1.0, pint="joule"), "J"),
    (Unit("kJ", ENERGY, 1e3, pint="kilojoule"), "kJ"),
    (Unit("MJ", ENERGY, 1e6, pint="megajoule"), "MJ"),
    (Unit("Wh", ENERGY, 3600.0, pint="watt_hour"), "Wh"),
    (Unit("kWh", ENERGY, 3.6e6, pint="kilowatt_hour"), "kWh"),
    (Unit("Btu", ENERGY, BTU, pint="Btu_it"), "Btu BTU"),
    (Unit("W", POWER, 1.0, pint="watt"), "W watt watts"),
    (Unit("kW", POWER, 1e3, pint="kilowatt"), "kW"),
    (Unit("Ah", CHARGE, 3600.0, pint="ampere_hour"), "Ah"),
    (Unit("Hz", FREQUENCY, 1.0, pint="1/second"), "Hz"),
    (Unit("1/min", FREQUENCY, 1 / 60, pint="1/minute"), "rpm"),
    (Unit("deg", NONE, 3.141592653589793 / 180, pint="degree"), "deg ° degrees"),
    (Unit("%", NONE, 0.01, pint="percent"), "% percent"),
    (Unit("1", NONE, 1.0, pint="dimensionless"), "1"),
)

UNITS: dict[str, Unit] = {alias: unit for unit, aliases in _LIST for alias in aliases.split()}
UNITS.update({unit.name: unit for unit, _ in _LIST})
