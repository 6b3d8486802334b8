"""The tube runs on the sheet: each at the rated flow of its fixture, and what they are made of."""

from __future__ import annotations

from collections import Counter

from ..flow.run_losses import RunLoss, run_work
from ..van.model import Build
from ..van.run_ends import RunEnds
from ..van.trace import ways
from ..words.report import RIGHT, Answer, Chapter, Grid, grid
from ..words.tables import table


def runs_chapter(build: Build, losses: tuple[RunLoss, ...]) -> Chapter:
    """The runs on the sheet: the worst one worked, all of them in a table."""
    answers: tuple[Answer, ...] = ()
    if losses:
        worst = max(losses, key=lambda r: r.loss)
        answers = (
            Answer(
                f"Largest loss of a run: {worst.title}",
                worst.loss,
                "pressure_loss",
                work=run_work(build, worst),
                note=f"at the rated flow of {worst.fixture}",
            ),
        )
    return Chapter(
        key="runs",
        title="Tube runs",
        basis=(
            "Darcy-Weisbach with the friction factor of Colebrook; laminar below Re 2000, "
            "a smooth bridge up to Re 4000, where real flow wanders.",
            "Fittings by their loss coefficient on the speed in the run's own tube; adapters and "
            "reducers that the ends ask for and the build file does not count, on the speed in "
            "their own narrowest way.",
            "Water at the temperature that the run carries: see the properties of water.",
        ),
        answers=answers,
        grids=(_runs(losses), _ways(build, losses), _tubes(build), *_fittings(build)),
        not_computed=("Rated flows that the pump can't give: see the situations.",),
    )


def _runs(losses: tuple[RunLoss, ...]) -> Grid:
    return grid(
        "Each run at the rated flow of its fixture",
        losses,
        {
            "No.": (lambda r: r.number + 1, RIGHT),
            "run": "title",
            "tube": "tube",
            "water": "carries",
            "length": ("length", "length"),
            "flow": ("flow", "flow"),
            "speed": ("velocity", "velocity"),
            "Reynolds": (lambda r: round(r.reynolds), RIGHT),
            "factor f": ("friction_factor", "friction_factor"),
            "friction": ("friction", "pressure_loss"),
            "fittings": ("fittings", "pressure_loss"),
            "lift": ("lift", "pressure_loss"),
        },
        key="runs",
        note="One fixture open at a time. A minus in the lift column is a fall, which helps.",
    )


def _ways(build: Build, losses: tuple[RunLoss, ...]) -> Grid:
    by_number = {r.number: r for r in losses}
    found = [(w, [by_number[n] for n in w.runs if n in by_number]) for w in ways(build)]
    return grid(
        "The way to each fixture: its runs added up",
        found,
        {
            "fixture": lambda row: (
                row[0].fixture if row[0].port == "inlet" else f"{row[0].fixture} ({row[0].port})"
            ),
            "from": lambda row: row[0].components[0],
            "length": (lambda row: sum(p.length for p in row[1]), "length"),
            "loss of the runs": (lambda row: sum(p.loss for p in row[1]), "pressure_loss"),
            "lift": (lambda row: sum(p.lift for p in row[1]), "pressure_loss"),
            "content": (lambda row: sum(p.content for p in row[1]), "volume"),
        },
        key="ways",
        note="Without what pump, heater, valves and the fixture itself take.",
    )


def _tubes(build: Build) -> Grid:
    """The tubes of the build's runs and headers, as every sum takes them."""
    rows, give = table("tubes", build.rows), table("give", build.rows)
    names = dict.fromkeys([r.tube for r in build.run] + [m.tube for m in build.manifold])
    return grid(
        "Tubes that the sums use",
        [rows[name] for name in names],
        {
            "tube": "name",
            "outside": ("od", "diameter"),
            "wall": ("wall", "thickness"),
            "bore": ("bore", "diameter"),
            "roughness": ("roughness", "roughness"),
            "density": ("density", "density"),
            "specific heat": ("specific_heat", "specific_heat"),
            "conducts": ("conductivity", "conductivity"),
            "elastic modulus": (
                lambda row: give[row["material"]]["modulus"] if row["material"] in give else None,
                "modulus",
            ),
        },
        key="tubes",
        note="Typical; measure yours. The bore is an average, so it is a little less than the "
        "outside less two of the least wall.",
    )


def _fittings(build: Build) -> tuple[Grid, ...]:
    """Loss coefficients of the fittings that the runs name, and of the zones' shut-offs."""
    rows = table("fittings", build.rows)
    counts: Counter[tuple[str, str]] = Counter()
    for run in build.run:
        counts.update({(name, name): many for name, many in run.fittings})
    ends = RunEnds(build)
    for index in range(len(build.run)):
        counts.update((f"{p.name}, picked", p.loss) for p in ends.unstated(index) if p.loss)
        for one in ends.tee_passes.get(index, ()):
            counts.update((f"{row} of {one.tee}, picked", row) for row in one.rows)
    if not counts:
        return ()
    return (
        grid(
            "Fittings that the sums use",
            counts.items(),
            {
                "fitting": lambda row: row[0][0],
                "in the runs": (lambda row: float(row[1]), "count"),
                "K": (lambda row: rows[row[0][1]]["loss_coefficient"], "loss_coefficient"),
                "from": lambda row: rows[row[0][1]].basis,
            },
            key="fittings",
            note="A zone's way counts the branch of its tee and its shut-off; a stub counts the "
            "tee's run: their sums are in the network.",
        ),
    )
