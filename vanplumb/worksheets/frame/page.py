"""What the parts of a worksheet's frame see of the worksheet that they stand in."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Protocol

from ...words.report import Caution, Chapter
from .controls import Control


class Page(Protocol):
    """A worksheet as its panels and its printed form see it; see ``base`` for the parts."""

    title: str
    units: str
    van: str
    problem: str
    chapter: Chapter | None
    told: list[Caution]
    fields: dict[str, Control]

    @property
    def values(self) -> Mapping[str, Any]: ...

    @property
    def written(self) -> Mapping[str, Any]: ...

    @property
    def shown_fields(self) -> list[Control | str]: ...

    def set(self, **values: Any) -> None: ...

    def chapter_with_pictures(self) -> Chapter: ...
