"""What takes the pressure on the way to a fixture: so that a builder sees which part to change.

What each run takes at the rated flow of its fixture: one tap open, nothing else.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import isfinite

from ..formulas import tube as t
from ..formulas import water as w
from ..network.losses import friction_factor, friction_work
from ..van.model import Build
from ..van.parts import Fixture
from ..van.trace import COLD, HOT, contents, served, title
from ..words.brief import brief
from ..words.tables import table
from ..words.work import Work, total
from .components import runs_losses
from .moment import LinkState, Moment


@brief
@dataclass(frozen=True)
class RunLoss:
    """One run at its rated flow; figures in SI, losses in Pa.

    ``heads`` are the velocity heads that its fittings take in all.
    """

    number: int
    title: str
    fixture: str
    carries: str
    tube: str
    place: str
    length: float
    bore: float
    flow: float
    temperature: float
    velocity: float
    reynolds: float
    friction_factor: float
    friction: float
    fittings: float
    lift: float
    content: float
    heads: float

    @property
    def loss(self) -> float:
        """Friction and fittings, Pa; what a rise takes stands apart."""
        return self.friction + self.fittings


def rated_flow(build: Build, fixture: Fixture) -> float:
    """The flow a fixture is meant to give, m³/s: its own, or that of its kind."""
    if fixture.flow is not None:
        return fixture.flow
    return table("fixtures", build.rows)[fixture.kind].number("flow")


def carried_temperature(build: Build, carries: str) -> float:
    """Temperature of the water that a cold, hot or mixed run carries, K."""
    if carries == COLD or (carries == HOT and not build.heater):
        return build.van.cold_water
    if carries == HOT:
        return max(h.setpoint for h in build.heater)
    return max((m.setting for m in build.mixing_valve), default=build.van.cold_water)


def run_losses(build: Build) -> tuple[RunLoss, ...]:
    """Every run that serves a fixture, at the largest rated flow among those it serves."""
    found = []
    tubes, heads = table("tubes", build.rows), runs_losses(build)
    water = contents(build)
    fixtures = {f.name: f for f in build.fixture}
    for number, run in enumerate(build.run):
        end = build.ends(run)[1].component
        names = [end] if end in fixtures else served(build, end)
        if not names:
            continue
        worst = max(names, key=lambda n: rated_flow(build, fixtures[n]))
        flow = rated_flow(build, fixtures[worst])
        row = tubes[run.tube]
        bore, rough = row.number("bore"), row.number("roughness")
        temperature = carried_temperature(build, water[number])
        density = float(w.water_density.si(temperature))
        viscosity = float(w.water_viscosity.si(temperature))
        speed = float(t.velocity.si(flow, bore))
        reynolds = float(t.reynolds.si(density, speed, bore, viscosity))
        factor = float(friction_factor(reynolds, rough / bore))
        found.append(
            RunLoss(
                number=number,
                title=title(build, number),
                fixture=worst,
                carries=water[number],
                tube=run.tube,
                place=run.place,
                length=run.length,
                bore=bore,
                flow=flow,
                temperature=temperature,
                velocity=speed,
                reynolds=reynolds,
                friction_factor=factor,
                friction=float(t.friction_loss.si(factor, run.length, bore, density, speed)),
                fittings=float(t.fitting_loss.si(heads[number], density, speed)),
                heads=float(heads[number]),
                lift=float(t.elevation_pressure.si(density, run.rise)),
                content=float(t.tube_content.si(bore, run.length)),
            )
        )
    return tuple(found)


def run_work(build: Build, loss: RunLoss) -> tuple[Work, ...]:
    """Each step of one run's loss, for the sheet."""
    run = build.run[loss.number]
    row = table("tubes", build.rows)[run.tube]
    density = float(w.water_density.si(loss.temperature))
    viscosity = float(w.water_viscosity.si(loss.temperature))
    relative = t.relative_roughness.work(roughness=row.number("roughness"), diameter=loss.bore)
    steps = [
        t.velocity.work(flow=loss.flow, diameter=loss.bore),
        t.reynolds.work(
            density=density,
            velocity=loss.velocity,
            diameter=loss.bore,
            viscosity=viscosity,
        ),
        relative,
        *friction_work(loss.reynolds, relative.value),
        t.friction_loss.work(
            friction_factor=loss.friction_factor,
            length=loss.length,
            diameter=loss.bore,
            density=density,
            velocity=loss.velocity,
        ),
    ]
    if loss.heads:
        work = t.fitting_loss.work(
            loss_coefficient=loss.heads, density=density, velocity=loss.velocity
        )
        both = [("friction", loss.friction), ("fittings", work.value)]
        steps += [work, total("pressure_loss", both)]
    return tuple(steps)


NOTHING = 1e-9


@dataclass(frozen=True)
class Share:
    """One component on the way: what it takes, Pa, and which part of all that is given.

    ``friction`` and ``fittings`` are what a run's tube and fittings take, ``rise`` what goes
    into height (negative if the way falls).  A pump's loss is negative: it gives.
    """

    name: str
    title: str
    kind: str
    loss: float
    share: float
    friction: float = 0.0
    fittings: float = 0.0
    rise: float = 0.0


@dataclass(frozen=True)
class Shares:
    """The ways to one fixture, by supply ("hot", "cold", or "" for a single one).

    Each way runs from where the water comes from to the open air.  ``given`` is the pressure
    that pump, hose or tank level give on it, Pa.
    """

    fixture: str
    ways: dict[str, tuple[Share, ...]]
    given: dict[str, float]

    def __iter__(self) -> Iterator[Share]:
        return (share for way in self.ways.values() for share in way)

    @property
    def worst(self) -> Share:
        """What takes most, the fixture itself and heights left out.  ValueError if nothing does."""
        found = [s for s in self if s.kind not in ("fixture", "pump", "held") and s.loss > 0]
        if not found:
            raise ValueError(f"nothing on the way to {self.fixture} takes pressure")
        return max(found, key=lambda s: s.loss - max(s.rise, 0.0))


def shares(moment: Moment, fixture: str) -> Shares:
    """The ways to a fixture in a moment.  ValueError if nothing flows there."""
    if fixture not in moment.fixtures:
        raise ValueError(f"no fixture {fixture!r}; there are {', '.join(moment.fixtures)}")
    if moment.fixtures[fixture].flow < NOTHING:
        why = "; ".join(moment.reasons) or "it is shut"
        raise ValueError(f"nothing flows at {fixture}: {why}")
    last = moment.links[fixture]
    ways: dict[str, tuple[Share, ...]] = {}
    given: dict[str, float] = {}
    for side, link in _supplies(moment, last):
        chain = [*_upstream(moment, link), link] if link is not last else _upstream(moment, last)
        chain = [*chain, last]
        name = side
        start = _entry(chain[0])
        held = moment.nodes[start].pressure if isfinite(moment.nodes[start].pressure) else 0.0
        gain = max(held, 0.0) + sum(-_loss(k) for k in chain if _loss(k) < 0)
        given[name] = gain
        whole = gain if gain > 0 else 1.0
        ways[name] = tuple(_share(k, whole) for k in chain)
    return Shares(fixture, ways, given)


def _supplies(moment: Moment, last: LinkState) -> list[tuple[str, LinkState]]:
    """The ways that meet in a tap: hot and cold, or the fixture's own link."""
    into = _into(moment, last.start, last)
    taps = [k for k in into if k.kind == "tap"]
    if not taps:
        return [("", last)]
    return [(k.name.removeprefix(f"{last.name} "), k) for k in taps]


def _into(moment: Moment, node: str, but: LinkState) -> list[LinkState]:
    return [
        k
        for k in moment.links.values()
        if k is not but
        and ((k.end == node and k.flow > NOTHING) or (k.start == node and k.flow < -NOTHING))
    ]


def _entry(link: LinkState) -> str:
    return link.start if link.flow >= 0 else link.end


def _loss(link: LinkState) -> float:
    """Loss the way the water goes; 0 where it is not known."""
    if not isfinite(link.loss):
        return 0.0
    return link.loss if link.flow >= 0 else -link.loss


def _upstream(moment: Moment, link: LinkState) -> list[LinkState]:
    """Links before one, source first, always along the greatest flow."""
    chain: list[LinkState] = []
    seen = {link.name}
    here = link
    while True:
        into = [k for k in _into(moment, _entry(here), here) if k.name not in seen]
        if not into:
            return chain[::-1]
        here = max(into, key=lambda k: abs(k.flow))
        seen.add(here.name)
        chain.append(here)


def _share(link: LinkState, whole: float) -> Share:
    way = 1.0 if link.flow >= 0 else -1.0
    loss = _loss(link)
    return Share(
        name=link.name,
        title=link.title,
        kind=link.kind,
        loss=loss,
        share=loss / whole,
        friction=way * link.parts.get("friction", 0.0),
        fittings=way * link.parts.get("fittings", 0.0),
        rise=way * link.parts.get("rise", 0.0),
    )
