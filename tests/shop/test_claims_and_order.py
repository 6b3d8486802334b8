"""What is ordered and left over against what is cut; what a record says when a joint leaks."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from tests.small_van import SMALL_VAN
from vanplumb.board.place.state import mm
from vanplumb.chapters.claim import claim_chapter
from vanplumb.chapters.order import order_chapter
from vanplumb.cli import FINE, PROBLEM, main
from vanplumb.pack import Pack
from vanplumb.sheet.calculation import write_paper
from vanplumb.sheet.pack_folder import contents as contents_of
from vanplumb.sheet.pack_folder import what_is_not_whole
from vanplumb.sheet.wording import told, words_of
from vanplumb.shop.record.claims import claim_of, fitted_parts, term_ends
from vanplumb.shop.record.record import Record
from vanplumb.shop.record.signing import Refused
from vanplumb.van import load, loads
from vanplumb.words.quantity import read
from vanplumb.words.report import Chapter, grid

STOCK = '[[stock]]\ntube = "PEX 1/2 in"\nlength = "78 in"\npieces = 1\n'


def test_every_line_is_ordered_once_less_what_the_shelf_has() -> None:
    lists = Pack(loads(SMALL_VAN + STOCK)).lists
    chapter = order_chapter(lists)
    rows = [r for g in chapter.grids if g.title.startswith("From the") for r in g.rows]
    ordered = {what: many for _, many, what, *_ in rows}
    assert len(ordered) == len(rows)
    for line in lists.bill.lines:
        if line.name == "PEX 1/2 in":
            assert float(ordered[line.name]) == line.bought - 1  # one length lies on the shelf
        elif line.unit != "m":
            assert float(ordered[line.name]) == line.bought


def test_what_is_left_of_the_tube_is_what_was_there_less_what_was_cut() -> None:
    """Pieces, their spare, kerfs and the ends that are kept or scrapped make up the lengths."""
    build = loads(SMALL_VAN + STOCK)
    lists = Pack(build).lists
    (plan,) = lists.cut_plan.values()
    cut = sum(p.length for p in lists.pieces)
    spare = build.shop.cut_allowance * len(lists.pieces)
    assert len(plan.bars) == 2 and not plan.missing
    (row,) = [r for g in order_chapter(lists).grids if g.title == "What is left over"
              for r in g.rows if r[0] == "PEX 1/2 in"]  # fmt: skip
    told = sum(read(end, "length") for end in row[1].split(", "))
    whole = len(plan.bars) * read("78 in", "length")
    kerfs = 0.005 * len(lists.pieces)
    scrap = sum(mm(b.left) for b in plan.bars if mm(b.left) < 300) / 1000  # shorter is not kept
    assert told + scrap == pytest.approx(whole - cut - spare, abs=kerfs + 0.001 * len(plan.bars))


def test_a_warranty_ends_on_a_day_that_there_is() -> None:
    assert term_ends("2025-03-07", "24 months") == "2027-03-07"
    assert term_ends("2025-03-07 10:00:00+01:00", "2 years") == "2027-03-07"
    assert term_ends("2024-02-29", "1 year") == "2025-02-28"
    assert term_ends("2025-08-31", "6 months") == "2026-02-28"
    assert date.fromisoformat(term_ends("2025-12-31", "14 months")) == date(2027, 2, 28)
    for wrong in ("long", "2", "2 weeks", "1.5 years", "-1 years"):
        with pytest.raises(Refused, match="write a warranty as"):
            term_ends("2025-03-07", wrong)


@pytest.fixture
def record(tmp_path: Path) -> Record:
    days = iter(f"2025-03-{n:02d} 10:00:00+01:00" for n in range(1, 30))
    record = Record(tmp_path / "siskin.log", clock=lambda: next(days))
    made = {"kind": "expansion", "size": "PEX 1/2 in", "place": "run 1", "by": "ND"}
    record.append("joint made", joint="A", tool="expander 2", batch="R-1", **made)
    record.append("joint made", joint="B", batch="R-1", **made)
    record.append("joint made", joint="C", batch="R-2", **made)
    record.append("part fitted", part="pump", serial="P 17", batch="L9", warranty="24 months",
                  by="ND")  # fmt: skip
    for pressure in ("80 psi", "70 psi", "60 psi"):
        record.append("gauge read", gauge="G 5", time="2025-03-05 09:00:00+01:00",
                      pressure=pressure, temperature="66 °F", by="ND")  # fmt: skip
    record.append("joint wept", joint="A", how="a drop a minute", by="ND")
    record.append("joint repaired", joint="A", how="cut back", by="KO")
    record.append("gauge read", gauge="G 5", time="2025-03-09 09:00:00+01:00", pressure="81 psi",
                  temperature="66 °F", by="KO")  # fmt: skip
    record.append("system tested", medium="water", pressure="81 psi", result="tight", by="KO")
    record.append("handed over", to="the owner", by="KO", sheet="abc")
    record.append("came back", why="wet floor")
    return record


def test_a_claim_tells_who_what_and_which_readings(record: Record) -> None:
    claim = claim_of(record.read(), "A")
    assert [e.kind for e in claim.events] == ["joint made", "joint wept", "joint repaired"]
    (test,) = claim.tests
    assert [r.get("pressure") for r in test.readings] == ["81 psi"]  # not those before the repair
    assert claim.alike == (("B", "R-1"),)
    assert (claim.state, claim.whole) == ("tight", True)
    chapter = claim_chapter(claim)
    assert {g.title for g in chapter.grids} == {
        "History", "Pressure tests that it stood in", "Readings of these tests",
        "Of the same batch in this van",
    }  # fmt: skip
    said = [row for g in chapter.grids if g.title == "History" for row in g.rows]
    assert said[0][3:] == ("ND", "tool expander 2, batch R-1")


def test_a_part_has_its_number_and_its_term_from_the_hand_over(record: Record) -> None:
    (pump,) = fitted_parts(record.read())
    assert (pump.serial, pump.batch, pump.until) == ("P 17", "L9", "2027-03-12")
    assert claim_of(record.read(), "pump").part == pump
    record.append("part fitted", part="pump", serial="P 18", warranty="1 year", by="KO")
    (pump,) = fitted_parts(record.read())
    assert (pump.serial, pump.until) == ("P 18", "2026-03-14")  # from the day it was fitted
    record.append("part replaced", part="pump", **{"with": "one from the shelf"})
    assert fitted_parts(record.read()) == ()


def test_a_claim_of_an_edited_record_says_so(record: Record) -> None:
    record.path.write_bytes(record.path.read_bytes().replace(b"expander 2", b"expander 1"))
    chapter = claim_chapter(claim_of(record.read(), "B"))
    assert "IT IS NOT WHOLE" in chapter.basis[0]
    assert chapter.cautions[0].level == "WARNING"


def test_papers_are_written_and_what_is_unknown_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "siskin.toml"
    file.write_text(SMALL_VAN, encoding="utf-8")
    note = ["record", str(file)]
    assert main([*note, "fitted", "pump", "--serial", "P 17", "--by", "ND"]) == FINE
    assert main([*note, "claim", "pump"]) == FINE
    assert main(["order", str(file)]) == FINE
    said_of_all = capsys.readouterr().out
    mark = load(file).mark
    for page in ("siskin-order/order.html", "siskin-claims/pump/claim.html"):
        said = (tmp_path / page).read_text(encoding="utf-8")
        assert mark in said and date.today().isoformat() in said and "siskin.toml" in said
    heads = (tmp_path / "siskin-order" / "order-left.csv").read_text(encoding="utf-8-sig")
    assert f"build {mark}" in heads.splitlines()[0]
    assert "pump stands as fitted" in said_of_all and "Places to buy at" in said_of_all
    order = (tmp_path / "siskin-order" / "order.html").read_text(encoding="utf-8")
    assert "P 17" in order and "What is left over" in order
    assert (tmp_path / "siskin-claims" / "pump" / "claim.pdf").stat().st_size > 1000
    assert main([*note, "claim", "kettle"]) == PROBLEM
    assert "says nothing of 'kettle'; it knows pump" in capsys.readouterr().err
    wrong = [*note, "fitted", "pump", "--serial", "1", "--warranty", "ever", "--by", "ND"]
    assert main(wrong) == PROBLEM
    assert len(Record(file.with_suffix(".log")).read().events) == 1


def test_a_claim_is_told_in_the_words_of_the_region_but_for_what_people_typed(
    tmp_path: Path,
) -> None:
    build = loads(SMALL_VAN.replace('units = "US"', 'units = "SI"\nregion = "UK"'))
    record = Record(tmp_path / "van.log", clock=lambda: "2025-03-07 16:00:00+01:00")
    how = "the faucet side, by a meter"
    record.append("joint made", joint="J", kind="faucet connection", size="15 mm", place="faucet")
    record.append("joint repaired", joint="J", how=how, by="ND")
    contents = record.read()
    chapter = told(claim_chapter(claim_of(contents, "J")), words_of(build, contents.typed))
    assert str(chapter.answers[2].value) == "tap connection, 15 mm"
    history = next(g for g in chapter.grids if g.title == "History")
    assert any(how in str(cell) for row in history.rows for cell in row)


def test_a_paper_that_is_written_again_leaves_nothing_stale(tmp_path: Path) -> None:
    build = loads(SMALL_VAN)
    two = Chapter("order", "Order", grids=tuple(grid(k, [(1,)], {"n": 0}, key=k) for k in "ab"))
    one = Chapter("order", "Order", grids=two.grids[:1])
    write_paper(two, tmp_path, units="US", build=build)
    write_paper(one, tmp_path, units="US", build=build, revision="B", date="2025-03-07")
    assert what_is_not_whole(tmp_path) == []
    assert not (tmp_path / "b.csv").exists() and (tmp_path / "old states" / "1" / "b.csv").exists()
    assert contents_of(tmp_path)["revision"] == "B" and contents_of(tmp_path)["mark"] == build.mark
