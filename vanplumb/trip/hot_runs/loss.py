"""What a metre of run loses to its air, with its skin's temperature found by itself."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache

from ...formulas.pressure import air_pressure
from ...formulas.runs_heat import (
    air_conductivity,
    air_viscosity,
    loss_per_length,
    radiation_film,
    rayleigh,
    shell_resistance,
    skin_resistance,
    still_air_film,
)
from ...words.glossary import GAS_CONSTANT_AIR
from ...words.tables import Row
from ...words.work import Work, total

PRANDTL = 0.71
"""Of air, from -20 to 100 °C (from memory)."""
EMISSIVITY = 0.9
"""Of plastic tube and foam (typical)."""
FOAM = 0.040
"""W/(m K), closed-cell foam (typical)."""
CONDUCTIVITY = 0.4
"""W/(m K), of plastic tube (typical)."""
WIND_FILM = 25.0
"""W/(m² K), in moving air under a van (assumed, some 4 m/s)."""


BRASS = 115.0
"""W/(m K) of brass (from memory)."""


@dataclass(frozen=True)
class RunLoss:
    """Heat of a metre of run: ``power`` in W/m, ``resistance`` in m K/W from water to air.

    ``skin`` is the temperature of its outside.
    """

    power: float
    resistance: float
    skin: float
    works: dict[str, Work] = field(default_factory=dict)


def run_loss(
    tube: Row,
    insulation: float,
    water: float,
    air: float,
    *,
    windy: bool = False,
    foam: float = FOAM,
    altitude: float = 0.0,
    metal: bool = False,
) -> RunLoss:
    """Heat that a metre of tube loses with water and air of these temperatures.

    With ``metal`` its wall is a brass fitting's.

    In still air the film depends on the skin's temperature, so it is found by going round
    until it stands still.  In wind the film is taken as fixed.
    """
    conductivity = BRASS if metal else tube["conductivity"] or CONDUCTIVITY
    size = (tube.number("od"), tube.number("bore"), conductivity)
    return _found(size, insulation, water, air, windy, foam, altitude)


@lru_cache(maxsize=512)
def _found(
    size: tuple[float, float, float],
    insulation: float,
    water: float,
    air: float,
    windy: bool,
    foam: float,
    altitude: float,
) -> RunLoss:
    """``run_loss`` by figures alone: many runs of a van are alike."""
    outside, bore, conductivity = size
    works: dict[str, Work] = {}
    wall = shell_resistance.work(
        diameter_outside=outside, diameter_inside=bore, conductivity=conductivity
    )
    works["wall"] = wall
    inner, over = wall.value, outside
    if insulation > 0:
        over = outside + 2 * insulation
        shell = shell_resistance.work(
            diameter_outside=over, diameter_inside=outside, conductivity=foam
        )
        works["foam"] = shell
        inner += shell.value
    skin = (water + air) / 2
    film = WIND_FILM
    for _ in range(60):
        film = WIND_FILM if windy else _film(skin, air, over, altitude)
        outer = float(skin_resistance.si(film, over))
        found = air + (water - air) * outer / (inner + outer)
        if abs(found - skin) < 1e-9:
            break
        skin = (skin + found) / 2
    works["skin"] = skin_resistance.work(film_coefficient=film, diameter=over)
    layers = [(name, works[name].value) for name in ("wall", "foam", "skin") if name in works]
    works["resistance"] = total("resistance_per_length", layers)
    whole = works["resistance"].value
    if water >= air:
        works["loss"] = loss_per_length.work(
            temperature=water, temperature_air=air, resistance_per_length=whole
        )
    return RunLoss((water - air) / whole, whole, skin, works)


def _film(skin: float, air: float, diameter: float, altitude: float) -> float:
    """Convection and radiation together at a skin temperature, W/(m² K)."""
    middle = (skin + air) / 2
    density = float(air_pressure.si(altitude)) / (GAS_CONSTANT_AIR * middle)
    number = rayleigh.si(
        max(abs(skin - air), 1e-3), diameter, middle, air_viscosity.si(middle) / density, PRANDTL
    )
    still = still_air_film.si(number, PRANDTL, air_conductivity.si(middle), diameter)
    return float(still + radiation_film.si(EMISSIVITY, skin, air))
