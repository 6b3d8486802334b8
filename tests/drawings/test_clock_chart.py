"""The clock chart: every stage has its row, in step with the clock."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from datetime import datetime, timedelta

import pytest

from tests.examples import pack_of
from vanplumb.drawings.charts.clock import LEFT, RIGHT, WIDTH, clock_picture
from vanplumb.pack import Pack
from vanplumb.shop.clock.stages import stages

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def pack() -> Pack:
    return pack_of("dipper")


def test_it_is_whole_svg_with_a_size_on_paper(pack: Pack) -> None:
    root = ET.fromstring(clock_picture(pack.shop.clock))
    assert root.get("width") == "168mm"
    assert root.get("viewBox", "").startswith("0 0 720 ")


def test_every_stage_is_named_and_every_bar_is_inside(pack: Pack) -> None:
    root = ET.fromstring(clock_picture(pack.shop.clock))
    texts = [t.text or "" for t in root.iter(f"{SVG}text")]
    for stage in stages(pack.shop.clock):
        assert any(t.rstrip("…") and stage.what.startswith(t.rstrip("…")) for t in texts)
    for bar in root.iter(f"{SVG}rect"):
        x, width = float(bar.get("x", 0)), float(bar.get("width", 0))
        assert x >= 0 and x + width <= WIDTH + 0.1


def test_first_water_stands_where_the_clock_says(pack: Pack) -> None:
    plan = pack.shop.clock
    root = ET.fromstring(clock_picture(plan))
    line = next(iter(root.iter(f"{SVG}line")))
    start = datetime.combine(plan.start.date(), plan.hours.day_start) - timedelta(hours=1)
    last = max(s.ready for s in stages(plan))
    end = datetime.combine(last.date(), plan.hours.day_end) + timedelta(hours=1)
    part = (plan.task("fill and bleed").start - start) / (end - start)
    assert float(line.get("x1", 0)) == pytest.approx(LEFT + part * (WIDTH - LEFT - RIGHT), abs=0.1)


def test_hostile_words_stay_words(pack: Pack) -> None:
    from dataclasses import replace

    task = replace(pack.shop.clock.tasks[-1], name='"><script>x</script>')
    plan = replace(pack.shop.clock, tasks=(*pack.shop.clock.tasks, task))
    assert "<script>" not in clock_picture(plan)


def test_the_sheet_carries_it(pack: Pack) -> None:
    chapter = next(c for c in pack.chapters if c.key == "shop")
    assert [p.key for p in chapter.pictures] == ["clock"]
    assert re.search(r"first water", chapter.pictures[0].svg)
