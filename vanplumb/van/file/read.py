"""Reading a build file: from a path or a text to a Build, or to a BuildError."""

from __future__ import annotations

import os
import re
import stat
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

from ..bends import with_bends
from ..model import Build
from ..problems import BuildError, Problem, short
from .check import Checker, TooManyProblems
from .toml_text import reason

LARGEST = 1_000_000
"""Bytes; a build file of a large van has about twenty thousand."""

_DEEP_KEY = re.compile(r"""(?<![\w-])(?:(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){64}""")
"""A dotted key of far more parts than any build has, which the TOML reader would be slow on."""
_EMPTY = 'is empty; "vanplumb new FILE" starts one with every key explained'


def load(path: str | os.PathLike[str]) -> Build:
    """The Build that a file describes.

    Raises BuildError, which lists every problem of the file with its line.
    """
    name = short(os.fspath(path), 200)
    text = read_text(path)
    return loads(text, path=Path(path), name=name)


MOST = {"fixture": 400, "run": 1000}
"""Parts of a kind up to which a build is read: a larger one would take hours."""


def loads(text: str, path: Path | None = None, name: str = "") -> Build:
    """The Build that a text describes.  Raises BuildError as ``load`` does."""
    try:
        size = len(text.encode("utf-8"))
    except UnicodeEncodeError:
        raise BuildError([Problem(0, "", "has marks that are no text")], name) from None
    if size > LARGEST:
        raise BuildError([Problem(0, "", _too_large(size))], name)
    if not text.strip():
        raise BuildError([Problem(0, "", _EMPTY)], name)
    data = _parse(text, name)
    many = [
        Problem(0, "", f"has {len(data[key])} {key}s; at most {most} are worked out")
        for key, most in MOST.items()
        if isinstance(data.get(key), list) and len(data[key]) > most
    ]
    if many:
        raise BuildError(many, name)
    checker = Checker(data, text)
    try:
        build = checker.build()
    except TooManyProblems:
        raise BuildError(checker.problems, name) from None
    if checker.problems:
        raise BuildError(checker.problems, name)
    return with_bends(replace(build, path=path, text=text))


def read_text(path: str | os.PathLike[str]) -> str:
    """The text of a build file.  BuildError if it is no text file of a fit size."""
    name = short(os.fspath(path), 200)

    def refuse(message: str, line: int = 0) -> BuildError:
        return BuildError([Problem(line, "", message)], name)

    try:
        found = os.stat(path)
        if stat.S_ISDIR(found.st_mode):
            raise refuse("is a folder; name the build file in it")
        if not stat.S_ISREG(found.st_mode):
            raise refuse("is not a plain file")
        if found.st_size > LARGEST:
            raise refuse(_too_large(found.st_size))
        with open(path, "rb") as file:
            content = file.read(LARGEST + 1)
    except FileNotFoundError:
        raise refuse("there is no such file") from None
    except PermissionError:
        raise refuse("may not be read: permission denied") from None
    except (OSError, ValueError) as error:
        raise refuse(f"can't be read: {getattr(error, 'strerror', None) or error}") from None
    if len(content) > LARGEST:
        raise refuse(_too_large(len(content)))
    if b"\0" in content:
        raise refuse("is not a text file")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise refuse(
            f"is not UTF-8 text (byte 0x{content[error.start]:02x}): save it again as UTF-8", line
        ) from None


def _too_large(size: int) -> str:
    return f"is too large for a build file: {size / 1e6:.0f} MB, at most {LARGEST / 1e6:.0f} MB"


def _parse(text: str, name: str) -> dict[str, Any]:
    if deep := _DEEP_KEY.search(text):
        line = text.count("\n", 0, deep.start()) + 1
        raise BuildError([Problem(line, "", "is nested too deeply")], name)
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        line, told = reason(text, error)
        raise BuildError([Problem(line, "", told)], name) from None
    except RecursionError:
        raise BuildError([Problem(0, "", "is nested too deeply")], name) from None
    except (ValueError, OverflowError):
        problem = "has a number with far too many digits"
        raise BuildError([Problem(0, "", problem)], name) from None
