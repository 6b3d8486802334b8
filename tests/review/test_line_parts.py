"""Parts in the lines: each rule speaks when it should, and what they do to water and charge."""

from __future__ import annotations

from functools import lru_cache

import pytest
from pytest import approx

from tests.van.all_parts import TEXT
from vanplumb.chapters.hand_over import owner_paper
from vanplumb.chapters.line_parts import line_parts_chapter
from vanplumb.chapters.owner_page import owner_page
from vanplumb.flow.engine import Flow
from vanplumb.pack import Pack
from vanplumb.review import RULES, line_parts
from vanplumb.shop.draining.draining import Draining
from vanplumb.shop.test.stiffness import stiffness
from vanplumb.trip.play.make_plant import make_plant
from vanplumb.trip.stay.drinking import drinking_tap
from vanplumb.trip.stay.elements import elements
from vanplumb.van import Build, loads
from vanplumb.van.kinds.line_parts import hours_on, mean_loads, other_load
from vanplumb.van.trace import loop, title
from vanplumb.words.tables import table

MINE = {name for name, one in RULES.items() if one.__module__ == line_parts.__name__}
Change = tuple[str, str]


@lru_cache(maxsize=32)
def build_of(*changes: Change) -> Build:
    text = TEXT
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new, 1)
    return loads(text)


CASES: list[tuple[str, tuple[Change, ...]]] = [
    ("line_part_flows_too_fast", (('name = "lamp"', 'name = "lamp"\nflow_most = "1 L/min"'),)),
    ("filter_spent_within_the_stay", (('"carbon"', '"carbon"\nlife_volume = "9 L"'),)),
    ("lamp_without_a_filter", (("sediment filter", "union"), ("carbon filter", "union"))),
    ("lamp_on_mains", (('"ultraviolet lamp"', '"ultraviolet lamp 230 V"'),)),
    ("carbon_before_a_store", (("sediment filter", "carbon filter"),)),
    ("drinking_softened_water", (("sediment filter", "softener"),)),
    ("line_part_in_hot_water", (('kind = "union"', 'kind = "sediment filter"'),)),
    ("pick_up_not_before_the_pump", (('kind = "union"', 'kind = "antifreeze pick-up"'),)),
    ("bypass_left_open", (('"three valves"', '"one valve"\nbypass_open = true'),)),
    ("heater_without_bypass_in_frost", (('bypass = "three valves"\n', ""),)),
    ("relief_drain_ends_badly", ()),
    ("relief_drain_ends_badly", (('"under the floor"', '"capped"'),)),
    ("recirculation_costs", (('power = "15 W"', 'power = "150 W"'),)),
    ("recirculation_through_a_flow_heater",
     (('kind = "storage"\nvolume = "15 L"', 'kind = "flow-through"\nflow_least = "2 L/min"'),)),
    ("frost_valve_opens_in_use", (('kind = "in frost"\nplace = "cabin"', 'kind = "in frost"'),)),
    ("vent_not_at_the_top", (('0.3 m"\nrise = "0.30 m"', '0.3 m"\nrise = "-0.1 m"'),)),
]  # fmt: skip


def test_every_rule_has_a_case() -> None:
    assert {name for name, _ in CASES} == MINE


@pytest.mark.parametrize("name, changes", CASES, ids=[f"{n}-{i}" for i, (n, _) in enumerate(CASES)])
def test_rule_speaks_with_value_limit_source_and_advice(
    name: str, changes: tuple[Change, ...]
) -> None:
    hits = list(RULES[name](Pack(build_of(*changes))))
    assert hits
    for one in hits:
        for system in ("US", "SI"):
            value, limit = one.shown(system)
            assert value and limit
        assert str(one.source) and one.advice.endswith(".") and one.what.endswith(".")


def test_a_van_with_all_parts_is_told_of_nothing_that_it_has_not() -> None:
    pack = Pack(build_of())
    assert [f.what for f in pack.all_findings if f.not_worked_out] == []
    told = {f.rule for f in pack.findings} & MINE
    assert told == {"line_part_flows_too_fast", "relief_drain_ends_badly"}
    chapter = next(c for c in pack.chapters if c.key == "line_parts")
    assert "propylene glycol" in " ".join(c.text for c in chapter.cautions)
    assert {str(row[0]) for row in chapter.grids[0].rows} == {p.name for p in pack.build.line_part}


def test_a_line_part_takes_its_kv_from_the_row_or_the_file() -> None:
    """Loss by Kv, with the flow that passes: dp = (q / Kv)² bar."""
    for changes, kv in (
        ((), 0.7 / 3600),
        ((('name = "carbon"', 'name = "carbon"\nkv = "0.3 m^3/h"'),), 0.3 / 3600),
        ((('name = "carbon"', 'name = "carbon"\nclogged_share = 0.5'),), 0.35 / 3600),
    ):
        moment = Flow(build_of(*changes)).solve(["drinking tap"])
        link = moment.links["carbon"]
        dense = 999.1  # water at 15 °C (IAPWS-95)
        assert link.loss == approx((link.flow / kv) ** 2 * 1e5 * dense / 1000, rel=2e-3)


def test_an_open_bypass_sends_cold_water_to_the_hot_side() -> None:
    shut = Flow(build_of()).solve(["shower box"])
    half = Flow(build_of(('"three valves"', '"one valve"\nbypass_open = true')))
    whole = Flow(build_of(('"three valves"', '"three valves"\nbypass_open = true')))
    beside, past = half.solve(["shower box"]), whole.solve(["shower box"])
    assert shut.fixtures["shower box"].temperature == approx(333.15, abs=0.5)
    assert past.fixtures["shower box"].temperature == approx(288.15, abs=1e-6)
    # by heat: what passes the bypass is cold, what passes the heater is hot
    cold, hot = beside.links["boiler bypass"].flow, beside.links["boiler"].flow
    mixed = (cold * 288.15 + hot * 333.15) / (cold + hot)
    assert beside.fixtures["shower box"].temperature == approx(mixed, abs=0.5)


def test_a_selector_draws_from_the_tank_that_it_is_set_to() -> None:
    for said, first, second in (
        ("first", True, False),
        ("second", False, True),
        ("both", True, True),
    ):
        build = build_of(('name = "selector"', f'name = "selector"\nset_to = "{said}"'))
        links = Flow(build).solve(["drinking tap"]).links
        assert (abs(links["run 1"].flow) > 1e-7) == first
        assert (abs(links["run 2"].flow) > 1e-7) == second


def test_what_lines_draw_is_among_the_charge_of_a_day() -> None:
    build = build_of()
    assert dict(mean_loads(build)) == {"lamp": 14.0, "loop pump": approx(15.0 * 3.5 / 24)}
    assert other_load(build) == approx(14.0 + 15.0 * 3.5 / 24)
    plant = make_plant(build)
    assert plant.battery is not None and plant.battery.other_load == 0
    assert plant.battery.loads == (
        (14.0, ((0.0, 86400.0),)), (15.0, ((6.5 * 3600, 8 * 3600.0), (18 * 3600.0, 20 * 3600.0))),
    )  # fmt: skip
    assert plant.battery.full == approx(200 * 3600 * 12.8)
    assert hours_on(("22:00-06:00",)) == 8.0 and hours_on(()) == 24.0


def test_a_loop_of_hot_water_is_that_from_the_store_and_back() -> None:
    build = build_of()
    runs = [title(build, n) for n in loop(build, "boiler", "loop pump")]
    assert runs == ["boiler to union", "union to hot tee", "hot tee to loop pump",
                    "loop pump to loop tee", "loop tee to boiler"]  # fmt: skip
    (one,) = make_plant(build).rounds
    assert one.hours == ((6.5 * 3600, 8 * 3600.0), (18 * 3600.0, 20 * 3600.0))
    # to the tee by two runs alike, the run to the pump, the pump, and two back to the store
    assert len(one.path) == 5


def test_hours_of_the_crew_are_those_that_the_days_are_played_with() -> None:
    plant = make_plant(build_of())
    assert plant.drive_hours == ((36000.0, 43200.0),)
    assert plant.hookup_hours == ((19 * 3600.0, 23 * 3600.0),)
    assert len(plant.heaters[0].hours) == 2


def test_an_element_lasts_by_its_water_or_by_its_time() -> None:
    found = {one.part.name: one for one in elements(build_of())}
    carbon, softener = found["carbon"], found["softener"]
    assert carbon.by == "its time" and carbon.days == approx(180)
    # 1000 L at two washings-up of 5 L a day
    assert softener.drawn == approx(10e-3) and softener.days == approx(100)
    assert softener.by == "its water"


def test_lists_weight_and_papers_know_every_part() -> None:
    pack = Pack(build_of())
    build = pack.build
    devices = {line.name for line in pack.lists.bill.lines if line.kind == "device"}
    extra = (*build.line_part, *build.air_vent, *build.tank_selector, *build.recirculation_pump,
             *build.drain_valve)  # fmt: skip
    assert {one.name for one in extra} <= devices
    carbon = pack.lists.bill.line("carbon")
    assert carbon.mass == approx(table("line_parts")["carbon filter"].number("mass"))
    assert not any(chain.trouble for way in pack.lists.ways.runs for chain in way.chains)
    water = {load.name: load.mass for load in pack.weight.loads if load.water}
    assert water["water in softener"] == approx(4.0 * 0.999, rel=1e-3)
    steps = " ".join(pack.shop.winter.steps)
    assert "take the element out of grit filter and close its bowl again" in steps
    assert "take lamp out and join its line across the gap" in steps
    assert "hose of pick-up" in steps and "open its bypass" in steps
    assert "run loop pump for some minutes meanwhile" in steps
    assert "let washer take some in" in steps
    assert pack.shop.dose is not None
    dose = pack.shop.dose.steps
    assert "take the element out of carbon and close its bowl again" in dose
    assert "take softener out and join its line across the gap" in dose
    assert "again with selector turned to the other tank" in dose
    assert "carbon" in pack.shop.test.steps[0]
    assert "frost drain" in Draining(build).opened and "vent" in Draining(build).opened


def test_what_is_kept_out_of_a_dose_comes_back_after_it() -> None:
    """A lamp is dosed too, so it comes back before; an element that chlorine spoils, after."""
    filling = Pack(build_of()).shop.winter.first_filling
    dosed = next(n for n, step in enumerate(filling) if step.startswith("then disinfect"))
    back = {name: next(n for n, step in enumerate(filling) if name in step and "back" in step)
            for name in ("lamp", "carbon", "grit filter", "softener")}  # fmt: skip
    assert back["lamp"] < dosed < min(back[n] for n in ("carbon", "grit filter", "softener"))
    assert "a new lamp if its time is up" in filling[back["lamp"]]
    assert any(step.startswith("open vent until water comes") for step in filling)


def test_a_bypass_is_gone_through_where_there_is_one() -> None:
    shop = Pack(build_of(('name = "carbon"', 'name = "carbon"\nbypass = true'))).shop
    assert "open the bypass of carbon and shut its two valves" in shop.winter.steps
    assert shop.dose is not None
    assert "open the two valves of carbon and shut its bypass" in " ".join(shop.dose.steps)
    assert "carbon, by its bypass" in shop.test.steps[0]


def test_bowls_under_the_test_hold_water_and_those_kept_out_of_it_do_not() -> None:
    """By hand: sediment filter 0.6 L, lamp 0.5 L, softener 4.0 L; the carbon filter is out."""
    bare = loads(TEXT.replace('kind = "sediment filter"', 'kind = "union"'))
    with_filter, without = (stiffness(b, 4e5) for b in (build_of(), bare))
    found = {part.name: part.volume for part in with_filter.parts}
    assert {n: found[n] for n in ("grit filter", "lamp", "softener")} == {
        "grit filter": approx(0.6e-3), "lamp": approx(0.5e-3), "softener": approx(4e-3),
    }  # fmt: skip
    assert "carbon" not in found and "pick-up" not in found
    assert with_filter.volume - without.volume == approx(0.6e-3)
    # water gives 4.6e-10 of itself for a pascal at 20 °C (IAPWS-95: 0.4591 per GPa)
    assert with_filter.compliance - without.compliance == approx(0.6e-3 * 4.59e-10, rel=0.02)
    assert with_filter.works[-1].value == approx(
        sum(p.compliance for p in stiffness(build_of(), 4e5, accumulator=False).parts), rel=1e-6
    )


def test_nobody_drinks_at_the_toilet() -> None:
    """Toilet and washing machine are no taps, however thin their flow; a tap of its own first."""
    text = TEXT.replace('kind = "washing machine"', 'kind = "toilet"')
    build = loads(text)
    tap = drinking_tap(build)
    assert tap is not None and tap.name == "drinking tap"
    drunk = next(u for u in make_plant(build).uses if u.name == "drinking and cooking")
    assert drunk.fixture == "drinking tap"
    only_sink = loads(text.replace('kind = "cold tap"', 'kind = "hose outlet"'))
    assert drinking_tap(only_sink).name == "sink"  # type: ignore[union-attr]


def test_what_is_drunk_goes_through_the_filter_before_its_tap() -> None:
    """Six litres by habit, and what two people drink and cook with."""
    (carbon,) = (one for one in elements(build_of()) if one.part.name == "carbon")
    assert carbon.drawn == approx(6e-3 + 2 * build_of().crew.drinking)


def test_the_owner_learns_what_each_part_is() -> None:
    pack = Pack(build_of())
    page = owner_page(pack.shop)
    said = {g.key: " ".join(str(row) for row in g.rows) for g in page.grids}
    assert "carbon (carbon filter)" in said["have"]
    assert "by its timer, 06:30-08:00 and 18:00-20:00" in said["have"]
    assert "new lamp for lamp" in said["service"] and "new filling for softener" in said["service"]
    assert "washer" not in said["leak"]
    where = next(g for g in owner_paper(pack.shop).grids if g.title == "What is where")
    kinds = {row[0]: row[1] for row in where.rows}
    assert kinds["carbon"] == "carbon filter" and kinds["boiler"] == "heater"


@pytest.mark.parametrize(
    "units, head, union",
    [("SI", "Kv, clean, m³/h", "6"), ("US", "Cv, clean, gpm at 1 psi", "6.94")],
)
def test_what_a_part_loses_is_told_by_the_readers_coefficient(
    units: str, head: str, union: str
) -> None:
    """A Kv of 6 m³/h at 1 bar is a Cv of 6 / 0.865 gpm at 1 psi (the trade's factor)."""
    build = build_of(('units = "SI"', f'units = "{units}"'))
    heads, rows = line_parts_chapter(build).grids[0].shown(units)
    cell = next(row for row in rows if row[0] == "union")[heads.index(head)]
    assert float(cell) == approx(float(union), rel=2e-3)
