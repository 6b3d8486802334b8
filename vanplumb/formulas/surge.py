"""What happens when a valve shuts fast: pressure waves (Joukowsky)."""

from numpy import sqrt

from vanplumb.words.formula import formula
from vanplumb.words.sources import JOUKOWSKY, KORTEWEG


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
