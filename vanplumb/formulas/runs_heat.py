"""Heat that a run of hot water loses to its air, how it cools, and how its wall delays hot water.

A tube in still air loses heat through its wall and its foam, then from the outer skin by
natural convection and by radiation.  Air is taken at the film's temperature, the mean of
skin and air.
"""

from numpy import exp, log, pi

from ..words.formula import formula
from ..words.glossary import GRAVITY, STEFAN_BOLTZMANN
from ..words.sources import CHURCHILL_CHU, DEFINITION, FOURIER, OWN, PHYSICS, WHITE_VISCOUS

AIR = {"temperature": (230.0, 400.0)}


@formula("conductivity", source=WHITE_VISCOUS.at("table 1-3"), valid=AIR, empirical=True)
def air_conductivity(temperature):
    """How well still air conducts heat."""
    return 0.0241 * (temperature / 273) ** 1.5 * (273 + 194) / (temperature + 194)


@formula("viscosity", source=WHITE_VISCOUS.at("table 1-2"), valid=AIR, empirical=True)
def air_viscosity(temperature):
    """Stickiness of air."""
    return 1.716e-5 * (temperature / 273) ** 1.5 * (273 + 111) / (temperature + 111)


@formula("number", source=CHURCHILL_CHU.at("definition of the Rayleigh number"))
def rayleigh(rise, diameter, temperature_film, viscosity_kinematic, number_prandtl):
    """Buoyancy against friction in the air round a level tube; air swells by one part in T."""
    number_grashof = GRAVITY * rise * diameter**3 / (temperature_film * viscosity_kinematic**2)
    return number_grashof * number_prandtl


@formula(
    "film_coefficient", source=CHURCHILL_CHU.at("eq. 11"), valid={"number_rayleigh": (1e-5, 1e12)}
)
def still_air_film(number_rayleigh, number_prandtl, conductivity, diameter):
    """Heat that still air carries off a level tube, for each area and kelvin."""
    number_air = (1 + (0.559 / number_prandtl) ** (9 / 16)) ** (8 / 27)
    number_nusselt = (0.60 + 0.387 * number_rayleigh ** (1 / 6) / number_air) ** 2
    return number_nusselt * conductivity / diameter


@formula("film_coefficient", source=PHYSICS.at("Stefan-Boltzmann law"))
def radiation_film(emissivity, temperature_skin, temperature_air):
    """Heat that a skin radiates to surroundings as warm as the air, for each area and kelvin."""
    return (
        emissivity
        * STEFAN_BOLTZMANN
        * (temperature_skin**2 + temperature_air**2)
        * (temperature_skin + temperature_air)
    )


@formula("resistance_per_length", source=FOURIER.at("hollow cylinder"))
def shell_resistance(diameter_outside, diameter_inside, conductivity):
    """What a tube's wall or its foam puts in the way of heat, for its length."""
    return log(diameter_outside / diameter_inside) / (2 * pi * conductivity)


@formula("resistance_per_length", source=PHYSICS.at("Newton's law of cooling"))
def skin_resistance(film_coefficient, diameter):
    """What the air puts in the way of heat at the skin, for a metre of tube."""
    return 1 / (film_coefficient * pi * diameter)


@formula("power_per_length", source=FOURIER.at("resistances in series"))
def loss_per_length(temperature, temperature_air, resistance_per_length):
    """Heat that a metre of run loses; the resistance is that of wall, foam and skin together."""
    return (temperature - temperature_air) / resistance_per_length


@formula("number", source=PHYSICS.at("calorimetry"))
def wall_heat_ratio(
    density_wall, specific_heat_wall, diameter_outside, diameter_inside, density, specific_heat
):
    """Heat that warms the wall over heat that warms the water in it."""
    number_room = (diameter_outside**2 - diameter_inside**2) / diameter_inside**2
    return number_room * density_wall * specific_heat_wall / (density * specific_heat)


@formula("duration", source=OWN.at("plug flow with a wall as warm as its water"))
def hot_wait(volume, number_wall, flow):
    """Time until hot water comes out of a cold run.

    The front gives heat to the wall, so it runs late by the wall's share of the heat.
    """
    return volume * (1 + number_wall) / flow


@formula("flow", source=DEFINITION.at("share of a flow"))
def hot_flow(share_hot, flow):
    """Flow through the hot runs of a valve that was set once, as part of what comes out."""
    return share_hot * flow


@formula("volume", source=DEFINITION.at("what runs in a time"))
def run_off(flow, duration):
    """Water that runs off while hot water is waited for."""
    return flow * duration


@formula("duration", source=PHYSICS.at("calorimetry of a stirred vessel"))
def slow_start(volume, flow, rise_first, rise_left):
    """Time for a flow-through heater's own water to come up, with the water running.

    The rises are from the water at the start, and from the water wanted, to what the heater
    would make in the end.
    """
    return volume / flow * log(rise_first / rise_left)


@formula("duration", source=PHYSICS.at("Newton's law of cooling, lumped"))
def cooling_constant(volume_per_length, density, specific_heat, number_wall, resistance_per_length):
    """Time in which the warmth of a still run, over its air, falls to 37 %."""
    number = 1 + number_wall
    return density * specific_heat * volume_per_length * number * resistance_per_length


@formula("temperature", source=PHYSICS.at("Newton's law of cooling, lumped"))
def cooled(temperature_start, temperature_air, duration, duration_constant):
    """Temperature of a still run, or of a still store, after some time."""
    number = exp(-duration / duration_constant)
    return temperature_air + (temperature_start - temperature_air) * number


@formula("duration", source=PHYSICS.at("Newton's law of cooling, lumped"))
def time_to_cool(rise_start, rise_end, duration_constant):
    """Time until the warmth over the air has fallen from its first value to its last."""
    return duration_constant * log(rise_start / rise_end)
