"""Papers of the office, from the terminal: what to ask, what to order, what all vans say."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from .words.regions import REGIONS
from .words.show import counted

if TYPE_CHECKING:
    from .van.model import Build
    from .words.report import Chapter

FINE = 0
LAST_PAGE = "fleet.json"
"""What a fleet page leaves for the next one."""


def add_office(commands: Any) -> None:
    """Add the commands to the command line."""
    survey = commands.add_parser(
        "survey", help="write the form of what a build file leaves open, by what it changes"
    )
    survey.add_argument("file", type=Path, help="your build file, such as my-van.toml")
    title_block(survey)
    survey.set_defaults(run=_survey)

    quote = commands.add_parser("quote", help="write the quote of a build file, or of several")
    quote.add_argument("file", type=Path, help="your build file, with prices and [shop] rate")
    quote.add_argument("options", nargs="*", type=Path, help="other ways of building it")
    title_block(quote)
    quote.set_defaults(run=_quote)

    order = commands.add_parser("order", help="write the order list of a build file")
    order.add_argument("file", type=Path, help="your build file, such as my-van.toml")
    order.add_argument("--record", type=Path, help="its record, for numbers (my-van.log)")
    title_block(order)
    order.set_defaults(run=_order)

    fleet = commands.add_parser(
        "fleet", help="write what all records of a folder say of where joints wept"
    )
    fleet.add_argument("folder", type=Path, help="the folder with the records, searched below too")
    fleet.add_argument("-o", "--out", type=Path, help="folder to write to (FOLDER/fleet)")
    fleet.add_argument("--units", choices=["SI", "US"], default="SI", help="of the paper's size")
    fleet.add_argument(
        "--region", choices=REGIONS, default="", help="whose words; those usual with the units"
    )
    fleet.add_argument("--revision", default="", help="printed in the title block")
    fleet.add_argument("--date", default="", help="of the page; today if not given")
    fleet.add_argument(
        "--without-people", action="store_true", help="count nothing by who made the joints"
    )
    fleet.set_defaults(run=_fleet)


def title_block(command: argparse.ArgumentParser) -> None:
    """What every paper of one van takes: its folder, revision and date."""
    command.add_argument("-o", "--out", type=Path, help="folder to write to (beside the file)")
    command.add_argument("--revision", default="", help="printed in the title block")
    command.add_argument(
        "--date", default="", help="printed in the title block; today if not given"
    )


def write_of(
    chapter: Chapter,
    build: Build,
    folder: Path,
    chosen: argparse.Namespace,
    keep: Iterable[str] = (),
) -> list[Path]:
    """One paper of a van in its region's words, dated today if no other day is asked for.

    ``keep`` are texts that somebody typed: they stay as they are.
    """
    from .sheet.calculation import write_paper
    from .sheet.wording import told, words_of

    return write_paper(
        told(chapter, words_of(build, keep)), folder, units=build.van.units, build=build,
        revision=chosen.revision, date=chosen.date or date.today().isoformat(),
    )  # fmt: skip


def _survey(chosen: argparse.Namespace) -> int:
    from .explore.open_questions import open_questions
    from .explore.survey import survey_chapter
    from .pack import Pack
    from .sheet.wording import words_of
    from .van import load

    pack = Pack(load(chosen.file))
    say = words_of(pack.build)
    questions = open_questions(pack.build)
    out = chosen.out or chosen.file.with_name(f"{chosen.file.stem}-survey")
    write_of(survey_chapter(pack.build, pack.lists, questions), pack.build, out, chosen)
    for number, one in enumerate(questions[:5], 1):
        what = ", ".join(one.parts[:2]) or one.kind
        assumed = f'"{one.assumed}" is assumed' if one.assumed else "nothing can be assumed"
        print(say(f"{number}. {what}, {one.asked}: {assumed}; ask {one.who}"))
    print(f"{len(questions)} questions are open. The form is in {out}.")
    return FINE


def _quote(chosen: argparse.Namespace) -> int:
    from .chapters.quote import money, quote_chapter
    from .pack import Pack
    from .van import load

    files = (chosen.file, *chosen.options)
    builds = [load(path) for path in files]
    quotes = [Pack(build).shop.quote for build in builds]
    out = chosen.out or chosen.file.with_name(f"{chosen.file.stem}-quote")
    paths = write_of(quote_chapter(builds[0], quotes), builds[0], out, chosen)
    for path, one in zip(files, quotes, strict=True):
        total = money(one.total, one.currency) if one.total is not None else "no rate under [shop]"
        gaps = f", {counted(len(one.unpriced), 'line')} without a price" if one.unpriced else ""
        print(f"{path.name}: {total}{gaps}")
    print(f"The quote is in {out}:")
    for path in paths:
        print(f"  {path.relative_to(out)}")
    return FINE


def _order(chosen: argparse.Namespace) -> int:
    from .chapters.order import order_chapter
    from .pack import Pack
    from .sheet.wording import words_of
    from .shop.record.claims import fitted_parts
    from .shop.record.record import Record
    from .van import load

    pack = Pack(load(chosen.file))
    say = words_of(pack.build)
    contents = Record(chosen.record or chosen.file.with_suffix(".log")).read()
    chapter = order_chapter(pack.lists, fitted_parts(contents))
    out = chosen.out or chosen.file.with_name(f"{chosen.file.stem}-order")
    write_of(chapter, pack.build, out, chosen, contents.typed)
    for answer in chapter.answers:
        print(say(f"{answer.label}: {answer.shown(pack.build.van.units)}"))
    for problem in contents.problems:
        print(f"NOT WHOLE: the record, {problem}")
    print(f"The order list is in {out}.")
    return FINE


def _fleet(chosen: argparse.Namespace) -> int:
    from .chapters.fleet import fleet_chapter
    from .sheet.calculation import write_paper
    from .sheet.wording import told, words_of_region
    from .shop.record.fleet import read_fleet, since
    from .shop.record.signing import Refused
    from .van.region import usual_region
    from .words.files import write_whole

    fleet = read_fleet(chosen.folder, people=not chosen.without_people)
    out = chosen.out or chosen.folder / "fleet"
    today = chosen.date or date.today().isoformat()
    changes, last = None, ""
    if (out / LAST_PAGE).exists():
        try:
            before = json.loads((out / LAST_PAGE).read_text(encoding="utf-8"))
            changes, last = since(fleet, before), str(before["date"])
        except (ValueError, KeyError, TypeError):
            raise Refused(
                f"{out / LAST_PAGE} can't be read: move it away, and nothing is said of what "
                "changed since the last page"
            ) from None
    typed = {text for van in fleet.vans for text in (van.name, *van.contents.typed)}
    say = words_of_region(chosen.region or usual_region(chosen.units), typed)
    write_paper(
        told(fleet_chapter(fleet, changes, last), say), out, units=chosen.units,
        revision=chosen.revision, date=today, mark=fleet.mark,
    )  # fmt: skip
    write_whole(out / LAST_PAGE, json.dumps({"date": today, **fleet.state}, indent=1) + "\n")
    for name, why in fleet.left_out.items():
        print(f"LEFT OUT: {name}: {why}")
    for one in changes or ():
        print(say(f"- {one.what}: {one.told}"))
    print(
        f"{counted(len(fleet.vans), 'van')}, {counted(fleet.joints, 'joint')} put to the test, "
        f"{fleet.wept} of them wept. The page is in {out}."
    )
    return FINE
