"""A new build file explains every key, and every line of it can be used."""

from __future__ import annotations

import re

import pytest

from vanplumb.van import BuildError, load, loads, template
from vanplumb.van.entries import entries
from vanplumb.van.model import LISTS, SECTIONS

UNITS = ["US", "SI"]


@pytest.mark.parametrize("units", UNITS)
def test_a_new_file_loads_as_it_stands(units: str) -> None:
    build = loads(template(units))
    assert build.van.units == units
    assert [str(p) for p in build.run_ends[1]] == ["pump.outlet", "galley.inlet"]


@pytest.mark.parametrize("units", UNITS)
@pytest.mark.parametrize("kind", [*SECTIONS, *LISTS])
def test_every_key_of_every_table_is_in_it(units: str, kind: str) -> None:
    text = template(units)
    head = f"[{kind}]" if kind in SECTIONS else f"[[{kind}]]"
    block = re.search(rf"^(?:# )?{re.escape(head)}\n((?:.+\n)+)", text, re.MULTILINE)
    assert block is not None
    said = re.findall(r"^(?:# )?(\w+) = ", block[1], re.MULTILINE)
    assert said == list(entries({**SECTIONS, **LISTS}[kind]))


@pytest.mark.parametrize("units", UNITS)
def test_every_remark_that_is_a_line_of_the_file_would_be_read(units: str) -> None:
    """With all marks taken away no value has the wrong form; only names lead nowhere."""
    text = re.sub(r"^# (\w+ = |\[)", r"\1", template(units), flags=re.MULTILINE)
    with pytest.raises(BuildError) as caught:
        loads(text)
    unlike = re.compile(r"are both given|names no|has no heat|must be hotter than|which is no")
    rest = [str(p) for p in caught.value.problems if not unlike.search(p.message)]
    assert rest == []


@pytest.mark.parametrize("kind", [*SECTIONS, *LISTS])
def test_every_key_says_what_it_is(kind: str) -> None:
    for key, (_, entry, _) in entries({**SECTIONS, **LISTS}[kind]).items():
        assert len(entry.about) > 3, key


@pytest.mark.parametrize("units", UNITS)
@pytest.mark.parametrize("kind", [*SECTIONS, *LISTS])
def test_a_default_that_is_written_out_changes_nothing(units: str, kind: str) -> None:
    """Each line marked "default" says the default, up to the digits that are shown."""
    text = template(units)
    head = f"[{kind}]" if kind in SECTIONS else f"[[{kind}]]"
    block = re.search(rf"^(?:# )?{re.escape(head)}\n((?:.+\n)+)", text, re.MULTILINE)
    assert block is not None
    from vanplumb.van.file.values import read_value
    from vanplumb.words.tables import table

    declared = entries({**SECTIONS, **LISTS}[kind])
    for line in re.findall(r"^# (\w+ = .*; default.*|\w+ = \S+  # default.*)$", block[1], re.M):
        import tomllib

        (key, value), *_ = tomllib.loads(line).items()
        _, entry, default = declared[key]
        got = read_value(value, entry, table)
        assert got == (pytest.approx(default, rel=0.02) if isinstance(default, float) else default)


METRIC = {"mm", "cm", "m", "L", "mL", "g", "kg", "bar", "Pa", "kPa", "°C", "L/min", "m³/h", "m/s"}
AMERICAN = {"in", "ft", "gal", "fl oz", "lb", "psi", "°F", "Δ°F", "gpm", "ft/s", "Btu/h"}
EITHER = {"A", "Ah", "V", "W", "s", "min", "h", "1/min"}
METRIC_RISE = {"K"}


def quantities(text: str) -> list[tuple[str, str]]:
    """Key and value of each line that holds quantities, in a remark or not."""
    import tomllib

    declared = {k: entries(v) for k, v in {**SECTIONS, **LISTS}.items()}
    found, kind = [], ""
    for line in text.splitlines():
        if head := re.match(r"(?:# )?\[+([\w.]+)\]+", line):
            kind = head[1]
        said = re.match(r"(?:# )?(\w+ = .*)", line)
        if kind not in declared or said is None:
            continue
        ((key, value),) = tomllib.loads(said[1]).items()
        if declared[kind][key][1].kind in ("quantity", "quantities"):
            found += [(f"{kind}.{key}", v) for v in (value if isinstance(value, list) else [value])]
    return found


@pytest.mark.parametrize(
    "units, fit", [("US", AMERICAN | EITHER), ("SI", METRIC | METRIC_RISE | EITHER)]
)
def test_every_value_is_in_the_units_of_the_file(units: str, fit: set[str]) -> None:
    from vanplumb.words.quantity import split, unit_of

    text = template(units)
    found = quantities(text)
    assert len(found) > 90
    odd = [f"{key} = {value}" for key, value in found if unit_of(split(value)[1]).name not in fit
           and split(value)[1] not in fit]  # fmt: skip
    assert odd == []
    others = AMERICAN if units == "SI" else METRIC
    strange = "|".join(re.escape(u) for u in others)
    remarks = [line.partition("  # ")[2] for line in text.splitlines()]
    # a title of a book is quoted as it is
    told = [r for r in remarks if re.search(rf"\d ({strange})(\W|$)", r) and "Handbook" not in r]
    assert told == []


@pytest.mark.parametrize("units", UNITS)
def test_every_value_has_no_more_figures_than_a_builder_would_write(units: str) -> None:
    from vanplumb.words.quantity import split

    for key, text in quantities(template(units)):
        number = f"{split(text)[0]:.10g}".replace(".", "").lstrip("0")
        assert "/" in text or len(number.rstrip("0")) <= 3, f"{key} = {text}"


def test_both_files_show_values_of_about_the_same_size() -> None:
    """What is written for one reader is written for the other, within a quarter or 3 K."""
    from vanplumb.words.quantity import split, unit_of

    american, metric = quantities(template("US")), quantities(template("SI"))
    own = {"pump.curve_flow", "pump.curve_pressure", "pump.curve_current"}  # a pump of each kind
    own |= {"pump.cut_in", "pump.cut_out", "accumulator.precharge"}
    own |= {"heater.element_voltage", "heater.relief", "heater.pressure_rating"}  # as sold there
    for (key, one), (same, two) in zip(
        [a for a in american if a[0] not in own],
        [m for m in metric if m[0] not in own],
        strict=True,
    ):
        assert key == same
        sizes = [split(t)[0] * unit_of(split(t)[1]).factor + unit_of(split(t)[1]).offset
                 for t in (one, two)]  # fmt: skip
        apart = {"abs": 3.0} if "°" in one else {"rel": 0.25}
        assert sizes[0] == pytest.approx(sizes[1], **apart), f"{key}: {one}, {two}"


@pytest.mark.parametrize("units", UNITS)
def test_a_stroke_of_a_pump_is_what_a_foot_can_give(units: str) -> None:
    """About a cup, as the table of pumps has it for a foot pump."""
    from vanplumb.words.quantity import read
    from vanplumb.words.tables import table

    stroke = dict(quantities(template(units)))["pump.stroke_volume"]
    usual = table("pumps")["foot pump"]["stroke_volume"]
    assert read(stroke, "volume") == pytest.approx(usual, rel=0.1)


def test_the_american_flow_coefficient_is_that_of_the_metric_file() -> None:
    """Kv in m³/h times 1.156 is Cv in gpm at 1 psi (IEC 60534-1, from memory)."""
    from vanplumb.words.quantity import read

    american, metric = dict(quantities(template("US"))), dict(quantities(template("SI")))
    for key in ("strainer.kv", "check_valve.kv", "regulator.kv", "heater.kv"):
        gpm = float(american[key].removesuffix(" gpm"))
        cubic = float(metric[key].removesuffix(" m³/h"))
        assert gpm / 3.8 == pytest.approx(cubic * 1.156, rel=0.02)
        assert read(american[key], "flow_coefficient") == pytest.approx(cubic / 3600, rel=0.02)


def test_units_must_be_one_of_two() -> None:
    with pytest.raises(ValueError, match='must be "US" or "SI"'):
        template("metric")


def test_a_new_file_is_saved_and_read_back(tmp_path: object) -> None:
    from pathlib import Path

    from vanplumb.van import save

    path = Path(str(tmp_path)) / "new.toml"
    save(template(), path)
    assert load(path).van.name == "my van"
