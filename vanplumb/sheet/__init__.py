"""The worked calculation as a PDF, as one HTML page, and its tables as lists."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from ..words.files import write_whole
from .calculation import write_calculation
from .contents import Depth, sheet_of
from .html_page import page
from .lists import lists_of
from .typst_page import begun, pdf
from .wording import told, words_of

__all__ = ["write_all", "write_calculation", "write_html", "write_lists", "write_pdf"]


def write_pdf(
    pack: Any, path: Path | str, *, revision: str = "", date: str = "", depth: Depth = "all"
) -> Path:
    """The sheet on paper: letter for a build in US units, A4 for SI.  Gives the path.

    The same build gives the same bytes; a date is printed only if it is given.
    """
    return write_whole(path, pdf(sheet_of(pack, revision=revision, date=date, depth=depth)))


def write_html(
    pack: Any, path: Path | str, *, revision: str = "", date: str = "", depth: Depth = "all"
) -> Path:
    """The sheet as one file for a browser, which needs no network.  Gives the path."""
    sheet = sheet_of(pack, revision=revision, date=date, depth=depth)
    return write_whole(path, page(sheet).encode("utf-8"))


def write_lists(pack: Any, folder: Path | str, *, revision: str = "", date: str = "") -> list[Path]:
    """Each table that has a key as a CSV file in the folder.  Gives the paths."""
    say, stamp = words_of(pack.build), pack.build.stamp(revision, date)
    files = lists_of([told(c, say) for c in pack.chapters], pack.build.van.units, stamp)
    return [write_whole(Path(folder) / name, data) for name, data in files.items()]


def write_all(pack: Any, folder: Path | str, *, revision: str = "", date: str = "") -> list[Path]:
    """``sheet.pdf``, ``sheet.html`` and the folder ``lists``.  Gives the paths, in that order."""
    folder = Path(folder)
    sheet = sheet_of(pack, revision=revision, date=date)
    printed = begun(sheet)
    html = write_whole(folder / "sheet.html", page(sheet).encode("utf-8"))
    lists = write_lists(pack, folder / "lists", revision=revision, date=date)
    return [write_whole(folder / "sheet.pdf", printed()), html, *lists]
