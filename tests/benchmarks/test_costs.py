"""What imports, formulas, the pack and the sheet cost, as ratios and in yards, with budgets."""

from __future__ import annotations

import subprocess
import sys
from statistics import median

import numpy as np
import pytest

import vanplumb as vp
from vanplumb.formulas.tank import drain_time
from vanplumb.formulas.tube import reynolds
from vanplumb.words.units import Q

from .bench import ratio, report, report_time


def seconds_of(statement: str) -> float:
    """What a fresh interpreter takes for one statement, its own start left out."""
    code = f"import time; a = time.perf_counter(); {statement}; print(time.perf_counter() - a)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return float(done.stdout)


def test_import_beside_numpy() -> None:
    pairs = [(seconds_of("import vanplumb"), seconds_of("import numpy")) for _ in range(9)]
    report("import vanplumb / import numpy", median(a / b for a, b in pairs), 1.5)


def test_first_use_of_the_face() -> None:
    whole = "import vanplumb as vp; vp.load; vp.Pack"
    pairs = [(seconds_of(whole), seconds_of("import numpy")) for _ in range(5)]
    report("vp.load and vp.Pack at hand / import numpy", median(a / b for a, b in pairs), 4)


def test_checked_call_beside_pint_throughout() -> None:
    values = {
        "area_tank": Q(0.12, "m^2"),
        "diameter_hole": Q(12, "mm"),
        "coefficient": Q(0.62, ""),
        "depth": Q(0.4, "m"),
    }
    gravity = Q(9.80665, "m/s^2")

    def throughout() -> object:
        area = np.pi / 4 * values["diameter_hole"] ** 2
        speed = np.sqrt(2 * gravity * values["depth"])
        return 2 * values["area_tank"] * values["depth"] / (values["coefficient"] * area * speed)

    assert drain_time(**values).to("s").magnitude == pytest.approx(throughout().to("s").magnitude)
    found = ratio(lambda: drain_time(**values), throughout, calls=300)
    report("checked formula call / the same in pint throughout", found, 1.0)


def test_si_beside_the_bare_function() -> None:
    def bare(density: float, velocity: float, diameter: float, viscosity: float) -> float:
        return density * velocity * diameter / viscosity

    assert reynolds.si(998.0, 1.5, 0.012, 1e-3) == bare(998.0, 1.5, 0.012, 1e-3)
    formula = reynolds.si
    found = ratio(
        lambda: formula(998.0, 1.5, 0.012, 1e-3),
        lambda: bare(998.0, 1.5, 0.012, 1e-3),
        calls=20000,
    )
    report(".si / the bare function", found, 1.1)


def test_checked_call_on_a_hundred_thousand_values() -> None:
    depth = np.linspace(0.01, 0.5, 100_000)
    values = {"area_tank": 0.12, "diameter_hole": 0.012, "coefficient": 0.62}
    units = {"area_tank": "m^2", "diameter_hole": "m", "coefficient": ""}
    asked = {k: Q(v, units[k]) for k, v in values.items()} | {"depth": Q(depth, "m")}
    found = ratio(
        lambda: drain_time(**asked), lambda: drain_time.si(**values, depth=depth), calls=5
    )
    report("100 000 values, checked / .si", found, 2.0)


PACK = """
import sys, tempfile, time
import vanplumb as vp
start = time.process_time()
pack = vp.Pack(vp.example(sys.argv[1]))
paths = pack.write(tempfile.mkdtemp(prefix="vanplumb-"))
whole = time.process_time() - start
import vanplumb.sheet as sheet
start = time.process_time()
sheet.write_pdf(pack, paths[0])
print(whole, time.process_time() - start)
"""


def test_pack_and_pdf_of_the_largest_example() -> None:
    """In a fresh interpreter, so that everything that loads late is counted."""
    largest = max(vp.examples(), key=lambda name: len(vp.example(name).run))
    times = []
    for _ in range(3):
        done = subprocess.run(
            [sys.executable, "-c", PACK, largest], capture_output=True, text=True, check=True
        )
        times.append([float(text) for text in done.stdout.split()])
    whole, pdf = (median(column) for column in zip(*times, strict=True))
    report_time(f"pack of {largest}, the largest example, after import", whole, 20)
    report_time("the PDF of it, once more", pdf, 5)
