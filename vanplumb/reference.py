"""The reference: every formula, result, rule, table and word, made of what the code itself says.

One page for a browser or one Markdown file.  Nothing in it is written twice: formulas come from
their registry, the rest from signatures and docstrings.
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

from . import formulas
from .answers import Answers
from .board.plan import BoardPlan
from .flow.engine import Flow
from .lists import Lists
from .pack import Pack, example, examples
from .review import RULES, SUBJECTS
from .shop import Shop
from .trip.trip import Trip
from .van import Build, BuildError, change, load, loads, save
from .words.files import write_whole
from .words.formula import Formula
from .words.glossary import WORDS, word
from .words.report import Grid, grid
from .words.show import pretty, show
from .words.tables import table, table_names
from .words.units import Q
from .words.work import equations

if TYPE_CHECKING:
    from markupsafe import Markup

FACE = (load, loads, save, change, Build, BuildError, Pack, example, examples, Q, show, table, word)
"""What ``import vanplumb as vp`` gives by name."""
LONGEST_CALL = 240
"""Letters; what is longer is told by its docstring."""
RESULTS = (Pack, Answers, Build, Flow, Trip, BoardPlan, Lists, Shop)
"""Whose properties and methods are listed."""


@dataclass(frozen=True)
class Item:
    """One thing that can be named: how it is called, what it says of itself.

    ``lines`` are equations in LaTeX and in MathML; ``facts`` are such as its source.
    """

    name: str
    call: str
    about: str
    lines: tuple[tuple[str, str], ...] = ()
    facts: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Part:
    """One part of the reference: items, or a table."""

    title: str
    about: str
    items: tuple[Item, ...] = ()
    table: Grid | None = None


def parts() -> tuple[Part, ...]:
    """The whole reference."""
    return (
        *_api(),
        *(
            Part(
                f"Formulas: {subject.replace('_', ' ')}",
                f"{_about(module)} Found as `vp.formulas.{subject}`.",
                tuple(map(formula_item, formulas.of_subject(subject))),
            )
            for subject, module in formulas.SUBJECTS.items()
        ),
        *(_rules(subject) for subject in SUBJECTS),
        _tables(),
        _words(),
    )


def _api() -> tuple[Part, ...]:
    """What a script calls: the face of the package, then each result's properties and methods."""
    return (
        Part("From Python", "What `import vanplumb as vp` gives.", tuple(map(_named, FACE))),
        *(Part(kind.__name__, _about(kind), tuple(_members(kind))) for kind in RESULTS),
    )


def api_lines(word: str = "") -> Iterator[str]:
    """What a script calls, a line each with the first sentence of what it says of itself.

    With a word only what bears it in its name, and then all that it says.
    """
    for part in _api():
        items = [i for i in part.items if word.lower() in f"{part.title}.{i.name}".lower()]
        if items:
            yield part.title
        for item in items:
            about = item.about if word else re.split(r"(?<=\.)\s", item.about, maxsplit=1)[0]
            yield f"  {item.call}"
            yield from (f"      {line}".rstrip() for line in about.splitlines())


def formula_item(f: Formula) -> Item:
    """One formula: its equations in letters, its source, and what each letter may be."""
    seen = inspect.getdoc(f.si) or ""
    empirical = (("constants", "with hidden units: for the units of its letters only"),)
    return Item(
        f.name,
        f"{f.name}({', '.join(f.parameters)})",
        seen,
        tuple(zip(equations(f, "latex"), equations(f, "mathml"), strict=True)),
        (
            ("gives", _letter(f.result.name)),
            *((name, _letter(name, f.bounds[name])) for name in f.parameters),
            ("source", str(f.source)),
            *(empirical if f.empirical else ()),
        ),
    )


def _letter(name: str, bounds: tuple[float, float, bool] | None = None) -> str:
    """What a letter stands for, its unit, and the range that it is taken in."""
    meant = word(name)
    unit = pretty(meant.unit) or "plain number"
    if bounds is None:
        return f"{meant.label}, {unit}"
    low, high, above = bounds
    least = f"{'above' if above else 'from'} {low:g}" if low > float("-inf") else ""
    most = f"to {high:g}" if high < float("inf") else ""
    return ", ".join(x for x in (meant.label, unit, " ".join((least, most)).strip()) if x)


def _about(thing: Any) -> str:
    return inspect.getdoc(thing) or ""


def _named(thing: Any) -> Item:
    return Item(thing.__name__, _call(thing.__name__, thing), _about(thing))


def _call(name: str, thing: Any) -> str:
    """How it is called; of a class with many fields only its name."""
    try:
        told = f"{name}{inspect.signature(thing)}"
    except (TypeError, ValueError):
        return name
    told = re.sub(r"((?:: |-> ))'([^']*)'", r"\1\2", told)
    told = re.sub(r"<function .*? at 0x[0-9a-f]+>", "…", told)
    told = told.replace("(self, ", "(").replace("(self)", "()")
    return told if len(told) <= LONGEST_CALL else name


def _members(kind: type) -> Iterator[Item]:
    """Public properties and methods of a class and of those of the kit that it is built on."""
    held: dict[str, Any] = {}
    for base in kind.__mro__:
        if base.__module__.startswith(__package__ or ""):
            held = {**vars(base), **held}
    for name, member in held.items():
        if name.startswith("_"):
            continue
        if isinstance(member, cached_property | property):
            inner = member.func if isinstance(member, cached_property) else member.fget
            gives = str(getattr(inner, "__annotations__", {}).get("return", ""))
            yield Item(name, f"{name}: {gives}" if gives else name, _about(member))
        elif inspect.isfunction(member):
            yield Item(name, _call(name, member), _about(member))


def _rules(subject: str) -> Part:
    module = import_module(f".review.{subject}", __package__)
    found = [f for f in RULES.values() if f.__module__ == module.__name__]
    items = tuple(Item(f.__name__.replace("_", " "), "", _about(f)) for f in found)
    return Part(f"Rules of the review: {subject}", _about(module), items)


def _tables() -> Part:
    listed = grid(
        "Tables",
        [table(name) for name in table_names()],
        {
            "table": "name",
            "what": "title",
            "rows": lambda t: str(len(t)),
            "from": lambda t: str(t.source),
        },
    )
    return Part("Tables", "`vp.table(name)` gives one; a build file may add rows.", table=listed)


def _words() -> Part:
    listed = grid(
        "Words",
        WORDS.values(),
        {
            "word": "name",
            "letter": "symbol",
            "unit": lambda w: pretty(w.unit),
            "meaning": "meaning",
        },
    )
    return Part("Words", "Names of arguments and results are made of these.", table=listed)


def markdown() -> str:
    """The reference as Markdown."""
    lines = ["# vanplumb: reference", ""]
    for part in parts():
        lines += [f"## {part.title}", "", part.about, ""]
        for item in part.items:
            lines += [f"### {item.name}", ""]
            lines += [f"    {item.call}", ""] if item.call else []
            lines += [item.about, ""]
            lines += [f"$${latex}$$\n" for latex, _ in item.lines]
            lines += [f"- {name}: {fact}" for name, fact in item.facts]
            lines += [""] if item.facts else []
        if part.table is not None:
            heads, cells = part.table.shown("SI")
            rows = [heads, ["---"] * len(heads), *cells]
            lines += ["| " + " | ".join(map(_in_cell, row)) + " |" for row in rows] + [""]
    return "\n".join(lines)


def _in_cell(text: str) -> str:
    return text.replace("|", r"\|").replace("\n", " ")


def page() -> str:
    """The reference as one HTML page that needs nothing else."""
    from .sheet.html_page import environment, style

    shown = [(f"p{number}", part) for number, part in enumerate(parts(), 1)]
    template = environment().get_template("reference.html.j2")
    return template.render(parts=shown, style=style(), prose=_prose)


def _prose(text: str) -> Iterable[Markup]:
    """Paragraphs of a docstring; what stands between backquotes is set as code."""
    from markupsafe import Markup, escape

    for paragraph in re.split(r"\n\s*\n", text):
        plain = escape(" ".join(paragraph.split()))
        yield Markup(re.sub(r"`+([^`]+)`+", r"<code>\1</code>", str(plain)))


def write_reference(path: Path | str) -> Path:
    """Write the reference: Markdown for a name that ends in ``.md``, else HTML.  Gives the path."""
    path = Path(path)
    text = markdown() if path.suffix.lower() in (".md", ".markdown") else page()
    return write_whole(path, text.encode("utf-8"))
