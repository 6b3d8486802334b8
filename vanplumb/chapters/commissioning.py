"""The commissioning form on paper: every figure's band, room to write, and what to look at."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Protocol

from ..shop.commissioning import GROUPS, Check
from ..words.report import RIGHT, WRITE, Caution, Chapter, Grid, grid
from ..words.show import capital

if TYPE_CHECKING:
    from ..shop.engine import Shop


class Seen(Protocol):
    """What of a reading in the record is printed."""

    @property
    def value(self) -> str: ...
    @property
    def verdict(self) -> str: ...
    @property
    def by(self) -> str: ...
    @property
    def date(self) -> str: ...
    @property
    def outside(self) -> bool: ...


def commissioning_form(shop: Shop, seen: Mapping[str, Seen] | None = None) -> Chapter:
    """The form, blank or with what the record holds (by the names of its lines)."""
    form, seen = shop.commissioning, seen or {}
    numbered = list(enumerate(form.checks, 1))
    grids = [
        _group(group, [(n, c) for n, c in numbered if c.group == group], seen, shop)
        for group in GROUPS
        if any(c.group == group for c in form.checks)
    ]
    grids.append(_causes(numbered))
    unknown = (f"flows and temperatures: {form.unknown}",) if form.unknown else ()
    return Chapter(
        "commissioning",
        "Commissioning",
        basis=(
            "Each figure is read at the finished van, after the pressure test. A figure outside "
            "its band is put right, or somebody answers for it, before the hand-over.",
            "Bands of flows and temperatures hold 99 of 100 sound vans, the instrument's error "
            "included; the water in the tank is as the build says.",
            f"To note a line: vanplumb record {_file(shop)} commission NUMBER VALUE --by INITIALS",
        ),
        grids=tuple(grids),
        cautions=_cautions(shop),
        not_computed=(*unknown, "what two things wrong at once would read"),
    )


def _file(shop: Shop) -> str:
    path = shop.build.path
    return path.name if path is not None else "FILE"


def _group(group: str, rows: list[tuple[int, Check]], seen: Mapping[str, Seen], shop: Shop) -> Grid:
    units = shop.build.van.units

    def read(row: tuple[int, Check]) -> str:
        one = seen.get(row[1].name)
        if one is None:
            return ""
        return f"{one.value}: {one.verdict.upper()}" if one.outside else one.value

    def by(row: tuple[int, Check]) -> str:
        one = seen.get(row[1].name)
        return "" if one is None else ", ".join(filter(None, (one.by, one.date)))

    basis = dict.fromkeys(c.basis for _, c in rows if c.basis)
    return grid(
        capital(group),
        rows,
        {
            "no.": (lambda row: str(row[0]), RIGHT),
            "what": lambda row: row[1].name,
            "how": lambda row: row[1].how,
            "expected": (lambda row: row[1].band(units), RIGHT),
            "found": (read, WRITE),
            "by, on": (by, WRITE),
        },
        note="; ".join(basis),
    )


def _causes(numbered: list[tuple[int, Check]]) -> Grid:
    """What to look at: figures with the same causes together."""
    found: dict[tuple[str, tuple[str, ...]], list[int]] = {}
    for number, check in numbered:
        for side, causes in (("below", check.below), ("above", check.above)):
            if causes:
                found.setdefault((side, causes), []).append(number)
    return grid(
        "If it is outside",
        found.items(),
        {
            "no.": lambda row: ", ".join(map(str, row[1])),
            "is": lambda row: row[0][0],
            "look at, the cheapest first": lambda row: "; ".join(row[0][1]),
        },
        note="common practice, no source; the worksheet of readings tells causes apart by all "
        "readings together",
    )


def _cautions(shop: Shop) -> tuple[Caution, ...]:
    build, said = shop.build, []
    if build.heater:
        said.append(("WARNING", "Hot outlets scald while they are measured. An outlet above its "
                     "limit is used by nobody until it is right."))  # fmt: skip
    if any(h.relief is not None for h in build.heater):
        said.append(("WARNING", "A relief valve throws hot water: lift it with the heater cold, "
                     "its outlet clear. One that drips afterwards is changed."))  # fmt: skip
    if build.accumulator:
        said.append(("CAUTION", "Air is put into an accumulator with its water side empty, and "
                     "never above what its plate allows."))  # fmt: skip
    return (*(Caution(*one) for one in said), *(shop.dose.cautions if shop.dose else ()))
