"""The sheet as one HTML file that needs nothing else: no network, no script, no other file.

The page is a template, ``page.html.j2``.  Every text is made visible and escaped where it is put
in, by the template's environment; what is let through as markup is named here: the style, the
mathematics, and the pictures, which ``entries.drawing`` has cleaned.
"""

from __future__ import annotations

import re
from base64 import b64encode
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

from .entries import Drawing, Fact, Sheet
from .escape import visible

if TYPE_CHECKING:
    from jinja2 import Environment
    from markupsafe import Markup

TEMPLATE = "page.html.j2"
STYLE = Path(__file__).with_name("page.css")
FONT = Path(__file__).with_name("math.woff2")  # roots and brackets that grow with what they hold
_STYLE_OF_A_PICTURE = re.compile(r"(<style\b[^>]*>)(.*?)(</style>)", re.DOTALL)
BRIEF, SHORT, FIGURE = 10, 16, 15
_EQUALS = "<mo>=</mo>"
_OPEN, _CLOSE = "<math><mrow>", "</mrow></math>"
_BREAKS = "·+−"
_LONG = 20
"""Letters from which a side of an equation may be broken, too; a phone takes some thirty."""
_TAG = re.compile("<[^>]*>")


def page(sheet: Sheet) -> str:
    """The whole page; the same sheet gives the same text."""
    defaults = tuple((f"{d.kind}: {d.label}", d.value, d.basis, d.where) for d in sheet.defaults)
    template = environment().get_template(TEMPLATE)
    return template.render(sheet=sheet, defaults=defaults, style=style())


@lru_cache(maxsize=1)
def environment() -> Environment:
    """Where a page's template is filled in: every text made visible and escaped."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined
    from markupsafe import Markup

    def shown(value: Any) -> Any:
        """What stands in the page: markup as it is, all else as visible text."""
        return value if isinstance(value, Markup) else visible(value)

    made = Environment(
        loader=FileSystemLoader(Path(__file__).parent, encoding="utf-8"),
        autoescape=True,
        finalize=shown,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    made.filters["markup"] = Markup
    made.globals.update(
        drawn=_drawn, facts=_facts, mathematics=_mathematics, side=_side, together=_together
    )
    return made


@lru_cache(maxsize=1)
def style() -> Markup:
    """The style of a page, with the letters that mathematics is set in."""
    from markupsafe import Markup

    font = b64encode(FONT.read_bytes()).decode("ascii")
    face = f"src:url(data:font/woff2;base64,{font}) format('woff2')"
    style = STYLE.read_text(encoding="utf-8")
    return Markup(f"{style}@font-face{{font-family:'Vanplumb Math';{face}}}")


def in_pieces(line: str) -> str:
    """A chain of equations in pieces, so that a narrow page can break it.

    That is before an equals sign, and where a side is long before a sign of sum or product.
    """
    if not (line.startswith(_OPEN) and line.endswith(_CLOSE)):
        return line
    first, *rest = line[len(_OPEN) : -len(_CLOSE)].split(_EQUALS)
    if not rest:
        return line
    style = 'displaystyle="true"'
    pieces = []
    for before, side in zip([first, *["<mi></mi>"] * len(rest)], rest, strict=False):
        begin, *more = _broken(side)
        on = "".join(f'<wbr><math class="vp-on" {style}><mrow>{m}</mrow></math>' for m in more)
        pieces.append(f"<math {style}><mrow>{before}{_EQUALS}{begin}</mrow></math>{on}")
    return " ".join(pieces)


def _broken(side: str) -> list[str]:
    """One side of an equation in parts of few letters, if it is a long sum or product."""
    if len(_TAG.sub("", side)) <= _LONG:
        return [side]
    found = [""]
    for part in _terms(ElementTree.fromstring(f"<mrow>{side}</mrow>")):
        if _is_sign(part) and len(_TAG.sub("", found[-1])) > _LONG // 2:
            found.append("<mi></mi>")  # so that the sign has room on both sides
        found[-1] += ElementTree.tostring(part, "unicode", short_empty_elements=False)
    return found


def _is_sign(part: Element) -> bool:
    return part.tag == "mo" and part.text is not None and part.text in _BREAKS


def _terms(row: Element) -> Iterator[Element]:
    """The parts of a row and of the rows that open it, as long as they are sums or products."""
    first, *rest = row
    nested = first.tag == "mrow" and len(first) > 1 and first[0].tag != "mo"
    yield from _terms(first) if nested else [first]
    yield from rest


def _mathematics(line: str) -> Markup:
    from markupsafe import Markup

    return Markup(in_pieces(line))


def _facts(facts: tuple[Fact, ...]) -> list[tuple[str, str, str]]:
    return [(f.label, f.value, "; ".join(x for x in (f.basis, f.note) if x)) for f in facts]


def _side(cell: str, right: bool) -> Markup:
    """The mark of a cell: a figure, or few words that stay on one line (on a phone if brief)."""
    from markupsafe import Markup

    if right:
        return Markup(' class="n"')
    if len(cell) <= BRIEF:
        return Markup(' class="k"')
    return Markup(' class="k w"' if len(cell) <= SHORT else "")


def _together(figure: str) -> Markup:
    """A short figure with its unit, on one line."""
    from markupsafe import Markup, escape

    text = escape(visible(figure))
    return text.replace(" ", Markup("&nbsp;")) if len(figure) <= FIGURE else text


def _drawn(picture: Drawing) -> Markup:
    """A picture whose style is kept to itself."""
    from markupsafe import Markup

    key = picture.key
    return Markup(_STYLE_OF_A_PICTURE.sub(lambda m: f"{m[1]}#{key}{{{m[2]}}}{m[3]}", picture.svg))
