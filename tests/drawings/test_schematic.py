"""The schematic lays itself out: nothing overlaps, widths follow flows, grey print tells hot."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from itertools import combinations, pairwise

import pytest

from tests.flow.random_builds import random_build
from vanplumb import example
from vanplumb.drawings.schematic.draw import (
    LETTER,
    LINE,
    PER_LETTER,
    Schematic,
    schematic,
)
from vanplumb.drawings.schematic.layers import crossings
from vanplumb.drawings.warmth import colour
from vanplumb.flow.engine import Flow
from vanplumb.van import Build, loads

SVG = "{http://www.w3.org/2000/svg}"


def big() -> Build:
    """Thirty and more components on two manifolds."""
    text = [
        'format = 1\n[van]\nname = "Big"\nunits = "SI"\n[[tank]]\nname = "fresh"\nshape = "box"\n'
        'length = "1 m"\nwidth = "0.5 m"\nheight = "0.4 m"\n[[strainer]]\nname = "strainer"\n'
        '[[pump]]\nname = "pump"\nkind = "electric"\ncurve = "12 V 3.4 gpm 50 psi"\n'
        '[[accumulator]]\nname = "accumulator"\nvolume = "1 L"\nprecharge = "2 bar"\n'
        '[[tee]]\nname = "joint"\n[[shore_inlet]]\nname = "shore inlet"\n'
        '[[regulator]]\nname = "regulator"\nsetting = "3 bar"\n[[check_valve]]\nname = "check"\n'
        '[[manifold]]\nname = "cold manifold"\nside = "cold"\ntube = "PEX 3/4 in"\n'
        '[[manifold]]\nname = "hot manifold"\nside = "hot"\ntube = "PEX 3/4 in"\n'
        '[[heater]]\nname = "heater"\nkind = "storage"\nvolume = "20 L"\nsetpoint = "60 °C"\n'
        'element_power = "1 kW"\n[[zone]]\nmanifold = "cold manifold"\nname = "heater"'
    ]
    runs = [
        ("fresh", "strainer"),
        ("strainer", "pump"),
        ("pump", "joint"),
        ("shore inlet", "regulator"),
        ("regulator", "check"),
        ("check", "joint"),
        ("joint", "accumulator"),
        ("joint", "cold manifold"),
        ("cold manifold.heater", "heater"),
        ("heater", "hot manifold"),
    ]
    for i in range(14):
        for side in ("cold", "hot"):
            text.append(f'[[zone]]\nmanifold = "{side} manifold"\nname = "z{i}"')
        if i % 2:
            text.append(f'[[fixture]]\nname = "basin {i}"\nkind = "basin tap"')
            runs += [(f"{s} manifold.z{i}", f"basin {i}.{s}") for s in ("cold", "hot")]
        else:
            text.append(
                f'[[mixing_valve]]\nname = "valve {i}"\nkind = "thermostatic"\n'
                f'setting = "40 °C"\n[[fixture]]\nname = "shower {i}"\nkind = "shower"'
            )
            runs += [(f"{s} manifold.z{i}", f"valve {i}.{s}") for s in ("cold", "hot")]
            runs.append((f"valve {i}", f"shower {i}"))
    text += [
        f'[[run]]\nfrom = "{a}"\nto = "{b}"\ntube = "PEX 1/2 in"\nlength = "1 m"' for a, b in runs
    ]
    return loads("\n".join(text))


BUILDS = {
    "dipper": example("dipper"),
    "heron": example("heron"),
    "wren": example("wren"),
    "big": big(),
    **{f"random {s}": loads(random_build(s)) for s in (1, 4, 9, 12)},
}


def labels(s: Schematic) -> list[tuple[str, float, float, float, float]]:
    """Name and box (left, top, right, bottom) of each component's writing, values included."""
    found = []
    for spot in s.spots.values():
        lines = s.label(spot.name)
        if not lines:
            continue
        half = max(len(x) for x in lines) * PER_LETTER / 2
        foot = spot.y + spot.below - 6
        top = foot - LINE * (len(lines) + s.rows)
        found.append((spot.name, spot.x - half, top, spot.x + half, foot - LETTER / 3))
    return found


@pytest.mark.parametrize("name", BUILDS)
def test_no_writing_overlaps(name):
    boxes = labels(Schematic(BUILDS[name]))
    for (one, a, b, c, d), (other, e, f, g, h) in combinations(boxes, 2):
        assert c <= e or g <= a or d <= f or h <= b, (one, other)


@pytest.mark.parametrize("name", BUILDS)
def test_no_line_runs_through_writing_or_symbols(name):
    s = Schematic(BUILDS[name])
    own = {i: {a.component, b.component} for i, (a, b) in enumerate(BUILDS[name].run_ends)}
    boxes = labels(s)
    bodies = [
        (p.name, p.x - 12, p.y - 12, p.x + 12, p.y + 12)
        for p in s.spots.values()
        if p.kind != "tee"
    ]
    for run, ends in own.items():
        corners = s.outline(run)
        for (ax, ay), (bx, by) in pairwise(corners):
            left, right = sorted((ax, bx))
            top, foot = sorted((ay, by))
            for label, a, b, c, d in boxes:
                if label in ends:
                    continue
                assert right <= a or left >= c or foot <= b or top >= d, (run, label)
            for label, a, b, c, d in bodies:
                if label not in ends:
                    assert right <= a or left >= c or foot <= b or top >= d, (run, label)


@pytest.mark.parametrize("name", BUILDS)
def test_everything_is_inside_and_lines_are_square(name):
    s = Schematic(BUILDS[name])
    for run in range(len(BUILDS[name].run)):
        corners = s.outline(run)
        assert len(corners) >= 2
        for (ax, ay), (bx, by) in pairwise(corners):
            assert abs(ax - bx) < 1e-6 or abs(ay - by) < 1e-6
        assert all(0 <= x <= s.width and 0 <= y <= s.height for x, y in corners)
    for tap in s.taps():
        assert 0 <= tap.left < tap.left + tap.width <= 1.001
        assert 0 <= tap.top < tap.top + tap.height <= 1.001
    assert {t.name for t in s.taps()} == {f.name for f in BUILDS[name].fixture}


@pytest.mark.parametrize("name", BUILDS)
def test_a_long_line_goes_straight_where_nothing_is_in_its_way(name):
    """However many layers a run crosses, it goes up or down thrice at most: never by stairs."""
    s = Schematic(BUILDS[name])
    for run in range(len(BUILDS[name].run)):
        steps = sum(abs(a[1] - b[1]) > 1e-6 for a, b in pairwise(s.outline(run)))
        assert steps <= 3, BUILDS[name].run[run]


def test_thirty_components_cross_little():
    s = Schematic(BUILDS["big"])
    assert len(s.spots) >= 30
    stacked = sorted([*s.spots.values(), *s.bends], key=lambda p: p.y)
    order = {spot.name: i for i, spot in enumerate(stacked)}
    # fourteen taps that each take from both manifolds can't be drawn without crossings:
    # each crosses the other side's line to each that stands between, 14 · 13 / 2 at least
    assert crossings(s.pieces, order) <= 14 * 13 / 2 + 10


def drawn(build: Build, **more) -> ET.Element:
    flow = Flow(build)
    return ET.fromstring(Schematic(build).draw(flow.solve(), units="SI", **more))


def test_width_follows_the_flow():
    build = BUILDS["dipper"]
    moment = Flow(build).solve()
    root = drawn(build)
    widths = {}
    for path in root.iter(f"{SVG}path"):
        told = path.find(f"{SVG}title")
        if path.get("class") == "vp-run":
            number = int(re.match(r"run (\d+),", told.text).group(1))
            widths[number] = float(path.get("stroke-width"))
    flows = {i: abs(moment.links[f"run {i}"].flow) for i in widths}
    ranked = sorted(widths, key=lambda i: flows[i])
    assert all(widths[a] <= widths[b] + 0.11 for a, b in pairwise(ranked))
    assert widths[max(flows, key=flows.get)] == pytest.approx(9.0)


def test_colour_follows_the_temperature_and_grey_print_tells_hot():
    moment = Flow(BUILDS["dipper"]).solve()
    text = Schematic(BUILDS["dipper"]).draw(moment, units="US", paper=True)
    for link in moment.links.values():
        if link.kind == "run" and abs(link.flow) > 1e-6:
            assert f'stroke="{colour(link.temperature)}"' in text
    cores = re.findall(r'stroke="#fff" stroke-width="[\d.]+"( stroke-dasharray="7 5")?', text)
    assert "" in cores and any(cores)  # whole cores: hot; broken ones: mixed


def test_what_is_shut_is_thin_and_says_so():
    build = BUILDS["dipper"]
    text = Schematic(build).draw(Flow(build).solve([]), units="US")
    widths = {float(w) for w in re.findall(r'stroke-width="([\d.]+)" class="vp-run"', text)}
    assert widths == {1.4}
    assert text.count(">shut</text>") == 5
    assert "every fixture shut" in text


def test_values_on_demand():
    build = BUILDS["dipper"]
    moment = Flow(build).solve()
    plain = Schematic(build).draw(moment, units="US")
    for values, mark in (("pressure", "psi"), ("temperature", "°F")):
        told = Schematic(build).draw(moment, units="US", values=values)
        assert told.count(f"{mark}</text>") > plain.count(f"{mark}</text>") + 5
    with pytest.raises(ValueError, match="values must be one of pressure, flow, temperature"):
        Schematic(build).draw(moment, values="colour")


def test_names_are_only_ever_text():
    text = example("wren").text.replace('"tap"', '"<b onload=x>&tap"')
    build = loads(text)
    root = ET.fromstring(Schematic(build).draw(Flow(build).solve(), units="SI"))
    assert not list(root.iter(f"{SVG}b"))
    assert any("<b onload" in (t.text or "") for t in root.iter(f"{SVG}title"))


def test_the_sheet_gets_plain_colours_and_a_size():
    picture = schematic(Flow(BUILDS["heron"]))
    root = ET.fromstring(picture.svg)
    assert float(root.get("width").removesuffix("mm")) <= 170
    assert "var(" not in picture.svg and "currentColor" not in picture.svg


def test_the_same_build_is_drawn_the_same():
    build = BUILDS["heron"]
    moment = Flow(build).solve()
    assert Schematic(build).draw(moment) == Schematic(build).draw(moment)
