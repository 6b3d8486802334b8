"""The sheet as a PDF: its contents go to a template as data, in one run of typst.

Typst runs in a thread of its own, where it holds nobody up: a pack makes its HTML page and its
lists meanwhile.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import fields, is_dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any

from .entries import Drawing, Section, Sheet
from .escape import breakable, needs_other_fonts

TEMPLATE = tuple(Path(__file__).with_name(part) for part in ("parts.typ", "owner.typ", "page.typ"))
_AS_IT_IS = ("svg", "typst", "letters", "level", "key", "mark")
_NOT_FOR_PAPER = ("mathml",)
_ONE_PICTURE = b'#image(bytes(sys.inputs.svg), format: "svg")'


def pdf(sheet: Sheet) -> bytes:
    """The sheet as PDF bytes; the same sheet gives the same bytes.

    The fonts are typst's own, so it looks alike everywhere; the machine's are asked only for
    letters of scripts which those lack.  A picture that can't be read is told, not dropped.
    Tags for screen readers are left out, since they make the file four times as large: the
    HTML page is the one to read aloud.
    """
    return begun(sheet)()


def begun(sheet: Sheet) -> Callable[[], bytes]:
    """``pdf`` begun beside other work; what is given waits for its end, and raises its errors."""
    first = _compiling(sheet)

    def made() -> bytes:
        import typst

        try:
            return first.result()
        except typst.TypstError:
            checked = replace(sheet, sections=tuple(_readable(s) for s in sheet.sections))
            if checked == sheet:
                raise
            return _compiling(checked).result()

    return made


def _compiling(sheet: Sheet) -> Future[bytes]:
    text = json.dumps(_data(sheet), ensure_ascii=False)
    return _press().submit(_compiled, text, needs_other_fonts(text))


@lru_cache(maxsize=1)
def _press() -> ThreadPoolExecutor:
    """One thread, since a compiler takes one page at a time."""
    return ThreadPoolExecutor(1, "typst")


def _compiled(text: str, all_fonts: bool) -> bytes:
    made = _compiler(all_fonts).compile(
        template(), format="pdf", timestamp=0, sys_inputs={"sheet": text}, pdf_tags=False
    )
    assert isinstance(made, bytes)
    return made


@lru_cache(maxsize=1)
def template() -> bytes:
    """The typst source of every sheet."""
    return b"\n".join(part.read_bytes() for part in TEMPLATE)


@lru_cache(maxsize=2)
def _compiler(all_fonts: bool) -> Any:
    import typst

    return typst.Compiler(ignore_system_fonts=not all_fonts)


def _data(thing: Any) -> Any:
    """A sheet as plain data; long words may be broken, except in pictures and mathematics."""
    if is_dataclass(thing):
        return {
            f.name: value if f.name in _AS_IT_IS else _data(value)
            for f in fields(thing)
            if f.name not in _NOT_FOR_PAPER
            for value in (getattr(thing, f.name),)
        }
    if isinstance(thing, str):
        return breakable(thing)
    if isinstance(thing, tuple):
        return [_data(part) for part in thing]
    return thing


def _readable(section: Section) -> Section:
    return replace(section, pictures=tuple(map(_checked, section.pictures)))


def _checked(drawing: Drawing) -> Drawing:
    import typst

    if drawing.problem:
        return drawing
    try:
        typst.compile(_ONE_PICTURE, sys_inputs={"svg": drawing.svg}, ignore_system_fonts=True)
    except typst.TypstError as error:
        problem = f"This picture can't be printed: {error}"
        return replace(drawing, svg="", problem=problem)
    return drawing
