"""The command line: an example, a new build file, names, a check, the pack, the notebooks."""

from __future__ import annotations

import argparse
import codecs
import io
import os
import sys
import unicodedata
import warnings
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from . import __version__
from .notebook_commands import add_notebooks
from .office_commands import add_office
from .record_commands import add_record

if TYPE_CHECKING:
    from .pack import Pack
    from .van import Build

FINE, PROBLEM, USAGE, FOUND, UNANSWERED = 0, 1, 2, 3, 4
_EXITS = """\
exit codes:
  0  done
  1  a file could not be read or written; the message says why
  2  the command was not understood
  3  check --strict: the review found a WARNING or DANGER
  4  check, pack, demo: something could not be worked out; the review says what
"""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command.  Gives the exit code; prints no traceback for a user's mistake."""
    # The matrices are small: threads that wait for one another only cost.  Before numpy is loaded.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    _fit_for_any_terminal()
    parser = _parser()
    chosen = parser.parse_args(arguments)
    if not hasattr(chosen, "run"):
        parser.print_help()
        return USAGE
    from .shop.record.events import EventError
    from .shop.record.signing import Refused
    from .van import BuildError

    try:
        return int(chosen.run(chosen))
    except (BuildError, EventError, Refused) as error:
        print(error, file=sys.stderr)
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    except OSError as error:
        where = f"{error.filename}: " if error.filename else ""
        print(f"{where}{error.strerror or error}", file=sys.stderr)
    except KeyboardInterrupt:
        print("stopped; every file is as it was or as it was to be, whole", file=sys.stderr)
    return PROBLEM


_PLAIN = {
    "−": "-", "–": "-", "—": "-", "→": "->", "…": "...", "×": "x", "·": "*", "°": " deg ",
    "²": "^2", "³": "^3", "≤": "<=", "≥": ">=", "Δ": "d", "µ": "u", "μ": "u", "√": "sqrt",
    "±": "+/-", "“": '"', "”": '"', "’": "'", "⁄": "/",
}  # fmt: skip
"""What is written instead of letters that a terminal has no code for."""


def _plainly(error: UnicodeError) -> tuple[str, int]:
    """Letters that can't be written, in letters that any terminal has."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    told = ""
    for letter in error.object[error.start : error.end]:
        parts = unicodedata.normalize("NFKD", letter)
        said = _PLAIN.get(letter) or "".join(_PLAIN.get(c, c) for c in parts)
        told += said.encode("ascii", "ignore").decode() or "?"
    return told, error.end


def _fit_for_any_terminal() -> None:
    """Print what the terminal has letters for, and no warnings of libraries with their paths."""
    codecs.register_error("vanplumb-plainly", _plainly)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="vanplumb-plainly")
    if not sys.warnoptions:
        warnings.simplefilter("ignore")


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="vanplumb",
        description="Works out a camper van's fresh-water system from one file: sizes, pressures, "
        "hot water, weight, what to watch, and a worked sheet that can be checked by hand.",
        epilog=_EXITS,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--version", action="version", version=f"vanplumb {__version__}")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND")

    demo = commands.add_parser("demo", help="work out an example van and write its pack")
    demo.add_argument("name", nargs="?", default="dipper", help="dipper, heron or wren")
    demo.add_argument("-o", "--out", type=Path, help="folder to write to (vanplumb-NAME)")
    demo.set_defaults(run=_demo)

    new = commands.add_parser("new", help="start a build file of your own, with remarks to fill in")
    new.add_argument("file", type=Path, help="file to make, such as my-van.toml")
    new.add_argument("--like", metavar="NAME", help="start from an example: dipper, heron or wren")
    new.add_argument("--units", choices=["US", "SI"], default="", help="of a file not like any")
    new.add_argument(
        "--region",
        metavar="NAME",
        default="",
        help="where the van is built: US, UK, EU or AU-NZ; its words and rules",
    )
    new.add_argument("--ask", action="store_true", help="ask eight questions and make it of them")
    new.set_defaults(run=_new)

    names = commands.add_parser(
        "names", help="list the names of tubes, fixtures, fittings, ... for a build file"
    )
    names.add_argument(
        "table", nargs="?", default="", help="such as tubes; all tables if not given"
    )
    names.add_argument(
        "word", nargs="?", default="", help="of 'names api': what bears that word in its name"
    )
    names.add_argument("--units", choices=["US", "SI"], default="US", help="of the figures")
    names.set_defaults(run=_names)

    told = commands.add_parser(
        "schema", help="print the JSON Schema of a build file, for an editor that completes keys"
    )
    told.add_argument("-o", "--out", type=Path, help="file to write it to")
    told.set_defaults(run=_schema)

    check = commands.add_parser("check", help="read a build file, list its problems and findings")
    check.add_argument(
        "file", type=Path, help="your build file, such as my-van.toml; or the folder of a pack"
    )
    check.add_argument("--strict", action="store_true", help="exit 3 on a WARNING or DANGER")
    check.set_defaults(run=_check)

    pack = commands.add_parser("pack", help="write the sheet, drawings and lists of a build file")
    pack.add_argument("file", type=Path, help="your build file, such as my-van.toml")
    pack.add_argument("-o", "--out", type=Path, help="folder to write to (beside the file)")
    pack.add_argument("--revision", default="", help="printed in the title block")
    pack.add_argument("--date", default="", help="printed in the title block; none if not given")
    pack.add_argument("--since", type=Path, metavar="OLD.toml", help="say what changed since then")
    pack.add_argument("--notebook", action="store_true", help="write it as a notebook, too")
    pack.set_defaults(run=_pack)

    sheet = commands.add_parser("sheet", help="write the sheet alone, as PDF or as an HTML page")
    sheet.add_argument("file", type=Path, help="your build file, such as my-van.toml")
    sheet.add_argument("-o", "--out", type=Path, help="a .pdf or .html (my-van-sheet.pdf)")
    sheet.add_argument(
        "--depth",
        choices=["one", "short", "all"],
        default="all",
        help="page one; answers and drawings; everything",
    )
    sheet.add_argument("--revision", default="", help="printed in the title block")
    sheet.add_argument("--date", default="", help="printed in the title block; none if not given")
    sheet.set_defaults(run=_sheet)

    changed = commands.add_parser("changed", help="say what changed between two build files")
    changed.add_argument("old", type=Path, metavar="OLD.toml")
    changed.add_argument("new", type=Path, metavar="NEW.toml")
    changed.set_defaults(run=_changed)

    add_record(commands)

    book = commands.add_parser(
        "reference", help="write every formula, result, rule, table and word on one page"
    )
    book.add_argument(
        "file",
        nargs="?",
        type=Path,
        default=Path("vanplumb-reference.html"),
        help="page to write; Markdown if it ends in .md (vanplumb-reference.html)",
    )
    book.set_defaults(run=_reference)

    add_office(commands)

    add_notebooks(commands)
    return parser


def _demo(chosen: argparse.Namespace) -> int:
    from .pack import example, examples

    if chosen.name not in examples():
        print(f"no example {chosen.name!r}; there are {', '.join(examples())}", file=sys.stderr)
        return USAGE
    return _write(example(chosen.name), chosen.out or Path(f"vanplumb-{chosen.name}"))


def _new(chosen: argparse.Namespace) -> int:
    from .pack import examples
    from .van import save

    if chosen.file.exists():
        print(f"{chosen.file} exists and is left as it is; choose another name", file=sys.stderr)
        return PROBLEM
    if chosen.like and chosen.like not in examples():
        print(f"no example {chosen.like!r}; there are {', '.join(examples())}", file=sys.stderr)
        return USAGE
    try:
        text = _new_text(chosen)
    except ValueError as error:
        print(error, file=sys.stderr)
        return USAGE
    except (EOFError, KeyboardInterrupt):
        print(f"\nstopped; {chosen.file} is not begun", file=sys.stderr)
        return PROBLEM
    save(text, chosen.file)
    print(f"{chosen.file} is ready. Put in your van's values, then: vanplumb check {chosen.file}")
    return FINE


def _new_text(chosen: argparse.Namespace) -> str:
    """The text of a new file.  ValueError for an unknown region."""
    from .pack import example
    from .van import template
    from .van.file.write import changed
    from .words.regions import REGIONS

    if chosen.region and chosen.region not in REGIONS:
        raise ValueError(f"no region {chosen.region!r}; there are {', '.join(REGIONS)}")
    if chosen.ask:
        return _asked(chosen)
    if not chosen.like:
        return template(chosen.units, chosen.region)
    text = example(chosen.like).text
    return changed(text, {"van.region": chosen.region}) if chosen.region else text


def _asked(chosen: argparse.Namespace) -> str:
    """The text of a new file from answers typed here.  ValueError for what goes not with it."""
    from .van.form.asking import ask
    from .van.form.kit import build_text

    if chosen.like or chosen.units:
        raise ValueError("--ask goes without --like and --units: the region brings its units")
    print(
        "Eight questions make a build file. Enter takes what stands in [ ]; back asks the one "
        "before again; Ctrl-C leaves nothing."
    )
    return build_text(ask(input, print, chosen.region), chosen.file.stem)


def _names(chosen: argparse.Namespace) -> int:
    from .words.tables import table_names
    from .worksheets.frame import paper
    from .worksheets.page.names import named_in_builds, names_grid, own_row_grid

    if chosen.table == "api":
        from .reference import api_lines

        told = list(api_lines(chosen.word))
        print("\n".join(told) or f"nothing has {chosen.word!r} in its name")
        return FINE if told else USAGE
    if chosen.word:
        print(f"{chosen.word!r} is not understood: a word goes with 'names api'", file=sys.stderr)
        return USAGE
    tables = named_in_builds()
    if not chosen.table:
        for name, title in tables.items():
            print(f"{name:10} {title}")
        print("One of them, with what a row of your own may say: vanplumb names tubes")
        print("What a script may call: vanplumb names api, or vanplumb names api flow")
        return FINE
    if chosen.table not in table_names():
        print(f"no table {chosen.table!r}; there are {', '.join(table_names())}", file=sys.stderr)
        return USAGE
    print(paper.grid(names_grid(chosen.table, chosen.units), chosen.units))
    print()
    print(paper.grid(own_row_grid(chosen.table, chosen.units), chosen.units))
    return FINE


def _schema(chosen: argparse.Namespace) -> int:
    import json

    from .van.file.schema import schema
    from .words.files import write_whole

    text = json.dumps(schema(), indent=2, ensure_ascii=True) + "\n"
    if chosen.out is None:
        print(text, end="")
    else:
        write_whole(chosen.out, text)
        print(f"{chosen.out} is written; tell your editor that it is the schema of your build file")
    return FINE


def _check(chosen: argparse.Namespace) -> int:
    from .sheet.pack_folder import CONTENTS, what_is_not_whole

    if (chosen.file / CONTENTS).is_file():
        wrong = what_is_not_whole(chosen.file)
        print("\n".join(wrong) or f"The pack in {chosen.file} is whole.")
        return PROBLEM if wrong else FINE
    from .pack import Pack
    from .van import load

    pack = Pack(load(chosen.file))
    parts = sum(1 for _ in pack.build.components)
    print(
        f"{pack.build.van.name}: {parts} components, {len(pack.build.run)} runs; the file is fine."
    )
    _print_findings(pack)
    if pack.failures:
        return UNANSWERED
    serious = any(f.severity in ("DANGER", "WARNING") for f in pack.findings)
    return FOUND if chosen.strict and serious else FINE


def _pack(chosen: argparse.Namespace) -> int:
    from .van import load

    build = load(chosen.file)
    out = chosen.out or chosen.file.with_name(f"{chosen.file.stem}-pack")
    old = load(chosen.since) if chosen.since else None
    return _write(build, out, chosen.revision, chosen.date, old, chosen.notebook)


def _write(
    build: Build,
    out: Path,
    revision: str = "",
    date: str = "",
    old: Build | None = None,
    notebook: bool = False,
) -> int:
    from .pack import Pack

    pack = Pack(build)
    if old is not None:
        from .explore.changes import changes, chapter
        from .explore.shop_change import shop_change, shop_chapter

        before = Pack(old)
        found = changes(before, pack)
        work = shop_change(before, pack)
        if work:
            pack.put_first(shop_chapter(work))
        pack.put_first(chapter(found))
        print(
            f"Since {found.old}: {len(found.inputs)} inputs, {len(found.answers)} answers and "
            f"{len(found.findings)} findings changed; {len(work.cut)} pieces to cut, "
            f"{len(work.opened)} joints to open, {len(work.made)} to make."
        )

    def also(folder: Path) -> list[Path]:
        from .worksheets.page.booklet import write_notebook

        return [write_notebook(pack, folder / "pack.ipynb", revision=revision, date=date)]

    paths = pack.write(
        out,
        revision=revision,
        date=date,
        progress=lambda step: print(f"  {step}", file=sys.stderr),
        also=also if notebook else None,
    )
    print(f"The pack of {build.van.name} is in {out}:")
    for path in paths:
        print(f"  {path.relative_to(out)}")
    _print_counts(pack)
    print(f"Open {paths[0]} (or {paths[1].name} in a browser) to read the sheet.")
    for finding in pack.failures:
        print(f"{finding.severity}: {finding.what}", file=sys.stderr)
    return UNANSWERED if pack.failures else FINE


def _reference(chosen: argparse.Namespace) -> int:
    from .reference import write_reference

    print(f"The reference is in {write_reference(chosen.file)}.")
    return FINE


def _sheet(chosen: argparse.Namespace) -> int:
    from .pack import Pack
    from .sheet import write_html, write_pdf
    from .van import load

    writers = {".pdf": write_pdf, ".html": write_html}
    if chosen.out is not None and chosen.out.suffix.lower() not in writers:
        print(f"{chosen.out}: a sheet is a .pdf or a .html file", file=sys.stderr)
        return USAGE
    pack = Pack(load(chosen.file))
    out = chosen.out or chosen.file.with_name(f"{chosen.file.stem}-sheet.pdf")
    writers[out.suffix.lower()](
        pack, out, revision=chosen.revision, date=chosen.date, depth=chosen.depth
    )
    print(f"{out}, of the build with the mark {pack.build.mark}.")
    return FINE


def _changed(chosen: argparse.Namespace) -> int:
    from .explore.changes import changes, chapter
    from .explore.shop_change import shop_change, shop_chapter
    from .pack import Pack
    from .sheet.wording import told, words_of
    from .van import load
    from .worksheets.frame import paper

    old, new = Pack(load(chosen.old)), Pack(load(chosen.new))
    units, say = new.build.van.units, words_of(new.build)
    print(repr(paper.chapter(told(chapter(changes(old, new)), say), units)))
    work = shop_change(old, new)
    if work:
        asked = told(shop_chapter(work), say)
        print(f"\n{asked.title}\n")
        print(repr(paper.chapter(asked, units)))
        print("\n" + "\n".join(f"- {basis}" for basis in asked.basis))
    return FINE


def _print_counts(pack: Pack) -> None:
    counts: dict[str, int] = {}
    for finding in pack.all_findings:
        counts[finding.severity] = counts.get(finding.severity, 0) + 1
    told = ", ".join(f"{severity}: {n}" for severity, n in counts.items()) or "nothing"
    print(f"The review found: {told}.")


def _print_findings(pack: Pack) -> None:
    from .review.finding import told_once
    from .sheet.wording import told_finding, words_of

    say, units = words_of(pack.build), pack.build.van.units
    for finding in told_once((told_finding(one, say) for one in pack.all_findings), units):
        value, limit = finding.shown(units)
        print(f"\n{finding.severity}: {finding.what}")
        print(f"  where   {finding.where}")
        print(f"  is      {value}; limit {limit} ({finding.source})")
        print(f"  do      {finding.advice}")
    if pack.all_findings:
        print()
    _print_counts(pack)
