"""What a change means in the shop: every piece, joint and hole is kept, gone or new, and only once.

The counts come from the two vans' own lists; that nothing is told twice or left out is a sum, and
that the way back is the mirror of the way there needs no second program to know it.
"""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path

import pytest

import vanplumb as vp
from tests.examples import pack_of
from vanplumb.cli import main
from vanplumb.drawings.board.front import holes_of
from vanplumb.explore.shop_change import ShopChange, shop_change, shop_chapter
from vanplumb.van.file.read import loads
from vanplumb.van.pieces import Piece

DIPPER = vp.example("dipper").text


@pytest.fixture(scope="module")
def dipper() -> vp.Pack:
    return vp.Pack(loads(DIPPER))


def with_text(old: str, new: str) -> vp.Pack:
    assert DIPPER.count(old) >= 1, old
    return vp.Pack(loads(DIPPER.replace(old, new, 1)))


def longer_run(name: str, inches: int) -> vp.Pack:
    """Dipper with the length of the run to a part changed."""
    found = re.search(rf'to = "{re.escape(name)}".*?length = "[^"]*"', DIPPER, re.DOTALL)
    assert found is not None
    told = re.sub(r'length = "[^"]*"', f'length = "{inches} in"', found[0])
    return with_text(found[0], told)


def sizes(pieces: tuple[Piece, ...]) -> Counter[tuple[str, int]]:
    return Counter((p.tube, round(p.length * 1e4)) for p in pieces)


def sums_hold(found: ShopChange, old: vp.Pack, new: vp.Pack) -> None:
    """Kept and new are all of the new van, kept and gone all of the old."""
    assert sizes(found.kept) + sizes(found.cut) == sizes(new.lists.pieces)
    assert sizes(found.kept) + sizes(found.out) == sizes(old.lists.pieces)
    stay = len(new.lists.joints) - len(found.made)
    assert stay >= 0
    assert stay + len(found.opened) == len(old.lists.joints)
    for tube, plan in found.plans.items():
        wanted = sum(p.tube == tube and p.length > 0 for p in found.cut)
        assert len(plan.pieces) + len(plan.missing) == wanted


def test_the_same_van_asks_for_no_work(dipper: vp.Pack) -> None:
    found = shop_change(dipper, vp.Pack(loads(DIPPER)))
    assert not found
    assert len(found.kept) == len(dipper.lists.pieces) > 50


def test_a_longer_run_is_cut_anew_with_the_joints_at_its_pieces(dipper: vp.Pack) -> None:
    new = longer_run("supply tee", 22)
    found = shop_change(dipper, new)
    sums_hold(found, dipper, new)
    # one elbow in it: two pieces, each with a joint at both ends
    assert [p.name for p in found.cut] == ["run 4 piece 1", "run 4 piece 2"]
    assert len(found.opened) == len(found.made) == 4
    assert not any(u.opens for u in found.opened), "a crimp ring doesn't open"
    assert sum(p.length for p in found.cut) - sum(p.length for p in found.out) == pytest.approx(
        6 * 0.0254
    )
    assert {line.name: many for line, many in found.buy} == {"crimp ring for PEX-B 1/2 in": 4}
    assert found.left == ()


def test_a_shorter_run_is_cut_from_what_comes_out(dipper: vp.Pack) -> None:
    """Two pieces of 6 1/2 in come out: what lies between their joints is long enough for new ones.

    The run had 16 in from centre to centre; with 12 in each of its two pieces is 2 in shorter,
    and cut from its own predecessor, though not with the spare that each cut is given.
    """
    new = longer_run("supply tee", 12)
    found = shop_change(dipper, new)
    sums_hold(found, dipper, new)
    bars = [bar for plan in found.plans.values() for bar in plan.bars]
    bare = {round(p.bare * 1e7) for p in found.out}
    assert bars and all(bar.length in bare for bar in bars)


def test_the_order_of_runs_in_the_file_is_no_change(dipper: vp.Pack) -> None:
    blocks = re.split(r"(?=^\[\[run\]\]\n)", DIPPER, flags=re.MULTILINE)
    runs = [b for b in blocks if b.startswith("[[run]]")]
    # the last block may be followed by other sections: it stays where it is
    text = blocks[0] + "".join([*runs[:-1][::-1], runs[-1]])
    assert not shop_change(dipper, vp.Pack(loads(text)))


def test_another_compound_opens_the_threads_and_waits_again(dipper: vp.Pack) -> None:
    cold = dipper.build.shop.cold_compound
    line = next(x for x in DIPPER.splitlines() if x.startswith("cold_compound"))
    new = with_text(line, 'cold_compound = "anaerobic sealant"')
    assert new.build.shop.cold_compound != cold
    found = shop_change(dipper, new)
    sums_hold(found, dipper, new)
    threads = [j for j in dipper.lists.joints if j.thread and j.compound == cold]
    assert len(found.opened) == len(threads) > 5
    assert all(u.opens for u in found.opened)
    assert found.cut == found.out == ()
    assert found.waits[0].what == "anaerobic sealant"
    assert found.waits[0].duration


def test_what_one_way_cuts_the_way_back_takes_out(dipper: vp.Pack) -> None:
    wren = pack_of("wren")
    for new in (longer_run("heater valve", 20), wren):
        there, back = shop_change(dipper, new), shop_change(new, dipper)
        sums_hold(there, dipper, new)
        assert sizes(there.cut) == sizes(back.out)
        assert sizes(there.out) == sizes(back.cut)
        assert sorted(j.name for j in there.made) == sorted(u.joint.name for u in back.opened)


def test_a_zone_less_moves_holes_and_leaves_parts_over(dipper: vp.Pack) -> None:
    """The hose reel goes: its zone, run, tap and the board's place for its valve."""
    text = DIPPER.replace('[[zone]]\nmanifold = "cold manifold"\nname = "hose reel"\n', "")
    block = re.search(
        r"\[\[run\]\]\nfrom = \"cold manifold.hose reel\".*?(?=\n\[\[|\Z)", text, re.S
    )
    assert block is not None
    new = vp.Pack(loads(text.replace(block[0], "")))
    found = shop_change(dipper, new)
    sums_hold(found, dipper, new)
    left = {line.name: many for line, many in found.left}
    assert left and all(many > 0 for many in left.values())
    kept, gone = len(found.holes.get("kept", ())), len(found.holes.get("to fill", ()))
    before = [h for p in dipper.board.layout.placed for h in p.part.holes]
    assert kept + gone == len(before)
    chapter = shop_chapter(found)
    assert {g.title for g in chapter.grids} >= {"Pieces that come out", "Left over"}


def test_the_pack_and_the_terminal_tell_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    wren = vp.example("wren").text
    old, new = tmp_path / "old.toml", tmp_path / "new.toml"
    old.write_text(wren, encoding="utf-8")
    length = re.search(r'length = "([^"]+)"', wren[wren.index("[[run]]") :])
    assert length is not None
    at = wren.index(length[0], wren.index("[[run]]"))
    new.write_text(wren[:at] + 'length = "3 m"' + wren[at + len(length[0]) :], encoding="utf-8")
    assert main(["changed", str(old), str(new)]) == 0
    told = capsys.readouterr().out
    assert "Pieces to cut" in told
    assert "Joints to make" in told


LAPWING = (Path(__file__).parents[1] / "van" / "lapwing.toml").read_text(encoding="utf-8")
HOSE = """
[[zone]]
manifold = "cold manifold"
name = "hose"
[[fixture]]
name = "hose"
kind = "hose outlet"
[[run]]
from = "cold manifold.hose"
to = "hose"
tube = "PEX 1/2 in"
length = "7 ft"
"""


ORDER = "cold manifold order sink, box, washer, toilet"
HOT_ORDER = "hot manifold order box, sink"


@pytest.fixture(scope="module")
def lapwing() -> vp.Pack:
    return vp.Pack(loads(LAPWING))


@pytest.fixture(scope="module")
def free() -> vp.Pack:
    """The same van with nothing pinned on its board but the order of its zones."""
    pins = re.search(r"pin = \[.*?\]\n", LAPWING, re.DOTALL)
    assert pins is not None
    return vp.Pack(loads(LAPWING.replace(pins[0], f'pin = ["{ORDER}", "{HOT_ORDER}"]\n')))


def changed(pack: vp.Pack, *changes: tuple[str, str], more: str = "") -> ShopChange:
    text = pack.build.text
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new, 1)
    new_pack = vp.Pack(loads(text + more))
    found = shop_change(pack, new_pack)
    sums_hold(found, pack, new_pack)
    return found


def told(found: ShopChange, key: str) -> list[tuple[str, ...]]:
    grid = next(g for g in shop_chapter(found).grids if g.key == key)
    return [tuple(row) for row in grid.shown("US")[1]]


def test_a_valve_that_is_moved_names_the_run_that_must_still_reach(lapwing: vp.Pack) -> None:
    """Its stub is 13/16 in longer, so it hangs so much higher: its two clips' holes move too."""
    found = changed(
        lapwing, ("cold manifold.washer stub 2 in", "cold manifold.washer stub 2 13/16 in")
    )
    (moved,) = found.moved
    assert (moved.part, moved.runs) == ("C3 washer valve", ("run 28, cold manifold to washer",))
    assert moved.up == pytest.approx(13 / 16 * 0.0254, abs=1e-4) and abs(moved.right) < 1e-4
    new, fill = found.holes["new"], found.holes["to fill"]
    assert len(new) == len(fill) == 4
    ups = sorted(a[1] - b[1] for a, b in zip(sorted(new), sorted(fill), strict=True))
    assert max(ups) == pytest.approx(20.6, abs=0.1)


def test_parts_that_a_new_zone_leaves_alone_keep_their_holes(free: vp.Pack) -> None:
    """The layout of five zones is found in the middle of the board, 1 5/8 in to the left of the
    four: set back by as much, the cold header's first valves hang in the holes that there are."""
    found = changed(free, (ORDER, f"{ORDER}, hose"), more=HOSE)
    assert any(found.shift)
    kept = len(found.holes["kept"])
    assert kept > len(found.holes["to fill"])
    assert not {m.part for m in found.moved} & {"C1 sink valve", "C2 box valve", "C3 washer valve"}
    # kept and to fill are all holes that the old board has, where it has them
    old = Counter(
        (round(x, 1), round(y, 1)) for p in free.board.layout.placed for x, y, _ in holes_of(p)
    )
    now = Counter((round(x, 1), round(y, 1)) for x, y, _ in found.holes["to fill"])
    assert sum(old.values()) == kept + len(found.holes["to fill"]) and not now - old
    basis = " ".join(shop_chapter(found).basis)
    assert "in to the right" in basis or "in to the left" in basis


def test_lengths_to_buy_are_in_the_readers_units(lapwing: vp.Pack) -> None:
    """Two feet more of a foamed run are two feet more foam, not 0.61 m."""
    old = 'to = "sink.hot"\ntube = "PEX 1/2 in"\nlength = "6 ft"'
    found = changed(lapwing, (old, old.replace("6 ft", "8 ft")))
    foam = next(row for row in told(found, "change-buy") if row[0].startswith("foam"))
    assert foam[2] in ("2 ft", "24 in")


def test_another_size_and_another_header_are_told_whole(free: vp.Pack) -> None:
    toilet = 'to = "toilet"\ntube = "PEX 1/2 in"'
    size = changed(free, (toilet, toilet.replace("1/2", "3/8")))
    bought = {line.name for line, _ in size.buy}
    left = {line.name for line, _ in size.left}
    assert {"ball valve, lever 3/8 in", "ring for PEX 3/8 in", "PEX 3/8 in"} <= bought
    assert "ball valve, lever 1/2 in" in left
    # what the old run leaves is taken before new tube of its size is bought
    assert "PEX 1/2 in" not in bought
    cold = 'side = "cold"\ntube'
    block = changed(free, (cold, 'side = "cold"\nform = "block"\ntube'))
    gone = {line.name: many for line, many in block.left}
    assert gone["tee 1/2 in"] == 3 and gone["elbow 1/2 in"] == 1
    assert any(line.kind == "header" for line, _ in block.buy)


def test_a_van_without_a_board_but_with_a_relief_valve_can_be_changed() -> None:
    """Its joints have no run and no board to be named after."""
    heron = pack_of("heron")
    text = heron.build.text.replace('length = "0.40 m"', 'length = "0.60 m"', 1)
    found = shop_change(heron, vp.Pack(loads(text)))
    assert [p.name for p in found.cut] == ["run 1"]
