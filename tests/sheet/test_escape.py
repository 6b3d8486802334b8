"""Words from a build file become plain text in every output."""

from __future__ import annotations

import csv
import html.parser
import io
import json
import re

import pytest
import typst
from hypothesis import given, settings
from hypothesis import strategies as st
from jinja2 import UndefinedError

from tests.cases import cases
from vanplumb.sheet import escape
from vanplumb.sheet.html_page import STYLE, TEMPLATE, environment
from vanplumb.words.files import file_name

HOSTILE = [
    "<script>alert(1)</script>",
    '" onload="alert(1)',
    "</title></style><img src=x onerror=alert(1)>",
    "#eval(\"1\") $x$ *bold* _it_ @ref \\ `raw` = head",
    "#panic()",
    r"\input{secret} \newline $$ \frac{1}{0}",
    "two\nlines\r\nand\ttabs",
    "nothing\x00 bell\x07 escape\x1b[31m",
    "turned \u202egnirts",
    "half \ud800 of a pair",
    "&lt;already&gt; &amp; told",
    "]]> <!-- --> <![CDATA[",
]  # fmt: skip
ANY_TEXT = st.text(st.characters(), max_size=80)  # lone surrogates and control letters too


class Reader(html.parser.HTMLParser):
    """Collects the tags and the text of a page."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[str] = []
        self.text = ""
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)

    def handle_data(self, data: str) -> None:
        self.text += data


def filled_in(template: str, text: str) -> str:
    """What the page's own environment makes of a text."""
    return environment().from_string(template).render(text=text)


def test_a_word_that_a_template_misspells_is_an_error_and_not_a_gap() -> None:
    with pytest.raises(UndefinedError, match="is undefined"):
        environment().from_string("{{ txet }}").render(text="told")


def test_only_mathematics_style_and_pictures_go_in_as_markup() -> None:
    """The template lets through a formula's letter; all else that is markup comes from Python."""
    template = STYLE.with_name(TEMPLATE).read_text(encoding="utf-8")
    assert re.findall(r"\|\s*(\w+)", template.replace("||", "")).count("markup") == 1
    assert "safe" not in re.findall(r"\|\s*(\w+)", template)
    assert "autoescape" not in template


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_is_text_in_html(text: str) -> None:
    page = Reader(filled_in('<p title="{{ text }}">{{ text }}</p>', text))
    assert page.tags == ["p"]
    assert page.text == escape.visible(text)


@given(ANY_TEXT)
def test_html_gives_back_what_was_visible(text: str) -> None:
    page = Reader(filled_in("<p>{{ text }}</p>", text))
    assert page.tags == ["p"]
    assert page.text == escape.visible(text)


@given(ANY_TEXT)
def test_visible_text_is_one_line_and_stays_as_it_is(text: str) -> None:
    line = escape.visible(text)
    assert len(line.splitlines()) <= 1
    assert line.encode("utf-8").decode("utf-8") == line
    assert escape.visible(line) == line


@pytest.mark.parametrize(
    "text, shown",
    [
        ("two\nlines\r\nand\ttabs", "two lines and tabs"),
        ("bell\x07", "bell[U+0007]"),
        ("\u202eturned", "[U+202E]turned"),
        ("\ud800", "[U+D800]"),
        ("\ufffe", "[U+FFFE]"),
        ("½ in × 3 °C, Łódź", "½ in × 3 °C, Łódź"),
        ("e" + "\u0301" * 50, "e" + "\u0301" * 4),
    ],
)
def test_letters_that_act_are_told_by_number(text: str, shown: str) -> None:
    assert escape.visible(text) == shown


def test_a_long_text_is_cut_and_says_so() -> None:
    cut = escape.name("long " * 2000)
    assert len(cut) < 170
    assert cut.endswith("… [shortened, 9,999 letters in all]")
    assert escape.plain("x" * escape.LONGEST) == "x" * escape.LONGEST


@given(ANY_TEXT.filter(str.strip))
@settings(max_examples=cases(20), deadline=None)
def test_typst_shows_any_text_as_it_is(text: str) -> None:
    """Text goes to typst as data, so what typst holds is the text, letter for letter."""
    sent = json.dumps(escape.breakable(text), ensure_ascii=False)
    source = b"#let told = json(bytes(sys.inputs.told))\n#told\n#metadata(told) <told>"
    typst.compile(source, sys_inputs={"told": sent}, ignore_system_fonts=True, timestamp=0)
    back = json.loads(
        typst.query(source, "<told>", field="value", one=True, sys_inputs={"told": sent})
    )
    assert back.replace("\u200b", "") == escape.visible(text)


def test_a_long_word_may_be_broken() -> None:
    assert escape.breakable("short words only") == "short words only"
    pieces = escape.breakable("x" * 30).split("\u200b")
    assert [len(p) for p in pieces] == [12, 12, 6]


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t=", "\r=", "\n@", " =", "＝", "−"])
def test_a_cell_never_starts_a_formula(start: str) -> None:
    assert escape.cell(f"{start}1+1").startswith("'")


@given(ANY_TEXT)
def test_a_cell_survives_a_list(text: str) -> None:
    page = io.StringIO(newline="")
    csv.writer(page, quoting=csv.QUOTE_NONNUMERIC).writerow([escape.cell(text), 1.5])
    [[back, number]] = list(csv.reader(io.StringIO(page.getvalue(), newline="")))
    assert back == escape.cell(text)
    assert number == "1.5"
    assert not back.startswith(("=", "+", "-", "@"))


@pytest.mark.parametrize(
    "key, name",
    [
        ("cut list", "cut-list"),
        ("../../etc/passwd", "etc-passwd"),
        ("Größe", "große"[0:3] + "e"),
        ("\x00", "list"),
        ("", "list"),
        ("a" * 500, "a" * 60),
    ],
)
def test_a_file_name_is_plain(key: str, name: str) -> None:
    assert file_name(key) == name


def test_other_fonts_are_asked_only_for_letters_that_ours_lack() -> None:
    assert not escape.needs_other_fonts("Łódź, 40 °C ½ in → Привет, ελ ≤ ×")
    assert escape.needs_other_fonts("水")
