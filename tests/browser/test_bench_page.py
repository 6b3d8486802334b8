"""The bench's page on a phone with its network off: what is typed is kept and handed back."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page

from tests.small_van import SMALL_VAN
from vanplumb.pack import Pack
from vanplumb.sheet.bench_page import write_bench_page
from vanplumb.shop.record.from_phone import take
from vanplumb.shop.record.history import states, taken
from vanplumb.shop.record.record import Record
from vanplumb.shop.record.signing import Refused
from vanplumb.van import loads

pytestmark = pytest.mark.browser
VAN = SMALL_VAN.replace('"Siskin"', '"Siskin <b>"')
FULL = """
Storage.prototype.setItem = () => { throw new DOMException("full", "QuotaExceededError"); };
"""


@pytest.fixture(scope="module")
def pack() -> Pack:
    return Pack(loads(VAN))


@pytest.fixture
def file(pack: Pack, tmp_path: Path) -> Path:
    return write_bench_page(pack.shop, tmp_path)


@pytest.fixture
def phone(browser: Browser) -> Iterator[BrowserContext]:
    context = browser.new_context(
        viewport={"width": 420, "height": 800}, offline=True, has_touch=True, accept_downloads=True
    )
    yield context
    context.close()


def opened(phone: BrowserContext, file: Path, script: str = "") -> Page:
    page = phone.new_page()
    told: list[str] = []
    page.on("request", lambda r: told.append(r.url) if r.url != file.as_uri() else None)
    page.on("pageerror", lambda e: told.append(str(e)))
    if script:
        page.add_init_script(script)
    page.goto(file.as_uri())
    page.told = told  # type: ignore[attr-defined]
    return page


def handed(page: Page, folder: Path) -> Path:
    with page.expect_download() as waiting:
        page.click("#hand-back")
    target = folder / "handed.json"
    waiting.value.save_as(target)
    return target


def tick_all(page: Page) -> int:
    page.evaluate("document.querySelectorAll('#page > details').forEach(d => { d.open = true; })")
    buttons = page.query_selector_all(".joint > button:first-of-type")
    for button in buttons:
        button.click()
    return len(buttons)


def test_a_day_is_kept_and_handed_back(
    pack: Pack, phone: BrowserContext, file: Path, tmp_path: Path
) -> None:
    page = opened(phone, file)
    first = page.locator(".joint > button").first
    page.locator("#page > details summary").first.click()
    first.click()
    assert "Type your initials first" in page.inner_text("#page")
    page.locator("#page > details summary").first.click()
    page.fill("#who", "nd")
    assert tick_all(page) == len(pack.shop.joints)
    assert f"{len(pack.shop.joints)} entries kept on this phone" in page.inner_text("#kept")
    for label, text in (("Serial number", "G 5"), ("Smallest step, psi", "1"),
                        ("Range to, psi", "160")):  # fmt: skip
        page.locator(f"label:has-text('{label}') input").first.fill(text)
    page.click("text=Note the gauge")
    page.locator("label:has-text('Pressure, psi') input").fill("lots")
    page.locator("label:has-text('Temperature, °F') input").fill("66")
    page.click("text=Note the reading")
    assert "type a number, such as 12.5" in page.inner_text("#page")
    page.locator("label:has-text('Pressure, psi') input").fill("70,5")
    page.click("text=Note the reading")
    count = len(pack.shop.joints) + 2
    assert f"{count} entries kept" in page.inner_text("#kept")
    page.close()  # as in a crash: nothing was saved by hand

    again = opened(phone, file)
    assert f"{count} entries kept" in again.inner_text("#kept")
    assert again.input_value("#who") == "nd"
    record = Record(tmp_path / "siskin.log")
    back = handed(again, tmp_path)
    events = take(pack.shop, record, back)
    assert len(events) == count
    assert set(states(record.read())) == {j.name for j in pack.shop.joints}
    (reading,) = record.read().of("gauge read")
    assert (reading.get("pressure"), reading.get("by")) == ("70.5 psi", "nd")
    assert take(pack.shop, record, back) == []  # once is enough
    assert record.read().problems == ()
    assert again.told == []  # type: ignore[attr-defined]


def test_a_figure_outside_its_band_is_told_at_once_and_taken(
    pack: Pack, phone: BrowserContext, file: Path, tmp_path: Path
) -> None:
    page = opened(phone, file)
    page.fill("#who", "nd")
    page.locator("summary:text-is('Commissioning')").click()
    cut_in, cut_out = (page.locator(f".line:has-text('pump, {what}')") for what in
                       ("cut-in", "cut-out"))  # fmt: skip
    cut_in.locator("input").fill("22")
    cut_in.locator("text=Note it").click()
    assert "below its band, 27 to 33 psi" in cut_in.inner_text()
    assert "Look: the switch's screw" in cut_in.inner_text()
    cut_out.locator("input").fill("40,5")
    cut_out.locator("text=Note it").click()
    assert "within 36 to 44 psi" in cut_out.inner_text()
    drain = page.locator(".line:has-text('drained: tank')")
    drain.locator("button:text-is('Failed')").click()
    assert "Type or why it failed" in drain.inner_text()
    drain.locator("button:text-is('Done')").click()
    record = Record(tmp_path / "siskin.log")
    take(pack.shop, record, handed(page, tmp_path))
    told = {n: t.verdict for n, t in taken(record.read()).items()}
    assert told == {"pump, cut-in": "below", "pump, cut-out": "within", "drained: tank": "done"}
    assert page.told == []  # type: ignore[attr-defined]


def test_a_full_storage_is_told_and_the_file_still_handed_back(
    pack: Pack, phone: BrowserContext, file: Path, tmp_path: Path
) -> None:
    page = opened(phone, file, FULL)
    page.fill("#who", "nd")
    page.press("#who", "Tab")
    assert "its storage is full" in page.inner_text("#kept")
    count = tick_all(page)
    told = page.inner_text("#kept")
    assert "this browser does not keep them: its storage is full" in told
    assert told.startswith(f"{count} entries on this page")
    record = Record(tmp_path / "siskin.log")
    assert len(take(pack.shop, record, handed(page, tmp_path))) == count


def test_it_is_large_and_fits_a_phone_in_light_and_dark(
    browser: Browser, phone: BrowserContext, file: Path
) -> None:
    page = opened(phone, file)
    tick = page.locator(".joint > button").first
    page.locator("#page > details summary").first.click()
    assert tick.bounding_box()["height"] >= 52  # type: ignore[index]
    assert page.evaluate("document.documentElement.scrollWidth") <= 420
    light = page.evaluate("getComputedStyle(document.body).backgroundColor")
    page.emulate_media(color_scheme="dark")
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") != light
    assert page.title() == "Bench of Siskin <b>"


def entry(kind: str, minutes: float = 0.0, **details: Any) -> dict[str, Any]:
    when = datetime.now().astimezone() + timedelta(minutes=minutes)
    return {"id": f"{kind} {details}", "time": when.isoformat(), "kind": kind,
            "details": {"by": "nd", **details}}  # fmt: skip


@pytest.mark.parametrize(
    "bad, why",
    [
        (entry("joint made", joint="R9-9"), "no joint is named 'R9-9'"),
        (entry("joint made", minutes=60, joint="tap inlet"), "is of the future"),
        (entry("gauge read", gauge="G 6", time="", pressure="1 psi", temperature="66 °F"),
         "was not noted with its range"),
        (entry("handed over", to="me"), "a phone can't note 'handed over'"),
        (entry("flushed", residual="clean"), "clean"),
        ({**entry("note", text="x"), "details": {"text": "x"}}, "has no initials"),
    ],
)  # fmt: skip
def test_one_bad_entry_and_nothing_is_taken(
    pack: Pack, tmp_path: Path, bad: dict[str, Any], why: str
) -> None:
    path, record = tmp_path / "back.json", Record(tmp_path / "siskin.log")
    good = entry("note", text="good")
    data = {"format": 1, "van": "Siskin", "mark": pack.build.mark, "entries": [good, bad]}
    path.write_text(json.dumps(data), encoding="utf-8")
    with pytest.raises(Refused, match="nothing was taken") as caught:
        take(pack.shop, record, path)
    assert why in str(caught.value)
    assert not record.path.exists()


@pytest.mark.parametrize(
    "text, why",
    [
        ("[]", "is not a file that the bench page handed back"),
        ('{"format": 1, "entries": [1], "mark": ""}', "is not a file that the bench page"),
        ("{", "is not a file that the bench page handed back"),
        ('{"format": 1, "entries": [], "mark": "old", "van": "Siskin"}', "is of state old"),
    ],
)
def test_other_files_are_refused(pack: Pack, tmp_path: Path, text: str, why: str) -> None:
    path = tmp_path / "back.json"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(Refused, match=why):
        take(pack.shop, Record(tmp_path / "siskin.log"), path)
