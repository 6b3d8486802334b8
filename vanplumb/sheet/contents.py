"""What stands on a sheet, gathered once and printed twice: every text shown, none laid out.

All texts are plain (see ``escape``) and all figures are in the reader's units, so the PDF and
the HTML page can't differ in what they say.

How wide the columns of a table are on paper, and which of its rows have one line.
"""

from __future__ import annotations

import sys
import unicodedata
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Literal

from ..review.finding import SEVERITIES, told_once
from ..words.regions import Local
from ..words.report import Answer, Caution, Chapter, Grid
from ..words.show import capital, show
from ..words.sources import STATUSES, Source
from .entries import (
    Default,
    Fact,
    Notice,
    Remark,
    Result,
    Rows,
    Section,
    Sheet,
    Steps,
    Urgent,
    defaults_of,
    drawing,
    given_of,
)
from .escape import name, plain
from .lists import names_of
from .wording import told, told_finding, words_of

if TYPE_CHECKING:
    from ..words.work import Work

BOLD = 1.03  # heads are semibold
SPARE = 0.15
_WIDTHS = {
    0.0: "\u200b",
    0.24: "'|,.:;·",
    0.28: " \u00a0ijl°’{}\\",
    0.33: "!()Itf/J²³",
    0.39: 'rs[]*"-`',
    0.47: "0123456789acez?$#~é",
    0.53: "bdgkopquvxy_^SLFü",
    0.56: "hn+<>=×−–PEßö",
    0.61: "BRZTYµ",
    0.66: "KCVXU%Δ½¼¾",
    0.71: "AQDNOG&",
    0.76: "Hw—…",
    0.95: "mMW@",
    1.15: "→",
}
_LETTERS = {letter: width for width, letters in _WIDTHS.items() for letter in letters}


def fitted(heads: Sequence[str], rows: Sequence[Sequence[str]], room: float) -> tuple[float, ...]:
    """Width of each column, in em, that together take ``room`` em at most.

    With room for all, every cell and head has one line.  With less, heads are broken into
    words; with still less, the widest columns are all cut to one width and their cells broken.
    """
    wanted = _columns(heads, rows, lambda head: width(head) * BOLD)
    if sum(wanted) <= room:
        return wanted
    least = _columns(heads, rows, lambda head: max(map(width, head.split()), default=0.0) * BOLD)
    if sum(least) <= room:
        part = (room - sum(least)) / (sum(wanted) - sum(least))
        return tuple(low + (high - low) * part for low, high in zip(least, wanted, strict=True))
    most = _cut(sorted(least), room)
    return tuple(min(low, most) for low in least)


def _cut(widths: Sequence[float], room: float) -> float:
    """The width to which the widest are cut, so that all together take the room."""
    for place, narrow in enumerate(widths):
        share = room / (len(widths) - place)
        if narrow > share:
            return share
        room -= narrow
    return widths[-1]


def _columns(
    heads: Sequence[str], rows: Sequence[Sequence[str]], of_head: Callable[[str], float]
) -> tuple[float, ...]:
    columns: list[tuple[str, ...]] = list(zip(*rows, strict=True)) or [()] * len(heads)
    return tuple(
        max([of_head(head), *map(width, cells)]) + SPARE
        for head, cells in zip(heads, columns, strict=True)
    )


def one_line(rows: Sequence[Sequence[str]], widths: Sequence[float]) -> tuple[bool, ...]:
    """Which rows surely have one line in columns of those widths, in em.

    A row with a letter that isn't known is no sure one: it may come from another face, which
    may stand higher.
    """
    return tuple(
        all(_sure(cell, wide) for cell, wide in zip(row, widths, strict=True)) for row in rows
    )


def _sure(cell: str, wide: float) -> bool:
    return width(cell) + SPARE <= wide + 1e-9 and _LETTERS.keys() >= set(cell)


@lru_cache(maxsize=8192)
def width(text: str) -> float:
    """Width of a text on one line, in em."""
    return sum(map(_letter, text))


def _letter(letter: str) -> float:
    known = _LETTERS.get(letter)
    if known is not None:
        return known
    return 1.1 if unicodedata.east_asian_width(letter) in "WF" else 0.7


Depth = Literal["one", "short", "all"]
"""How much of a sheet is printed: page one, answers and drawings, everything."""
IN_SHORT = (
    "This is the sheet in short. Worked steps, tables, inputs, defaults and sources stand in the "
    "whole sheet of the same mark."
)
LEFT_OUT = ("water-properties", "runs", "place")
"""Chapters that a sheet in short does without."""
MOST_IN_SHORT = 4
"""Answers of a chapter in a sheet in short: its first; page one has those that matter most."""
LONGEST_VALUE = 200
LONGEST_SUM = 8
"""Parts of a sum whose letters are explained one by one."""
SIZES = ((6, 8.6), (9, 8.0), (1000, 7.2))  # letters of a table by its columns, pt
ROOM = {"US": (215.9 - 38) / 25.4 * 72, "SI": (210 - 38) / 25.4 * 72}  # between the margins, pt
CELL_SPACE = 7.2  # left and right of a cell's text together, pt
AT_THE_BENCH = ("board", "shop")  # the first of these chapters begins a page: to take along
MOST_URGENT = 7  # on page one
TO_WRITE = "0" * 18  # as wide as what is written in by hand
MOST_ROWS = 400  # of one table on the page; its list holds all


def sheet_of(pack: Any, *, revision: str = "", date: str = "", depth: Depth = "all") -> Sheet:
    """The sheet of a pack, as deep as asked for.  No date is printed unless one is given."""
    build = pack.build
    units = build.van.units
    say = words_of(build)
    chapters, opening = each_hazard_once((told(chapter, say) for chapter in pack.chapters), say)
    findings = sorted((told_finding(f, say) for f in pack.all_findings), key=_rank)
    notices = tuple(_notice(f, units) for f in findings)
    urgent = _urgent(notices, [bool(f.not_worked_out) for f in findings])
    first = max(MOST_URGENT, sum(f.not_worked_out != "" for f in findings))
    as_written = pack.as_written
    defaults = defaults_of(as_written)
    sources = sources_of(chapters, findings)
    files = names_of(chapters)
    bench = next((c for c in chapters if c.key in AT_THE_BENCH), None)
    sections = tuple(
        section(c, n, units, files[n - 1], c is bench) for n, c in enumerate(chapters, 1)
    )
    whole = Sheet(
        title=name(build.van.name),
        subject="Fresh-water system",
        builder=name(build.van.builder),
        file=name(build.path.name) if build.path else "",
        mark=build.mark,
        units=units,
        version=version(),
        revision=name(revision),
        date=name(date),
        note=plain(build.van.note),
        remark="",
        standing=tuple(map(say, _standing(defaults, sources))),
        cautions=_cautions(opening),
        answers=_openers(chapters, units),
        counts=tuple((s, sum(f.severity == s for f in findings), m) for s, m in SEVERITIES.items()),
        urgent=urgent[:first],
        more=_more(len(urgent) - first),
        findings=tuple(_notice(f, units) for f in told_once(findings, units)),
        given=given_of(as_written),
        defaults=defaults,
        sections=sections,
        sources=sources,
        pages="us-letter" if units == "US" else "a4",
        signing="Whoever signs has read the review, the defaults and the sources above, and "
        "answers for them.",
    )
    return whole if depth == "all" else _in_short(whole, depth, [c.key for c in chapters])


def _in_short(sheet: Sheet, depth: Depth, keys: Sequence[str]) -> Sheet:
    """Page one alone, or with the review, each chapter's answers and its first drawing."""
    short = depth == "short"
    sections = tuple(
        replace(
            s,
            basis=(),
            inputs=(),
            results=tuple(replace(r, steps=()) for r in s.results[:MOST_IN_SHORT]),
            grids=(),
            pictures=() if key == "shop" else s.pictures[:1],
            not_computed=(),
            new_page=False,
        )
        for s, key in zip(sheet.sections, keys, strict=True)
        if short and key not in LEFT_OUT and (s.results or s.pictures)
    )
    return replace(
        sheet,
        depth=depth,
        standing=(IN_SHORT, sheet.standing[-1]),
        findings=tuple(map(_brief, sheet.findings)) if short else (),
        given=(),
        defaults=(),
        sources=(),
        sections=sections,
        signing="Signed for the whole sheet of the same mark: its worked steps, tables, defaults "
        "and sources go with this.",
    )


def _brief(found: Notice) -> Notice:
    """What only spoils the work is told without its advice; what can hurt is told whole."""
    return replace(found, advice="", source="") if found.level == "NOTICE" else found


def section(
    chapter: Chapter,
    number: int,
    units: str,
    files: Sequence[str] = (),
    new_page: bool = False,
) -> Section:
    """One chapter with its figures in the reader's units.

    ``files`` are the names of the lists of its tables, if lists are written beside the sheet;
    ``new_page`` lets it begin a page of its own on paper.
    """
    return Section(
        number=number,
        key=f"c{number}",
        title=name(chapter.title),
        basis=tuple(map(plain, chapter.basis)),
        inputs=tuple(_fact(a, units) for a in chapter.inputs),
        results=tuple(_result(a, units) for a in chapter.answers),
        grids=tuple(
            _rows(grid, units, files[place] if files else "")
            for place, grid in enumerate(chapter.grids)
        ),
        pictures=tuple(drawing(p, f"p{number}-{n}") for n, p in enumerate(chapter.pictures, 1)),
        cautions=_worst_first(Remark(c.level, plain(c.text)) for c in chapter.cautions),
        not_computed=tuple(map(plain, chapter.not_computed)),
        new_page=new_page,
    )


def version() -> str:
    """The version of vanplumb that made the sheet."""
    package = sys.modules[__name__.partition(".")[0]]  # loaded before any of its rooms
    return str(package.__version__)


def _rank(finding: Any) -> int:
    return list(SEVERITIES).index(finding.severity)


def _fact(answer: Answer, units: str, chapter: int = 0) -> Fact:
    return Fact(
        plain(answer.label),
        plain(answer.shown(units), LONGEST_VALUE),
        plain(answer.basis),
        plain(answer.note),
        chapter,
    )


def _result(answer: Answer, units: str) -> Result:
    fact = _fact(answer, units)
    steps = tuple(_steps(work, units, answer.word_of(work)) for work in answer.work)
    return Result(fact.label, fact.value, steps, fact.basis, fact.note)


def _steps(work: Work, units: str, told: str = "") -> Steps:
    # The letters of a long sum say themselves what they are, and its figures stand beside them.
    plain_sum = work.name == "total" and len(work.inputs) > LONGEST_SUM
    hands = ([], []) if plain_sum else (work.symbols("typst"), work.symbols("mathml"))
    letters = zip(*hands, strict=True)
    return Steps(
        plain(work.title),
        tuple(work.typst(units, told)),
        tuple(work.mathml(units, told)),
        tuple(
            (typst, mathml, plain(meaning), show(value, word, units))
            for (typst, meaning, value, word), (mathml, *_) in letters
        ),
        plain(work.source),
        plain(work.result.label) if work.unknown else "",
        work.conversions(units, told),
        tuple(work.in_si("typst", units, told)),
        tuple(work.in_si("mathml", units, told)),
        work.only_si(units, told),
    )


def _standing(
    defaults: Sequence[Default], sources: Sequence[tuple[str, str, str]]
) -> tuple[str, ...]:
    """What every reader has to know before believing a figure."""
    memory = sum(how == STATUSES["memory"] for _, _, how in sources)
    return (
        f"{len(defaults)} defaults stand in for values that the build file does not give, and "
        f"{memory} of {len(sources)} sources are cited from memory. Both are listed below.",
        "Worked steps can be checked with a pocket calculator: a step's figures give its answer to "
        "the last digit. They are in the reader's units, with every conversion written, unless "
        "they are marked as base SI units (m, kg, s, K), in which all of them are shown again.",
        "The sheet shows what was checked and what was not. Local codes, the manufacturers' "
        "instructions and licensed practice come first, above all for scald, relief valves, "
        "fuel and exhaust, mains electricity near water, drinking water and frost.",
    )


def _worst_first(remarks: Iterable[Remark]) -> tuple[Remark, ...]:
    order = list(SEVERITIES)
    return tuple(sorted(remarks, key=lambda remark: order.index(remark.level)))


def each_hazard_once(
    chapters: Iterable[Chapter], say: Local = str
) -> tuple[tuple[Chapter, ...], tuple[Caution, ...]]:
    """The chapters, each hazard told in the first that meets it, and all cautions once.

    A later chapter names the first, and says what it adds.
    """
    first: dict[str, int] = {}
    found, opening = [], []
    for number, chapter in enumerate(chapters, 1):
        said = []
        for one in chapter.cautions:
            if one.hazard and first.setdefault(one.hazard, number) != number:
                before = f"{say(one.hazard).capitalize()}: as told in chapter {first[one.hazard]}."
                said.append(replace(one, text=f"{before} {one.here}".strip()))
                continue
            said.append(one)
            opening.append(replace(one, text=one.text.removesuffix(one.here).strip() or one.text))
        found.append(replace(chapter, cautions=tuple(said)))
    return tuple(found), tuple(opening)


def _cautions(opening: Iterable[Caution]) -> tuple[Remark, ...]:
    """The cautions that open the sheet: each once, the worst first, six at most."""
    return _worst_first(dict.fromkeys(Remark(c.level, plain(c.text)) for c in opening))[:6]


def _openers(chapters: Sequence[Chapter], units: str) -> tuple[Fact, ...]:
    """The answers that open the sheet: those marked as key, else the first of each chapter."""
    marked = any(a.key for c in chapters for a in c.answers)
    return tuple(
        _fact(answer, units, number)
        for number, chapter in enumerate(chapters, 1)
        for place, answer in enumerate(chapter.answers)
        if (answer.key if marked else place < 2)
    )


def _notice(finding: Any, units: str) -> Notice:
    value, limit = finding.shown(units)
    return Notice(
        plain(finding.rule.replace("_", " ")),
        finding.severity,
        plain(finding.what.removesuffix(".")),
        plain(finding.where),
        plain(value),
        plain(limit),
        plain(finding.source),
        plain(finding.advice),
    )


def _urgent(notices: Sequence[Notice], failed: Sequence[bool]) -> tuple[Urgent, ...]:
    """What could not be worked out, then dangers and warnings; the same thing told once."""
    found: dict[tuple[str, str], list[str]] = {}
    both = sorted(zip(notices, failed, strict=True), key=lambda pair: not pair[1])
    for notice, unknown in both:
        if unknown or notice.level in ("DANGER", "WARNING"):
            found.setdefault((notice.level, notice.what), []).append(notice.where)
    return tuple(
        Urgent(level, what, plain(", ".join(dict.fromkeys(filter(None, where))), LONGEST_VALUE))
        for (level, what), where in found.items()
    )


def _more(count: int) -> str:
    return f"{count} more of these in the review." if count > 0 else ""


def _without_empty_columns(grid: Grid) -> Grid:
    """A table as it is printed: a column in which no row says anything is left to the list."""

    def told(n: int) -> bool:
        return not grid.rows or any(row[n] not in (None, "") for row in grid.rows)

    columns = list(enumerate(grid.columns))
    # A column of figures stays: that there is none is an answer.
    keep = [n for n, column in columns if column.word or column.by_hand or told(n)]
    if len(keep) == len(grid.columns):
        return grid
    return replace(
        grid,
        columns=tuple(grid.columns[n] for n in keep),
        rows=tuple(tuple(row[n] for n in keep) for row in grid.rows),
    )


def _rows(grid: Grid, units: str, file: str) -> Rows:
    grid = _without_empty_columns(grid)
    shown_heads, cells = grid.shown(units)
    heads = tuple(plain(h) for h in shown_heads)
    most = grid.printed if 0 < grid.printed < MOST_ROWS else MOST_ROWS
    rows = tuple(tuple(map(plain, row)) for row in cells[:most])
    size = next(size for columns, size in SIZES if len(heads) <= columns)
    note = grid.note
    if len(cells) > most:
        rest = len(cells) - most
        note = f"{note} {rest} more rows are not printed; the list holds all.".strip()
    room = tuple(TO_WRITE if c.by_hand else "" for c in grid.columns)
    widths = fitted(heads, (*rows, room), (ROOM[units] - len(heads) * CELL_SPACE) / size)
    by_hand = any(room)
    return Rows(
        plain(grid.title),
        heads,
        tuple(bool(c.word) or c.align == "right" for c in grid.columns),
        rows,
        plain(note),
        f"lists/{file}" if file else "",
        size,
        widths,
        one_line(rows, widths),
        grid.key,
        by_hand,
        plain(grid.asks),
    )


def sources_of(
    chapters: Iterable[Chapter], findings: Iterable[Any]
) -> tuple[tuple[str, str, str], ...]:
    """Every source once: what it is, where in it, and how it was seen."""
    found: dict[tuple[str, str], set[str]] = {}
    seen = [w.source for c in chapters for a in (*c.inputs, *c.answers) for w in a.work]
    seen += [f.source for f in findings]
    for source in seen:
        if isinstance(source, Source):
            practice = source.title == STATUSES["practice"]
            title = "Rules of the trade" if practice else source.title
            places = found.setdefault((title, source.status), set())
            if source.locator:
                places.add(source.locator)
        elif source:
            found.setdefault((str(source), ""), set())
    return tuple(
        (
            plain(capital(title)),
            plain("; ".join(sorted(places))),
            STATUSES.get(status, "as stated"),
        )
        for (title, status), places in sorted(found.items(), key=lambda item: _order(*item[0]))
    )


def _order(title: str, status: str) -> tuple[str, str, str]:
    return title.casefold(), title, status
