"""What a crew needs of water, current and fuel, and how long what it carries will last."""

from ..words.formula import formula
from ..words.sources import DEFINITION, PHYSICS


@formula("volume", source=DEFINITION.at("a day's water"))
def drinking_water(count_people, volume_person):
    """Water that the crew drinks and cooks with in a day."""
    return count_people * volume_person


@formula("volume", source=DEFINITION.at("a day's water"))
def water_of_a_use(count_times, flow, duration):
    """Water that one habit draws in a day: so often, at such a flow, for so long."""
    return count_times * flow * duration


@formula("volume", source=DEFINITION.at("a stay's water"))
def water_for_stay(volume_day, count_nights, share_reserve):
    """Water to leave with, so that a share of the need is still there at the end."""
    return volume_day * count_nights * (1 + share_reserve)


@formula("count", source=DEFINITION.at("a stay's water"))
def nights_of_water(volume_usable, volume_day, share_reserve):
    """Nights until only the reserve is left."""
    return volume_usable / (volume_day * (1 + share_reserve))


@formula("energy", source=PHYSICS.at("electric energy"))
def pump_energy(volume, flow, voltage, current):
    """What a pump draws to move an amount of water at its flow."""
    duration = volume / flow
    return voltage * current * duration


@formula("energy", source=PHYSICS.at("conservation of energy"))
def inverter_energy(heat, efficiency):
    """What an element draws from the battery to give a heat, by way of an inverter or by none."""
    return heat / efficiency


@formula("count", source=DEFINITION.at("a battery's days"))
def days_of_charge(energy_usable, energy_day, energy_charged):
    """Days until a full battery is down to what it keeps, when it is charged a little each day."""
    return energy_usable / (energy_day - energy_charged)


@formula("count", source=DEFINITION.at("a bottle's days"))
def days_of_fuel(mass_carried, mass_day):
    """Days that the fuel lasts."""
    return mass_carried / mass_day


@formula("energy", source=PHYSICS.at("electric energy"))
def battery_energy(charge, voltage, share_usable):
    """Energy that may be taken from a full battery before it is worn out of turn."""
    return charge * voltage * share_usable


@formula("energy", source=PHYSICS.at("electric energy"))
def charging_energy(current, voltage, duration):
    """Energy that a charger gives in a stretch of time."""
    return current * voltage * duration


@formula("heat", source=PHYSICS.at("conservation of energy"))
def heat_of_a_day(heat_water, power_standing, duration):
    """Heat that a heater must give: what the drawn water takes, and what its store loses."""
    return heat_water + power_standing * duration


@formula("share", source=DEFINITION.at("share of payload"))
def payload_share(mass, mass_payload):
    """Part of what the van may still carry that the water system takes."""
    return mass / mass_payload
