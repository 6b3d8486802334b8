"""The table of loss coefficients holds what the script beside it computes."""

from __future__ import annotations

import runpy
from pathlib import Path

import pytest

from vanplumb.words.tables import table

MADE = runpy.run_path(str(Path(__file__).parents[1] / "make_fittings.py"))
COMPUTED = MADE["coefficients"]()


@pytest.mark.parametrize("name", COMPUTED)
def test_the_table_holds_what_the_script_computes(name: str) -> None:
    row = table("fittings")[name]
    assert f"{row['loss_coefficient']:.2g}" == f"{COMPUTED[name]:.2g}"
    assert row.source("loss_coefficient").status == "computed"


def test_no_loss_coefficient_is_from_memory() -> None:
    rows = table("fittings").values()
    assert {row.source("loss_coefficient").status for row in rows} == {"read", "computed"}


def test_an_insert_coupling_costs_what_its_passage_says() -> None:
    """Borda and Carnot's expansion, (1 - b²)², and the usual first guess for a contraction,
    0.5 (1 - b²), both on the passage's speed: together within a third of it."""
    for passage, told in ((0.85, 0.46), (0.80, 0.88)):
        assert MADE["insert"](passage) == pytest.approx(told, abs=0.005)
        square = passage**2
        guess = ((1 - square) ** 2 + 0.5 * (1 - square)) / square**2
        assert MADE["insert"](passage) == pytest.approx(guess, rel=1 / 3)
