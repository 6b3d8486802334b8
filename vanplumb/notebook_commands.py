"""The notebooks from the terminal: opened in JupyterLab, or served as pages without code."""

from __future__ import annotations

import argparse
import json
import os
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from html import escape
from pathlib import Path
from typing import Any
from urllib.parse import quote

FINE, PROBLEM = 0, 1
PORT = 8866
FOR_SCRIPTS = "61_plots.ipynb"
"""A gallery of code."""


def add_notebooks(commands: Any) -> None:
    """Add the commands to the command line."""
    books = commands.add_parser("notebooks", help="copy the notebooks to a folder and open them")
    _folder(books)
    books.add_argument("--copy-only", action="store_true", help="don't start JupyterLab")
    books.set_defaults(run=_notebooks)

    pages = commands.add_parser(
        "pages", help="worksheets and lessons as pages without code, for people without Jupyter"
    )
    _folder(pages)
    pages.add_argument("--port", type=int, default=0, help=f"port on this machine ({PORT})")
    pages.add_argument("--no-browser", action="store_true", help="only say where the pages are")
    pages.set_defaults(run=_pages)


def _folder(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "folder",
        nargs="?",
        type=Path,
        default=Path("vanplumb-notebooks"),
        help="where to (vanplumb-notebooks)",
    )


def _copied(folder: Path) -> None:
    """Copy the notebooks that are not there yet, and say how many."""
    folder.mkdir(parents=True, exist_ok=True)
    copied = 0
    for path in sorted(_own_notebooks().glob("*.ipynb")):
        target = folder / path.name
        if not target.exists():
            shutil.copyfile(path, target)
            copied += 1
    print(f"{copied} notebooks copied to {folder}; those already there are left as they are.")


def _notebooks(chosen: argparse.Namespace) -> int:
    _copied(chosen.folder)
    if chosen.copy_only:
        return FINE
    folder, here = chosen.folder.resolve(), Path.cwd()
    # Build files lie beside the folder: they are shown, too, if it lies in this one.
    root = here if folder.is_relative_to(here) else folder
    print(
        "Starting JupyterLab in your browser. Your own van: open 03_your_van.ipynb.\n"
        "To end it, press Ctrl-C here."
    )
    first = str(folder / "01_start.ipynb")
    command = [sys.executable, "-m", "jupyterlab", f"--ServerApp.root_dir={root}", first]
    os.execv(sys.executable, command)


def _own_notebooks() -> Path:
    """The notebooks that came with the kit: inside the installed package, or in its checkout."""
    here = Path(__file__).parent
    inside = here / "_notebooks"
    return inside if inside.is_dir() else here.parent / "notebooks"


def _pages(chosen: argparse.Namespace) -> int:
    """Serve until Ctrl-C.  Only this machine reaches the pages, and nothing is fetched."""
    _copied(chosen.folder)
    port = _port(chosen.port)
    if port is None:
        print(f"port {chosen.port} can't be had: name another, or none", file=sys.stderr)
        return PROBLEM
    with tempfile.TemporaryDirectory() as scratch:
        _write_templates(Path(scratch), chosen.folder)
        paths = [scratch, os.environ.get("JUPYTER_PATH", "")]
        command = [
            *(sys.executable, "-m", "voila", str(chosen.folder.resolve()), f"--port={port}"),
            *("--Voila.ip=127.0.0.1", "--VoilaConfiguration.template=vanplumb"),
            *("--VoilaConfiguration.classic_tree=True", "--Voila.log_level=ERROR"),
            *("--VoilaConfiguration.allow_theme_override=YES",),
            # a page that was left open for an hour is run again when it is opened again
            *("--MappingKernelManager.cull_idle_timeout=3600",),
            *("--MappingKernelManager.cull_interval=300",),
            *(["--no-browser"] if chosen.no_browser else []),
        ]
        print(f"The pages are at http://localhost:{port}/ . To end them, press Ctrl-C here.")
        sys.stdout.flush()
        env = {**os.environ, "JUPYTER_PATH": os.pathsep.join(p for p in paths if p)}
        signal.signal(signal.SIGTERM, lambda *_: sys.exit(FINE))
        server = subprocess.Popen(command, env=env)
        try:
            return server.wait() and PROBLEM
        except KeyboardInterrupt:
            return FINE
        finally:  # pages don't outlive the command that serves them
            server.terminate()
            server.wait()


def _port(wanted: int) -> int | None:
    """The port that is asked for, if it is free; without one the usual one or any that is free."""
    for port in (wanted,) if wanted else (PORT, 0):
        with socket.socket() as one:
            if os.name == "posix":  # as the server does: a port just left is free
                one.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                one.bind(("127.0.0.1", port))
            except (OSError, OverflowError):  # in use, or no port at all
                continue
            return int(one.getsockname()[1])
    return None


def _write_templates(scratch: Path, notebooks: Path) -> None:
    """What the server of pages needs in its own form: how a page and how their list look."""
    folder = scratch / "voila" / "templates" / "vanplumb"
    folder.mkdir(parents=True)
    (folder / "conf.json").write_text(json.dumps({"base_template": "lab"}), encoding="utf-8")
    own = Path(__file__).parent / "worksheets" / "frame" / "served"
    for name in ("index.html.j2", "tree.html"):
        text = (own / name).read_text(encoding="utf-8")
        listed = "\n".join(_listed(notebooks))
        text = text.replace("LISTED", "{% raw %}" + listed + "{% endraw %}")
        (folder / name).write_text(text, encoding="utf-8")


def _listed(folder: Path) -> Iterator[str]:
    """The pages by their titles: worksheets first, then the lessons as they follow one another.

    What is only for those who write code is left out, since here is none to be seen.
    """
    from .course.lessons import LESSONS

    order = {one.notebook: place for place, one in enumerate(LESSONS.values())}
    groups: dict[str, list[str]] = {"Worksheets": [], "Lessons": []}
    for path in sorted(folder.glob("*.ipynb"), key=lambda p: (order.get(p.name, -1), p.name)):
        if path.name == FOR_SCRIPTS:
            continue
        title, kind = _about(path)
        if title:
            link = f'<li><a href="voila/render/{quote(path.name)}">{escape(title)}</a></li>'
            groups[kind].append(link)
    for name, links in groups.items():
        if links:
            mark = "ol" if name == "Lessons" else "ul"
            lines = "\n".join(links)
            yield f'<h2 id="{name.lower()}">{name}</h2>\n<{mark}>\n{lines}\n</{mark}>'


def _about(path: Path) -> tuple[str, str]:
    """The title of a notebook, empty if it can't be read, and which group it belongs to."""
    try:
        texts = ["".join(c["source"]) for c in json.loads(path.read_text("utf-8"))["cells"]]
        title = texts[0].partition("\n")[0].lstrip("# ")
    except (OSError, ValueError, KeyError, IndexError, TypeError):
        return "", "Worksheets"
    return title, "Lessons" if any("import lesson\n" in t for t in texts) else "Worksheets"
