"""The tube runs on the sheet: each where it carries most, and what they are made of."""

from __future__ import annotations

from collections import Counter

from ..flow.combinations import first_greatest
from ..flow.engine import Flow
from ..flow.moment import NOTHING, LinkState
from ..flow.run_losses import RunLoss, along
from ..van.model import Build
from ..van.run_ends import RunEnds
from ..van.trace import Way, title, ways
from ..words.report import RIGHT, Answer, Chapter, Grid, grid
from ..words.tables import table
from .flow import link_work


def runs_chapter(flow: Flow) -> Chapter:
    """The runs on the sheet: the worst one worked, all of them in a table."""
    build = flow.build
    losses = () if flow.problem else flow.runs
    answers: tuple[Answer, ...] = ()
    worst = first_greatest(losses, lambda r: r.loss, lambda r: r.title)
    if worst is not None:
        answers = (
            Answer(
                f"Largest loss of a run: {worst.title}",
                worst.loss,
                "pressure_loss",
                work=link_work(worst.link, flow),
                note=f"situation: {worst.situation}",
            ),
        )
    carrying = {r.number for r in losses}
    still = [title(build, n) for n in range(len(build.run)) if n not in carrying]
    return Chapter(
        key="runs",
        title="Tube runs",
        basis=(
            "Each run as the network has it in the situation in which it carries most.",
            "Darcy-Weisbach with the friction factor of Colebrook; laminar below Re 2000, "
            "a smooth bridge up to Re 4000, where real flow wanders.",
            "Fittings by their loss coefficient on the speed in the run's own tube; adapters and "
            "reducers that the ends ask for and the build file does not count, on the speed in "
            "their own narrowest way.",
            "Water at the temperature that it has in the run then: see the properties of water.",
        ),
        answers=answers,
        grids=(
            _runs(losses),
            *(() if flow.problem else (_ways(flow),)),
            _tubes(build),
            *_fittings(build),
        ),
        not_computed=(
            *((f"What the runs take: {flow.problem}.",) if flow.problem else ()),
            *(
                (f"Runs that carry nothing in any situation: {', '.join(still)}.",)
                if still and not flow.problem
                else ()
            ),
        ),
    )


def _runs(losses: tuple[RunLoss, ...]) -> Grid:
    return grid(
        "Each run where it carries most",
        losses,
        {
            "No.": (lambda r: r.number + 1, RIGHT),
            "run": "title",
            "tube": "tube",
            "water": "carries",
            "length": ("length", "length"),
            "situation": "situation",
            "flow": ("flow", "flow"),
            "at": (lambda r: r.link.temperature, "temperature"),
            "speed": ("velocity", "velocity"),
            "Reynolds": (lambda r: round(r.link.reynolds), RIGHT),
            "factor f": (lambda r: r.link.factor, "friction_factor"),
            "friction": ("friction", "pressure_loss"),
            "fittings": ("fittings", "pressure_loss"),
            "lift": ("lift", "pressure_loss"),
        },
        key="runs",
        note="Of all situations that are worked out, the first in which the run carries most, "
        "within a part in a thousand. A minus in the lift column is a fall, which helps.",
    )


def _ways(flow: Flow) -> Grid:
    rows: list[tuple[Way, list[LinkState], float, float]] = []
    losses = {r.number: r for r in flow.runs}
    for way in ways(flow.build):
        moment = flow.situation_of((way.fixture,))
        on_way = {k.place: k for k in moment.links.values() if k.place in way.runs}
        runs = [on_way[n] for n in way.runs]
        if moment.found and all(abs(k.flow) > NOTHING for k in runs):
            length = sum(flow.build.run[n].length for n in way.runs)
            rows.append((way, runs, length, sum(losses[n].content for n in way.runs)))
    return grid(
        "The way to each fixture: its runs added up, open alone",
        rows,
        {
            "fixture": lambda row: (
                row[0].fixture if row[0].port == "inlet" else f"{row[0].fixture} ({row[0].port})"
            ),
            "from": lambda row: row[0].components[0],
            "length": (2, "length"),
            "loss of the runs": (
                lambda row: sum(along(k, "friction") + along(k, "fittings") for k in row[1]),
                "pressure_loss",
            ),
            "lift": (lambda row: sum(along(k, "rise") for k in row[1]), "pressure_loss"),
            "content": (3, "volume"),
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
