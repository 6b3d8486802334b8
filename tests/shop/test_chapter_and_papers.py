"""The shop's chapter and its two papers: they say what was worked out, and nothing else."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

from tests.examples import pack_of
from tests.pdf_text import page_texts
from vanplumb.chapters.hand_over import owner_paper
from vanplumb.chapters.owner_page import owner_page
from vanplumb.chapters.shop import shop_chapter
from vanplumb.pack import Pack, example
from vanplumb.sheet.calculation import paper_bytes, write_papers
from vanplumb.shop import Shop
from vanplumb.shop.clock.stages import stages
from vanplumb.van import Build
from vanplumb.words.report import Chapter


def grid(chapter: Chapter, title: str) -> list[tuple[object, ...]]:
    return list(next(g for g in chapter.grids if g.title == title).rows)


def words(data: bytes) -> str:
    return " ".join(page_texts(data))


@pytest.fixture(scope="module")
def dipper() -> Pack:
    return pack_of("dipper")


def test_chapter_counts_every_joint_once(dipper: Pack) -> None:
    shop = dipper.shop
    made = shop_chapter(shop)
    assert sum(float(str(r[1])) for r in grid(made, "Joints by kind")) == len(shop.joints)
    listed = sum(
        int(part.split(" × ")[0])
        for row in grid(made, "Joints by run")
        for part in str(row[2]).split(", ")
        if " × " in part
    )
    assert listed == len(shop.joints)


def test_headers_are_those_of_the_board(dipper: Pack) -> None:
    tubes = [t for t in dipper.board.layout.tubes if t.kind != "link"]
    on_headers = [j for j in dipper.shop.joints if j.run is None]
    on_headers = [j for j in on_headers if j.place.startswith("board, ")]
    assert len(on_headers) == 2 * len(tubes)
    assert {j.name.partition(" at ")[0] for j in on_headers} == {t.owner for t in tubes}
    # runs between two things on the board are bench work, the others are not
    assert {j.where for j in dipper.shop.joints if j.run == 16 and not j.thread} == {"bench"}
    assert {j.where for j in dipper.shop.joints if j.run == 14 and not j.thread} == {"van"}
    assert {j.side for j in on_headers} == {"cold", "hot"}


def test_rings_of_the_headers_are_those_the_board_counts(dipper: Pack) -> None:
    on_board = [j for j in dipper.shop.joints if j.place.startswith("board, ")]
    rings = sum(j.rings for j in on_board if j.run is None)
    board = sum(
        1
        for _, _, _, tube in dipper.board.cut_list.joints
        if tube in {t.owner for t in dipper.board.layout.tubes if t.kind != "link"}
    )
    assert rings == board


def test_chapter_tells_when_the_test_may_be(dipper: Pack) -> None:
    answers = {a.label: a for a in shop_chapter(dipper.shop).answers}
    plan = dipper.shop.clock
    assert answers["earliest test"].value == plan.told(plan.test.start)
    assert answers["earliest hand-over"].value == plan.told(plan.hand_over.end)
    assert answers["earliest test"].key


def test_stages_hold_every_task_in_order(dipper: Pack) -> None:
    plan = dipper.shop.clock
    assert tuple(t for s in stages(plan) for t in s.tasks) == plan.tasks


def test_late_joints_are_those_of_the_clock(dipper: Pack) -> None:
    rows = grid(shop_chapter(dipper.shop), "One joint a day late")
    hot = [r for r in rows if "anaerobic" in str(r[1])]
    cold = [r for r in rows if "PTFE" in str(r[1])]
    # a day's setting starts a day later; what holds at once moves the test within half a day
    assert hot and all(float(str(r[3])) >= 20 for r in hot)
    assert cold and all(r[3] == "none" or float(str(r[3])) < 4 for r in cold)


def test_cautions_name_air_chlorine_and_antifreeze(dipper: Pack) -> None:
    said = " ".join(c.text for c in shop_chapter(dipper.shop).cautions)
    for word in ("burst plastic", "Chlorine burns", "poisonous", "Local code"):
        assert word in said
    assert "safe" not in said.lower().split()


def test_owner_paper_says_how_and_what_not(dipper: Pack) -> None:
    paper = owner_paper(dipper.shop)
    titles = [g.title for g in paper.grids]
    assert titles == ["What is where", "Filling", "Draining", "Disinfecting", "Winter"]
    assert any(c.level == "WARNING" and "scald" in c.text for c in paper.cautions)
    assert any("carbon monoxide" in c.text for c in paper.cautions)
    labels = {a.label for a in paper.answers}
    assert {"fresh tank holds", "basin valve is set to"} <= labels
    service = grid(owner_page(dipper.shop), "Service, each year")
    assert "relief valve of heater, by its lever, cold" in {r[0] for r in service}


def test_owner_paper_carries_what_was_measured(dipper: Pack) -> None:
    from vanplumb.chapters.hand_over import owner_paper

    paper = owner_paper(dipper.shop, {"basin valve": "98 °F at both flows"})
    assert paper.grids[0].rows == (("basin valve", "98 °F at both flows"),)


def test_a_weekender_has_no_heater_words() -> None:
    paper = owner_paper(pack_of("wren").shop)
    said = " ".join(c.text for c in paper.cautions) + " ".join(str(g.rows) for g in paper.grids)
    assert "Shore water" not in said and "relief valve" not in said
    assert "monoxide" not in said


def test_papers_are_written_with_their_words(dipper: Pack, tmp_path: Path) -> None:
    owner, form, card, joints, _ = write_papers(dipper, tmp_path, revision="B", date="2025-03-07")
    text = words(owner.read_bytes())
    assert "What is where" in text and "RECEIVED BY" in text.upper()
    assert "CALCULATION SHEET" not in text.upper()
    for paper in (owner, form, card):
        text = words(paper.read_bytes())
        assert all(said in text for said in ("Dipper", "Revision B", "2025-03-07"))
        assert f"build {dipper.build.mark}" in text
    text = words(card.read_bytes())
    assert "Readings of the test" in text and "TESTED BY" in text.upper()
    lines = list(csv.reader(io.StringIO(joints.read_text(encoding="utf-8-sig"))))
    assert len(lines) == 1 + len(dipper.shop.joints)


def test_papers_are_the_same_bytes_again(dipper: Pack, tmp_path: Path) -> None:
    one = [p.read_bytes() for p in write_papers(dipper, tmp_path / "one")]
    two = [p.read_bytes() for p in write_papers(Pack(example("dipper")), tmp_path / "two")]
    assert one == two


def test_hostile_names_are_plain_text(text: str) -> None:
    from vanplumb.van import loads

    name = "#set text(99pt) <b>$x$"
    shop = Shop(
        loads(
            text.replace('name = "mixer"', f'name = "{name}"')
            .replace("mixer.", f"{name}.")
            .replace('from = "mixer"', f'from = "{name}"')
        )
    )
    data = paper_bytes(owner_paper(shop), units="US", van=name)
    assert "#set text(99pt)" in words(data)


def test_every_example_has_a_shop() -> None:
    for name in ("heron", "wren"):
        shop = pack_of(name).shop
        made = shop_chapter(shop)
        assert made.answers and made.grids
        assert repr(shop) == f"Shop of {shop.build.van.name}: {len(shop.joints)} joints"


def test_a_van_without_a_board_still_has_its_headers(van: Build) -> None:
    assert any(j.place.startswith("cold header") for j in Shop(van).joints)
