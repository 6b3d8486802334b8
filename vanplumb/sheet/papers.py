"""The two papers of the shop: for the owner at the hand-over, and for the bench."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

from ..words.report import Chapter
from .calculation import calculation_sheet
from .files import put
from .lists import lists_of
from .typst_page import pdf

WORDING: dict[str, dict[str, Any]] = {
    "owner": {
        "form": "hand-over paper",
        "signing": "Handed over and explained; test, disinfection and setting done as noted.",
        "signers": ("Handed over by", "Received by"),
    },
    "card": {
        "form": "for the bench",
        "signing": "Every joint was made as listed, looked at and tested.",
        "signers": ("Made by", "Tested by"),
    },
}


def paper_bytes(
    chapter: Chapter, *, units: str, van: str, builder: str = "", date: str = ""
) -> bytes:
    """One paper as a PDF, with its own words above the place to sign."""
    sheet = calculation_sheet(chapter, units=units, van=van, builder=builder, date=date)
    return pdf(replace(sheet, **WORDING.get(chapter.key, {})))


def write_papers(pack: Any, folder: Path | str, *, date: str = "") -> list[Path]:
    """``owner-paper.pdf``, ``shop-card.pdf`` and the list of joints.  Gives the paths."""
    build = pack.build
    said = {"units": build.van.units, "van": build.van.name, "builder": build.van.builder}
    card = pack.shop.shop_card()
    joints = lists_of([card], build.van.units)["joints.csv"]
    return [
        put(Path(folder) / name, paper_bytes(chapter, date=date, **said))
        for name, chapter in (
            ("owner-paper.pdf", pack.shop.owner_paper()),
            ("shop-card.pdf", card),
        )
    ] + [put(Path(folder) / "joints.csv", joints)]
