"""One chapter on a sheet of its own: a worksheet's calculation, and the papers of the shop."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..chapters.commissioning import commissioning_form
from ..chapters.hand_over import owner_paper, shop_card
from ..chapters.owner_page import owner_page
from ..drawings.board.handles import handles_picture
from ..drawings.schematic.draw import plain_schematic
from ..shop.record.history import as_left, dates_of, taken
from ..shop.record.record import Contents
from ..words.files import file_name, write_whole
from ..words.report import Chapter
from .bench_page import write_bench_page
from .contents import section, sources_of, version
from .entries import Sheet
from .escape import name, plain
from .html_page import page
from .lists import lists_of
from .pack_folder import whole_pack
from .typst_page import begun, pdf
from .wording import told, words_of

if TYPE_CHECKING:
    from ..shop import Shop
    from ..van.model import Build


def calculation_sheet(
    chapter: Chapter,
    *,
    units: str,
    van: str = "",
    builder: str = "",
    remark: str = "",
    revision: str = "",
    date: str = "",
    mark: str = "",
    file: str = "",
) -> Sheet:
    """A sheet with one chapter and no review.  ``remark`` is printed above the figures."""
    return Sheet(
        title=name(van or chapter.title),
        subject=name(chapter.title) if van else "Fresh-water system",
        builder=name(builder),
        file=name(file),
        mark=mark,
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
        write_whole(stem.with_suffix(".pdf"), pdf(sheet)),
        write_whole(stem.with_suffix(".html"), page(sheet).encode("utf-8")),
    ]


PAPERS = {
    "owner": (
        "hand-over paper",
        "Handed over and explained; test, disinfection and setting done as noted.",
        ("Handed over by", "Received by"),
    ),
    "commissioning": (
        "to fill in at the finished van",
        "Every value was read at the van, at the line where it stands.",
        ("Read by", "Checked by"),
    ),
    "survey": (
        "to fill in at the van",
        "Asked, measured and read as written in.",
        ("Asked and measured by", "Answered by"),
    ),
    "quote": (
        "what the work costs",
        "Offered and ordered as listed, without what has no price here.",
        ("Offered by", "Ordered by"),
    ),
    "order": (
        "to buy by",
        "Ordered as listed; what came was counted, and its numbers noted.",
        ("Ordered by", "Received by"),
    ),
    "claim": (
        "history for a claim",
        "Read out of the record as it stands.",
        ("Read by", "Received by"),
    ),
    "fleet": (
        "page of all vans",
        "Read and spoken over with everybody whose work is in it.",
        ("Read by", "Spoken over with"),
    ),
    "card": (
        "for the bench",
        "Every joint was made as listed, looked at and tested.",
        ("Made by", "Tested by"),
    ),
}
"""What each paper is for, what is signed, and by whom, by the key of its chapter."""


def _as_paper(sheet: Sheet, key: str) -> Sheet:
    """A sheet with the words of the paper that its chapter is."""
    form, signing, signers = PAPERS[key]
    return replace(sheet, form=form, signing=signing, signers=signers)


def write_paper(
    chapter: Chapter,
    folder: Path | str,
    *,
    units: str,
    build: Build | None = None,
    revision: str = "",
    date: str = "",
    mark: str = "",
) -> list[Path]:
    """Write one paper as a PDF, an HTML page and lists, named after it.  Gives the paths.

    ``build`` is the van that it is of, whose mark it bears; ``mark`` is that of the records that
    a paper of no one van is of.  The folder keeps nothing of an older paper but in its old states
    (see ``pack_folder``).
    """
    of_van: dict[str, Any] = {"mark": mark} if build is None else _of(build)
    sheet = calculation_sheet(chapter, units=units, revision=revision, date=date, **of_van)
    sheet = _as_paper(sheet, chapter.key)
    stem, said = file_name(chapter.key), (chapter.title, date, f"records {mark}" if mark else "")
    of = build.stamp(revision, date) if build else " · ".join(filter(None, said))
    if build is None:
        sheet = replace(sheet, mark_of="Mark of the records")
    files = {
        f"{stem}.pdf": pdf(sheet),
        f"{stem}.html": page(sheet).encode("utf-8"),
        **lists_of([chapter], units, of),
    }
    return _write_whole(files, folder, of_van.get("van", chapter.title), sheet)


def _of(build: Build) -> dict[str, Any]:
    """What the title block of a paper says of the build that it is of."""
    van = build.van
    file = build.path.name if build.path else ""
    return {"van": van.name, "builder": van.builder, "mark": build.mark, "file": file}


def _write_whole(
    files: Mapping[str, bytes], folder: Path | str, what: str, sheet: Sheet
) -> list[Path]:
    about = {
        "build": what, "mark": sheet.mark, "revision": sheet.revision, "date": sheet.date
    }  # fmt: skip
    with whole_pack(folder, about) as stage:
        for name_of, data in files.items():
            write_whole(stage / name_of, data)
    return [Path(folder) / name_of for name_of in files]


def paper_bytes(
    chapter: Chapter,
    *,
    units: str,
    van: str,
    builder: str = "",
    revision: str = "",
    date: str = "",
    mark: str = "",
    file: str = "",
    opening: Chapter | None = None,
) -> bytes:
    """One paper as a PDF, with its own words above the place to sign.

    ``opening`` is a page before it that is laid out by itself.
    """
    said = {"builder": builder, "revision": revision, "date": date, "mark": mark, "file": file}
    return _begun(chapter, opening, units=units, van=van, **said)()


def _begun(chapter: Chapter, opening: Chapter | None = None, **said: str) -> Callable[[], bytes]:
    """``paper_bytes`` begun beside other work."""
    first = section(opening, 1, said["units"]) if opening is not None else None
    return begun(replace(_as_paper(calculation_sheet(chapter, **said), chapter.key), opening=first))


def papers_of(
    shop: Shop, contents: Contents | None = None, *, revision: str = "", date: str = "",
    builder: str = "",
) -> dict[str, bytes]:  # fmt: skip
    """The papers of a van by their file names, with what its record holds, in its region's words.

    ``builder`` is who hands over, where that is not the one of the build file.
    """
    papers = _papers_begun(shop, contents, revision=revision, date=date, builder=builder)
    return {name_of: made() for name_of, made in papers.items()}


def _papers_begun(
    shop: Shop, contents: Contents | None = None, *, revision: str = "", date: str = "",
    builder: str = "",
) -> dict[str, Callable[[], bytes]]:  # fmt: skip
    """``papers_of``, each begun beside other work."""
    build, known = shop.build, contents or Contents()
    say = words_of(build)
    said = _of(build) | {"units": build.van.units, "revision": revision, "date": date}
    said["builder"] = builder or build.van.builder
    seen = taken(known)
    first = owner_page(shop, seen, dates_of(known))
    drawn = (
        handles_picture(shop.board) if shop.board is not None and not shop.board.trouble
        else plain_schematic(build)
    )  # fmt: skip
    owner = told(owner_paper(shop, as_left(known), seen), say)
    return {
        "owner-paper.pdf": _begun(owner, told(first.with_pictures(drawn), say), **said),
        "commissioning.pdf": _begun(told(commissioning_form(shop, seen), say), **said),
        "shop-card.pdf": _begun(told(shop_card(shop), say), **said),
    }


def write_papers(
    pack: Any, folder: Path | str, *, revision: str = "", date: str = ""
) -> list[Path]:
    """The owner's paper, the commissioning form, the shop card, the list of joints, the bench's
    page.  Gives the paths.
    """
    build, folder = pack.build, Path(folder)
    papers = _papers_begun(pack.shop, revision=revision, date=date)
    card = told(shop_card(pack.shop), words_of(build))
    joints = lists_of([card], build.van.units, build.stamp(revision, date))["joints.csv"]
    more = [
        write_whole(folder / "joints.csv", joints),
        write_bench_page(pack.shop, folder, revision=revision, date=date),
    ]
    return [*(write_whole(folder / name_of, made()) for name_of, made in papers.items()), *more]
