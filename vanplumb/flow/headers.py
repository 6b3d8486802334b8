"""A manifold as links: its header from zone to zone, and each zone's shut-off."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..words.tables import table
from . import components as parts
from .network import Link

if TYPE_CHECKING:
    from ..build.model import Build
    from ..build.parts import Manifold


def header_links(build: Build, manifold: Manifold) -> list[Link]:
    """A header: stub and tee to each zone in turn, or a block; a shut-off for each zone."""
    links: list[Link] = []
    first = str(np.ravel(manifold.tube)[0])
    row = table("tubes", build.rows)[first]
    bore = parts.pick(build, "tubes", manifold.tube, "bore")
    inside = "insert " if row["joint"] in ("expansion", "crimp", "press", "push-fit") else ""
    fitting = table("fittings", build.rows)
    straight = fitting[f"{inside}tee run"].number("loss_coefficient")
    branch = fitting[f"{inside}tee branch"].number("loss_coefficient")
    stub = manifold.stub if manifold.stub is not None else row["stub_least"] or 0.05
    here = f"{manifold.name}.inlet"
    zones = build.zones(manifold.name)
    for i, zone in enumerate(zones):
        into = branch
        if manifold.form == "block":
            into = parts.BLOCK_LOSS
        elif i:
            there = f"{manifold.name}, tee {i + 1}"
            links.append(
                Link(
                    name=f"{manifold.name} stub {i}",
                    kind="stub",
                    start=here,
                    end=there,
                    length=stub,
                    diameter=bore,
                    roughness=parts.pick(build, "tubes", manifold.tube, "roughness"),
                    loss=straight,
                )
            )
            here = there
        loss, open = parts.valve_loss(build, zone.valve, zone.opening)
        links.append(
            Link(
                name=f"{manifold.name}.{zone.name}",
                kind="zone",
                start=here,
                end=f"{manifold.name}.{zone.name}",
                loss=into + loss,
                diameter=bore,
                open=open,
            )
        )
    return links
