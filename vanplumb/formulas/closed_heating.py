"""Water heated in a system with no way out: what must give way, and how pressure climbs."""

from vanplumb.words.formula import formula
from vanplumb.words.sources import PHYSICS


@formula("residual", source=PHYSICS.at("conservation of mass"))
def closed_heating_residual(
    pressure,
    pressure_start,
    volume_growth,
    compliance,
    volume_cushion,
):
    """What must be nought for the pressure after water has grown in a closed system.

    Growth goes into the give of tubes and water, and into vessels with an air cushion.
    """
    volume_give = compliance * (pressure - pressure_start)
    return (volume_give + volume_cushion - volume_growth) / volume_growth


@formula("volume", source=PHYSICS.at("conservation of mass"))
def relief_discharge(volume_growth, volume_taken):
    """Water that drips from the relief valve while the heater warms up."""
    return volume_growth - volume_taken
