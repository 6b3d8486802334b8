"""How a pack's parts read in a notebook: tables and findings as HTML, plain text beside it."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape
from typing import TYPE_CHECKING, Any

from ...sheet.wording import told, told_finding, words_of
from ...words.report import Answer, Chapter, Column, Grid
from ...words.work import Work
from . import look

if TYPE_CHECKING:
    from ...pack import Pack


class Paper:
    """A piece of a notebook.  ``repr`` gives plain text; a notebook shows the HTML."""

    def __init__(self, html: str, text: str) -> None:
        self._html, self._text = html, text

    def __repr__(self) -> str:
        return self._text

    @property
    def html(self) -> str:
        """The piece itself, for a page that brings its own style."""
        return self._html

    def _repr_html_(self) -> str:
        style = look.RESULTS_STYLE + look.font_for(self._html)
        return f'{style}<div class="vanplumb">{self._html}</div>'


def answers(pack: Pack, units: str = "") -> Paper:
    """The answers that open the sheet, in the build's units or those given."""
    system = units or pack.build.van.units
    say = words_of(pack.build)
    found = [a for chapter in pack.chapters for a in told(chapter, say).answers if a.key]
    return Paper(look.answers_table(found, system, pack.build.van.name), _lines(found, system))


def findings(pack: Pack, units: str = "") -> Paper:
    """What the review noticed, worst first."""
    system = units or pack.build.van.units
    say = words_of(pack.build)
    cautions = [look.as_caution(told_finding(f, say), system) for f in pack.all_findings]
    text = "\n".join(f"{c.level}: {c.text}" for c in look.worst_first(cautions))
    return Paper(look.cautions_list(cautions), text or "The review found nothing.")


def chapter(made: Chapter, units: str = "SI") -> Paper:
    """One chapter: its cautions, answers and tables."""
    parts = [_lines(made.answers, units), *(_grid_text(grid, units) for grid in made.grids)]
    parts += [f"{c.level}: {c.text}" for c in look.worst_first(made.cautions)]
    title = f"<p><b>{escape(made.title)}</b></p>"
    return Paper(title + look.results(made, units), "\n\n".join(p for p in parts if p))


def grid(made: Grid, units: str = "SI") -> Paper:
    """One table."""
    return Paper(look.grid_table(made, units), _grid_text(made, units))


def steps(answer: Answer, units: str = "SI") -> Paper:
    """The worked steps of one answer, from its inputs to the figure."""
    text = "\n\n".join(
        f"{work.title}:\n{work.text(units, answer.word_of(work))}" for work in answer.work
    )
    return Paper(look.steps_of(answer, units), text or "This answer has no worked steps.")


def work(steps: Work, units: str = "SI") -> Paper:
    """One worked step: in letters, in figures, the answer and its source."""
    return Paper(look.work(steps, units), f"{steps.title}:\n{steps.text(units)}")


def works(steps: Iterable[Work], units: str = "SI") -> Paper:
    """Several worked steps, each under its title."""
    found = list(steps)
    html = "".join(f"<p><b>{escape(one.title)}</b></p>{look.work(one, units)}" for one in found)
    return Paper(html, "\n\n".join(f"{one.title}:\n{one.text(units)}" for one in found))


def pairs(heads: tuple[str, str], found: Iterable[tuple[str, str]]) -> Paper:
    """A table of two columns of texts."""
    return grid(Grid("", (Column(heads[0]), Column(heads[1], align="right")), tuple(found)))


def _lines(found: Iterable[Answer], units: str) -> str:
    return "\n".join(f"{a.label}: {a.shown(units)}" for a in found)


def _grid_text(made: Grid, units: str) -> str:
    heads, cells = made.shown(units)
    rows: list[Any] = [heads, *cells]
    widths = [max(len(str(row[i])) for row in rows) for i in range(len(heads))]
    lines = [
        "  ".join(
            str(value).rjust(width) if column.word else str(value).ljust(width)
            for value, width, column in zip(row, widths, made.columns, strict=True)
        ).rstrip()
        for row in rows
    ]
    return "\n".join([made.title, *lines] if made.title else lines)
