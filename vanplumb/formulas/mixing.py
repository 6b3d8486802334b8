"""How fast hot water harms skin.

Hot and cold into one: temperatures, shares, how far a store goes, how a set valve drifts.
"""

from numpy import exp, sqrt

from ..words.formula import formula
from ..words.glossary import BAR, BURN_RATE, BURN_TEMPERATURE, DENSITY_REFERENCE
from ..words.sources import CPSC, HENRIQUES, IEC60534, OWN, PHYSICS

BALANCE = PHYSICS.at("energy balance of two streams")


@formula("temperature", source=BALANCE)
def mixed_temperature(mass_flow_hot, mass_flow_cold, temperature_hot, temperature_cold):
    """Temperature of two streams that join, when no heat is lost."""
    mass_flow = mass_flow_hot + mass_flow_cold
    return (mass_flow_hot * temperature_hot + mass_flow_cold * temperature_cold) / mass_flow


@formula("temperature", source=BALANCE)
def temperature_from_share(share_hot, temperature_hot, temperature_cold):
    """Temperature of a mix of which a share, by mass, is hot water."""
    return temperature_cold + share_hot * (temperature_hot - temperature_cold)


@formula("share", source=BALANCE)
def hot_share(temperature_mixed, temperature_hot, temperature_cold):
    """Part of the mixed water, by mass, that must be hot.

    Above 1 the target is out of reach: the hot water is too cool for it.
    """
    return (temperature_mixed - temperature_cold) / (temperature_hot - temperature_cold)


@formula("share", source=BALANCE)
def hot_share_by_enthalpy(
    temperature_mixed,
    temperature_hot,
    temperature_cold,
    specific_heat_hot,
    specific_heat_cold,
):
    """Part of the mixed water, by mass, that must be hot, when the specific heats differ.

    Each is the mean between that supply's temperature and the mixed water's.
    """
    enthalpy_given = specific_heat_hot * (temperature_hot - temperature_mixed)
    enthalpy_taken = specific_heat_cold * (temperature_mixed - temperature_cold)
    return enthalpy_taken / (enthalpy_taken + enthalpy_given)


@formula("volume", source=BALANCE)
def mixed_yield(volume_hot, temperature_hot, temperature_cold, temperature_mixed):
    """Mixed water that an amount of hot water makes."""
    return (
        volume_hot * (temperature_hot - temperature_cold) / (temperature_mixed - temperature_cold)
    )


@formula("volume", source=BALANCE)
def hot_needed(volume_mixed, temperature_hot, temperature_cold, temperature_mixed):
    """Hot water that goes into an amount of mixed water."""
    return (
        volume_mixed * (temperature_mixed - temperature_cold) / (temperature_hot - temperature_cold)
    )


@formula("mass_flow", source=IEC60534.at("definition of Kv, by mass"))
def valve_mass_flow(flow_coefficient, density, pressure_loss):
    """Mass that an opening passes at a pressure across it."""
    return flow_coefficient * sqrt(density * DENSITY_REFERENCE * pressure_loss / BAR)


@formula("share", source=OWN.at("two openings into one outlet"))
def share_after_drift(share_hot, number_hot, number_cold):
    """Hot share of a set valve after the drops across its openings have changed.

    Each number is density times pressure drop now, over what it was when the valve was set.
    """
    number_hot_now = share_hot * sqrt(number_hot)
    number_cold_now = (1 - share_hot) * sqrt(number_cold)
    return number_hot_now / (number_hot_now + number_cold_now)


@formula("flow_coefficient_mass", source=IEC60534.at("definition of Kv, by mass"))
def kv_by_mass(flow_coefficient, density):
    """Kv as if the reference water flowed, so that masses of hot and cold add up."""
    return flow_coefficient * sqrt(density / DENSITY_REFERENCE)


@formula("flow_coefficient_opening", source=OWN.at("two openings side by side at one pressure"))
def kv_of_opening(flow_coefficient, share):
    """Kv of the hot or the cold opening of a valve that passes that share through it.

    Both openings together make up the valve's own Kv when both supplies push alike.
    """
    return flow_coefficient * share


@formula("share", source=OWN.at("two openings side by side at one pressure"))
def opening_for_share(share_hot, density_hot, density_cold):
    """Hot part of the openings that passes a hot share of the mass, both supplies pushing alike.

    Hot water is lighter, so its opening is a little larger than its share.
    """
    number_lighter = sqrt(density_cold / density_hot)
    return share_hot * number_lighter / (share_hot * number_lighter + 1 - share_hot)


@formula("pressure", source=OWN.at("two openings into one outlet"))
def joined_pressure(
    flow_coefficient_hot,
    flow_coefficient_cold,
    flow_coefficient_outlet,
    pressure_hot,
    pressure_cold,
):
    """Pressure where hot and cold join, before an open outlet; all three Kv are by mass.

    From Kv_h √(p_h - p) + Kv_c √(p_c - p) = Kv_o √p, squared twice.  It holds while p is below
    both supplies; a higher p means that the stronger pushes into the weaker (see check valves).
    """
    number_hot = (flow_coefficient_hot / flow_coefficient_outlet) ** 2
    number_cold = (flow_coefficient_cold / flow_coefficient_outlet) ** 2
    number_all = 1 + number_hot + number_cold
    number_lead = number_all**2 - 4 * number_hot * number_cold
    pressure_push = number_hot * pressure_hot + number_cold * pressure_cold
    number_both = 4 * number_hot * number_cold
    pressure_half = number_all * pressure_push - number_both * (pressure_hot + pressure_cold) / 2
    number_gap = (pressure_push**2 - number_both * pressure_hot * pressure_cold) / pressure_half**2
    return pressure_half * (1 + sqrt(1 - number_lead * number_gap)) / number_lead


@formula("rise", source=OWN.at("the three drifts of a set valve"))
def small_drift(
    share_hot, rise_supplies, rise_hot, rise_cold, number_hot_change, number_cold_change
):
    """How much the outlet warms for small changes of both supplies.

    ``rise_supplies`` is how much hotter hot is than cold; ``rise_hot`` and ``rise_cold`` are
    what the supplies have warmed; the numbers are the changes of the pressure drops as parts
    of what they were.
    """
    rise_carried = share_hot * rise_hot + (1 - share_hot) * rise_cold
    number = (number_hot_change - number_cold_change) / 2
    return rise_carried + share_hot * (1 - share_hot) * rise_supplies * number


@formula("duration", source=CPSC.at("between two printed lines, straight in the logarithm"))
def burn_time(temperature, temperature_low, temperature_high, duration_at_low, duration_at_high):
    """Time until tap water burns an adult's skin to its full depth, between two printed times.

    Children burn in about a quarter of it.  Between the lines this is an estimate.
    """
    number = (temperature - temperature_low) / (temperature_high - temperature_low)
    return duration_at_low * (duration_at_high / duration_at_low) ** number


@formula("duration", source=HENRIQUES, valid={"temperature": (310.0, 340.0)})
def skin_damage_time(temperature):
    """Time until skin that is held at a temperature is burnt through.

    The deep skin's own temperature, not the water's: in water above about 55 °C the time is
    longer than this by the lag of the skin, so it is no guide to contact with hot water.
    """
    frequency_damage = BURN_RATE * exp(-BURN_TEMPERATURE / temperature)
    return 1 / frequency_damage
