"""Setting a mixing valve once and for all, and what its two measurements say."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ...flow.mixing.check import SUMMER
from ...formulas.mixing import hot_share, temperature_from_share
from ...van.kinds import mixing_valves
from ...van.ratings import highest_temperature
from ...van.region import limit_at, region_of
from ...words.quantity import read
from ...words.report import Caution
from ...words.show import show
from ...words.sources import PRACTICE, Source
from ...words.work import Work

if TYPE_CHECKING:
    from ...van.model import Build
    from ...van.parts import MixingValve

UNKNOWN = 322.15
"""49 °C: taken where no limit of the region is known (common practice, no source)."""
NEAR = 1.5
"""How near to the wanted temperature counts as set, K (common practice, no source)."""


@dataclass(frozen=True)
class AtFlow:
    """One measurement at the outlet: flow in m³/s and temperature in K, after it is steady."""

    flow: float
    temperature: float


@dataclass(frozen=True)
class SetValve:
    """What two measurements say.

    ``share`` is the hot water in the mix, ``hottest`` the outlet when the heater is at the top
    of its range with the valve left as it is; ``spread`` between the two flows.
    """

    valve: str
    wanted: float
    limit: float
    limit_source: Source
    readings: tuple[AtFlow, AtFlow]
    share: float
    hottest: float
    spread: float
    good: bool
    remarks: tuple[Caution, ...]
    work: tuple[Work, ...]


def limit_of(build: Build, valve: str = "") -> tuple[float, Source]:
    """The greatest temperature at the outlets of a valve, or of all, and whose limit it is.

    Without any rule it is the hottest that is not known to burn at once, 49 °C.
    """
    found = limit_at(build, valve)
    return (found.value, found.source) if found else (UNKNOWN, PRACTICE)


def judge_setting(
    build: Build, valve: MixingValve, first: AtFlow, second: AtFlow, hot: float, cold: float
) -> SetValve:
    """Judge a valve from two flows; ``hot`` and ``cold`` are the supplies then, K.

    ValueError unless the flows differ by a third, hot is warmer than cold, and the outlet is
    between them.
    """
    units = build.van.units
    low, high = sorted((first, second), key=lambda r: r.flow)
    if high.flow < 1.33 * low.flow:
        raise ValueError("the two flows must differ by at least a third")
    if hot <= cold + 1:
        raise ValueError("the hot supply must be warmer than the cold one")
    for one in (low, high):
        if not cold - 0.5 <= one.temperature <= hot + 0.5:
            raise ValueError(
                f"{show(one.temperature, 'temperature', units)} is not between the supplies"
            )
    warm = max(low.temperature, high.temperature)
    share = hot_share.work(temperature_mixed=warm, temperature_hot=hot, temperature_cold=cold)
    top = max(highest_temperature(build, "hot").value, hot)
    summer = min(max(cold, build.van.cold_water + SUMMER), top)
    hottest = temperature_from_share.work(
        share_hot=min(max(share.value, 0.0), 1.0), temperature_hot=top, temperature_cold=summer
    )
    limit, source = limit_of(build, valve.name)
    spread = abs(high.temperature - low.temperature)
    own_limit = mixing_valves.holds_outlet(valve)
    remarks = _remarks(build, valve.setting, warm, limit, hottest.value, spread, own_limit)
    good = not any(r.level in ("DANGER", "WARNING", "CAUTION") for r in remarks)
    return SetValve(
        valve.name, valve.setting, limit, source, (low, high), share.value, hottest.value,
        spread, good, remarks, (share, hottest),
    )  # fmt: skip


def _remarks(
    build: Build,
    wanted: float,
    warm: float,
    limit: float,
    hottest: float,
    spread: float,
    acts: bool,
) -> tuple[Caution, ...]:
    units, here = build.van.units, region_of(build).row
    band = here.number("control_band")

    def t(value: float) -> str:
        return show(value, "temperature", units)

    said = []
    if warm > limit:
        said.append(Caution("DANGER", f"The outlet is {t(warm)}, above the limit of {t(limit)}."))
    elif hottest > limit and not acts:
        said.append(
            Caution(
                "WARNING",
                f"With the heater at its hottest and the valve as it is the outlet would be "
                f"{t(hottest)}, above the limit of {t(limit)}: set it lower.",
            )
        )
    if spread > band:
        said.append(
            Caution(
                "CAUTION",
                f"The outlet moves by {show(spread, 'rise', units)} between the two flows, more "
                f"than {show(band, 'rise', units)} ({here.source('control_band')}): "
                "unequal pressures or a clogged inlet.",
            )
        )
    if abs(warm - wanted) > NEAR:
        said.append(Caution("NOTICE", f"It was to be {t(wanted)} and is {t(warm)}: set it again."))
    said.append(
        Caution(
            "NOTICE",
            "Lock or cap the knob, note both supplies, and measure again each season.",
        )
    )
    return tuple(said)


def setting_steps(build: Build) -> tuple[str, ...]:
    """How a valve is set, step by step."""
    limit, _ = limit_of(build)
    return (
        "heater at the top of its range, nothing else open; water in the tank as warm as it gets "
        "in summer, or leave room for that below the limit",
        "open the outlet fully, wait until a thermometer in the stream stands still",
        f"turn until it is right, never above {show(limit, 'temperature', build.van.units)}",
        "note the temperature and the flow (a bucket and a watch)",
        "close the outlet to about half the flow, wait, and note both again",
        "note the hot and the cold supply too, lock the knob, write it all into the record",
    )


def read_outlet(text: str) -> tuple[AtFlow, AtFlow]:
    """Two lines such as ``1.5 gpm, 100 °F``: full open first.  ValueError says what is wrong."""
    lines = [line for line in text.splitlines() if line.strip()]
    if len(lines) != 2:
        raise ValueError(
            f"type two lines, flow and temperature, full open and about half; {len(lines)} so far"
        )
    full, half = (AtFlow(*_two(line, "flow", "temperature")) for line in lines)
    if not 0 < half.flow < full.flow:
        raise ValueError("the second flow must be less than the first, and more than none")
    return full, half


def read_supplies(text: str) -> tuple[float, float]:
    """Hot and cold supply, K, of a line such as ``140 °F, 60 °F``.  ValueError as above."""
    if not text.strip():
        raise ValueError("type both supplies, hot and cold, as measured")
    return _two(text, "temperature", "temperature")


def _two(line: str, first: str, second: str) -> tuple[float, float]:
    parts = [p.strip() for p in line.replace(";", ",").split(",")]
    if len(parts) != 2:
        raise ValueError(f'write two figures with a comma between them, got "{line.strip()[:40]}"')
    return read(parts[0], first), read(parts[1], second)
