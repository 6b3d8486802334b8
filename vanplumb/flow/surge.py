"""Water hammer: what the pressure jumps by when a fixture is shut while it runs.

A tube's own stiffness slows the wave, in each run by its own wall.  Shutting in less than the
wave's way to the nearest thing that gives and back counts as at once.  What a heater and an
accumulator give is what they give wherever else it counts: a heater the squeeze of its water, its
wall being stiff, an accumulator its air, once it has water in it.
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
from ..van.kinds import heaters
from ..van.model import Build
from ..van.ratings import rating_at
from ..words.brief import brief
from ..words.tables import table
from ..words.work import Work, total
from .combinations import first_greatest
from .elasticity import give_of, modulus_of, squeeze_of_water, wall_of
from .moment import LinkState, Moment
from .run_losses import shares
from .solving import BuildFlow

QUICK = 0.03
"""s that a spring or coil takes to shut (common practice, no source)."""
MUCH_MORE = 10.0
"""Times the give of the runs between, from which a heater's water turns a wave back."""
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
            pressed = _pressed(moment, name)
            one = [
                _surge(flow.build, moment, name, pressed, chain, link)
                for chain in _chains(flow.build, moment, name)
                for link in chain
                if link.kind == "run"
            ]
            worst = first_greatest(
                one, lambda s: s.peak / s.rating if s.rating else inf, lambda s: s.run
            )
            if worst is not None:
                found.append(worst)
    return tuple(found)


def _pressed(moment: Moment, fixture: str) -> float | None:
    """Pa at the outlet of the pumps that feed a fixture, None where water only runs down to it.

    A pump of another line stands on another water: what it holds is no pressure here.
    """
    ways = shares(moment, fixture).ways.values()
    feed = {share.name for way in ways for share in way if share.kind == "pump"}
    outlets = [p.outlet for name, p in moment.pumps.items() if name in feed and isfinite(p.outlet)]
    return max(outlets, default=None)


def _chains(build: Build, moment: Moment, fixture: str) -> list[list[LinkState]]:
    """The links between a fixture and the nearest thing that gives: an accumulator with water in
    it, the pump or a source; or a heater, if its water gives much more than these runs do."""
    cushioned = _cushioned(build, moment)
    heaters_here = {h.name: heaters.content(h) for h in build.heater}
    chains = []
    for way in shares(moment, fixture).ways.values():
        chain: list[LinkState] = []
        for share in reversed(way):
            link = moment.links[share.name]
            if share.kind in ("pump", "shore inlet"):
                break
            if share.kind == "heater" and chain:
                held = heaters_here[share.name] or 0.0
                runs = [k.place for k in chain if k.kind == "run"]
                own = give_of(build, runs, [], link.temperature).compliance
                if held * squeeze_of_water(link.temperature).value > MUCH_MORE * own:
                    break
                continue
            if share.kind == "fixture":
                continue
            chain.append(link)
            if link.start.partition(".")[0] in cushioned:
                break
        chains.append(chain[::-1])
    return chains


def _cushioned(build: Build, moment: Moment) -> set[str]:
    """Parts that a run joins to an accumulator which has water in it at this pressure."""
    found = set()
    for vessel in build.accumulator:
        node = moment.nodes.get(f"{vessel.name}.inlet")
        if node is None or not node.pressure > vessel.precharge:
            continue
        for run in build.run:
            ends = [p.component for p in build.ends(run)]
            if vessel.name in ends:
                found |= set(ends) - {vessel.name}
    return found


def _wave(build: Build, link: LinkState) -> tuple[Work, Work]:
    """Worked steps of the wave's speed in one run: how stiff the water is, and the speed."""
    row = table("tubes", build.rows)[build.run[link.place].tube]
    water = bulk_modulus.work(
        density=link.density, velocity_sound=float(sound_speed.si(link.temperature))
    )
    wave = wave_speed.work(
        modulus_water=water.value,
        modulus_tube=modulus_of(build, row),
        density=link.density,
        diameter=row.number("bore"),
        thickness_wall=wall_of(row),
    )
    return water, wave


def _surge(
    build: Build,
    moment: Moment,
    fixture: str,
    pressed: float | None,
    chain: list[LinkState],
    link: LinkState,
) -> Surge:
    row = table("tubes", build.rows)[build.run[link.place].tube]
    water, wave = _wave(build, link)
    speed = velocity.work(flow=abs(link.flow), diameter=row.number("bore"))
    runs = [k for k in chain if k.kind == "run"]
    length = sum(build.run[k.place].length for k in runs)
    ways = [
        (
            k.title,
            reflection_time.work(
                length=build.run[k.place].length, velocity_wave=_wave(build, k)[1].value
            ),
        )
        for k in runs
    ]
    back = ways[0][1] if len(ways) == 1 else total("duration", [(n, w.value) for n, w in ways])
    kind = next(f.kind for f in build.fixture if f.name == fixture)
    shutting = QUICK if table("fixtures", build.rows)[kind]["quick"] else BY_HAND
    if shutting <= back.value:
        rise = surge_pressure.work(
            density=link.density, velocity_wave=wave.value, velocity_stopped=speed.value
        )
    else:  # as if the whole way, in time, were of this run: no less than its true parts give
        rise = slow_surge_pressure.work(
            density=link.density,
            length=back.value * wave.value / 2,
            velocity_stopped=speed.value,
            duration_shut=shutting,
        )
    at = moment.nodes[link.end].pressure
    return Surge(
        fixture=fixture,
        run=link.title,
        temperature=link.temperature,
        wave=wave.value,
        speed=speed.value,
        length=length,
        back=back.value,
        shutting=shutting,
        before=at if pressed is None else max(at, pressed),
        rise=rise.value,
        instant=float(surge_pressure.si(link.density, wave.value, speed.value)),
        rating=rating_at(row, link.temperature),
        works=(water, wave, speed, *(w for _, w in ways if len(ways) > 1), back, rise),
    )
