"""What a fixture is meant to give: its own figure, or that of its kind."""

from __future__ import annotations

from typing import Any

from ..model import Build
from ..parts import Fixture
from ..rows import own_or_row


def rated_flow(build: Build, fixture: Fixture) -> Any:
    """The flow a fixture is meant to give, m³/s; as many as there are variants of the build."""
    return own_or_row(build, fixture, "flow", "fixtures", fixture.kind, "flow")
