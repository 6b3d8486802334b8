"""What the shop's clock reckons with, on the sheet: times of work, and waits of joints."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..words.report import Answer, Column, Grid
from ..words.show import show
from ..words.tables import table
from .clock import LOOK, SETTLE, wait_of

if TYPE_CHECKING:
    from .engine import Shop
    from .joints import Joint


def _made_with(joint: Joint) -> str:
    return joint.compound if joint.thread else joint.kind


def wait_answers(shop: Shop) -> tuple[Answer, ...]:
    """The wait of each compound that the shop's temperature makes longer, with its steps."""
    heat, units = shop.build.shop.temperature, shop.build.van.units
    found: dict[str, Answer] = {}
    for joint in shop.joints:
        wait = wait_of(joint, heat, shop.build)
        if wait.work and wait.duration is not None:
            name = _made_with(joint)
            warmth = show(heat, "temperature", units)
            found[name] = Answer(
                f"{name} waits at {warmth}", wait.duration, "duration", wait.work, note=wait.basis
            )
    return tuple(found.values())


def waits_grid(shop: Shop) -> Grid:
    """How long each kind of joint waits before pressure, at the shop's temperature."""
    heat = shop.build.shop.temperature
    rows: dict[str, tuple[str, str, str]] = {}
    for joint in shop.joints:
        wait = wait_of(joint, heat, shop.build)
        told = "can't be made so cold" if wait.duration is None else show(wait.duration, "duration")
        rows[_made_with(joint)] = (
            _made_with(joint),
            told if wait.duration != 0 else "none",
            wait.basis,
        )
    return Grid(
        "Waits before pressure, in this shop",
        (Column("joint made with"), Column("waits"), Column("from")),
        tuple(rows.values()),
        "waits_of_joints",
    )


def labour_grid(shop: Shop) -> Grid:
    """Time of each step that the clock is made of."""
    labour = table("labour", shop.build.rows)
    kinds = dict.fromkeys(j.kind if j.kind in labour else "union" for j in shop.joints)
    common = [
        *(["mount the board"] if shop.build.manifold else []),
        "drill and clip one run",
        "fill and bleed",
        "read the test",
        "drain and flush",
        *(["set the mixing valve"] if shop.build.mixing_valve else []),
        "measure the van",
        "show the owner",
    ]
    rows = [(f"one joint: {name}", labour[name].number("time")) for name in kinds]
    rows += [(name, labour[name].number("time")) for name in common]
    settle, look = show(SETTLE, "duration"), show(LOOK, "duration")
    reads = show(shop.test.duration, "duration")
    return Grid(
        "Times of work",
        (Column("step"), Column("takes", align="right"), Column("from")),
        tuple((name, show(time, "duration"), labour[name.removeprefix("one joint: ")].basis)
              for name, time in rows),
        "times_of_work",
        f"The pressure test takes its reading, {settle} for the tube to give, {reads} of the "
        f"rule and {look} a joint to look at it. Dosing takes as long as filling.",
    )  # fmt: skip
