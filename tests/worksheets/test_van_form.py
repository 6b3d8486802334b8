"""A van's file as a form: each press is one step, told, drawn anew and followed by the text."""

from __future__ import annotations

import asyncio
import re
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Event
from typing import Any

import pytest

import vanplumb as vp
from vanplumb.pack import Pack
from vanplumb.van import loads
from vanplumb.van.form.kit import build_text
from vanplumb.van.form.missing import offers
from vanplumb.van.form.questions import all_answered
from vanplumb.van.form.sketch import sketch
from vanplumb.van.wiring import loose_ports
from vanplumb.worksheets.page import my_van as module
from vanplumb.worksheets.page.my_van import MyVan, my_van
from vanplumb.worksheets.page.van_form import VanForm

WREN = vp.example("wren").text


@pytest.fixture
def form() -> VanForm:
    texts: list[str] = []
    lines: list[int] = []
    one = VanForm(vp.example("dipper").text, texts.append, lines.append)
    one.texts, one.lines = texts, lines  # type: ignore[attr-defined]
    return one


def field(form: VanForm, key: str) -> dict[str, Any]:
    return next(f for f in form.widget.view["fields"] if f["key"] == key)


def press(form: VanForm, do: str, **more: Any) -> dict[str, Any]:
    form.heard({"do": do, **more})
    return form.widget.view


def test_every_part_and_run_can_be_chosen_on_the_drawing(form: VanForm) -> None:
    labels = set(re.findall(r'data-pick="([^"]*)"', form.widget.view["svg"]))
    build = loads(form.form.text)
    assert labels == {build.label(part) for part in (*build.components, *build.run)}
    for label in sorted(labels)[::4]:
        view = press(form, "pick", label=label)
        assert view["picked"] == label and view["fields"]
        assert view["svg"].count("vp-picked") == 1
    assert form.lines[-1] == sketch(form.form.text).block(label).line  # type: ignore[attr-defined,union-attr]


def test_what_is_typed_is_taken_or_told_at_its_field(form: VanForm) -> None:
    press(form, "pick", label="regulator.regulator")
    press(form, "set", key="setting", value="40 PSI")
    assert 'setting = "40 psi"' in form.form.text
    assert form.texts == [form.form.text]  # type: ignore[attr-defined]
    press(form, "set", key="setting", value="40 gal")
    told = field(form, "setting")
    assert "pressure" in told["problem"] and told["typed"] == "40 gal"
    assert 'setting = "40 psi"' in form.form.text
    press(form, "set", key="setting", value="455 psi")
    told = field(form, "setting")
    assert told["problem"] == "" and told["instead"][0] == "45.5 psi"
    press(form, "pick", label="heater.heater")
    press(form, "set", key="setpoint", value="140 °C")
    assert field(form, "setpoint")["instead"] == ["140 °F"]


def test_a_part_is_added_joined_and_taken_out_again(form: VanForm) -> None:
    before = form.form.text
    view = press(form, "add", kind="accumulator")
    assert view["picked"] == "accumulator.accumulator 2" and view["focus"] == "name"
    press(form, "set", key="name", value="hot vessel")
    press(form, "pick", label="manifold.hot manifold")
    assert ["hot vessel", "hot vessel"] in form.widget.view["goals"]
    press(form, "connect", end="hot vessel")
    assert list(loose_ports(loads(form.form.text))) == []
    press(form, "pick", label="accumulator.hot vessel")
    assert "hot manifold" in press(form, "remove")["asks"]
    assert press(form, "leave")["asks"] == ""
    press(form, "remove")
    assert "Undo" in press(form, "remove", sure=True)["told"]
    while form.widget.view["undo"]:
        press(form, "undo")
    assert form.form.text == before


def test_what_is_chosen_stays_so_under_another_name(form: VanForm) -> None:
    press(form, "pick", label="pump.pump")
    assert press(form, "set", key="name", value="lift")["picked"] == "pump.lift"
    assert press(form, "undo")["picked"] == "pump.pump"
    form.follow(form.form.text.replace('"pump"', '"other"'))
    assert form.widget.view["picked"] == "pump.other"


def test_what_goes_wrong_is_told_and_an_example_stays(form: VanForm) -> None:
    text = form.form.text
    assert not press(form, "connect", end="nowhere")["good"]
    assert not press(form, "put", run="run.99", kind="tee")["good"]
    assert form.form.text == text
    form.restart(text, fixed=True)
    assert "stays as it is" in press(form, "add", kind="tank")["told"]


def test_what_is_wrong_leads_to_its_part(form: VanForm) -> None:
    form.follow(form.form.text.replace('fixture = "basin"', 'fixture = "basil"', 1))
    (told,) = form.widget.view["problems"]
    assert told["label"] == "use.children's hands" and 'did you mean "basin"' in told["words"]
    press(form, "pick", label=told["label"])
    assert "names no fixture" in field(form, "fixture")["problem"]
    assert press(form, "set", key="fixture", value="basin")["problems"] == []


def test_a_text_that_can_not_be_read_keeps_the_drawing_and_says_its_line(form: VanForm) -> None:
    drawn = form.widget.view["svg"]
    form.follow(form.form.text.replace("[[pump]]", "[[pump]", 1))
    assert form.widget.view["broken"].startswith("The text can't be read: line ")
    assert form.widget.view["svg"] == drawn
    assert press(form, "undo")["broken"] == ""


# what is missing is offered


def taken(text: str, words: str) -> str:
    """The text after the offer of these words was taken."""
    form = VanForm(text, lambda _: None, lambda _: None)
    number = next(o["number"] for o in form.widget.view["offers"] if words in o["words"])
    assert press(form, "offer", number=number)["good"]
    return form.form.text


def test_what_is_missing_is_offered_and_taking_it_mends() -> None:
    asked = build_text(all_answered({"taps": "sink, shower"}))
    assert offers(sketch(asked)) == ()
    relief = re.sub(r'relief = "150 psi".*\n', "", asked, count=1)
    assert loads(taken(relief, "relief valve")).heater[0].relief is not None
    named = asked.replace('to = "cold manifold"', 'to = "spare manifold"', 1)
    look = sketch(taken(named, "add a manifold called spare manifold"))
    assert look.block("manifold.spare manifold") is not None
    tap = asked + '\n[[fixture]]\nname = "extra tap"\nkind = "cold tap"\n'
    mended = loads(taken(tap, "lead water to it from cold manifold"))
    assert list(loose_ports(mended)) == []
    pump = asked + '\n[[pump]]\nname = "hose pump"\nkind = "foot"\ncurve = "foot pump"\n'
    sucks = loads(taken(pump, "lead water to it from fresh"))  # and not from a manifold
    assert [e.component for e in sucks.run_ends[-1]] == ["fresh", "hose pump"]
    bare = 'format = 1\n[van]\nname = "x"\nunits = "SI"\n'
    for words in ("a tank", "a pump", "a tap"):
        bare = taken(bare, words)
    assert sketch(bare).whole is not None


def test_a_check_valve_a_strainer_and_a_regulator_are_offered_where_they_go() -> None:
    text = build_text(all_answered({"taps": "sink"}))
    for kind, words in (("check_valve", "check valve"), ("strainer", "strainer")):
        form = VanForm(text, lambda _: None, lambda _: None)
        one = next(b for b in form.look.blocks if b.kind == kind)
        form.form.remove(one.label)
        assert len(getattr(loads(taken(form.form.text, words)), kind)) == 1
    shore = WREN + (
        '\n[[tee]]\nname = "meet"\n[[shore_inlet]]\nname = "shore"\n'
        '[[run]]\nfrom = "shore"\nto = "meet"\ntube = "hose 12 mm"\nlength = "1 m"\n'
    )
    assert loads(taken(shore, "regulator")).regulator[0].name == "regulator"


# on the page


@pytest.fixture
def page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> MyVan:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(module, "_drafts", {})
    monkeypatch.setattr(module, "_last", {"van": "wren"})
    return my_van()


def test_eight_answers_on_the_page_make_a_file_that_is_chosen(page: MyVan) -> None:
    page.questions.button.value = True
    page.questions.say(region="EU")
    assert page.questions.answers.tank == pytest.approx(0.1)  # the usual, in the region's units
    page.questions.say(taps="sink, basin", tank="70", people="3")
    assert "70 L" in page.questions._notes["tank"].value  # how a bare number was taken
    assert "3 beds, 3 seats" in page.questions._notes["people"].value
    page.questions.say(tank="70 L", people="3, 4")
    assert page.questions._notes["tank"].value == ""
    assert "<svg" in page.questions._drawing.value
    page.questions.say(taps="toilet")
    assert "feeds none of these" in page.questions._notes["taps"].value
    assert "mend the answers" in page.questions.make()
    page.questions.say(taps="sink, toilet", pump="foot pump")
    assert page.questions.answers.taps == ("sink",)
    page.questions.say(pump="12 V 9 L/min 2.0 bar", heater="gas store", taps="sink, toilet")
    page.questions.name.value = "no/name"
    page.questions.say(people="3, 4")
    assert "Nothing was written" in page.questions.make()
    page.questions.name.value = "my-van"
    assert "my-van.toml is ready" in page.questions.make()
    assert "no/name" not in page.editor.text
    assert page.path == Path("my-van.toml").absolute()
    assert {f.name for f in page.build.fixture} == {"sink", "toilet"}
    assert page.build.crew.people == 3


def test_form_text_and_answers_are_of_one_van(page: MyVan) -> None:
    page.start_new("mine", "wren")
    page.form.heard({"do": "pick", "label": "tank.can"})
    page.form.heard({"do": "set", "key": "height", "value": "50 cm"})
    assert 'height = "50 cm"' in page.editor.text and "not saved" in page._told.value
    assert page.build.tank[0].height == pytest.approx(0.5)
    assert page.pack.build is page.build
    page.editor.text = page.editor.text.replace("50 cm", "45 cm")
    held = {f["key"]: f["text"] for f in page.form.widget.view["fields"]}
    assert held["height"] == "45 cm"
    shown = page.sections.box.children[1].children
    page.form.heard({"do": "pick", "label": "run.1"})
    assert page.sections.box.children[1].children is shown  # nobody loses their place
    page.sections.open("answers")
    page.editor.text = page.editor.text.replace('"45 cm"', '"45"')
    assert "as it last was whole" in page.sections.box.children[1].children[0].children[0].value
    page.form.heard({"do": "undo"})
    assert page.build.tank[0].height == pytest.approx(0.45) and page.editor.problems == []
    page.sum_up()
    assert "Water for" in page._now.value
    assert page.save().endswith("The file is fine.")
    saved = page.editor.text
    page.form.heard({"do": "undo"})  # a step back past what was saved
    assert page.editor.text != saved and "not saved" in page._told.value
    page.form.heard({"do": "redo"})
    assert page.editor.text == saved and "as saved" in page._told.value
    page.vans.choose("example wren")
    assert not page.form.form.can_undo and page.form.fixed


def test_whoever_goes_on_does_not_wait_for_the_line_of_answers(
    page: MyVan, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The first review is held up until the next value is in; only the last one is told."""
    monkeypatch.setattr(module, "PAUSE", 0.0)
    begun, go_on, reviewed = Event(), Event(), []

    def held_up(pack: Pack) -> str:
        begun.set()
        assert go_on.wait(20), "the page waits for the review"
        reviewed.append(pack.build.tank[0].height)
        return f"reviewed at {pack.build.tank[0].height:.2f} m"

    monkeypatch.setattr(module, "_in_short", held_up)
    page.start_new("aside", "wren")

    async def typed() -> None:
        page.form.heard({"do": "pick", "label": "tank.can"})
        page.form.heard({"do": "set", "key": "height", "value": "50 cm"})
        while not begun.is_set():
            await asyncio.sleep(0.01)
        page.form.heard({"do": "set", "key": "height", "value": "45 cm"})
        assert page.build.tank[0].height == pytest.approx(0.45)
        assert "works it out" in page._now.value
        page._show_text()  # as when another file is chosen: it says that it is at work, too
        assert "works it out" in page._now.value
        go_on.set()
        for _ in range(500):
            await asyncio.sleep(0.01)
            if "reviewed" in page._now.value:
                break

    # in a thread of its own: a browser's test may have left a loop running in this one
    with ThreadPoolExecutor(1) as aside:
        aside.submit(asyncio.run, typed()).result()
    assert page._now.value == "reviewed at 0.45 m"
    assert reviewed == [pytest.approx(0.5), pytest.approx(0.45)]
