"""A pack's folder: whole, or seen not to be.

What a pack holds is written into a hidden folder first, so that working it out touches nothing.
Then, under a lock, the list of contents is marked as half written, every file takes its place in
one step, what the pack no longer makes goes to the folder of old states, and the list is written
anew, last, with a mark of each file.  A kill before leaves the old pack; a kill between is seen
by the list; a key to stop waits until the files stand.
"""

from __future__ import annotations

import errno
import hashlib
import json
import os
import shutil
import tempfile
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path
from typing import Any

from ..words.files import folder_held, replace_whole

CONTENTS = "contents.json"
"""The list of a pack's files with a mark of each."""
OLD = "old states"
"""Where files go that a pack no longer makes."""
_STAGE, _HELD = ".being-written-", ".held"


def contents(folder: Path) -> dict[str, Any]:
    """What the list of a folder says; empty if there is none that can be read."""
    try:
        said = json.loads((folder / CONTENTS).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return said if isinstance(said, dict) and isinstance(said.get("files"), dict) else {}


def what_is_not_whole(folder: Path | str) -> list[str]:
    """Why the pack in a folder is not the one that was written; empty if it is whole."""
    folder = Path(folder)
    said = contents(folder)
    if not said:
        return [f"{CONTENTS} is missing or can't be read"]
    if said.get("whole") is not True:
        return ["writing it was broken off: write the pack again"]
    found = []
    for name, mark in said["files"].items():
        file = folder / name
        if not file.is_file():
            found.append(f"{name} is missing")
        elif mark_of(file.read_bytes()) != mark:
            found.append(f"{name} was changed since the pack was written")
    return found


def mark_of(data: bytes) -> str:
    """The mark of a file: its SHA-256."""
    return hashlib.sha256(data).hexdigest()


@contextmanager
def whole_pack(folder: Path | str, about: dict[str, str]) -> Iterator[Path]:
    """A hidden folder to write a pack into, which takes the place of the old one at the end.

    ``about`` goes into the list of contents.  Nothing of the old pack is touched if the work
    inside raises.  OSError if the folder can't be written.
    """
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    with ExitStack() as held:
        with folder_held(folder):  # so that who clears up never meets one that is not held yet
            stage = Path(tempfile.mkdtemp(prefix=_STAGE, dir=folder))
            held.callback(shutil.rmtree, stage, ignore_errors=True)
            held.enter_context(_held(stage))
        yield stage
        with folder_held(folder) as alone:
            _in_place(folder, stage, about, alone)


def _in_place(folder: Path, stage: Path, about: dict[str, str], alone: bool) -> None:
    """Put every file where it belongs; a key to stop is heeded when all stand."""
    files = sorted(p for p in stage.rglob("*") if p.is_file() and p.name != _HELD)
    names = [p.relative_to(stage).as_posix() for p in files]
    marks = {name: mark_of(p.read_bytes()) for name, p in zip(names, files, strict=True)}
    before = contents(folder).get("files", {})
    target, stopped = Path(os.path.realpath(folder / CONTENTS)), None
    # Until the last line the list holds the old files and the new, so that none is forgotten.
    half = {"whole": False, **about, "files": {**before, **marks}}
    replace_whole(target, _text(half), alone=alone)
    waiting = list(zip(names, files, strict=True))
    gone = [name for name in before if name not in marks]
    while waiting or gone:
        try:
            if waiting:
                name, file = waiting[-1]
                if file.exists():
                    place = _place(folder, name)
                    _rights(file, place)
                    os.replace(file, place)
                waiting.pop()
            else:
                _put_away(folder, gone[-1])
                gone.pop()
        except KeyboardInterrupt as stop:
            stopped = stop
    replace_whole(target, _text({"whole": True, **about, "files": marks}), alone=alone)
    if alone:
        for left in folder.glob(f"{_STAGE}*"):
            if left != stage and not _in_use(left):
                shutil.rmtree(left, ignore_errors=True)
    if stopped is not None:
        raise stopped


def _place(folder: Path, name: str) -> Path:
    """Where a file of the pack stands: inside the folder, whatever links are in it.

    A link to a file inside is followed, one that leads outside is replaced.  OSError if a
    folder in it is a link that leads outside.
    """
    place = folder / name
    place.parent.mkdir(parents=True, exist_ok=True)
    root = Path(os.path.realpath(folder))
    if not Path(os.path.realpath(place.parent)).is_relative_to(root):
        raise NotADirectoryError(errno.ENOTDIR, "is a link that leads out of it", str(place.parent))
    real = Path(os.path.realpath(place))
    return real if real.is_relative_to(root) else place


def _text(said: dict[str, Any]) -> str:
    return json.dumps(said, indent=2, ensure_ascii=False) + "\n"


def _rights(file: Path, place: Path) -> None:
    with suppress(OSError):
        os.chmod(file, place.stat().st_mode & 0o7777)


def _put_away(folder: Path, name: str) -> None:
    """Move what is no longer made into the folder of old states, under a name that is free."""
    file = folder / name
    inside = Path(os.path.realpath(file)).is_relative_to(os.path.realpath(folder))
    if not inside or not file.is_file():
        return
    number = 1
    while (folder / OLD / str(number) / name).exists():
        number += 1
    place = folder / OLD / str(number) / name
    place.parent.mkdir(parents=True, exist_ok=True)
    os.replace(file, place)
    with suppress(OSError):
        file.parent.rmdir()  # only where nothing else is left in it


@contextmanager
def _held(stage: Path) -> Iterator[None]:
    """Tell others that somebody still writes into a hidden folder."""
    with (stage / _HELD).open("wb") as file:
        with suppress(ImportError, OSError):
            import fcntl

            fcntl.flock(file, fcntl.LOCK_EX)
        yield


def _in_use(stage: Path) -> bool:
    """Whether somebody may still write into a hidden folder; where no lock tells, for an hour."""
    try:
        import fcntl

        with (stage / _HELD).open("rb") as file:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        return False
    except FileNotFoundError:
        return False
    except (BlockingIOError, PermissionError):
        return True
    except (ImportError, OSError):
        with suppress(OSError):
            return time.time() - stage.stat().st_mtime < 3600
        return True
