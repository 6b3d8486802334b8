"""Writing files so that a reader finds the old one or the new one, never half of one.

One writer for build files, sheets, lists, drawings and the states of worksheets, and one way
to make a file's name of a title.
"""

from __future__ import annotations

import os
import re
import stat
import tempfile
import threading
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

_ONE_AT_A_TIME = threading.RLock()
_PART = ".part"
_LONGEST_NAME = 60


def write_whole(path: Path | str, data: bytes | str) -> Path:
    """Write a file in one step: a kill at any moment leaves the old one or the new one, whole.

    Makes the folder, follows a link to the real file, keeps the rights of the old one, and has
    the bytes on the disk before the name points to them.  Text is written as UTF-8 with its
    line ends as they are.  Gives the path as it was asked for.  OSError if it can't be written.
    """
    target = Path(os.path.realpath(path))
    target.parent.mkdir(parents=True, exist_ok=True)
    with folder_held(target.parent) as alone:
        replace_whole(target, data, alone=alone)
    return Path(path)


def replace_whole(target: Path, data: bytes | str, *, alone: bool) -> None:
    """``write_whole`` for one that holds the folder; ``target`` is the real path.

    ``alone`` tells that no one else saves there now, so that what a killed one left can go.
    """
    start = f".{target.name[:40]}."
    if alone:
        for left in target.parent.iterdir():
            if left.name.startswith(start) and left.name.endswith(_PART):
                with suppress(OSError):
                    left.unlink()
    handle, part = tempfile.mkstemp(prefix=start, suffix=_PART, dir=target.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data.encode("utf-8") if isinstance(data, str) else data)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(part, _mode(target))
        os.replace(part, target)
    except BaseException:
        with suppress(OSError):
            os.unlink(part)
        raise
    sync_folder(target.parent)


def _mode(target: Path) -> int:
    """The rights of the old file, or those that a new file gets."""
    with suppress(OSError):
        return stat.S_IMODE(target.stat().st_mode)
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask


def sync_folder(folder: Path) -> None:
    """Make the folder itself keep a new name through a loss of power, where it can."""
    with suppress(OSError):  # Windows can't open a folder
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


@contextmanager
def folder_held(folder: Path) -> Iterator[bool]:
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


def file_name(title: str, otherwise: str = "list") -> str:
    """A title as a file name of small letters, digits and dashes."""
    letters = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode()
    dashed = re.sub(r"[^a-z0-9]+", "-", letters.lower()).strip("-")
    return dashed[:_LONGEST_NAME].strip("-") or otherwise
