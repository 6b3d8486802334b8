"""A picture on the sheet only shows: it runs nothing, loads nothing and keeps its ids apart."""

from __future__ import annotations

from typing import Any
from xml.etree import ElementTree

import pytest

from tests.pdf_text import page_texts
from vanplumb.sheet.contents import sheet_of
from vanplumb.sheet.entries import drawing
from vanplumb.sheet.html_page import page
from vanplumb.sheet.typst_page import pdf
from vanplumb.words.report import Chapter, Picture

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '


def made(inside: str, head: str = 'viewBox="0 0 10 10"') -> str:
    shown = drawing(Picture("p", "A picture.", f"{HEAD}{head}>{inside}</svg>"), "p1-1")
    assert not shown.problem
    ElementTree.fromstring(shown.svg)
    return shown.svg


@pytest.mark.parametrize(
    "inside",
    [
        "<script>alert(1)</script>",
        "<g><script>alert(1)</script></g>",
        "<foreignObject><body/></foreignObject>",
        '<rect onclick="alert(1)"/>',
        '<a xlink:href="javascript:alert(1)"><text>x</text></a>',
        '<image href="http://localhost/alert"/>',
        '<use href="other.svg#alert"/>',
        '<rect fill="url(http://localhost/alert)"/>',
        "<style>@import 'alert.css'; rect { fill: url(//localhost/alert) }</style>",
        '<animate attributeName="href" values="alert"/>',
        "<metadata>alert 2031-01-01</metadata>",
        "<!-- alert -->",
    ],
)
def test_what_could_act_is_taken_out(inside: str) -> None:
    svg = made(inside + '<circle r="3"/>')
    assert "alert" not in svg
    assert "circle" in svg


def test_ids_of_two_pictures_stay_apart() -> None:
    svg = made(
        '<defs><clipPath id="a"><rect/></clipPath></defs>'
        '<g clip-path="url(#a)"/><use xlink:href="#a"/>'
    )
    assert 'id="p1-1-a"' in svg
    assert "url(#p1-1-a)" in svg
    assert 'href="#p1-1-a"' in svg


@pytest.mark.parametrize(
    "head, width, height",
    [
        ('width="100mm" height="25.4mm" viewBox="0 0 1 1"', 100, 25.4),
        ('width="4in" height="72pt" viewBox="0 0 1 1"', 101.6, 25.4),
        ('width="800" height="600"', 0, 0),
        ('viewBox="0 0 320 200"', 0, 0),
        ('width="100%" height="50%"', 0, 0),
    ],
)
def test_sizes_on_paper_are_read(head: str, width: float, height: float) -> None:
    shown = drawing(Picture("p", "", f"{HEAD}{head}/>"), "p")
    assert (shown.width, shown.height) == pytest.approx((width, height))


def test_a_drawing_library_s_doctype_is_fine() -> None:
    text = (
        '<?xml version="1.0" encoding="utf-8" standalone="no"?>\n<!DOCTYPE svg PUBLIC '
        '"-//W3C//DTD SVG 1.1//EN"\n "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">\n'
        f'{HEAD}viewBox="0 0 1 1"/>'
    )
    assert not drawing(Picture("p", "", text), "p").problem


@pytest.mark.parametrize(
    "svg, why",
    [
        ("", "no element found"),
        ("<svg", "unclosed token"),
        ("<p>hello</p>", "it is not an SVG"),
        ('<!DOCTYPE svg [<!ENTITY a "aaaa">]><svg/>', "it declares entities"),
    ],
)
def test_a_broken_picture_is_told_not_dropped(make_pack: Any, svg: str, why: str) -> None:
    chapter = Chapter("c", "c", pictures=(Picture("p", "The board.", svg),))
    sheet = sheet_of(make_pack(chapters=(chapter,)))
    assert why in sheet.sections[0].pictures[0].problem
    assert f"{why}" in page(sheet) and "The board." in page(sheet)
    assert pdf(sheet).startswith(b"%PDF")


def test_a_picture_that_only_paper_refuses_is_told(make_pack: Any) -> None:
    """Its size is nothing: a browser shows nothing, the PDF says why, the next one is printed."""
    bad = Picture("p", "The board.", f'{HEAD}width="0" height="0"><rect/></svg>')
    good = Picture("q", "A dot.", f'{HEAD}viewBox="0 0 9 9"><circle r="3"/></svg>')
    chapter = Chapter("c", "c", pictures=(bad, good))
    data = pdf(sheet_of(make_pack(chapters=(chapter,))))
    words = " ".join("".join(page_texts(data)).split())
    assert "This picture can't be printed: failed to parse SVG" in words
    assert "A dot. Not to scale." in words


def test_a_picture_s_style_stays_inside_it(make_pack: Any) -> None:
    text = page(sheet_of(make_pack()))
    assert "<style>#p1-2{text { font-size: 11px" in text
