"""The quote: parts of the bill, hours of the clock, margin and tax, options side by side."""

from __future__ import annotations

from pathlib import Path

import pytest
from pytest import approx

from vanplumb.chapters.quote import quote_chapter
from vanplumb.cli import main
from vanplumb.pack import Pack
from vanplumb.shop.clock.clock import without_waiting
from vanplumb.van import loads

SMALL = """
format = 1
[van]
name = "small"
units = "SI"
currency = "EUR"
[shop]
rate = 60
margin = "10 %"
tax = "19 %"
[[tank]]
name = "fresh"
shape = "box"
length = "600 mm"
width = "300 mm"
height = "300 mm"
price = 150
[[pump]]
name = "pump"
kind = "electric"
curve = "12 V 10 L/min 2.0 bar"
price = 90
[[fixture]]
name = "tap"
kind = "cold tap"
price = 40
[[run]]
from = "fresh"
to = "pump"
tube = "PE-X 16x2.0"
length = "0.6 m"
[[run]]
from = "pump"
to = "tap"
tube = "PE-X 16x2.0"
length = "1.8 m"
"""


def pack_of(text: str) -> Pack:
    from vanplumb.words.tables import table

    curve = next(n for n, row in table("pumps").items() if row["kind"] == "electric")
    return Pack(loads(text.replace("12 V 10 L/min 2.0 bar", curve)))


def test_a_quote_adds_up_by_hand() -> None:
    pack = pack_of(SMALL)
    quote = pack.shop.quote
    assert quote.parts == 150 + 90 + 40
    assert quote.hours == without_waiting(pack.shop.clock).total_seconds()
    assert sum(seconds for _, seconds in quote.steps) == approx(quote.hours)
    net = (280 + 60 * quote.hours / 3600) * 1.10
    assert quote.net == approx(net) and quote.total == approx(net * 1.19)
    assert quote.tax == approx(net * 0.19)
    assert "PE-X 16x2.0" in quote.unpriced and "tap" not in quote.unpriced


def test_sales_tax_is_on_parts_alone_where_work_is_not_taxed() -> None:
    quote = pack_of(SMALL.replace("[shop]", "[shop]\ntax_on_work = false")).shop.quote
    assert quote.tax == approx(280 * 1.10 * 0.19)


def test_without_a_rate_the_hours_are_told_and_no_price_is_made_up() -> None:
    pack = pack_of(SMALL.replace("rate = 60\n", ""))
    quote = pack.shop.quote
    assert quote.hours > 0 and quote.total is None
    chapter = quote_chapter(pack.build, [quote])
    assert any("no rate under [shop]" in told for told in chapter.not_computed)


def test_two_ways_of_building_stand_side_by_side() -> None:
    first, other = pack_of(SMALL), pack_of(SMALL.replace("price = 90", "price = 190"))
    quotes = [first.shop.quote, other.shop.quote]
    grid = quote_chapter(first.build, quotes).grids[0]
    assert [column.head for column in grid.columns][1:] == ["small, option 1", "small, option 2"]
    rows = {row[0]: row[1:] for row in grid.rows}
    assert rows["parts that have a price"] == ("280.00 EUR", "380.00 EUR")
    assert quotes[0].total is not None and quotes[1].total is not None
    assert quotes[1].total - quotes[0].total == approx(100 * 1.10 * 1.19)
    with pytest.raises(ValueError, match="at least one quote"):
        quote_chapter(first.build, [])


def test_the_command_writes_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    one, two = tmp_path / "one.toml", tmp_path / "two.toml"
    one.write_text(pack_of(SMALL).build.text, encoding="utf-8")
    two.write_text(pack_of(SMALL.replace("price = 90", "price = 190")).build.text, encoding="utf-8")
    assert main(["quote", str(one), str(two), "-o", str(tmp_path / "out")]) == 0
    names = {path.name for path in (tmp_path / "out").iterdir()}
    assert {"quote.pdf", "quote.html", "quote-options.csv"} <= names
    told = capsys.readouterr().out
    assert "one.toml: " in told and "lines without a price" in told
