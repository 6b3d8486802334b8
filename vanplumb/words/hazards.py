"""Hazards: what each is called, its signal word and what is said of it, wherever it is told.

A chapter that meets one adds what is true there.  The sheet tells a hazard once, in the first
chapter that meets it; later ones name that chapter and say only what they add.
"""

from __future__ import annotations

from dataclasses import dataclass

from .report import Caution


@dataclass(frozen=True)
class Hazard:
    """One hazard.  ``level`` is a signal word of ANSI Z535.4."""

    name: str
    level: str
    text: str

    def caution(self, here: str = "") -> Caution:
        """The caution, with what is true ``here``."""
        return Caution(self.level, f"{self.text} {here}".strip(), self.name, here)


SCALD = Hazard(
    "scald",
    "WARNING",
    "Hot water scalds in seconds: limit its temperature at every outlet that people wash at, "
    "measure it there, and follow the local plumbing code.",
)
RELIEF = Hazard(
    "relief valve",
    "WARNING",
    "A heater that is shut in can burst: its relief valve is never plugged, valved off or set "
    "above the heater's rating, and drains downwards to where hot water hurts nobody.",
)
EXHAUST = Hazard(
    "exhaust and fuel",
    "WARNING",
    "Exhaust can kill: burned fuel needs its flue, air and a carbon monoxide alarm. Gas and fuel "
    "lines are for a licensed fitter, by the local code and the heater's manual, with a leak test.",
)
MAINS = Hazard(
    "mains electricity",
    "WARNING",
    "Mains electricity beside water can kill: earthing, residual-current protection and wiring by "
    "a licensed electrician.",
)
ANTIFREEZE = Hazard(
    "antifreeze",
    "WARNING",
    "Only propylene glycol that is sold for drinking water systems may go into them: engine "
    "coolant (ethylene glycol) is poisonous. Never thin a ready mix; flush it out before drinking.",
)
OVERLOAD = Hazard(
    "overload",
    "WARNING",
    "A van, an axle or a tyre that carries too much can fail on the road: weigh each axle on a "
    "weighbridge with crew, water and luggage aboard. The plate and the tyres set the limits.",
)
