"""Worksheet that compares thousands of variants of a build: scatter, reasons, targets."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import ipywidgets as widgets

from ...drawings.charts.scatter import AxisOf, places, scatter_picture
from ...explore.choices import usual
from ...explore.side_by_side import Comparison, chapter, compare, left
from ...explore.variants import Variants, explore
from ...sheet.wording import told_drawing, words_of
from ...van import Build
from ...words.regions import Local
from ...words.report import Picture
from ...words.show import counted
from ..frame.base import Choice, Flag, Text, Worksheet

QUESTION = (
    "Each dot is the van with other sizes. Violet dots are those that nothing beats; press one to "
    "see why it stands there. Set targets to see which variants meet them and what each costs."
)
BUTTONS = 60
APART = 0.03
TRIPS = 200
NONE = "nothing else"


def compare_worksheet(
    build: Build,
    choices: Mapping[str | tuple[str, ...], Any] | None = None,
    *,
    sample: int = 0,
    seed: int = 1,
    x: str = "weight",
    y: str = "nights",
    **values: Any,
) -> Worksheet:
    """Variants of a build compared; ``choices`` as for ``explore``, the usual ones if None.

    ``x`` and ``y`` are keys of results.  ``values`` open the worksheet with other fields set.
    ValueError or KeyError if a choice, result or field can't be.
    """
    chosen = usual(build) if choices is None else choices
    return compare_variants(explore(build, chosen, sample=sample, seed=seed), x=x, y=y, **values)


def compare_variants(
    variants: Variants, *, x: str = "weight", y: str = "nights", **values: Any
) -> Worksheet:
    """The worksheet of variants that were worked out already."""
    keys = list(variants.measures)
    for key in (x, y):
        if key not in keys:
            raise KeyError(f"no result {key!r}; there are {', '.join(keys)}")
    told = [(one.label, key) for key, one in variants.measures.items()]
    better = [(one.label, key) for key, one in variants.measures.items() if one.better]
    say = words_of(variants.build)
    stage = _Stage(say)
    load = "250 lb" if variants.build.van.units == "US" else "110 kg"
    sheet = Worksheet(
        "Compare variants",
        question=QUESTION,
        units=variants.build.van.units,
        words=say,
        fields=[
            "What is plotted",
            Choice("across", "across", told, x),
            Choice("up", "up", told, y),
            Choice("also", "compared in this as well", [(NONE, NONE), *better]),
            "Targets",
            Text("target_1", "target", "", about="such as: wait at shower at most 20 s"),
            Text("target_2", "and", "", about="such as: nights at least 4"),
            Text("target_3", "and", "", about=f"such as: weight at most {load}"),
            Choice("wanted", "of those that meet all, the best in", better, _first(better)),
            "Side by side",
            Text(
                "shown",
                "numbers of variants; the first is explained",
                "",
                about="press a violet dot",
            ),
            Flag("chance", "chance of failure, too (takes a moment)", False),
        ],
        compute=lambda state: _compute(variants, state),
        first=lambda state: _first_of(variants, state),
        draw=lambda result, units: stage.draw(result, units),
        chapter=lambda result, units: chapter(result[0]).with_pictures(stage.picture()),
        stage=stage.box,
    )
    stage.pick = lambda number: _pick(sheet, number)
    if values:
        sheet.set(**values)
    return sheet


def _first(options: Sequence[tuple[str, str]]) -> str:
    return options[0][1]


def _first_of(
    variants: Variants, state: Mapping[str, Any]
) -> tuple[tuple[Comparison, str, str], Iterator[None] | None]:
    """What all variants have stands there at once; what one's own engines tell comes after."""
    result = _compute(variants, state, at_once=True)
    return result, left(result[0]) if result[0].pending or state["chance"] else None


def _compute(
    variants: Variants, state: Mapping[str, Any], at_once: bool = False
) -> tuple[Comparison, str, str]:
    across, up = state["across"], state["up"]
    wanted = [across, up] + ([] if state["also"] == NONE else [state["also"]])
    objectives = {key: "" for key in wanted if variants.measures[key].better}
    if not objectives:
        raise ValueError("nobody can say which way these results are better: plot another one")
    shown = [_number(part, variants.size) for part in state["shown"].split(",") if part.strip()]
    targets = [state[f"target_{n}"] for n in (1, 2, 3)]
    result = compare(
        variants,
        objectives,
        targets=targets,
        wanted=state["wanted"],
        shown=list(dict.fromkeys(shown))[:4],
        trips=TRIPS if state["chance"] and not at_once else 0,
        at_once=at_once,
    )
    return result, across, up


def _number(text: str, size: int) -> int:
    text = text.strip()
    if not text.isascii() or not text.isdigit() or int(text) >= size:
        raise ValueError(f'side by side needs numbers from 0 to {size - 1}, got "{text}"')
    return int(text)


def _pick(sheet: Worksheet, number: int) -> None:
    """Put a variant first among those side by side."""
    before = [part.strip() for part in sheet.values["shown"].split(",") if part.strip()]
    rest = [part for part in before if part != str(number)][:2]
    sheet.press(shown=", ".join([str(number), *rest]))


MARKS = (
    "violet where nothing beats it, green where every target is met, a cross for the van as it is"
)
LEGEND = (
    '<div class="vp-note vp-legend">'
    + "".join(
        f'<span><svg viewBox="0 0 12 12" width="12" height="12" aria-hidden="true">{mark}</svg> '
        f"{words}</span>"
        for mark, words in (
            ('<circle cx="6" cy="6" r="2" fill="#8a949d"/>', "a variant"),
            ('<circle cx="6" cy="6" r="2.6" class="vp-good-dot"/>', "meets every target"),
            ('<circle cx="6" cy="6" r="4" fill="#8f62c8"/>', "nothing beats it"),
            (
                '<path d="M0 6h12M6 0v12" stroke="currentColor" stroke-width="2"/>',
                "as it is",
            ),
        )
    )
    + "</div>"
)
"""What the marks of the scatter mean."""


class _Stage:
    """The scatter with a button over each variant that nothing beats, from left to right."""

    def __init__(self, say: Local) -> None:
        self._say = say
        self._picture = widgets.HTML()
        self._picture.add_class("vp-scatter-picture")
        self._numbers: list[int] = []
        self._buttons = [widgets.Button() for _ in range(BUTTONS)]
        for place, button in enumerate(self._buttons):
            button.add_class("vp-point")
            button.on_click(lambda _, place=place: self.pick(self._numbers[place]))
        self._note = widgets.HTML()
        self._over = widgets.Box([self._picture, *self._buttons])
        self._over.add_class("vp-scatter")
        self.box = widgets.VBox([self._over, widgets.HTML(LEGEND), self._note])
        self.pick: Any = lambda number: None
        self._drawn: tuple[Any, ...] = ()
        self.svg = ""

    def draw(self, result: tuple[Comparison, str, str], units: str) -> list[str]:
        """Bring picture and buttons up to date; the frame itself has nothing left to draw."""
        one, across, up = result
        variants = one.variants
        x, y = (
            AxisOf(m.label, m.word, variants.values[m.key], m.better)
            for m in (variants.measures[across], variants.measures[up])
        )
        meeting = None
        if one.outcome.targets:
            meeting = _meets(one)
        svg = scatter_picture(
            x,
            y,
            units,
            unbeaten=one.unbeaten.tolist(),
            meeting=meeting,
            base=(variants.base[across], variants.base[up]),
            picked=one.picked,
        )
        self.svg = self._picture.value = told_drawing(svg, self._say)
        self._lay(one, x, y, units)
        return []

    def picture(self) -> Picture:
        """The scatter for the sheet."""
        return Picture("compare-scatter", "Each variant; " + MARKS, self.svg)

    def _lay(self, one: Comparison, x: AxisOf, y: AxisOf, units: str) -> None:
        order = sorted(one.unbeaten.tolist(), key=lambda n: float(x.figures[n]))
        chosen = _apart(order, places(x, y, order, units))
        now = (tuple(chosen), x.title, y.title, units)
        if now == self._drawn:
            return
        self._drawn, self._numbers = now, chosen
        spots = places(x, y, chosen, units)
        for place, button in enumerate(self._buttons):
            if place >= len(chosen):
                button.layout.display = "none"
                continue
            across, down = spots[place]
            n = chosen[place]
            shown = [one.variants.shown(k, n) for k in one.objectives]
            with button.hold_sync():
                button.tooltip = f"no. {n}: {', '.join(shown)}"
            with button.layout.hold_trait_notifications():
                button.layout.left, button.layout.top = f"{across:.2%}", f"{down:.2%}"
                button.layout.display = ""
        left = len(order) - len(chosen)
        more = f" {left} more lie on or close by them: name one by its number." if left else ""
        told = f"{counted(len(chosen), 'violet dot')} can be pressed.{more}"
        self._note.value = f'<div class="vp-source">{told}</div>'


def _apart(numbers: Sequence[int], spots: Sequence[tuple[float, float]]) -> list[int]:
    """Of some dots those that a finger can tell apart, at most one for each button."""
    kept: list[tuple[int, float, float]] = []
    for number, (across, down) in zip(numbers, spots, strict=True):
        near = any(abs(across - a) < APART and abs(down - b) < APART for _, a, b in kept)
        if not near and across == across and down == down:
            kept.append((number, across, down))
    step = max(1, -(-len(kept) // BUTTONS))
    return [number for number, _, _ in kept[::step]]


def _meets(one: Comparison) -> Any:
    import numpy as np

    flags = [t.met(one.variants.values[t.key]) for t in one.outcome.targets]
    return np.logical_and.reduce(flags)
