"""Where each rule begins to speak: just inside its limit it is silent, just beyond it speaks.

Limits without a source are the trade's habit; they are written here a second time, so that a
slip in one of them is seen.
"""

from __future__ import annotations

from types import SimpleNamespace as Stub
from typing import Any

import pytest

from tests.review.test_rules import HOT_RUN, SOUND, both, swap
from vanplumb.pack import Pack
from vanplumb.review import RULES, Finding
from vanplumb.van import loads
from vanplumb.words.sources import PRACTICE

FOOT = 0.3048


def says(rule: str, text: str) -> tuple[Finding, ...]:
    return tuple(RULES[rule](Pack(loads(text))))


def test_a_vent_is_a_third_of_its_filler() -> None:
    """Common practice, no source: a filler of 30 mm wants a vent of 10 mm."""
    narrow = says(
        "vent_missing", swap('vent_diameter = "15 mm"', 'vent_diameter = "9.9 mm"')(SOUND)
    )
    assert [f.limit for f in narrow] == [pytest.approx(0.010)]
    assert not says("vent_missing", swap('"15 mm"\npickup', '"10.1 mm"\npickup')(SOUND))


def test_water_may_take_a_quarter_of_the_payload() -> None:
    """Common practice, no source."""
    mass = Pack(loads(SOUND)).weight.share * 500.0
    for share, count in ((0.252, 1), (0.248, 0)):
        text = swap('payload = "500 kg"', f'payload = "{mass / share:.3f} kg"')(SOUND)
        assert len(says("water_heavy_for_the_van", text)) == count


def test_a_heel_is_a_tenth_of_the_tank() -> None:
    """Common practice, no source: 30 mm of a tank of 300 mm."""
    for height, count in (("31 mm", 1), ("29 mm", 0)):
        text = swap('pickup_height = "15 mm"', f'pickup_height = "{height}"')(SOUND)
        assert len(says("heel_large", text)) == count


def test_a_store_is_kept_at_sixty() -> None:
    for celsius, count in ((59, 1), (60, 0)):
        text = swap('setpoint = "60 °C"', f'setpoint = "{celsius} °C"')(SOUND)
        hits = says("store_below_legionella_advice", text)
        assert [f.limit for f in hits] == [pytest.approx(333.15)] * count


def test_a_relief_valve_opens_below_what_pex_is_tested_with() -> None:
    """ASTM F876: tube stands 150 psi at 210 °F, so that a relief valve of 150 psi may guard it."""
    for psi, count in ((151, 1), (149.5, 0)):
        text = swap('relief = "8 bar"\npressure_rating = "8 bar"', f'relief = "{psi} psi"')(SOUND)
        hits = says("relief_above_tube", text)
        assert [f.limit for f in hits] == [pytest.approx(150 * 6894.757)] * count


def test_a_hot_run_may_grow_by_a_centimetre() -> None:
    """Common practice, no source.  1.1 in for 100 ft and 10 °F (PPI, 1.65e-4 for each kelvin), from
    a shop at 20 °C to the 80 °C of coolant: 1.05 m grow by 10.4 mm, 0.95 m by 9.4 mm."""
    for metres, count in ((1.05, 1), (0.95, 0)):
        text = swap(f'{HOT_RUN}\nlength = "0.5 m"', f'{HOT_RUN}\nlength = "{metres} m"')(SOUND)
        assert len(says("heated_run_has_no_give", text)) == count


@pytest.mark.parametrize("share, count", [(0.59, 1), (0.61, 0), (0.999, 0), (1.01, 1)])
def test_a_precharge_is_near_the_cut_in(share: float, count: int) -> None:
    """Common practice, no source: from 0.6 of the cut-in to the cut-in itself."""
    pump = 'curve = "12 V 2.8 gpm 40 psi"'
    text = both(
        swap(pump, f'{pump}\ncut_in = "2 bar"\ncut_out = "3 bar"'),
        swap('precharge = "30 psi"', f'precharge = "{2 * share:.4f} bar"'),
    )(SOUND)
    assert len(says("precharge_off", text)) == count


def test_a_precharge_is_not_for_a_pump_that_fills_another_line() -> None:
    """A pump of a line of its own never fills the vessel, whatever its switch says."""
    pump = 'curve = "12 V 2.8 gpm 40 psi"'
    text = both(
        swap(pump, f'{pump}\ncut_in = "2 bar"\ncut_out = "3 bar"'),
        swap('precharge = "30 psi"', 'precharge = "1.9 bar"'),
    )(SOUND)
    assert not says("precharge_off", text)
    other = (
        '[[pump]]\nname = "hose pump"\nkind = "electric"\ncurve = "12 V 2.8 gpm 40 psi"\n'
        'cut_in = "4 bar"\ncut_out = "5 bar"\n'
    )
    leads = '[[run]]\nfrom = "{}"\nto = "{}"\ntube = "PEX 1/2 in"\nlength = "1 m"\n'
    alone = text + other + leads.format("fresh", "hose pump")
    assert not says("precharge_off", alone)
    joined = alone + leads.format("hose pump", "joint")
    assert len(says("precharge_off", joined)) == 1


def test_a_stated_working_pressure_is_kept() -> None:
    highest = Pack(loads(SOUND)).pressures.highest.value
    for share, count in ((0.99, 1), (1.01, 0)):
        text = swap("[crew]", f'[limits]\nworking_pressure = "{share * highest:.0f} Pa"\n[crew]')(
            SOUND
        )
        assert len(says("stated_working_pressure_exceeded", text)) == count


def test_a_valve_that_is_set_once_keeps_to_the_limit_at_its_hottest() -> None:
    fixed = swap('kind = "thermostatic"', 'kind = "fixed"')(SOUND)
    hottest = Pack(loads(fixed)).mixing["mixer"].most - 273.15
    for celsius, count in ((hottest - 1.0, 1), (hottest + 0.5, 0)):
        text = swap("[crew]", f'[limits]\noutlet_temperature = "{celsius:.2f} °C"\n[crew]')(fixed)
        assert len(says("fixed_valve_on_a_hot_store", text)) == count


def test_joints_wait_in_a_shop_below_forty_fahrenheit() -> None:
    """Typical published instructions: below 40 °F expansion joints wait for hours."""
    for fahrenheit, count in ((39.5, 1), (40.5, 0)):
        text = swap("[shop]\n", f'[shop]\ntemperature = "{fahrenheit} °F"\n')(SOUND)
        assert len(says("cold_shop_makes_joints_wait", text)) == count


# Rules that only compare what an engine hands them are given figures, not builds.


def flowing(**more: Any) -> Any:
    """Answers of which a rule asks the flow."""
    return Stub(
        flow=Stub(problem="", **more), build=Stub(pump=[Stub(name="pump")], accumulator=["vessel"])
    )


@pytest.mark.parametrize("share, count", [(0.49, 1), (0.51, 0)])
def test_half_of_its_flow_is_the_least_for_a_fixture(share: float, count: int) -> None:
    """Common practice, no source: alone, and beside one other."""
    one = Stub(fixtures={"tap": Stub(flow=share * 2e-4, wanted=2e-4)}, reasons=())
    full = Stub(fixtures={"tap": Stub(flow=2e-4, wanted=2e-4)}, reasons=())
    change = Stub(told="shower", others=("shower",), flow=share * 2e-4)
    alone = flowing(fixtures=("tap",), situation_of=lambda _: one, changes={})
    beside = flowing(fixtures=("tap",), situation_of=lambda _: full, changes={"tap": [change]})
    for answers in (alone, beside):
        hits = list(RULES["fixture_starved"](answers))
        assert [f.limit for f in hits] == [pytest.approx(1e-4)] * count


def pumping(**more: Any) -> Any:
    """Answers with one moment in which the pump runs like that."""
    state = {"running": True, "cycling": True, "starts": 0.0, "npsh": 9.0, "state": "runs"}
    pump = Stub(**{**state, **more})
    return flowing(situations=[Stub(open=("tap",), source="pump", pumps={"pump": pump})])


@pytest.mark.parametrize("a_minute, count", [(10.1, 1), (9.9, 0)])
def test_a_pump_starts_ten_times_a_minute_at_most(a_minute: float, count: int) -> None:
    """Common practice, no source."""
    hits = list(RULES["pump_cycles_fast"](pumping(starts=a_minute / 60)))
    assert [f.limit for f in hits] == [pytest.approx(1 / 6)] * count


@pytest.mark.parametrize("metres, count", [(1.9, 1), (2.1, 0)])
def test_a_suction_line_keeps_two_metres_from_boiling(metres: float, count: int) -> None:
    """Common practice, no source."""
    hits = list(RULES["pump_sucks_too_hard"](pumping(npsh=metres)))
    assert [f.limit for f in hits] == [pytest.approx(2.0)] * count


@pytest.mark.parametrize("peak, count", [(10.1e5, 1), (9.9e5, 0)])
def test_a_surge_stays_below_the_tubes_rating(peak: float, count: int) -> None:
    surge = Stub(rating=10e5, peak=peak, fixture="tap", run="run 1")
    assert len(list(RULES["surge_over_rating"](flowing(surges=[surge])))) == count


@pytest.mark.parametrize("gap, count", [(0.051, 1), (0.049, 0)])
def test_heights_are_measured_to_five_centimetres(gap: float, count: int) -> None:
    """Common practice, no source."""
    answers = Pack(loads(SOUND))
    stub = Stub(flow=Stub(problem="", made=Stub(gaps={0: gap})), build=answers.build)
    assert len(list(RULES["rises_do_not_close"](stub))) == count


def test_a_value_and_its_limit_never_read_alike() -> None:
    """2.76 and 2.79 L/min are both 2.8: with a figure more the reader sees what is short."""
    litre_a_minute = 1e-3 / 60
    found = Finding(
        "NOTICE", "too little", "tap", 2.76 * litre_a_minute, 2.79 * litre_a_minute,
        PRACTICE, "more", "flow",
    )  # fmt: skip
    assert found.shown("SI") == ("2.76 L/min", "2.79 L/min")
