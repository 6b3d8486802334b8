"""What each kind of mixing valve does, and the hot share of one that was set once by hand."""

from __future__ import annotations

from typing import Any

import numpy as np

from ...formulas.mixing import hot_share
from ...words.work import Work
from ..parts import MixingValve

FIXED, THERMOSTATIC = "fixed", "thermostatic"


def is_set_once(valve: MixingValve) -> bool:
    """Whether it keeps the share that it was turned to, whatever comes in."""
    return valve.kind == FIXED


def holds_outlet(valve: MixingValve) -> bool:
    """Whether it turns by itself to hold the temperature of its outlet."""
    return valve.kind == THERMOSTATIC


def supplies_when_set(valve: MixingValve, hot: Any, cold: Any) -> tuple[Any, Any]:
    """Its hot and cold supply on the day it was set: as the file says, or those given, K."""
    return (
        hot if valve.set_hot is None else valve.set_hot,
        cold if valve.set_cold is None else valve.set_cold,
    )


def share_when_set(valve: MixingValve, hot: Any, cold: Any) -> Any:
    """Hot share that a set-once valve keeps, between 0 and 1; an array for variants.

    ``hot`` and ``cold`` stand for supplies that the file does not say.
    """
    then_hot, then_cold = (np.asarray(t, float) for t in supplies_when_set(valve, hot, cold))
    apart = np.maximum(then_hot, then_cold + 1e-6)
    share = np.clip(hot_share.si(np.asarray(valve.setting), apart, then_cold), 0.0, 1.0)
    return float(share) if share.ndim == 0 else share


def share_work(valve: MixingValve, hot: float, cold: float) -> Work:
    """The worked step of ``share_when_set``, before it is held between 0 and 1."""
    then_hot, then_cold = supplies_when_set(valve, hot, cold)
    return hot_share.work(
        temperature_mixed=valve.setting, temperature_hot=then_hot, temperature_cold=then_cold
    )
