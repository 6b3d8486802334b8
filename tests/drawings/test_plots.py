"""Plots for those who script: what is drawn are the engines' own figures in the build's units."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest

import vanplumb as vp
from vanplumb.explore import explore
from vanplumb.trip.play.timeline import track
from vanplumb.words import plots
from vanplumb.words.show import value

matplotlib = pytest.importorskip("matplotlib")
matplotlib.use("agg")


@pytest.fixture(scope="module")
def pack() -> vp.Pack:
    return vp.Pack(vp.example("wren"))


@pytest.fixture(autouse=True)
def none_left_open() -> Iterator[None]:
    yield
    from matplotlib import pyplot

    pyplot.close("all")


def test_the_days_are_drawn_in_the_builds_units(pack: vp.Pack) -> None:
    ax = pack.trip.plot()
    system = pack.build.van.units
    fresh = track(pack.trip.planned)["fresh"]
    assert ax.lines[0].get_ydata()[0] == pytest.approx(value(float(fresh[0]), "volume", system))
    assert ax.lines[0].get_ydata()[-1] == pytest.approx(value(float(fresh[-1]), "volume", system))
    assert ax.get_ylabel().startswith("water, ")
    assert len(ax.texts) == len(pack.trip.failures)


def test_axes_are_taken_and_given_back(pack: vp.Pack) -> None:
    from matplotlib import pyplot

    _, own = pyplot.subplots()
    assert pack.flow.plot(ax=own) is own
    assert pack.trip.plot(own) is own


def contrast(one: Any, other: Any) -> float:
    """WCAG 2.1, relative luminance and contrast ratio."""
    from matplotlib.colors import to_rgb

    def luminance(colour: Any) -> float:
        parts = [
            v / 12.92 if v <= 0.03928 else ((v + 0.055) / 1.055) ** 2.4 for v in to_rgb(colour)
        ]
        return float(np.dot(parts, (0.2126, 0.7152, 0.0722)))

    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("page", ["#ffffff", "#111111"])
def test_plots_have_the_pages_ground_and_read_on_white_and_on_dark(page: str) -> None:
    """JupyterLab's two grounds.  No grey reaches 4.5 to 1 on both: the middle is 4.3."""
    from matplotlib import pyplot

    shown = vp.Pack(vp.example("dipper")).trip
    for ax in (shown.plot(), shown.plot(show="heat"), shown.plot(pyplot.subplots()[1])):
        figure = ax.get_figure()
        assert figure.get_facecolor()[3] == 0 and ax.get_facecolor()[3] == 0
        letters = [ax.xaxis.label, ax.yaxis.label, *ax.texts, *ax.legend_.get_texts()]
        letters += [ax.get_xticklabels()[0], ax._left_title]
        assert min(contrast(one.get_color(), page) for one in letters) > 4.1
        assert min(contrast(line.get_color(), page) for line in ax.lines) > 3
    dark = pyplot.figure(facecolor="#202020").subplots()
    assert shown.plot(dark).get_figure().get_facecolor()[3] == 1, "a ground that was chosen stays"


def test_flows_are_those_of_the_engine() -> None:
    pack = vp.Pack(vp.example("heron"))
    names = [one.name for one in pack.build.fixture]
    ax = pack.flow.plot()
    wide = [bar.get_width() for bar in ax.patches]
    system = pack.build.van.units
    alone = [value(pack.flow.solve([n]).fixtures[n].flow, "flow", system) for n in names]
    both = pack.flow.solve(names).fixtures
    assert wide == pytest.approx([*alone, *(value(both[n].flow, "flow", system) for n in names)])
    assert len(pack.flow.plot(open=names[:1]).patches) == 2
    with pytest.raises(ValueError, match="no fixture 'bidet'"):
        pack.flow.plot(open=["bidet"])


def test_every_variant_is_a_dot_and_those_unbeaten_are_marked(pack: vp.Pack) -> None:
    variants = explore(pack.build, {"crew.people": [1, 2, 3]}, ["nights", "weight"])
    ax = variants.plot("weight", "nights")
    dots: list[Any] = [np.asarray(c.get_offsets()) for c in ax.collections]
    assert [len(d) for d in dots] == [3, len(variants.unbeaten(["weight", "nights"])), 1]
    assert dots[0][:, 1] == pytest.approx(np.asarray(variants.values["nights"]))
    with pytest.raises(KeyError):
        variants.plot("weight", "comfort")


def test_what_a_van_does_not_have_is_told(pack: vp.Pack) -> None:
    with pytest.raises(ValueError, match="show must be one of water, heat, battery, got 'fuel'"):
        pack.trip.plot(show="fuel")
    with pytest.raises(RuntimeError, match="nobody draws a board"):
        plots.plot("board", pack)


def test_matplotlib_is_loaded_by_the_first_plot_alone() -> None:
    code = (
        "import sys, vanplumb as vp; from vanplumb.drawings import plots; "
        "p = vp.Pack(vp.example('wren')); p.trip; p.flow; "
        "print([m for m in sys.modules if m.startswith('matplotlib')])"
    )
    env = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=env)
    assert run.stdout.strip() == "[]", run.stderr
