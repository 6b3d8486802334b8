"""The page of words."""

from __future__ import annotations

from pathlib import Path

from vanplumb.course.words import TRADE, letters, trade, write
from vanplumb.words.glossary import WORDS


def test_every_letter_of_the_equations_is_told() -> None:
    rows = letters().rows
    assert len(rows) == len(WORDS)
    assert ("Q", "flow", "m³/s", "L/min, gpm") in rows
    assert ("T", "temperature", "K", "°C, °F") in rows


def test_words_are_told_without_their_own_name_only() -> None:
    assert [row[0] for row in trade().rows] == sorted(TRADE)
    for word, meaning in TRADE.items():
        assert len(meaning) > 15
        assert meaning.lower() != word


def test_the_page_is_written(tmp_path: Path) -> None:
    files = write(tmp_path)
    assert {file.suffix for file in files} == {".pdf", ".html"}
    html = next(f for f in files if f.suffix == ".html").read_text(encoding="utf-8")
    assert "water in a tank that the pump can" in html
