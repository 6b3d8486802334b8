"""A JupyterLab of its own and a browser to look at it with."""

from __future__ import annotations

import json
import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]

SETTINGS = {
    # every cell is on the page, also those that are out of sight
    "@jupyterlab/notebook-extension/tracker": {"windowingMode": "none"},
    "@jupyterlab/apputils-extension/notification": {
        "fetchNews": "false",
        "checkForUpdates": False,
        "doNotDisturbMode": True,
    },
    # the theme follows the browser's light or dark
    "@jupyterlab/apputils-extension/themes": {"adaptive-theme": True},
}


@contextmanager
def running_lab(scratch: Path, notebooks: Path) -> Iterator[str]:
    """The address of a lab that serves a copy of the notebooks, with nothing of the user's.

    RuntimeError with the lab's own words if it does not come up in a minute.
    """
    served = scratch / "notebooks"
    shutil.copytree(notebooks, served, ignore=shutil.ignore_patterns(".ipynb_checkpoints"))
    env = {k: v for k, v in os.environ.items() if not k.startswith("JUPYTER")}
    for name in ("HOME", "JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "JUPYTER_RUNTIME_DIR"):
        env[name] = str(scratch / name.lower())
        Path(env[name]).mkdir()
    settings = scratch / "settings"
    for key, value in SETTINGS.items():
        file = settings / f"{key}.jupyterlab-settings"
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(json.dumps(value))
    env["JUPYTERLAB_SETTINGS_DIR"] = str(settings)
    env["JUPYTERLAB_WORKSPACES_DIR"] = str(scratch / "workspaces")
    port = _free_port()
    command = [
        *(sys.executable, "-m", "jupyterlab", "--no-browser", "--allow-root"),
        *(f"--port={port}", "--port-retries=0", "--ip=127.0.0.1"),
        *("--IdentityProvider.token=", "--LabApp.extension_manager=readonly"),
        *("--LabApp.expose_app_in_browser=True", f"--ServerApp.root_dir={served}"),
    ]
    log = scratch / "lab.log"
    with log.open("w") as out:
        lab = subprocess.Popen(command, env=env, cwd=served, stdout=out, stderr=out)
        try:
            address = f"http://127.0.0.1:{port}"
            _wait_until_up(address, lab, log, "/api")
            yield address
        finally:
            lab.terminate()
            try:
                lab.wait(20)
            except subprocess.TimeoutExpired:
                lab.kill()


@contextmanager
def running_browser() -> Iterator[Any]:
    """A headless chromium."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        try:
            yield browser
        finally:
            browser.close()


OPEN = """name => window.jupyterapp.commands
  .execute('docmanager:open', {path: name, factory: 'Notebook'})
  .then(book => { window.jupyterapp.shell.activateById(book.id); return book.context.ready })"""
CLOSE = """async () => {
  const book = window.jupyterapp.shell.currentWidget;
  await book.sessionContext.shutdown();
  book.context.model.dirty = false;  // what was run is not kept
  book.close();
}"""


class Notebook:
    """One notebook open in the lab.  ``errors`` collects what the page complains about.

    A context has one page of the lab, in which one notebook is opened after another: to load the
    lab anew for each took longer than most notebooks run.
    """

    def __init__(self, context: Any, address: str, name: str) -> None:
        self.name = name
        self.used = False
        self.user = ""
        loaded = bool(context.pages)
        self.page = context.pages[0] if loaded else context.new_page()
        self.page.set_default_timeout(60_000)
        self.errors: list[str] = []
        self.page.on("pageerror", self._complains)
        self.view()
        if loaded:
            self.page.evaluate(OPEN, name)
        else:
            self.page.goto(f"{address}/lab/tree/{name}?reset")
        self.page.wait_for_selector(".jp-Notebook .jp-Cell")
        self._wait_idle()
        self.page.evaluate(
            """() => {const lab = window.jupyterapp;
                      if (!lab.shell.leftCollapsed)
                        return lab.commands.execute('application:toggle-left-area')}"""
        )

    def _complains(self, error: Any) -> None:
        self.errors.append(str(error))

    def view(
        self, *, width: int = 1280, height: int = 900, dark: bool = False, moving: bool = False
    ) -> None:
        """Look at it in a window of that size, in the light or the dark theme.

        Pictures stand still unless it is about their movement: drawing them takes a whole core.
        """
        self.page.set_viewport_size({"width": width, "height": height})
        self.page.emulate_media(
            color_scheme="dark" if dark else "light",
            reduced_motion="no-preference" if moving else "reduce",
        )

    def run_all(self) -> None:
        """Run every cell.  AssertionError if that takes longer than two minutes.

        On a busy machine the lab itself now and then loses a cell's answer and waits for ever, or
        a widget of the page has not begun in the two seconds that its library gives it, so it is
        asked a second time, with a new kernel.
        """
        if not self._ran(60) or any("Failed to initialize model" in e for e in self.errors):
            self.page.evaluate(
                "() => window.jupyterapp.shell.currentWidget.sessionContext"
                ".session.kernel.restart()"
            )
            self._wait_idle()
            assert self._ran(120), "the notebook did not run through in two minutes"

    def outputs(self) -> list[dict[str, Any]]:
        """The code cells with their outputs, as the page would store them."""
        book = self.page.evaluate("() => window.jupyterapp.shell.currentWidget.model.toJSON()")
        return [cell for cell in book["cells"] if cell["cell_type"] == "code"]

    def _ran(self, seconds: int) -> bool:
        """Run every cell; whether all of them came to their end in time."""
        self.errors.clear()
        self.page.evaluate(
            "() => window.jupyterapp.commands.execute('notebook:clear-all-cell-outputs')"
        )
        done = self.page.evaluate(
            """(seconds) => Promise.race([
                window.jupyterapp.commands.execute('notebook:run-all-cells').then(() => true),
                new Promise(stop => setTimeout(() => stop(false), 1000 * seconds)),
            ])""",
            seconds,
        )
        if done:
            self._wait_idle()
        return bool(done)

    def failures(self) -> list[str]:
        """Page errors, cells that raised, anything that a callback printed."""
        shown = self.page.locator(
            '[data-mime-type="application/vnd.jupyter.error"],'
            '[data-mime-type="application/vnd.jupyter.stderr"]'
        )
        logged = self.page.locator(".jp-LogConsoleTab, .jp-mod-unread-log")
        return self.errors + shown.all_inner_texts() + logged.all_inner_texts()

    def settle(self) -> None:
        """Wait until what was just done in a widget has come back from the kernel.

        A question to the kernel is answered behind everything that was sent before it; twice,
        since a dragged slider sends its last place only after the one before was dealt with.
        """
        for _ in range(2):
            self.page.wait_for_timeout(20)
            self.page.evaluate(
                "() => window.jupyterapp.shell.currentWidget.sessionContext"
                ".session.kernel.requestKernelInfo()"
            )
        self._wait_idle()
        self.page.wait_for_timeout(60)

    def tell(self, code: str) -> None:
        """Run a line in the notebook's kernel, and wait for it."""
        self.page.evaluate(
            "code => window.jupyterapp.shell.currentWidget.sessionContext"
            ".session.kernel.requestExecute({code}).done",
            code,
        )

    def close(self) -> None:
        """Put the notebook away as it was, and end its kernel; the lab's page stays."""
        self.page.evaluate(CLOSE)
        self.page.wait_for_selector(".jp-Notebook", state="detached")
        self.page.remove_listener("pageerror", self._complains)

    def _wait_idle(self) -> None:
        self.page.wait_for_function(
            "() => window.jupyterapp?.shell.currentWidget?.sessionContext"
            "?.session?.kernel?.status === 'idle'"
        )


def _free_port() -> int:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return int(one.getsockname()[1])


def _wait_until_up(address: str, lab: subprocess.Popen[bytes], log: Path, page: str = "/") -> None:
    end = time.monotonic() + 60
    while time.monotonic() < end and lab.poll() is None:
        try:
            with urllib.request.urlopen(f"{address}{page}", timeout=2):
                return
        except OSError:
            time.sleep(0.2)
    raise RuntimeError(f"the server did not come up:\n{log.read_text()[-3000:]}")
