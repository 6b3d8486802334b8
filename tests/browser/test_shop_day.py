"""A whole shop day clicked through in a real browser, from the cut list to the signed papers."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.browser.lab import Notebook
from vanplumb.pack import Pack, example

pytestmark = pytest.mark.browser

NAME = "40_shop_day.ipynb"
PACK = Pack(example("dipper"))


@pytest.fixture
def notebook(run_notebook: Callable[..., Notebook]) -> Notebook:
    one = run_notebook(NAME, user=__name__)
    one.page.wait_for_selector(".vp-hand-over")
    return one


def page_of(notebook: Notebook, title: str) -> Any:
    """The outermost page that bears a title."""
    heading = notebook.page.locator("h2.vp-title", has_text=title)
    return notebook.page.locator(".jp-OutputArea-output", has=heading).first


def write_down(notebook: Notebook, page: Any, **texts: str) -> str:
    """Open the page's panel for the record, fill it in, and press Write."""
    button = page.locator("button", has_text="Write into the record")
    if "mod-active" not in (button.get_attribute("class") or ""):
        button.click()
        notebook.settle()
    panel = page.locator(".vp-panel >> visible=true")
    for label, text in texts.items():
        entry = panel.locator(".widget-text", has_text=label.replace("_", " ")).locator("input")
        entry.fill(text)
        entry.press("Tab")
    panel.locator("button", has_text="Write").click()
    notebook.settle()
    return str(panel.locator(".vp-said").inner_text())


def answer_for_every_finding(notebook: Notebook, hand_over: Any) -> None:
    """Countersign each that is open, with a reason."""
    hand_over.locator("button", has_text="Answer for a finding").click()
    notebook.settle()
    panel = hand_over.locator(".vp-panel >> visible=true")
    for _ in range(len(panel.locator("option").all())):
        for index, text in enumerate(("told to the owner", "A. Builder")):
            panel.locator("input").nth(index).fill(text)
            panel.locator("input").nth(index).press("Tab")
        panel.locator("button", has_text="Write").click()
        notebook.settle()
    hand_over.locator("button", has_text="Answer for a finding").click()
    notebook.settle()


def test_the_clock_follows_its_controls(notebook: Notebook) -> None:
    clock = page_of(notebook, "Order of work and the clock")
    seen = {clock.locator("svg").first.inner_html()}
    handles = clock.locator(".noUi-handle")
    for index in range(handles.count()):
        for key in ("Home", "End"):
            handles.nth(index).focus()
            handles.nth(index).press(key)
            notebook.settle()
            seen.add(clock.locator("svg").first.inner_html())
    clock.locator(".vp-field-hot-compound select").select_option(label="PTFE tape")
    notebook.settle()
    seen.add(clock.locator("svg").first.inner_html())
    assert len(seen) >= 4
    assert notebook.failures() == []


def test_a_builder_goes_through_the_whole_day(notebook: Notebook) -> None:
    assert notebook.failures() == []
    assert "Cut list" in notebook.page.locator("table.vp caption", has_text="Cut list").inner_text()

    clock = page_of(notebook, "Order of work and the clock")
    assert "first water" in clock.locator("svg").first.inner_html()

    bench = notebook.page.locator(".vp-bench")
    where = bench.locator(".vp-where select")
    runs = where.locator("option").all_inner_texts()
    assert len(runs) > 15
    who = bench.locator(".widget-text", has_text="done by").locator("input").first
    who.fill("A. Builder")
    who.press("Tab")
    # those of a few runs by hand, the header's among them, and the rest at once
    for run in (*runs[:3], *runs[-2:]):
        where.select_option(label=run)
        notebook.settle()
        assert "to make" in bench.locator(".vp-state").first.inner_text()
        bench.locator("button", has_text="All of these are made").click()
        notebook.settle()
        assert "made, not tested" in bench.locator(".vp-state").first.inner_text()
    notebook.tell("day.bench.make_everything('A. Builder')")
    where.select_option(label=runs[4])
    notebook.settle()
    count = len(PACK.shop.joints)
    assert f"{count} of {count}" in bench.inner_text()

    # one of them weeps, and is made again
    for name, how in (("This joint weeps", "drop at the ring"), ("It is made again", "new ring")):
        bench.locator("button", has_text=name).click()
        notebook.settle()
        panel = bench.locator(".vp-panel >> visible=true").last
        entry = panel.locator("input").first
        entry.fill(how)
        entry.press("Tab")
        panel.locator("button", has_text="Write").click()
        notebook.settle()
    assert "made again" in bench.locator(".vp-results").inner_text()

    hand_over = notebook.page.locator(".vp-hand-over")
    hand_over.locator("button", has_text="Look again").click()
    notebook.settle()
    assert "not proven tight" in hand_over.inner_text()

    test = page_of(notebook, "Pressure test")
    readings = test.locator("textarea")
    last = PACK.shop.test.duration / 60
    steady = [f"{last * n / 3} min, 100 psi, 65 F" for n in range(4)]
    readings.fill("\n".join(steady))
    readings.press("Tab")
    notebook.settle()
    assert "tight" in test.locator(".vp-results").inner_text()
    assert "system tested" in write_down(notebook, test, serial_number="G 5", done_by="A. Builder")
    assert "tight" in bench.locator(".vp-state").first.inner_text()

    assert "flushed" in write_down(
        notebook, page_of(notebook, "Disinfecting"), chlorine_left="1 mg/L"
    )
    setting = page_of(notebook, "Setting basin valve")
    for index, text in enumerate(("1.1 gpm, 98 °F\n0.6 gpm, 98 °F", "140 °F, 60 °F")):
        setting.locator("textarea").nth(index).fill(text)
        setting.locator("textarea").nth(index).press("Tab")
        notebook.settle()
    assert "valve set" in write_down(notebook, setting)

    measured = page_of(notebook, "Measured against computed")
    entry = measured.locator(".vp-field-basin-flow input")
    entry.fill("1.12 gpm")
    entry.press("Enter")
    notebook.settle()
    assert "fit a sound van" in measured.locator(".vp-results").first.inner_text()
    assert "reading taken" in write_down(notebook, measured)

    hand_over.locator("button", has_text="Look again").click()
    notebook.settle()
    assert "WARNING not countersigned" in hand_over.inner_text()
    answer_for_every_finding(notebook, hand_over)
    assert "Nothing is open" in hand_over.inner_text()
    hand_over.locator("button", has_text="Sign and write the papers").click()
    notebook.settle()
    panel = hand_over.locator(".vp-panel >> visible=true").last
    for index, text in enumerate(("A. Builder", "B. Owner", PACK.build.mark)):
        panel.locator("input").nth(index).fill(text)
        panel.locator("input").nth(index).press("Tab")
    panel.locator("button", has_text="Write").click()
    notebook.page.wait_for_selector(".vp-hand-over .vp-said.vp-good >> text=owner-paper.pdf")

    record = notebook.page.locator(".vp-record-page")
    record.locator("button", has_text="Look again").click()
    notebook.settle()
    assert "handed over: to B. Owner, by A. Builder" in record.inner_text()
    assert notebook.failures() == []


@pytest.mark.roaming
def test_wrong_values_are_told_and_the_last_result_stays(notebook: Notebook) -> None:
    test = page_of(notebook, "Pressure test")
    before = test.locator(".vp-results").first.inner_text()
    readings = test.locator("textarea")
    readings.fill("0 min, 100 kg, 65 F\nsoon")
    readings.press("Tab")
    notebook.settle()
    told = test.locator(".vp-problem").inner_text().lower()
    assert "line 1: needs a pressure" in told and "line 2" in told
    assert test.locator(".vp-results").first.inner_text() == before
    clock = page_of(notebook, "Order of work and the clock")
    entry = clock.locator(".vp-field-temperature input[type=text]")
    entry.fill("60 kg")
    entry.press("Enter")
    notebook.settle()
    assert "shop temperature needs a temperature" in clock.inner_text()
    assert notebook.failures() == []
