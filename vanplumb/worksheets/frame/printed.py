"""How a page reads on paper, and where no kernel runs: its values, pictures, results and steps.

A notebook stores this beside the live page.  It is what stands there before the notebook is
run, in an exported page, and on paper.
"""

from __future__ import annotations

import base64
from collections.abc import Iterable
from html import escape
from typing import Any

from ...words.report import Picture
from . import look
from .controls import Control
from .page import Page

STANDS = "As it stood when its cell was run. To have it as it stands now: Put on the sheet."


class Figures(dict[str, str]):
    """Label to figure.  A notebook shows it as a table, plain text has a line for each."""

    def __repr__(self) -> str:
        return "\n".join(f"{label}: {figure}" for label, figure in self.items())

    def _repr_html_(self) -> str:
        return f'{look.RESULTS_STYLE}<div class="vanplumb">{rows(self.items())}</div>'


def bundle(page: Any, text: str, html: str, **kwargs: Any) -> dict[str, Any]:
    """What a notebook gets of a page: the widget, plain text, and how it reads on paper."""
    shown = page._repr_mimebundle_(**kwargs)
    data = shown[0] if isinstance(shown, tuple) else shown
    # Where the live page is shown this is not: it can't bring the font for other cells.
    style = look.RESULTS_STYLE + (look.math_font() if "<math" in html else "")
    paper = f'{style}<div class="vanplumb vp-printed">{html}</div>'
    return {**(data or {}), "text/plain": text, "text/html": paper}


def printed(sheet: Page) -> str:
    """A worksheet on paper: what was put in, what came out, and how."""
    parts = [look.title(sheet.title), values(sheet.shown_fields, sheet.units)]
    if sheet.problem:
        parts.append(f'<p class="vp-stale">{escape(sheet.problem)}</p>')
    if sheet.chapter is not None:
        chapter = sheet.chapter_with_pictures()
        parts.append('<div class="vp-figures">' + "".join(map(figure, chapter.pictures)) + "</div>")
        parts.append(look.results(chapter, sheet.units, sheet.told))
        if any(answer.work for answer in chapter.answers):
            parts.append("<p><b>Worked steps</b></p>" + look.worked_steps(chapter, sheet.units))
    return "".join(parts) + f'<p class="vp-source">{STANDS}</p>'


def values(fields: Iterable[Control | str], units: str) -> str:
    """What was put in, a line each, under its heading; what was left empty is left out."""
    lines, heading = [], ""
    for one in fields:
        if isinstance(one, str):
            heading = f'<tr><th colspan="2">{escape(one)}</th></tr>'
        elif one.text.strip():
            told = "<br>".join(escape(line) for line in one.text.splitlines())
            lines.append(f"{heading}<tr><td>{escape(one.label)}</td><td>{told}</td></tr>")
            heading = ""
    head = f"<caption>Put in, {'US' if units == 'US' else 'SI'} units</caption>"
    return f'<table class="vp vp-given">{head}{"".join(lines)}</table>' if lines else ""


def figure(picture: Picture) -> str:
    """A drawing on white, with its caption."""
    code = base64.b64encode(picture.svg.encode()).decode()
    image = (
        f'<img alt="{escape(picture.caption, quote=True)}" src="data:image/svg+xml;base64,{code}"'
    )
    return (
        '<figure style="margin: 8px 0; padding: 8px; background: #ffffff; color: #222222">'
        f'{image} style="max-width: 100%; max-height: 620px"/>'
        f"<figcaption>{escape(picture.caption)}</figcaption></figure>"
    )


def rows(pairs: Iterable[tuple[str, str]]) -> str:
    """A table of two columns."""
    lines = "".join(
        f"<tr><td>{escape(a)}</td><td{look.kind(len(b))}>{escape(b)}</td></tr>" for a, b in pairs
    )
    return f'<div class="vp-wide"><table class="vp vp-answers">{lines}</table></div>'
