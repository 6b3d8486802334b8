"""Water heated in a system with no way out: what must give way, and how pressure climbs."""

from vanplumb.words.formula import formula
from vanplumb.words.sources import BOYLE, PHYSICS


@formula("residual", source=BOYLE.at("and conservation of mass"))
def closed_heating_residual(
    pressure,
    pressure_start,
    volume_growth,
    compliance,
    volume_air,
    pressure_absolute_air,
):
    """What must be nought for the pressure after water has grown in a closed system.

    Growth goes into the give of tubes and water, and into an air cushion; its volume is
    that at the start, its temperature stays.
    """
    volume_give = compliance * (pressure - pressure_start)
    number = (pressure_start + pressure_absolute_air) / (pressure + pressure_absolute_air)
    volume_cushion = volume_air * (1 - number)
    return (volume_give + volume_cushion - volume_growth) / volume_growth


@formula("volume", source=PHYSICS.at("conservation of mass"))
def relief_discharge(volume_growth, volume_taken):
    """Water that drips from the relief valve while the heater warms up."""
    return volume_growth - volume_taken
