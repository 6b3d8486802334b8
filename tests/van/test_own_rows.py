"""Rows that a build file adds to the tables are looked at as its components are."""

from __future__ import annotations

import pytest

from vanplumb.van import BuildError, load, loads
from vanplumb.van.file import own_rows
from vanplumb.words.tables import example_builds, table, table_names

GOOD = 'format = 1\n\n[van]\nname = "Wren"\nunits = "SI"\n\n'


def told(rows: str) -> str:
    with pytest.raises(BuildError) as caught:
        loads(GOOD + rows)
    assert all(problem.line > 1 for problem in caught.value.problems)
    return str(caught.value)


TUBE = '[[rows.tubes]]\nname = "mine"\nlike = "PEX 1/2 in"\n'
VALVE = '[[rows.valves]]\nname = "mine"\n'
PUMP = '[[rows.pumps]]\nname = "mine"\nkind = "electric"\n'


@pytest.mark.parametrize(
    "rows, said",
    [
        ('[[rows.fittings]]\nname = "x"\nlike = "coupling"\ntube_ends = 1e9\n',
         "line 10: rows.fittings.x.tube_ends must be 0 to 12, got \"1000000000.0\""),
        ('[[rows.fittings]]\nname = "x"\nlike = "coupling"\nthreads = 1.5\n',
         "must be a whole number"),
        ('[[rows.fittings]]\nname = "x"\nlike = "coupling"\ntube_ends = -1\n', "must be 0 or more"),
        (TUBE + 'material = "PEXX"\n', "names no row of the table give: \"PEXX\""),
        (TUBE + 'joint = "expansoin"\n', "did you mean \"expansion\"?"),
        (TUBE.replace("PEX 1/2 in", "PEX 1/3 in"), "like names no row"),
        (TUBE.replace('"PEX 1/2 in"', "[]"), "like names no row"),
        (TUBE + 'bore = "0 in"\n', "must be above 0"),
        (TUBE + 'bore = "1 in"\n', "must be less than the outside diameter od"),
        (TUBE + 'bore = "90 m"\n', "must be"),
        (TUBE + 'rating_pressures = ["5 bar"]\n', "has 1 values, but rating_temperatures has 3"),
        (TUBE + 'rating_pressures = []\n', "is an empty list"),
        (TUBE + 'rings = 40\n', "must be 0 to 4"),
        (VALVE + "openings = [1.0, 0.5]\nloss_coefficients = [0.1]\n",
         "loss_coefficients has 1 values, but openings has 2"),
        (VALVE + "openings = [0.5, 1.0]\nloss_coefficients = [0.1, 5.0]\n", "must begin with 1"),
        (VALVE + "openings = [1.0, 0.5]\nloss_coefficients = [9.0, 5.0]\n", "not fall as"),
        (PUMP + 'curve_flow = ["9 L/min"]\ncurve_pressure = ["0 bar"]\n', "two points or more"),
        (PUMP + 'curve_flow = ["9 L/min", "9 L/min"]\ncurve_pressure = ["0 bar", "1 bar"]\n',
         "must fall as the pressure rises"),
        (PUMP.replace("electric", "steam"), "must be \"electric\", \"foot\" or \"hand\""),
        (PUMP.replace("electric", "foot"), "stroke_volume is missing"),
        (PUMP + 'curve_flow = ["9 L/min", "0 L/min"]\ncurve_pressure = ["0 bar", "1 bar"]\n'
         'cut_in = "2 bar"\ncut_out = "1 bar"\n', "cut_in must be less than cut_out"),
        ('[[rows.compounds]]\nname = "x"\nlike = "PTFE tape"\nmaterials = ["wood"]\n',
         "must be \"metal\" or \"plastic\""),
        ('[[rows.compounds]]\nname = "x"\nlike = "PTFE tape"\ntemperature_least = "300 °C"\n',
         "must not be more than temperature_greatest"),
        ('[[rows.fitting_parts]]\nname = "x"\nkind = "tee"\nends = ["1/2 in nonsense"]\n'
         'take_offs = ["9 mm"]\ninsertions = ["9 mm"]\nbody = "brass"\nprice_class = 1\n'
         'mass = "9 g"\n', "nonsense"),
        ('[[rows.cures]]\nname = "x"\ncompound = "glue"\ntemperature = "20 °C"\nwait = "1 h"\n',
         "names no row of the table compounds"),
    ],
)  # fmt: skip
def test_a_row_that_makes_no_sense_is_refused_with_its_line(rows: str, said: str) -> None:
    assert said in told(rows)


def test_a_row_may_name_another_row_of_the_file() -> None:
    build = loads(
        GOOD + '[[rows.cures]]\nname = "x"\ncompound = "mine"\ntemperature = "20 °C"\n'
        'wait = "1 h"\n\n[[rows.compounds]]\nname = "mine"\nlike = "anaerobic sealant"\n'
    )
    assert build.rows["cures"]["x"]["wait"] == 3600


@pytest.mark.parametrize("name", table_names())
def test_every_shipped_row_would_be_taken_as_an_own_one(name: str) -> None:
    known = table(name)
    for row in known.values():
        assert list(own_rows._sense(name, known, row)) == []
        for key, column in known.columns.items():
            cells = row[key] if column.many else (row[key],)
            for one in cells or ():
                if isinstance(one, str) and column.table and key != "heaters":
                    assert one in table(column.table), (row.name, key)
                elif isinstance(one, str):
                    own_rows._one_of(one, column, known)
                elif isinstance(one, float):
                    own_rows._figure(one, one, column, known)


@pytest.mark.parametrize("name", [n for n in table_names() if len(table(n))])
def test_every_column_tells_what_it_may_hold(name: str) -> None:
    known = table(name)
    for key, column in known.columns.items():
        assert not column.table or column.table in table_names()
        assert not column.beside or column.beside in known.columns
        assert not (column.known and column.table), key


def test_the_examples_own_rows_are_fine() -> None:
    for path in example_builds().values():
        load(path)
