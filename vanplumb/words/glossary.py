"""The words of the trade that the sums are written in: letter, unit, bounds, meaning.

A name such as ``diameter_hole`` is the word ``diameter`` with the subscript "hole".
To add a word, add a line to ``_LIST``; names in formulas must be made of these.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from functools import lru_cache

from .unit_table import NONE, UNITS, Dimension
from .unit_text import unit_of

INF = math.inf

GRAVITY = 9.80665
"""Standard acceleration of gravity, m/s² (CGPM 1901, exact)."""
PRESSURE_STANDARD = 101325.0
"""Standard atmosphere, Pa (CGPM 1954, exact)."""
ICE_POINT = 273.15
"""0 °C in kelvin (exact)."""
STEFAN_BOLTZMANN = 5.670374419e-8
"""W/(m² K⁴) (SI 2019, exact to the digits given)."""
GAS_CONSTANT_AIR = 287.05287
"""Specific gas constant of dry air, J/(kg K) (ISO 2533)."""
BAR = 1e5
"""1 bar in Pa: the pressure at which Kv is defined (IEC 60534)."""
PRESSURE_PSI = 6894.757293168361
"""1 psi in Pa: the pressure at which Cv is defined."""
FLOW_GPM = 6.30901964e-5
"""1 US gallon a minute in m³/s: the unit of Cv."""
GAS_CONSTANT_WATER = 461.51805
"""Specific gas constant of water, J/(kg K) (IAPWS SR6-08)."""
TEMPERATURE_CRITICAL = 647.096
"""Critical temperature of water, K (IAPWS)."""
PRESSURE_CRITICAL = 22.064e6
"""Critical pressure of water, Pa (IAPWS)."""
TEMPERATURE_STANDARD = 288.15
"""Standard air at sea level, K (ISO 2533)."""
LAPSE_RATE = 0.0065
"""How fast the standard atmosphere cools with height, K/m (ISO 2533)."""
REYNOLDS_LAMINAR = 2000.0
"""Below it flow in a tube is taken as laminar."""
REYNOLDS_TURBULENT = 4000.0
"""Above it flow in a tube is taken as turbulent."""
DENSITY_REFERENCE = 1000.0
"""Density at which Kv is defined, kg/m³ (IEC 60534)."""

RESISTIVITY_COPPER = 1.787e-8
"""Of stranded copper wire in use, V m/A: 10.75 ohm circular mils a foot (ABYC E-11, from memory).

Annealed copper at 20 °C has 1.724e-8 (IEC 60028, from memory)."""

INCH = 0.0254
"""1 inch in m (exact): thread standards are written in inches."""

BURN_RATE = 3.1e98
"""Rate constant of skin damage, 1/s (Henriques 1947, from memory)."""

BURN_TEMPERATURE = 75000.0
"""Activation temperature of skin damage, K (Henriques 1947, from memory)."""


@dataclass(frozen=True)
class Word:
    """One glossary word, with the subscript that a name adds to it."""

    name: str
    symbol: str
    unit: str
    kind: str
    meaning: str
    low: float = -INF
    high: float = INF
    above: bool = False
    subscript: str = ""
    dimension: Dimension = field(default=NONE)

    @property
    def is_rise(self) -> bool:
        return self.kind == "rise"

    @property
    def article(self) -> str:
        """Such as "a volume"."""
        return ("an " if self.meaning[0] in "aeiou" else "a ") + self.meaning

    @property
    def label(self) -> str:
        """The word in plain letters: "diameter of hole" is told "diameter, hole"."""
        extra = self.subscript.replace("_", " ")
        return f"{self.meaning}, {extra}" if extra else self.meaning


def _w(
    name: str,
    symbol: str,
    unit: str,
    meaning: str = "",
    low: float = -INF,
    high: float = INF,
    kind: str = "",
    above: bool = False,
) -> Word:
    return Word(
        name, symbol, unit, kind or name, meaning or name.replace("_", " "), low, high, above
    )


_LIST: tuple[Word, ...] = (
    # geometry
    _w("length", "L", "m", low=0, above=True),
    _w("height", "z", "m", "height"),
    _w("distance", "s", "m", "distance", kind="height"),
    _w("depth", "h", "m", low=0, kind="length"),
    _w("width", "b", "m", low=0, above=True, kind="length"),
    _w("radius", "r", "m", low=0, kind="length"),
    _w("thickness", "e", "m", low=0, kind="diameter"),
    _w("diameter", "D", "m", low=0, above=True),
    _w("roughness", "ε", "m", low=0, kind="roughness"),
    _w("pitch", "P_t", "m", "pitch of a thread", 0, kind="diameter", above=True),
    _w("roughness_relative", "ε_D", "", "relative roughness", 0, 0.2, "number"),
    _w("area", "A", "m^2", "area", 0),
    _w("area_per_length", "a", "m", "surface per length", 0, kind="length"),
    _w("volume", "V", "m^3", "volume", 0),
    _w("volume_small", "V", "m^3", "small volume", 0),
    _w("volume_per_length", "v_L", "m^2", "content per length", 0, kind="volume_per_length"),
    _w("angle", "θ", "", "angle", kind="angle"),
    _w("share", "x", "", "share", 0, 1),
    _w("count", "n", "", "number", 0, kind="count"),
    _w("confidence", "γ", "", "confidence", 0, 1, "share"),
    _w("chance", "P", "", "chance", 0, 1, "share"),
    _w("number", "N", "", "plain number", kind="number"),
    # mass, force, pressure
    _w("mass", "m", "kg", "mass", 0),
    _w("axle_load", "m_A", "kg", "load on an axle", kind="mass"),
    _w("mass_per_length", "m_L", "kg/m", "mass per length", 0),
    _w("force", "F", "N"),
    _w("density", "ρ", "kg/m^3", low=0, above=True),
    _w("pressure", "p", "Pa", "pressure"),
    _w("pressure_absolute", "p_abs", "Pa", "absolute pressure", 0, kind="pressure"),
    _w("pressure_loss", "Δp", "Pa", "pressure loss", kind="pressure_loss"),
    _w("head", "H", "m", "head", kind="height"),
    _w("acceleration", "a", "m/s^2", "acceleration"),
    _w("stress", "σ", "Pa", "stress", 0, kind="stress"),
    _w("modulus", "E", "Pa", "elastic modulus", 0, kind="stress", above=True),
    _w("compressibility", "β_p", "1/Pa", "compressibility", 0, kind="number"),
    _w("creep", "a_c", "Pa", "pressure lost as time grows tenfold", kind="pressure_loss"),
    _w("compliance", "C_p", "m^3/Pa", "volume taken up per pressure", 0, kind="compliance"),
    # flow
    _w("flow", "Q", "m^3/s", "flow"),
    _w("leak", "Q_L", "m^3/s", "leak", 0, kind="leak"),
    _w("mass_flow", "ṁ", "kg/s", "mass flow"),
    _w("velocity", "v", "m/s", "speed"),
    _w("viscosity", "μ", "Pa s", "dynamic viscosity", 0, above=True),
    _w("viscosity_kinematic", "ν", "m^2/s", "kinematic viscosity", 0, above=True),
    _w("reynolds", "Re", "", "Reynolds number", 0, kind="reynolds"),
    _w("friction_factor", "f", "", "friction factor", 0, kind="number"),
    _w("loss_coefficient", "K", "", "loss coefficient", kind="number"),
    _w("coefficient", "C", "", "coefficient", kind="number"),
    _w("flow_coefficient", "Kv", "m^3/s", "flow coefficient Kv (flow at 1 bar)", 0),
    _w("flow_coefficient_us", "Cv", "", "flow coefficient Cv (gpm at 1 psi)", 0, kind="number"),
    _w("residual", "R", "", "residual", kind="residual"),
    # time
    _w("duration", "t", "s", "time", 0),
    _w("frequency", "n", "1/s", "rate per time", 0),
    # heat
    _w("temperature", "T", "K", "temperature", 200.0, 1300.0),
    _w("rise", "ΔT", "K", "difference of temperatures"),
    _w("specific_heat", "c", "J/(kg K)", "specific heat", 0, above=True),
    _w("conductivity", "k", "W/(m K)", "thermal conductivity", 0, above=True),
    _w("conductance", "UA", "W/K", "heat loss per kelvin", 0),
    _w("conductance_per_length", "U_L", "W/(m K)", "heat loss per kelvin and length", 0),
    _w("film_coefficient", "α", "W/(m^2 K)", "heat transfer coefficient", 0),
    _w("resistance_per_length", "R_L", "m K/W", "thermal resistance per length", 0),
    _w("emissivity", "ε_r", "", "emissivity", 0, 1, "number"),
    _w("expansion_coefficient", "β", "1/K", "expansion per kelvin", kind="per_kelvin"),
    _w("latent_heat", "h_f", "J/kg", "latent heat", 0, kind="specific_energy"),
    _w("enthalpy", "h", "J/kg", "enthalpy", kind="specific_energy"),
    _w("heating_value", "H_u", "J/kg", "lower heating value", 0, kind="specific_energy"),
    _w("heat", "Q_h", "J", "heat"),
    _w("energy", "E", "J", "energy"),
    _w("work", "E", "J", "work"),
    _w("power", "P", "W", "power", 0),
    _w("power_per_length", "q_L", "W/m", "heat loss per length"),
    _w("efficiency", "η", "", "efficiency", 0, 1, "share", above=True),
    # electricity
    _w("voltage", "U", "V", "voltage", 0),
    _w("current", "I", "A", "current", 0),
    _w("charge", "C_b", "A s", "charge", 0),
    # health
    _w("concentration", "c", "kg/m^3", "concentration", 0),
    _w("exposure", "CT", "kg s/m^3", "concentration times time", 0, kind="exposure"),
    # money
    _w("price", "€", "", "price", 0, kind="price"),
)


def _dimension(unit: str) -> Dimension:
    if not unit:
        return NONE
    return UNITS[unit].dimension if unit in UNITS else unit_of(unit).dimension


WORDS: dict[str, Word] = {w.name: w for w in _LIST}

CONSTANTS: dict[str, tuple[str, str, float]] = {
    "GRAVITY": ("g", "m/s^2", GRAVITY),
    "PRESSURE_STANDARD": ("p_0", "Pa", PRESSURE_STANDARD),
    "ICE_POINT": ("T_0", "K", ICE_POINT),
    "STEFAN_BOLTZMANN": ("σ_r", "W/(m^2 K^4)", STEFAN_BOLTZMANN),
    "GAS_CONSTANT_AIR": ("R_a", "J/(kg K)", GAS_CONSTANT_AIR),
    "BAR": ("p_K", "Pa", BAR),
    "INCH": ("in", "m", INCH),
    "RESISTIVITY_COPPER": ("ρ_Cu", "V m/A", RESISTIVITY_COPPER),
    "BURN_RATE": ("P_b", "1/s", BURN_RATE),
    "BURN_TEMPERATURE": ("T_b", "K", BURN_TEMPERATURE),
    "PRESSURE_PSI": ("p_psi", "Pa", PRESSURE_PSI),
    "FLOW_GPM": ("Q_gpm", "m^3/s", FLOW_GPM),
    "GAS_CONSTANT_WATER": ("R_w", "J/(kg K)", GAS_CONSTANT_WATER),
    "TEMPERATURE_CRITICAL": ("T_c", "K", TEMPERATURE_CRITICAL),
    "PRESSURE_CRITICAL": ("p_c", "Pa", PRESSURE_CRITICAL),
    "TEMPERATURE_STANDARD": ("T_s", "K", TEMPERATURE_STANDARD),
    "LAPSE_RATE": ("L_a", "K/m", LAPSE_RATE),
    "REYNOLDS_LAMINAR": ("Re_lam", "", REYNOLDS_LAMINAR),
    "REYNOLDS_TURBULENT": ("Re_turb", "", REYNOLDS_TURBULENT),
    "DENSITY_REFERENCE": ("ρ_0", "kg/m^3", DENSITY_REFERENCE),
}
"""Named constants of the formulas: symbol, unit, value."""


@lru_cache(maxsize=1024)
def word(name: str) -> Word:
    """The word that a name is made of: the longest glossary word that begins it.

    KeyError if no glossary word begins the name.
    """
    parts = name.split("_")
    for cut in range(len(parts), 0, -1):
        stem = "_".join(parts[:cut])
        if stem in WORDS:
            found = WORDS[stem]
            rest = "_".join(parts[cut:])
            return replace(found, name=name, subscript=rest, dimension=_dimension(found.unit))
    raise KeyError(f"{name!r} is not made of glossary words")
