"""Water hammer: what the pressure jumps by when a fixture is shut while it runs.

A tube's own stiffness slows the wave.  Shutting in less than the wave's way to the nearest
vessel and back counts as at once.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, isfinite

from ..formulas.tube import (
    reflection_time,
    slow_surge_pressure,
    surge_pressure,
    velocity,
    wave_speed,
)
from ..formulas.water import bulk_modulus, sound_speed
from ..van.model import Build
from ..van.ratings import rating_at
from ..words.brief import brief
from ..words.tables import table
from ..words.work import Work
from .moment import LinkState, Moment
from .run_losses import shares
from .solving import BuildFlow

QUICK = 0.03
"""s that a spring or coil takes to shut (common practice, no source)."""
BY_HAND = 0.2
"""s that a quick hand takes to shut a tap (common practice, no source)."""


@brief
@dataclass(frozen=True)
class Surge:
    """A fixture shut while it runs alone; the run on its way that comes nearest its rating.

    Figures in Pa, m/s, s, m and K.
    ``instant`` is the rise if the valve shut at once, which nothing can exceed.
    ``rating`` is the tube's at the water's temperature, None if its table gives none there.
    """

    fixture: str
    run: str
    temperature: float
    wave: float
    speed: float
    length: float
    back: float
    shutting: float
    before: float
    rise: float
    instant: float
    rating: float | None
    works: tuple[Work, ...]

    @property
    def peak(self) -> float:
        return self.before + self.rise


def surges(flow: BuildFlow) -> tuple[Surge, ...]:
    """The worst run of each fixture that runs, in the order of the build."""
    found = []
    for name in flow.fixtures:
        moment = flow.situation_of((name,))
        if moment.fixtures[name].flow > 1e-9:
            one = [
                _surge(flow.build, moment, name, chain, link)
                for chain in _chains(moment, name)
                for link in chain
                if link.kind == "run"
            ]
            if one:
                found.append(max(one, key=lambda s: s.peak / s.rating if s.rating else inf))
    return tuple(found)


def _chains(moment: Moment, fixture: str) -> list[list[LinkState]]:
    """The links between a fixture and the nearest thing that gives: pump, vessel or source."""
    chains = []
    for way in shares(moment, fixture).ways.values():
        chain: list[LinkState] = []
        for share in reversed(way):
            if share.kind in ("pump", "shore inlet", "heater", "fixture"):
                if chain and share.kind != "fixture":
                    break
                continue
            chain.append(moment.links[share.name])
        chains.append(chain[::-1])
    return chains


def _surge(
    build: Build, moment: Moment, fixture: str, chain: list[LinkState], link: LinkState
) -> Surge:
    run = build.run[int(link.name[4:]) - 1]
    row = table("tubes", build.rows)[run.tube]
    bore = row.number("bore")
    wall = row["wall"] or (row.number("od") - bore) / 2
    modulus = table("give", build.rows)[row["material"]].number("modulus")
    water = bulk_modulus.work(
        density=link.density, velocity_sound=float(sound_speed.si(link.temperature))
    )
    wave = wave_speed.work(
        modulus_water=water.value,
        modulus_tube=modulus,
        density=link.density,
        diameter=bore,
        thickness_wall=wall,
    )
    speed = velocity.work(flow=abs(link.flow), diameter=bore)
    length = sum(build.run[int(k.name[4:]) - 1].length for k in chain if k.kind == "run")
    back = reflection_time.work(length=length, velocity_wave=wave.value)
    kind = next(f.kind for f in build.fixture if f.name == fixture)
    shutting = QUICK if table("fixtures", build.rows)[kind]["quick"] else BY_HAND
    if shutting <= back.value:
        rise = surge_pressure.work(
            density=link.density, velocity_wave=wave.value, velocity_stopped=speed.value
        )
    else:
        rise = slow_surge_pressure.work(
            density=link.density,
            length=length,
            velocity_stopped=speed.value,
            duration_shut=shutting,
        )
    at = moment.nodes[link.end].pressure
    static = max((p.outlet for p in moment.pumps.values() if isfinite(p.outlet)), default=at)
    return Surge(
        fixture=fixture,
        run=link.title,
        temperature=link.temperature,
        wave=wave.value,
        speed=speed.value,
        length=length,
        back=back.value,
        shutting=shutting,
        before=max(at, static),
        rise=rise.value,
        instant=float(surge_pressure.si(link.density, wave.value, speed.value)),
        rating=rating_at(row, link.temperature),
        works=(water, wave, speed, back, rise),
    )
