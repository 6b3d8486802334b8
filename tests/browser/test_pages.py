"""Worksheets and lessons served as pages without code: nothing fetched, and they answer."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import expect

from tests.browser.lab import _free_port, _wait_until_up

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory, project: Path) -> Iterator[str]:
    """The address of the pages, with nothing of the user's."""
    scratch = tmp_path_factory.mktemp("pages")
    env = {k: v for k, v in os.environ.items() if not k.startswith("JUPYTER")}
    for name in ("HOME", "JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "JUPYTER_RUNTIME_DIR"):
        env[name] = str(scratch / name.lower())
        Path(env[name]).mkdir()
    env["PYTHONPATH"] = os.pathsep.join([str(project), env.get("PYTHONPATH", "")])
    port = _free_port()
    command = [sys.executable, "-m", "vanplumb", "pages", "--no-browser", f"--port={port}"]
    log = scratch / "pages.log"
    with log.open("w") as out:
        server = subprocess.Popen(command, env=env, cwd=scratch, stdout=out, stderr=out)
        try:
            _wait_until_up(f"http://127.0.0.1:{port}", server, log)
            yield f"http://127.0.0.1:{port}/"
        finally:
            server.terminate()
            server.wait(20)


def test_a_lesson_is_found_and_answered_without_a_network(browser: Any, address: str) -> None:
    page = browser.new_page(viewport={"width": 420, "height": 900}, color_scheme="dark")
    outside: list[str] = []
    faults: list[str] = []

    def only_here(route: Any) -> None:
        if urlsplit(route.request.url).hostname == "127.0.0.1":
            route.continue_()
        else:
            outside.append(route.request.url)
            route.abort()

    page.route(re.compile("^http"), only_here)
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.set_default_timeout(60_000)
    try:
        page.goto(address)
        assert page.locator("h2").all_inner_texts() == ["Worksheets", "Lessons"]
        page.get_by_role("link", name="How warm out of the valve?").click()
        guess = page.locator(".vp-predict input[type=text]")
        guess.fill("95 F")
        guess.press("Enter")
        page.locator(".vp-predict button", has_text="See").click()
        expect(page.locator(".vp-predict .vp-told")).to_contain_text("°F")
        words = page.locator("body").inner_text()
        assert "Run All Cells" not in words and "import lesson" not in words
        ground = page.evaluate("() => getComputedStyle(document.body).backgroundColor")
        assert max(int(part) for part in re.findall(r"\d+", ground)[:3]) < 80, "dark as asked"
        assert outside == [] and faults == []
    finally:
        page.close()
