"""Laws of the lists over the examples and a thousand random vans.

Whatever a van is made of: joints join ends that fit, pieces and take-offs are the run, rings
bought are enough for the joints, the bill weighs what the weight says, and the water in the
pieces and fittings of the runs is what flow, trip, test and disinfection use.
"""

from __future__ import annotations

import random
import re
from dataclasses import replace
from functools import lru_cache
from math import pi
from typing import Any

import pytest
from pytest import approx

from tests.cases import cases
from tests.examples import pack_of
from tests.flow.random_builds import random_build
from vanplumb.board.as_laid import as_laid
from vanplumb.board.parts.catalogue import Catalogue
from vanplumb.board.plan import BoardPlan
from vanplumb.flow.elasticity import content_of
from vanplumb.lists import Lists
from vanplumb.lists.beside_runs import LOOSE
from vanplumb.pack import examples
from vanplumb.shop.disinfect import plan_dose
from vanplumb.shop.draining.passages import standing
from vanplumb.shop.test.stiffness import stiffness, suction_runs
from vanplumb.shop.winter import plan_winter
from vanplumb.trip.cold.frost import frost
from vanplumb.trip.hot_runs.waits import waits
from vanplumb.van import Build, loads
from vanplumb.van.ends import METALS, methods_for, size_of
from vanplumb.van.header_form import TEES, form_of
from vanplumb.van.hot_ways import hot_ways
from vanplumb.van.kinds.line_parts import wetted
from vanplumb.van.parts import Run, ShutOff
from vanplumb.van.tank_shapes import volume
from vanplumb.van.tees import runs_of
from vanplumb.van.water_held import along, held_beside_runs, stretches
from vanplumb.words.tables import table

SEEDS = cases(100, 1000)
WITH_BOARD = cases(4, 40)
TO_RUNS = (
    "", "", "", '"insert elbow 90" = 1', '"insert elbow 90" = 3', '"bend" = 2', '"elbow 45" = 2',
    '"insert coupling" = 1', '"union" = 1', '"insert adapter" = 2, "insert elbow 90" = 1',
)  # fmt: skip
METHODS = {"PEX": ("", "", "crimp"), "PE-X": ("", "compression"), "hose": ("",)}
TUBES = ("PEX 1/2 in", "PEX 3/8 in", "PE-X 16x2.0", "PE-X 12x2.0", "hose 12 mm")
ENDS = ("1/2 in R male brass", "3/4 in NPT female plastic", "16 mm push-fit plastic",
        "1/2 in G male stainless", "1/2 in expansion spigot plastic")  # fmt: skip


def random_text(seed: int) -> str:
    """A random van, with random fittings, ways of joining and ends."""
    rng = random.Random(seed)

    def more(match: re.Match[str]) -> str:
        tube = match[1]
        material = "hose" if tube.startswith("hose") else tube.split()[0]
        said = rng.choice(TO_RUNS)
        lines = f"\nfittings = {{ {said} }}" if said else ""
        method = rng.choice(METHODS[material])
        return match[0] + lines + (f'\njoint = "{method}"' if method else "")

    text = re.sub(r'^tube = "([^"]+)"$(?=\nlength)', more, random_build(seed), flags=re.M)
    if rng.random() < 0.3:
        end = f'\nends = {{ cold = "{rng.choice(ENDS)}" }}'
        text = text.replace('[[heater]]\nname = "heater"', f'[[heater]]\nname = "heater"{end}')
    return with_parts(text, random.Random(f"parts of {seed}"))


def with_parts(text: str, rng: random.Random) -> str:
    """The same van, half the time with parts in its lines, drains, vents, bypasses and hoses."""
    if rng.random() < 0.5:
        return text
    many = rng.randint(0, 3)
    runs = list(re.finditer(r'\[\[run\]\]\nfrom = "([^"]+)"\nto = "([^"]+)"\n', text))
    more = ""
    for n, run in enumerate(
        sorted(rng.sample(runs, min(many, len(runs))), key=lambda m: -m.start())
    ):
        kind, bypass = rng.choice(sorted(table("line_parts"))), rng.choice(("true", "false"))
        name = f"part {n}"
        more += f'[[line_part]]\nname = "{name}"\nkind = "{kind}"\nbypass = {bypass}\n'
        more += f'[[run]]\nfrom = "{name}"\nto = "{run[2]}"\ntube = "{rng.choice(TUBES)}"\n'
        more += f'length = "{rng.uniform(0.3, 2):.3f} m"\n'
        before = f'[[run]]\nfrom = "{run[1]}"\nto = "{name}"\n'
        text = text[: run.start()] + before + text[run.end() :]
    for tee in re.findall(r'\[\[tee\]\]\nname = "([^"]+)"', text):
        kind = rng.choice(("", "", "drain_valve", "air_vent"))
        if kind:
            more += f'[[{kind}]]\nname = "{kind} of {tee}"\n[[run]]\nfrom = "{tee}"\n'
            more += f'to = "{kind} of {tee}"\ntube = "{rng.choice(TUBES)}"\nlength = "0.4 m"\n'
    hoses = 'fill_diameter = "38 mm"\nvent_diameter = "19 mm"\nfill_hose = "0.8 m"\n'
    text = text.replace('[[tank]]\nname = "fresh"\n', f'[[tank]]\nname = "fresh"\n{hoses}', 1)
    said = rng.choice(("", "", 'bypass_length = "0.3 m"\n'))
    bypass = f'bypass = "{rng.choice(("one valve", "three valves"))}"\n{said}'
    text = text.replace(
        '[[heater]]\nname = "heater"\n', f'[[heater]]\nname = "heater"\n{bypass}', 1
    )
    return text + "\n" + more


@lru_cache(maxsize=4)
def build_of(seed: int) -> Build:
    return loads(random_text(seed))


def check_joints(lists: Lists) -> None:
    """Each joint's two ends exist and fit; no name is used twice; each piece has two."""
    names = [joint.name for joint in lists.joints]
    assert len(set(names)) == len(names)
    own = lists.build.rows
    for joint in lists.joints:
        assert joint.ends and joint.place and joint.time > 0, joint.name
        if joint.tube:
            (end,) = joint.ends
            if joint.refused:
                continue
            assert end.holds in methods_for(joint.tube, own), joint.name
            assert end.size == size_of(joint.tube, own), joint.name
        elif joint.hose:
            (end,) = joint.ends
            assert end.holds == joint.kind == "hose clamp" and joint.rings == 1, joint.name
        elif joint.kind != "bulkhead":
            one, other = joint.ends
            assert one.mates(other), (joint.name, str(one), str(other))
            sealed = one.takes_compound and other.takes_compound
            assert bool(joint.compound) == bool(joint.thread) == sealed
            soft = any(m not in METALS for m in joint.materials)
            if joint.engagement:
                assert joint.engagement.wrench_turns == (2 if soft else 3)
    beside = ("relief drain", "bypass of")  # of a device: its tube may not be said, or ends open
    on_tube = sum(1 for j in lists.joints if j.tube and not any(b in j.name for b in beside))
    assert on_tube == 2 * sum(1 for piece in lists.pieces if piece.kind != LOOSE)


def check_pieces(lists: Lists) -> None:
    """Pieces and take-offs are the run; each piece lies between two parts that hold it."""
    for way in lists.ways.runs:
        fittings = [used.part for used in lists.fittings if used.run == way.index]
        through = sum(sum(p.take_offs[:1]) + sum(p.take_offs[-1:]) for p in fittings)
        ends = sum(end.take_off for end in way.ends)
        cut = sum(piece.length for piece in way.made.pieces)
        if not way.on_board:
            assert way.length == way.run.length
            assert cut + through + ends == approx(way.length, abs=1e-9), way.index + 1
        bare = sum(piece.bare for piece in way.made.pieces)
        into = sum(sum(piece.insertions) for piece in way.made.pieces)
        assert bare + into + way.take_offs == approx(way.length, abs=1e-9)
        if way.short <= 0:
            assert all(piece.bare >= -1e-9 for piece in way.made.pieces)


def check_bill(lists: Lists) -> None:
    """Rings bought are enough, threads have compound, and the bill weighs what the weight does."""
    bill = lists.bill
    rings: dict[str, int] = {}
    for joint in lists.joints:
        if joint.rings:
            name = f"{joint.collar} for {joint.tube or f'hose, {joint.hose}'}"
            rings[name] = rings.get(name, 0) + joint.rings
    for name, many in rings.items():
        assert bill.line(name).needed == many and bill.line(name).bought >= many
    for compound in {joint.compound for joint in lists.joints if joint.thread}:
        assert bill.line(compound).bought >= 1
    weight = lists.weight
    fuel = sum(load.mass for load in weight.loads if load.name == "fuel for the heater")
    assert weight.dry - fuel == approx(bill.mass, rel=1e-12)
    parts: dict[str, int] = {}
    for used in lists.fittings:
        parts[used.part.name] = parts.get(used.part.name, 0) + 1
    for name, many in parts.items():
        assert bill.line(name).needed - bill.line(name).on_board == many


def check_cut_plan(lists: Lists) -> None:
    """Every piece that can be cut is cut once, from a length that takes it."""
    for tube, plan in lists.cut_plan.items():
        wanted = sorted(round(piece.length * 1e7) for piece in lists.by_tube[tube])
        assert sorted([*plan.pieces, *plan.missing]) == wanted
        for bar in plan.bars:
            assert sum(bar.pieces) <= bar.length


def in_headers(lists: Lists) -> float:
    """m³ in headers that no board lays out, piece by piece: tubes, fittings and valves."""
    build, made = lists.build, lists.headers.made
    catalogue, tubes = Catalogue(build), table("tubes", build.rows)
    held = 0.0
    for manifold in build.manifold:
        own = [p for p in made.pieces if p.between[0].startswith(f"{manifold.name} ")]
        fittings = [u for u in made.fittings if u.name.startswith(f"{manifold.name} ")]
        length = sum(piece.centres for piece in own) + fittings[0].part.take_offs[0]
        for zone in build.zones(manifold.name):
            of_kind = catalogue.find("valve", manifold.tube, valve=zone.valve)
            valve = next(iter(of_kind or catalogue.find("valve", manifold.tube)), None)
            if valve is not None:
                length += sum(valve.port(name).take_off for name in ("inlet", "outlet")) / 1000
        held += pi / 4 * tubes[manifold.tube].number("bore") ** 2 * length
    return held


def check_water(lists: Lists, full: bool = True) -> None:
    """Water in the pieces and in the fittings between them, at the tube's bore.

    In runs, in headers and in the bodies of valves and the like: the same in every sum.
    """
    build = lists.build
    tubes = table("tubes", build.rows)
    held = {}
    for way in lists.ways.runs:
        if way.on_board:
            continue
        length = sum(piece.length for piece in way.made.pieces) + way.take_offs
        held[way.index] = pi / 4 * tubes[way.run.tube].number("bore") ** 2 * length
    runs = list(held)
    assert content_of(build, runs).volume == approx(sum(held.values()), rel=1e-9)
    suction = suction_runs(build)
    tested = {p.name: p.volume for p in stiffness(build, 3e5).parts}
    for index in set(runs) - suction:
        part = next(v for name, v in tested.items() if name.startswith(f"run {index + 1},"))
        assert part == approx(held[index], rel=1e-9)
    beside = stretches(build)
    if lists.headers.parts and lists.board is not None:
        names = {m.name for m in build.manifold}
        told = sum(one.volume for one in beside if one.component in names)
        assert told == approx(standing(build, lists.board).in_headers, rel=1e-9)
        for way in lists.ways.runs:
            if way.on_board:
                pieces = way.made.pieces
                through = sum(sum(piece.take_offs) for piece in pieces)
                through -= pieces[0].take_offs[0] + pieces[-1].take_offs[1]
                length = sum(piece.length for piece in pieces) + through
                held[way.index] = pi / 4 * tubes[way.run.tube].number("bore") ** 2 * length
    if len(held) == len(build.run):
        if not lists.headers.parts:
            headers = {m.name for m in build.manifold}
            told = sum(one.volume for one in beside if one.component in headers)
            if all(form_of(build, m) == TEES for m in build.manifold):
                assert told == approx(in_headers(lists), rel=1e-9)
            odd = [t.name for t in build.tee if len(runs_of(build, t.name)) != 3]
            stubs = [p for n in odd for p in lists.ways.tees[n].made.pieces]
            area = {p.tube: pi / 4 * tubes[p.tube].number("bore") ** 2 for p in stubs}
            in_rows = sum(p.centres * area[p.tube] for p in stubs)
            told = sum(one.volume for one in beside if one.component in odd)
            assert told == approx(in_rows, rel=1e-9, abs=1e-12)
        bodies = sum(one.volume for one in beside)
        lines = sum(held.values()) + bodies
        assert held_beside_runs(build) == approx(bodies, rel=1e-12)
        if full:
            assert plan_winter(build).lines == approx(lines, rel=1e-9)
            fill = frost(build, outside=263.15).antifreeze
            assert fill is not None and fill.amount == approx(lines, rel=1e-9)
        for one in beside:
            if one.name in tested:
                assert tested[one.name] == approx(one.volume, rel=1e-12)
        heaters = sum(h.volume or 0.0 for h in build.heater)
        tanks = sum(volume(t) for t in build.tank if t.holds == "fresh")
        bowls = sum(much for _, much in wetted(build, "disinfecting"))
        dosed = plan_dose(build).volume
        assert dosed == approx(lines + heaters + tanks + bowls, rel=1e-9)
        loads = {load.name: load.mass for load in lists.weight.loads}
        if bodies:
            by_run = loads["water in the runs"] / sum(held.values())
            assert loads["water in headers and valves"] == approx(by_run * bodies, rel=1e-9)
        for wait in waits(build) if full else ():
            _, way = hot_ways(build)[wait.fixture]
            passes = sum(leg.stretch.volume for leg in along(build, way.runs) if leg.stretch)
            assert wait.content == approx(sum(held[n] for n in way.runs) + passes, rel=1e-9)
        water = [load for load in lists.weight.loads if load.name == "water in the runs"]
        dense = sum(load.mass for load in water) / sum(held.values())
        assert 950 < dense < 1001


def check(lists: Lists, cut: bool = True) -> None:
    check_joints(lists)
    check_pieces(lists)
    check_water(lists, cut)
    if cut:
        check_cut_plan(lists)
    check_bill(lists)


@pytest.mark.parametrize("start", range(0, SEEDS, 25))
def test_laws_hold_over_random_vans(start: int) -> None:
    for seed in range(start, start + 25):
        check(Lists(build_of(seed)), cut=seed % 10 == 0)


OPTIONS = (
    {},
    {"bend_corners": True},
    {"clip_valves": True, "hot_side": "right"},
    {"form": "fewest joints", "isolators": True},
)
"""What the boards of the random vans have beside what they say, in turn."""


def with_options(seed: int, options: dict[str, Any]) -> Build:
    """A random van with keys of the board and the shop set."""
    text = random_text(seed)
    if options.get("bend_corners"):
        text = text.replace("[shop]\n", "") + "\n[shop]\nbend_corners = true\n"
    build = loads(text)
    board = {k: v for k, v in options.items() if k in ("clip_valves", "hot_side")}
    build = replace(build, board=replace(build.board, **board))
    if "form" in options:
        manifolds = tuple(replace(m, form=options["form"]) for m in build.manifold)
        build = replace(build, manifold=manifolds)
    if options.get("isolators") and build.manifold:
        tubes = {m.name: m.tube for m in build.manifold}
        runs = [replace(r, end=f"{r.end} valve") if r.end in tubes else r for r in build.run]
        runs += [Run(start=f"{m} valve", end=m, tube=t, length=0.2) for m, t in tubes.items()]
        build = replace(
            build,
            run=tuple(runs),
            shut_off=(*build.shut_off, *(ShutOff(name=f"{m} valve") for m in tubes)),
            board=replace(build.board, pin=tuple(f"{m} valve on board" for m in tubes)),
        )
    return build


def test_laws_hold_over_random_vans_with_their_boards() -> None:
    done = 0
    for seed in range(1000):
        build = with_options(seed, OPTIONS[done % len(OPTIONS)])
        board = BoardPlan(build)
        if not build.manifold or board.trouble:
            continue
        check(Lists(as_laid(build, board), board))
        done += 1
        if done == WITH_BOARD:
            break
    assert done == WITH_BOARD


@pytest.mark.parametrize("name", examples())
def test_laws_hold_over_the_examples(name: str) -> None:
    pack = pack_of(name)
    check(pack.lists)
    assert pack.shop.joints is pack.lists.joints
    assert not any(chain.trouble for way in pack.lists.ways.runs for chain in way.chains)
    assert not any(joint.refused for joint in pack.lists.joints)


def test_random_vans_are_all_sorts() -> None:
    """So that the laws above are not held to empty lists."""
    seen = {"stub": 0, "short": 0, "union": 0, "crimp": 0, "washer": 0, "tees": 0, "refused": 0,
            "parts": 0, "drains": 0, "bypasses": 0, "hoses": 0}  # fmt: skip
    for seed in range(0, 1000, 60):
        lists = Lists(build_of(seed))
        kinds = [joint.kind for joint in lists.joints]
        seen["stub"] += sum(p.kind == "stub" and p.run is not None for p in lists.pieces)
        seen["short"] += sum(way.short > 0 for way in lists.ways.runs)
        seen["union"] += kinds.count("union")
        seen["crimp"] += kinds.count("crimp")
        seen["washer"] += kinds.count("washer thread")
        seen["tees"] += sum(len(tee.made.fittings) > 0 for tee in lists.ways.tees.values())
        seen["parts"] += len(lists.build.line_part)
        seen["drains"] += len(lists.build.drain_valve) + len(lists.build.air_vent)
        seen["bypasses"] += sum("bypass" in joint.name for joint in lists.joints)
        seen["hoses"] += kinds.count("hose clamp")
        seen["refused"] += sum(not joint.refused for joint in lists.joints)
    assert all(seen.values()), seen
