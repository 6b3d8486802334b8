"""The handle of a slider has the name of its field for who can't see it, in any units."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import expect

from vanplumb.worksheets.frame.slider_names import SliderNames

pytestmark = pytest.mark.browser

FIELD = """<div class="vanplumb"><div class="vp-inputs"><div class="vp-field">
<label class="widget-label">hot supply</label><input>
<div id="slider"></div><label class="widget-label"></label>
</div></div><div id="names"></div></div>"""
HANDLE = "() => { slider.innerHTML = '<div class=noUi-handle role=slider tabindex=0></div>' }"


def test_a_handle_has_the_name_of_its_field(browser: Any) -> None:
    page = browser.new_page()
    try:
        page.set_content(FIELD)
        page.evaluate(HANDLE)
        script = str(SliderNames()._esm).replace("export default", "window.names_of =")
        page.evaluate(f"() => {{ {script}; window.stop = names_of.render({{el: names}}) }}")
        named = page.get_by_role("slider", name="hot supply")
        expect(named).to_have_count(1)
        said = "e => e.setAttribute('aria-valuetext', '1.2000000000000002')"
        named.evaluate(said)
        expect(named).to_have_attribute("aria-valuetext", "1.2")
        page.evaluate(HANDLE)  # other units: another slider
        expect(named).to_have_count(1)
        expect(page.locator("#names")).to_be_hidden()
        page.evaluate("() => stop()")
    finally:
        page.close()
