"""A whole example build whose names try to be code: read, worked out and printed as plain text."""

from __future__ import annotations

import html
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest

from tests.pdf_text import page_texts
from vanplumb.pack import Pack
from vanplumb.sheet import write_all
from vanplumb.sheet.escape import name as shown_name
from vanplumb.van import loads
from vanplumb.words.tables import example_builds

NAMES = {
    "script": "<script>alert(1)</script>",
    "attribute": '"><img src=x onerror=alert(1)>',
    "typst": '#eval("1") $x$ *b* _i_ @n',
    "tex": r"\frac{1}{0} $$ \input{x}",
    "lines": "one\ntwo\ttabs",
    "formula": "=1+1",
    "long": "x" * 10_000,
}


TOGETHER = (("script", "typst", "formula"), ("tex", "attribute", "lines"), ("long",))
FIRST, *MORE = TOGETHER
"""Names that stand in one van: a whole pack of each alone would take twice as long."""


def with_names(*names: str) -> str:
    """The smallest example with its van, its tap and a habit called so, or all three alike."""
    text = example_builds()["wren"].read_text(encoding="utf-8")
    for place, old in enumerate(("Wren", "tap", "dishes")):
        name = names[place % len(names)]
        escaped = name.replace("\\", "\\\\").replace('"', '\\"')
        escaped = escaped.replace("\n", "\\n").replace("\t", "\\t")
        assert f'"{old}"' in text
        text = text.replace(f'"{old}"', f'"{escaped}"')
    return text


class Markup(HTMLParser):
    """All tags and all names of attributes of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.attributes: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.attributes.update(key for key, _ in attrs)


def squeezed(text: str) -> str:
    return re.sub(r"[\s\u200b]+", "", text)


def test_every_name_is_tried() -> None:
    assert sorted(key for keys in TOGETHER for key in keys) == sorted(NAMES)


@pytest.mark.parametrize(
    "keys", [FIRST, *(pytest.param(k, marks=pytest.mark.roaming) for k in MORE)], ids=" ".join
)
def test_names_that_try_to_be_code_are_plain_text_everywhere(
    keys: tuple[str, ...], tmp_path: Path
) -> None:
    names = [NAMES[key] for key in keys]
    build = loads(with_names(*names))
    assert build.van.name == names[0]
    paper, page, *lists = write_all(Pack(build), tmp_path)

    pages = page_texts(paper.read_bytes())
    words = squeezed("".join(pages))
    for name in names:
        assert squeezed(shown_name(name)) in words
    assert len(pages) < 40

    markup = page.read_text(encoding="utf-8")
    for name in names:
        assert shown_name(name) in html.unescape(markup)
    found = Markup()
    found.feed(markup)
    assert not found.tags & {"script", "img", "iframe", "object", "embed", "foreignobject"}
    assert not [a for a in found.attributes if a.startswith("on")]

    assert lists
    for path in lists:
        assert not re.search(r'(^|,)"?[=+@\t]', path.read_text(encoding="utf-8-sig"), re.MULTILINE)
