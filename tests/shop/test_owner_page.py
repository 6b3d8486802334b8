"""The owner's papers: what was measured, what the van has, and nothing that it has not."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.pdf_text import page_texts
from tests.random_vans.vans import make, text_of
from tests.small_van import SMALL_VAN
from vanplumb.chapters.hand_over import owner_paper
from vanplumb.chapters.owner_page import NOT_MEASURED, a_year_on, owner_page
from vanplumb.pack import example
from vanplumb.sheet.calculation import papers_of
from vanplumb.shop import Shop
from vanplumb.shop.record.history import dates_of, taken
from vanplumb.shop.record.record import Record
from vanplumb.shop.record.signing import commission
from vanplumb.van import Build, loads
from vanplumb.van.handles import handle_letters, what_it_does
from vanplumb.words.report import Chapter

TWO_TANKS = SMALL_VAN.replace(
    '[[run]]\nfrom = "tank"\nto = "pump"',
    """[[tank]]
name = "spare"
shape = "stated"
volume = "5 gal"

[[shut_off]]
name = "main valve"

[[shut_off]]
name = "spare valve"

[[tee]]
name = "tee"

[[drain_valve]]
name = "low drain"
kind = "by hand"

[[run]]
from = "tank"
to = "main valve"
tube = "PEX 1/2 in"
length = "1 ft"

[[run]]
from = "main valve"
to = "tee"
tube = "PEX 1/2 in"
length = "1 ft"

[[run]]
from = "spare"
to = "spare valve"
tube = "PEX 1/2 in"
length = "1 ft"

[[run]]
from = "spare valve"
to = "tee"
tube = "PEX 1/2 in"
length = "1 ft"

[[run]]
from = "tee"
to = "low drain"
tube = "PEX 1/2 in"
length = "1 ft"

[[run]]
from = "tee"
to = "pump"
""",
)


def rows(page: Chapter, key: str) -> list[tuple[object, ...]]:
    return [row for g in page.grids if g.key == key for row in g.rows]


def said(*chapters: Chapter) -> str:
    """Every word of the steps and tables."""
    return "\n".join(
        str(cell)
        for c in chapters
        for g in c.grids
        for row in (*g.rows, (g.title,))
        for cell in row
    )


def words(data: bytes, page: int) -> str:
    return page_texts(data)[page]


@pytest.fixture(scope="module")
def dipper() -> Shop:
    """Without its board, whose search takes longest."""
    return Shop(example("dipper"))


@pytest.fixture
def record(tmp_path: Path) -> Record:
    return Record(tmp_path / "van.log", clock=lambda: "2025-03-07 10:00:00+00:00")


def test_temperatures_are_those_measured_or_said_not_to_be(dipper: Shop, record: Record) -> None:
    page = owner_page(dipper)
    assert {r[1] for r in rows(page, "temperatures")} == {NOT_MEASURED}
    commission(dipper, record, "basin, temperature", "97 °F", "ND")
    commission(dipper, record, "basin valve, as set", "98.5 °F", "ND")
    commission(dipper, record, "sink hot, temperature", "120 °F", "ND")
    seen = taken(record.read())
    found = dict(rows(owner_page(dipper, seen), "temperatures"))
    assert found["basin"] == "97 °F (2025-03-07)"
    assert found["basin valve"] == "98.5 °F (2025-03-07)"
    assert found["sink hot"] == "120 °F, below its band (2025-03-07)"
    assert found["shower hot"] == NOT_MEASURED


def test_no_limit_and_no_cut_out_stands_as_if_it_were_the_vans(
    dipper: Shop, record: Record
) -> None:
    """The basin's limit is 100 °F, the pump's cut-out 50 psi: neither is on the papers."""
    answers = {a.label: a for a in owner_paper(dipper).answers}
    assert answers["basin valve is set to"].value == NOT_MEASURED
    assert "hottest at a mixed outlet" not in answers
    assert answers["highest pressure in service"].basis == "worked out"
    shown = {a.shown("US") for a in answers.values()}
    assert not {"100 °F", "50 psi"} & shown
    commission(dipper, record, "basin valve, as set", "97.5 °F", "ND")
    answers = {a.label: a for a in owner_paper(dipper, seen=taken(record.read())).answers}
    assert answers["basin valve is set to"].value == "97.5 °F"


def test_what_was_read_stands_beside_its_band_in_the_longer_paper(
    dipper: Shop, record: Record
) -> None:
    commission(dipper, record, "pump, cut-in", "38 psi", "ND")
    (grid,) = [g for g in owner_paper(dipper, seen=taken(record.read())).grids
               if g.title == "As measured"]  # fmt: skip
    assert grid.rows == (("pump, cut-in", "38 psi", "33 to 41 psi", "2025-03-07"),)


def test_service_is_due_a_year_after_it_was_done(dipper: Shop, record: Record) -> None:
    record.append("disinfected", concentration="50 mg/L", duration="4 h")
    commission(dipper, record, "relief valve of heater lifted", "done", "ND")
    commission(dipper, record, "accumulator, precharge", "20 psi", "ND")  # outside: not done
    contents = record.read()
    due = {str(r[0]): r[1:] for r in rows(owner_page(dipper, taken(contents), dates_of(contents)),
                                          "service")}  # fmt: skip
    assert due["disinfect, wash the strainer"] == ("2025-03-07", "2026-03-07")
    assert due["relief valve of heater, by its lever, cold"] == ("2025-03-07", "2026-03-07")
    assert due["air in the accumulator"] == ("", "")
    assert a_year_on("2024-02-29") == "2025-02-28"


def test_each_handle_says_what_it_does() -> None:
    build = example("dipper")
    does = {letters: what_it_does(build, key) for key, letters in handle_letters(build).items()}
    assert does["C1"] == "shuts cold water to drinking tap"  # through its filter
    assert does["H3"] == "shuts hot water to basin valve"
    assert does["A"] == "shuts cold water to heater"
    assert len(does) == len(build.zone) + len(build.shut_off) + len(build.drain_valve)
    with pytest.raises(KeyError):
        what_it_does(build, "no handle")


def test_tanks_are_switched_by_their_own_handles() -> None:
    build = loads(TWO_TANKS)
    letters = handle_letters(build)
    assert what_it_does(build, "spare valve") == "shuts the water from the spare tank"
    assert what_it_does(build, "low drain").startswith("lets the water out")
    (main, spare) = (str(r[0]) for r in rows(owner_page(Shop(build)), "switch"))
    assert main == (f"to the tank: open main valve ({letters['main valve']}), then shut spare "
                    f"valve ({letters['spare valve']})")  # fmt: skip
    assert "open spare valve" in spare and "shut main valve" in spare
    assert rows(owner_page(Shop(loads(SMALL_VAN))), "switch") == []


def test_a_selector_chooses_between_the_tanks() -> None:
    text = TWO_TANKS.replace('[[tee]]\nname = "tee"', '[[tank_selector]]\nname = "selector"')
    for inlet in ("first", "second"):
        text = text.replace('to = "tee"', f'to = "selector.{inlet}"', 1)
    before, _, rest = text.partition('[[run]]\nfrom = "tee"\nto = "low drain"')
    after = rest.partition("\n\n")[2].replace('from = "tee"', 'from = "selector"')
    drain = '[[drain_valve]]\nname = "low drain"\nkind = "by hand"\n'
    build = loads((before + after).replace(drain, ""))
    assert what_it_does(build, "selector") == "chooses the tank: tank or spare tank"
    last = str(rows(owner_page(Shop(build)), "switch")[-1][0])
    assert last.startswith("turn selector (") and "the tank and the spare tank" in last


NEEDS = {
    "heater": ("heater", "hot water", "relief", ", hot", "boiler"),
    "shore_inlet": ("hose off", "shore", "site's tap"),
    "mixing_valve": ("mixes hot", "set by the builder"),
    "accumulator": ("air cushion", "air in the"),
    "strainer": ("strainer",),
    "pump": ("pump",),
}
"""Words that belong to a part: none of them may be said of a van without it."""


def check(build: Build) -> None:
    """Everything that is said is of something that the van has."""
    shop = Shop(build)
    named = " ".join([*(c.name for c in build.components), *(z.name for z in build.zone)])
    told = said(owner_page(shop), owner_paper(shop))
    for kind, forbidden in NEEDS.items():
        if not getattr(build, kind):
            for word in forbidden:
                if word not in named:
                    assert word not in told, (build.van.name, kind, word)
    if not any(t.holds == "grey" for t in build.tank):
        assert "empty the" not in "".join(str(r[0]) for r in rows(owner_page(shop), "fill")[:1])
    letters = [str(r[0]) for r in rows(owner_page(shop), "handles")]
    assert sorted(letters) == sorted(handle_letters(build).values())
    assert len(set(letters)) == len(letters)


@pytest.mark.parametrize("name", ["heron", "wren", "small", "two tanks"])
def test_only_steps_for_what_the_van_has(name: str) -> None:
    texts = {"small": SMALL_VAN, "two tanks": TWO_TANKS}
    check(loads(texts[name]) if name in texts else example(name))


def test_only_steps_for_what_a_random_van_has() -> None:
    seen = 0
    for seed in range(1, 120, 24):
        try:
            build = loads(text_of(make(seed)))
            check(build)
        except ValueError:
            continue  # refused with its reason by the reader or an engine
        seen += 1
    assert seen >= 4


def test_the_first_page_is_one_page(record: Record) -> None:
    """With its handles, steps and dates; the longer paper begins on the second."""
    for shop in (Shop(loads(TWO_TANKS)), Shop(example("heron"))):
        owner = papers_of(shop, record.read(), revision="C", date="2025-03-08")["owner-paper.pdf"]
        first = words(owner, 0)
        for title in ("When something leaks", "Filling", "Before the first frost", "In spring",
                      "Service, each year", shop.build.van.name, "revision C", "2025-03-08",
                      f"build {shop.build.mark}"):  # fmt: skip
            assert title in first, title
        assert "What is where" not in first and "What is where" in words(owner, 1)


def test_the_papers_speak_as_their_region_does() -> None:
    text = SMALL_VAN.replace('"tap"', '"spout"')  # what the builder names stays as it is
    there = text.replace('units = "US"', 'units = "SI"\nregion = "UK"')
    us, uk = (papers_of(Shop(loads(t)))["owner-paper.pdf"] for t in (text, there))
    assert "every tap" in words(uk, 0) and "every faucet" in words(us, 0)


def test_a_handle_past_a_tee_tells_what_it_leads_to_and_no_drain() -> None:
    """A drain between the heater's valve and the heater changes nothing of what the valve does."""
    text = example("dipper").text
    run = 'to = "heater"\ntube = "PEX-B 1/2 in"\nlength = '
    assert text.count(run) == 1
    parted = text.replace(
        run,
        'to = "drain tee"\ntube = "PEX-B 1/2 in"\nlength = "6 in"\n'
        '[[run]]\nfrom = "drain tee"\nto = "heater drain"\ntube = "PEX-B 1/2 in"\nlength = "1 ft"\n'
        f'[[run]]\nfrom = "drain tee"\n{run}',
    )
    build = loads(
        f'{parted}\n[[tee]]\nname = "drain tee"\n[[drain_valve]]\nname = "heater drain"\n'
    )
    assert what_it_does(build, "heater valve") == "shuts cold water to heater"
