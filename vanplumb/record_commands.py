"""``vanplumb record``: what is done at the bench goes into the van's record, from the terminal.

Each command notes one thing or refuses it in a sentence; a refusal writes nothing.
"""

from __future__ import annotations

import argparse
import hashlib
import shutil
from collections.abc import Callable
from fnmatch import fnmatchcase
from pathlib import Path
from typing import TYPE_CHECKING, Any

from .office_commands import title_block, write_of

if TYPE_CHECKING:
    from .pack import Pack
    from .shop.record.events import Event
    from .shop.record.record import Contents, Record
    from .words.regions import Local

FINE, OPEN = 0, 3
_PHOTOGRAPHS = "photographs"
_SUCH_AS = {
    "joint": "by its name",
    "serial": "its serial number",
    "pressure": 'such as "45 psi"',
    "temperature": 'of the water, such as "68 °F"',
    "strength": 'such as "50 mg/L"',
    "time": 'such as "4 h"',
    "residual": 'such as "1 mg/L"',
    "valve": "by its name",
    "part": "by its name",
    "value": 'such as "1.2 gpm"',
}
"""What each word that a command takes looks like."""


def add_record(commands: Any) -> None:
    """Add the command and what it can note to the command line."""
    record = commands.add_parser(
        "record",
        help="note joints, readings, tests, parts, photographs, the hand-over, the return",
        description="Notes what is done at the bench in the record of a van: a file beside the "
        "build file that only grows. Times are those of this computer's clock.",
    )
    record.add_argument("file", type=Path, help="the build file, such as my-van.toml")
    record.add_argument("--record", type=Path, help="the record (my-van.log beside the build)")
    what = record.add_subparsers(title="what to note", metavar="WHAT", required=True)

    def add(name: str, do: Do, about: str, *takes: str, by: bool = True) -> Any:
        one = what.add_parser(name, help=about, description=about)
        for word in takes:
            one.add_argument(word, help=_SUCH_AS.get(word))
        if by:
            one.add_argument("--by", required=True, help="initials or name of who did it")
            one.set_defaults(answers_for=True)
        one.set_defaults(run=lambda chosen: _run(chosen, do))
        return one

    add("show", _show, "what the record says, and whether it is whole", by=False)
    add("open", _open, "what stands between the van and its hand-over", by=False)
    made = add("made", _made, "joints that were made")
    made.add_argument("joint", nargs="+", help="by name, all of a run such as 'run 3', or by a "
                      "pattern such as '* thread'")  # fmt: skip
    _with_what(made)
    wept = add("wept", _wept, "a joint that weeps", "joint")
    wept.add_argument("--how", default="", help="how it showed")
    repaired = add("repaired", _repaired, "a joint that was made again; its test is open", "joint")
    repaired.add_argument("--how", required=True, help="how it was made again")
    _with_what(repaired)
    gauge = add("gauge", _gauge, "a gauge, by its serial number", "serial")
    gauge.add_argument("--range", required=True, help='such as "0 to 100 psi"')
    gauge.add_argument("--step", required=True, help='the smallest it shows, such as "1 psi"')
    read = add("read", _read, "one reading of the pressure test", "pressure", "temperature")
    read.add_argument("--gauge", required=True, help="its serial number")
    read.add_argument("--at", default="", help="when, such as 14:20; now if not given")
    test = add("test", _test, "judge the readings by the region's rule, and note the verdict")
    test.add_argument("--rule", default="", help="another rule of the region, by name")
    test.add_argument("--medium", choices=["water", "air"], default="water")
    dosed = add("dosed", _dosed, "disinfected: how strong and how long", "strength", "time")
    dosed.add_argument("--with", dest="agent", default="", help="what was put in")
    add("flushed", _flushed, "rinsed: the chlorine that is left at the outlets", "residual")
    add("set", _set, "a mixing valve that was set, as measured", "valve", "temperature")
    fitted = add("fitted", _fitted, "a part with its serial number", "part")
    fitted.add_argument("--serial", required=True)
    fitted.add_argument("--batch", default="")
    fitted.add_argument("--warranty", default="", help='its term, such as "24 months"')
    photo = add("photo", _photo, "a photograph: copied beside the record", "path")
    photo.add_argument("--of", required=True, help="what it shows, such as a joint")
    add("reading", _reading, "a reading at the finished van, beside what is computed",
        "name", "value")  # fmt: skip
    form = what.add_parser(
        "commission",
        help="the commissioning form: show it, or fill in a line",
        description="Without a line it shows the form with its bands and what was filled in. "
        "A line is told by its number or name; its value is a figure with its unit, or for what "
        "is only tried: done, or failed.",
    )
    form.add_argument("line", nargs="?", default="")
    form.add_argument("value", nargs="?", default="")
    form.add_argument("--why", default="", help="why it failed")
    form.add_argument("--by", default="", help="initials or name of who read it")
    form.set_defaults(run=lambda chosen: _run(chosen, _commission))
    papers = add("papers", _papers, "the owner's paper, the form and the shop card as of now",
                 by=False)  # fmt: skip
    papers.add_argument("-o", "--out", type=Path, help="folder to write to (my-van-papers)")
    papers.add_argument("--revision", default="", help="printed in the title block")
    papers.add_argument("--date", default="", help="printed in the title block")
    model = add("as-measured", _as_measured, "a build file with what was measured put into it",
                "out", by=False)  # fmt: skip
    model.epilog = "The signed build file stays as it is: work the new one out like any other."
    sign = add("countersign", _countersign, "answer for open findings, with a reason", "finding")
    sign.add_argument("--where", default="", help="only there, if the rule found it in many places")
    sign.add_argument("--reason", required=True)
    over = add("hand-over", _hand_over, "the hand-over, when nothing is open")
    over.add_argument("--to", required=True, help="who takes the van")
    over.add_argument("--sheet", required=True, help="the build mark in the title block of the "
                      "sheet that is signed, such as 428fb874fb")  # fmt: skip
    back = add("back", _back, "the van came back")
    back.add_argument("--why", required=True)
    claim = add("claim", _claim, "the history of a joint or part, as a page", "name", by=False)
    title_block(claim)
    add("take", _take, "what the phone at the bench handed back", "path", by=False)
    note = add("note", _note, "anything else", "text", by=False)
    note.add_argument("--by", default="")


def _with_what(command: Any) -> None:
    command.add_argument("--tool", default="", help="which tool of the shop, such as expander 2")
    command.add_argument("--batch", default="", help="of the rings, fittings or compound")


def _say(pack: Pack, contents: Contents) -> Local:
    """The words of the region, but for what people typed."""
    from .sheet.wording import words_of

    return words_of(pack.build, contents.typed)


Do = Callable[["Pack", "Record", argparse.Namespace], "list[Event] | int"]


def _run(chosen: argparse.Namespace, do: Do) -> int:
    from .pack import Pack
    from .shop.record.record import Record
    from .shop.record.signing import Refused
    from .van import load

    if getattr(chosen, "answers_for", False) and not chosen.by.strip():
        raise Refused("say who did it: --by with initials or a name")
    pack = Pack(load(chosen.file))
    record = Record(chosen.record or chosen.file.with_suffix(".log"))
    done = do(pack, record, chosen)
    if isinstance(done, int):
        return done
    for event in done:
        print(f"{event.number}. {event.told}")
    print(f"In {record.path}.")
    return FINE


def _show(pack: Pack, record: Record, chosen: argparse.Namespace) -> int:
    found = record.read()
    for event in found.events:
        print(f"{event.number:5d}  {event.time[:16]}  {event.told}")
    for problem in found.problems:
        print(f"NOT WHOLE: {problem}")
    if not found.problems:
        print(f"{len(found.events)} entries; the chain is whole; mark {found.mark or '(none)'}.")
    return OPEN if found.problems else FINE


def _open(pack: Pack, record: Record, chosen: argparse.Namespace) -> int:
    from .shop.record.history import taken
    from .shop.record.signing import not_countersigned, stale, still_open

    contents = record.read()
    left, say = still_open(pack.shop, pack.all_findings, contents), _say(pack, contents)
    for one in left:
        print(say(f"- {one}"))
    for finding in not_countersigned(pack.all_findings, contents, pack.build.mark):
        print(f'  to answer for it: countersign {finding.rule} --where "{finding.where}"')
    empty = [c.name for c in pack.shop.commissioning.checks if c.name not in taken(contents)]
    if empty:
        print(f"  not filled in on the commissioning form: {len(empty)} lines")
    for name, joint in stale(pack.shop, contents).items():
        print(f"  read again: {name} was read before {joint}, which may lie on its way")
    if not left:
        print(f"Nothing is open. The sheet's mark is {pack.build.mark}.")
    return OPEN if left else FINE


def _made(pack: Pack, record: Record, chosen: argparse.Namespace) -> list[Event]:
    from .shop.record.signing import Refused, make_joints
    from .van.problems import nearest

    joints = pack.shop.joints
    found: list[str] = []
    for wanted in chosen.joint:
        fits = [j.name for j in joints if fnmatchcase(j.name, wanted) or j.line == wanted]
        if not fits:
            near = nearest(wanted, [w for j in joints for w in (j.name, j.line)])
            raise Refused(f"no joint is named {wanted!r}{near or '; the sheet lists them'}")
        found += fits
    return make_joints(pack.shop, record, found, chosen.by, chosen.tool, chosen.batch)


def _known_joint(record: Record, name: str) -> None:
    from .shop.record.history import states
    from .shop.record.signing import Refused
    from .van.problems import nearest

    known = states(record.read())
    if name not in known:
        near = nearest(name, known)
        raise Refused(f"{name} is not in the record yet: note it as made first{near}")


def _wept(pack: Pack, record: Record, chosen: argparse.Namespace) -> list[Event]:
    _known_joint(record, chosen.joint)
    how = {"how": chosen.how} if chosen.how else {}
    return [record.append("joint wept", joint=chosen.joint, **how, by=chosen.by)]


def _repaired(pack: Pack, record: Record, chosen: argparse.Namespace) -> list[Event]:
    from .shop.record.signing import said_of

    _known_joint(record, chosen.joint)
    said = {"how": chosen.how, **said_of(tool=chosen.tool, batch=chosen.batch)}
    return [record.append("joint repaired", joint=chosen.joint, **said, by=chosen.by)]


def _gauge(pack: Pack, record: Record, chosen: argparse.Namespace) -> list[Event]:
    from .shop.record.signing import name_gauge

    return [name_gauge(record, chosen.serial, chosen.range, chosen.step, chosen.by)]


def _read(pack: Pack, record: Record, chosen: argparse.Namespace) -> list[Event]:
    from .shop.record.signing import read_gauge

    return [
        read_gauge(record, chosen.gauge, chosen.pressure, chosen.temperature, chosen.by, chosen.at)
    ]


def _test(pack: Pack, record: Record, chosen: argparse.Namespace) -> list[Event]:
    from .shop.record.signing import settle_test

    found, event = settle_test(pack.shop, record, chosen.by, chosen.rule, chosen.medium)
    print(f"{found.ruled.rule}: {found.ruled.result}, {found.ruled.why}.")
    print(f"The fall by itself: {found.judged.verdict}, {found.judged.why}.")
    return [event]


def _measured(text: str, word: str) -> str:
    """A figure with its unit, as typed.  Refused if it can't be read."""
    from .shop.record.signing import Refused
    from .words.quantity import QuantityError, read

    try:
        read(text, word)
    except QuantityError as error:
        raise Refused(str(error)) from None
    return text.strip()


def _dosed(pack: Pack, record: Record, chosen: argparse.Namespace) -> list[Event]:
    from .shop.record.doubts import too_weak
    from .shop.record.signing import dosed

    event = dosed(record, chosen.strength, chosen.time, chosen.by, chosen.agent)
    weak = too_weak(pack.shop, event)
    if weak:
        print(f"Not enough: {weak}.")
    return [event]


def _flushed(pack: Pack, record: Record, chosen: argparse.Namespace) -> list[Event]:
    dose = pack.shop.dose
    if dose is None:
        residual = _measured(chosen.residual, "concentration")
        return [record.append("flushed", residual=residual, by=chosen.by)]
    return _noted(pack, record, f"{dose.agent} left", chosen.residual, chosen.by)


def _set(pack: Pack, record: Record, chosen: argparse.Namespace) -> list[Event]:
    from .shop.record.signing import Refused

    names = [v.name for v in pack.build.mixing_valve]
    if chosen.valve not in names:
        raise Refused(f"no mixing valve {chosen.valve!r}; there are {', '.join(names) or 'none'}")
    return _noted(pack, record, f"{chosen.valve}, as set", chosen.temperature, chosen.by)


def _fitted(pack: Pack, record: Record, chosen: argparse.Namespace) -> list[Event]:
    from .shop.record.claims import term_ends
    from .shop.record.signing import Refused, said_of

    names = [c.name for c in pack.build.components]
    if chosen.part not in names:
        raise Refused(f"the build names no {chosen.part!r}; it names {', '.join(names)}")
    if chosen.warranty:
        term_ends("2000-01-01", chosen.warranty)
    said = said_of(serial=chosen.serial, batch=chosen.batch, warranty=chosen.warranty)
    return [record.append("part fitted", part=chosen.part, **said, by=chosen.by)]


def _photo(pack: Pack, record: Record, chosen: argparse.Namespace) -> list[Event]:
    """The copy's name begins with its own mark, so that no other can take its place."""
    source = Path(chosen.path)
    data = source.read_bytes()
    digest = hashlib.sha256(data).hexdigest()
    folder = record.path.with_name(f"{record.path.stem}-{_PHOTOGRAPHS}")
    folder.mkdir(parents=True, exist_ok=True)
    copy = folder / f"{digest[:12]}-{source.name}"
    if not copy.exists():
        shutil.copyfile(source, copy)
    kept = f"{folder.name}/{copy.name}"
    return [record.append("photograph", of=chosen.of, file=kept, sha256=digest, by=chosen.by)]


def _reading(pack: Pack, record: Record, chosen: argparse.Namespace) -> list[Event]:
    return _noted(pack, record, chosen.name, chosen.value, chosen.by)


def _noted(
    pack: Pack, record: Record, line: str, value: str, by: str, why: str = ""
) -> list[Event]:
    """Fill in one line, and say at once if it is outside, with what to look at."""
    from .shop.record.signing import commission

    event, check = commission(pack.shop, record, line, value, by, why)
    verdict = event.get("verdict")
    if verdict in ("below", "above"):
        units = pack.build.van.units
        limit = f", the limit of {check.limit}" if check.limit and verdict == "above" else ""
        print(f"{check.name}: {value} is {verdict} its band, {check.band(units)}{limit}.")
        for cause in _likeliest(pack, record, check.name) or check.causes(verdict):
            print(f"  look: {cause}")
        if limit:
            print("  Nobody uses this outlet until it is right: hot water scalds.")
    return [event]


def _likeliest(pack: Pack, record: Record, name: str) -> list[str]:
    """What the model thinks of all readings of outlets so far, if it can tell."""
    from .shop.readings.measured import judge_readings
    from .shop.record.as_measured import outlet_readings

    values = outlet_readings(pack.shop, record.read())
    if name not in values:
        return []
    found = judge_readings(pack.shop.measured, values, fitting=False).diagnosis
    if found is None or found.verdict not in ("likely", "can't tell"):
        return []
    return [f"{r.cause.name}: {r.cause.look}" for r in found.alike[:3]]


def _commission(pack: Pack, record: Record, chosen: argparse.Namespace) -> list[Event] | int:
    from .shop.record.history import taken
    from .shop.record.signing import Refused

    if chosen.line:
        if not chosen.value:
            raise Refused(f"say the value of {chosen.line}")
        return _noted(pack, record, chosen.line, chosen.value, chosen.by, chosen.why)
    contents = record.read()
    form, known, units = pack.shop.commissioning, taken(contents), pack.build.van.units
    say = _say(pack, contents)
    group = ""
    for number, check in enumerate(form.checks, 1):
        if check.group != group:
            group = check.group
            print(say(f"{group}:"))
        seen = known.get(check.name)
        told = "–" if seen is None else f"{seen.value}  {seen.verdict.upper()}  {seen.date}"
        print(say(f"{number:4d}  {check.name}: {check.band(units)}   {told}"))
    if form.unknown:
        print(f"NOT WORKED OUT, flows and temperatures: {form.unknown}")
    left = sum(c.name not in known for c in form.checks)
    print(f"{left} of {len(form.checks)} lines are not filled in.")
    return FINE


def _papers(pack: Pack, record: Record, chosen: argparse.Namespace) -> int:
    from .sheet.calculation import papers_of
    from .sheet.pack_folder import whole_pack
    from .words.files import write_whole

    out = chosen.out or chosen.file.with_name(f"{chosen.file.stem}-papers")
    build, said = pack.build, {"revision": chosen.revision, "date": chosen.date}
    made = papers_of(pack.shop, record.read(), **said)
    with whole_pack(out, {"build": build.van.name, "mark": build.mark, **said}) as stage:
        for name, data in made.items():
            write_whole(stage / name, data)
    print("\n".join(str(out / name) for name in made))
    return FINE


def _as_measured(pack: Pack, record: Record, chosen: argparse.Namespace) -> int:
    from .shop.record.as_measured import as_measured
    from .shop.record.signing import Refused
    from .van import save

    out = Path(chosen.out)
    if out.exists():
        raise Refused(f"{out} exists and is left as it is; choose another name")
    text, found, remark = as_measured(pack.shop, record.read())
    save(text, out)
    if remark:
        print(remark)
    for one in found:
        print(f"{one.path}: {one.said} in the file, measured {one.measured} ({one.basis})")
    print(f"{out} is written; {chosen.file.name}, which the sheet is of, stays as it is.")
    return FINE


def _countersign(pack: Pack, record: Record, chosen: argparse.Namespace) -> list[Event]:
    from .shop.record.signing import Refused, countersign, not_countersigned

    waiting = not_countersigned(pack.all_findings, record.read(), pack.build.mark)
    found = [f for f in waiting if f.rule == chosen.finding and chosen.where in ("", f.where)]
    if not found:
        names = ", ".join(dict.fromkeys(f.rule for f in waiting)) or "none"
        raise Refused(f"{chosen.finding!r} is not open here; open: {names}")
    if len(found) > 1:
        places = "; ".join(f.where for f in found)
        raise Refused(f"say which with --where: {places}")
    return [countersign(record, f, chosen.reason, chosen.by, pack.build.mark) for f in found]


def _hand_over(pack: Pack, record: Record, chosen: argparse.Namespace) -> list[Event]:
    from .shop.record.signing import hand_over

    return [hand_over(pack.shop, pack.all_findings, record, chosen.by, chosen.to, chosen.sheet)]


def _back(pack: Pack, record: Record, chosen: argparse.Namespace) -> list[Event]:
    from .shop.record.signing import came_back

    return [came_back(record, chosen.why, chosen.by)]


def _take(pack: Pack, record: Record, chosen: argparse.Namespace) -> list[Event]:
    from .shop.record.from_phone import take

    return take(pack.shop, record, chosen.path)


def _claim(pack: Pack, record: Record, chosen: argparse.Namespace) -> int:
    from .chapters.claim import claim_chapter
    from .shop.record.claims import claim_of
    from .words.files import file_name

    contents = record.read()
    claim = claim_of(contents, chosen.name)
    for event in claim.events:
        print(f"{event.number:5d}  {event.time[:16]}  {event.told}")
    out = chosen.out or record.path.with_name(f"{record.path.stem}-claims")
    folder = out / file_name(chosen.name, "claim")
    write_of(claim_chapter(claim), pack.build, folder, chosen, contents.typed)
    print(f"{chosen.name} stands as {claim.state}. The page is in {folder}.")
    return FINE if claim.whole else OPEN


def _note(pack: Pack, record: Record, chosen: argparse.Namespace) -> list[Event]:
    by = {"by": chosen.by} if chosen.by else {}
    return [record.append("note", text=chosen.text, **by)]
