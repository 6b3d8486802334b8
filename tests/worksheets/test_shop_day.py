"""The shop day's pages without a browser: each step, what it refuses, what it writes down."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.examples import pack_of
from tests.pdf_text import page_texts
from vanplumb.pack import Pack, example
from vanplumb.van import Build
from vanplumb.worksheets.shop.shop_day import ShopDay


@pytest.fixture(scope="module")
def pack() -> Pack:
    return pack_of("dipper")


@pytest.fixture
def day(pack: Pack, tmp_path: Path) -> ShopDay:
    return ShopDay(pack, tmp_path / "dipper.log")


def test_clock_page_shows_what_the_clock_says(day: ShopDay, pack: Pack) -> None:
    plan = pack.shop.clock
    assert day.clock.problem == ""
    assert day.clock.figures["pressure test"] == plan.told(plan.test.start)
    assert day.clock.figures["hand-over"] == plan.told(plan.hand_over.end)


def test_clock_page_tells_of_one_late_joint(day: ShopDay) -> None:
    last = day.shop.clock.last.name
    day.clock.set(late=last, delay=86400.0)
    assert "later" in day.clock.figures[f"{last} late by 24 h"]
    early = next(j.name for j in day.shop.joints if not day.shop.late(j.name, 60.0).test_moves)
    day.clock.set(late=early, delay=3600.0)
    assert day.clock.figures[f"{early} late by 60 min"] == "moves nothing"
    day.clock.set(late="R99")
    assert day.clock.problem == 'no joint is named "R99"; the bench lists them all'


def test_clock_page_tells_what_is_typed_wrong(day: ShopDay) -> None:
    before = day.clock.figures
    day.clock.set(day_end="late")
    assert 'needs a time of day such as "08:00"' in day.clock.problem
    assert "Below stands the last good result" in day.clock._told.value
    assert day.clock.figures == before
    day.clock.set(day_end="17:00", start="tomorrow")
    assert 'needs a start such as "2025-03-03 08:00"' in day.clock.problem


def test_a_cold_shop_is_told_on_the_page(day: ShopDay) -> None:
    day.clock.set(temperature="-2 °C")
    assert "can't be made so cold" in day.clock.figures["test"]


def test_bench_writes_a_run_and_then_the_rest(day: ShopDay) -> None:
    bench = day.bench
    told = bench.make_all()
    assert told.startswith(f"{len(bench.here)} joints written, by nobody: type who makes them")
    assert bench.make_all() == "they are all in the record already"
    left = len(day.shop.joints) - len(bench.here)
    assert bench.make_everything("A. Builder") == left
    assert (
        repr(bench)
        == f"Bench of Dipper: {len(day.shop.joints)} of {len(day.shop.joints)} joints made"
    )
    first = day.record.read().of("joint made")[-1]
    assert first.get("by") == "A. Builder" and first.get("place")


def test_bench_tells_a_weep_and_its_repair(day: ShopDay) -> None:
    bench = day.bench
    name = bench.here[0].name
    with pytest.raises(ValueError, match="is not in the record yet: make it first"):
        bench.weep("drop")
    bench.make_all()
    bench._guarded(lambda: bench.weep("drop under the ring"))(None)
    assert f"joint {name}" in bench._told.value and "vp-wrong" in bench._told.value
    assert "WEEPS" in bench._list.value
    with pytest.raises(ValueError, match="say how it was made again"):
        bench.repair(" ")
    bench.repair("cut out, new ring")
    assert "made again" in bench._list.value


def test_a_refused_joint_is_not_written(pack: Pack, tmp_path: Path) -> None:
    from dataclasses import replace

    shop = replace(pack.build.shop, hot_compound="general pipe dope")
    wrong = ShopDay(replace(pack.build, shop=shop), tmp_path / "x.log")
    with pytest.raises(ValueError, match="can't be made so: general pipe dope"):
        wrong.bench.make_everything()


def steady(day: ShopDay) -> str:
    """Readings of a test by the van's own rule in which nothing moves."""
    plan = day.shop.test
    high, last = plan.pressure / 6894.757 + 1, plan.duration / 60
    return "\n".join(f"{last * n / 3} min, {high:.0f} psi, 65 F" for n in range(4))


def settle(day: ShopDay, readings: str = "") -> str:
    """Type the readings, the gauge and who read it, and write them into the record."""
    day.test.set(readings=readings or steady(day))
    for entry, text in zip(day.test.panel.entries, ("G 5", "A. Builder"), strict=True):
        entry.value = text
    return day.test.panel.write()


def set_valve(day: ShopDay, outlet: str = "1.4 gpm, 100 °F\n0.7 gpm, 100 °F") -> str:
    page = day.setting()
    page.set(outlet=outlet, supplies="140 °F, 60 °F")
    return page.panel.write()


def test_test_page_reads_lines_and_judges(day: ShopDay) -> None:
    test = day.test.sheet
    assert test.result is None and "needs at least three readings, got 0" in test.problem
    test.set(readings=steady(day))
    told = test.figures["verdict"]
    assert told.startswith("tight to ") and told.endswith("/day of water")
    test.set(readings="0 min, 100 psi, 65 F\n5 min, 94 psi\n10 min, 89 psi\n15 min, 84 psi")
    assert test.figures["verdict"] == "leaks"
    assert any("Let the pressure down" in c.text for c in test.chapter.cautions)
    test.set(readings="0 min, 100 psi, 65 F\n5 min, ninety")
    assert "line 2" in test.problem
    assert test.figures["verdict"] == "leaks"  # the last good result stays


def test_test_page_warns_of_a_short_or_low_test(day: ShopDay) -> None:
    test = day.test.sheet
    test.set(readings="0 min, 60 psi, 65 F\n1 min, 60 psi\n2 min, 60 psi")
    said = " ".join(c.text for c in test.chapter.cautions)
    assert "below what the rule asks for" in said
    assert "end before the rule's time is over" in said


def test_test_page_by_air_warns_of_splinters(day: ShopDay) -> None:
    test = day.test.sheet
    test.set(rule="air 50 psi", readings="0 min, 50 psi, 65 F\n8 min, 50 psi\n15 min, 50 psi")
    assert test.problem == ""
    assert any(c.level == "WARNING" and "splinters" in c.text for c in test.chapter.cautions)


def test_setting_page_does_not_write_a_valve_that_is_not_right(day: ShopDay) -> None:
    page = day.setting("basin valve")
    assert "type two lines" in page.sheet.problem
    assert "Nothing was written: mend the worksheet's fields first" in page.panel.write()
    hot = "1.4 gpm, 125 °F\n0.7 gpm, 125 °F"
    assert "Nothing was written: the valve is not right yet" in set_valve(day, hot)
    assert "valve set" in set_valve(day)
    with pytest.raises(KeyError, match="no mixing valve 'nobody'"):
        day.setting("nobody")


def test_a_whole_day_ends_in_signed_papers(day: ShopDay, tmp_path: Path) -> None:
    papers = str(tmp_path / "papers")
    mark = day.build.mark
    with pytest.raises(ValueError, match="still open"):
        day.hand_over.sign("A. Builder", "B. Owner", mark, papers)
    day.bench.make_everything("A. Builder")
    assert day.hand_over.open[0].startswith(f"{len(day.shop.joints)} joints are not proven tight")
    settle(day)
    day.disinfecting.panel.entries[0].value = "1 mg/L"
    day.disinfecting.panel.write()
    set_valve(day)
    serious = [f for f in day.pack.findings if f.severity in ("DANGER", "WARNING")]
    assert len(day.hand_over.open) == len(serious) > 0
    for name in list(day.hand_over._which.options):
        with pytest.raises(ValueError, match="give the reason"):
            day.hand_over.answer_for(name, " ", "A. Builder")
        day.hand_over.answer_for(name, "told to the owner", "A. Builder")
    assert day.hand_over.open == []
    with pytest.raises(ValueError, match="say who hands over"):
        day.hand_over.sign("", "B. Owner", mark, papers)
    with pytest.raises(ValueError, match="the sheet signed has the mark abc"):
        day.hand_over.sign("A. Builder", "B. Owner", "abc", papers)
    told = day.hand_over.sign("A. Builder", "B. Owner", mark, papers)
    assert "Handed over to B. Owner" in told
    words = " ".join(page_texts((tmp_path / "papers" / "owner-paper.pdf").read_bytes()))
    assert "B. Owner, by A. Builder" in words and "1 mg/L" in words
    kinds = [e.kind for e in day.record.read().events]
    assert kinds[-1] == "handed over"
    assert set(kinds) >= {"joint made", "system tested", "disinfected", "flushed", "valve set"}


def test_what_weeps_after_the_test_is_open_again(day: ShopDay) -> None:
    day.bench.make_everything("A. Builder")
    settle(day)
    assert "vp-good" in day.test.panel._outcome.value
    assert not any("proven tight" in line for line in day.hand_over.open)
    day.bench.weep("")
    assert any("1 joints are not proven tight" in line for line in day.hand_over.open)


def test_a_leak_leaves_the_joints_unproven(day: ShopDay) -> None:
    day.bench.make_everything()
    plan = day.shop.test
    high, last = plan.pressure / 6894.757 + 1, plan.duration / 60
    falling = [f"{last * n / 3} min, {high - 6 * n:.0f} psi, 65 F" for n in range(4)]
    assert "result leak" in settle(day, "\n".join(falling))
    assert "vp-wrong" in day.test.panel._outcome.value, "a leak is not told in the colour of good"
    assert any("not proven tight" in line for line in day.hand_over.open)


@pytest.mark.parametrize("name", ["heron", "wren"])
def test_other_vans_have_their_day(name: str, tmp_path: Path) -> None:
    build: Build = example(name)
    day = ShopDay(build, tmp_path / f"{name}.log")
    assert day.clock.problem == day.disinfecting.sheet.problem == ""
    assert day.test.sheet.problem == "needs at least three readings, got 0"
    assert day.bench.make_everything() == len(day.shop.joints)
    if not build.mixing_valve:
        with pytest.raises(KeyError, match="there are none"):
            day.setting()


def test_names_from_a_build_are_plain_text(pack: Pack, tmp_path: Path) -> None:
    from vanplumb.van import loads

    text = pack.build.text.replace('"basin valve', '"<script>x</script>')
    day = ShopDay(loads(text), tmp_path / "x.log")
    for where in day.bench.groups:
        day.bench._where.value = where
        assert "<script>" not in day.bench._list.value
    assert "<script>" not in day.hand_over._state.value
