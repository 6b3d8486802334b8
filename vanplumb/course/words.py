"""A page of words: those of the trade, and the letters that the equations are written in."""

from __future__ import annotations

from pathlib import Path

from ..sheet import write_calculation
from ..words.glossary import WORDS, Word
from ..words.report import Chapter, Grid, grid
from ..words.show import pretty, unit

TRADE: dict[str, str] = {
    "accumulator": "a vessel with air behind a skin; it gives water while the pump rests",
    "backflow": "water that runs the wrong way, back into drinking water",
    "board": "the plywood that carries the manifolds",
    "build": "one van's water system, described in one file",
    "check valve": "lets water pass one way only",
    "cut-in, cut-out": "the pressures at which a pump's switch starts and stops it",
    "dead leg": "tube in which water stands and cools, or grows stale",
    "draw": "one use of one or more fixtures",
    "drawdown": "what an accumulator gives between cut-out and cut-in",
    "duty point": "where the pump's curve meets what is open",
    "expansion joint": "tube widened with its ring, over a fitting; it shrinks tight by itself",
    "finding": "one thing that the review noticed, with its limit and the limit's source",
    "fixture": "a point of use: tap, shower, outside outlet",
    "gauge pressure": "pressure above that of the air outside; absolute pressure counts that too",
    "grey water": "water that was used",
    "handle sweep": "the room that a valve's handle needs from shut to open",
    "heel": "water in a tank that the pump can't reach",
    "manifold": "a header with a shut-off valve for each zone that it feeds",
    "mixing valve": "lets hot and cold water together, so that what leaves is neither",
    "pack": "everything that one build gives: sheet, drawings, lists",
    "payload": "what a van may still carry",
    "precharge": "the air pressure of an accumulator without water",
    "recovery": "how fast a heater makes hot water again",
    "regulator": "holds the pressure behind it at or below its setting",
    "relief valve": "opens before pressure or heat can burst a heater; never to be blocked",
    "ring": "the collar on a tube's end before it is expanded",
    "rise": "a difference of heights, or of temperatures; never a temperature itself",
    "run": "tube between two components, with its fittings and its rise",
    "scald": "a burn by hot water",
    "setpoint": "the temperature at which a heater stops heating",
    "sheet": "the worked calculation",
    "shore inlet": "where a hose from a site's tap is joined",
    "strainer": "a sieve before the pump",
    "stub": "the short tube between two fittings of a manifold",
    "take-off": "how much of a centre-to-centre distance a fitting takes",
    "wait": "the time until hot water comes",
    "zone": "what one shut-off valve of a manifold feeds",
}
"""The words of the trade as this kit uses them (common practice, no source)."""


def trade() -> Grid:
    """The words of the trade, in order of the alphabet."""
    return grid("Words of the trade", sorted(TRADE.items()), {"word": 0, "meaning": 1})


def letters() -> Grid:
    """The letters of the equations, each with its meaning and the units that readers see."""

    def shown(row: tuple[str, Word]) -> str:
        return ", ".join(sorted({unit(row[0], system) or "–" for system in ("US", "SI")}))

    note = (
        "What stands behind the line _ is set small and low in an equation, and says of what: "
        "D_hole is the diameter of the hole."
    )
    return grid(
        "Letters",
        WORDS.items(),
        {
            "letter": lambda row: row[1].symbol,
            "meaning": lambda row: row[1].meaning,
            "in the sums": lambda row: pretty(row[1].unit) or "–",
            "as shown": shown,
        },
        note=note,
    )


def page() -> Chapter:
    """Both tables as one page."""
    return Chapter(key="words", title="Words and letters", grids=(trade(), letters()))


def write(folder: Path | str, units: str = "SI") -> list[Path]:
    """The page as PDF and HTML in a folder.  Gives the paths."""
    return write_calculation(page(), folder, units=units)
