"""How results look: the worst first, short cells whole, the font once, no text cut."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pandas as pd
import pytest
from IPython.core.interactiveshell import InteractiveShell

from vanplumb import worksheets
from vanplumb.formulas.heater import expansion_volume
from vanplumb.formulas.tube import tube_content
from vanplumb.formulas.water import water_viscosity
from vanplumb.words.report import Answer, Caution, Chapter, Column, Grid
from vanplumb.worksheets.frame import look, paper
from vanplumb.worksheets.frame.browser_files import shortened

LEVELS = ("NOTICE", "CAUTION", "WARNING", "DANGER")
FONT = "@font-face"


def step(length: str) -> paper.Paper:
    return paper.work(tube_content.work(diameter="12 mm", length=length), "SI")


@pytest.fixture
def fresh() -> Any:
    with look.other_notebook():
        yield


def test_the_worst_caution_stands_first_in_text_and_page() -> None:
    made = Chapter("k", "t", cautions=tuple(Caution(level, "x") for level in LEVELS))
    shown = paper.chapter(made)
    found = re.findall(r"<b>(NOTICE|CAUTION|WARNING|DANGER)</b>", shown.html)
    assert found == list(reversed(LEVELS)) == re.findall("|".join(LEVELS), repr(shown))


def test_what_is_told_beside_a_chapter_is_sorted_in_with_its_cautions() -> None:
    made = Chapter("k", "t", cautions=(Caution("WARNING", "x"),))
    html = look.results(made, "SI", [Caution("CAUTION", "y"), Caution("DANGER", "z")])
    assert re.findall(r"vp-caution vp-(\w+)", html) == ["DANGER", "WARNING", "CAUTION"]


def test_steps_are_in_the_readers_units_and_si_is_folded_behind_them() -> None:
    growth = expansion_volume.work(volume="5 gal", density_cold=999.26, density_hot=983.2)
    answer = Answer("growth", growth.value, "volume_small", (growth,))
    html = look.steps_of(answer, "US")
    shown, _, folded = html.partition("<details")
    assert "fl oz" in shown and "1 gal = 128 fl oz" in shown and "m³" not in shown
    assert "m³" in folded and "fl oz" not in folded
    assert "= 10.5 fl oz" in repr(paper.steps(answer, "US"))


def test_steps_that_work_only_in_si_say_so() -> None:
    html = look.work(water_viscosity.work(temperature="57 °F"), "US")
    assert "in base SI units" in html and "<details" not in html


def test_the_signal_colours_are_those_of_the_printed_sheet(project: Any) -> None:
    def colours(name: str) -> set[str]:
        text = (project / name).read_text(encoding="utf-8").lower()
        return {c for c in ("#c4161f", "#fb7d0a", "#fbcf0c", "#0b58ad") if c in text}

    printed = colours("vanplumb/sheet/parts.typ")
    assert len(printed) == 4
    assert colours("vanplumb/worksheets/frame/results.css") == printed


def test_short_texts_stay_on_a_line_and_long_ones_get_room() -> None:
    row = (
        "PEX 1/2 in",
        "Mon 10 Mar 09:35",
        "grown-ups' shower",
        "International Plumbing Code, section 416.5",
        1.0,
    )
    made = Grid("g", (*map(Column, "abcd"), Column("e", "number")), (row,))
    found = re.findall(r'<td class="vp-(\w+)"', look.grid_table(made, "SI"))
    assert found == ["brief", "short", "middling", "long", "number"]


def test_the_first_equations_of_a_notebook_bring_the_font(fresh: None) -> None:
    one, other = step("3 m"), step("4 m")
    assert FONT not in paper.pairs(("a", "b"), [("1", "2")])._repr_html_()
    assert FONT in one._repr_html_()
    assert FONT not in other._repr_html_()
    assert FONT in one._repr_html_(), "the same cell run again"


def test_a_notebook_that_is_written_has_the_font_too(fresh: None) -> None:
    one = step("3 m")
    one._repr_html_()
    with look.other_notebook():
        assert FONT in step("5 m")._repr_html_()
    assert FONT in one._repr_html_()


def test_a_notebook_shows_a_long_text_of_a_table_whole() -> None:
    text = "likely: wrong tube: run 16 (hot manifold to shower, hot inlet) in PEX 3/8 in"
    frame = pd.DataFrame({"verdict": [text]})
    assert text not in frame._repr_html_()
    shell = InteractiveShell.instance()
    try:
        worksheets._show_tables_whole()
        data, _ = shell.display_formatter.format(frame)
        assert text in data["text/html"]
        assert pd.get_option("display.max_colwidth") == 50
    finally:
        InteractiveShell.clear_instance()


def test_what_is_told_begins_with_a_capital_but_not_the_name_of_a_file() -> None:
    assert ">Type a plain name<" in look.said("type a plain name", good=False)
    assert ">my-van.toml exists<" in look.said("my-van.toml exists", good=False)
    assert ">60 held<" in look.said("60 held", good=True)


def declarations(css: str) -> list[tuple[str, str]]:
    """Each selector with its declarations, by a library that reads style sheets."""
    tinycss2 = pytest.importorskip("tinycss2")

    def told(tokens: Any) -> str:
        text = re.sub(r"\s+", " ", tinycss2.serialize(tokens)).strip()
        return re.sub(r" ?([,:]) ?", r"\1", text)

    def inside(rules: Any, at: str) -> Iterator[tuple[str, str]]:
        for rule in rules:
            if rule.type == "declaration":
                yield at, f"{rule.name}:{told(rule.value)}{'!' * rule.important}"
            else:
                where = f"{at} {getattr(rule, 'at_keyword', '')} {told(rule.prelude)}"
                within = tinycss2.parse_blocks_contents(rule.content, True, True)
                yield from inside(within, where)

    return list(inside(tinycss2.parse_stylesheet(css, True, True), ""))


@pytest.mark.parametrize(
    "name",
    [
        f"frame/{name}.css" for name in ("results", "worksheet", "print", "living")
    ] + ["van/board_stage.css", "page/van_form.css", "page/file_editor.css"],
)  # fmt: skip
def test_a_shortened_style_says_the_same(project: Any, name: str) -> None:
    css = (project / "vanplumb/worksheets" / name).read_text(encoding="utf-8")
    short = shortened(css)
    assert len(short) < 0.9 * len(css) and "/*" not in short
    assert declarations(short) == declarations(css) != []


def test_what_stands_in_quotes_is_not_shortened() -> None:
    assert (
        shortened('a > b::after { content: " x ;  y: /"; }') == 'a > b::after{content:" x ;  y: /"}'
    )
