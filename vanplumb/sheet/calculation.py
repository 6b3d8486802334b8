"""One worked calculation on a page of its own: what a worksheet puts on the sheet."""

from __future__ import annotations

from pathlib import Path

from ..words.report import Chapter
from .contents import section, sources_of, version
from .entries import Sheet
from .escape import file_name, name, plain
from .files import put
from .html_page import page
from .typst_page import pdf


def calculation_sheet(
    chapter: Chapter,
    *,
    units: str,
    van: str = "",
    builder: str = "",
    remark: str = "",
    revision: str = "",
    date: str = "",
) -> Sheet:
    """A sheet with one chapter and no review.  ``remark`` is printed above the figures."""
    return Sheet(
        title=name(van or chapter.title),
        subject=name(chapter.title) if van else "Fresh-water system",
        builder=name(builder),
        file="",
        mark="",
        units=units,
        version=version(),
        revision=name(revision),
        date=name(date),
        note="",
        remark=plain(remark),
        standing=(),
        cautions=(),
        answers=(),
        counts=(),
        urgent=(),
        more="",
        findings=(),
        given=(),
        defaults=(),
        sections=(section(chapter, 1, units),),
        sources=sources_of([chapter], []),
        pages="us-letter" if units == "US" else "a4",
        signing="Whoever signs has checked the steps and the inputs above, and answers for them.",
        whole=False,
    )


def write_calculation(
    chapter: Chapter,
    folder: Path | str,
    *,
    units: str,
    van: str = "",
    builder: str = "",
    remark: str = "",
) -> list[Path]:
    """Write one chapter as a PDF and an HTML page, named after it.  Gives the two paths."""
    sheet = calculation_sheet(chapter, units=units, van=van, builder=builder, remark=remark)
    stem = Path(folder) / f"calculation-{file_name(chapter.key)}"
    return [
        put(stem.with_suffix(".pdf"), pdf(sheet)),
        put(stem.with_suffix(".html"), page(sheet).encode("utf-8")),
    ]
