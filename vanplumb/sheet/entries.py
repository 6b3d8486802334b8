"""The kinds of entry that a sheet is made of: every text shown in the reader's units."""

from __future__ import annotations

from dataclasses import dataclass

from .inputs import Default, Part
from .pictures import Drawing


@dataclass(frozen=True)
class Fact:
    """A label with its figure, and where the figure comes from."""

    label: str
    value: str
    basis: str = ""
    note: str = ""
    chapter: int = 0


@dataclass(frozen=True)
class Steps:
    """One worked formula: its lines and letters as mathematics for typst and for a browser.

    ``letters`` holds, for each input, the letter twice, its meaning and its figure.
    ``solved`` says what an equation was solved for; its last line is then the residual.
    """

    title: str
    typst: tuple[str, ...]
    mathml: tuple[str, ...]
    letters: tuple[tuple[str, str, str, str], ...]
    source: str
    solved: str = ""


@dataclass(frozen=True)
class Result:
    """An answer with everything that led to it."""

    label: str
    value: str
    steps: tuple[Steps, ...]
    basis: str
    note: str


@dataclass(frozen=True)
class Remark:
    """A caution beside the figures: one of the four severities and a text."""

    level: str
    text: str


@dataclass(frozen=True)
class Notice:
    """A finding of the review."""

    rule: str
    level: str
    what: str
    where: str
    value: str
    limit: str
    source: str
    advice: str


@dataclass(frozen=True)
class Urgent:
    """What opens the sheet of the review: one thing and all the places where it was found."""

    level: str
    what: str
    where: str


@dataclass(frozen=True)
class Rows:
    """A table as it is read: heads with their units, cells as text."""

    title: str
    heads: tuple[str, ...]
    right: tuple[bool, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str
    file: str
    size: float  # of its letters on paper, pt
    widths: tuple[float, ...]  # of its columns on paper, em
    one_line: tuple[bool, ...]  # for each row, whether it surely has one line on paper


@dataclass(frozen=True)
class Section:
    """One chapter, ready to print."""

    number: int
    key: str
    title: str
    basis: tuple[str, ...]
    inputs: tuple[Fact, ...]
    results: tuple[Result, ...]
    grids: tuple[Rows, ...]
    pictures: tuple[Drawing, ...]
    cautions: tuple[Remark, ...]
    not_computed: tuple[str, ...]
    new_page: bool  # whether it begins a page of its own


@dataclass(frozen=True)
class Sheet:
    """The whole sheet."""

    title: str
    subject: str
    builder: str
    file: str
    mark: str
    units: str
    version: str
    revision: str
    date: str
    note: str
    remark: str
    standing: tuple[str, ...]
    cautions: tuple[Remark, ...]
    answers: tuple[Fact, ...]
    counts: tuple[tuple[str, int, str], ...]
    urgent: tuple[Urgent, ...]
    more: str
    findings: tuple[Notice, ...]
    given: tuple[Part, ...]
    defaults: tuple[Default, ...]
    sections: tuple[Section, ...]
    sources: tuple[tuple[str, str, str], ...]
    pages: str
    signing: str
    signers: tuple[str, ...] = ("Designed by", "Checked by")
    form: str = "calculation sheet"
    whole: bool = True  # False for a single calculation: no review, no inputs of the build
