"""Water that stays: against a simulation by cells that moves water, and drains proved fewest.

The simulation shares nothing with the levels: it cuts every run of a build into cells, all full,
and moves water from the top of each body of water that hangs together to wherever it can fall or
be pushed to, until nothing moves.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field, replace
from math import pi

import pytest
from pytest import approx

from tests.cases import cases
from tests.flow.random_builds import random_build
from tests.review.test_rules import SOUND
from vanplumb.chapters.hand_over import owner_paper
from vanplumb.pack import Pack, example
from vanplumb.shop.draining.draining import Draining
from vanplumb.shop.draining.levels import Passage, bottoms, levels, pockets
from vanplumb.shop.draining.passages import standing
from vanplumb.van import Build, loads
from vanplumb.van.heights import heights
from vanplumb.van.kinds import pumps
from vanplumb.words.tables import table

SEEDS = cases(24, 1000)
"""Vans that are drained."""
ON_THE_BRIM = (65, 383, 428)
"""Seeds at which water stands level with a brim, or a cell is higher than what stays in it."""
CELLS, FINE = 5, 25
WEIGHT = 998.2 * 9.80665
"""Pa that a metre of water weighs, at 20 °C."""


def text_of(seed: int) -> str:
    """A random van, with drain valves at some of its tees and outlets."""
    rng = random.Random(seed)
    text = random_build(seed)
    for line in text.splitlines():
        name = line.removeprefix('name = "').rstrip('"')
        if "tee" in name and line.startswith("name") and rng.random() < 0.25:
            drain, rise = f"drain of {name}", rng.uniform(-0.4, 0.1)
            text += f'\n[[drain_valve]]\nname = "{drain}"\n'
            text += f'[[run]]\nfrom = "{name}"\nto = "{drain}"\ntube = "PEX 1/2 in"\n'
            text += f'length = "0.5 m"\nrise = "{rise:.3f} m"\n'
    return text


@dataclass
class Cells:
    """Cells with heights, joined two ways or one; ``run`` tells which run a cell is of."""

    height: list[float] = field(default_factory=list)
    run: list[int] = field(default_factory=list)
    both: list[set[int]] = field(default_factory=list)
    one_way: list[tuple[int, int, float]] = field(default_factory=list)
    open: set[int] = field(default_factory=set)

    def add(self, height: float, run: int = -1) -> int:
        self.height.append(height)
        self.run.append(run)
        self.both.append(set())
        return len(self.height) - 1

    def join(self, a: int, b: int) -> None:
        self.both[a].add(b)
        self.both[b].add(a)


def cells_of(build: Build, count: int = CELLS) -> Cells:
    """Every run in cells, every port a cell of its own."""
    high, made = heights(build), Cells()
    port: dict[str, int] = {}

    def at(component: str, name: str) -> int:
        key = f"{component}.{name}"
        if key not in port:
            port[key] = made.add(high[component])
        return port[key]

    for number, (a, b) in enumerate(build.run_ends):
        last, start = at(a.component, a.port), high[a.component]
        rise = high[b.component] - start
        for k in range(count):
            here = made.add(start + rise * (k + 0.5) / count, number)
            made.join(last, here)
            last = here
        made.join(last, at(b.component, b.port))
    for strainer in build.strainer:
        made.open.add(at(strainer.name, "inlet"))
        made.join(at(strainer.name, "inlet"), at(strainer.name, "outlet"))
    for stop in build.shut_off:
        made.join(at(stop.name, "inlet"), at(stop.name, "outlet"))
    for manifold in build.manifold:
        for zone in build.zones(manifold.name):
            made.join(at(manifold.name, "inlet"), at(manifold.name, zone.name))
    for pump in build.pump:
        ends = at(pump.name, "inlet"), at(pump.name, "outlet")
        if pumps.has_check(build, pump):
            made.one_way.append((*ends, 20000 / WEIGHT))
        else:
            made.join(*ends)
    for check in build.check_valve:
        ends = at(check.name, "inlet"), at(check.name, "outlet")
        made.one_way.append(
            (*(reversed(ends) if check.reversed else ends), check.cracking / WEIGHT)
        )
    for regulator in build.regulator:
        made.one_way.append((at(regulator.name, "inlet"), at(regulator.name, "outlet"), 0.0))
    for heater in build.heater:
        made.join(at(heater.name, "cold"), at(heater.name, "hot"))
        if heater.kind != "flow-through":
            made.open.add(at(heater.name, "cold"))
    for valve in build.mixing_valve:
        for side, checked in (("hot", valve.hot_check), ("cold", valve.cold_check)):
            if checked:
                made.one_way.append((at(valve.name, side), at(valve.name, "mixed"), 2000 / WEIGHT))
            else:
                made.join(at(valve.name, side), at(valve.name, "mixed"))
    names = [(c.name, p) for c in (*build.fixture,) for p in ("inlet", "hot", "cold")]
    names += [(c.name, "inlet") for c in build.drain_valve]
    names += [(c.name, "outlet") for c in build.shore_inlet if c.backflow != "double check"]
    names += [(c.name, p) for c in build.tank for p in ("fill", "outlet")]
    made.open |= {port[f"{n}.{p}"] for n, p in names if f"{n}.{p}" in port}
    return made


def run_out(made: Cells) -> set[int]:
    """The cells that are still full when nothing moves any more."""
    height, full = made.height, set(range(len(made.height)))

    def body(start: int) -> set[int]:
        found, todo = {start}, [start]
        while todo:
            for other in made.both[todo.pop()]:
                if other in full and other not in found:
                    found.add(other)
                    todo.append(other)
        return found

    def room(water: set[int], top: float) -> int | None:
        """A cell, open or empty, that water which stands so high gets to; -1 for out of it."""
        seen, todo = set(water), list(water)
        while todo:
            here = todo.pop()
            if here in made.open and height[here] <= top + 1e-9:
                return -1
            ahead = [n for n in made.both[here] if n not in full]
            ahead += [b for a, b, c in made.one_way if a == here and c == 0 and b not in full]
            for other in ahead:
                if other in seen or height[other] > top + 1e-9:
                    continue
                if height[other] < top - 1e-9:
                    return other
                seen.add(other)
                todo.append(other)
        return None

    moved = True
    while moved:
        moved = False
        left = set(full)
        while left:
            water = body(next(iter(left)))
            left -= water
            if not water <= full:
                continue
            highest = max(water, key=height.__getitem__)
            top = height[highest]
            goes = room(water, top)
            for a, b, column in made.one_way:
                if goes is not None:
                    break
                if a not in water or top <= max(height[a], height[b]) + column + 1e-9:
                    continue
                if b not in full:
                    goes = b
                elif b not in water:
                    beyond = body(b)
                    if max(height[cell] for cell in beyond) < top - column - 1e-9:
                        goes = room(beyond, top - column)
            if goes is None:
                continue
            full.discard(highest)
            if goes != -1:
                full.add(goes)
            moved = True
    return full


def volume_of(build: Build, run: int) -> float:
    row = table("tubes", build.rows)[build.run[run].tube]
    return pi / 4 * row.number("bore") ** 2 * build.run[run].length


def disagree(build: Build, found: Draining, count: int, by: float) -> list[int]:
    """Runs in which other water stays than in the simulation, give or take half a cell.

    ``by``: m by which the water may stand higher or lower than worked out.
    """
    made = cells_of(build, count)
    left = run_out(made)
    system = found.system
    level = levels(system.heights, system.passages, system.mouths)
    off = []
    for number, (a, b) in enumerate(build.run_ends):
        stays = sum(made.run[cell] == number for cell in left) / count
        low, high = sorted((system.heights[str(a)], system.heights[str(b)]))
        up_to = min(level[str(a)], level[str(b)])

        def share(top: float, low: float = low, high: float = high) -> float:
            if high - low <= 1e-6:
                return float(top > high + 1e-6)
            return min(max((top - low) / (high - low), 0.0), 1.0)

        # one cell may be full to its middle or not at all
        half = 0.5 / count + 1e-9
        if not share(up_to - by) - half <= stays <= share(up_to + by) + half:
            off.append(number)
    heaters = {heater.name for heater in build.heater}
    in_runs = sum(v for p in found.pockets for label, v in p.parts if label not in heaters)
    simulated = sum(volume_of(build, made.run[c]) / count for c in left if made.run[c] >= 0)
    bound = sum(volume_of(build, n) for n in range(len(build.run))) * 0.5 / count
    if not by and abs(in_runs - simulated) > bound:
        off.append(-1)
    return off


@pytest.mark.parametrize("seed", [*range(SEEDS), *ON_THE_BRIM])
def test_the_same_water_stays_as_in_a_simulation_by_cells(seed: int) -> None:
    """Where cells are too coarse to tell, or water stands level with a brim, finer ones must do."""
    build = loads(text_of(seed))
    found = Draining(build)
    if disagree(build, found, CELLS, 0.0):
        high = found.system.heights
        tallest = max(abs(high[str(a)] - high[str(b)]) for a, b in build.run_ends) / FINE
        assert disagree(build, found, FINE, tallest / 2 + 1e-6) == []


def test_the_random_vans_keep_pockets_of_each_sort() -> None:
    """So that the simulation is not compared on vans that run dry."""
    seen = {"none": 0, "some": 0, "check": 0, "shut in": 0, "drain": 0, "partly full": 0}
    for seed in range(SEEDS):
        found = Draining(loads(text_of(seed)))
        seen["none" if not found.pockets else "some"] += 1
        seen["check"] += any(pocket.blocked for pocket in found.pockets)
        seen["shut in"] += any(pocket.level == float("inf") for pocket in found.pockets)
        seen["drain"] += len(found.build.drain_valve)
        seen["partly full"] += any(0 < p.level - p.height < 0.2 for p in found.pockets)
    assert all(seen.values()), seen


@pytest.mark.parametrize("seed", range(0, SEEDS, 2))
def test_drains_empty_everything_and_none_can_be_spared(seed: int) -> None:
    """With every spot open but those of one place, water still stays there: it needs its own."""
    build = loads(text_of(seed))
    made = standing(build)
    groups = bottoms(made.heights, made.passages, made.mouths)
    mended = {*made.mouths, *(group[0] for group in groups)}
    assert pockets(made.heights, made.passages, mended) == ()
    needed = {spot for pocket in pockets(made.heights, made.passages, made.mouths)
              for spot in pocket.bottoms}  # fmt: skip
    for group in groups:
        if group[0] not in needed:
            continue
        others = set(made.heights) - set(group)
        kept = pockets(made.heights, made.passages, others)
        assert any(set(group) & pocket.spots for pocket in kept), group


def test_a_tube_that_sags_holds_what_lies_below_its_lower_end() -> None:
    """By hand: 1 m down and 2 m up of 1 L each metre of height; the mouth stands 1 m up."""
    high = {"a": 1.0, "low": 0.0, "b": 2.0}
    ways = [Passage("a", "low", 1e-3, "down"), Passage("low", "b", 2e-3, "up")]
    (one,) = pockets(high, ways, {"a"})
    assert (one.lowest, one.level, one.bottoms) == ("low", 1.0, ("low",))
    assert dict(one.parts) == {"down": approx(1e-3), "up": approx(1e-3)}
    assert pockets(high, ways, {"a", "low"}) == ()


def test_a_check_valve_keeps_a_column_before_it_and_all_behind_it() -> None:
    """Water 3 m above a check that opens at 1 m of water: that metre stays; none comes back."""
    high = {"top": 3.0, "before": 0.0, "behind": 0.0, "end": 1.0}
    pipe = [Passage("before", "top", 3e-3, "before"), Passage("behind", "end", 1e-3, "behind")]
    forward = Passage("before", "behind", 0.0, "", True, 1.0, "check")
    (one,) = pockets(high, [*pipe, forward], {"behind"})
    assert dict(one.parts) == {"before": approx(1e-3)}
    assert one.blocked == ("check",)
    backward = Passage("behind", "before", 0.0, "", True, 0.0, "check")
    (one,) = pockets(high, [*pipe, backward], {"behind"})
    assert one.level == float("inf") and one.volume == approx(3e-3)


def test_a_level_row_drains_by_any_of_its_spots() -> None:
    high = dict.fromkeys("abc", 1.0)
    ways = [Passage("a", "b", 1e-3), Passage("b", "c", 1e-3)]
    assert bottoms(high, ways, ()) == (("a", "b", "c"),)
    assert pockets(high, ways, {"c"}) == ()


# the papers


def test_a_drain_valve_at_the_low_point_is_named_and_empties_its_pocket() -> None:
    text = example("heron").text
    before = Draining(loads(text))
    place = before.pockets[0].bottoms[0].partition(".")[0]
    assert place == "pump"
    run = next(r for r in before.build.run if r.start == "pump")
    new = text.replace(f'from = "pump"\nto = "{run.end}"', f'from = "low tee"\nto = "{run.end}"', 1)
    assert new != text
    new += (
        '\n[[tee]]\nname = "low tee"\n\n[[drain_valve]]\nname = "low drain"\n'
        '\n[[run]]\nfrom = "pump"\nto = "low tee"\ntube = "PE-X 16x2.0"\nlength = "0.1 m"\n'
        '\n[[run]]\nfrom = "low tee"\nto = "low drain"\ntube = "PE-X 16x2.0"\nlength = "0.2 m"\n'
        'rise = "-0.15 m"\n'
    )
    pack = Pack(loads(new))
    after = pack.shop.draining
    assert "low drain" in after.opened and "low drain" in " ".join(pack.shop.winter.drains)
    assert after.stays < before.stays / 2
    assert not any("pump.outlet" in pocket.spots for pocket in after.pockets)


def test_the_board_counts_as_it_hangs() -> None:
    """Handles and a mixing valve below the header: what hangs below the feed can't run out."""
    build = loads(SOUND)
    hangs = ("cold lying", *(f"cold.{z.name} side right" for z in build.zone), "mixer turn 90")
    pack = Pack(replace(build, board=replace(build.board, pin=hangs)))
    found = pack.shop.draining
    high, layout = found.system.heights, pack.board.layout
    (feed,) = (o for o in layout.opens if o.what.startswith("feed of "))
    assert high["cold.inlet"] == approx(heights(pack.build)["cold"])
    for zone in (o for o in layout.opens if o.zone):
        assert high[zone.zone] - high["cold.inlet"] == approx((zone.y - feed.y) / 1e7, abs=1e-9)
        assert high[zone.zone] < high["cold.inlet"]
    row = table("tubes", pack.build.rows)["PEX 1/2 in"]
    below = [cut for cut in pack.board.cut_list.cuts if cut.kind == "stub"]
    area = pi / 4 * row.number("bore") ** 2
    stubs = sum(cut.length for cut in below) / 1e7 * area
    tubes = {cut.label for cut in below}
    in_stubs = sum(v for p in found.pockets for label, v in p.parts if label in tubes)
    assert in_stubs == approx(stubs, rel=1e-6)
    assert any("mixer" in name for p in found.pockets for name in p.blocked)
    told = [f for f in pack.findings if f.rule == "board_keeps_water"]
    assert told and told[0].value == approx(found.on_board)


def test_a_part_that_hangs_elsewhere_than_its_runs_lead_is_told() -> None:
    """The rise of the run to it by the board's own height, and nothing more is said."""
    pack = Pack(loads(SOUND))
    off = pack.shop.draining.system.off
    assert all(abs(by) < 1 for by in off.values())
    told = [f for f in pack.findings if f.rule == "board_stands_elsewhere"]
    worst = max(off, key=lambda name: abs(off[name]), default="")
    if worst and abs(off[worst]) > 0.1:
        assert [f.where for f in told] == [worst]
        assert told[0].value == approx(abs(off[worst]))
    dipper = Pack(example("dipper"))
    away = dipper.shop.draining.system.off
    assert set(away) == {"hot manifold", "basin valve"}
    assert all(abs(by) < 0.1 for by in away.values())
    assert not [f for f in dipper.findings if f.rule == "board_stands_elsewhere"]
    runs = tuple(
        replace(run, rise=run.rise - 0.2) if run.end == "hot manifold" else run
        for run in dipper.build.run
    )
    lower = Pack(replace(dipper.build, run=runs))
    (found,) = [f for f in lower.findings if f.rule == "board_stands_elsewhere"]
    assert found.where == "hot manifold"
    assert found.value == approx(away["hot manifold"] + 0.2, abs=1e-6)


def test_the_papers_tell_what_stays() -> None:
    pack = Pack(loads(SOUND))
    steps = " ".join(pack.shop.winter.steps)
    assert steps.count("no drain empties this") == len(pack.shop.draining.pockets) > 0
    assert "strainer, bowl off" in steps
    draining = next(g for g in owner_paper(pack.shop).grids if g.title == "Draining")
    assert "stays all the same" in " ".join(str(cell) for row in draining.rows for cell in row)
