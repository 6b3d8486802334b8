"""Fresh water as a liquid, 0 to 100 °C, at the pressures of a van.

Pressure hardly matters: 5 bar make water 0.02 % denser.  Each correlation carries kelvins
and its own units in its constants, so each is marked empirical and is checked against
reference libraries over the whole range.
"""

from numpy import exp

from ..words.formula import formula
from ..words.glossary import (
    DENSITY_REFERENCE,
    GAS_CONSTANT_WATER,
    ICE_POINT,
    PRESSURE_CRITICAL,
    TEMPERATURE_CRITICAL,
)
from ..words.sources import (
    BILANIUK,
    IAPWS_SR1,
    IAPWS_SR6,
    KELL,
    KELL_SQUEEZE,
    NEWTON_LAPLACE,
    PHYSICS,
)

LIQUID = {"temperature": (273.15, 373.15)}
DENSITY_ROOM = 998.2
"""kg/m³ of water at 20 °C, as ``water_density`` gives it: for what stands about unheated."""


@formula("density", source=KELL.at("eq. 16"), valid=LIQUID, empirical=True)
def water_density(temperature):
    """Mass of a volume of water; greatest near 4 °C.  Within 0.02 kg/m³ of IAPWS-95."""
    rise = temperature - ICE_POINT
    number_slow = 999.83952 + 16.945176 * rise - 7.9870401e-3 * rise**2
    number_fast = 46.170461e-6 * rise**3 - 105.56302e-9 * rise**4 + 280.54253e-12 * rise**5
    return (number_slow - number_fast) / (1 + 16.879850e-3 * rise)


@formula("compressibility", source=KELL_SQUEEZE, valid=LIQUID, empirical=True)
def water_compressibility(temperature):
    """How much of itself water gives up per pressure, held at its temperature.

    Least near 46 °C.  Within 0.02 % of IAPWS-95.
    """
    rise = temperature - ICE_POINT
    number_low = 50.88496 + 0.6163813 * rise + 1.459187e-3 * rise**2
    number_high = 20.08438e-6 * rise**3 - 58.47727e-9 * rise**4 + 410.4110e-12 * rise**5
    return 1e-11 * (number_low + number_high) / (1 + 19.67348e-3 * rise)


@formula(
    "viscosity",
    source=IAPWS_SR6.at("eq. 7, viscosity"),
    valid=LIQUID,
    empirical=True,
)
def water_viscosity(temperature):
    """Stickiness of water: a quarter, hot from the heater, of what it is in winter."""
    number_cold = 280.68 * (temperature / 300) ** -1.9 + 511.45 * (temperature / 300) ** -7.7
    number_icy = 61.131 * (temperature / 300) ** -19.6 + 0.45903 * (temperature / 300) ** -40
    return 1e-6 * (number_cold + number_icy)


@formula(
    "conductivity",
    source=IAPWS_SR6.at("eq. 8, thermal conductivity"),
    valid=LIQUID,
    empirical=True,
)
def water_conductivity(temperature):
    """How well still water conducts heat."""
    number_first = 1.6630 * (temperature / 300) ** -1.15 - 1.7781 * (temperature / 300) ** -3.4
    number_next = 1.1567 * (temperature / 300) ** -6.0 - 0.432115 * (temperature / 300) ** -7.6
    return number_first + number_next


@formula(
    "specific_heat",
    source=IAPWS_SR6.at("isobaric heat capacity, from eq. 1 for the Gibbs energy"),
    valid=LIQUID,
    empirical=True,
)
def water_specific_heat(temperature):
    """Heat that warms a mass of water by one kelvin, at constant pressure.

    The factors 4·5, 5·6 and so on come from differentiating the powers of the Gibbs energy
    twice; the release gives the coefficients before them.
    """
    number_a = 10 / (593 - temperature)
    number_b = 10 / (temperature - 232)
    number_warm = -1.661470539e5 * 20 * number_a**6 + 2.708781640e6 * 30 * number_a**7
    number_hot = -1.557191544e8 * 56 * number_a**9
    number_cool = -8.237426256e-1 * 6 * number_b**4 + 1.908956353 * 12 * number_b**5
    number_cold = -2.017597384 * 20 * number_b**6 + 8.546361348e-1 * 30 * number_b**7
    number_sum = number_warm + number_hot + number_cool + number_cold
    return -GAS_CONSTANT_WATER * (-8.983025854 + temperature / 10 * number_sum)


@formula(
    "pressure_absolute",
    source=IAPWS_SR1.at("eq. 1, vapour pressure"),
    valid={"temperature": (273.15, 647.096)},
)
def vapour_pressure(temperature):
    """Pressure at which water boils; on the suction side the pump must stay above it."""
    number_t = 1 - temperature / TEMPERATURE_CRITICAL
    number_low = -7.85951783 * number_t + 1.84408259 * number_t**1.5 - 11.7866497 * number_t**3
    number_mid = 22.6807411 * number_t**3.5 - 15.9618719 * number_t**4
    number_sum = number_low + number_mid + 1.80122502 * number_t**7.5
    return PRESSURE_CRITICAL * exp(TEMPERATURE_CRITICAL / temperature * number_sum)


@formula("velocity", source=BILANIUK.at("148-point equation"), valid=LIQUID, empirical=True)
def sound_speed(temperature):
    """Speed of sound in water without walls: the fastest that a pressure wave could run."""
    rise = temperature - ICE_POINT
    number_low = 1402.38744 + 5.03836171 * rise - 5.81172916e-2 * rise**2
    number_high = 3.34638117e-4 * rise**3 - 1.48259672e-6 * rise**4 + 3.16585020e-9 * rise**5
    return number_low + number_high


@formula("modulus", source=NEWTON_LAPLACE)
def bulk_modulus(density, velocity_sound):
    """Stiffness of the water against being squeezed."""
    return density * velocity_sound**2


@formula("share", source=PHYSICS.at("conservation of mass"))
def freezing_swell(density_water, density_ice):
    """How much more room ice takes than the water it came from: why lines burst."""
    return density_water / density_ice - 1


@formula("number", source=PHYSICS.at("definition of specific gravity"))
def specific_gravity(density):
    """Density against that of the reference water of valve coefficients."""
    return density / DENSITY_REFERENCE
