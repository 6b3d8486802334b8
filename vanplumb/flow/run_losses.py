"""What takes the pressure: of each run where it carries most, and of all on the way to a fixture,
so that a builder sees which part to change.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from math import isfinite

from ..formulas import tube as t
from ..van.model import Build
from ..van.trace import contents, title
from ..words.brief import brief
from .moment import LinkState, Moment

NOTHING = 1e-9
NO_MORE = 1e-3
"""Part of a flow: a situation in which a run carries so little more is not told apart."""


@brief
@dataclass(frozen=True)
class RunLoss:
    """One run in the situation in which it carries most, as the network has it; SI, losses in Pa.

    ``link`` is its state then.  Losses are counted the way the water goes: a minus in ``lift`` is
    a fall.
    """

    number: int
    title: str
    situation: str
    carries: str
    tube: str
    place: str
    length: float
    content: float
    link: LinkState

    @property
    def flow(self) -> float:
        return abs(self.link.flow)

    @property
    def velocity(self) -> float:
        return self.link.velocity

    @property
    def friction(self) -> float:
        return along(self.link, "friction")

    @property
    def fittings(self) -> float:
        return along(self.link, "fittings")

    @property
    def lift(self) -> float:
        return along(self.link, "rise")

    @property
    def loss(self) -> float:
        """Friction and fittings, Pa; what a rise takes stands apart."""
        return self.friction + self.fittings


def along(link: LinkState, part: str) -> float:
    """One part of a link's loss, the way the water goes, Pa."""
    found = link.parts.get(part, 0.0)
    return found if link.flow >= 0 else -found


def run_losses(build: Build, situations: Iterable[Moment]) -> tuple[RunLoss, ...]:
    """Every run that carries water in one of these situations, where it carries most.

    Of situations in which it carries as much, within a part in a thousand, the first is taken.
    """
    water = contents(build)
    most: dict[int, tuple[Moment, LinkState]] = {}
    for moment in situations:
        if not moment.found:
            continue
        for link in moment.links.values():
            if link.place < 0 or abs(link.flow) < NOTHING:
                continue
            now = most.get(link.place)
            if now is None or abs(link.flow) > abs(now[1].flow) * (1 + NO_MORE):
                most[link.place] = moment, link
    return tuple(
        RunLoss(
            number=number,
            title=title(build, number),
            situation=moment.name,
            carries=water[number],
            tube=build.run[number].tube,
            place=build.run[number].place,
            length=build.run[number].length,
            content=float(t.tube_content.si(link.diameter, build.run[number].length)),
            link=link,
        )
        for number, (moment, link) in sorted(most.items())
    )


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
    loss = _loss(link)
    return Share(
        name=link.name,
        title=link.title,
        kind=link.kind,
        loss=loss,
        share=loss / whole,
        friction=along(link, "friction"),
        fittings=along(link, "fittings"),
        rise=along(link, "rise"),
    )
