"""Loads on the axles, on the sheet: what the water system adds on each, and what is left."""

from __future__ import annotations

from ..lists.axles import ALL_FULL, AXLES, STATES, Axles, AxleState
from ..van.model import Build
from ..words.hazards import OVERLOAD
from ..words.report import Answer, Chapter, Grid, grid
from ..words.show import capital, show
from ..words.work import Work

LIFTS = "A load behind the rear axle takes weight off the wheels that steer."


def axles_chapter(axles: Axles | None, build: Build) -> Chapter:
    """What the system adds on each axle, by state; what the build does not say is named."""
    if axles is None:
        return Chapter(
            "axles",
            "Loads on the axles",
            cautions=(OVERLOAD.caution(LIFTS),),
            not_computed=(
                "Loads on each axle: not known. The build says no wheelbase (wheelbase, under "
                "[van]) and no place of tanks and heavy parts (behind_front_axle, of each).",
            ),
        )
    units = build.van.units
    with_dry = build.van.weighed == "with it, dry"
    return Chapter(
        "axles",
        "Loads on the axles",
        basis=(
            "By moments about either axle: a part's mass, and how far behind the front axle its "
            "middle stands. Water lies level in its tank; on a slope it moves.",
            *(f"{capital(s.name)}: {STATES[s.name]}." for s in axles.states),
        ),
        inputs=(
            Answer("Wheelbase", axles.wheelbase, "distance", basis="given"),
            *(Answer(f"Weighed on the {a} axle, {build.van.weighed}", axles.weighed[a], "axle_load",
                     basis="given") for a in AXLES if a in axles.weighed),
            *(Answer(f"Allowed on the {a} axle", axles.limits[a], "axle_load", basis="given")
              for a in AXLES if a in axles.limits),
        ),
        answers=tuple(_answers(axles)),
        grids=(_states(axles), _parts(axles)),
        cautions=(OVERLOAD.caution(LIFTS),),
        not_computed=(
            *(
                (
                    f"Where this stands: {', '.join(axles.without_place)} (behind_front_axle, of "
                    "each, or pipework_behind_front_axle, under [van]). Either axle may bear up to "
                    f"{show(axles.states[-1].unplaced, 'mass', units)} more.",
                )
                if axles.without_place
                else ()
            ),
            *((f"What is left on an axle: not known is {'; '.join(axles.unknown)}.",)
              if axles.unknown else ()),
            "Crew, luggage and whatever else the van gets: only the water system is in these sums"
            + (", and what it weighs dry was in the van when it was weighed." if with_dry else "."),
        ),
    )  # fmt: skip


def _answers(axles: Axles) -> list[Answer]:
    found = []
    for axle in AXLES:
        for state in axles.states:
            if axle in state.added:
                found.append(
                    Answer(
                        f"Added on the {axle} axle, {state.name}",
                        state.of(axle),
                        "axle_load",
                        (*_example(state, axle), state.added[axle]),
                    )
                )
        least = axles.least_room(axle)
        if least is not None:
            state, room = least
            found.append(
                Answer(
                    f"Left on the {axle} axle, {state.name}",
                    room.value,
                    "axle_load",
                    (room,),
                    key=True,
                    note="before crew and luggage",
                )
            )
    return found


def _example(state: AxleState, axle: str) -> tuple[Work, ...]:
    """The lever arm of the heaviest part; the table has the others'."""
    known = [p for p in state.placed if p.front is not None]
    if not known or state.name != ALL_FULL:
        return ()
    work = getattr(max(known, key=lambda p: p.mass), axle)
    return (work,)


def _states(axles: Axles) -> Grid:
    return grid(
        "Added on each axle",
        axles.states,
        {
            "with": "name",
            "front": (lambda s: s.of("front"), "axle_load"),
            "rear": (lambda s: s.of("rear"), "axle_load"),
            "without a place": (lambda s: s.unplaced or None, "mass"),
            "left in front": (lambda s: _left(axles, "front", s), "axle_load"),
            "left behind": (lambda s: _left(axles, "rear", s), "axle_load"),
        },
        key="axles",
        note="Less than 0 under added: that axle gets lighter. Less than 0 under left: too much.",
    )


def _left(axles: Axles, axle: str, state: AxleState) -> float | None:
    work = axles.room.get((axle, state.name))
    return work.value if work is not None else None


def _parts(axles: Axles) -> Grid:
    """What stands where, in the heaviest state."""
    heaviest = axles.states[-1]
    return grid(
        f"What stands where, {heaviest.name}",
        [p for p in heaviest.placed if p.distance is not None],
        {
            "part": "name",
            "mass": ("mass", "mass"),
            "behind the front axle": ("distance", "distance"),
            "on the front axle": (lambda p: p.front.value, "axle_load"),
            "on the rear axle": (lambda p: p.rear.value, "axle_load"),
        },
        key="axle_parts",
    )
