"""What happens when a valve shuts fast: pressure waves (Joukowsky).

Water in a tube: speed, content, friction, and the pressure that they cost.
"""

from numpy import log, log10, pi, sqrt

from ..words.formula import formula
from ..words.glossary import GRAVITY, REYNOLDS_LAMINAR, REYNOLDS_TURBULENT
from ..words.sources import CENGEL, COLEBROOK, GEOMETRY, JOUKOWSKY, KORTEWEG, OWN, SWAMEE, WHITE


@formula("area", source=GEOMETRY.at("circle"))
def bore_area(diameter):
    """Open area of a round bore."""
    return pi / 4 * diameter**2


@formula("velocity", source=CENGEL.at("chapter 8"))
def velocity(flow, diameter):
    """Mean speed of the water in a round bore."""
    return 4 * flow / (pi * diameter**2)


@formula("flow", source=CENGEL.at("chapter 8"))
def flow_at_velocity(velocity, diameter):
    """Flow through a round bore at a mean speed."""
    return pi / 4 * diameter**2 * velocity


@formula("volume", source=GEOMETRY.at("cylinder"))
def tube_content(diameter, length):
    """Water that a tube holds.  Its length may be any, for the content per length."""
    return pi / 4 * diameter**2 * length


@formula("volume_per_length", source=GEOMETRY.at("cylinder"))
def content_per_length(diameter):
    """Water in each metre of a tube."""
    return pi / 4 * diameter**2


@formula("duration", source=CENGEL.at("conservation of mass"))
def plug_wait(volume, flow):
    """Time for the water in a run to be pushed out by what follows it, as a plug.

    Real waits are longer, since the tube takes up heat and the front mixes.
    """
    return volume / flow


@formula("reynolds", source=CENGEL.at("chapter 8"))
def reynolds(density, velocity, diameter, viscosity):
    """Inertia against friction: low is laminar, high is turbulent."""
    return density * velocity * diameter / viscosity


@formula("roughness_relative", source=CENGEL.at("chapter 8"))
def relative_roughness(roughness, diameter):
    """Height of the wall's roughness as a share of the bore."""
    return roughness / diameter


@formula("friction_factor", source=CENGEL.at("chapter 8"), valid={"reynolds": (1e-9, 2300.0)})
def laminar_friction(reynolds):
    """Darcy friction factor of smooth, slow flow; the wall's roughness does not matter."""
    return 64 / reynolds


@formula(
    "residual", source=COLEBROOK, valid={"friction_factor": (1e-3, 1.0), "reynolds": (1.0, 1e9)}
)
def colebrook_residual(friction_factor, reynolds, roughness_relative):
    """What must be zero for the Darcy friction factor of turbulent flow."""
    number_wall = roughness_relative / 3.7
    number_film = 2.51 / (reynolds * sqrt(friction_factor))
    return 1 / sqrt(friction_factor) + 2 * log10(number_wall + number_film)


@formula("friction_factor", source=SWAMEE, valid={"reynolds": (3000.0, 1e8)})
def explicit_friction(reynolds, roughness_relative):
    """Friction factor within some 3 % of Colebrook: where the solving starts."""
    number_wall = roughness_relative / 3.7
    number_film = 5.74 / reynolds**0.9
    return 0.25 / log10(number_wall + number_film) ** 2


@formula(
    "friction_factor",
    source=OWN.at("a smooth way from one law to the other"),
    valid={"reynolds": (2000.0, 4000.0)},
)
def bridged_friction(reynolds, friction_factor_laminar, friction_factor_turbulent):
    """Friction factor where flow is neither laminar nor turbulent for long.

    The share of the turbulent law rises from zero at Re 2000 to one at Re 4000, with no
    step in value or slope, so that solvers pass through.  Real flow wanders between the two.
    """
    number_way = log(reynolds / REYNOLDS_LAMINAR) / log(REYNOLDS_TURBULENT / REYNOLDS_LAMINAR)
    share = number_way**2 * (3 - 2 * number_way)
    return (1 - share) * friction_factor_laminar + share * friction_factor_turbulent


@formula("length", source=GEOMETRY.at("like triangles"))
def filled_leg(length, depth_water, depth_end):
    """Part of an evenly rising leg of tube that lies below the water in it."""
    return length * depth_water / depth_end


@formula("pressure_loss", source=CENGEL.at("chapter 8, Darcy-Weisbach equation"))
def friction_loss(friction_factor, length, diameter, density, velocity):
    """Pressure that friction takes along a straight tube."""
    return friction_factor * (length / diameter) * (density * velocity**2 / 2)


@formula("pressure_loss", source=CENGEL.at("chapter 8, minor losses"))
def fitting_loss(loss_coefficient, density, velocity):
    """Pressure that a fitting takes; the speed is that in the tube its coefficient is for."""
    return loss_coefficient * density * velocity**2 / 2


@formula("length", source=CENGEL.at("chapter 8, minor losses"))
def equivalent_length(loss_coefficient, diameter, friction_factor):
    """Straight tube that takes as much pressure as a fitting does."""
    return loss_coefficient * diameter / friction_factor


@formula("pressure", source=CENGEL.at("chapter 3"))
def elevation_pressure(density, height):
    """Pressure of a column of water: lost when it is lifted, gained when it falls."""
    return density * GRAVITY * height


@formula("head", source=CENGEL.at("chapter 3"))
def head(pressure, density):
    """Height of the column of water that a pressure holds up."""
    return pressure / (density * GRAVITY)


@formula("power", source=CENGEL.at("chapter 8"))
def hydraulic_power(flow, pressure):
    """Power that a pump gives to the water: what is left after all losses of its own."""
    return flow * pressure


@formula("pressure_loss", source=WHITE.at("chapter 6, Hazen-Williams"), empirical=True)
def hazen_williams_loss(flow, length, diameter, coefficient_smooth):
    """Friction by the old waterworks rule, which knows no temperature.  For comparison only.

    Plastic has a coefficient of about 150.  The constant carries metres, seconds and water
    of 1000 kg/m³; in half-inch tube the rule is some 10 % under Darcy-Weisbach.
    """
    head = 10.67 * length * (flow / coefficient_smooth) ** 1.852 / diameter**4.8704
    return 1000 * GRAVITY * head


@formula("velocity", source=KORTEWEG)
def wave_speed(modulus_water, modulus_tube, density, diameter, thickness_wall):
    """Speed of a pressure wave in a tube; a soft wall slows it and so softens the blow."""
    number_give = modulus_water * diameter / (modulus_tube * thickness_wall)
    return sqrt(modulus_water / (density * (1 + number_give)))


@formula("pressure", source=JOUKOWSKY)
def surge_pressure(density, velocity_wave, velocity_stopped):
    """Rise of pressure when moving water is stopped before the wave comes back."""
    return density * velocity_wave * velocity_stopped


@formula("duration", source=JOUKOWSKY.at("time of reflection"))
def reflection_time(length, velocity_wave):
    """Time for the wave to run to the far end and back: shutting in less counts as at once."""
    return 2 * length / velocity_wave


@formula("pressure", source=JOUKOWSKY.at("slow closure, Michaud"))
def slow_surge_pressure(density, length, velocity_stopped, duration_shut):
    """Rise of pressure when shutting takes longer than the wave's way there and back."""
    return 2 * density * length * velocity_stopped / duration_shut
