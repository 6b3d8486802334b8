"""What the pressure test means, on the sheet: why so high, what it holds in store, what falls."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..formulas.pressure_test import leak_rate
from ..words.report import Answer
from ..words.show import show
from .pressure_test import TRADE_FACTOR, work_told

if TYPE_CHECKING:
    from .engine import Shop

FALL = {"US": 6894.757, "SI": 1e4}
"""A fall that a gauge shows: 1 psi, 0.1 bar."""


def why(shop: Shop) -> str:
    """Why the test's pressure is what it is, and how long it stands."""
    test, units = shop.test, shop.build.van.units
    working = show(test.working, "pressure", units)
    if shop.build.shop.test_pressure is not None:
        reason = "as the build says"
    elif abs(test.pressure - TRADE_FACTOR * test.working) < 1.0:
        reason = f"{TRADE_FACTOR:g} times the highest in service, {working}"
    elif test.weakest is not None and test.pressure >= test.weakest.pressure - 1.0:
        reason = f"all that {test.weakest.part} may see"
    else:
        reason = f"by the rule, with {working} in service"
    return f"{reason}; for {show(test.duration, 'duration', units)} at least"


def stored(shop: Shop) -> tuple[Answer, ...]:
    """What a test holds in store, by air and by water under the same pressure."""
    slow, burst, wet = shop.air_test.work
    units = shop.build.van.units
    level = show(shop.air_test.pressure, "pressure", units)
    return (
        Answer(f"work that water under {level} can do", work_told(wet.value, units), work=(wet,)),
        Answer(
            "work that air in its place could do",
            work_told(slow.value, units),
            work=(slow,),
            note="slowly, less what pushes the atmosphere away",
        ),
        Answer(
            "work that air in its place could do in a burst",
            work_told(burst.value, units),
            work=(burst,),
            note="atmosphere and all",
        ),
    )


def leak_of_a_fall(shop: Shop) -> Answer:
    """The leak that a small fall over the test means."""
    units = shop.build.van.units
    work = leak_rate.work(
        compliance=shop.test.stiffness.compliance,
        pressure_loss=FALL[units],
        duration=shop.test.duration,
    )
    return Answer(
        f"leak that a fall of {show(FALL[units], 'pressure_loss', units)} over the test means",
        work.value,
        "leak",
        (work,),
        note="once the tube has settled, accumulator shut off",
    )
