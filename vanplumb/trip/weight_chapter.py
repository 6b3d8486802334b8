"""The weight on the sheet."""

from __future__ import annotations

from ..build.model import Build
from ..words.report import Answer, Caution, Chapter, Column, Grid
from .weight import Weight


def weight_chapter(weight: Weight, build: Build) -> Chapter:
    """What the water system weighs, and its share of the payload."""
    works = {name: work for name, work in weight.works.items() if name not in ("dry", "share")}
    dry = tuple(weight.works[name] for name in ("dry",) if name in weight.works)
    answers = [
        Answer("Parts without water", weight.dry, "mass", dry),
        Answer(
            "All of it, fresh tanks full", weight.leaving, "mass", tuple(works.values()), key=True
        ),
    ]
    if weight.share is not None and weight.payload is not None:
        answers.append(
            Answer(
                "Share of the payload", weight.share, "share", (weight.works["share"],), key=True
            )
        )
    unknown = ", ".join(weight.unknown)
    return Chapter(
        key="weight",
        title="Weight",
        basis=("Tube by its sizes and density; fittings and valves at 30 g each (assumed).",),
        inputs=()
        if weight.payload is None
        else (Answer("Payload of the van", weight.payload, "mass", basis="given"),),
        answers=tuple(answers),
        grids=(
            Grid(
                "What weighs how much",
                (Column("part"), Column("mass", "mass", "right"), Column("from")),
                tuple(
                    (load.name, load.mass if load.counted else None, load.basis)
                    for load in weight.loads
                ),
                key="weight",
            ),
        ),
        cautions=(
            Caution(
                "CAUTION",
                "The plate's limits hold for the whole van and for each axle. Weigh the van with "
                "crew and water aboard.",
            ),
        ),
        not_computed=(
            "Loads on each axle.",
            *((f"Masses that nobody has said: {unknown}.",) if unknown else ()),
        ),
    )
