"""A heater and its row of showers on the sheet."""

from __future__ import annotations

from ..trip.play.session import Session
from ..words.report import Answer, Caution, Chapter
from ..words.show import show


def session_chapter(found: Session, system: str) -> Chapter:
    """The heater and its showers on a sheet."""
    works = found.works
    count = len(found.showers)
    coolest = min(found.showers, key=lambda one: one.warmth)
    answers = [
        Answer("showers that are warm", f"{found.warm} of {count}", key=True),
        Answer("coolest of them, on the whole", coolest.warmth, "temperature"),
    ]
    if not found.heater.flow_through:
        answers += [
            Answer(
                "from cold to hot",
                found.heat_time if found.heat_time is not None else "never: it loses as much",
                "duration" if found.heat_time is not None else "",
                (works["heat"], works["time"]),
                note="the steps leave the losses aside",
            ),
            Answer(
                "hot again after the last",
                found.recovered if found.recovered is not None else "not within four hours",
                "duration" if found.recovered is not None else "",
            ),
            Answer("comes out hot before cold mixes in", works["usable"].value, "volume",
                   (works["usable"],)),
        ]  # fmt: skip
        if "yield" in works:
            warm = show(found.wanted, "temperature", system)
            answers.append(
                Answer(f"which makes, at {warm}", works["yield"].value, "volume", (works["yield"],))
            )
    else:
        answers.append(
            Answer(
                "most that it can warm the whole flow",
                works["rise"].value,
                "rise",
                (works["rise"],),
            )
        )
    hourly = show(works["recovery"].value * 3600, "volume", system)
    answers.append(
        Answer(
            "recovery",
            works["recovery"].value,
            "flow",
            (works["recovery"],),
            note=f"{hourly} an hour, from cold to the setpoint",
        )
    )
    gap = float(found.outcome.heat_gap()[0])
    answers.append(
        Answer("heat unaccounted for", "less than 0.0001 %" if gap < 1e-6 else f"{gap * 100:.2f} %")
    )
    cautions = []
    if found.heater.setpoint > 322.15:
        cautions.append(
            Caution(
                "WARNING",
                "Water of this heat scalds. Mix it at the taps with a valve that shuts when cold "
                "fails, by local codes.",
            )
        )
    if found.heater.setpoint < 333.15 - 0.01 and not found.heater.flow_through:
        cautions.append(
            Caution(
                "WARNING",
                "A store below 60 °C (140 °F) may breed legionella (UK HSG274). Follow "
                "local advice.",
            )
        )
    return Chapter(
        key="session",
        title="Heater and showers",
        basis=(
            "The lowest 30 % of a store is stirred by the cold that comes in; above it the water "
            "moves as a plug in layers. Runs are left out.",
            "A hand mixes to what is wanted as long as the hot water allows it.",
        ),
        answers=tuple(answers),
        cautions=tuple(cautions),
        not_computed=("The heater's own metal.", "Runs between heater and shower."),
    )
