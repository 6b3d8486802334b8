"""A new build file explains every key, and every line of it can be used."""

from __future__ import annotations

import re

import pytest

from vanplumb.build import BuildError, load, loads, template
from vanplumb.build.fields import entries
from vanplumb.build.model import LISTS, SECTIONS

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
    unlike = re.compile(
        r"are both given|names no|has no heat|must be hotter than|which is no"
        r"|must be less than cut_out"
    )
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
    from vanplumb.build.values import read_value
    from vanplumb.words.tables import table

    declared = entries({**SECTIONS, **LISTS}[kind])
    for line in re.findall(r"^# (\w+ = .*; default.*|\w+ = \S+  # default.*)$", block[1], re.M):
        import tomllib

        (key, value), *_ = tomllib.loads(line).items()
        _, entry, default = declared[key]
        got = read_value(value, entry, table)
        assert got == (pytest.approx(default, rel=0.02) if isinstance(default, float) else default)


def test_units_must_be_one_of_two() -> None:
    with pytest.raises(ValueError, match='must be "US" or "SI"'):
        template("metric")


def test_a_new_file_is_saved_and_read_back(tmp_path: object) -> None:
    from pathlib import Path

    from vanplumb.build import save

    path = Path(str(tmp_path)) / "new.toml"
    save(template(), path)
    assert load(path).van.name == "my van"
