"""The bench on a phone: one HTML file of one van that hands a small file back, without a network.

What is ticked and typed stays in the browser's storage until it is handed back; ``vanplumb
record FILE take`` reads the file and checks every entry.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..words.files import file_name, write_whole
from ..words.regions import Local
from ..words.show import show, unit, value
from .escape import visible
from .html_page import environment
from .wording import words_of

if TYPE_CHECKING:
    from ..shop import Shop
    from ..shop.commissioning import Check

TEMPLATE = "bench.html.j2"
FORMAT = 1
"""Of the file that the page hands back."""


def bench_page(shop: Shop, *, revision: str = "", date: str = "") -> str:
    """The page of one van's bench; the same build gives the same text."""
    from markupsafe import Markup

    build = shop.build
    data = json.dumps(_data(shop), ensure_ascii=True, sort_keys=True)
    safe = data.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")
    return (
        environment()
        .get_template(TEMPLATE)
        .render(
            van=build.van.name, mark=build.mark, revision=revision, date=date, data=Markup(safe)
        )
    )


def write_bench_page(shop: Shop, folder: Path | str, *, revision: str = "", date: str = "") -> Path:
    """Write the page into a folder.  Gives its path; OSError if it can't be written."""
    name = file_name(shop.build.van.name, "van")
    page = bench_page(shop, revision=revision, date=date)
    return write_whole(Path(folder) / f"{name}-bench.html", page)


def _data(shop: Shop) -> dict[str, Any]:
    build, units = shop.build, shop.build.van.units
    us = units == "US"
    say = words_of(build)

    def shown(text: str) -> str:
        return visible(say(text))

    groups: dict[str, list[dict[str, Any]]] = {}
    for joint in shop.joints:
        groups.setdefault(shown(joint.line or joint.place), []).append(
            {
                "name": joint.name,
                "shown": shown(joint.name),
                "sort": shown(joint.sort),
                "steps": [shown(s) for s in joint.steps],
                "refused": [shown(s) for s in joint.refused],
            }
        )
    return {
        "format": FORMAT,
        "van": visible(build.van.name),
        "mark": build.mark,
        "groups": [{"place": place, "joints": joints} for place, joints in groups.items()],
        "test": _test(shop, shown),
        "valves": [
            {"name": v.name, "asked": show(v.setting, "temperature", units)}
            for v in build.mixing_valve
        ],
        "commissioning": [
            _line(number, check, units, shown)
            for number, check in enumerate(shop.commissioning.checks, 1)
        ],
        "parts": [c.name for c in build.components],
        "units": {
            "pressure": "psi" if us else "bar",
            "temperature": "°F" if us else "°C",
            "duration": "h",
            "concentration": "mg/L",
        },
    }


def _line(number: int, check: Check, units: str, shown: Local) -> dict[str, Any]:
    """One line of the commissioning form, its band in the unit that is typed."""

    def typed(end: float | None) -> float | None:
        return None if end is None else round(value(end, check.word, units), 6)

    return {
        "name": check.name,
        "shown": shown(f"{number}. {check.name}"),
        "group": shown(check.group),
        "how": shown(check.how),
        "unit": unit(check.word, units) if check.word else "",
        "low": typed(check.low),
        "high": typed(check.high),
        "band": check.band(units),
        "below": [shown(c) for c in check.below],
        "above": [shown(c) for c in check.above],
        "limit": shown(check.limit),
    }


def _test(shop: Shop, shown: Local) -> dict[str, Any] | None:
    try:
        test = shop.test
    except ValueError:  # the region has no rule for it, or the van no pressure: the sheet says so
        return None
    units = shop.build.van.units
    return {
        "rule": visible(test.rule.name),
        "pressure": show(test.pressure, "pressure", units),
        "time": show(test.duration, "duration", units),
        "steps": [shown(s) for s in test.steps],
        "cautions": [f"{c.level}: {shown(c.text)}" for c in test.cautions],
    }
