"""The reader's own build files: which there are, and which may be written into.

They are looked for beside the notebook and in the folder above it, where a terminal stood when
it copied the notebooks.  The examples that come with the kit are read, never written.
"""

from __future__ import annotations

import os
import re
from pathlib import Path

import ipywidgets as widgets

from ...words.tables import example_builds

_VAN = re.compile(rb"^\s*\[van\]", re.MULTILINE)
_MOST_READ = 1_000_000


def files(folder: Path | str = ".") -> list[Path]:
    """Build files in a folder and in the one above it, each folder by name.

    A file that has a van but can't be read otherwise is one too: its problems can be told.
    """
    here = Path(folder).absolute()
    found = []
    for place in dict.fromkeys((here, here.parent)):
        try:
            found += [p for p in sorted(place.glob("*.toml")) if _has_a_van(p)]
        except OSError:
            continue
    return found


def newest() -> str:
    """The build file beside the notebook that was changed last; empty if there is none."""
    here = [path for path in files() if path.parent == Path().absolute()]
    return str(max(here, key=lambda path: path.stat().st_mtime, default=""))


def shown(path: Path | str) -> str:
    """The path from here, as short as it goes."""
    try:
        return os.path.relpath(path)
    except ValueError:  # another drive
        return str(path)


def is_example(path: Path | str) -> bool:
    """Whether a file is one of the examples that come with the kit."""
    real = os.path.realpath(path)
    return any(os.path.realpath(one) == real for one in example_builds().values())


def written_into(text: str) -> Path:
    """The path of a build file of the reader's.  ValueError if none is named, or an example."""
    if not text.strip():
        raise ValueError("type the name of a build file")
    path = Path(os.path.abspath(Path(text.strip()).expanduser()))
    if is_example(path):
        raise ValueError("an example stays as it is: start a build file of your own from it")
    return path


def entry(value: str = "") -> widgets.Combobox:
    """A text box for a build file that offers those there are."""
    return widgets.Combobox(
        value=shown(value) if value else "",
        options=options(),
        description="build file",
        placeholder="my-van.toml",
    )


def options() -> tuple[str, ...]:
    """The reader's build files as they are offered."""
    return tuple(map(shown, files()))


def _has_a_van(path: Path) -> bool:
    try:
        if not path.is_file():
            return False
        with path.open("rb") as file:
            return _VAN.search(file.read(_MOST_READ)) is not None
    except OSError:
        return False
