"""The sheet's page in a real browser without a network: it shows whole, on a phone and on paper."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from vanplumb.sheet import write_html

pytestmark = pytest.mark.browser
MM = 96 / 25.4  # CSS pixels in a millimetre


def sample(name: str) -> Any:
    """The pack that the sheet's own tests use."""
    path = Path(__file__).parents[1] / "sheet" / "conftest.py"
    spec = importlib.util.spec_from_file_location("sheet_samples", path)
    assert spec and spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module.sample_pack(name)


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    hostile = '<script>document.title = "ran"</script><img src=x onerror="document.title=1">'
    pack = sample(hostile + "\n#eval $x$ " + "long" * 30)
    return write_html(pack, tmp_path_factory.mktemp("page") / "sheet.html")


def opened(browser: Browser, file: Path, width: int = 1280, scheme: str = "light") -> Page:
    """The page, with everything that it asked for and complained about in ``page.told``."""
    context = browser.new_context(
        viewport={"width": width, "height": 900},
        color_scheme=scheme,  # type: ignore[arg-type]
        offline=True,
    )
    page = context.new_page()
    told: list[str] = []
    page.on("request", lambda r: told.append(r.url) if r.url != file.as_uri() else None)
    page.on("console", lambda m: told.append(m.text))
    page.on("pageerror", lambda e: told.append(str(e)))
    page.goto(file.as_uri())
    page.told = told  # type: ignore[attr-defined]
    return page


def test_it_asks_for_nothing_and_runs_nothing(browser: Browser, file: Path) -> None:
    page = opened(browser, file)
    assert page.told == []  # type: ignore[attr-defined]
    assert page.title().startswith('<script>document.title = "ran"</script><img src=x')
    assert "<script>" in page.inner_text("h1")
    assert page.locator("script, img, iframe, object, link").count() == 0


@pytest.mark.parametrize("width", [320, 390, 820, 1280, 1920])
def test_nothing_runs_off_the_side(browser: Browser, file: Path, width: int) -> None:
    page = opened(browser, file, width)
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_fractions_stand_as_fractions(browser: Browser, file: Path) -> None:
    page = opened(browser, file)
    top, bottom, bar = page.evaluate(
        """() => { const b = part => part.getBoundingClientRect();
        const f = document.querySelector(".step mfrac");
        return [b(f.children[0]).bottom, b(f.children[1]).top, b(f).width] }"""
    )
    assert top <= bottom
    assert bar > 20


def test_the_font_that_draws_roots_is_in_the_page(browser: Browser, file: Path) -> None:
    """Without a font for mathematics a root is drawn over the top of a fraction only."""
    page = opened(browser, file)
    page.evaluate("document.fonts.ready")
    faces = "[...document.fonts].map(f => f.family.replaceAll('\"', '') + ' ' + f.status)"
    assert page.evaluate(faces) == ["Vanplumb Math loaded"]


def test_a_hundred_millimetres_are_a_hundred(browser: Browser, file: Path) -> None:
    page = opened(browser, file)
    for media in ("screen", "print"):
        page.emulate_media(media=media)  # type: ignore[arg-type]
        width = page.evaluate("document.querySelector('figure svg').getBoundingClientRect().width")
        assert width == pytest.approx(100 * MM, abs=0.1)


def test_dark_is_dark_and_print_is_light(browser: Browser, file: Path) -> None:
    shade = "getComputedStyle(document.body).backgroundColor"
    page = opened(browser, file, scheme="dark")
    assert page.evaluate(shade) == "rgb(20, 25, 31)"
    page.emulate_media(media="print")
    assert page.evaluate(shade) == "rgb(255, 255, 255)"
    assert opened(browser, file).evaluate(shade) == "rgb(253, 253, 251)"
