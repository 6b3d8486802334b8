"""What a mixing valve's state looks like on paper: answers with worked steps, drifts, cautions."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from ..flow.mixing.burns import burn
from ..flow.mixing.valve import CONTROL_BAND, MixingState, density, kv_outlet, mixing_state
from ..formulas import mixing
from ..formulas.valves import valve_flow
from ..words.report import Answer, Caution, Chapter, Column, Grid
from ..words.show import show
from ..words.tables import table
from ..words.work import Work

DRIFT = 10.0  # K, up and down
SMALL_FALL, GREAT_FALL = 0.05, 1 / 3  # of a supply's pressure
PUBLIC = "shower"  # row of the limits that a comfortable setting keeps to
CODE = "shower or bath by code"


@dataclass(frozen=True)
class Drift:
    """One thing that changes about a supply, and what the valve does then."""

    label: str
    state: MixingState


@lru_cache(maxsize=16)
def drifts(state: MixingState, units: str = "SI") -> tuple[Drift, ...]:
    """What the outlet does when one supply changes and the valve is left alone.

    ``units`` is for the labels.  A supply is not cooled below 1 °C nor heated above 99 °C.
    """
    now = state.supplies
    by = show(DRIFT, "rise", units)
    hot, cold = now.temperature_hot, now.temperature_cold
    cases = [
        (f"hot supply {by} hotter", replace(now, temperature_hot=min(hot + DRIFT, 372.15))),
        (f"hot supply {by} cooler", replace(now, temperature_hot=max(hot - DRIFT, 274.15))),
        (f"cold supply {by} warmer", replace(now, temperature_cold=min(cold + DRIFT, 372.15))),
        (f"cold supply {by} cooler", replace(now, temperature_cold=max(cold - DRIFT, 274.15))),
    ]
    for side, label in (("cold", "cold pressure"), ("hot", "hot pressure")):
        key = f"pressure_{side}"
        push = getattr(now, key)
        for fall, told in ((SMALL_FALL, "5 % lower"), (GREAT_FALL, "a third lower")):
            cases.append((f"{label} {told}", replace(now, **{key: push * (1 - fall)})))
    cases.append(("cold supply shut", replace(now, pressure_cold=0.0)))
    cases.append(("hot supply shut", replace(now, pressure_hot=0.0)))
    return tuple(Drift(label, mixing_state(state.valve, supplies)) for label, supplies in cases)


def pressure_work(state: MixingState) -> Work | None:
    """Worked steps of the pressure where both join; None unless both supplies flow in."""
    least = min(state.supplies.pressure_hot, state.supplies.pressure_cold)
    if not 0 < state.opening < 1 or not 0 < state.pressure < least or state.temperature is None:
        return None
    kv, by_mass = state.valve.flow_coefficient, mixing.kv_by_mass.si
    hot, cold = state.supplies.temperature_hot, state.supplies.temperature_cold
    return mixing.joined_pressure.work(
        flow_coefficient_hot=by_mass(kv * state.opening, density(hot)),
        flow_coefficient_cold=by_mass(kv * (1 - state.opening), density(cold)),
        flow_coefficient_outlet=by_mass(kv_outlet(state.valve), density(state.temperature)),
        pressure_hot=state.supplies.pressure_hot,
        pressure_cold=state.supplies.pressure_cold,
    )


def temperature_works(state: MixingState, *, short: bool = False) -> tuple[Work, ...]:
    """Worked steps of the outlet temperature, as far as both supplies flow into it.

    If ``short``, the pressure where both join is not worked out but proved: with it, what
    leaves by the outlet is what both openings let in.
    """
    joined = pressure_work(state)
    if joined is None or state.temperature is None:
        return ()
    valve, now = state.valve, state.supplies
    works = []
    if valve.kind == "fixed":
        day = valve.when_set
        works.append(
            mixing.hot_share.work(
                temperature_mixed=valve.setting,
                temperature_hot=day.temperature_hot,
                temperature_cold=day.temperature_cold,
            )
        )
        if short and day.pressure_hot == day.pressure_cold:
            works.append(
                mixing.opening_for_share.work(
                    share_hot=works[0].value,
                    density_hot=density(day.temperature_hot),
                    density_cold=density(day.temperature_cold),
                )
            )
    if not short:
        works.append(joined)
    masses = []
    for part, temperature, pressure in (
        (state.opening, now.temperature_hot, now.pressure_hot),
        (1 - state.opening, now.temperature_cold, now.pressure_cold),
    ):
        opening = mixing.kv_of_opening.work(flow_coefficient=valve.flow_coefficient, share=part)
        mass = mixing.valve_mass_flow.work(
            flow_coefficient=opening.value,
            density=density(temperature),
            pressure_loss=pressure - state.pressure,
        )
        works += [opening, mass]
        masses.append(mass.value)
    if short:
        leaves = mixing.valve_mass_flow.work(
            flow_coefficient=kv_outlet(valve),
            density=density(state.temperature),
            pressure_loss=state.pressure,
        )
        works.append(leaves)
    works.append(
        mixing.mixed_temperature.work(
            mass_flow_hot=masses[0],
            mass_flow_cold=masses[1],
            temperature_hot=now.temperature_hot,
            temperature_cold=now.temperature_cold,
        )
    )
    return tuple(works)


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
    kind = "set once by hand" if valve.kind == "fixed" else "thermostatic"
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
    if valve.kind == "fixed":
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
    band = f"held within {near}, typical" if state.valve.kind == "thermostatic" else ""
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
    if state.valve.kind == "fixed":
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


__all__ = ["CONTROL_BAND", "Drift", "drifts", "mixing_chapter", "temperature_works"]
