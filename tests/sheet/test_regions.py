"""A full pack of one van in each region: no rule, unit, word or thread of another region in it.

What is looked at is the text of sheet, papers and lists, of the worksheets, of the bench's page
and of a new build file.  What the build file says stays as written, so its own keys and names,
shown among the inputs, are left out.
"""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any

import ipywidgets as widgets
import pytest

from tests.small_van import SMALL_VAN
from vanplumb.board.plan import BoardPlan
from vanplumb.chapters.commissioning import commissioning_form
from vanplumb.chapters.hand_over import owner_paper, shop_card
from vanplumb.chapters.order import order_chapter
from vanplumb.chapters.quote import quote_chapter
from vanplumb.drawings.board.labels import tube_labels, valve_labels, zone_labels
from vanplumb.drawings.board.pages import board_picture, side_picture
from vanplumb.drawings.board.template import template_data
from vanplumb.explore.survey import survey_chapter
from vanplumb.pack import Pack, example
from vanplumb.sheet.bench_page import bench_page
from vanplumb.sheet.calculation import calculation_sheet
from vanplumb.sheet.contents import each_hazard_once, sheet_of
from vanplumb.sheet.html_page import page
from vanplumb.sheet.lists import lists_of
from vanplumb.sheet.wording import told, told_drawing, words_of
from vanplumb.van import Build, loads, template
from vanplumb.van.file.write import changed
from vanplumb.worksheets import (
    ShopDay,
    compare_worksheet,
    frost_of_run,
    heater_of_build,
    measured_worksheet,
    mixing_of,
    runs_of,
    system_worksheet,
    trip_worksheet,
    valves_of,
)

VANS = {
    "US": ("dipper", "US"),
    "UK": ("heron", "SI"),
    "EU": ("heron", "SI"),
    "AU-NZ": ("heron", "SI"),
}
REGIONS = ("US", "UK", *(pytest.param(one, marks=pytest.mark.roaming) for one in ("EU", "AU-NZ")))
"""Two of each side of the ocean, of which one of each by default: a whole pack takes its time."""

# Written by hand, not read from the tables that are tested: words of each side of the ocean,
# units, and what begins the name of a rule.
AMERICAN_WORDS = (
    "faucet", "color", "gray", "gasoline", "wrench", "check valve", "hose clamp", "tankless",
    "city water", "thread sealant", "truck scale", "hardware store", "grounding",
)  # fmt: skip
BRITISH_WORDS = (
    "tap", "taps", "colour", "petrol", "spanner", "non-return valve", "hose clip", "lagging",
    "jointing compound", "weighbridge", "hardware shop", "instantaneous heater", "earthing",
    "shore inlet", "mains inlet", "mains electricity", "residual-current", "motor caravan",
)  # fmt: skip
CUSTOMARY = (
    r"°F|\bpsi\b|\bgal\b|\bgpm\b|\bfl oz\b|\bft/s\b|\blbf?\b|\bBtu\b|\d (?:ft|oz)\b"
    r"|(?<!elbow )(?<!run )(?<!run \d)\d in\b"  # joints are named by number and "in"
)
METRIC = r"°C|\d bar\b|\bL/min\b|\d (?:mm|cm|kPa|kg|L|mL)\b|\bm/s\b|\bkWh\b"
AMERICAN_RULES = (
    "IPC", "UPC", "IRC", "International Plumbing", "Uniform Plumbing", "NFPA", "ASSE", "NSF",
    "WaterSense", "EPA", "ANSI", "AWWA", "A119", "CFR", "NPT", "AWG", "US CDC",
)  # fmt: skip
EUROPEAN_RULES = (
    "EN 806", "EN 1717", "EN 1646", "EN 12195", "DVGW", "DIN ", "ZVSHK", "ÖNORM", "VDI ",
)  # fmt: skip
BRITISH_RULES = ("BS 8558", "BS EN", "WRAS", "Water Regulations", "UK ", "HSG274", "Part G")
AUSTRALIAN_RULES = ("AS/NZS", "National Construction Code", "New Zealand", "Queensland")

FOREIGN_WORDS = {
    "US": BRITISH_WORDS, "UK": AMERICAN_WORDS, "EU": AMERICAN_WORDS, "AU-NZ": AMERICAN_WORDS,
}  # fmt: skip
FOREIGN_RULES = {
    "US": EUROPEAN_RULES + BRITISH_RULES + AUSTRALIAN_RULES + ("ISO 7-1", "ISO 228"),
    "UK": AMERICAN_RULES + AUSTRALIAN_RULES + ("DVGW", "DIN ", "ZVSHK", "ÖNORM", "VDI "),
    "EU": AMERICAN_RULES + BRITISH_RULES + AUSTRALIAN_RULES,
    "AU-NZ": AMERICAN_RULES + EUROPEAN_RULES + BRITISH_RULES,
}

# Where a foreign standard is the subject and no rule: the source of a figure of physics or of a
# part, and a tube or a hose that is named after its own standard.
ALLOWED = (
    r"ASHRAE[^\n]*",
    r"Sphere Handbook[^\n]*",
    r"WHO, Legionella[^\n]*",  # a source stays as it is written
    r"US \| UK \| EU \| AU-NZ",
    r"US Consumer Product Safety Commission[^\n]*",
    r"[^\n]*ASTM [A-Z]\d+[^\n]*",
    r"[^\n]*3/4 in tube: Cv 7\.1[^\n]*",
    r"[^\n]*sudden contraction by Rennels[^\n]*",
    r"[^\n]*ISO 15875[^\n]*",
    r"[^\n]*(?:at|of) 20 °C[^\n]*",
    r"[^\n]*m³/h[^\n]*",
    r"bulkhead, 1/2 in\b",  # ISO 228-1 names its sizes so
    r"\b1/2 in, washer",
    r"\b(?:[Dd]ouble|dual) check valves?\b",  # the name of a device, not of a valve
)


NONSENSE = ("nought", "reckon", "reckoned", "gives way", "give way", "weeped")
"""Words of other days, which no page tells."""


def text_of(document: str) -> str:
    """The text of an HTML page, one cell or paragraph a line; no style, mathematics, pictures."""
    for part in ("style", "head", "math", "svg"):
        document = re.sub(rf"<{part}\b.*?</{part}>", " ", document, flags=re.S)
    document = re.sub(r"<(?:td|th|p|li|h\d|div|tr|section|dt|dd)\b[^>]*>", "\n", document)
    lines = html.unescape(re.sub(r"<[^>]+>", "", document)).split("\n")
    return "\n".join(line for line in map(str.strip, lines) if line)


@lru_cache(maxsize=4)
def pack_of(region: str) -> Pack:
    name, units = VANS[region]
    build = loads(changed(example(name).text, {"van.region": region}))
    assert build.van.units == units
    return Pack(build)


@lru_cache(maxsize=4)
def pack_text(region: str) -> str:
    name, units = VANS[region]
    pack = pack_of(region)
    build, say = pack.build, words_of(pack.build)
    whole = page(sheet_of(pack))
    whole = re.sub(r'<section[^>]*id="inputs".*?</section>', "", whole, flags=re.S)
    found = [text_of(whole)]
    for paper in (shop_card(pack.shop), owner_paper(pack.shop)):
        found.append(text_of(page(calculation_sheet(told(paper, say), units=units, van=name))))
    lists = lists_of([told(c, say) for c in pack.chapters], units)
    found += [data.decode("utf-8-sig") for data in lists.values()]
    return without_names("\n".join(found), build)


def without_names(text: str, build: Build) -> str:
    """Without the builder's own names, and without what is allowed."""
    for name_given in sorted((c.name for c in build.components), key=len, reverse=True):
        text = re.sub(rf"{re.escape(name_given)}\b", "(named)", text)
        text = text.replace(name_given.replace(" ", "-") + ".csv", "(named).csv")
    for pattern in ALLOWED:
        told = pattern.removeprefix(r"[^\n]*")
        if told == pattern:
            text = re.sub(pattern, "", text)
        else:  # the whole line: looked for once in each, since a line of a page may be very long
            text = "\n".join("" if re.search(told, line) else line for line in text.split("\n"))
    return text


def lines_with(text: str, pattern: str) -> list[str]:
    return [line[:200] for line in text.split("\n") if re.search(pattern, line)]


@pytest.mark.parametrize("region", REGIONS)
def test_the_pack_is_a_whole_pack(region: str) -> None:
    """The test below must not pass because nothing was read."""
    text = pack_text(region)
    assert len(text) > 60_000
    assert "Rules of the place" in text and "Pressure test" in text and "Disinfecting" in text


@pytest.mark.parametrize("region", REGIONS)
def test_no_word_of_another_region(region: str) -> None:
    words = "|".join(map(re.escape, FOREIGN_WORDS[region]))
    assert lines_with(pack_text(region), rf"(?i)\b(?:{words})s?\b(?! water)") == []


@pytest.mark.parametrize("region", REGIONS)
def test_no_unit_of_another_region(region: str) -> None:
    foreign = METRIC if region == "US" else CUSTOMARY
    assert lines_with(pack_text(region), foreign) == []


@pytest.mark.parametrize("region", REGIONS)
def test_no_rule_or_thread_of_another_region(region: str) -> None:
    rules = "|".join(map(re.escape, FOREIGN_RULES[region]))
    assert lines_with(pack_text(region), rf"(?<![A-Za-z])(?:{rules})") == []


def widget_texts(widget: Any) -> Iterator[str]:
    """All that a page of widgets tells: labels, buttons, hints and what stands between them."""
    for name in ("description", "placeholder", "tooltip"):
        if getattr(widget, name, None):
            yield str(getattr(widget, name))
    if isinstance(widget, (widgets.HTML, widgets.Label, widgets.Textarea)):
        yield text_of(widget.value)
    for child in getattr(widget, "children", ()):
        yield from widget_texts(child)


@lru_cache(maxsize=4)
def worksheet_text(region: str, folder: Path) -> str:
    """Every page of the van that is quick to make, as it stands when it is opened."""
    pack = pack_of(region)
    build = pack.build
    day = ShopDay(pack, folder / f"{region}.log")
    day.disinfecting.set(strip="0.2 g/L")
    pages = [
        system_worksheet(build), mixing_of(build, valves_of(build)[0]), heater_of_build(build),
        frost_of_run(build, runs_of(build)[0]),
        day.clock, day.test, day.disinfecting, day.setting(), day.bench, day.hand_over,
    ]  # fmt: skip
    found = []
    for one in pages:
        found += list(widget_texts(one.page))
        found.append(text_of(one._repr_mimebundle_()["text/html"]))
    return without_names("\n".join(found), build)


def told_outside(region: str, folder: Path) -> str:
    """Worksheets, the bench's page and a new build file, without the names of tables' rows."""
    bench = bench_page(pack_of(region).shop)
    bench = re.sub(r"<style>.*?</style>", "", bench, flags=re.S).replace("\\u00b0", "°")
    new = re.sub(
        r'^(?:# )?\w+ = ("[^"]*"|\[.*?\]|\{.*?\})', "", template(region=region), flags=re.M
    )
    build = pack_of(region).build
    return worksheet_text(region, folder) + without_names(f"\n{bench}\n{new}", build)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("regions")


@pytest.mark.parametrize("region", REGIONS)
def test_worksheets_bench_and_new_file_are_of_the_region(region: str, folder: Path) -> None:
    text = told_outside(region, folder)
    assert len(text) > 40_000 and "Setting" in text and "Hand back" in text
    words = "|".join(map(re.escape, FOREIGN_WORDS[region]))
    assert lines_with(text, rf"(?i)\b(?:{words})s?\b(?! water)") == []
    assert lines_with(text, METRIC if region == "US" else CUSTOMARY) == []
    rules = "|".join(map(re.escape, FOREIGN_RULES[region]))
    assert lines_with(text, rf"(?<![A-Za-z])(?:{rules})") == []


@pytest.mark.parametrize("region", REGIONS)
def test_a_hazard_is_told_once_with_one_rank(region: str) -> None:
    chapters, opening = each_hazard_once(pack_of(region).chapters)
    levels: dict[str, set[str]] = {}
    whole: dict[str, list[int]] = {}
    for number, chapter in enumerate(chapters, 1):
        for one in chapter.cautions:
            if not one.hazard:
                continue
            levels.setdefault(one.hazard, set()).add(one.level)
            before = re.match(r".*: as told in chapter (\d+)\.", one.text)
            if before is None:
                whole.setdefault(one.hazard, []).append(number)
            else:
                assert whole[one.hazard] == [int(before[1])]
    assert {"scald", "relief valve", "antifreeze"} <= set(levels)
    assert all(len(ranks) == 1 for ranks in levels.values())
    assert all(len(numbers) == 1 for numbers in whole.values())
    assert len({one.hazard for one in opening if one.hazard}) == len(levels)


@pytest.mark.parametrize("region", REGIONS)
def test_its_own_words_and_rules_are_there(region: str) -> None:
    text = pack_text(region)
    own = {
        "US": ("faucet", "color", "psi", "ANSI A119.2", "International Plumbing Code", "AWG"),
        "UK": ("tap", "non-return valve", "bar", "BS 8558", "EN 806", "mm²"),
        "EU": ("tap", "non-return valve", "bar", "EN 806-4", "EN 1717", "mm²"),
        "AU-NZ": ("tap", "non-return valve", "bar", "AS/NZS 3500", "mm²"),
    }
    assert [word for word in own[region] if word not in text] == []


# What leaves the pack by other doors: orders, quotes, surveys, drawings, labels, comparisons


def texts_in(svg: str) -> str:
    """The lettering of a drawing, one text a line."""
    return "\n".join(
        html.unescape(re.sub(r"<[^>]+>", "", one))
        for one in re.findall(r"<(?:text|title)\b[^>]*>(.*?)</(?:text|title)>", svg, flags=re.S)
    )


@lru_cache(maxsize=4)
def office_text(region: str) -> str:
    """Order, quote, survey and trip page; the trip page's van is the pack's."""
    name, units = VANS[region]
    pack = pack_of(region)
    build, say = pack.build, words_of(pack.build)
    papers = (
        order_chapter(pack.lists), quote_chapter(build, [pack.shop.quote]),
        survey_chapter(build, pack.lists, ()), commissioning_form(pack.shop),
    )  # fmt: skip
    found = [text_of(page(calculation_sheet(told(p, say), units=units, van=name))) for p in papers]
    for chapter in pack.chapters:
        found += [
            texts_in(told(chapter, say).pictures[n].svg) for n in range(len(chapter.pictures))
        ]
    trip = trip_worksheet(build)
    found += [*widget_texts(trip.page), text_of(trip._repr_mimebundle_()["text/html"])]
    return without_names("\n".join(found), build)


@lru_cache(maxsize=4)
def small_text(region: str) -> str:
    """Measured and compared, on the smallest van; its tube keeps its name."""
    units = "US" if region == "US" else "SI"
    text = SMALL_VAN.replace('units = "US"', f'units = "{units}"\nregion = "{region}"')
    build = loads(text)
    found = []
    for one in (measured_worksheet(build), compare_worksheet(build, {"crew.people": [3, 4]})):
        found += [*widget_texts(one.page), text_of(one._repr_mimebundle_()["text/html"])]
    return without_names("\n".join(found), build).replace("PEX 1/2 in", "(tube)")


@lru_cache(maxsize=2)
def drawn_text(region: str) -> str:
    """Front, side, template and labels of a board: Dipper's, told in the region's units."""
    units = "US" if region == "US" else "SI"
    build = loads(changed(example("dipper").text, {"van.region": region, "van.units": units}))
    plan, say = BoardPlan(build), words_of(build)
    found = [texts_in(told_drawing(make(plan).svg, say)) for make in (board_picture, side_picture)]
    labels = (*zone_labels(plan), *valve_labels(plan), *tube_labels(plan))
    found += [line for _, lines in labels for _, line in lines]
    for sheet in template_data(plan, "A4" if units == "SI" else "letter")["sheets"]:
        found += [str(sheet["title"]), str(sheet["about"])]
        found += [str(e[-1]) for e in sheet["elements"] if e[0] == "text"]
    text = re.sub(r"(?:PEX-B|crimp|ring for PEX-B) \S+ in\b", "(tube)", "\n".join(found))
    return without_names(text, build)


def foreign(region: str, text: str) -> list[str]:
    """Lines with a word, a unit or a rule of another region."""
    words = "|".join(map(re.escape, FOREIGN_WORDS[region]))
    rules = "|".join(map(re.escape, FOREIGN_RULES[region]))
    return [
        *lines_with(text, rf"(?i)\b(?:{words})s?\b(?! water)"),
        *lines_with(text, METRIC if region == "US" else CUSTOMARY),
        *lines_with(text, rf"(?<![A-Za-z])(?:{rules})"),
    ]


@pytest.mark.parametrize("region", REGIONS)
def test_office_papers_pictures_and_trip_are_of_the_region(region: str) -> None:
    text = office_text(region)
    assert len(text) > 15_000 and "people" in text
    assert foreign(region, text) == []


@pytest.mark.parametrize("region", REGIONS)
def test_measured_and_compared_pages_are_of_the_region(region: str) -> None:
    text = small_text(region)
    assert len(text) > 3_000 and "Compare variants" in text and "Measured against" in text
    assert foreign(region, text) == []


@pytest.mark.parametrize("region", ["US", "UK"])
def test_drawings_and_labels_of_a_board_are_of_the_region(region: str) -> None:
    text = drawn_text(region)
    assert len(text) > 1_000
    assert foreign(region, text) == []


@pytest.mark.parametrize("region", REGIONS)
def test_plain_words_everywhere(region: str) -> None:
    text = f"{pack_text(region)}\n{office_text(region)}"
    assert lines_with(text, rf"(?i)\b(?:{'|'.join(NONSENSE)})\b") == []
