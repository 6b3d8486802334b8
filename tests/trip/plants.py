"""Small plants for the tests, as plain numbers."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from vanplumb.trip.hot_runs.lines import Segment
from vanplumb.trip.play.plant import (
    BatteryPlant,
    HeaterPlant,
    Plant,
    PumpPlant,
    TankPlant,
    UsePlant,
)

SEGMENTS = (
    Segment("trunk", 0.2e-3, 0.27e-3, 1000.0, 293.15, 1.5),
    Segment("tap", 0.3e-3, 0.4e-3, 1000.0, 293.15, 3.0),
    Segment("shower", 0.35e-3, 0.5e-3, 1000.0, 293.15, 3.0),
    Segment("tub", 0.35e-3, 0.5e-3, 1000.0, 283.15, 3.0),
)


def heater(kind: str = "storage", **changes: Any) -> HeaterPlant:
    """A store of 22.7 L, or a flow-through heater of 16 kW."""
    through = kind == "flow-through"
    made = HeaterPlant(
        name="heater",
        flow_through=through,
        volume=0.6e-3 if through else 22.7e-3,
        setpoint=333.15,
        differential=5.0,
        element_power=0.0,
        element_draw=0.0,
        burner_heat=16e3 if through else 2600.0,
        burner_electric=20.0,
        fuel_rate=20e3 / 46.6e6 if through else 3500 / 46.6e6,
        coolant_power=0.0,
        power_least=0.0,
        flow_least=1e-5 if through else 0.0,
        start_delay=4.0 if through else 0.0,
        loss=3.0 if through else 1.0,
    )
    return replace(made, **changes)


def use(name: str, per_day: float, duration: float, **changes: Any) -> UsePlant:
    """A cold use at the tap, unless changed."""
    made = UsePlant(
        name=name,
        fixture="tap",
        per_day=per_day,
        flow=0.05e-3,
        duration=duration,
        wanted=None,
        hours=(),
        spread=0.25,
        grey=True,
    )
    return replace(made, **changes)


def warm_uses() -> tuple[UsePlant, ...]:
    """Hands, shower, dishes by hand; a tub by a thermostatic valve; drinking."""
    return (
        use("hands", 8, 15.0, wanted=311.0, path=(0, 1), mix_at=2),
        use(
            "shower",
            2,
            180.0,
            wanted=314.0,
            path=(0, 2),
            mix_at=2,
            flow=0.095e-3,
            hours=(7.5 * 3600.0,),
        ),
        use("dishes", 2, 90.0, wanted=318.0, path=(0, 1), mix_at=2, hours=(8.5 * 3600.0, 7e4)),
        use(
            "tub",
            1,
            40.0,
            wanted=311.0,
            path=(0, 3),
            mix_at=1,
            setting=312.0,
            grey=False,
            hours=(61200.0,),
        ),
        use("drink", 6, 30.0, grey=False, spread=0.1),
    )


def pumped(uses: tuple[UsePlant, ...], *pumps: int) -> tuple[UsePlant, ...]:
    """Uses whose water pumps lift, hot and cold: the first if none is said."""
    those = pumps or (0,)
    return tuple(replace(one, hot_pumps=those, cold_pumps=those) for one in uses)


def plant(
    kind: str = "storage", *, fresh: float = 0.1, lifted: bool = True, **changes: Any
) -> Plant:
    """A van with everything, its heater of one kind or none, one tank with so much water.

    A pump lifts the water of all uses, unless it is not ``lifted``.
    """
    made = Plant(
        days=4,
        tanks=(TankPlant("tank", fresh, 0.002),),
        grey=0.08,
        cold=288.15,
        cabin=293.15,
        heat_per_volume=4.147e6,
        uses=warm_uses(),
        segments=SEGMENTS,
        heaters=(heater(kind),) if kind else (),
        pumps=(PumpPlant("pump", 1.2e-4, 70.0),),
        battery=BatteryPlant(
            full=100 * 3600 * 12.8,
            empty=0.2 * 100 * 3600 * 12.8,
            start=100 * 3600 * 12.8,
            charge_power=20 * 12.8,
            charge_hours=((10 * 3600.0, 14 * 3600.0),),
            other_load=40.0,
        ),
        fuel=5.0,
        wait_limit=30.0,
    )
    made = replace(made, **changes)
    return replace(made, uses=pumped(made.uses)) if lifted else made
