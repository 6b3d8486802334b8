"""Papers of the office, from the terminal: what to ask, what to order, what all vans say."""

from __future__ import annotations

import argparse
import json
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
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
    survey.add_argument("-o", "--out", type=Path, help="folder to write to (beside the file)")
    survey.add_argument("--date", default="", help="printed on it; none if not given")
    survey.set_defaults(run=_survey)

    order = commands.add_parser("order", help="write the order list of a build file")
    order.add_argument("file", type=Path, help="your build file, such as my-van.toml")
    order.add_argument("--record", type=Path, help="its record, for numbers (my-van.log)")
    order.add_argument("-o", "--out", type=Path, help="folder to write to (beside the file)")
    order.add_argument("--date", default="", help="printed on it; none if not given")
    order.set_defaults(run=_order)

    fleet = commands.add_parser(
        "fleet", help="write what all records of a folder say of where joints wept"
    )
    fleet.add_argument("folder", type=Path, help="the folder with the records, searched below too")
    fleet.add_argument("-o", "--out", type=Path, help="folder to write to (FOLDER/fleet)")
    fleet.add_argument("--units", choices=["SI", "US"], default="SI", help="of the paper's size")
    fleet.add_argument("--date", default="", help="of the page; today if not given")
    fleet.add_argument(
        "--without-people", action="store_true", help="count nothing by who made the joints"
    )
    fleet.set_defaults(run=_fleet)


def _survey(chosen: argparse.Namespace) -> int:
    from .explore.open_questions import open_questions
    from .explore.survey import survey_chapter
    from .pack import Pack
    from .sheet.wording import told, words_of
    from .van import load

    pack = Pack(load(chosen.file))
    questions = open_questions(pack.build)
    chapter = told(survey_chapter(pack.build, pack.lists, questions), words_of(pack.build))
    out = chosen.out or chosen.file.with_name(f"{chosen.file.stem}-survey")
    van = pack.build.van
    _write(chapter, out, van.units, van.name, van.builder, chosen.date)
    for number, one in enumerate(questions[:5], 1):
        what = ", ".join([*one.parts[:2], one.key.replace("_", " ")])
        print(f"{number}. {what}: {one.assumed or 'nothing'} assumed; ask {one.who}")
    print(f"{len(questions)} questions are open. The form is in {out}.")
    return FINE


def _order(chosen: argparse.Namespace) -> int:
    from .chapters.order import order_chapter
    from .pack import Pack
    from .sheet.wording import told, words_of
    from .shop.record.claims import fitted_parts
    from .shop.record.record import Record
    from .van import load

    pack = Pack(load(chosen.file))
    contents = Record(chosen.record or chosen.file.with_suffix(".log")).read()
    chapter = told(order_chapter(pack.lists, fitted_parts(contents)), words_of(pack.build))
    out = chosen.out or chosen.file.with_name(f"{chosen.file.stem}-order")
    van = pack.build.van
    _write(chapter, out, van.units, van.name, van.builder, chosen.date)
    for answer in chapter.answers:
        print(f"{answer.label}: {answer.shown(van.units)}")
    for problem in contents.problems:
        print(f"NOT WHOLE: the record, {problem}")
    print(f"The order list is in {out}.")
    return FINE


def _fleet(chosen: argparse.Namespace) -> int:
    from .chapters.fleet import fleet_chapter
    from .shop.record.fleet import read_fleet, since
    from .shop.record.signing import Refused
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
    _write(fleet_chapter(fleet, changes, last), out, chosen.units, date=today)
    write_whole(out / LAST_PAGE, json.dumps({"date": today, **fleet.state}, indent=1) + "\n")
    for name, why in fleet.left_out.items():
        print(f"LEFT OUT: {name}: {why}")
    for one in changes or ():
        print(f"- {one.what}: {one.told}")
    print(
        f"{len(fleet.vans)} vans, {fleet.joints} joints put to the test, {fleet.wept} of them "
        f"wept. The page is in {out}."
    )
    return FINE


def _write(
    chapter: Chapter, out: Path, units: str, van: str = "", builder: str = "", date: str = ""
) -> list[Path]:
    """A paper as PDF and HTML, and its lists."""
    from .sheet.calculation import write_paper

    return write_paper(chapter, out, units=units, van=van, builder=builder, date=date)
