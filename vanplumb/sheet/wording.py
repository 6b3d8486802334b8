"""What leaves for a reader, told in the words of the build's region.

Names that the builder gave, and what the build file says, stay as written; so do sources.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import lru_cache
from typing import Any

from ..review.finding import Finding
from ..van.model import Build
from ..van.region import region_of, usual_region
from ..words.regions import Local, speaker
from ..words.report import Answer, Caution, Chapter, Grid, Picture

_THREAD = re.compile(r"\b((?:\d+ )?\d/\d|\d+) in (Rp|Rc|R|G)\b")
"""A thread of ISO 7-1 or ISO 228-1 told in inches: their own name for it is "R 1/2"."""
_LETTERING = re.compile(r"<style\b.*?</style>|(?<=>)[^<>]+(?=<)", re.DOTALL)
"""What stands between the tags of a drawing; a style is caught whole, so that it can be left."""


def words_of(build: Build, keep: Iterable[str] = ()) -> Local:
    """What tells a text in the words of the build's region; ``keep`` are texts that stay."""
    return words_of_region(region_of(build).key, (*_names(build), *keep))


def words_of_region(region: str, keep: Iterable[str] = ()) -> Local:
    """What tells a text in the words of a region; ``keep`` are texts that stay as they are."""
    return _speaker(region, tuple(dict.fromkeys(keep)))


def words_by_units(units: str) -> Local:
    """The same for a page that is about no build: in the words of the units' usual region."""
    return words_of_region(usual_region(units))


@lru_cache(maxsize=32)
def _speaker(region: str, keep: tuple[str, ...]) -> Local:
    """Tells each text once: sheet, lists and papers have most of them in common."""
    say = speaker(region, keep)
    return lru_cache(maxsize=10_000)(lambda text: _THREAD.sub(r"\2 \1", say(text)))


def _names(build: Build) -> Iterator[str]:
    """Every name that the builder gave."""
    yield build.van.name
    yield build.van.builder
    yield from (part.name for part in build.components)
    yield from (zone.name for zone in build.zone)
    yield from (use.name for use in build.use)
    yield from (situation.name for situation in build.situation)
    for rows in build.rows.values():
        yield from rows


def told(chapter: Chapter, say: Local) -> Chapter:
    """A chapter in those words."""
    return replace(
        chapter,
        title=say(chapter.title),
        basis=tuple(map(say, chapter.basis)),
        inputs=tuple(_answer(a, say) for a in chapter.inputs),
        answers=tuple(_answer(a, say) for a in chapter.answers),
        grids=tuple(_grid(g, say) for g in chapter.grids),
        pictures=tuple(_picture(p, say) for p in chapter.pictures),
        cautions=tuple(told_caution(c, say) for c in chapter.cautions),
        not_computed=tuple(map(say, chapter.not_computed)),
    )


def told_caution(caution: Caution, say: Local) -> Caution:
    """A caution in those words."""
    return replace(caution, text=say(caution.text), here=say(caution.here))


def told_drawing(svg: str, say: Local) -> str:
    """A drawing whose lettering is in those words."""

    def one(found: re.Match[str]) -> str:
        text = found.group()
        return text if text.startswith("<style") else say(text)

    return _LETTERING.sub(one, svg)


def told_finding(finding: Finding, say: Local) -> Finding:
    """A finding in those words."""
    return replace(
        finding,
        what=say(finding.what),
        where=say(finding.where),
        value=_text(finding.value, say),
        limit=_text(finding.limit, say),
        advice=say(finding.advice),
    )


def _text(value: Any, say: Local) -> Any:
    return say(value) if isinstance(value, str) else value


def _answer(answer: Answer, say: Local) -> Answer:
    return replace(
        answer, label=say(answer.label), value=_text(answer.value, say), note=say(answer.note)
    )


def _grid(grid: Grid, say: Local) -> Grid:
    sources = {n for n, c in enumerate(grid.columns) if c.head in ("source", "from")}
    return replace(
        grid,
        title=say(grid.title),
        columns=tuple(replace(c, head=say(c.head)) for c in grid.columns),
        rows=tuple(
            tuple(v if n in sources else _text(v, say) for n, v in enumerate(row))
            for row in grid.rows
        ),
        note=say(grid.note),
        asks=say(grid.asks),
    )


def _picture(picture: Picture, say: Local) -> Picture:
    return replace(
        picture,
        caption=say(picture.caption),
        svg=told_drawing(picture.svg, say),
    )
