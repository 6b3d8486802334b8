"""Notebooks served as pages without code, where the optional extra ``pages`` is installed."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.browser.lab import _free_port

pytestmark = pytest.mark.browser

pytest.importorskip("voila", reason="voila is not installed: pip install 'vanplumb[pages]'")


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory, project: Path) -> Iterator[str]:
    """The address of a server of pages, with nothing of the user's."""
    scratch = tmp_path_factory.mktemp("pages")
    shutil.copytree(project / "notebooks", scratch / "notebooks")
    env = {k: v for k, v in os.environ.items() if not k.startswith("JUPYTER")}
    for name in ("HOME", "JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "JUPYTER_RUNTIME_DIR"):
        env[name] = str(scratch / name.lower())
        Path(env[name]).mkdir()
    env["PYTHONPATH"] = os.pathsep.join([str(project), env.get("PYTHONPATH", "")])
    port = _free_port()
    command = [sys.executable, "-m", "voila", "notebooks", "--no-browser", f"--port={port}"]
    log = scratch / "pages.log"
    with log.open("w") as out:
        server = subprocess.Popen(command, env=env, cwd=scratch, stdout=out, stderr=out)
        try:
            _wait(f"http://127.0.0.1:{port}/voila/", server, log)
            yield f"http://127.0.0.1:{port}"
        finally:
            server.terminate()
            server.wait(20)


def _wait(page: str, server: subprocess.Popen[bytes], log: Path) -> None:
    end = time.monotonic() + 60
    while time.monotonic() < end and server.poll() is None:
        try:
            with urllib.request.urlopen(page, timeout=5):
                return
        except urllib.error.HTTPError:
            return
        except OSError:
            time.sleep(0.3)
    raise RuntimeError(f"no pages were served:\n{log.read_text()[-2000:]}")


def test_a_page_shows_results_and_no_code(address: str) -> None:
    with urllib.request.urlopen(f"{address}/voila/render/54_short_stub.ipynb", timeout=120) as got:
        page = got.read().decode()
    assert "Which stub is too short?" in page
    assert "application/vnd.jupyter.widget-view+json" in page
    assert "from vanplumb" not in page
    assert "Traceback" not in page


def test_a_worksheet_is_served(address: str) -> None:
    with urllib.request.urlopen(
        f"{address}/voila/render/02_mixing_valve.ipynb", timeout=120
    ) as got:
        page = got.read().decode()
    assert "application/vnd.jupyter.widget-view+json" in page
    assert "import mixing_worksheet" not in page
