"""A text is told in the words of the region, and the builder's own words stay."""

from __future__ import annotations

import pytest

from vanplumb.words.regions import REGIONS, TERMS, local, speaker
from vanplumb.words.tables import table


def test_regions_are_those_of_the_table() -> None:
    assert tuple(table("regions")) == REGIONS


@pytest.mark.parametrize(
    "text, us, uk",
    [
        ("Open every tap.", "Open every faucet.", "Open every tap."),
        ("Taps and check valves", "Faucets and check valves", "Taps and non-return valves"),
        ("two wrenches", "two wrenches", "two spanners"),
        ("petrol, blue or grey", "gasoline, blue or gray", "petrol, blue or grey"),
        ("by the maker", "by the manufacturer", "by the manufacturer"),
        ("tap water", "tap water", "tap water"),
        ("insulation outside", "insulation outside", "lagging outside"),
        ("colour-blind", "color-blind", "colour-blind"),
        ("a tapered thread", "a tapered thread", "a tapered thread"),
    ],
)
def test_words_of_two_regions(text: str, us: str, uk: str) -> None:
    assert local(text, "US") == us
    assert local(text, "UK") == uk


def test_insulation_is_lagged_in_three_of_four_regions() -> None:
    told = {region: local("insulate the run", region) for region in REGIONS}
    assert told == {
        "US": "insulate the run",
        "UK": "lag the run",
        "EU": "insulate the run",
        "AU-NZ": "lag the run",
    }


@pytest.mark.parametrize("region", REGIONS)
def test_told_twice_is_told_once(region: str) -> None:
    """Words of a region are left alone, so no term's word is another term's foreign word."""
    for term in TERMS:
        for word in term.all:
            once = local(word, region)
            assert once == term.word(region)
            assert local(once, region) == once


def test_names_of_the_builder_stay() -> None:
    keep = ("basin tap", "grey")
    assert local("basin tap drips; the galley tap not", "US", keep) == (
        "basin tap drips; the galley faucet not"
    )
    assert local("drain grey", "US", keep) == "drain grey"


def test_an_unknown_region_names_those_there_are() -> None:
    with pytest.raises(ValueError, match=r"no region 'Mars'; there are US, UK, EU, AU-NZ"):
        speaker("Mars")
