"""A build file is read whole, or refused with every problem and its line."""

from __future__ import annotations

import os
import stat
from pathlib import Path
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tests.cases import cases
from vanplumb.van import Build, BuildError, load, loads
from vanplumb.van.file.read import LARGEST
from vanplumb.words.tables import example_builds

EXAMPLES = example_builds()

GOOD = """\
format = 1
[van]
name = "test"
units = "SI"
[[tank]]
name = "fresh"
shape = "box"
length = "1 1/2 in"
width = "400 mm"
height = "0.3 m"
[[pump]]
name = "pump"
kind = "electric"
curve = "12 V 2.8 gpm 40 psi"
[[fixture]]
name = "tap"
kind = "cold tap"
[[run]]
from = "fresh"
to = "pump"
tube = "PEX 1/2 in"
length = "3 ft"
fittings = { "elbow 90" = 2, "entrance" = 1 }
[[run]]
from = "pump"
to = "tap"
tube = "PEX 1/2 in"
length = "2 m"
rise = "-0.5 m"
"""


def problems(text: str) -> list[tuple[int, str]]:
    with pytest.raises(BuildError) as caught:
        loads(text)
    return [(p.line, f"{p.path} {p.message}") for p in caught.value.problems]


def only(text: str) -> str:
    found = problems(text)
    assert len(found) == 1, found
    return f"line {found[0][0]}: {found[0][1]}"


def line_of(fragment: str, text: str = GOOD) -> int:
    return text[: text.index(fragment)].count("\n") + 1


def test_values_are_held_in_si() -> None:
    build = loads(GOOD)
    assert build.tank[0].length == pytest.approx(0.0381, rel=1e-12)
    assert build.tank[0].width == pytest.approx(0.4, rel=1e-12)
    assert build.run[0].length == pytest.approx(0.9144, rel=1e-12)
    assert build.run[1].rise == pytest.approx(-0.5, rel=1e-12)
    assert build.run[0].fittings == (("elbow 90", 2), ("entrance", 1))
    assert build.tank[0].holds == "fresh"


def test_what_the_file_states_is_told_from_defaults() -> None:
    build = loads(GOOD)
    assert build.given["tank.fresh.length"] == "1 1/2 in"
    assert build.given["run.2.rise"] == "-0.5 m"
    assert "run.1.rise" not in build.given
    assert build.given["run.1.fittings"] == "2 × elbow 90, 1 × entrance"
    assert build.stated(build.run[1], "rise") and not build.stated(build.run[0], "rise")
    assert build.label(build.van) == "van"


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_example_loads(name: str) -> None:
    build = load(EXAMPLES[name])
    assert build.van.name.lower() == name
    assert build.path == EXAMPLES[name]
    assert build.text == EXAMPLES[name].read_text(encoding="utf-8")
    assert len(build.run_ends) == len(build.run) >= 2


@pytest.mark.parametrize("name", EXAMPLES)
def test_what_is_given_is_found_by_the_label_of_its_part(name: str) -> None:
    from vanplumb.van.entries import entries
    from vanplumb.van.model import LISTS, SECTIONS

    build = load(EXAMPLES[name])
    parts = [getattr(build, key) for key in SECTIONS]
    parts += [part for key in LISTS for part in getattr(build, key)]
    found = set()
    for part in parts:
        for key, (field, entry, default) in entries(type(part)).items() if part else ():
            path = f"{build.label(part)}.{key}"
            if path in build.given:
                found.add(path)
            else:
                assert getattr(part, field) == default and not entry.required, path
    assert found == {path for path in build.given if not path.startswith("rows.")}


def test_the_examples_differ_as_vans_do() -> None:
    dipper, heron, wren = (load(EXAMPLES[n]) for n in ("dipper", "heron", "wren"))
    assert dipper.van.units == "US" and len(dipper.manifold) == 2 and len(dipper.tee) == 4
    assert dipper.heater[0].kind == "storage" and dipper.mixing_valve[0].kind == "thermostatic"
    assert heron.van.units == "SI" and not heron.manifold and len(heron.tee) > 5
    assert heron.heater[0].kind == "flow-through" and {v.kind for v in heron.mixing_valve} == {
        "fixed",
        "thermostatic",
    }
    assert wren.pump[0].kind == "foot" and not wren.heater and len(wren.fixture) == 1


# one value at a time

WRONG: dict[str, tuple[str, str, str]] = {
    "mass for a length": (
        'length = "3 ft"', 'length = "60 kg"',
        'line 22: run.1.length needs a length such as .*, got "60 kg", a mass',
    ),
    "bare number": (
        'width = "400 mm"', "width = 60",
        "line 9: tank.fresh.width needs a length such as .*, got the bare number 60",
    ),
    "decimal comma": (
        'width = "400 mm"', 'width = "12,7 mm"',
        'line 9: tank.fresh.width .*write decimals with a point, "12.7 mm"',
    ),
    "volume for a length": ('width = "400 mm"', 'width = "-5 L"', r"line 9: .*-5 L.*a volume"),
    "negative length": ('width = "400 mm"', 'width = "-5 mm"', r"line 9: .*must be above 0"),
    "nan": ('width = "400 mm"', 'width = "nan L"', 'line 9: .*"nan L" is not a number'),
    "infinite": ('width = "400 mm"', "width = inf", "line 9: .*"),
    "huge fraction": (
        'width = "400 mm"', f'width = "{"9" * 5000}/2 in"', "line 9: .*too large",
    ),
    "huge number": ('width = "400 mm"', f"width = {'9' * 4000}", "line 9: .*too large"),
    "unit unknown": ('width = "400 mm"', 'width = "4 cubits"', 'line 9: .*"cubits"'),
    "no unit": ('width = "400 mm"', 'width = "4"', 'line 9: .*got "4" with no unit'),
    "list for a text": ('width = "400 mm"', 'width = ["4 m"]', "line 9: .*a list"),
    "too large for a van": ('width = "400 mm"', 'width = "400 m"', "line 9: .*too large for a van"),
    "unknown key": (
        'width = "400 mm"', 'width = "400 mm"\nvolum = "60 L"',
        'line 10: tank.fresh.volum is not a key of this table; did you mean "volume"',
    ),
    "unknown table": ("[[pump]]", "[[pupm]]", 'line 11: pupm .*did you mean "pump"'),
    "single table for many": ("[[pump]]", "[pump]", r"line 11: pump .*write \[\[pump\]\]"),
    "many tables for one": ("[van]", "[[van]]", r"line 2: van .*write \[van\]"),
    "choice": ('kind = "electric"', 'kind = "electrc"', 'line 13: .*did you mean "electric"'),
    "row": (
        'tube = "PEX 1/2 in"\nlength = "3 ft"', 'tube = "PEX 1/2in"\nlength = "3 ft"',
        'line 21: run.1.tube names no row of the table tubes.*did you mean "PEX 1/2 in"',
    ),
    "fitting": (
        '"elbow 90" = 2', '"elbow 9" = 2', 'line 23: .*"elbow 9".*did you mean "elbow 90"',
    ),
    "count of fittings": ('"elbow 90" = 2', '"elbow 90" = "2"', "line 23: .*whole number"),
    "count too large": ('"elbow 90" = 2', '"elbow 90" = 1000000', "line 23: .*0 to 1000"),
    "missing key": ('units = "SI"\n', "", "line 2: van.units is missing"),
    "missing shape value": ('height = "0.3 m"\n', "", "line 5: tank.fresh.height is missing.*box"),
    "run from nowhere": (
        'from = "fresh"', 'from = "frsh"',
        'line 19: run.1.from names "frsh".*did you mean "fresh"',
    ),
    "run to nowhere": ('to = "tap"', 'to = "shower"', 'line 26: run.2.to names "shower"'),
    "run to no port": ('to = "tap"', 'to = "tap.warm"', 'line 26: .*no port of "tap".*"hot"'),
    "run into an outlet": ('to = "pump"', 'to = "pump.outlet"', "line 20: .*which is an outlet"),
    "run from a fixture": ('from = "pump"', 'from = "tap"', "line 25: .*no run may leave a fix"),
    "rise beyond length": ('rise = "-0.5 m"', 'rise = "-5 m"', "line 29: run.2.rise .*length"),
    "two of one name": ('name = "tap"', 'name = "pump"', 'name is used twice: "pump"'),
    "name with a point": ('name = "tap"', 'name = "t.ap"', "line 16: .*must not have a point"),
    "empty name": ('name = "tap"', 'name = " "', "line 16: .*needs a name"),
    "empty text": ('name = "test"\n', 'name = ""\n', "line 3: van.name needs some text"),
    "no curve": ('curve = "12 V 2.8 gpm 40 psi"\n', "", "line 11: pump.pump needs its curve"),
    "format missing": ("format = 1\n", "", "line 1: format is missing.*format = 1"),
    "format newer": ("format = 1\n", "format = 2\n", "line 1: format is newer.*newer version"),
    "format a text": ("format = 1\n", 'format = "1"\n', "line 1: format must be a whole number"),
    "format zero": ("format = 1\n", "format = 0\n", "line 1: format must be a whole number"),
    "text without quotes": (
        'units = "SI"', "units = SI", 'line 4: .*text stands in quotes: write units = "SI"',
    ),
    "quotes forgotten": (
        'height = "0.3 m"', "height = 0.3 m", 'line 10: .*stands in quotes: write height = "0.3 m"',
    ),
    "typographer's quotes": ('units = "SI"', "units = “SI”", "line 4: .*straight quotes"),
    "a key twice": (
        'units = "SI"', 'units = "SI"\nunits = "SI"', "line 5: .*units stands on line 4 already",
    ),
    "control mark": ('name = "test"', 'name = "te\\u0000st"', "line 3: .*control mark"),
}  # fmt: skip


@pytest.mark.parametrize("old, new, message", WRONG.values(), ids=WRONG)
def test_one_wrong_value_is_one_clear_message_with_its_line(
    old: str, new: str, message: str
) -> None:
    import re

    assert old in GOOD
    found = problems(GOOD.replace(old, new, 1))
    said = [f"line {line}: {text}" for line, text in found]
    assert any(re.search(message, one) for one in said), said
    assert "Traceback" not in "".join(said)


def test_a_single_slip_gives_a_single_problem() -> None:
    for key in ("mass for a length", "unknown key", "row", "choice", "run from nowhere"):
        old, new, _ = WRONG[key]
        only(GOOD.replace(old, new, 1))


def test_all_problems_of_a_file_come_at_once() -> None:
    text = GOOD
    for key in ("bare number", "unit unknown", "row", "run to nowhere"):
        old, new, _ = WRONG[key]
        text = text.replace(old, new, 1)
    text = text.replace('height = "0.3 m"', 'height = "12,7 mm"\nvolum = "nan L"')
    text = text.replace('name = "pump"', 'name = "fresh"', 1)
    with pytest.raises(BuildError) as caught:
        loads(text)
    lines = [p.line for p in caught.value.problems]
    assert lines == sorted(lines)
    said = str(caught.value)
    for part in ("bare number 60", "12.7 mm", '"volume"', "PEX 1/2in", "used twice", '"shower"'):
        assert part in said, said
    assert f"{len(lines)} problems" in said
    assert all(line > 0 for line in lines)


def test_a_name_is_used_once_across_all_kinds() -> None:
    text = GOOD.replace('name = "tap"', 'name = "fresh"').replace('to = "tap"', 'to = "fresh"')
    assert 'line 16: fixture.fresh.name is used twice: "fresh"' in str(only(text))


def test_many_problems_are_counted_and_not_all_shown() -> None:
    text = GOOD + "".join(f"x{i} = 1\n" for i in range(100))
    with pytest.raises(BuildError, match="100 problems") as caught:
        loads(text)
    assert "and 60 more" in str(caught.value) and len(caught.value.problems) == 100


def test_a_file_of_nothing_but_problems_is_given_up_in_time() -> None:
    text = GOOD + "".join(f"x{i} = 1\n" for i in range(20_000))
    with pytest.raises(BuildError, match="1001 problems") as caught:
        loads(text)
    assert "not looked at" in str(caught.value.problems[-1])


def test_rows_of_the_file_extend_a_table() -> None:
    text = GOOD.replace('tube = "PEX 1/2 in"', 'tube = "mine"')
    own = '\n[[rows.tubes]]\nname = "mine"\nlike = "PEX 1/2 in"\nbore = "0.480 in"\n'
    build = loads(text + own)
    from vanplumb.words.tables import table

    row = table("tubes", build.rows)["mine"]
    assert row["bore"] == pytest.approx(0.480 * 0.0254, rel=1e-12)
    assert row["od"] == table("tubes")["PEX 1/2 in"]["od"]
    assert row.source("bore").title == "stated in the build file"
    assert "ASTM F876" in str(row.source("od"))
    assert "mine" not in table("tubes")


@pytest.mark.parametrize(
    "row, message",
    [
        ('name = "mine"\nlike = "PEX 1/2 inch"', 'names no row.*did you mean "PEX 1/2 in"'),
        ('name = "mine"\nod = "1 in"', "bore is missing"),
        ('name = "mine"\nlike = "PEX 1/2 in"\nbor = "1 in"', 'no column.*did you mean "bore"'),
        ('name = "mine"\nlike = "PEX 1/2 in"\nbore = "1 kg"', "a mass"),
        ('name = "mine"\nlike = "PEX 1/2 in"\nbore = 3', "bare number"),
        ('name = "mine"\nlike = "PEX 1/2 in"\nhot = "yes"', "true or false"),
        ('like = "PEX 1/2 in"', "needs a name"),
    ],
)
def test_wrong_rows_are_told_with_their_line(row: str, message: str) -> None:
    text = f"{GOOD}[[rows.tubes]]\n{row}\n"
    start = text.count("\n", 0, text.index("[[rows"))
    with pytest.raises(BuildError, match=message) as caught:
        loads(text)
    assert all(p.line > start for p in caught.value.problems)


def test_rows_of_a_table_that_does_not_exist() -> None:
    with pytest.raises(BuildError, match=r'rows\.tube is no data table; did you mean "tubes"'):
        loads(GOOD + '[[rows.tube]]\nname = "x"\n')


HOSTILE = ["<script>alert(1)</script>", "#let x = 1 $a^2$", r"\\input{x} $\\frac{1}{2}$", "a\\nb",
           "x" * 10_000, "tänk 水 🚰", "' \\\" `", "%s {0} {x}"]  # fmt: skip


@pytest.mark.parametrize("name", HOSTILE, ids=range(len(HOSTILE)))
def test_odd_names_are_only_names(name: str) -> None:
    text = GOOD.replace('"tap"', f'"{name}"').replace('"test"', f'"{name}"')
    build = loads(text)
    said = build.fixture[0].name
    assert said == build.van.name
    assert said == name.replace("\\n", "\n").replace('\\"', '"').replace("\\\\", "\\")
    assert build.run_ends[1][1].component == said


# files


def test_a_missing_file(tmp_path: Path) -> None:
    with pytest.raises(BuildError, match="there is no such file"):
        load(tmp_path / "none.toml")


def test_a_folder(tmp_path: Path) -> None:
    with pytest.raises(BuildError, match="is a folder"):
        load(tmp_path)


@pytest.mark.parametrize("content", [b"", b"  \n\n", b"\xef\xbb\xbf"])
def test_an_empty_file(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "x.toml"
    path.write_bytes(content)
    with pytest.raises(BuildError, match="is empty"):
        load(path)


def test_a_binary_file(tmp_path: Path) -> None:
    path = tmp_path / "x.toml"
    path.write_bytes(bytes(range(256)) * 9)
    with pytest.raises(BuildError, match="is not a text file"):
        load(path)


def test_text_that_is_not_utf8_names_the_line(tmp_path: Path) -> None:
    path = tmp_path / "x.toml"
    path.write_bytes(GOOD.replace("test", "Käuzchen").encode("latin-1"))
    with pytest.raises(BuildError, match=r"line 3: is not UTF-8 text \(byte 0xe4\)"):
        load(path)


def test_a_50_MB_file_is_refused_unread(tmp_path: Path) -> None:
    path = tmp_path / "x.toml"
    with path.open("wb") as file:
        file.truncate(50_000_000)
    with pytest.raises(BuildError, match="too large for a build file: 50 MB, at most 1 MB"):
        load(path)


def test_a_long_text_is_refused() -> None:
    with pytest.raises(BuildError, match="too large for a build file"):
        loads("#" * (LARGEST + 1))


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="no such device here")
def test_a_device_is_refused() -> None:
    with pytest.raises(BuildError, match="is not a plain file"):
        load("/dev/zero")


def test_a_file_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "x.toml"
    path.write_text(GOOD, encoding="utf-8")
    path.chmod(0)
    if os.access(path, os.R_OK):  # a superuser may read all: let the system say no
        monkeypatch.setattr("builtins.open", _denied)
    with pytest.raises(BuildError, match="permission denied"):
        load(path)
    path.chmod(stat.S_IRUSR | stat.S_IWUSR)


def _denied(*_: Any, **__: Any) -> Any:
    raise PermissionError(13, "Permission denied")


def test_a_path_with_a_zero_in_it() -> None:
    with pytest.raises(BuildError, match="can't be read"):
        load("a\0b")


def test_windows_line_ends_and_a_byte_order_mark_are_read(tmp_path: Path) -> None:
    path = tmp_path / "x.toml"
    path.write_bytes(b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode())
    assert load(path).tank[0].width == pytest.approx(0.4)


@pytest.mark.parametrize(
    "text, message",
    [
        ("a = " + "[" * 20_000, "nested too deeply"),
        ("a." * 30 + "b = 1", "format is missing"),
        ("format = 1\n" + "a." * 300_000 + "b = 1", "line 2: is nested too deeply"),
        ("format = 1\nx = " + "9" * 5000, "far too many digits"),
        ("\ud800", "marks that are no text"),
        ("format = 1\nd = 2020-13-45", "line 2: a date or a time stands in quotes"),
    ],
    ids=["deep", "dotted", "very dotted", "long number", "surrogate", "bad date"],
)
def test_texts_made_to_break_a_reader(text: str, message: str) -> None:
    with pytest.raises(BuildError, match=message):
        loads(text)


# random texts

PIECES = [line + "\n" for line in GOOD.splitlines()] + [
    "[", "]", "=", '"', "'", "\n", "#", "{", "}", ",", ".", "a", "1", "-", "é", "\\", "\t", "tank",
    '"1 m"', "[[run]]\n", "[[zone]]\n", "[[rows.tubes]]\n", "true", "inf", "nan", "1e999", '"""',
    "0x10", "1979-05-27", "[heater]\n", 'name = "x"\n', "open = [", "from", "to", '"2 L"', "-1",
]  # fmt: skip

SCALARS: st.SearchStrategy[Any] = (
    st.integers(-(10**20), 10**20) | st.floats() | st.booleans() | st.text(max_size=6)
    | st.sampled_from(["1 m", "fresh", "pump", "box", "-1 L", "1/0 in", "9" * 400 + " m", "0 m"])
)  # fmt: skip


@settings(max_examples=cases(66), deadline=None)
@given(st.lists(st.sampled_from(PIECES), max_size=30).map("".join))
@example(GOOD.replace('"fresh"', "true"))
def test_shuffled_lines_never_raise_anything_but_a_build_error(text: str) -> None:
    try:
        assert isinstance(loads("format = 1\n" + text), Build)
    except BuildError as error:
        assert error.problems and str(error)


@settings(max_examples=cases(33), deadline=None)
@given(st.text(max_size=200))
def test_any_text_is_read_or_refused(text: str) -> None:
    try:
        loads(text)
    except BuildError as error:
        assert error.problems and str(error)


KINDS = ["van", "crew", "tank", "pump", "heater", "mixing_valve", "fixture", "run", "use",
         "zone", "manifold", "accumulator", "stock", "shop", "rows"]  # fmt: skip


@settings(max_examples=cases(66), deadline=None)
@given(st.data())
def test_any_value_under_any_key_is_read_or_refused(data: st.DataObject) -> None:
    import tomlkit

    from vanplumb.van.entries import entries
    from vanplumb.van.model import LISTS, SECTIONS

    document: dict[str, Any] = {"format": 1}
    inner = st.recursive(
        SCALARS,
        lambda s: st.lists(s, max_size=3) | st.dictionaries(st.text(max_size=4), s, max_size=3),
        max_leaves=5,
    )
    for kind in data.draw(st.lists(st.sampled_from(KINDS), max_size=4, unique=True)):
        declared = SECTIONS.get(kind) or LISTS.get(kind)
        keys = st.sampled_from(sorted(entries(declared))) if declared else st.text(max_size=5)
        part = st.dictionaries(keys, inner, max_size=6)
        document[kind] = data.draw(st.lists(part, max_size=3) if kind in LISTS else part)
    text = tomlkit.dumps(document)
    try:
        loads(text)
    except BuildError as error:
        assert error.problems and str(error)


@pytest.mark.parametrize("key", ["day_start", "day_end"])
def test_an_empty_clock_time_is_refused_with_its_line(key: str) -> None:
    text = GOOD + f'[shop]\n{key} = ""\n'
    with pytest.raises(BuildError, match=rf"shop.{key} needs a clock time") as caught:
        loads(text)
    assert caught.value.problems[0].line == text.count("\n")


@pytest.mark.parametrize("year", ["9999", "0001"])
def test_a_start_in_a_far_year_is_refused_with_its_line(year: str) -> None:
    text = GOOD + f'[shop]\nstart = "{year}-12-30 08:00"\n'
    with pytest.raises(BuildError, match=r"shop.start must be in the years 1970 to 2199"):
        loads(text)
