"""Rules that must not mix up what belongs to one line, one heater or one hour with another's."""

from __future__ import annotations

from types import SimpleNamespace as Stub

import pytest
from pytest import approx

from tests.waters_apart import THREE_WATERS
from vanplumb.chapters.place import place_chapter
from vanplumb.flow.cross_effects import Change
from vanplumb.flow.service_pressure import service_pressures
from vanplumb.pack import Pack, example
from vanplumb.review import RULES
from vanplumb.review.trip import _heater_off
from vanplumb.trip.play.plant import HeaterPlant, UsePlant
from vanplumb.trip.stay.drinking import drinking_tap
from vanplumb.van import loads
from vanplumb.van.kinds.heaters import hottest
from vanplumb.van.ratings import highest_of_runs
from vanplumb.van.region import limit_at

GEYSER = """
[[heater]]
name = "geyser"
kind = "flow-through"
volume = "0.5 L"
setpoint = "60 °C"
element_power = "2 kW"
flow_least = "1 L/min"
relief = "14 bar"
[[fixture]]
name = "sink"
kind = "basin tap"
temperature = "60 °C"
[[run]]
from = "pump"
to = "geyser"
tube = "copper L 1/2 in"
length = "1 m"
[[run]]
from = "geyser"
to = "sink.hot"
tube = "copper L 1/2 in"
length = "1 m"
"""
TWO_HEATERS = (
    THREE_WATERS.replace('from = "pump"\nto = "shower"', 'from = "wash tee"\nto = "shower"')
    + GEYSER.replace('from = "pump"', 'from = "wash tee"')
    + '[[tee]]\nname = "wash tee"\n[[run]]\nfrom = "pump"\nto = "wash tee"\n'
    'tube = "copper L 1/2 in"\nlength = "1 m"\n'
)


def test_a_relief_valve_guards_the_tube_that_its_own_water_gets_to() -> None:
    """14 bar stand on copper only; the plastic tube is guarded by the 3 bar of the store."""
    build = loads(TWO_HEATERS)
    held = service_pressures(build)
    by_tube = {build.run[n].tube: held.relief_of_run(n) for n in range(len(build.run))}
    assert by_tube["copper L 1/2 in"] == approx(14e5)
    assert held.relief_of_run(1) == approx(3e5)  # high tee to galley, cold
    assert not list(RULES["relief_above_tube"](Stub(build=build, pressures=held)))
    bare = loads(TWO_HEATERS.replace('relief = "3 bar"', 'relief = "13 bar"'))
    held = service_pressures(bare)
    [one] = RULES["relief_above_tube"](Stub(build=bare, pressures=held))
    assert one.where == "PE-X 16x2.0" and one.value == approx(13e5)


def jump(warm: float, rise: float, heater: float) -> Change:
    return Change("tap", (("other", "mixed"),), 1e-4, 5e-5, warm - rise, warm, heater)


@pytest.mark.parametrize(
    "warm, heater, severity, told",
    [
        (297.0, -7.0, "NOTICE", "Less water runs through the heater"),
        (297.0, 0.0, "NOTICE", "cold side loses pressure"),
        (316.0, 0.0, "WARNING", "cold side loses pressure"),
        (316.0, -7.0, "WARNING", "Less water runs through the heater"),
    ],
)
def test_a_jump_burns_only_above_the_heat_of_blood(
    warm: float, heater: float, severity: str, told: str
) -> None:
    """37 °C: what stays below it scalds nobody, though it rose by 7 K."""
    flow = Stub(problem="", fixtures=("tap",), changes={"tap": (jump(warm, 7.0, heater),)})
    [one] = RULES["temperature_jumps"](Stub(flow=flow, build=example("wren")))
    assert one.severity == severity and told in one.advice


def test_a_heater_at_its_limit_gives_warmer_water_when_less_runs_through() -> None:
    """The sink open to hot, then the shower too: its 2 kW go into less water."""
    flow = Pack(loads(TWO_HEATERS)).flow
    change = max(flow.changes["sink"], key=lambda c: c.rise)
    assert change.rise > 0.5
    assert change.heater == approx(-change.rise, rel=0.05)


@pytest.mark.parametrize(
    "hours, coolant, drive, when, off",
    [
        ((), 0.0, (), 9 * 3600, False),
        (((72000.0, 111600.0),), 0.0, (), 9 * 3600, True),  # 20:00 to 07:00
        (((72000.0, 111600.0),), 0.0, (), 86400 + 6 * 3600, False),
        ((), 5000.0, ((32400.0, 39600.0),), 8 * 3600, True),  # the engine runs 09:00 to 11:00
        ((), 5000.0, ((32400.0, 39600.0),), 86400 + 10 * 3600, False),
    ],
)
def test_a_heater_that_is_off_is_told_from_one_that_is_too_weak(
    hours: tuple, coolant: float, drive: tuple, when: float, off: bool
) -> None:
    heater = HeaterPlant("coil", False, 0.01, 340.0, 5.0, 0.0 if coolant else 900.0, 0.0, 0.0, 0.0,
                         0.0, coolant, 0.0, 0.0, 0.0, 1.0, hours)  # fmt: skip
    use = UsePlant("hands", "basin", 1.0, 1e-4, 10.0, 311.0, (), 0.0, False, path=(0,))
    plant = Stub(heaters=(heater,), drive_hours=drive)
    assert _heater_off(plant, use, float(when)) == ("coil" if off else "")  # type: ignore[arg-type]


def test_the_limit_of_a_van_is_that_of_an_outlet_with_warm_water() -> None:
    """The foot pump's spout, named first in the file, gives cold water only."""
    spout = '[[fixture]]\nname = "spout"\nkind = "foot pump tap"\n'
    build = loads(THREE_WATERS.replace(spout, "").replace("[[tank]]", spout + "[[tank]]", 1))
    assert build.fixture[0].name == "spout"
    found = limit_at(build)
    assert found is not None and found.who.startswith("galley")


def test_metal_is_asked_for_at_the_tubes_of_the_heater() -> None:
    pack = Pack(loads(TWO_HEATERS.replace('units = "SI"', 'units = "SI"\nregion = "UK"', 1)))
    [rows] = [g for g in place_chapter(pack).grids if g.title == "Metal first at a heater"]
    told = {(row[0], row[1]) for row in rows.rows}
    assert told == {("store", "PE-X 16x2.0")}


def test_nobody_drinks_from_a_tap_whose_water_is_mixed_on_its_way() -> None:
    mixer = (
        '[[mixing_valve]]\nname = "mixer"\nkind = "thermostatic"\nsetting = "38 °C"\n'
        '[[fixture]]\nname = "wash bowl"\nkind = "cold tap"\nflow = "2 L/min"\n'
        '[[run]]\nfrom = "high tee"\nto = "mixer.cold"\ntube = "PE-X 16x2.0"\nlength = "1 m"\n'
        '[[run]]\nfrom = "hot tee"\nto = "mixer.hot"\ntube = "PE-X 16x2.0"\nlength = "1 m"\n'
        '[[run]]\nfrom = "mixer"\nto = "wash bowl"\ntube = "PE-X 16x2.0"\nlength = "1 m"\n'
        '[[tee]]\nname = "hot tee"\n'
    )
    text = THREE_WATERS[: THREE_WATERS.index('[[tank]]\nname = "can"')] + mixer
    text = text.replace('from = "store"\nto = "galley.hot"', 'from = "hot tee"\nto = "galley.hot"')
    text += '[[run]]\nfrom = "store"\nto = "hot tee"\ntube = "PE-X 16x2.0"\nlength = "0.3 m"\n'
    # both are of the sort "sink", the bowl is made for the lesser flow, but gives 38 °C
    tap = drinking_tap(loads(text))
    assert tap is not None and tap.name == "galley"


def test_a_run_is_as_hot_as_the_heaters_that_its_own_water_passes() -> None:
    build = loads(
        TWO_HEATERS.replace(
            'setpoint = "60 °C"\nelement_power = "2 kW"',
            'setpoint = "48 °C"\nelement_power = "2 kW"',
        )
    )
    store, geyser = build.heater
    assert hottest(store) != approx(hottest(geyser), abs=1)
    heats = dict(zip((str(a) + " " + str(b) for a, b in build.run_ends),
                     highest_of_runs(build), strict=True))  # fmt: skip
    hot = {ends: heat for ends, heat in heats.items() if heat.value > build.van.cabin + 1}
    behind = {ends: heat for ends, heat in hot.items() if ends.startswith("geyser")}
    assert behind and len(behind) < len(hot)
    for ends, heat in hot.items():
        wanted = geyser if ends in behind else store
        assert heat.value == hottest(wanted) and wanted.name in heat.why
