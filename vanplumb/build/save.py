"""Saving a build file whole or not at all, with the user's comments and order kept."""

from __future__ import annotations

import os
import stat
import tempfile
import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
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
    OSError if the folder can't be written.
    """
    text = build.text if isinstance(build, Build) else build
    if isinstance(build, Build) and not text:
        raise ValueError("this build was not read from a text, so there is none to save")
    loads(text, name=short(os.fspath(path), 200))
    target = Path(os.path.realpath(path))
    with _held(target.parent):
        _replace(target, text)
    return Path(path)


def change(path: str | os.PathLike[str], values: Mapping[str, Any]) -> Build:
    """Change some values of a build file, keep its comments and order, and give the new Build.

    Keys are paths as in ``Build.given``: ``"mixing_valve.rinse.setting"``, ``"run.3.rise"``
    (the third run), ``"van.units"``.  A value of None takes the key out, so that its default
    holds.  Raises BuildError, and writes nothing, if a path names no part or if the changed
    file would not load.  Two that change one file at once wait for each other.
    """
    target = Path(os.path.realpath(path))
    with _held(target.parent) if target.parent.is_dir() else _nothing():
        text = changed(read_text(path), values, name=short(os.fspath(path), 200))
        build = loads(text, path=Path(path), name=short(os.fspath(path), 200))
        _replace(target, text)
    return build


def _replace(target: Path, text: str) -> None:
    """The text to the file, in one step.  Call it with the folder held."""
    for left in target.parent.glob(f".{_glob_plain(target.name)}.*{_PART}"):
        with suppress(OSError):
            left.unlink()  # left by one that was killed while it held the folder
    handle, part = tempfile.mkstemp(
        prefix=f".{target.name[:100]}.", suffix=_PART, dir=target.parent
    )
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


def _glob_plain(name: str) -> str:
    """A file name with the marks that a pattern would read as its own made harmless."""
    return "".join(f"[{c}]" if c in "*?[" else c for c in name[:100])


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
def _held(folder: Path) -> Iterator[None]:
    """Keep other threads and processes that save in this folder waiting."""
    with _ONE_AT_A_TIME:
        handle = -1
        try:
            import fcntl

            handle = os.open(folder, os.O_RDONLY)
            fcntl.flock(handle, fcntl.LOCK_EX)
        except (ImportError, OSError):
            pass  # no such lock here: each write is whole all the same
        try:
            yield
        finally:
            if handle >= 0:
                os.close(handle)


@contextmanager
def _nothing() -> Iterator[None]:
    yield
