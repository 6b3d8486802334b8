"""How results look in a notebook: HTML from answers, grids, cautions and worked steps.

Colours follow JupyterLab's light and dark themes through its own variables.  Every text
that may come from a build file is escaped here.
"""

from __future__ import annotations

import re
from base64 import b64encode
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from functools import lru_cache
from html import escape
from typing import Any

from ...review.finding import SEVERITIES
from ...words.report import Answer, Caution, Chapter, Grid
from ...words.show import capital
from ...words.work import Work
from .browser_files import style

PRINT = style(__package__, "print.css")
RESULTS = style(__package__, "results.css")
RESULTS_STYLE = f"<style>{RESULTS}{PRINT}</style>"
STYLE = f"<style>{RESULTS}{style(__package__, 'worksheet.css')}{PRINT}</style>"


BRIEF, SHORT, LONG = 10, 16, 28  # letters: what stays on one line, what gets room to wrap
_brought: list[str] = []


def font_for(html: str) -> str:
    """The font for mathematics, if these are the first equations that a notebook shows.

    One piece brings it for the whole notebook, and brings it again when its cell is run again.
    """
    if "<math" not in html:
        return ""
    if not _brought:
        _brought.append(html)
    return math_font() if _brought[0] == html else ""


@contextmanager
def other_notebook() -> Iterator[None]:
    """What is made inside goes into a notebook of its own, which needs the font, too."""
    kept, _brought[:] = list(_brought), []
    try:
        yield
    finally:
        _brought[:] = kept


@lru_cache(maxsize=1)
def math_font() -> str:
    """The sheet's small font for mathematics, whose roots cover what they hold."""
    from ...sheet.html_page import FONT

    data = b64encode(FONT.read_bytes()).decode("ascii")
    source = f"url(data:font/woff2;base64,{data}) format('woff2')"
    return f"<style>@font-face{{font-family:'Vanplumb Math';src:{source}}}</style>"


def title(text: str) -> str:
    """The heading of a page."""
    return f'<h2 class="vp-title">{escape(text)}</h2>'


def answers_table(answers: Iterable[Answer], units: str, title: str = "") -> str:
    """Labels and figures, one a line, with what is worth noting beside each."""
    rows = "".join(
        f"<tr><td>{escape(a.label)}</td><td{_mark(a)}>{escape(a.shown(units))}</td>"
        f'<td class="vp-source">{escape(" · ".join(t for t in (a.note, a.basis) if t))}</td></tr>'
        for a in answers
    )
    caption = f"<caption>{escape(title)}</caption>" if title else ""
    if not rows:
        return ""
    return f'<div class="vp-wide"><table class="vp vp-answers">{caption}{rows}</table></div>'


def _mark(answer: Answer) -> str:
    return ' class="vp-number"' if answer.word or len(str(answer.value)) <= SHORT else ""


def grid_table(grid: Grid, units: str) -> str:
    """A grid with its heads; numbers stand on the right."""
    heads, cells = grid.shown(units)
    longest = [max((len(row[i]) for row in cells), default=0) for i in range(len(heads))]
    marks = [
        kind(most, number=bool(c.word) or (c.align == "right" and most <= LONG))
        for c, most in zip(grid.columns, longest, strict=True)
    ]
    top = "".join(f"<th{m}>{escape(h)}</th>" for h, m in zip(heads, marks, strict=True))
    rows = "".join(
        "<tr>"
        + "".join(f"<td{m}>{escape(c)}</td>" for c, m in zip(row, marks, strict=True))
        + "</tr>"
        for row in cells
    )
    note = f'<div class="vp-source">{escape(grid.note)}</div>' if grid.note else ""
    caption = f"<caption>{escape(grid.title)}</caption>" if grid.title else ""
    return (
        f'<div class="vp-wide"><table class="vp vp-grid">{caption}'
        f"<thead><tr>{top}</tr></thead><tbody>{rows}</tbody></table></div>{note}"
    )


def kind(most: int, *, number: bool = False) -> str:
    """The mark of a column, from the length of its longest cell."""
    if number:
        return ' class="vp-number"'
    sizes = ((BRIEF, "brief"), (SHORT, "short"), (LONG, "middling"))
    return f' class="vp-{next((name for room, name in sizes if most <= room), "long")}"'


def worst_first(cautions: Iterable[Caution]) -> list[Caution]:
    """By signal word; those of one word stay in their order."""
    order = list(SEVERITIES)
    return sorted(cautions, key=lambda c: order.index(c.level))


def cautions_list(cautions: Iterable[Caution]) -> str:
    """Each caution with its signal word, the worst first."""
    return "".join(
        f'<div class="vp-caution vp-{escape(c.level)}"><b>{escape(c.level)}</b> '
        f"{escape(c.text)}</div>"
        for c in worst_first(cautions)
    )


def as_caution(one: Any, units: str) -> Caution:
    """A finding as one line: what, where, value against limit, what to do, source."""
    if isinstance(one, Caution):
        return one
    value, limit = one.shown(units)
    where = f"{capital(one.where)}: " if one.where else ""
    what = capital(one.what).rstrip(".")
    text = f"{what}. {where}{value}, limit {limit}. {one.advice} ({one.source})"
    return Caution(one.severity, text)


def results(chapter: Chapter, units: str, told: Iterable[Caution] = ()) -> str:
    """Cautions, those ``told`` with those of the chapter, then its answers and grids."""
    parts = [cautions_list([*told, *chapter.cautions]), answers_table(chapter.answers, units)]
    return "".join([*parts, *(grid_table(grid, units) for grid in chapter.grids)])


def worked_steps(chapter: Chapter, units: str) -> str:
    """Every answer that has worked steps: letters, figures, result, source."""
    parts = [steps_of(answer, units) for answer in chapter.answers if answer.work]
    left_out = unordered("Not computed here", chapter.not_computed)
    basis = unordered("Basis", chapter.basis)
    return "".join(parts) + basis + left_out or "<p>This worksheet has no worked steps.</p>"


def steps_of(answer: Answer, units: str) -> str:
    """The worked steps of one answer, with the source of each equation."""
    works = "".join(_equations(one, units, answer.word_of(one)) for one in answer.work)
    return f'<div class="vp-step"><b>{escape(answer.label)}</b>{works}</div>'


def work(one: Work, units: str, told: str = "") -> str:
    """One worked step by itself; ``told`` is the word of its answer, if not its formula's own."""
    return f'<div class="vp-step">{_equations(one, units, told)}</div>'


def _equations(one: Work, units: str, told: str = "") -> str:
    """The steps in the reader's units, what they convert by, and folded in base SI units."""
    lines = _lines(one.mathml(units, told))
    known = "; ".join(one.conversions(units, told))
    note = "in base SI units" if one.only_si(units, told) else known
    said = f'<div class="vp-source">{escape(note)}</div>' if note else ""
    si = _lines(one.in_si("mathml", units, told))
    fold = f'<details class="vp-si"><summary>in base SI units</summary>{si}</details>' if si else ""
    return f'{lines}{said}{fold}<div class="vp-source">{escape(str(one.source))}</div>'


def _lines(found: Sequence[str]) -> str:
    from ...sheet.html_page import in_pieces

    return "".join(f'<div class="vp-line">{in_pieces(line)}</div>' for line in found)


def unordered(title: str, texts: Sequence[str]) -> str:
    """A short list under a heading, or nothing."""
    items = "".join(f"<li>{escape(text)}</li>" for text in texts)
    return f"<div><b>{escape(title)}</b><ul>{items}</ul></div>" if items else ""


def said(text: str, *, good: bool) -> str:
    """What an action tells: where something was written, or why not."""
    if not text:
        return ""
    mark = "vp-good" if good else "vp-wrong"
    return f'<div class="vp-said {mark}" role="status">{escape(sentence(text))}</div>'


def sentence(text: str) -> str:
    """What is told, with a capital at its front, unless that is the name of a file."""
    return capital(text) if re.match(r"[a-z]+[ ,:]", text) else text
