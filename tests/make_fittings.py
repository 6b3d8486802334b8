"""Loss coefficients of fittings that no handbook table was read for, computed with fluids.

    python tests/make_fittings.py            prints what the table should say
    python tests/make_fittings.py --write    writes it into data/fittings.csv

Every coefficient is on the speed in the run's tube, as the table wants it.  A fitting that goes
inside the tube (expansion, crimp, push-fit) is a sudden contraction into its passage and a sudden
expansion out of it, both by Rennels; its elbow is a mitre in the passage, its tee a branch in it.
K on the passage's speed becomes K on the tube's by the fourth power of the diameters.
"""

from __future__ import annotations

import csv
import sys
from math import pi
from pathlib import Path

from fluids import fittings

TABLE = Path(__file__).parents[1] / "data" / "fittings.csv"

BORE = 0.475 * 0.0254
"""Of 1/2 in PEX, the tube that a van has most of, m."""
REYNOLDS = 15_000.0
"""A shower's flow in it, luke warm."""
DARCY = 0.028
"""Friction factor of a smooth tube there (Blasius: 0.3164 / Re^0.25 = 0.0286)."""
PASSAGE = 0.825
"""Passage of an insert fitting over the tube's bore: the middle of 80 to 85 %."""


def insert(passage: float = PASSAGE) -> float:
    """Into a narrower passage and out of it again."""
    narrow = passage * BORE
    into = fittings.contraction_sharp(BORE, narrow, fd=DARCY, Re=REYNOLDS, method="Rennels")
    out = fittings.diffuser_sharp(narrow, BORE, Re=REYNOLDS, fd=DARCY, method="Rennels")
    return float((into + out) / passage**4)


def insert_elbow(passage: float = PASSAGE) -> float:
    """The passage turns at once: a mitre without vanes."""
    turn = fittings.bend_miter(
        90, Di=passage * BORE, Re=REYNOLDS, roughness=0.0, L_unimpeded=20 * BORE, method="Rennels"
    )
    return insert(passage) + float(turn) / passage**4


def insert_branch(passage: float = PASSAGE) -> float:
    """All the water turns off into the branch of a tee, as Crane has it."""
    narrow = passage * BORE
    turn = fittings.K_branch_diverging_Crane(narrow, narrow, Q_run=1e-12, Q_branch=1e-4, angle=90)
    return insert(passage) + float(turn) / passage**4


def bend(diameters: float = 5.0) -> float:
    """A tube bent round by hand: what the bend costs beyond the length that the run counts."""
    whole = fittings.bend_rounded(
        BORE, 90, fd=DARCY, bend_diameters=diameters, Re=REYNOLDS, method="Rennels"
    )
    return float(whole) - DARCY * pi / 2 * diameters


def hooper(name: str) -> float:
    """Two-K method of Hooper; the library takes the bore in inches."""
    return float(fittings.Hooper2K(Di=BORE / 0.0254, Re=REYNOLDS, name=name))


def coefficients() -> dict[str, float]:
    """Row of the table to K, as far as it is computed."""
    return {
        "elbow 90 long": hooper("Elbow, 90°, Long-radius (R/D = 1.5), All types"),
        "return bend": hooper("Elbow, 180°, Standard (R/D = 1), Flanged/welded"),
        "bend": bend(),
        "reducer": float(fittings.contraction_sharp(0.671, 0.475, Re=REYNOLDS, method="Rennels")),
        "insert coupling": insert(),
        "insert adapter": insert(),
        "insert elbow 90": insert_elbow(),
        "insert tee branch": insert_branch(),
    }


def main(write: bool) -> None:
    found = coefficients()
    with TABLE.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        if row["name"] in found:
            k = f"{found[row['name']]:.2g}"
            print(f"{row['name']:20} {row['loss_coefficient']:>6} -> {k:>6}")
            row["loss_coefficient"] = k
    if write:
        with TABLE.open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, rows[0], lineterminator="\n")
            writer.writeheader()
            writer.writerows(rows)


if __name__ == "__main__":
    main("--write" in sys.argv)
