"""Fields of a form: what they show is what they take, and what hardly can be meant is asked."""

from __future__ import annotations

import re

import pytest

import vanplumb as vp
from vanplumb.answers import Answers
from vanplumb.review.entered import improbable_value
from vanplumb.van import BuildError, loads, template
from vanplumb.van.entries import entries
from vanplumb.van.file.values import read_value
from vanplumb.van.form.blocks import Block, FormError
from vanplumb.van.form.fields import fields, taken, with_unit, wrong_with
from vanplumb.van.form.kit import build_text
from vanplumb.van.form.questions import all_answered
from vanplumb.van.form.sketch import sketch
from vanplumb.van.improbable import PROBABLE, did_you_mean, doubts
from vanplumb.van.model import LISTS, SECTIONS
from vanplumb.words.glossary import word
from vanplumb.words.quantity import read, split
from vanplumb.words.show import unit
from vanplumb.words.tables import table


@pytest.mark.parametrize("name", ["dipper", "heron", "wren"])
def test_what_a_field_shows_is_what_it_takes(name: str) -> None:
    look = sketch(vp.example(name).text)
    seen = 0
    for block in look.blocks:
        declared = entries(SECTIONS.get(block.kind) or LISTS[block.kind])
        for field in fields(look, block):
            if not field.given:
                continue
            seen += 1
            entry = declared[field.key][1]
            held = [block.values[field.key], taken(look, block, field.key, field.text)]
            same = [read_value(one, entry, lambda t: table(t)) for one in held]
            assert same[0] == same[1], (block.label, field)
            assert field.problem == "" and field.doubt == ""
    assert seen > 60


@pytest.mark.parametrize("units", ["US", "SI"])
def test_a_hint_has_the_unit_that_a_bare_number_has(units: str) -> None:
    look = sketch(f'format = 1\n[van]\nname = "v"\nunits = "{units}"\n')
    seen = 0
    for kind, section in {**SECTIONS, **LISTS}.items():
        block = Block(kind, 0, (kind,), kind, {}, 1, 0, 0)
        quantities = {
            key: entry.word
            for key, (_, entry, _) in entries(section).items()
            if entry.kind in ("quantity", "quantities")
        }
        for field in fields(look, block):
            for one in field.usual.removeprefix("such as ").split(", "):
                if field.key in quantities and one:
                    seen += 1
                    mark, shown = split(one)[1], unit(quantities[field.key], units)
                    assert mark.removeprefix("Δ") == shown.removeprefix("Δ"), field
                    bare = read(with_unit(one.removesuffix(mark), quantities[field.key], units),
                                quantities[field.key])  # fmt: skip
                    assert bare == pytest.approx(read(one, quantities[field.key])), field
    assert seen > 100


@pytest.mark.parametrize("said, held", [("9", "9 Δ°F"), ("9 °F", "9 Δ°F"), ("5 °C", "5 K")])
def test_degrees_of_a_difference_are_no_others(said: str, held: str) -> None:
    assert with_unit(said, "rise", "US") == held
    assert read(held, "rise") == pytest.approx(5.0)


def field_of(text: str, label: str, key: str):  # type: ignore[no-untyped-def]
    look = sketch(text)
    block = look.block(label)
    assert block is not None
    return next(f for f in fields(look, block) if f.key == key)


@pytest.mark.parametrize(
    "label, key, said, held",
    [
        ("tank.fresh", "length", "40", "40 in"),
        ("tank.fresh", "length", "2 ft 6 1/2 in", "2 ft 6 1/2 in"),
        ("regulator.regulator", "setting", "45 PSI", "45 psi"),
        ("heater.heater", "burner_power", "9000 btuh", "9000 Btu/h"),
        ("check_valve.pump check", "kv", "Cv 3", None),
        ("heater.heater", "burner_efficiency", "78 %", "78 %"),
        ("heater.heater", "burner_efficiency", "0.8", 0.8),
        ("heater.heater", "bypass_open", "yes", True),
        ("crew", "people", "3", 3),
        ("run.1", "fittings", "2 × elbow 90, entrance", {"elbow 90": 2, "entrance": 1}),
        ("situation.everything open", "open", "sink; shower", ["sink", "shower"]),
        ("tank.fresh", "length", "  ", None),
    ],
)
def test_a_field_takes_what_people_type(label: str, key: str, said: str, held: object) -> None:
    look = sketch(vp.example("dipper").text)
    block = look.block(label)
    assert block is not None
    if said == "Cv 3":
        with pytest.raises(FormError, match="number"):
            taken(look, block, key, said)
        assert read(taken(look, block, key, "3 Cv"), "flow_coefficient") * 3600 == pytest.approx(
            3 * 0.865,
            rel=2e-3,  # Kv = 0.865 Cv
        )
        return
    assert taken(look, block, key, said) == held


@pytest.mark.parametrize(
    "label, key, said, told",
    [
        ("tank.fresh", "length", "40 psi", "length"),
        ("tank.fresh", "length", "long", "can't read a number"),
        ("tank.fresh", "shape", "round", 'must be "box"'),
        ("crew", "people", "two", "whole number"),
        ("run.1", "tube", "PEX", "names no row"),
        ("fixture.sink", "ends", "1/2 in NPT male brass", 'such as "inlet: 1/2'),
    ],
)
def test_what_can_not_be_taken_is_told(label: str, key: str, said: str, told: str) -> None:
    look = sketch(vp.example("dipper").text)
    block = look.block(label)
    assert block is not None
    with pytest.raises(FormError, match=re.escape(told)):
        taken(look, block, key, said)


def test_a_problem_stands_at_its_field_and_at_its_line() -> None:
    text = vp.example("dipper").text.replace('width = "18 in"', 'width = "18"', 1)
    assert "no unit" in field_of(text, "tank.fresh", "width").problem
    missing = text.replace('width = "18"\n', "", 1)
    assert "is missing" in field_of(missing, "tank.fresh", "width").problem
    look = sketch(vp.example("dipper").text.replace('curve = "12 V 3.4 gpm 50 psi"\n', ""))
    block = look.block("pump.pump")
    assert block is not None and "needs its curve" in wrong_with(look, block)


def test_every_field_of_every_kind_has_help() -> None:
    text = template("US")
    for kind in (*LISTS, *SECTIONS):
        head = f"[[{kind}]]" if kind in LISTS else f"[{kind}]"
        look = sketch(text if f"\n{head}\n" in text else f"{text}\n{head}\n")
        block = next(b for b in look.blocks if b.kind == kind)
        for field in fields(look, block):
            assert field.label and field.about, (kind, field.key)


# values that may be meant, but hardly are


def test_no_example_and_no_kit_is_improbable() -> None:
    texts = [vp.example(name).text for name in ("dipper", "heron", "wren")]
    for region in ("US", "EU"):
        for heater in ("gas store", "engine store", "gas flow-through", "none"):
            texts.append(build_text(all_answered({"region": region, "heater": heater})))
    for text in texts:
        assert doubts(loads(text)) == ()


@pytest.mark.parametrize(
    "kind, key, name, text, instead",
    [
        ("tank", "length", "length", "3 mm", "300 mm"),
        ("tank", "length", "length", "40 m", "40 in"),
        ("shore_inlet", "pressure", "pressure", "1755 psi", "175.5 psi"),
        ("heater", "setpoint", "temperature", "140 °C", "140 °F"),
        ("tank", "volume", "volume", "16 mL", "16 gal"),
        ("run", "length", "length", "900 m", "900 mm"),
    ],
)
def test_an_improbable_value_is_asked_about(
    kind: str, key: str, name: str, text: str, instead: str
) -> None:
    system = "US" if "psi" in text or "gal" in instead else "SI"
    found = did_you_mean(kind, key, name, read(text, name), text, system)
    assert found is not None and instead in found.instead and "did you mean" in found.told
    low, high = found.low, found.high
    assert all(low <= read(one, name) <= high for one in found.instead)


def test_what_is_meant_to_be_nothing_is_not_asked_about() -> None:
    assert did_you_mean("run", "insulation", "thickness", 0.0, "0 mm", "SI") is None


def test_bounds_are_of_words_and_keys_that_there_are() -> None:
    declared = {**SECTIONS, **LISTS}
    for path, (low, high) in PROBABLE.items():
        kind, _, key = path.partition(".")
        assert low < high
        if key:
            assert entries(declared[kind])[key][1].kind == "quantity", path
        else:
            word(kind)


def test_the_review_asks_and_the_file_is_read() -> None:
    text = vp.example("wren").text.replace('length = "300 mm"', 'length = "3 mm"', 1)
    build = loads(text)
    (found,) = improbable_value(Answers(build))
    assert found.severity == "NOTICE" and found.where == "tank.can"
    assert "did you mean 300 mm" in found.what
    assert field_of(text, "tank.can", "length").instead[0] == "300 mm"


# keys under a heading that is a remark


@pytest.mark.parametrize(
    "key, heading",
    [
        ("precharge", "[[accumulator]]"),  # no key of the part above
        ("name", "[[accumulator]]"),  # stands in the part above already
        ("capacity", "[battery]"),
    ],
)
def test_a_key_under_a_remark_says_that_its_section_is_one(key: str, heading: str) -> None:
    lines = template("US").splitlines()
    at = lines.index(f"# {heading}")
    number = next(i for i, line in enumerate(lines) if i > at and line.startswith(f"# {key} ="))
    lines[number] = lines[number].removeprefix("# ")
    with pytest.raises(BuildError) as caught:
        loads("\n".join(lines))
    (problem,) = caught.value.problems
    assert problem.line == number + 1
    told = f"{key} stands below line {at + 1}, # {heading}, whose section is still a remark"
    assert told in problem.message
    lines[at] = lines[at].removeprefix("# ")  # now it is a section, which may lack other keys
    try:
        loads("\n".join(lines))
    except BuildError as error:
        assert "remark" not in str(error)


def test_a_remark_that_names_a_heading_in_a_sentence_is_none() -> None:
    text = vp.example("wren").text.replace("[crew]\n", "[crew]\n# see [[tank]] below\n")
    assert loads(text).crew.people == 2


def test_the_hint_of_an_end_is_one_that_the_field_takes() -> None:
    look = sketch(vp.example("dipper").text)
    hints = {
        block.kind: (block, field.usual.removeprefix("such as "))
        for block in look.blocks
        for field in fields(look, block)
        if field.key == "ends" and field.usual
    }
    assert hints["tank"][1] == "fill: 1/2 in NPT male"
    for block, hint in hints.values():
        port, end = hint.split(": ")
        assert taken(look, block, "ends", hint) == {port: end}
