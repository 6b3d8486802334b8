"""How a worksheet reads on paper: what was put in, the picture, results, steps."""

from __future__ import annotations

import re
from html import unescape
from typing import Any

import pytest

import vanplumb as vp
from tests.examples import pack_of
from vanplumb.worksheets.frame import paper
from vanplumb.worksheets.frame.printed import STANDS, Figures
from vanplumb.worksheets.shop.shop_day import ShopDay
from vanplumb.worksheets.van.mixing import mixing_worksheet
from vanplumb.worksheets.van.system import system_worksheet


def on_paper(page: Any) -> str:
    bundle = page._repr_mimebundle_()
    assert "application/vnd.jupyter.widget-view+json" in bundle
    return str(bundle["text/html"])


def plain(html: str) -> str:
    return unescape(re.sub(r"<[^>]+>", " ", re.sub(r"<style>.*?</style>", "", html, flags=re.S)))


def test_values_picture_results_and_steps_are_printed() -> None:
    sheet = mixing_worksheet("US", pressure_cold="29 psi")
    html = on_paper(sheet)
    text = plain(html)
    for field in sheet.fields.values():
        assert field.label in text and field.text in text
    for label, figure in sheet.figures.items():
        assert label in text and figure in text
    assert html.count('src="data:image/svg+xml;base64,') == 2
    assert html.count("<math") > 4
    assert STANDS in text
    assert "<input" not in html and "<button" not in html


def test_a_hidden_field_and_a_heading_without_fields_are_left_out() -> None:
    text = plain(on_paper(mixing_worksheet("US", kind="thermostatic")))
    assert "hot supply then" not in text and "hot supply now" in text
    build = vp.example("dipper")
    text = plain(on_paper(system_worksheet(build)))
    assert "layout, as lines for the build file" not in text


def test_a_problem_is_printed_with_the_last_good_result() -> None:
    sheet = mixing_worksheet("US")
    sheet.fields["setting"]._entry.value = "60 kg"
    text = plain(on_paper(sheet))
    assert "Please mend: mixed water." in text
    assert sheet.figures["outlet temperature"] in text


def test_pages_of_the_shop_day_are_printed_too(tmp_path: Any) -> None:
    pack = pack_of("dipper")
    day = ShopDay(pack, tmp_path / "p.log")
    assert day.bench.here[0].name in plain(on_paper(day.bench))
    left = f"{len(day.shop.joints)} joints are not in the record"
    assert left in plain(on_paper(day.hand_over))
    assert "earliest" in plain(on_paper(day.clock)) or "pressure test" in plain(on_paper(day.clock))


def test_figures_are_a_table_and_lines_and_still_a_dict() -> None:
    one = Figures({"flow <b>": "1.88 gpm", "warm": "100 °F"})
    assert repr(one) == "flow <b>: 1.88 gpm\nwarm: 100 °F"
    assert "flow &lt;b&gt;" in one._repr_html_()
    assert one == {"flow <b>": "1.88 gpm", "warm": "100 °F"}


@pytest.mark.parametrize("units, shown", [("US", "gal"), ("SI", "L")])
def test_a_worked_step_reads_without_a_network(units: str, shown: str) -> None:
    work = pack_of("dipper").water.works["need"]
    one = paper.work(work, units)
    assert "<math" in one._repr_html_() and str(work.source) in plain(one._repr_html_())
    assert f" {shown}" in repr(one)
