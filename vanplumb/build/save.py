"""Saving a build file whole or not at all, with the user's comments and order kept."""

from __future__ import annotations

import os
import stat
import tempfile
import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import replace
from pathlib import Path
from typing import Any

from .edit import changed
from .model import Build
from .problems import short
from .read import loads, read_text

_ONE_AT_A_TIME = threading.RLock()
_PART = ".part"


def save(build: Build | str, path: str | os.PathLike[str]) -> Path:
    """Write a build, or the text of one, to a file, and give the file's path.

    The file is replaced in one step: whoever reads it, at any moment, finds the old text or
    the new one, whole.  Raises BuildError, and writes nothing, if the text is no build;
    ValueError for a Build that is not what its text says; OSError if the folder can't be
    written.
    """
    text = build.text if isinstance(build, Build) else build
    if isinstance(build, Build) and not text:
        raise ValueError("this build was not read from a text, so there is none to save")
    said = loads(text, name=short(os.fspath(path), 200))
    if isinstance(build, Build) and replace(said, path=build.path) != build:
        raise ValueError("this build is not what its text says: use change() to change a file")
    target = Path(os.path.realpath(path))
    with _held(target.parent) as alone:
        _replace(target, text, alone)
    return Path(path)


def change(path: str | os.PathLike[str], values: Mapping[str, Any]) -> Build:
    """Change some values of a build file, keep its comments and order, and give the new Build.

    Keys are paths as in ``Build.given``: ``"mixing_valve.rinse.setting"``, ``"run.3.rise"``
    (the third run), ``"van.units"``.  A value of None takes the key out, so that its default
    holds.  Raises BuildError, and writes nothing, if a path names no part or if the changed
    file would not load.  Two that change one file at once wait for each other.
    """
    target = Path(os.path.realpath(path))
    with _held(target.parent) as alone:
        text = changed(read_text(path), values, name=short(os.fspath(path), 200))
        build = loads(text, path=Path(path), name=short(os.fspath(path), 200))
        _replace(target, text, alone)
    return build


def _replace(target: Path, text: str, alone: bool) -> None:
    """The text to the file, in one step.  ``alone``: no one else saves in its folder now."""
    start = f".{target.name[:40]}."
    if alone:
        for left in target.parent.iterdir():
            if left.name.startswith(start) and left.name.endswith(_PART):
                with suppress(OSError):
                    left.unlink()  # of one that was killed while it saved
    handle, part = tempfile.mkstemp(prefix=start, suffix=_PART, dir=target.parent)
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(part, _mode(target))
        os.replace(part, target)
    except BaseException:
        with suppress(OSError):
            os.unlink(part)
        raise
    _settle(target.parent)


def _mode(target: Path) -> int:
    """The rights of the old file, or those that a new file gets."""
    with suppress(OSError):
        return stat.S_IMODE(target.stat().st_mode)
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask


def _settle(folder: Path) -> None:
    """Make the folder itself keep the new name through a loss of power, where it can."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


@contextmanager
def _held(folder: Path) -> Iterator[bool]:
    """Keep others that save in this folder waiting; gives whether other processes do too."""
    with _ONE_AT_A_TIME:
        handle, alone = -1, False
        try:
            import fcntl

            handle = os.open(folder, os.O_RDONLY)
            fcntl.flock(handle, fcntl.LOCK_EX)
            alone = True
        except (ImportError, OSError):
            pass  # no such lock here: each write is whole all the same
        try:
            yield alone
        finally:
            if handle >= 0:
                os.close(handle)
