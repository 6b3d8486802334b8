"""Water heated in a system with no way out: what must stretch, and how pressure climbs.

Heaters: heat, time, fuel and battery; and the room that warming water needs.
"""

from numpy import maximum

from ..words.formula import formula
from ..words.sources import ASHRAE, ASPE, BOYLE, NFPA54, PHYSICS


@formula("heat", source=PHYSICS.at("calorimetry"))
def heat_to_warm(density, volume, specific_heat, rise):
    """Heat that the water takes up; the heater must give this and its losses.

    Density is that of the water filled in, specific heat that halfway up the rise.
    """
    return density * volume * specific_heat * rise


@formula("duration", source=PHYSICS.at("conservation of energy"))
def heating_time(heat, power, efficiency):
    """Time to give that heat; power is what is burned or drawn, efficiency what the water gets."""
    return heat / (power * efficiency)


@formula("power", source=NFPA54.at("4 % for each 1000 ft, above 2000 ft"), empirical=True)
def burner_in_thin_air(power, height):
    """Input that a burner may have high up: 4 % less for each 1000 ft (304.8 m) above sea level.

    It counts from 2000 ft up; below, the plate's figure holds.  Natural draught; with a fan less
    is lost, and the heater's manual rules.
    """
    return power * (1 - 0.04 * height / 304.8)


@formula("flow", source=ASHRAE.at("service water heating, recovery rate"))
def recovery(power, efficiency, density, specific_heat, rise):
    """Hot water made as fast as the heater can: gallons an hour at a rise.

    The trade writes 8.33 Btu/(gal °F) for density times specific heat.
    """
    return power * efficiency / (density * specific_heat * rise)


@formula("rise", source=PHYSICS.at("conservation of energy"))
def flow_through_rise(power, efficiency, density, specific_heat, flow):
    """How much warmer a flow-through heater makes a flow."""
    return power * efficiency / (density * specific_heat * flow)


@formula("power", source=PHYSICS.at("conservation of energy"))
def flow_through_power(flow, density, specific_heat, rise, efficiency):
    """Power that a flow-through heater must burn or draw for a flow and a rise."""
    return flow * density * specific_heat * rise / efficiency


@formula("volume_usable", source=ASHRAE.at("service water heating, usable storage"))
def usable_hot(volume, share_usable):
    """Hot water that a store gives before cold mixes in; usually about 70 % of it."""
    return share_usable * volume


@formula("volume_hot", source=ASPE.at("hot water available in a peak"))
def hot_in_a_peak(volume, share_usable, flow_recovery, duration):
    """Hot water that a store gives in a stretch of time, with what it makes meanwhile."""
    return share_usable * volume + flow_recovery * duration


@formula("mass", source=PHYSICS.at("definition of heating value"))
def fuel_mass(heat, heating_value, efficiency):
    """Fuel burned for that heat in the water."""
    return heat / (heating_value * efficiency)


@formula("volume", source=PHYSICS.at("definition of density"))
def fuel_volume(mass, density_fuel):
    """Room that the fuel takes as a liquid."""
    return mass / density_fuel


@formula("charge", source=PHYSICS.at("electric energy"))
def battery_charge(energy, voltage, efficiency):
    """Charge taken from the battery; efficiency is that of an inverter and its leads, if any."""
    return energy / (voltage * efficiency)


@formula("energy", source=PHYSICS.at("electric energy"))
def electric_energy(power, duration):
    """Energy drawn in a time."""
    return power * duration


@formula("current", source=PHYSICS.at("electric energy"))
def current_drawn(power, voltage, efficiency):
    """Current for a power at the far side of an inverter or motor of that efficiency."""
    return power / (voltage * efficiency)


@formula("efficiency", source=PHYSICS.at("definition of efficiency"))
def pump_efficiency(power_water, voltage, current):
    """What a pump gives to the water, as a share of what it draws."""
    return power_water / (voltage * current)


@formula("rise", source=PHYSICS.at("conservation of energy"))
def standing_fall(power_lost, duration, density, volume, specific_heat):
    """How much a store cools in a short time; for long times its loss falls as it cools."""
    return power_lost * duration / (density * volume * specific_heat)


@formula("volume_growth", source=PHYSICS.at("conservation of mass"))
def expansion_volume(volume, density_cold, density_hot):
    """Water that a full heater pushes out when it warms.  With no way out it opens the relief."""
    return volume * (density_cold / density_hot - 1)


@formula("volume", source=ASPE.at("expansion tank, Boyle's law"))
def expansion_vessel(
    volume_growth,
    pressure_precharge,
    pressure_highest,
    pressure_absolute_air,
    number_polytropic,
):
    """Least vessel with an air cushion that takes up a growth below the highest pressure.

    Its cushion is filled to the pressure that the cold water has.  The polytropic number is 1
    for air that keeps its temperature, 1.4 for air that keeps its heat.
    """
    number = (pressure_precharge + pressure_absolute_air) / (
        pressure_highest + pressure_absolute_air
    )
    return volume_growth / (1 - number ** (1 / number_polytropic))


@formula("volume_water", source=BOYLE)
def cushioned_water(volume, pressure_precharge, pressure, pressure_absolute_air, number_polytropic):
    """Water in a vessel with an air cushion, at a pressure not below its precharge.

    The polytropic number is 1 for air that keeps its temperature (Boyle), 1.4 for air that
    keeps its heat.
    """
    number = (pressure_precharge + pressure_absolute_air) / (pressure + pressure_absolute_air)
    return volume * (1 - number ** (1 / number_polytropic))


@formula("volume_given", source=BOYLE)
def drawdown(volume, pressure_precharge, pressure_in, pressure_out, pressure_absolute_air):
    """Water that an accumulator gives from the pump's cut-out pressure to its cut-in.

    Below its precharge the vessel is empty.  The air keeps its temperature; a fast draw gives a
    little less.
    """
    pressure_last = maximum(pressure_in, pressure_precharge)
    number_in = (pressure_precharge + pressure_absolute_air) / (
        pressure_last + pressure_absolute_air
    )
    number_out = (pressure_precharge + pressure_absolute_air) / (
        pressure_out + pressure_absolute_air
    )
    return volume * (number_in - number_out)


@formula("pressure", source=PHYSICS.at("definition of the bulk modulus"))
def trapped_rise(modulus_water, share_growth):
    """Rise of pressure in trapped water that warms in a vessel that can't give: hundreds of bar.

    It is why a closed heater needs a relief valve and room to grow.
    """
    return modulus_water * share_growth


@formula("residual", source=PHYSICS.at("conservation of mass"))
def closed_heating_residual(
    pressure,
    pressure_start,
    volume_growth,
    compliance,
    volume_cushion,
):
    """What must be zero for the pressure after water has grown in a closed system.

    Growth goes into the give of tubes and water, and into vessels with an air cushion.
    """
    volume_give = compliance * (pressure - pressure_start)
    return (volume_give + volume_cushion - volume_growth) / volume_growth


@formula("volume", source=PHYSICS.at("conservation of mass"))
def relief_discharge(volume_growth, volume_taken):
    """Water that drips from the relief valve while the heater warms up."""
    return volume_growth - volume_taken
