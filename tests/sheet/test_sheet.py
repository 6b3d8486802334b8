"""What the sheet says, on paper and on the page: the same, all of it, and as plain text."""

from __future__ import annotations

import html
import io
import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pypdf
import pytest
import typst
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from tests.cases import cases
from tests.examples import pack_of
from tests.pdf_text import page_texts, text_places
from vanplumb.pack import examples
from vanplumb.review.finding import Finding
from vanplumb.sheet import write_all, write_calculation, write_html, write_pdf
from vanplumb.sheet.contents import sheet_of
from vanplumb.sheet.entries import _exact
from vanplumb.sheet.escape import visible
from vanplumb.sheet.html_page import page
from vanplumb.sheet.typst_page import _data, pdf, template
from vanplumb.van.model import Build
from vanplumb.van.parts import Run, Tank
from vanplumb.van.whole_van import Van
from vanplumb.words.quantity import read
from vanplumb.words.report import Answer, Caution, Chapter, Column, Grid, Picture
from vanplumb.words.show import show
from vanplumb.words.sources import PRACTICE

LETTER, A4 = (612.0, 792.0), (595.276, 841.89)  # points; ISO 216 and the US letter size
HOSTILE = {
    "script": "<script>alert('a')</script><img src=x onerror=alert(1)>",
    "typst": '#eval("1+1") #panic("no") $ x_1 $ *b* _i_ @nobody `raw` \\ [c] = head',
    "tex": r"\input{/etc/passwd} \frac{1}{0} $$ \end{document} ^^41",
    "lines": "one\ntwo\r\nthree\x00\x07",
    "quotes": "\"'`; </style></title>]]>-->{{7*7}}${7*7}",
}


def words_of(data: bytes) -> str:
    """The text of a PDF without any space, since a line may be broken anywhere."""
    return squeezed("".join(page_texts(data)))


def squeezed(text: str) -> str:
    return re.sub(r"[\s\u200b\u00ad]+", "", text)


def text_of(markup: str) -> str:
    """What a reader sees of a page in HTML, without its style and its mathematics."""
    body = re.sub(r"<(style|math)\b.*?</\1>", " ", markup, flags=re.DOTALL)
    return html.unescape(re.sub(r"<[^>]+>", " ", body))


def told_everywhere(text: str) -> Any:
    """A pack in which every text of the user, and of a careless engine, is the same text."""
    from types import SimpleNamespace

    chapter = Chapter(
        key=text,
        title=text,
        basis=(text,),
        inputs=(Answer(text, text, basis=text, note=text),),
        answers=(Answer(text, 0.09, "volume", basis=text, note=text, key=True),),
        grids=(
            Grid(text, (Column(text, "length"), Column(text)), ((0.1, text),), text, text),
            Grid("in two columns", (Column("a"), Column("b")), (("long enough", text),)),
        ),
        pictures=(Picture(text, text, text),),
        cautions=(Caution("WARNING", text),),
        not_computed=(text,),
    )
    build = Build(
        van=Van(name=text, units="SI", builder=text, note=text),
        tank=(Tank(name=text, shape="box", note=text, length=1.0),),
        run=(Run(start=text, end=text, tube=text, length=1.0),),
        given={"van.name": text, f"tank.{text}.length": text, "run.1.tube": text},
        path=Path("x.toml"),
        text=text,
    )
    finding = Finding("DANGER", text, text, text, text, PRACTICE, text, "", "rule")
    return SimpleNamespace(
        build=build, as_written=build, chapters=(chapter,), findings=(finding,),
        all_findings=(finding,),
    )  # fmt: skip


# ---- what it says ----------------------------------------------------------------


def test_paper_fits_the_units(pack: Any) -> None:
    first = pypdf.PdfReader(io.BytesIO(pdf(sheet_of(pack)))).pages[0].mediabox
    size = LETTER if pack.build.van.units == "US" else A4
    assert (float(first.width), float(first.height)) == pytest.approx(size, abs=0.01)


def test_page_one_holds_the_answers_the_counts_and_the_cautions(pack: Any) -> None:
    first = page_texts(pdf(sheet_of(pack)))[0]
    us = pack.build.van.units == "US"
    for told in (
        "23.8 gal" if us else "90.0 L",  # 90 L / 3.785411784
        "104 °F" if us else "40 °C",
        "198 lb" if us else "89.8 kg",
        *("DANGER", "WARNING", "CAUTION", "NOTICE"),
        "The basin can scald",
        "measure the outlet with a thermometer",
        "R. Example",
        "dipper.toml",
    ):
        assert squeezed(told) in squeezed(first), told


SAID = [
    "Two people, four nights between fillings.",  # basis
    "UK TMV3 scheme and NHS specification D08, mixed water limits, bath, assisted",
    "Fit a thermostatic valve.",
    "one at each inlet",
    "This test's own sums",
    "Slosh of a half-full tank on the road.",
    "from memory",
    "read in the published text",
    "common practice, no source",
    "typical, measure yours",  # basis of a default
    "Defaults that stand in for what was not given",
    "Solved for share",
    "Not to scale.",
    "Drinking water: fill from a tested source only.",
    "Designed by",
    "=cmd|'/c calc'!A1",
    "lists/uses.csv",
]


@pytest.mark.parametrize("said", SAID)
def test_paper_and_page_say_it(make_pack: Any, said: str) -> None:
    sheet = sheet_of(make_pack())
    assert squeezed(said).lower() in words_of(pdf(sheet)).lower()
    assert said in text_of(page(sheet))


def test_nothing_is_called_safe(pack: Any) -> None:
    sheet = sheet_of(pack)
    assert not re.search(r"\bsafe\b", text_of(page(sheet)), re.IGNORECASE)


def test_mathematics_stands_in_the_page_as_mathml(pack: Any) -> None:
    text = page(sheet_of(pack))
    assert text.count("<math") == text.count("</math>") > 8
    assert "<msub><mi>T</mi><mtext>hot</mtext></msub>" in text
    assert "$" not in text_of(text)


def test_findings_stand_worst_first(pack: Any) -> None:
    levels = [f.level for f in sheet_of(pack).findings]
    assert levels == ["DANGER", "WARNING", "CAUTION", "NOTICE"]


def test_given_values_and_defaults_are_told_apart(make_pack: Any) -> None:
    sheet = sheet_of(make_pack(units="SI"))
    [tank] = [p for p in sheet.given if p.kind == "tank"]
    assert ("length", "900 mm", "") in tank.values
    [run] = [p for p in sheet.given if p.name.startswith("2: ")]
    assert ("length", "1600 mm", "") in run.values
    assert sheet.given[-1].values == (("", "shower", ""),)  # only its name is given
    walls = [d for d in sheet.defaults if (d.kind, d.label) == ("tank", "wall")]
    assert [(d.value, d.basis, d.where) for d in walls] == [
        ("5 mm", "common practice, no source", "fresh")
    ]
    rises = [d for d in sheet.defaults if (d.kind, d.label) == ("run", "rise")]
    assert [(d.basis, d.where) for d in rises] == [("level", "1")]  # run 2 gives its rise


@pytest.mark.parametrize(
    "text, word, units, written",
    [
        ("1/4 in", "diameter", "US", ""),  # 0.250 in
        ("0.40 m", "length", "SI", ""),  # 400 mm
        ("9 Δ°F", "rise", "US", ""),  # 9 °F
        ("105 °F", "temperature", "US", ""),
        ("2 in", "height", "US", ""),  # a short rise is told in inches
        ("40.01 in", "height", "US", "40.01 in"),  # 3.33 ft
        ("47 L", "volume", "US", "47 L"),  # 12.4 gal
        ("12.75 gal", "volume", "US", "12.75 gal"),  # 12.8 gal
        ("12000 Btu/h", "power", "US", "12000 Btu/h"),  # 3517 W
    ],
)
def test_a_value_is_told_as_written_if_showing_it_lost_something(
    text: str, word: str, units: str, written: str
) -> None:
    value = read(text, word)
    assert _exact(value, show(value, word, units), word) is (written == "")


def test_revision_and_date_are_printed_only_if_given(make_pack: Any) -> None:
    plain = page(sheet_of(make_pack()))
    told = page(sheet_of(make_pack(), revision="B", date="2031-05-04"))
    assert "2031-05-04" in told and "Revision B" in told
    assert not re.search(r"\b(19|20)\d\d-\d\d-\d\d", text_of(plain))


def test_paper_tells_its_title_and_no_date(pack: Any) -> None:
    told = pypdf.PdfReader(io.BytesIO(pdf(sheet_of(pack)))).metadata
    assert told is not None
    assert (told.title, told.author) == ("Dipper, Fresh-water system", "R. Example")
    assert "/CreationDate" not in told and "/ModDate" not in told


# ---- the same build gives the same bytes ---------------------------------------------


def test_the_same_build_gives_the_same_bytes(make_pack: Any, tmp_path: Path) -> None:
    first = write_all(make_pack(), tmp_path / "one")
    second = write_all(make_pack(), tmp_path / "two")
    names = ["sheet.pdf", "sheet.html", "uses.csv"]
    assert [p.name for p in first] == names
    for one, two in zip(first, second, strict=True):
        assert one.read_bytes() == two.read_bytes()


def test_another_process_gives_the_same_bytes(make_pack: Any, tmp_path: Path) -> None:
    """No order of a set and no time gets into the file."""
    import os
    import subprocess
    import sys

    here = Path(__file__).parent
    code = (
        f"import sys; sys.path[:0] = [{str(here)!r}, {str(here.parents[1])!r}]; import conftest;"
        f"from vanplumb.sheet import write_all; write_all(conftest.sample_pack(), sys.argv[1])"
    )
    for seed in ("1", "2"):
        env = {**os.environ, "PYTHONHASHSEED": seed}
        subprocess.run([sys.executable, "-c", code, str(tmp_path / seed)], env=env, check=True)
    for name in ("sheet.pdf", "sheet.html", "lists/uses.csv"):
        assert (tmp_path / "1" / name).read_bytes() == (tmp_path / "2" / name).read_bytes()


def test_a_changed_build_gets_another_mark(make_pack: Any) -> None:
    pack = make_pack()
    changed = make_pack(build=replace(pack.build, text="format = 1\n"))
    assert sheet_of(pack).mark != sheet_of(changed).mark


# ---- hostile names ---------------------------------------------------------------------


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE.keys())
def test_hostile_names_are_plain_text_on_paper(text: str) -> None:
    assert squeezed(visible(text)) in words_of(pdf(sheet_of(told_everywhere(text))))


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE.keys())
def test_hostile_names_are_plain_text_on_the_page(text: str) -> None:
    markup = page(sheet_of(told_everywhere(text)))
    assert visible(text) in text_of(markup)
    assert "<script" not in markup and "<img" not in markup
    assert not re.search(r"<[^>]*\son\w+\s*=", markup)


def test_ten_thousand_letters_are_cut_and_say_so(tmp_path: Path) -> None:
    pack = told_everywhere("x" * 10_000)
    said = "shortened, 10,000 letters in all"
    paper = write_pdf(pack, tmp_path / "long.pdf").read_bytes()
    assert squeezed(said) in words_of(paper)
    assert len(pypdf.PdfReader(io.BytesIO(paper)).pages) < 12
    markup = page(sheet_of(pack))
    assert said in markup and "x" * 601 not in markup


@given(st.text(st.characters(), max_size=60).filter(lambda t: t.strip()))
@settings(max_examples=cases(6), deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_any_name_compiles(text: str) -> None:
    sheet = sheet_of(told_everywhere(text))
    assert pdf(sheet).startswith(b"%PDF")
    assert visible(text) in html.unescape(page(sheet))


def test_letters_of_other_scripts_do_not_stop_the_sheet() -> None:
    assert pdf(sheet_of(told_everywhere("水箱 🚐 टंकी"))).startswith(b"%PDF")


# ---- odd packs -----------------------------------------------------------------------------


def test_a_pack_with_nothing_in_it_still_gives_a_sheet(make_pack: Any) -> None:
    sheet = sheet_of(make_pack(chapters=(), findings=()))
    assert squeezed("The rules that were run found nothing.") in words_of(pdf(sheet))
    assert "The rules that were run found nothing." in page(sheet)


def test_a_long_table_is_cut_on_the_page_and_says_so(make_pack: Any) -> None:
    grid = Grid("many", (Column("n"),), tuple((n,) for n in range(1000)), key="many")
    sheet = sheet_of(make_pack(chapters=(Chapter("c", "c", grids=(grid,)),)))
    assert len(sheet.sections[0].grids[0].rows) == 400
    assert "600 more rows are not printed; the list holds all." in page(sheet)


# ---- one calculation --------------------------------------------------------------------------


def test_one_calculation_stands_on_its_own(make_pack: Any, tmp_path: Path) -> None:
    chapter = make_pack().chapters[1]
    paper, markup = write_calculation(
        chapter, tmp_path, units="SI", van="Dipper", remark="Tried at 60 °C <b>"
    )
    assert (paper.name, markup.name) == ("calculation-mixing.pdf", "calculation-mixing.html")
    for told in ("Tried at 60 °C <b>", "40 °C", "measure the outlet", "own sums", "Dipper"):
        assert squeezed(told) in words_of(paper.read_bytes())
        assert told in text_of(markup.read_text(encoding="utf-8"))
    assert "What the review found" not in markup.read_text(encoding="utf-8")


# ---- to scale ----------------------------------------------------------------------------------


def dark_width(png: bytes) -> int:
    """The longest row of dark pixels of one shade, in pixels."""
    shades = np.asarray(Image.open(io.BytesIO(png)).convert("L"))
    return int((shades == 34).sum(axis=1).max())  # the bar is #222


def test_a_hundred_millimetres_are_a_hundred_on_paper(pack: Any) -> None:
    """At 254 dots an inch a millimetre is ten dots."""
    told = {"sheet": json.dumps(_data(sheet_of(pack)))}
    pages = typst.compile(template(), format="png", ppi=254, sys_inputs=told)
    assert max(map(dark_width, pages)) == pytest.approx(1000, abs=1)


def test_a_picture_wider_than_the_paper_says_how_far_it_is_reduced(make_pack: Any) -> None:
    wide = Picture(
        "wide",
        "A long board.",
        '<svg xmlns="http://www.w3.org/2000/svg" width="355.8mm" height="50mm" '
        'viewBox="0 0 355.8 50"><rect width="355.8" height="50"/></svg>',
    )
    chapter = Chapter("board", "Board", pictures=(wide,))
    words = words_of(pdf(sheet_of(make_pack(chapters=(chapter,), units="US"))))
    assert squeezed("Reduced to 50 % of its own size.") in words  # 215.9 − 22 − 16 mm of room


def test_writing_leaves_no_halves(pack: Any, tmp_path: Path) -> None:
    target = write_html(pack, tmp_path / "new" / "sheet.html")
    write_html(pack, target)
    assert [p.name for p in target.parent.iterdir()] == ["sheet.html"]
    assert target.stat().st_mode & 0o600 == 0o600


def test_page_one_tells_a_thing_once_with_all_its_places(make_pack: Any) -> None:
    finding = make_pack().findings[1]
    many = tuple(replace(finding, where=f"valve {n}") for n in range(3))
    others = tuple(replace(finding, what=f"Other {n}") for n in range(9))
    sheet = sheet_of(make_pack(findings=many + others))
    assert sheet.urgent[0].where == "valve 0, valve 1, valve 2"
    assert len(sheet.urgent) == 7
    assert sheet.more == "3 more of these in the review."


def pages_of(data: bytes) -> list[str]:
    return [squeezed(text) for text in page_texts(data)]


@pytest.fixture(scope="module")
def examples_printed() -> list[tuple[Any, bytes]]:
    sheets = [sheet_of(pack_of(name)) for name in examples()]
    return [(sheet, pdf(sheet)) for sheet in sheets]


def test_rows_of_one_line_stand_as_if_typst_had_tried_them_out(
    examples_printed: list[tuple[Any, bytes]],
) -> None:
    """Every row whose height is given against the same row left to typst: not a word moves."""
    sure = 0
    for sheet, planned in sorted(examples_printed, key=lambda one: len(one[1]))[: cases(1, 3)]:
        sure += sum(sum(g.one_line) for s in sheet.sections for g in s.grids)
        sections = tuple(
            replace(s, grids=tuple(replace(g, one_line=(False,) * len(g.rows)) for g in s.grids))
            for s in sheet.sections
        )
        tried = pdf(replace(sheet, sections=sections))
        assert pages_of(planned) == pages_of(tried)
        assert text_places(planned) == text_places(tried)
    assert sure > 150


def test_the_contents_name_every_chapter_with_its_page(
    examples_printed: list[tuple[Any, bytes]],
) -> None:
    for sheet, printed in examples_printed:
        reader = pypdf.PdfReader(io.BytesIO(printed))
        outline = [d for d in reader.outline if not isinstance(d, list)]
        chapters = outline[[d.title for d in outline].index("Review") :]
        numbered = [f"{s.number}{s.title}" for s in sheet.sections]
        again = "Worked steps in base SI units"
        titles = ["Review", "Basis and inputs", *numbered, again, "Sources", "Signatures"]
        assert [d.title for d in chapters] == titles
        pages = [reader.get_destination_page_number(d) + 1 for d in chapters]
        told = "".join(f"{title}{page}" for title, page in zip(titles, pages, strict=True))
        assert squeezed(told) in pages_of(printed)[0]


def test_what_goes_to_the_bench_begins_a_page(examples_printed: list[tuple[Any, bytes]]) -> None:
    for sheet, printed in examples_printed:
        (bench,) = [s for s in sheet.sections if s.new_page]
        assert bench.title.startswith(("Manifold board", "Shop"))
        head = squeezed(f"{bench.number}{bench.title}")
        assert sum(head in page[: len(head) + 90] for page in pages_of(printed)[1:]) == 1
