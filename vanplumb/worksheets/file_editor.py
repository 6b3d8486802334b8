"""A build file as text with numbered lines; what is wrong stands below and leads to its line."""

from __future__ import annotations

from collections.abc import Iterable
from importlib.resources import files
from typing import Any

import anywidget
import traitlets

from ..build import BuildError


def _text(name: str) -> str:
    return (files(__package__) / name).read_text(encoding="utf-8")


class FileEditor(anywidget.AnyWidget):
    """Shows ``text`` to be changed, unless it is ``fixed``, and what is wrong with it."""

    _esm = _text("file_editor.js")
    _css = _text("file_editor.css")
    text = traitlets.Unicode("").tag(sync=True)
    fixed = traitlets.Bool(False).tag(sync=True)
    problems: traitlets.List[Any] = traitlets.List().tag(sync=True)

    def __repr__(self) -> str:
        return "<build file to change>"

    def tell(self, error: BuildError | None) -> None:
        """What is wrong, each problem with its line; None if nothing is."""
        found: Iterable[Any] = error.problems if error is not None else ()
        self.problems = [
            {"line": one.line, "told": f"{one.path} {one.message}".strip()} for one in found
        ]
