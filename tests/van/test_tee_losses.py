"""Tees that no run of the file counts: what they take, once each, as the tee that is bought."""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import replace

import pytest
from pytest import approx

from tests.flow.random_builds import random_build
from tests.small_van import head, run, tap, tee
from vanplumb.flow.components import valve_loss
from vanplumb.flow.van_network import header_links, network
from vanplumb.pack import example
from vanplumb.van import Build, loads
from vanplumb.van.run_ends import RunEnds, picked_losses, tee_loss
from vanplumb.van.tee_losses import INSIDE, stated_tees
from vanplumb.van.zone_order import zones_along
from vanplumb.words.tables import table

HEAD = head()


def van(to_tee: str = "", to_one: str = "", to_two: str = "") -> Build:
    return loads(
        HEAD + tee("split") + tap("one") + tap("two") + run("fresh", "pump")
        + run("pump", "split", to_tee) + run("split", "one", to_one, "4 ft")
        + run("split", "two", to_two, "2 ft")
    )  # fmt: skip


def k(name: str) -> float:
    return table("fittings")[name].number("loss_coefficient")


def heads(build: Build) -> list[float]:
    """All velocity heads of each run, as the network has them."""
    net = network(build).net
    return [float(net.link(f"run {n + 1}").loss) for n in range(len(build.run))]


def test_a_tee_counts_as_if_the_file_had_said_it() -> None:
    """The table's K for straight on and for round the corner, each in the run that leaves."""
    silent, said = van(), van(to_one='"insert tee branch" = 1', to_two='"insert tee run" = 1')
    assert heads(silent) == approx(heads(said))
    assert not RunEnds(said).tee_passes
    rows = Counter(
        row for p in RunEnds(silent).tee_passes.values() for one in p for row in one.rows
    )
    assert rows == {"insert tee run": 1, "insert tee branch": 1}
    less = [a - b for a, b in zip(heads(silent)[2:], heads(van(to_tee='"insert tee run" = 1'))[2:],
                                  strict=True)]  # fmt: skip
    assert sorted(less) == approx([k("insert tee run"), k("insert tee branch")])


def test_a_tee_that_the_run_to_it_counts_is_not_counted_again() -> None:
    assert not RunEnds(van(to_tee='"insert tee run" = 1')).tee_passes


def test_half_a_statement_leaves_the_other_way_to_be_counted() -> None:
    found = RunEnds(van(to_one='"insert tee branch" = 1')).tee_passes
    assert {n: [one.rows for one in passes] for n, passes in found.items()} == {
        3: [("insert tee run",)]
    }


def test_a_run_between_two_tees_stands_for_the_one_that_nothing_else_counts() -> None:
    parts = HEAD + tee("first") + tee("second") + "".join(tap(n) for n in ("one", "two", "three"))
    ways = (
        run("fresh", "pump") + run("pump", "first", '"insert tee run" = 1')
        + run("first", "one", '"insert tee branch" = 1')
        + run("first", "second", '"insert tee run" = 1') + run("second", "two")
        + run("second", "three")
    )  # fmt: skip
    assert not RunEnds(loads(parts + ways)).tee_passes
    bare = ways.replace('"insert tee run" = 1', "", 1).replace("fittings = {  }\n", "")
    found = RunEnds(loads(parts + bare)).tee_passes
    assert {one.tee for passes in found.values() for one in passes} == {"second"}


def test_two_waters_that_meet_count_where_they_come_in() -> None:
    """A shore inlet beside the pump: each takes its own way through the tee, what leaves none."""
    text = (
        HEAD + tee("meet") + tap("one")
        + '[[shore_inlet]]\nname = "shore"\npressure = "40 psi"\n'
        + run("fresh", "pump") + run("pump", "meet") + run("shore", "meet") + run("meet", "one")
    )  # fmt: skip
    assert set(RunEnds(loads(text)).tee_passes) == {1, 2}


def test_four_runs_pass_a_row_of_two_tees() -> None:
    """By hand: the far end of the row is reached straight through both tees."""
    text = (
        HEAD + tee("split") + "".join(tap(n) for n in ("one", "two", "three"))
        + run("fresh", "pump") + run("pump", "split")
        + "".join(run("split", n) for n in ("one", "two", "three"))
    )  # fmt: skip
    found = RunEnds(loads(text)).tee_passes
    rows = sorted(one.rows for passes in found.values() for one in passes)
    straight, corner = "insert tee run", "insert tee branch"
    assert rows == [(corner,), (straight, corner), (straight, straight)]


def test_a_narrow_end_of_a_tee_counts_at_its_own_bore() -> None:
    """A 3/4 in tube to a tee of half-inch ends: K is on the speed in the half inch."""
    wide = (
        HEAD + tee("split") + tap("one") + tap("two") + run("fresh", "pump")
        + run("pump", "split") + run("split", "one") + run("split", "two", tube="PEX 3/4 in")
    )  # fmt: skip
    build = loads(wide)
    ends = RunEnds(build)
    bores = table("tubes")
    ratio = bores["PEX 3/4 in"].number("bore") / bores["PEX 1/2 in"].number("bore")
    (one,) = ends.tee_passes[3]
    sizes = {end.size for end in one.ends}
    bare = sum(k(row) for row in one.rows)
    got = tee_loss(build, one, bores["PEX 3/4 in"].number("bore"))
    assert got == approx(bare * (ratio**4 if "1/2 in" in sizes else 1.0))
    assert "1/2 in" in sizes


@pytest.mark.parametrize("seed", (0, 1, 5, 12, 22))
def test_every_way_through_a_tee_of_random_vans_is_counted_once(seed: int) -> None:
    """Each arriving and each leaving run: one of the two has the loss, in any order of the file."""
    build = loads(random_build(seed))
    assert build.tee and not any(stated_tees(build, n) for n in range(len(build.run)))
    passes = RunEnds(build).tee_passes
    counts = Counter((one.tee, n) for n, some in passes.items() for one in some)
    assert set(counts.values()) == {1}
    for one in build.tee:
        came = [n for n, (_, end) in enumerate(build.run_ends) if end.component == one.name]
        goes = [n for n, (start, _) in enumerate(build.run_ends) if start.component == one.name]
        assert len(came) == 1 or len(goes) == 1 or len(came) + len(goes) > 3
        for a in came:
            for b in goes:
                both = counts[one.name, a] + counts[one.name, b]
                assert both == 1, (one.name, a, b)
    runs = list(range(len(build.run)))
    random.Random(seed).shuffle(runs)
    turned = replace(build, run=tuple(build.run[n] for n in runs))
    assert picked_losses(turned) == approx([picked_losses(build)[n] for n in runs])


def test_a_header_takes_what_the_fittings_bought_for_it_take() -> None:
    """A tee to each zone, gone straight through on the way to the next; an elbow to the last."""
    build = example("dipper")
    assert len(build.manifold) == 2
    rows, tubes = table("fittings", build.rows), table("tubes", build.rows)
    for manifold in build.manifold:
        inside = "insert " if tubes[str(manifold.tube)]["joint"] in INSIDE else ""
        straight, branch, elbow = (
            rows[f"{inside}{kind}"].number("loss_coefficient")
            for kind in ("tee run", "tee branch", "elbow 90")
        )
        links = header_links(build, manifold)
        stubs = [link.loss for link in links if link.kind == "stub"]
        own = []
        for zone in zones_along(build, manifold.name):
            (way,) = (link for link in links if link.name == f"{manifold.name}.{zone.name}")
            own.append(way.loss - valve_loss(build, zone.valve, zone.opening)[0])
        assert len(own) > 1
        assert stubs == [straight] * (len(own) - 1)
        assert own == approx([branch] * (len(own) - 1) + [elbow])
