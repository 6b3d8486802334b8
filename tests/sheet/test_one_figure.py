"""A question that two chapters touch has one answer: both print the same figure.

Held over the examples and a few vans that nobody drew (more with --roaming).
Where one chapter prints a sum or the greatest of what another lists, that is worked out here from
the list.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator
from functools import cache
from typing import Any

import pytest
from pytest import approx

from tests.cases import cases
from tests.examples import pack_of
from tests.random_vans.vans import make, text_of
from vanplumb.formulas.tube import tube_content
from vanplumb.formulas.water import water_density
from vanplumb.lists.weight import FUEL
from vanplumb.pack import Pack, example
from vanplumb.sheet.contents import sheet_of
from vanplumb.shop.test.stiffness import suction_runs
from vanplumb.van import loads
from vanplumb.van.file.write import changed
from vanplumb.van.water_held import BESIDE
from vanplumb.words.report import Answer, Grid
from vanplumb.words.show import show
from vanplumb.words.tables import table

RANDOM = cases(1, 20)
WHICH = ["wren", "heron", "dipper", *(f"random {n}" for n in range(RANDOM))]
SEEDS = 40
"""Of each so many seeds the first van with water at a tap and a heater is taken."""


@cache
def pack(which: str) -> Pack:
    if not which.startswith("random"):
        return pack_of(which)
    first = SEEDS * int(which.split()[1])
    for seed in range(first, first + SEEDS):
        van = make(seed)
        if 1 < len(van.get("fixture", ())) < 4 and van.get("heater") and van.get("pump"):
            return Pack(loads(text_of(van)))
    raise AssertionError(f"no such van from {first} on")


def answers(pack: Pack) -> dict[tuple[str, str], Answer]:
    return {(c.key, a.label): a for c in pack.chapters for a in (*c.inputs, *c.answers)}


def grids(pack: Pack, chapter: str, title: str) -> Iterator[Grid]:
    for one in pack.chapters:
        if one.key == chapter:
            yield from (g for g in one.grids if g.title.startswith(title))


def rows(pack: Pack, chapter: str, title: str) -> Iterator[dict[str, Any]]:
    """Rows of a grid by its headings, the first column as ``first``."""
    for one in grids(pack, chapter, title):
        heads = ["first", *(c.head for c in one.columns[1:])]
        yield from (dict(zip(heads, row, strict=True)) for row in one.rows)


def of(pack: Pack, chapter: str, label: str) -> float | None:
    """What a chapter answers; None if that is no question in this van."""
    found = answers(pack).get((chapter, label))
    return None if found is None or isinstance(found.value, str) else float(found.value)


def numbers(pack: Pack, chapter: str, title: str, head: str) -> list[float]:
    found = [row.get(head) for row in rows(pack, chapter, title)]
    return [f for f in found if isinstance(f, int | float)]


Pair = tuple[Callable[[Pack], float | None], Callable[[Pack], float | None]]


def answer(chapter: str, label: str) -> Callable[[Pack], float | None]:
    return lambda pack: of(pack, chapter, label)


def total(chapter: str, title: str, head: str) -> Callable[[Pack], float | None]:
    return lambda pack: sum(found) if (found := numbers(pack, chapter, title, head)) else None


def most(chapter: str, title: str, head: str) -> Callable[[Pack], float | None]:
    return lambda pack: max(numbers(pack, chapter, title, head), default=None)


def labelled(chapter: str, begins: str) -> Callable[[Pack], float | None]:
    """The one answer whose label begins so."""

    def found(pack: Pack) -> float | None:
        listed = [a for (c, label), a in answers(pack).items()
                  if c == chapter and label.startswith(begins)]  # fmt: skip
        return float(listed[0].value) if listed else None

    return found


def with_fuel(pack: Pack) -> float | None:
    """Weight of the list of parts, and of the fuel that the chapter on weight counts too."""
    listed = of(pack, "lists", "Parts in the van, without water and fuel")
    fuel = sum(
        row["mass"]
        for row in rows(pack, "weight", "What weighs")
        if isinstance(row["mass"], float) and row["first"] == FUEL
    )
    return None if listed is None else listed + fuel


def highest_said(pack: Pack) -> float | None:
    """What page one tells, or what its note says of shore water before the regulator."""
    told = answers(pack).get(("expansion", "Highest pressure in service"))
    if told is None:
        return None
    _, before, bare = told.note.partition("before its regulator, shore water stands at up to ")
    listed = numbers(pack, "expansion", "Highest pressure at each part", "highest")
    if isinstance(told.value, str):  # it climbs until a part gives, and every list says so
        held = [r["highest"] for r in rows(pack, "expansion", "Highest pressure at each part")]
        assert told.value in held
        return max(listed, default=None)
    if not before:
        return float(told.value)
    assert show(max(listed), "pressure", pack.build.van.units) == bare
    return max(listed)


def axle(which: str) -> Callable[[Pack], float | None]:
    def found(pack: Pack) -> float | None:
        ends = [of(pack, "axles", f"Added on the {end} axle, {which}") for end in ("front", "rear")]
        unplaced = sum(
            row["without a place"] or 0.0
            for row in rows(pack, "axles", "Added on each axle")
            if row["first"] == which
        )
        return None if None in ends else sum(e for e in ends if e is not None) + unplaced

    return found


PAIRS: dict[str, Pair] = {
    "joints of the lists and of the shop": (
        answer("lists", "Joints"),
        answer("shop", "joints to make"),
    ),
    "joints and their kinds": (
        answer("shop", "joints to make"),
        total("shop", "Joints by kind", "joints"),
    ),
    "water of a day and its uses": (
        answer("water", "Water used in a day"),
        total("water", "Uses of water in a day", "in a day"),
    ),
    "current of a day and what draws it": (
        answer("energy", "Energy drawn from the battery in a day, all in"),
        total("energy", "Energy drawn from the battery in a day", "energy"),
    ),
    "highest pressure and the parts'": (
        highest_said,
        most("expansion", "Highest pressure at each part", "highest"),
    ),
    "longest wait and the list of waits": (
        labelled("waiting", "Longest wait"),
        most("waiting", "Waits", "wait"),
    ),
    "most run off and the list of waits": (
        labelled("waiting", "Most run off"),
        most("waiting", "Waits", "run off"),
    ),
    "water that stays and where": (
        answer("frost", "Water that stays with everything open"),
        total("frost", "Water that stays with everything open", "water"),
    ),
    "pieces of tube": (
        answer("lists", "Pieces of tube to cut"),
        lambda pack: float(len(pack.lists.pieces)),
    ),
    "weight without water and the list": (
        labelled("weight", "Parts"),
        with_fuel,
    ),
    "weight without water on both axles": (
        labelled("weight", "Parts"),
        axle("no water"),
    ),
    "fuel of a day and of the mean day": (
        labelled("energy", "Propane in a day"),
        lambda pack: pack.trip.mean_day.fuel,
    ),
}


@pytest.mark.parametrize("which", WHICH)
def test_what_two_chapters_tell_is_one_figure(which: str) -> None:
    held = pack(which)
    apart = {}
    asked = 0
    for question, (one, other) in PAIRS.items():
        first, second = one(held), other(held)
        if first is None or second is None:
            continue
        asked += 1
        if second != approx(first, rel=1e-9, abs=1e-12):
            apart[question] = first, second
    assert apart == {}
    assert asked >= 4


@pytest.mark.parametrize("which", WHICH)
def test_one_label_has_one_value_whatever_the_chapter(which: str) -> None:
    found = defaultdict(set)
    for chapter in pack(which).chapters:
        for one in (*chapter.inputs, *chapter.answers):
            if one.word and not isinstance(one.value, str):
                found[one.label, one.word].add(float(f"{one.value:.9g}"))
    assert {label: values for label, values in found.items() if len(values) > 1} == {}


@pytest.mark.parametrize("which", WHICH)
def test_the_worst_of_a_valve_is_one_figure_in_answers_and_list(which: str) -> None:
    held = pack(which)
    for check in held.mixing.values():
        for label, row in (("Hottest", "hottest"), ("Coldest", "coldest")):
            told = of(held, "mixing", f"{label} at {check.name}")
            listed = [
                r["outlet"] for r in rows(held, "mixing", f"{check.name}:") if r["first"] == row
            ]
            assert listed == ([] if told is None else [told])


@pytest.mark.parametrize("which", WHICH)
def test_a_fixture_alone_gives_one_flow_and_one_temperature_wherever_it_is_told(which: str) -> None:
    held = pack(which)
    told: dict[tuple[str, str], list[float]] = defaultdict(list)
    for name in (f.name for f in held.build.fixture):
        alone = of(held, "flow", f"{name}, alone")
        if alone is not None:
            told[name, "flow"].append(alone)
    for title in ("What one fixture does to another", "The greatest that the others do"):
        for row in rows(held, "flow", title):
            for what, head in (("flow", "flow alone"), ("temperature", "alone")):
                if isinstance(row.get(head), float):
                    told[row["first"], what].append(row[head])
    for moment in held.flow.situations:
        if len(moment.open) == 1 and moment.source == held.flow.source:
            (name,) = moment.open
            gives = moment.fixtures[name]
            if moment.found:
                told[name, "flow"].append(gives.flow)
                told[name, "temperature"].append(gives.temperature)
    for wait in held.trip.waits:
        if told.get((wait.fixture, "flow"), [0.0])[0] > 0:  # else what it is rated for
            told[wait.fixture, "flow"].append(wait.flow)
    for use in held.trip.plant.uses:
        if told.get((use.fixture, "flow"), [0.0])[0] > 0:
            told[use.fixture, "flow"].append(use.flow)
    assert told or held.flow.problem
    for (name, what), values in told.items():
        same = approx(values[0], rel=1e-6, abs=1e-9, nan_ok=True)  # where nothing flows
        assert values == [same] * len(values), (name, what)


@pytest.mark.parametrize("which", WHICH)
def test_what_a_run_takes_is_what_the_network_says_of_it(which: str) -> None:
    """Flow and loss of each run are those of its situation, in which it carries most."""
    held = pack(which)
    if held.flow.problem:
        return
    moments = {m.name: m for m in held.flow.situations if m.found}
    listed = list(rows(held, "runs", "Each run where it carries most"))
    for row in listed:
        links = {n: m.links[f"run {row['first']}"] for n, m in moments.items()}
        link = links[row["situation"]]
        assert row["flow"] == abs(link.flow) > 0
        assert max(abs(k.flow) for k in links.values()) <= row["flow"] * 1.001
        ends = [moments[row["situation"]].nodes[n].pressure for n in (link.start, link.end)]
        down = ends[0] - ends[1] if link.flow > 0 else ends[1] - ends[0]
        assert row["friction"] + row["fittings"] + row["lift"] == approx(down, abs=1e-3)
    (net,) = grids(held, "flow", "The network in full")
    shown = {row["first"]: row for row in rows(held, "flow", "The network in full")}
    for row in listed:
        if net.title.endswith(f": {row['situation']}"):
            twin = shown[f"run {row['first']}"]
            rise = twin["of it, rise"] or 0.0
            taken = row["friction"] + row["fittings"]
            assert taken == approx(abs(twin["loss in all"] - rise), abs=1e-3), row
            assert row["flow"] == abs(twin["flow"])
    carry = {k.place + 1 for m in moments.values() for k in m.links.values() if abs(k.flow) > 1e-9}
    assert {row["first"] for row in listed} == carry - {0}


RUNS = "runs"


def added_up(pack: Pack, chapter: str, ends: str) -> dict[str, float]:
    """What the steps of an answer add up to a volume, by what holds it: the first that tells runs
    or what is beside them, else the first of all."""
    sums = [
        dict(zip(work.told.values(), work.inputs.values(), strict=True))
        for (key, label), one in answers(pack).items()
        if key == chapter and label.endswith(ends)
        for work in one.work
        if work.name == "total" and work.result.name == "volume"
    ]
    return next((s for s in sums if {RUNS, BESIDE} & s.keys()), sums[0] if sums else {})


@pytest.mark.parametrize("which", WHICH)
def test_the_water_of_the_lines_is_one_volume(which: str) -> None:
    """In runs, beside them, in heaters and tanks: weight, dose, winter, frost, waits, days."""
    held = pack(which)
    build, told = held.build, defaultdict(list)
    dense = float(water_density.si(build.van.cold_water))
    weighs = {row["first"]: row["mass"] for row in rows(held, "weight", "What weighs")}
    names = {"water in the runs": RUNS, f"water in {BESIDE}": BESIDE}
    for part in (*build.tank, *build.heater):
        names[f"water in {part.name}"] = part.name
    for label, name in names.items():
        if label in weighs:
            told[name].append(weighs[label] / dense)
    for begins in (" to add", "antifreeze for the winter"):
        sum_of = added_up(held, "shop", begins)
        for name in {RUNS, BESIDE, *(h.name for h in build.heater)} & sum_of.keys():
            told[name].append(sum_of[name])
    for heater in build.heater:
        content = of(held, "heater", f"Content of {heater.name}")
        told[heater.name] += [content] if content is not None else []
    for row in rows(held, "water", "Tanks"):
        (tank,) = (t for t in build.tank if t.name == row["first"])
        if tank.holds == "fresh":
            told[tank.name].append(row["holds"] * tank.fill_share)
    whole = sum(values[0] for name, values in told.items() if name in (RUNS, BESIDE))
    if held.trip.frost.antifreeze is not None:
        told["lines"] += [held.trip.frost.antifreeze.amount, whole]
    told["lines"] += [held.shop.winter.lines, whole]
    tested = added_up(held, "shop", "water taken up per pressure")
    tubes = table("tubes", build.rows)
    sucked = [build.run[n] for n in suction_runs(build)]
    told["runs under test"] += [
        sum(volume for name, volume in tested.items() if name in tubes),
        sum(told[RUNS][:1])
        - sum(tube_content.si(tubes[r.tube].number("bore"), r.length) for r in sucked),
    ]
    assert tested.get(BESIDE, 0.0) <= sum(told[BESIDE][:1]) * (1 + 1e-9)
    plant = held.trip.plant
    for wait in held.trip.waits:
        for use in plant.uses:
            if use.fixture == wait.fixture and use.path:
                way = f"way to {wait.fixture}"
                told[way] += [wait.content, sum(plant.segments[n].content for n in use.path)]
    for name, values in told.items():
        assert values == [approx(values[0], rel=1e-9, abs=1e-15)] * len(values), name
    assert len(told[RUNS]) >= 3 or not build.run


def test_page_one_tells_what_has_no_mass_and_for_which_night_nothing_freezes() -> None:
    """Notes stand in the chapters; what would mislead without them is in the answer itself."""
    build = loads(changed(example("wren").text, {"tank.can.mass_empty": None}))
    pack = Pack(build)
    first = {fact.label: fact.value for fact in sheet_of(pack).answers}
    [weight] = [label for label in first if label.startswith("All of it")]
    assert weight.endswith(f", {len(pack.weight.unknown)} unweighed") and pack.weight.unknown
    assert "°C outside" in first["Runs that reach freezing in the night"]
