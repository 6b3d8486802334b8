"""Every page looked at: no text over another, cut, out of the page or hard to read.

All pages of one opening in all windows, in test_every_notebook.py; here, that each fault is found.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from tests.browser.seen import ONLY_AT, seen

pytestmark = pytest.mark.browser

HEAD = """<!DOCTYPE html><style>body { margin: 0; font: 14px sans-serif; background: #fff }
.jp-Notebook { width: 400px } p { margin: 0; line-height: 1.4 }</style>"""

FINE = """<p style="color: #767676">a text one can read</p>
<p>two lines of one text, <b>a word of weight</b> in it, that go on in the next line</p>
<div style="width: 100px; overflow: auto"><pre>what is wide can be moved sideways</pre></div>
<svg viewBox="0 0 200 40" width="200" height="40" role="img"><title>a picture</title>
<rect width="200" height="40" fill="#123456"/>
<text x="10" y="15" fill="#fff">one</text><text x="10" y="35" fill="#fff">two</text></svg>
<div style="overflow: hidden; height: 0"><p>folded away</p></div>
<input value="short" style="width: 100px">
<select style="width: 100px"><option>one</option></select>"""

FAULTS = {
    "over another": """<p style="height: 4px">one line of text</p><p>another line of text</p>""",
    "over another, in a picture": """<svg viewBox="0 0 200 40" width="200" height="40">
        <text x="10" y="20">one text</text><text x="30" y="24">another</text></svg>""",
    "over another, turned": """<svg viewBox="0 0 200 200" width="200" height="200">
        <text x="10" y="104">one long text here</text>
        <text transform="translate(60 150) rotate(-90)">upright and long</text></svg>""",
    "cut": """<p style="width: 90px; overflow: hidden; white-space: nowrap;
        text-overflow: ellipsis">a headline that is too long</p>""",
    "cut, below": """<div style="height: 10px; overflow: hidden"><p>half of it</p></div>""",
    "cut, out of its picture": """<svg viewBox="0 0 50 20" width="50" height="20">
        <text x="20" y="15" font-size="12">too long for it</text></svg>""",
    "cut, as typed": """<div class="vanplumb"><input value="1234567890123" style="width: 60px">
        </div>""",
    "cut, as hinted": """<div class="vanplumb"><input placeholder="a number and its unit"
        style="width: 60px; color: #000"></div>""",
    "cut, as chosen": """<div class="vanplumb"><select style="width: 60px">
        <option>23: from the laundry valve to the tub</option></select></div>""",
    "wider than the page": """<p style="width: 500px; white-space: nowrap">a line of text that
        goes on and on and on and on, much farther than the page is wide for it</p>""",
    "wider than the page, a box": """<div class="vanplumb"><div style="width: 500px">wide</div>
        </div>""",
    "wider than its frame": """<div class="vanplumb" style="width: 200px"><div style="width: 230px">
        <div>wide</div></div></div>""",
    "a name that is none": """<button title="null">Check</button>""",
    "faint": """<p style="color: #777">can hardly be read</p>""",
    "faint, thinned": """<div style="opacity: 0.5"><p>can hardly be read</p></div>""",
    "faint, on its ground": """<div style="background: #888"><p style="color: #fff">white on grey
        </p></div>""",
    "faint, in a picture": """<svg viewBox="0 0 200 40" width="200" height="40">
        <rect width="200" height="40" fill="#123456"/><text x="10" y="20">black on blue</text>
        </svg>""",
}


@pytest.fixture(scope="module")
def page(browser: Any) -> Iterator[Any]:
    one = browser.new_page()
    yield one
    one.close()


def on(page: Any, body: str) -> list[str]:
    page.set_content(f'{HEAD}<div class="jp-Notebook">{body}</div>')
    return seen(page)


def test_what_is_fine_is_let_be(page: Any) -> None:
    assert on(page, FINE) == []


@pytest.mark.parametrize("fault", FAULTS)
def test_each_fault_is_found(page: Any, fault: str) -> None:
    found = on(page, FINE + FAULTS[fault])
    assert len(found) == 1 and found[0].startswith(fault.partition(",")[0]), found


LARGE = "font: 20px sans-serif"
AT_ONE_WIDTH = {
    "can be moved sideways": """<div class="vanplumb" style="overflow-x: auto; width: 100px">
        <div class="vp-columns" style="width: 200px">wide</div></div>""",
    "first column of figures out of sight": """<div class="vp-wide" style="overflow-x: auto;
        width: 100px"><table class="vp-grid"><tbody><tr><td style="min-width: 200px">a name</td>
        <td class="vp-number">1.2</td></tr></tbody></table></div>""",
    "moves sideways without a shadow that says so": """<div class="vanplumb"><div class="vp-wide"
        style="overflow-x: auto; width: 100px"><pre>what is wide can be moved sideways</pre></div>
        </div>""",
    "table wider than its frame": """<div class="jp-OutputArea-output" style="overflow-x: auto;
        width: 100px"><table><tr><td style="min-width: 200px">1</td></tr></table></div>""",
    "words of a cell cut": """<div class="jp-OutputArea-output"><table><tr><td>a long ...</td></tr>
        </table></div>""",
    "small from the back of the room": """<div class="vanplumb"><p style="font-size: 13px">small</p>
        <svg viewBox="0 0 400 20" width="200" height="10"><text x="1" y="20" font-size="30">thirty,
        half as large</text></svg></div>""",
    "pictures leave the room empty": """<div class="vanplumb"><div class="vp-inputs"></div>
        <svg width="600" height="10"></svg></div>""",
}


@pytest.mark.parametrize("fault", AT_ONE_WIDTH)
def test_what_counts_at_one_width_is_found_there(page: Any, fault: str) -> None:
    (look,) = (one[fault] for one in ONLY_AT.values() if fault in one)
    on(page, f'<div style="{LARGE}">{FINE}</div>')
    assert page.evaluate(look) == []
    on(page, f'<div style="{LARGE}">{AT_ONE_WIDTH[fault]}</div>')
    assert len(page.evaluate(look)) == 1


def test_every_look_at_one_width_is_tried() -> None:
    assert {fault for one in ONLY_AT.values() for fault in one} == set(AT_ONE_WIDTH)
