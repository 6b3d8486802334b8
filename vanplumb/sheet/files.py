"""Writing a file so that a reader finds the old one or the new one, never half of one."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path


def put(path: Path | str, data: bytes) -> Path:
    """Write the bytes beside the path and move them there.  Makes the folder.  Gives the path."""
    path = Path(path)
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, beside = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name[:40]}.", suffix=".new")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        os.chmod(beside, 0o666 & ~_umask())
        os.replace(beside, path)
    except BaseException:
        Path(beside).unlink(missing_ok=True)
        raise
    return path


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
