"""Plots on matplotlib axes, in the colours of the drawings and the build's own units.

Each takes axes or makes its own, and gives them back for more to be drawn on.  matplotlib is
loaded when the first plot is drawn.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ..flow.engine import Flow
from ..trip.play.timeline import track
from ..trip.trip import Trip
from ..words.show import heading
from ..words.show import value as in_unit
from ..words.unit_table import DAY
from .style import COLD, GREEN, GREY, HOT, MIXED

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Array = NDArray[np.float64]

INK = "#767676"
"""Of letters: on a transparent ground they must read on a white page and on a dark one."""
SHOWN = {
    "water": ("volume", "water"),
    "heat": ("temperature", "hot water"),
    "battery": ("energy", "battery"),
}
"""What a plot of the days may show: its glossary word and what it is called."""


def axes_for(ax: Axes | None, *, wide: float = 7.2, high: float = 3.2) -> Axes:
    """The axes given, or new ones on a figure of their own, dressed as all plots are.

    Their ground is the page's, and so is that of a figure that nobody has given one.
    """
    from matplotlib import pyplot
    from matplotlib.colors import same_color

    if ax is None:
        _, ax = pyplot.subplots(figsize=(wide, high), layout="constrained")
    figure = ax.get_figure()
    if figure is not None and same_color(
        figure.get_facecolor(), pyplot.rcParams["figure.facecolor"]
    ):
        figure.set_facecolor("none")
    ax.set_facecolor("none")
    for label in (ax.xaxis.label, ax.yaxis.label):
        label.set_color(INK)
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)
    for side in ("left", "bottom"):
        ax.spines[side].set_color(GREY)
    ax.tick_params(colors=INK, color=GREY, labelsize=9)
    ax.grid(True, color=GREY, alpha=0.25, linewidth=0.6)
    ax.set_axisbelow(True)
    return ax


def trip_plot(trip: Trip, ax: Axes | None = None, *, show: str = "water") -> Axes:
    """The planned days: "water" aboard, "heat" in the store, or the "battery", with what fails.

    ValueError for another ``show``, or where the van has no such thing.
    """
    if show not in SHOWN:
        raise ValueError(f"show must be one of {', '.join(SHOWN)}, got {show!r}")
    word, name = SHOWN[show]
    system, plant = trip.build.van.units, trip.planned.plant
    if (show == "heat" and not plant.heaters) or (show == "battery" and plant.battery is None):
        raise ValueError(f"{trip.build.van.name} has no {'heater' if show == 'heat' else show}")
    kept = track(trip.planned)
    lines: list[tuple[Any, str, str, str]] = {
        "water": [
            *_each(kept["tanks"], [tank.name for tank in plant.tanks], "fresh", COLD),
            (kept["grey"], "grey", GREY, "-"),
        ],
        "heat": [
            *_each(kept["tops"], [one.name for one in plant.heaters], "top of the store", HOT),
            *_each(kept["means"], [one.name for one in plant.heaters], "mean of the store", MIXED),
        ],
        "battery": [(kept["charge"], "charge", GREEN, "-")],
    }[show]
    ax = axes_for(ax)
    days = kept["time"] / DAY + 1
    for values, label, colour, dashes in lines:
        ax.plot(
            days, in_units(values, word, system), color=colour, label=label, linewidth=1.6,
            linestyle=dashes,
        )  # fmt: skip
    for one in trip.failures:
        ax.axvline(one.when / DAY + 1, color=HOT, linestyle="--", linewidth=1.0)
        ax.annotate(
            f"{one.clock} {one.what}", (one.when / DAY + 1, 1.0), (-3, -3), color=INK,
            xycoords=ax.get_xaxis_transform(), textcoords="offset points", fontsize=8,
            rotation=90, ha="right", va="top",
        )  # fmt: skip
    ax.set_xlim(1.0, float(days[-1]))
    if show != "heat":
        ax.set_ylim(bottom=0.0)
    ax.set_xticks(range(1, int(np.ceil(days[-1])) + 1))
    ax.set_xlabel("day")
    ax.set_ylabel(heading(name, word, system))
    ax.set_title(f"{trip.build.van.name}: the planned stay", loc="left", fontsize=11, color=INK)
    ax.legend(frameon=False, fontsize=9, loc="best", labelcolor=INK)
    return ax


def _each(
    kept: Array, names: list[str], label: str, colour: str
) -> list[tuple[Any, str, str, str]]:
    """A line for each tank or heater, told apart by its dashes and its name."""
    dashes = ("-", "--", ":", "-.")
    return [
        (
            kept[:, n],
            label if len(names) == 1 else f"{label}, {name}",
            colour,
            dashes[n % len(dashes)],
        )
        for n, name in enumerate(names)
    ]


def flow_plot(flow: Flow, ax: Axes | None = None, *, open: Iterable[str] | None = None) -> Axes:
    """What each fixture gets alone, and what it gets with all of ``open`` open, or with all.

    ValueError for a fixture that the build does not have.
    """
    names = list(open) if open is not None else [one.name for one in flow.build.fixture]
    system = flow.build.van.units
    together = flow.solve(names).fixtures
    alone = [flow.solve([name]).fixtures[name].flow for name in names]
    ax = axes_for(ax, high=1.2 + 0.5 * len(names))
    places = np.arange(len(names))
    ax.barh(
        places - 0.19, in_units(np.array(alone), "flow", system), 0.36, color=COLD, alpha=0.45,
        label="alone",
    )  # fmt: skip
    both = np.array([together[name].flow for name in names])
    ax.barh(places + 0.19, in_units(both, "flow", system), 0.36, color=COLD, label="all open")
    ax.set_yticks(places, names)
    ax.invert_yaxis()
    ax.set_xlabel(heading("flow", "flow", system))
    ax.set_title(
        f"{flow.build.van.name}: what each fixture gets", loc="left", fontsize=11, color=INK
    )
    ax.legend(frameon=False, fontsize=9, loc="best", labelcolor=INK)
    return ax


def variants_plot(
    figures: tuple[Any, Any], words: tuple[str, str], labels: tuple[str, str], unbeaten: Any,
    base: tuple[float, float], system: str, title: str, ax: Axes | None = None,
) -> Axes:  # fmt: skip
    """Variants as dots over two results (SI); those that nothing beats, and the build as it is."""
    ax = axes_for(ax, high=4.2)
    x, y = (in_units(np.asarray(f), w, system) for f, w in zip(figures, words, strict=True))
    ax.scatter(x, y, s=9, color=GREY, alpha=0.45, linewidths=0, label="a variant")
    best = np.asarray(unbeaten, int)
    ax.scatter(x[best], y[best], s=30, color=MIXED, linewidths=0, label="nothing beats it")
    now = [in_unit(b, w, system) for b, w in zip(base, words, strict=True)]
    ax.scatter(now[:1], now[1:], s=70, facecolors="none", edgecolors=HOT, label="as it is")
    ax.set_xlabel(heading(labels[0], words[0], system))
    ax.set_ylabel(heading(labels[1], words[1], system))
    ax.set_title(title, loc="left", fontsize=11, color=INK)
    ax.legend(frameon=False, fontsize=9, loc="best", labelcolor=INK)
    return ax


def in_units(figures: Array, word: str, system: str) -> Array:
    """Figures in SI in the reader's unit: every unit is a line from SI."""
    zero, one = in_unit(0.0, word, system), in_unit(1.0, word, system)
    return np.asarray(zero + (one - zero) * np.asarray(figures, float))
