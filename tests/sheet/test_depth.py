"""A sheet in three depths: page one, answers and drawings, everything; and a finding told once."""

from __future__ import annotations

import re

import pytest

from tests.examples import pack_of
from tests.pdf_text import page_texts
from vanplumb.pack import Pack
from vanplumb.sheet.contents import Depth, sheet_of
from vanplumb.sheet.html_page import page
from vanplumb.sheet.typst_page import pdf


@pytest.fixture(scope="module")
def pack() -> Pack:
    return pack_of("heron")


def pages(pack: Pack, depth: Depth) -> list[str]:
    data = pdf(sheet_of(pack, depth=depth))
    return page_texts(data)


def test_each_depth_has_its_length(pack: Pack) -> None:
    one, short, everything = (pages(pack, d) for d in ("one", "short", "all"))
    assert len(one) == 1
    assert 4 <= len(short) <= 8 < len(everything) / 2
    # page one is the same but for its contents and what it says of itself
    for answer in sheet_of(pack).answers:
        assert answer.value.split()[0] in one[0] and answer.value.split()[0] in everything[0]


def test_what_is_short_says_so_and_bears_the_mark(pack: Pack) -> None:
    for depth in ("one", "short"):
        made = sheet_of(pack, depth=depth)  # type: ignore[arg-type]
        assert "This is the sheet in short" in " ".join(made.standing)
        assert made.mark == pack.build.mark
        assert not made.defaults and not made.sources
        assert all(not r.steps for s in made.sections for r in s.results)
        assert pack.build.mark in page(made)
    assert "in short" not in " ".join(sheet_of(pack).standing)


def test_cautions_stay_beside_the_figures_however_short(pack: Pack) -> None:
    short, whole = sheet_of(pack, depth="short"), sheet_of(pack)
    by_number = {s.number: s for s in whole.sections}
    assert short.sections and all(
        s.cautions == by_number[s.number].cautions for s in short.sections
    )
    assert sheet_of(pack, depth="one").cautions == whole.cautions


@pytest.mark.parametrize("depth", ["one", "short", "all"])
def test_no_link_of_a_page_leads_nowhere(pack: Pack, depth: Depth) -> None:
    markup = page(sheet_of(pack, depth=depth))
    led = set(re.findall(r'href="#([^"]+)"', markup))
    assert led <= set(re.findall(r'id="([^"]+)"', markup))
    assert bool(led) == (depth != "one")


def test_a_finding_in_several_places_is_told_once_with_all_of_them(pack: Pack) -> None:
    told = sheet_of(pack).findings
    assert len({(n.rule, n.what, n.limit, n.advice) for n in told}) == len(told)
    for finding in pack.findings:
        name = finding.rule.replace("_", " ")
        assert any(n.rule == name and finding.where.strip() in n.where for n in told), finding.where
