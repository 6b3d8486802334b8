"""Mixing valves on paper: one valve at one moment, and those of a build with all their drifts."""

from __future__ import annotations

from ..flow.mixing.burns import burn
from ..flow.mixing.check import DAY_SHARE, SUMMER, ValveCheck
from ..flow.mixing.valve import (
    CONTROL_BAND,
    Drift,
    MixingState,
    density,
    drifts,
    kv_outlet,
    temperature_works,
)
from ..formulas.valves import valve_flow
from ..van.kinds.mixing_valves import FIXED, THERMOSTATIC
from ..van.model import Build
from ..van.region import WASHING, mixed_rows
from ..words.report import Answer, Caution, Chapter, Grid, grid
from ..words.show import show
from ..words.tables import Row, table


def bench_region(units: str) -> str:
    """The region of a valve that belongs to no build yet: by the reader's units."""
    return "US" if units == "US" else "EU"


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
        grids=(_drift_grid(state, units), _limit_grid(state, region or bench_region(units))),
        cautions=_cautions(state, units, region or bench_region(units)),
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
    flow = valve_flow.work(
        flow_coefficient=kv_outlet(state.valve),
        pressure_loss=state.pressure,
        density=density(state.temperature),
    )
    return (
        temperature,
        Answer("until it burns an adult deeply", adult.told(units), work=adult.work),
        Answer("until it burns a child deeply", child.told(units), work=child.work),
        Answer("hot part of the outlet's mass", state.share, "share"),
        Answer("flow from the outlet", state.flow, "flow", work=(flow,)),
        Answer("flow from the hot supply", state.flow_hot, "flow"),
        Answer("flow from the cold supply", state.flow_cold, "flow"),
        Answer("pressure where both join", state.pressure, "pressure"),
    )


def _drift_grid(state: MixingState, units: str) -> Grid:
    def change(drift: Drift) -> float | None:
        after = drift.state.temperature
        return None if after is None or state.temperature is None else after - state.temperature

    def told(drift: Drift) -> str:
        after = drift.state.temperature
        return "no flow" if after is None else burn(after).told(units)

    return grid(
        "When one supply changes and the valve is left alone",
        drifts(state, units),
        {
            "what changes": "label",
            "outlet": ("state.temperature", "temperature"),
            "change": (change, "rise"),
            "flow": ("state.flow", "flow"),
            "until it burns an adult": told,
        },
        key="mixing-drift",
        note="Another tap that opens on one supply lowers its pressure and leaves the other's.",
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
    """The mixing valves of a build on the sheet: their shares, and what drifts do to them."""
    found = [one for one in checks.values() if not one.problem]
    return Chapter(
        key="mixing",
        title="Mixing valves",
        basis=(
            "Outlet temperature from the balance of heat; two openings that share the valve's Kv.",
            f"Pressure at the valve with water flowing: {DAY_SHARE * 100:.0f} % of the highest "
            "supply pressure, the same on both sides (common practice, no source).",
            "Drifts: the thermostat may be off by its differential, a season moves the cold "
            f"water by {show(SUMMER, 'rise', build.van.units)} (common practice, no source), "
            "another tap that is turned wholly to one side takes what the runs of only that side "
            "lose more at its rated flow, while the other side keeps its pressure.",
            "So these are the worst that one side alone may do. What two fixtures do to each other "
            "as they are set, the pump losing pressure on both sides at once, is another question, "
            "with smaller changes: see the pressures and flows.",
        ),
        inputs=tuple(
            Answer(f"Setting of {m.name}", m.setting, "temperature", basis="given")
            for m in build.mixing_valve
        ),
        answers=tuple(answer for one in found for answer in _valve_answers(one, build)),
        grids=tuple(_valve_drifts(one) for one in found),
        cautions=(
            Caution(
                "WARNING",
                "Hot water scalds in seconds. A valve that is set once follows every drift of its "
                "supplies. Measure at the outlet with the heater at its hottest, write the value "
                "down, and follow the local plumbing code.",
            ),
        )
        if checks
        else (),
        not_computed=tuple(f"{one.name}: {one.problem}." for one in checks.values() if one.problem),
    )


def _valve_answers(one: ValveCheck, build: Build) -> tuple[Answer, ...]:
    burns = burn(one.hottest)
    told = burns.told(build.van.units)
    return (
        Answer(f"Hot share of {one.name}", one.share or 0.0, "share", one.works),
        Answer(
            f"Hottest at {one.name} when a supply drifts",
            one.hottest,
            "temperature",
            one.hottest_works,
            note=told if burns.seconds is None else f"{told} to a deep burn",
            key=True,
        ),
    )


def _valve_drifts(one: ValveCheck) -> Grid:
    def change(drift: Drift) -> float | None:
        after = drift.state.temperature
        return None if after is None else after - one.setting

    kind = "set once" if one.kind == FIXED else "thermostatic"
    return grid(
        f"{one.name}: {kind}, what comes out when a supply drifts",
        one.drifts,
        {
            "what changes": "label",
            "hot": ("state.supplies.temperature_hot", "temperature"),
            "cold": ("state.supplies.temperature_cold", "temperature"),
            "hot ": ("state.supplies.pressure_hot", "pressure_loss"),
            "cold ": ("state.supplies.pressure_cold", "pressure_loss"),
            "outlet": ("state.temperature", "temperature"),
            "change": (change, "rise"),
            "flow": ("state.flow", "flow"),
        },
    )
