"""What a mixing valve's state looks like on paper: answers with worked steps, drifts, cautions."""

from __future__ import annotations

from ..flow.mixing.burns import burn
from ..flow.mixing.valve import (
    CONTROL_BAND,
    MixingState,
    density,
    drifts,
    kv_outlet,
    temperature_works,
)
from ..formulas.valves import valve_flow
from ..van.kinds.mixing_valves import FIXED, THERMOSTATIC
from ..words.report import Answer, Caution, Chapter, Column, Grid
from ..words.show import show
from ..words.tables import table

PUBLIC = "shower"  # row of the limits that a comfortable setting keeps to
CODE = "shower or bath by code"


def mixing_chapter(state: MixingState, *, name: str = "", units: str = "SI") -> Chapter:
    """The calculation of one mixing valve for the sheet; ``units`` is for times told in words."""
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
        grids=(_drift_grid(state, units), _limit_grid(state)),
        cautions=_cautions(state, units),
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
    rows = []
    for drift in drifts(state, units):
        after = drift.state
        change = None
        if after.temperature is not None and state.temperature is not None:
            change = after.temperature - state.temperature
        told = burn(after.temperature).told(units) if after.temperature is not None else "no flow"
        rows.append((drift.label, after.temperature, change, after.flow, told))
    return Grid(
        "When one supply changes and the valve is left alone",
        (
            Column("what changes"),
            Column("outlet", "temperature", "right"),
            Column("change", "rise", "right"),
            Column("flow", "flow", "right"),
            Column("until it burns an adult"),
        ),
        tuple(rows),
        key="mixing-drift",
        note="Another tap that opens on one supply lowers its pressure and leaves the other's.",
    )


def _limit_grid(state: MixingState) -> Grid:
    limits = table("mixed_limits")
    rows = tuple(
        (
            name,
            row["temperature"],
            None if state.temperature is None else state.temperature - row["temperature"],
            str(row.source("temperature")),
        )
        for name, row in sorted(limits.items(), key=lambda item: item[1]["temperature"])
    )
    return Grid(
        "Against the limits at a mixed outlet",
        (
            Column("limit for"),
            Column("limit", "temperature", "right"),
            Column("outlet above it", "rise", "right"),
            Column("source"),
        ),
        rows,
        key="mixing-limits",
    )


def _cautions(state: MixingState, units: str) -> tuple[Caution, ...]:
    found: list[Caution] = []
    limits = table("mixed_limits")
    if state.temperature is not None:
        told = burn(state.temperature).told(units)
        if state.temperature > limits[CODE]["temperature"] + 0.05:
            found.append(
                Caution(
                    "DANGER", f"Scalding water at the outlet: {told} to a deep burn. Set lower."
                )
            )
        elif state.temperature > limits[PUBLIC]["temperature"] + 0.05:
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
        if hottest > limits[CODE]["temperature"]:
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
