"""The sheet as one HTML file that needs nothing else: no network, no script, no other file."""

from __future__ import annotations

import re
from base64 import b64encode
from collections.abc import Callable, Iterable
from functools import lru_cache
from pathlib import Path

from .entries import (
    Default,
    Drawing,
    Fact,
    Notice,
    Part,
    Remark,
    Result,
    Rows,
    Section,
    Sheet,
    Steps,
)
from .escape import html

STYLE = Path(__file__).with_name("page.css")
FONT = Path(__file__).with_name("math.woff2")  # roots and brackets that grow with what they hold
_STYLE_OF_A_PICTURE = re.compile(r"(<style\b[^>]*>)(.*?)(</style>)", re.DOTALL)
BRIEF, SHORT = 10, 16
_EQUALS = "<mo>=</mo>"
_OPEN, _CLOSE = "<math><mrow>", "</mrow></math>"


def page(sheet: Sheet) -> str:
    """The whole page; the same sheet gives the same text."""
    parts = [
        "<!DOCTYPE html>",
        '<html lang="en"><head><meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        '<meta http-equiv="Content-Security-Policy" content="default-src \'none\'; '
        "style-src 'unsafe-inline'; img-src data:; font-src data:\">",
        f"<title>{html(sheet.title)}, {html(sheet.subject)}</title>",
        f"<style>{_style()}</style></head>",
        f'<body class="{"whole" if sheet.whole else "single"}">',
        _head(sheet),
        "<main>",
        _first(sheet) if sheet.whole else "",
        _review(sheet.findings) if sheet.whole else "",
        _inputs(sheet.given, sheet.defaults),
        *(_section(s, sheet.whole) for s in sheet.sections),
        _sources(sheet.sources),
        _signatures(sheet.signing, sheet.signers),
        "</main>",
        f"<footer>{_edition(sheet)}</footer></body></html>",
    ]
    return "\n".join(part for part in parts if part) + "\n"


@lru_cache(maxsize=1)
def _style() -> str:
    font = b64encode(FONT.read_bytes()).decode("ascii")
    face = f"src:url(data:font/woff2;base64,{font}) format('woff2')"
    style = STYLE.read_text(encoding="utf-8")
    return f"{style}@font-face{{font-family:'Vanplumb Math';{face}}}"


def _head(sheet: Sheet) -> str:
    cells = (
        ("Builder", sheet.builder),
        ("Build file", sheet.file),
        ("Build mark", sheet.mark),
        ("Revision", sheet.revision),
        ("Date", sheet.date),
        ("Units", sheet.units),
    )
    told = "".join(
        f"<div><dt>{label}</dt><dd>{html(text) or '—'}</dd></div>"
        for label, text in cells
        if text or not label.startswith("Build")
    )
    return (
        f'<header class="block"><p class="caps">{html(sheet.subject)} · {html(sheet.form)}</p>'
        f"<h1>{html(sheet.title)}</h1>{_p('note', sheet.note)}<dl>{told}</dl></header>"
        f"{_p('remark-text', sheet.remark)}"
    )


def _first(sheet: Sheet) -> str:
    """What a reader wants first: findings by severity, answers, cautions, contents."""
    counts = "".join(
        f'<li class="{level}">{_tag(level)}<b>{count}</b><span>{html(meaning)}</span></li>'
        for level, count, meaning in sheet.counts
    )
    lines = "".join(
        f"<li>{_tag(f.level)}<span>{html(f.what)}{_where(f.where)}</span></li>"
        for f in sheet.urgent
    )
    lines += f"<li><span>{html(sheet.more)}</span></li>" if sheet.more else ""
    answers = "".join(
        f'<li><a href="#c{f.chapter}">{f.chapter}</a><span>{html(f.label)}</span>'
        f"<b>{html(f.value)}</b></li>"
        for f in sheet.answers
    )
    cautions = "".join(
        f"<li>{_tag(r.level)}<span>{html(r.text)}</span></li>" for r in sheet.cautions
    )
    contents = "".join(
        f'<li><a href="#{s.key}"><span>{s.number}</span>{html(s.title)}</a></li>'
        for s in sheet.sections
    )
    return (
        f'<section class="first"><h2>What the review found</h2><ul class="counts">{counts}</ul>'
        f"{_ul('lines', lines)}<h2>Answers</h2>{_ul('answers', answers)}"
        f"{'<h2>Cautions</h2>' if cautions else ''}{_ul('lines', cautions)}"
        f'<nav aria-label="Contents"><h2>Contents</h2><ul class="contents">'
        f'<li><a href="#review">Review</a></li><li><a href="#inputs">Basis and inputs</a></li>'
        f'{contents}<li><a href="#sources">Sources</a></li></ul></nav>'
        f"{''.join(_p('standing', s) for s in sheet.standing)}</section>"
    )


def _review(findings: Iterable[Notice]) -> str:
    told = "".join(map(_finding, findings)) or "<p>The rules that were run found nothing.</p>"
    return f'<section id="review"><h2 class="chapter">Review</h2>{told}</section>'


def _finding(f: Notice) -> str:
    limit = f", limit <b>{html(f.limit)}</b>" if f.limit else ""
    found = f"<p>Found <b>{html(f.value)}</b>{limit}.</p>" if f.value or f.limit else ""
    return (
        f'<article class="finding">{_tag(f.level)}<div><h3>{html(f.what)}{_where(f.where)}</h3>'
        f"{found}{_p('advice', f.advice)}{_p('source', f.source)}</div></article>"
    )


def _inputs(given: tuple[Part, ...], defaults: tuple[Default, ...]) -> str:
    if not given and not defaults:
        return ""
    parts = "".join(
        f"<tr><th scope=row><span>{html(p.kind)}</span> {html(p.name)}</th><td>"
        + " ".join(
            f'<span class="given"><span>{html(label)}</span> {_together(shown)}'
            f"{f' <small>(written {html(written)})</small>' if written else ''}</span>"
            for label, shown, written in p.values
        )
        + "</td></tr>"
        for p in given
    )
    rows = tuple((f"{d.kind}: {d.label}", d.value, d.basis, d.where) for d in defaults)
    table = _table(("What", "Value", "Basis", "For"), (False, True, False, False), rows)
    return (
        '<section id="inputs"><h2 class="chapter">Basis and inputs</h2>'
        f'<h3>Given in the build file</h3><div class="wide"><table class="parts">{parts}</table>'
        "</div><h3>Defaults that stand in for what was not given</h3><p class=note>Nobody "
        "measured these for this van. Each is worth a look before the sheet is signed.</p>"
        f"{table}</section>"
    )


def _section(s: Section, numbered: bool) -> str:
    number = f"<span>{s.number}</span>" if numbered else ""
    parts = [
        f'<section id="{s.key}"><h2 class="chapter">{number}{html(s.title)}</h2>',
        _bullets(s.basis),
        _facts(s.inputs),
        "<h3>Results</h3>" if s.results else "",
        *map(_remark, s.cautions),
        *map(_result, s.results),
        *map(_rows, s.grids),
        *map(_picture, s.pictures),
        f"<h3>Not computed</h3>{_bullets(s.not_computed)}" if s.not_computed else "",
        "</section>",
    ]
    return "\n".join(part for part in parts if part)


def _facts(facts: tuple[Fact, ...]) -> str:
    if not facts:
        return ""
    rows = tuple((f.label, f.value, "; ".join(x for x in (f.basis, f.note) if x)) for f in facts)
    table = _table(("Input", "Value", "Basis"), (False, True, False), rows)
    return f"<h3>Inputs</h3>{table}"


def _result(r: Result) -> str:
    steps = "".join(_steps(s, len(r.steps) > 1) for s in r.steps)
    return (
        f'<article class="result"><p class="source">{html(r.basis)}</p><div class="answer">'
        f"<h4>{html(r.label)}</h4><output>{html(r.value)}</output>{_p('note', r.note)}</div>"
        f"{steps}</article>"
    )


def _steps(s: Steps, titled: bool) -> str:
    solved = f"Solved for {s.solved}; what is left over shows how well:" if s.solved else ""
    lines = "".join(f'<div class="step">{in_pieces(line)}</div>' for line in s.mathml)
    letters = ", ".join(
        f"<span><math>{letter}</math>&nbsp;=&nbsp;{html(shown)} ({html(meaning)})</span>"
        for _, letter, meaning, shown in s.letters
    )
    with_letters = f'<p class="letters">with {letters}</p>' if letters else ""
    return (
        f'<p class="source">{html(s.source)}</p>'
        f'<div class="steps">{_p("title", f"{s.title}:" if titled else "")}'
        f"{_p('note', solved)}{lines}{with_letters}</div>"
    )


def in_pieces(line: str) -> str:
    """A chain of equations in pieces, so that a narrow page can break it before an equals sign."""
    if not (line.startswith(_OPEN) and line.endswith(_CLOSE)):
        return line
    first, *rest = line[len(_OPEN) : -len(_CLOSE)].split(_EQUALS)
    if not rest:
        return line
    style = 'displaystyle="true"'
    pieces = [f"<math {style}><mrow>{first}{_EQUALS}{rest[0]}</mrow></math>"]
    pieces += [f"<math {style}><mrow><mi></mi>{_EQUALS}{side}</mrow></math>" for side in rest[1:]]
    return " ".join(pieces)


def _rows(g: Rows) -> str:
    file = f"list <code>{html(g.file)}</code>" if g.file else ""
    foot = " · ".join(x for x in (html(g.note), file) if x)
    table = _table(g.heads, g.right, g.rows) if g.rows else '<p class="note">none</p>'
    return f"<h3>{html(g.title)}</h3>{table}" + (f'<p class="note">{foot}</p>' if foot else "")


def _table(heads: tuple[str, ...], right: tuple[bool, ...], rows: Iterable[tuple[str, ...]]) -> str:
    many = ' class="many"' if len(heads) > 5 else ""
    sides = [' class="n"' if r else "" for r in right]
    head = "".join(f"<th{s} scope=col>{html(h)}</th>" for h, s in zip(heads, sides, strict=True))
    body = "".join(
        "<tr>"
        + "".join(f"<td{s or _short(c)}>{html(c)}</td>" for c, s in zip(row, sides, strict=True))
        + "</tr>"
        for row in rows
    )
    return (
        f'<div class="wide" tabindex="0"><table{many}><thead><tr>{head}</tr></thead>'
        f"<tbody>{body}</tbody></table></div>"
    )


def _short(cell: str) -> str:
    """The mark of a cell whose few words stay on one line, on a phone only if they are brief."""
    return ' class="k"' if len(cell) <= BRIEF else ' class="k w"' if len(cell) <= SHORT else ""


def _picture(d: Drawing) -> str:
    if d.problem:
        return f'<p class="note">{html(d.problem)} ({html(d.caption)})</p>'
    svg = _STYLE_OF_A_PICTURE.sub(lambda m: f"{m[1]}#{d.key}{{{m[2]}}}{m[3]}", d.svg)
    scale = f"Drawn {d.width:.4g} × {d.height:.4g} mm." if d.width else "Not to scale."
    return (
        f'<figure><div class="paper" tabindex="0" style="--wide:{d.units:g}px">{svg}</div>'
        f"<figcaption>{html(d.caption)} {scale}</figcaption></figure>"
    )


def _sources(sources: tuple[tuple[str, str, str], ...]) -> str:
    if not sources:
        return ""
    heads = ("Source", "Where in it", "How its figures came here")
    table = _table(heads, (False, False, False), sources)
    return f'<section id="sources"><h2 class="chapter">Sources</h2>{table}</section>'


def _signatures(signing: str, signers: tuple[str, ...]) -> str:
    rows = "".join(
        f"<div><span>{html(who)}, name</span><span>Signature</span><span>Date</span></div>"
        for who in signers
    )
    return (
        '<section class="signatures"><h2 class="chapter">Signatures</h2>'
        f'{_p("note", signing)}{rows}<div class="bar"></div><p class="note">This bar is 100 mm '
        "long when the page is printed at its own size.</p></section>"
    )


def _edition(sheet: Sheet) -> str:
    mark = f" · build {html(sheet.mark)}" if sheet.mark else ""
    return f"Revision {html(sheet.revision) or '—'}{mark} · vanplumb {html(sheet.version)}"


def _tag(level: str) -> str:
    return f'<strong class="tag {html(level)}">{html(level)}</strong>'


def _remark(r: Remark) -> str:
    return f'<div class="caution {html(r.level)}">{_tag(r.level)}<span>{html(r.text)}</span></div>'


def _where(where: str) -> str:
    return f'<span class="where"> — {html(where)}</span>' if where else ""


def _bullets(items: Iterable[str]) -> str:
    return _ul("bullets", "".join(f"<li>{html(item)}</li>" for item in items))


def _together(figure: str) -> str:
    """A short figure with its unit, on one line."""
    return html(figure).replace(" ", "&nbsp;") if len(figure) < 16 else html(figure)


def _ul(kind: str, items: str) -> str:
    return f'<ul class="{kind}">{items}</ul>' if items else ""


def _p(kind: str, text: str, wrap: Callable[[object], str] = html) -> str:
    return f'<p class="{kind}">{wrap(text)}</p>' if text else ""
