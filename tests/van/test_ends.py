"""Ends: how they are said and refused, what mates, and what joins two of them."""

from __future__ import annotations

import re
from itertools import product

import pytest

from vanplumb.van import BuildError, loads
from vanplumb.van.connect import Chain, Connector
from vanplumb.van.ends import (
    End,
    EndError,
    method_of,
    methods_for,
    read_end,
    size_of,
    system_of,
    thread_size,
)
from vanplumb.van.fittings import Fittings, fittings_of
from vanplumb.words.tables import example_builds, table

DIPPER = example_builds()["dipper"].read_text(encoding="utf-8")
ENDS = sorted({
    said.replace("{thread}", "1/2 in").replace("{hose}", "12 mm")
    for row in table("ends").values() for said in (row["inch"], row["metric"], row["hose"])
})  # fmt: skip


def test_an_end_is_said_as_size_kind_and_material() -> None:
    end = read_end("1/2 in NPT male plastic")
    assert end == End("NPT male", "1/2 in", "plastic") and str(end) == "1/2 in NPT male plastic"
    assert (end.thread, end.seal, end.takes_compound, end.holds) == (
        "NPT 1/2", "thread", True, "",
    )  # fmt: skip
    swivel = read_end("1/2 in G swivel")
    assert (swivel.material, swivel.seal, swivel.takes_compound) == ("brass", "washer", False)
    assert read_end("16 mm push-fit plastic").holds == "push-fit"


@pytest.mark.parametrize(
    "said, why",
    [
        ("NPT male", "needs a size, a kind and a material"),
        ("1/2 NPT male", "needs a size"),
        ("1/2 in NTP male", 'did you mean "NPT male"'),
        ("1/2 in soup", "there are NPT male"),
        ("7/8 in NPT male", "has no thread of 7/8 in"),
    ],
)
def test_what_says_no_end_is_refused(said: str, why: str) -> None:
    with pytest.raises(EndError, match=re.escape(why)):
        read_end(said)


def test_threads_mate_as_their_standards_say() -> None:
    def mate(one: str, other: str) -> bool:
        found = read_end(one).mates(read_end(other))
        assert found == read_end(other).mates(read_end(one))
        return found

    assert mate("1/2 in NPT male", "1/2 in NPT female")
    assert not mate("1/2 in NPT male", "3/4 in NPT female")
    assert not mate("1/2 in NPT male", "1/2 in NPT male")
    # ISO 7-1:1994, scope: taper outside with parallel or taper inside
    assert mate("1/2 in R male", "1/2 in Rp female") and mate("1/2 in R male", "1/2 in Rc female")
    # ISO 7-1:1994, note 1: parallel outside threads are not suitable as jointing threads
    assert not mate("1/2 in G male", "1/2 in Rp female")
    assert not mate("1/2 in NPT male", "1/2 in Rp female")


def test_mates_of_the_table_are_mutual() -> None:
    kinds = table("end_kinds")
    for name, row in kinds.items():
        for other in row["mates"] or ():
            if other in kinds:
                assert name in kinds[other]["mates"], (name, other)


def test_sizes_that_tubes_are_sold_by() -> None:
    # ASTM F876: 1/2 in tube is 0.625 in outside; 16 mm tube is 1/8 mm more and takes other fittings
    assert size_of("PEX 1/2 in") == "1/2 in" and size_of("PE-X 16x2.0") == "16 mm"
    assert size_of("copper M 3/4 in") == "3/4 in" and size_of("hose 12 mm") == "12 mm"
    assert [system_of(t) for t in ("PEX 3/8 in", "PE-X 12x2.0", "hose 10 mm")] == [
        "inch", "metric", "hose",
    ]  # fmt: skip
    assert thread_size("PEX 5/8 in") == "1/2 in" and thread_size("PE-X 20x1.9") == "3/4 in"
    assert methods_for("PEX 1/2 in")[0] == "expansion"


def fits(chain: Chain) -> None:
    """Whether each joint of a chain joins two ends that fit, by the ends alone."""
    here = chain.start
    for step in chain.steps:
        entry = step.part.ends[step.into]
        if step.stub:
            assert here.holds in methods_for(step.stub) and entry.holds in methods_for(step.stub)
            assert here.size == entry.size == size_of(step.stub)
        else:
            assert here.mates(entry), (here, entry)
        here = step.part.ends[step.out]
    assert here.holds in methods_for(chain.tube) and here.size == size_of(chain.tube)


@pytest.mark.parametrize("said", ENDS)
def test_every_typical_end_is_joined_to_every_tube(said: str) -> None:
    connector = Connector(fittings_of())
    for tube in table("tubes"):
        chain = connector.chain(read_end(said), tube, method_of(tube, ""))
        assert not chain.trouble
        fits(chain)


def test_no_shorter_chain_is_overlooked() -> None:
    """All chains of at most two fittings without stubs, tried one by one."""
    fittings = Fittings()
    connector = Connector(fittings)
    pairs = [
        (p.ends[i], p.ends[1 - i])
        for p in fittings.parts.values()
        if len(p.ends) == 2 and p.kind not in ("elbow", "elbow 45", "coupling", "union")
        for i in (0, 1)
    ]
    for said, tube in product(ENDS[::4], ("PEX 1/2 in", "PE-X 16x2.0", "hose 12 mm")):
        start, method = read_end(said), method_of(tube, "")
        goal = [(into, out) for into, out in pairs if out.size == size_of(tube)
                and out.holds in methods_for(tube)]  # fmt: skip
        one = any(start.mates(into) for into, _ in goal)
        two = any(
            start.mates(a) and b.mates(into) for a, b in pairs for into, _ in goal
        )  # fmt: skip
        chain = connector.chain(start, tube, method)
        if start.holds in methods_for(tube) and start.size == size_of(tube):
            assert chain.joints == 1
        elif one:
            assert chain.joints == 2
        elif two:
            assert chain.joints == 3
        else:
            assert chain.joints > 3 or any(step.stub for step in chain.steps)


def test_where_nothing_fits_both_ends_are_named() -> None:
    connector = Connector(fittings_of())
    chain = connector.chain(read_end("22 mm compression"), "hose 13 mm", "solder", firm=True)
    assert chain.trouble == (
        "no fittings of the tables join 22 mm compression brass to hose 13 mm by solder"
    )


def test_another_way_may_be_stated() -> None:
    connector = Connector(fittings_of())
    start = read_end("1/2 in NPT female plastic")
    other = connector.as_stated(
        start, "PEX 1/2 in", "expansion",
        ["nipple, 1/2 in NPT", "adapter, expansion 1/2 in × 1/2 in NPT female"],
    )  # fmt: skip
    assert not other.trouble and other.joints == 3 and other.stated
    fits(other)
    wrong = connector.as_stated(start, "PEX 1/2 in", "expansion", ["socket, 1/2 in NPT"])
    assert "socket, 1/2 in NPT" in wrong.trouble and "does not go on 1/2 in NPT female" in (
        wrong.trouble
    )
    short = connector.as_stated(start, "PEX 1/2 in", "expansion", ["nipple, 1/2 in NPT"])
    assert short.trouble == "1/2 in NPT male brass does not take PEX 1/2 in"


@pytest.mark.parametrize(
    "old, new, why",
    [
        ('name = "pump"', 'name = "pump"\nends = { inlt = "1/2 in NPT male" }', 'did you mean "in'),
        ('name = "pump"', 'name = "pump"\nends = { inlet = "1/2 in NTP male" }', '"NPT male"'),
        ('name = "pump"', 'name = "pump"\nends = "1/2 in NPT male"', "needs ports and ends"),
        ('rise = "4 in"', 'rise = "4 in"\nlegs = ["4 in", "5 in"]', "differ by 178 mm"),
        ('rise = "4 in"', 'rise = "4 in"\nlegs = ["20 in"]', "1 elbows part the run into 2"),
        ('rise = "4 in"', 'rise = "4 in"\nend_fittings = ["thred adapter 1/2 in"]',
         'did you mean "thread adapter 1/2 in"'),
    ],
)  # fmt: skip
def test_a_build_file_is_told_what_is_wrong(old: str, new: str, why: str) -> None:
    with pytest.raises(BuildError, match=re.escape(why)):
        loads(DIPPER.replace(old, new, 1))


def test_a_row_of_ones_own_corrects_a_take_off_everywhere() -> None:
    own = loads(DIPPER + '\n[[rows.fitting_parts]]\nname = "socket, 1/2 in NPT"\n'
                'take_offs = ["6 mm", "7 mm"]\n').rows  # fmt: skip
    part = fittings_of(own).parts["socket, 1/2 in NPT"]
    assert part.take_offs == (0.006, 0.007)
    assert fittings_of().parts["socket, 1/2 in NPT"].take_offs != part.take_offs
