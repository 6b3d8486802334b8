"""The tables of data/ are whole, say where each value comes from, and can be extended."""

from __future__ import annotations

import csv
import tomllib
from itertools import pairwise
from pathlib import Path

import pytest

from vanplumb.words import tables
from vanplumb.words.glossary import word
from vanplumb.words.sources import STATUSES
from vanplumb.words.tables import Table, data_folder, example_builds, table, table_names

NAMES = table_names()
OWN = ["tubes", "fittings", "valves", "pumps", "fixtures", "fuels", "joints", "compounds",
       "habits", "loads", "threads", "insulations"]  # fmt: skip


def test_the_tables_that_the_kit_speaks_of_are_there() -> None:
    assert set(OWN) <= set(NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_every_value_says_where_it_comes_from(name: str) -> None:
    found = table(name)
    assert found.title and found.note and len(found) > 0
    for row in found.values():
        assert row.basis
        for column, value in row.items():
            source = row.source(column)
            assert source.title and source.status in STATUSES
            assert value is not None or not found.columns[column].required, (row.name, column)


@pytest.mark.parametrize("name", NAMES)
def test_a_value_without_a_source_says_so_when_printed(name: str) -> None:
    for row in table(name).values():
        for column in row:
            source = row.source(column)
            if source.status == "memory":
                assert str(source).endswith("(from memory)")
            if source.status == "practice":
                assert "no source" in source.how_seen


@pytest.mark.parametrize("name", NAMES)
def test_columns_of_the_csv_and_the_toml_are_the_same(name: str) -> None:
    folder = data_folder()
    about = tomllib.loads((folder / f"{name}.toml").read_text(encoding="utf-8"))
    with (folder / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        head, *rows = list(csv.reader(file))
    assert head[0] == "name" and set(head[1:]) == set(about["columns"])
    assert all(len(row) == len(head) for row in rows)
    for column in about["columns"].values():
        assert not column.get("word") or word(column["word"]).name
    assert about["read_by"] in STATUSES and about["source"]


@pytest.mark.parametrize("name", NAMES)
def test_every_basis_covers_some_cell(name: str) -> None:
    found = table(name)
    for basis in found.bases:
        covered = [(r, c) for r in found for c in found.columns if basis.covers(r, c)]
        assert covered, basis
        for pattern in basis.rows:
            assert any(tables.fnmatchcase(r, pattern) for r in found), pattern
        for pattern in basis.columns:
            assert any(tables.fnmatchcase(c, pattern) for c in found.columns), pattern


def test_values_are_in_si() -> None:
    half = table("tubes")["PEX 1/2 in"]
    assert half.number("od") == pytest.approx(0.625 * 0.0254, rel=1e-12)
    assert half["rating_temperatures"][1] == pytest.approx((180 + 459.67) * 5 / 9)
    assert half["hot"] is True and table("tubes")["hose 12 mm"]["hot"] is False
    metric = table("tubes")["PE-X 16x2.0"]
    assert metric["od"] == pytest.approx(0.016) and metric["rings"] is None
    assert metric["rating_pressures"] == pytest.approx((20e5, 10e5, 6e5))
    assert table("joints")["push-fit"]["materials"] == ("PEX", "PE-X", "copper")


def test_a_cell_that_is_empty_is_none_and_number_says_so() -> None:
    with pytest.raises(ValueError, match=r"PE-X 16x2\.0: nothing is said about rings"):
        table("tubes")["PE-X 16x2.0"].number("rings")


def test_an_unknown_table_names_those_there_are() -> None:
    with pytest.raises(KeyError, match=r"no table 'tube'; there are .*tubes"):
        table("tube")


def test_own_rows_lie_over_the_table_and_leave_it_as_it_was() -> None:
    own = {"tubes": {"PEX 1/2 in": {"bore": 0.0121}, "thin": {"like": "PEX 3/8 in", "od": 0.01}}}
    changed = table("tubes", own)
    assert changed["PEX 1/2 in"]["bore"] == 0.0121
    assert changed["PEX 1/2 in"]["wall"] == table("tubes")["PEX 1/2 in"]["wall"]
    assert changed["thin"]["bore"] == table("tubes")["PEX 3/8 in"]["bore"]
    assert "stated in the build file" in changed["thin"].basis
    assert table("tubes")["PEX 1/2 in"]["bore"] == pytest.approx(0.475 * 0.0254)
    assert "thin" not in table("tubes")


def test_an_installed_package_brings_its_own_data(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    package = tmp_path / "vanplumb"
    (package / "words").mkdir(parents=True)
    (package / "_data").mkdir()
    monkeypatch.setattr(tables, "__file__", str(package / "words" / "tables.py"))
    with pytest.raises(FileNotFoundError, match="install the package again"):
        data_folder()
    (package / "_data" / "tubes.csv").write_text("name\n", encoding="utf-8")
    assert data_folder() == package / "_data"


def test_the_wheel_takes_the_data_along(project: Path) -> None:
    about = tomllib.loads((project / "pyproject.toml").read_text(encoding="utf-8"))
    wheel = about["tool"]["hatch"]["build"]["targets"]["wheel"]
    assert wheel["force-include"]["data"] == "vanplumb/_data"


def test_the_examples_are_found() -> None:
    assert {"dipper", "heron", "wren"} <= set(example_builds())


# rows of one table that speak of another


def test_the_usual_joint_of_a_tube_is_made_for_it() -> None:
    for row in table("tubes").values():
        assert row["material"] in table("joints")[row["joint"]]["materials"], row.name


def test_tubes_are_tubes() -> None:
    for row in table("tubes").values():
        assert 0 < row["bore"] < row["od"]
        assert row["bore"] <= row["od"] - 2 * row["wall"] + 1e-9, row.name
        assert len(row["rating_temperatures"]) == len(row["rating_pressures"])
        assert all(a < b for a, b in pairwise(row["rating_temperatures"]))
        assert all(a > b for a, b in pairwise(row["rating_pressures"]))


def test_pump_curves_fall_and_obey_energy() -> None:
    """Water power out stays below 65 % of the power in, more than such pumps reach."""
    for row in table("pumps").values():
        if row["kind"] != "electric":
            assert row["stroke_volume"] > 0 and row["stroke_rate"] > 0
            continue
        flow, pressure, current = (row[f"curve_{k}"] for k in ("flow", "pressure", "current"))
        assert len(flow) == len(pressure) == len(current) >= 3
        assert all(a > b for a, b in pairwise(flow)) and flow[-1] == 0
        assert all(a < b for a, b in pairwise(pressure)) and pressure[0] == 0
        assert all(a < b for a, b in pairwise(current))
        for q, p, i in zip(flow, pressure, current, strict=True):
            assert q * p < 0.65 * row["voltage"] * i
        if row["cut_out"] is not None:
            assert row["cut_in"] < row["cut_out"] < pressure[-1]
            assert row["cut_out"] in pressure


def test_valve_coefficients_rise_as_the_valve_shuts() -> None:
    for row in table("valves").values():
        assert row["openings"][0] == 1 and len(row["openings"]) == len(row["loss_coefficients"])
        assert all(a > b for a, b in pairwise(row["openings"]))
        assert all(a < b for a, b in pairwise(row["loss_coefficients"]))


def test_habits_speak_of_fixtures_and_add_up_to_a_careful_camper() -> None:
    """Common practice, no source: a careful camper uses 2 to 5 US gallons a day."""
    total = 0.0
    for row in table("habits").values():
        fixture = table("fixtures")[row["fixture"]]
        once = row["volume"] or row["duration"] * fixture["flow"]
        total += row["per_person"] * once
    assert 2 <= total / 3.785411784e-3 <= 5


def test_nothing_in_the_tables_is_of_a_maker() -> None:
    marks = ("®", "™", "©")
    for name in NAMES:
        for suffix in ("csv", "toml"):
            text = (data_folder() / f"{name}.{suffix}").read_text(encoding="utf-8")
            assert not any(mark in text for mark in marks), name


def test_typical_values_say_measure_yours() -> None:
    for name in ("tubes", "fittings", "valves", "pumps", "fixtures"):
        found: Table = table(name)
        assert "measure yours" in found.note.lower()


def test_former_names_of_rows_are_found_but_not_listed() -> None:
    """A build file that names a row as it was called before loads, and says its name of now."""
    pumps, fixtures = table("pumps"), table("fixtures")
    assert "12 V 3.0 gpm 45 psi" in pumps and "12 V 3.0 gpm 45 psi" not in list(pumps)
    assert pumps["12 V 3.0 gpm 45 psi"].name == pumps.current("12 V 3.0 gpm 45 psi")
    assert fixtures.current("outside rinse") == "outside shower"
    for name in NAMES:
        known = table(name)
        assert set(known.former.values()) <= set(known)
        assert not set(known.former) & set(known)


def test_own_rows_may_build_on_a_former_name() -> None:
    own = {"fixtures": {"garden shower": {"like": "outside rinse", "flow": 1e-4}}}
    row = table("fixtures", own)["garden shower"]
    assert row["flow"] == 1e-4
    assert row["temperature"] == table("fixtures")["outside shower"]["temperature"]
