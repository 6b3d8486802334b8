"""What a mean day takes, as the days played through give it, losses and run-off among it."""

from __future__ import annotations

from dataclasses import dataclass

from ...words.brief import brief


@brief
@dataclass(frozen=True)
class HeaterDay:
    """One heater's part of a mean day; SI.

    ``heat`` is given to its water, ``lost`` by its store; ``burning`` the time of its burner,
    ``fuel`` what it burns, kg, ``element`` what its element takes from the battery.
    """

    name: str
    heat: float
    lost: float
    burning: float
    fuel: float
    element: float


@brief
@dataclass(frozen=True)
class MeanDay:
    """A mean day of ``days`` played with plenty of everything, so that nothing cuts it short; SI.

    ``run_off`` is the water that runs off while taps wait for hot.  The heat that is given to
    the water, ``heat``, goes to the taps (``heat_taps``, run-off too), is lost by the store
    (``heat_store``) and by the runs (``heat_runs``), or is left in them at the end
    (``heat_left``).  ``burning`` is the time of the burner, s; ``fuel`` what it burns, kg;
    ``electric`` the energy drawn, J, that of the ``pump`` or pumps among it.  ``water`` is all that
    is drawn, ``pumped`` what each electric pump lifts of it, ``heaters`` has each heater's part.
    """

    days: float
    run_off: float = 0.0
    heat: float = 0.0
    heat_taps: float = 0.0
    heat_store: float = 0.0
    heat_runs: float = 0.0
    heat_left: float = 0.0
    burning: float = 0.0
    fuel: float = 0.0
    electric: float = 0.0
    pump: float = 0.0
    water: float = 0.0
    pumped: tuple[tuple[str, float], ...] = ()
    heaters: tuple[HeaterDay, ...] = ()


NOTHING = MeanDay(1.0)
"""A day on which nothing is lost: for a van that nobody plays through."""
