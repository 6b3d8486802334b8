"""A build file changed in steps: whatever is done, the text stays one, and undo brings it back."""

from __future__ import annotations

import tomllib
from random import Random

import pytest

import vanplumb as vp
from vanplumb.van import loads
from vanplumb.van.form.blocks import FormError, Unreadable, block_of, blocks
from vanplumb.van.form.kit import build_text
from vanplumb.van.form.questions import all_answered
from vanplumb.van.form.sketch import sketch
from vanplumb.van.form.steps import Form, goals, hanging, starts
from vanplumb.van.model import LISTS, SECTIONS
from vanplumb.van.wiring import loose_ports

TEXTS = {
    "dipper": vp.example("dipper").text,
    "heron": vp.example("heron").text,
    "wren": vp.example("wren").text,
    "asked": build_text(all_answered({"taps": "sink, shower, outside shower"})),
    "empty": 'format = 1\n\n[van]\nname = "x"\nunits = "SI"\n',
}
POINTING = ("from =", "to =", "fixture =", "open =", "grey =", "in_tank =", "manifold =")


def remarks(text: str) -> list[str]:
    """Headings that are remarks, which belong to no part."""
    return [line for line in text.splitlines() if line.startswith("# ---")]


def one_step(form: Form, rng: Random) -> None:
    """Something that a reader may press, at random; what can't be done is told."""
    found = blocks(form.text)
    parts = [b for b in found if b.kind in LISTS]
    act = rng.choice(["add", "remove", "rename", "connect", "put", "set", "undo", "redo"])
    if act == "add":
        form.add(rng.choice([*LISTS, *SECTIONS]), rng.choice(["", "", "new part", "a.b"]))
    elif act == "remove" and parts:
        form.remove(rng.choice(parts).label)
    elif act == "rename" and parts:
        form.rename(rng.choice(parts).label, rng.choice(["other", "pump", 'say "x"', "ü 2"]))
    elif act == "connect":
        look = sketch(form.text)
        if begin := starts(look):
            start = rng.choice(begin)[0]
            if ends := goals(look, start):
                form.connect(start, rng.choice(ends)[0])
    elif act == "put":
        if runs := [b for b in found if b.kind == "run"]:
            form.put_into(rng.choice(runs).label, rng.choice(["tee", "shut_off", "strainer"]))
    elif act == "set" and parts:
        form.set(rng.choice(parts).label, "note", rng.choice([None, "a # remark", "two\nlines"]))
    elif act == "undo":
        form.undo()
    elif act == "redo":
        form.redo()


@pytest.mark.parametrize("name", TEXTS)
@pytest.mark.parametrize("seed", range(2))
def test_any_steps_leave_a_text_that_loads_or_says_what_is_missing(name: str, seed: int) -> None:
    rng, form = Random(f"{name} {seed}"), Form(TEXTS[name])
    for _ in range(20):
        before = form.text
        try:
            one_step(form, rng)
        except FormError as told:
            assert form.text == before and str(told)
        tomllib.loads(form.text)
        look = sketch(form.text)
        assert (look.whole is None) == bool(look.problems)
        assert all(problem.message for problem in look.problems)
        if look.whole is not None:
            assert look.whole == vp.van.loads(form.text)
    while form.can_undo:
        form.undo()
    assert form.text == TEXTS[name]


@pytest.mark.parametrize("name", ["dipper", "heron", "wren"])
def test_every_part_taken_out_leaves_the_rest_to_the_letter(name: str) -> None:
    text = TEXTS[name]
    lines = text.splitlines()
    for one in blocks(text):
        if one.kind in SECTIONS:
            continue
        form = Form(text)
        form.remove(one.label)
        left = form.text.splitlines()
        assert remarks(form.text) == remarks(text), one.label
        assert len(left) < len(lines)
        new = [line for line in left if line not in lines]
        # what is new is where two runs became one, or a list became shorter
        assert all(line.startswith(("to =", "length =", "rise =", "open =")) for line in new), new
        named = {f'"{one.name}"', f'"{one.name}.'}
        if one.kind not in ("zone", "use", "situation") and one.name:
            pointing = [line for line in left if line.startswith(POINTING)]
            assert not any(n in line for n in named for line in pointing), one.label


def test_a_part_in_a_line_leaves_one_run_behind_and_the_van_whole() -> None:
    form = Form(TEXTS["dipper"])
    before = loads(form.text)
    form.remove("check_valve.pump check")
    after = loads(form.text)
    assert len(after.run) == len(before.run) - 1
    assert list(loose_ports(after)) == list(loose_ports(before))
    joined = next(r for r in after.run if r.start == "pump")
    lengths = {(r.start, r.end): r.length for r in before.run}
    total = lengths["pump", "pump check"] + lengths["pump check", "low tee"]
    assert joined.end == "low tee" and joined.length == pytest.approx(total, abs=0.0008)


def test_what_is_put_into_a_run_and_taken_out_again_leaves_the_van_as_it_was() -> None:
    form = Form(TEXTS["heron"])
    before = loads(form.text)
    number = next(i for i, r in enumerate(before.run, 1) if r.end == "bath valve.hot")
    label = form.put_into(f"run.{number}", "shut_off", "bath stop")
    assert label == "shut_off.bath stop"
    between = loads(form.text)
    assert sum(r.length for r in between.run) == pytest.approx(sum(r.length for r in before.run))
    assert sum(r.rise for r in between.run) == pytest.approx(sum(r.rise for r in before.run))
    form.remove(label)
    after = loads(form.text)
    wires = [{(r.start, r.end, r.tube, r.length, r.rise) for r in b.run} for b in (before, after)]
    assert wires[0] == wires[1]


def test_a_tap_takes_its_zones_along_to_its_new_name() -> None:
    """Sink stands on both headers; where the new name is taken there, the zone keeps its own."""
    form = Form(TEXTS["dipper"])
    assert form.rename("fixture.sink", "wash bowl") == "fixture.wash bowl"
    build = loads(form.text)
    assert [z.name for z in build.zone].count("wash bowl") == 2
    assert "sink" not in {z.name for z in build.zone}
    ends = {end for run in build.run for end in (run.start, run.end)}
    assert {"cold manifold.wash bowl", "hot manifold.wash bowl"} <= ends
    form.rename("fixture.wash bowl", "sink")
    assert form.text == TEXTS["dipper"]
    form.rename("fixture.basin", "wet room")
    assert [z.name for z in loads(form.text).zone].count("basin") == 2


def test_a_new_name_is_known_everywhere_and_the_old_one_nowhere() -> None:
    form = Form(TEXTS["dipper"])
    before = loads(form.text)
    assert form.rename("manifold.hot manifold", "warm header") == "manifold.warm header"
    assert form.rename("fixture.shower", "rain") == "fixture.rain"
    assert form.rename("tank.grey", "waste") == "tank.waste"
    after = loads(form.text)
    assert "hot manifold" not in form.text.replace("# ", "")
    assert next(s.open for s in after.situation) == ("rain",)
    assert {u.fixture for u in after.use} >= {"rain"}
    assert len(after.zones("warm header")) == len(before.zones("hot manifold"))
    assert all(f.grey in ("", "waste") for f in after.fixture)
    form.rename("fixture.rain", "shower")
    form.rename("tank.waste", "grey")
    form.rename("manifold.warm header", "hot manifold")
    assert form.text == TEXTS["dipper"]


def test_what_hangs_on_a_part_is_told() -> None:
    told = hanging(TEXTS["dipper"], "manifold.hot manifold").told
    assert told[0] == "its zones sink, wet room, basin"
    assert "the run from heater to hot manifold" in told and len(told) == 5
    tap = hanging(TEXTS["dipper"], "fixture.shower").told
    assert "the use shower" in tap and "its place in the situation everything open" in tap


def test_a_tap_is_added_and_led_to_from_a_manifold() -> None:
    form = Form(TEXTS["dipper"])
    label = form.add("fixture", "dog shower", {"kind": "cold tap"})
    assert [p.component for p in loose_ports(loads(form.text))] == ["dog shower"]
    form.connect("cold manifold", "dog shower")
    build = loads(form.text)
    assert list(loose_ports(build)) == []
    assert [z.name for z in build.zones("cold manifold")][-1] == "dog shower"
    assert "estimated, to be measured" in form.text
    assert label == "fixture.dog shower"


def test_a_zone_with_only_a_number_is_led_from_before_another_is_added() -> None:
    """An empty zone would be bought with its valve; one with a name of its own is kept for that."""
    form = Form(TEXTS["dipper"])
    form.add("fixture", "dog shower", {"kind": "cold tap"})
    form.add("zone", "spare", {"manifold": "cold manifold"})
    form.add("zone", "zone 1", {"manifold": "cold manifold"})
    before = len(loads(form.text).zone)
    form.connect("cold manifold", "dog shower")
    build = loads(form.text)
    assert len(build.zone) == before
    assert [z.name for z in build.zones("cold manifold")][-2:] == ["spare", "dog shower"]
    assert build.run[-1].start == "cold manifold.dog shower"


def test_an_added_pump_is_of_the_files_units() -> None:
    for kit, curve in (("EU", "12 V 9 L/min 2.0 bar"), ("US", "12 V 3.4 gpm 50 psi")):
        form = Form(build_text(all_answered({"region": kit})))
        form.add("pump", "second pump")
        assert loads(form.text).pump[-1].curve == curve


def test_the_zones_of_a_manifold_stay_behind_it_in_the_text() -> None:
    form = Form(TEXTS["dipper"])
    form.add("manifold", "third")
    form.add("zone", "reel", {"manifold": "cold manifold"})
    form.add("zone", "bucket", {"manifold": "third"})
    in_order = sorted(blocks(form.text), key=lambda b: b.start)
    found = [(b.kind, b.name, b.said("manifold")) for b in in_order]
    rows = [row for row in found if row[0] in ("manifold", "zone")]
    heads = [n for n, row in enumerate(rows) if row[0] == "manifold"]
    assert [rows[n][1] for n in heads] == ["cold manifold", "hot manifold", "third"]
    for start, end in zip(heads, [*heads[1:], len(rows)], strict=True):
        assert {row[2] for row in rows[start + 1 : end]} == {rows[start][1]}


def test_an_outlet_that_is_taken_gets_a_tee() -> None:
    form = Form(TEXTS["wren"])
    form.add("fixture", "second tap", {"kind": "cold tap"})
    form.connect("foot pump", "second tap")
    build = loads(form.text)
    assert [t.name for t in build.tee] == ["second tap tee"]
    assert list(loose_ports(build)) == []


@pytest.mark.parametrize(
    "act, told",
    [
        (lambda f: f.remove("van"), "needs its"),
        (lambda f: f.remove("tank.nowhere"), "no \"tank.nowhere\""),
        (lambda f: f.rename("tank.fresh", "pump"), "already: choose another"),
        (lambda f: f.rename("tank.fresh", "a.b"), "must not have a point"),
        (lambda f: f.rename("tank.fresh", " "), "needs a name"),
        (lambda f: f.add("pump", "pump"), "already"),
        (lambda f: f.add("crew"), "already"),
        (lambda f: f.put_into("run.1", "fixture"), "not one way through"),
        (lambda f: f.connect("fresh", "shore inlet"), "no run can lead"),
        (lambda f: f.undo(), "nothing to undo"),
    ],
)  # fmt: skip
def test_a_step_that_can_not_be_done_says_why_and_changes_nothing(act, told: str) -> None:  # type: ignore[no-untyped-def]
    form = Form(TEXTS["dipper"])
    with pytest.raises(FormError, match=told):
        act(form)
    assert form.text == TEXTS["dipper"]


def test_a_text_that_is_no_toml_is_told_with_its_line() -> None:
    bad = TEXTS["wren"].replace('units = "SI"', 'units = "SI', 1)
    with pytest.raises(Unreadable, match="line 8"):
        blocks(bad)
    look = sketch(bad)
    assert not look.readable and look.problems[0].line == 8


def test_windows_line_ends_stay() -> None:
    form = Form(TEXTS["wren"].replace("\n", "\r\n"))
    form.add("tank", "spare")
    form.set("tank.spare", "note", "x")
    form.remove("fixture.tap")
    assert "\n" not in form.text.replace("\r\n", "")
    assert block_of(form.text, "tank.spare").values["note"] == "x"
