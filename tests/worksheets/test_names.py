"""The names that a build file may use, in plain words and one system of units."""

from __future__ import annotations

import tomllib

import pytest

from vanplumb.van import loads
from vanplumb.words.quantity import read
from vanplumb.words.tables import table, table_names
from vanplumb.worksheets.page.names import named_in_builds, names_grid, own_row_grid

METRIC = ("mm", "kg", "bar", "°C", "L/min", "MJ")


@pytest.mark.parametrize("name", sorted(named_in_builds()))
@pytest.mark.parametrize("system", ["US", "SI"])
def test_every_table_has_plain_heads_and_one_system(name: str, system: str) -> None:
    heads, cells = names_grid(name, system).shown(system)
    assert [row[0] for row in cells] == list(table(name))
    assert not [h for h in heads if "_" in h or h.endswith(", s") or h.split(",")[0] == "od"]
    if system == "US":
        assert not [h for h in heads if h.rpartition(", ")[2].startswith(METRIC)]


def test_times_are_told_in_their_longest_whole_unit_and_are_right() -> None:
    heads, cells = names_grid("compounds").shown("SI")
    told = {row[0]: row[heads.index("before pressure")] for row in cells}
    assert told["PTFE tape"] == "at once"
    for name, row in table("compounds").items():
        if row["cure"]:
            assert (
                read(told[name].replace("day", "d").replace("ds", "d"), "duration") == row["cure"]
            )
    assert names_grid("joints").rows[0][1] == "30 min"


def test_heat_of_a_fuel_in_btu_for_a_pound() -> None:
    # 1 Btu/lb is 2326 J/kg exactly (international table Btu, from memory)
    heads, cells = names_grid("fuels", "US").shown("US")
    for row, fuel in zip(cells, table("fuels").values(), strict=True):
        shown = float(row[heads.index("heat, lower, Btu/lb")].replace(",", ""))
        assert shown == pytest.approx(fuel["heating_value"] / 2326, abs=0.5)


@pytest.mark.parametrize("name", table_names())
@pytest.mark.parametrize("system", ["US", "SI"])
def test_every_column_is_told_with_an_example_that_a_build_file_takes(
    name: str, system: str
) -> None:
    """A row of one's own that says one of them loads, for each that a shipped row says."""
    grid = own_row_grid(name, system)
    said = {str(key): str(example) for key, example, _ in grid.rows if example != '""'}
    assert {str(key) for key, *_ in grid.rows} == {"name", "like", *table(name).columns}
    row = f"name = {said['name']}\nlike = {said['like']}\n"
    like = table(name)[tomllib.loads(row)["like"]]
    head = 'format = 1\n[van]\nname = "x"\nunits = "SI"\n'
    for key in said.keys() - {"name", "like"}:
        if not table(name).columns[key].beside and like[key] is not None:
            build = loads(f"{head}[[rows.{name}]]\n{row}{key} = {said[key]}\n")
            assert key in build.rows[name]["mine"]
