"""Lets the tests of this room import their small plants."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

_spec = importlib.util.spec_from_file_location("trip_plants", Path(__file__).parent / "plants.py")
assert _spec is not None and _spec.loader is not None
_module = importlib.util.module_from_spec(_spec)
sys.modules["trip_plants"] = _module
_spec.loader.exec_module(_module)
