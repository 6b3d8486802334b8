"""Mixing valves on paper: one valve at one moment, and those of a build with all their drifts."""

from __future__ import annotations

from math import isfinite

from ..flow.mixing.burns import burn
from ..flow.mixing.check import SUMMER, Extreme, ValveCheck
from ..flow.mixing.valve import (
    CONTROL_BAND,
    LEAST_LEAD,
    Drift,
    MixingState,
    density,
    drifts,
    kv_outlet,
    temperature_works,
)
from ..flow.moment import TRICKLE
from ..flow.neighbours import ALL_FIXTURES, looked_at
from ..formulas.valves import valve_flow
from ..van.kinds.mixing_valves import FIXED, THERMOSTATIC
from ..van.model import Build
from ..van.region import WASHING, mixed_rows, usual_region
from ..words.hazards import SCALD
from ..words.report import Answer, Caution, Chapter, Grid, grid
from ..words.show import show
from ..words.tables import Row, table


def two_limits(region: str) -> tuple[Row, Row]:
    """The region's coolest limit for anyone who washes, and its limit for any fixture."""
    known = mixed_rows(region)
    washing = [
        r
        for r in known.values()
        if r["user"] == "anyone" and (not r["sorts"] or WASHING & set(r["sorts"]))
    ]
    usual = known[str(table("regions")[region]["mixed_other"])]
    return min(washing, key=lambda r: r.number("temperature")), usual


def mixing_chapter(
    state: MixingState, *, name: str = "", units: str = "SI", region: str = ""
) -> Chapter:
    """The calculation of one mixing valve for the sheet; ``units`` is for times told in words.

    ``region`` is whose limits it is put beside: by the units if not said.
    """
    title = f"Mixing valve, {name}" if name else "Mixing valve"
    return Chapter(
        key="mixing",
        title=title,
        basis=(
            "Both supplies are taken at the valve's own inlets, with water flowing.",
            "Specific heat alike on both sides; no heat is lost in the valve.",
            "The two openings share the valve's Kv; the outlet follows the square-root law.",
        ),
        inputs=_inputs(state),
        answers=_answers(state, units),
        grids=(_drift_grid(state, units), _limit_grid(state, region or usual_region(units))),
        cautions=_cautions(state, units, region or usual_region(units)),
        not_computed=(
            "how fast a thermostatic valve answers, and how far it swings on the way",
            "dirt, scale and wear in the valve",
            "heat lost between the valve and the outlet",
        ),
    )


def _inputs(state: MixingState) -> tuple[Answer, ...]:
    valve, now, day = state.valve, state.supplies, state.valve.when_set
    kind = "set once by hand" if valve.kind == FIXED else "thermostatic"
    given = [
        Answer("the valve is", kind),
        Answer("mixed water, when set", valve.setting, "temperature"),
        Answer("hot supply", now.temperature_hot, "temperature"),
        Answer("cold supply", now.temperature_cold, "temperature"),
        Answer("hot pressure at the valve", now.pressure_hot, "pressure"),
        Answer("cold pressure at the valve", now.pressure_cold, "pressure"),
        Answer("Kv of the valve", valve.flow_coefficient, "flow_coefficient"),
        Answer("the outlet gives", valve.outlet_flow, "flow"),
        Answer("at a pressure of", valve.outlet_pressure, "pressure"),
        Answer("check valves at both inlets", "yes" if valve.checks else "no"),
    ]
    if valve.kind == FIXED:
        given[2:2] = [
            Answer("hot supply, when set", day.temperature_hot, "temperature"),
            Answer("cold supply, when set", day.temperature_cold, "temperature"),
        ]
    return tuple(given)


def _answers(state: MixingState, units: str) -> tuple[Answer, ...]:
    notes = "; ".join(state.notes)
    if state.temperature is None or state.share is None:
        return (Answer("outlet", "no flow", note=notes, key=True),)
    near = show(CONTROL_BAND, "rise", units)
    band = f"held within {near}, typical" if state.valve.kind == THERMOSTATIC else ""
    temperature = Answer(
        "outlet temperature",
        state.temperature,
        "temperature",
        work=temperature_works(state),
        note="; ".join(text for text in (band, notes) if text),
        key=True,
    )
    adult, child = burn(state.temperature), burn(state.temperature, "child")
    told = adult.told(units)
    if child.told(units) != told:
        told = f"an adult {told}, a child {child.told(units)}"
    flow = valve_flow.work(
        flow_coefficient=kv_outlet(state.valve),
        pressure_loss=state.pressure,
        density=density(state.temperature),
    )
    return (
        temperature,
        Answer("until it burns deeply", told, work=adult.work + child.work),
        Answer("hot part of the outlet's mass", state.share, "share"),
        Answer("flow from the outlet", state.flow, "flow", work=(flow,)),
        Answer("flow from the hot supply", state.flow_hot, "flow"),
        Answer("flow from the cold supply", state.flow_cold, "flow"),
        Answer("pressure where both join", state.pressure, "pressure"),
    )


def _drift_grid(state: MixingState, units: str) -> Grid:
    def change(drift: Drift) -> float | None:
        after = drift.state.temperature
        if after is None or state.temperature is None:
            return None
        away = after - state.temperature
        held = state.valve.kind == THERMOSTATIC and abs(away) < CONTROL_BAND
        return None if held else away

    def told(drift: Drift) -> str:
        after = drift.state.temperature
        if after is None:
            return "no flow"
        found = burn(after)
        return "–" if found.seconds is None else found.told(units)

    moved = drifts(state, units)
    after = [d.state.temperature for d in moved if d.state.temperature is not None]
    none = next((b.told(units) for b in map(burn, after) if b.seconds is None), "")
    return grid(
        "When one supply changes and the valve is left alone",
        moved,
        {
            "what changes": "label",
            "outlet": ("state.temperature", "temperature"),
            "change": (change, "rise"),
            "flow": ("state.flow", "flow"),
            "until it burns an adult": told,
        },
        key="mixing-drift",
        note="Another tap that opens on one supply lowers its pressure and leaves the other's."
        + (f" – under a burn: {none}." if none else "")
        + (
            f" Where no change stands, the valve holds within {show(CONTROL_BAND, 'rise', units)} "
            "either way (typical)."
            if state.valve.kind == THERMOSTATIC
            else ""
        ),
    )


def _limit_grid(state: MixingState, region: str) -> Grid:
    limits = mixed_rows(region).values()
    at = state.temperature
    return grid(
        "Against the limits at a mixed outlet",
        sorted(limits, key=lambda row: row["temperature"]),
        {
            "limit for": lambda row: f"{row.name}, {row['user']}",
            "limit": ("temperature", "temperature"),
            "outlet above it": (
                lambda row: None if at is None else at - row["temperature"],
                "rise",
            ),
            "source": lambda row: str(row.source("temperature")),
        },
        key="mixing-limits",
    )


def _cautions(state: MixingState, units: str, region: str) -> tuple[Caution, ...]:
    found: list[Caution] = []
    low, code = (row.number("temperature") for row in two_limits(region))
    if state.temperature is not None:
        told = burn(state.temperature).told(units)
        if state.temperature > code + 0.05:
            found.append(
                Caution(
                    "DANGER", f"Scalding water at the outlet: {told} to a deep burn. Set lower."
                )
            )
        elif state.temperature > low + 0.05:
            text = (
                "The outlet is hotter than a shower should be. Children and old people burn sooner."
            )
            found.append(Caution("WARNING", text))
    if state.crossing:
        text = "Water crosses from one supply into the other. Fit check valves at both inlets."
        found.append(Caution("WARNING", text))
    if state.valve.kind == FIXED:
        hottest = max(
            (d.state.temperature for d in drifts(state, units) if d.state.temperature is not None),
            default=0.0,
        )
        if hottest > code:
            text = (
                "A valve that is set once holds no temperature: a change of supply in the table "
                "makes this outlet scald. Where people stand under it, a thermostatic valve that "
                "shuts when cold fails is the usual answer."
            )
            found.append(Caution("WARNING", text))
    else:
        text = (
            "A thermostatic valve must shut off when its cold supply fails. Test that on the "
            "finished van, with a thermometer at the outlet."
        )
        found.append(Caution("CAUTION", text))
    found.append(
        Caution(
            "NOTICE",
            "Measure the outlet after a minute of flow, before anybody uses it. Local codes and "
            "the valve's own sheet go before these figures.",
        )
    )
    return tuple(found)


def valves_chapter(build: Build, checks: dict[str, ValveCheck]) -> Chapter:
    """The mixing valves of a build on the sheet: their shares, and the worst that they give."""
    found = [one for one in checks.values() if not one.problem]
    units = build.van.units
    return Chapter(
        key="mixing",
        title="Mixing valves",
        basis=(
            "The whole network is solved for every combination: the other fixtures each shut, "
            "mixed as they were set, or wholly turned to hot or to cold; the heater as set, at "
            "its hottest, at the bottom of its swing; the pump at its cut-in and at its cut-out, "
            "or the shore; a check valve of a mixing valve that leaks. The valve stays as it was "
            "set.",
            f"A season moves the cold water by {show(SUMMER, 'rise', units)} (common practice, no "
            "source).",
            f"A flow below {show(TRICKLE, 'flow', units)} is no use of a valve and is left out.",
            *(
                (
                    "A thermostatic valve holds its setting within "
                    f"{show(CONTROL_BAND, 'rise', units)} either way, if its hot supply is "
                    f"{show(LEAST_LEAD, 'rise', units)} above it "
                    "(typical published figures; its own sheet goes first).",
                )
                if any(one.thermostatic for one in found)
                else ()
            ),
        ),
        inputs=tuple(
            Answer(f"Setting of {m.name}", m.setting, "temperature", basis="given")
            for m in build.mixing_valve
        ),
        answers=tuple(answer for one in found for answer in _valve_answers(one, build)),
        grids=tuple(_valve_extremes(one, units, len(build.fixture)) for one in found),
        cautions=(
            SCALD.caution(
                "A valve that is set once follows every drift of its supplies, and gives the "
                "heater's own heat when its cold supply is shut: the handle of a zone is enough. "
                "Measure with the heater at its hottest, and write the value down.",
            ),
        )
        if checks
        else (),
        not_computed=(
            *(f"{one.name}: {one.problem}." for one in checks.values() if one.problem),
            *(
                f"{one.name}: what it does when its cold supply fails. It should shut the hot off; "
                "only a test of the valve itself shows that it does."
                for one in found
                if one.thermostatic
            ),
        ),
    )


def _valve_answers(one: ValveCheck, build: Build) -> tuple[Answer, ...]:
    units = build.van.units
    found = [Answer(f"Hot share of {one.name}", one.share or 0.0, "share", one.works)]
    near = f"; {show(one.band, 'rise', units)} of its setting counted" if one.thermostatic else ""
    if one.hottest is not None:
        burns = burn(one.most)
        told = burns.told(units) + ("" if burns.seconds is None else " to a deep burn")
        found.append(
            Answer(
                f"Hottest at {one.name}",
                one.most,
                "temperature",
                () if one.band else one.hottest.works,
                note=f"{told}; with {one.hottest.told}{near}",
                key=True,
            )
        )
    if one.coldest is not None:
        found.append(
            Answer(
                f"Coldest at {one.name}",
                one.least,
                "temperature",
                () if one.band else one.coldest.works,
                note=f"with {one.coldest.told}{near}",
                key=True,
            )
        )
    if one.cold_shut is not None:
        burns = burn(one.cold_shut.temperature)
        told = burns.told(units) + ("" if burns.seconds is None else " to a deep burn")
        found.append(
            Answer(
                f"Hottest at {one.name} with its cold supply shut",
                one.cold_shut.temperature,
                "temperature",
                one.cold_shut.works,
                note=told,
                key=True,
            )
        )
    if one.thermostatic and isfinite(one.lead):
        found.append(
            Answer(
                f"Least lead of the hot supply over the setting of {one.name}",
                one.lead,
                "rise",
                note=f"it needs {show(one.lead_needed, 'rise', units)}",
            )
        )
    return tuple(found)


ALONE = "its first fixture alone"


def _valve_extremes(one: ValveCheck, units: str, fixtures: int) -> Grid:
    kind = "thermostatic" if one.thermostatic else "set once"
    rows = [
        (name, extreme, extreme.temperature if outlet is None else outlet)
        for name, extreme, outlet in (
            (ALONE, one.usual, None),
            ("hottest", one.hottest, one.most),
            ("coldest", one.coldest, one.least),
            ("hottest, cold supply shut", one.cold_shut, None),
            ("coldest, hot supply shut", one.hot_shut, None),
        )
        if extreme is not None
    ]

    def change(row: tuple[str, Extreme, float]) -> float | None:
        away = row[2] - one.setting
        return None if row[0] == ALONE and abs(away) < one.band else away

    looked = f"{one.tried} combinations were tried"
    note = looked + (": all that there are." if one.all_tried else ", the likeliest first.")
    if fixtures > ALL_FIXTURES:
        note += (
            f" {looked_at(fixtures)} Of check valves only the valve's own were let leak, and none "
            "with all the others open."
        )
    if one.thermostatic:
        note += (
            f" Hottest and coldest count the {show(one.band, 'rise', units)} within which it holds "
            "its setting, as far as its supplies reach; alone, it stands at its setting."
        )
    return grid(
        f"{one.name}: {kind}, the worst that it gives",
        rows,
        {
            "": lambda row: row[0],
            "with": lambda row: row[1].told,
            "hot": (lambda row: row[1].temperature_hot, "temperature"),
            "cold": (lambda row: row[1].temperature_cold, "temperature"),
            "hot ": (lambda row: row[1].pressure_hot, "pressure"),
            "cold ": (lambda row: row[1].pressure_cold, "pressure"),
            "outlet": (2, "temperature"),
            "change": (change, "rise"),
            "flow": (lambda row: row[1].flow, "flow"),
        },
        note=note,
    )
