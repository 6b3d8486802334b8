"""The charts of days and nights: flags beside their own lines, legible in both themes."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from pathlib import Path

import numpy as np
import pytest

import vanplumb
from vanplumb.drawings import style as theme
from vanplumb.drawings.charts.frost import frost_chart
from vanplumb.drawings.charts.lanes import PAPER, SCREEN, Frame
from vanplumb.drawings.charts.trip import trip_chart
from vanplumb.pack import example
from vanplumb.trip.cold.frost import DUSK
from vanplumb.trip.cold.night import ColdNight, cold_night
from vanplumb.trip.trip import Failure, Trip, failures

SVG = "{http://www.w3.org/2000/svg}"
WORKSHEETS = Path(vanplumb.__file__).parent / "worksheets" / "frame"


@pytest.mark.parametrize("wide", [PAPER, SCREEN])
def test_a_flag_tells_its_time_and_ends_at_its_own_line(wide: float) -> None:
    build = example("heron")
    outcome = Trip(build).planned
    found = failures(outcome)
    root = ET.fromstring(trip_chart(outcome, build.van.units, wide=wide))
    frame = Frame(wide, outcome.days * 86400.0)
    lines = [e for e in root.iter(f"{SVG}line") if e.get("stroke-dasharray") == "1.2 0.8"]
    assert len(lines) == len(found) >= 2
    for one in found:
        name = next(e for e in root.iter(f"{SVG}text") if e.text == f"{one.clock} {one.what}")
        x, y = float(name.get("x", 0)), float(name.get("y", 0))
        own = min(lines, key=lambda e: abs(float(e.get("x1", 0)) - x))
        assert float(own.get("x1", 0)) == pytest.approx(frame.x(one.when), abs=0.01)
        assert abs(float(own.get("x1", 0)) - x) < 1.0
        assert float(own.get("y1", 0)) < y  # the line reaches up beside its name


def test_no_flag_line_runs_up_through_the_name_of_another(monkeypatch: pytest.MonkeyPatch) -> None:
    build = example("heron")
    outcome = Trip(build).play(days=1)
    hours = (7.0, 7.5, 8.0, 16.0, 22.0, 23.0)
    made = tuple(Failure("runs dry", h * 3600.0) for h in hours)
    monkeypatch.setattr("vanplumb.drawings.charts.trip.failures", lambda *_: made)
    root = ET.fromstring(trip_chart(outcome, "SI", wide=SCREEN))
    names = [e for e in root.iter(f"{SVG}text") if (e.text or "").endswith(" runs dry")]
    assert len(names) == len(hours)
    lines = [e for e in root.iter(f"{SVG}line") if e.get("stroke-dasharray") == "1.2 0.8"]
    ends = [float(n.get("x", 0)) + 0.8 for n in names if n.get("text-anchor") == "end"]
    assert 0 < len(ends) < len(names)
    for name in names:
        x, y = float(name.get("x", 0)), float(name.get("y", 0))
        wide, left = 0.5 * 2.6 * len(name.text or ""), name.get("text-anchor") == "end"
        a, b = (x - wide, x) if left else (x, x + wide)
        for line in lines:
            at, top = float(line.get("x1", 0)), float(line.get("y1", 0))
            # only the line of a name at the right edge may pass behind one that stands before it
            behind = not left and any(abs(at - end) < 0.1 for end in ends)
            assert behind or not (a < at < b and top < y)


def _luminance(colour: str) -> float:
    parts = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255
    linear = np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)
    return float(linear @ np.array([0.2126, 0.7152, 0.0722]))


def _contrast(one: str, other: str) -> float:
    """The ratio of WCAG 2 (W3C), from memory."""
    low, high = sorted((_luminance(one), _luminance(other)))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("colour", [theme.HOT, theme.COLD, theme.MIXED, theme.AMBER, theme.GREEN,
                                    theme.GREY])  # fmt: skip
def test_words_in_a_colour_can_be_read_on_paper_and_in_a_dark_theme(colour: str) -> None:
    assert _contrast(colour, "#ffffff") >= 4.5
    name = theme.THEME[colour].removeprefix("var(").removesuffix(")")
    css = "".join((WORKSHEETS / n).read_text() for n in ("results.css", "worksheet.css"))
    dark = "".join(re.findall(r'body\[data-jp-theme-light="false"\] \.vanplumb \{([^}]*)\}', css))
    if name == "--vp-soft":  # that is the theme's own
        assert "--vp-soft: var(--jp-content-font-color2" in css
        return
    found = re.search(rf"{name}: (#[0-9a-f]{{6}})", dark)
    assert found and _contrast(found[1], "#111111") >= 4.5


def test_mixed_water_has_one_colour_on_paper_and_on_screen() -> None:
    for name in ("worksheet.css", "print.css"):
        assert f"--vp-mixed: {theme.MIXED}" in (WORKSHEETS / name).read_text()


def test_paper_needs_no_theme() -> None:
    build = example("dipper")
    drawn = trip_chart(Trip(build).planned, build.van.units)
    style = re.search(r"<style>(.*?)</style>", drawn)
    assert style is not None
    assert "var(" not in drawn.replace(style[0], "")
    selectors = [rule.split("{")[0] for rule in style[1].split("}") if rule]
    assert selectors and all(s.startswith(".vanplumb ") for s in selectors)


def _warm_end(found: ColdNight) -> float:
    """How far to the right the line of the water's warmth goes."""
    root = ET.fromstring(frost_chart(found, "US"))
    lines = [e for e in root.iter(f"{SVG}polyline") if e.get("stroke") == theme.HOT]
    return max(float(p.split(",")[0]) for e in lines for p in e.get("points", "").split(" "))


def test_ice_is_not_shown_at_a_warmth_that_was_not_computed() -> None:
    found = cold_night(coldest=258.15, warmest=268.15, insulation=0.0)
    night = found.night
    assert night.ice.max() == 1.0
    frame = Frame(SCREEN, float(night.hours[-1] - DUSK))
    full = float(night.hours[night.ice.argmax()] - DUSK)
    assert _warm_end(found) <= frame.x(full) + 0.01
    assert "not computed" in frost_chart(found, "US")
    mild = cold_night(coldest=271.0, warmest=280.0)
    assert mild.night.ice.max() < 1.0
    assert _warm_end(mild) == pytest.approx(frame.right, abs=0.01)
