"""The one place where words from a build file are made harmless for every output.

What a sheet prints is made ``plain`` when its contents are gathered.  Then a page in HTML escapes
it where it is put in, the PDF takes ``breakable`` (its text travels as data and is never read as
markup) and a list takes ``cell``.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

LONGEST = 600  # letters of one text that a page shows
LONGEST_NAME = 120  # letters of a name, such as a tank's

_GAP = re.compile(r"[\s\x1c-\x1f\x85\u2028\u2029]+")
_JOINERS = "\u200c\u200d"  # needed inside words of some scripts and in pictures of people
_MARKS_IN_A_ROW = 4
LONG_WORD = 25  # letters
_LONG_WORD = re.compile(rf"[^\s\u200b]{{{LONG_WORD},}}")
_FORMULA = re.compile(r"[=+\-@\uff1d\uff0b\uff0d\uff20\u2212]")
_OWN_FONTS = re.compile(r"[\u0000-\u052f\u1e00-\u214f\u2150-\u2bff\u2c60-\u2c7f\ufb00-\ufb06]*")


@lru_cache(maxsize=4096)
def _letter(letter: str) -> str:
    """The letter itself, or its number in brackets where it would act instead of show."""
    category = unicodedata.category(letter)
    acts = category in ("Cc", "Cf", "Cs") and letter not in _JOINERS
    nothing = (ord(letter) & 0xFFFE) == 0xFFFE or 0xFDD0 <= ord(letter) <= 0xFDEF
    return f"[U+{ord(letter):04X}]" if acts or nothing else letter


def _calm(text: str) -> str:
    """Drop marks that stack above four on one letter and would run over the lines around."""
    if not any(map(unicodedata.combining, text)):
        return text
    kept, marks = [], 0
    for letter in text:
        marks = marks + 1 if unicodedata.combining(letter) else 0
        if marks <= _MARKS_IN_A_ROW:
            kept.append(letter)
    return "".join(kept)


def visible(text: object) -> str:
    """The whole text as one line in which every letter shows and none acts.

    Line breaks and tabs become single spaces.  Control letters, lone surrogates and letters
    that turn the writing direction become their number, such as ``[U+0007]``.
    """
    line = str(text)
    if line.isascii() and line.isprintable() and "  " not in line:
        return line.strip()
    line = _GAP.sub(" ", line).strip()
    if line.isascii() and line.isprintable():
        return line
    return _calm("".join(map(_letter, line)))


def plain(text: object, longest: int = LONGEST) -> str:
    """A text as a page prints it: visible, and if it is longer than that, cut and saying so."""
    line = visible(text)
    if len(line) <= longest:
        return line
    return f"{line[:longest].rstrip()}… [shortened, {len(line):,} letters in all]"


def name(text: object) -> str:
    """A name as one line of visible text, cut earlier than other texts."""
    return plain(text, LONGEST_NAME)


def breakable(text: object) -> str:
    """Text for the PDF: a word of 25 letters or more may be broken after every twelfth."""
    line = visible(text)
    if len(line) < LONG_WORD:
        return line
    return _LONG_WORD.sub(lambda word: "\u200b".join(_pieces(word[0])), line)


def _pieces(word: str) -> list[str]:
    return [word[start : start + 12] for start in range(0, len(word), 12)]


def cell(text: object) -> str:
    """Text for a list that a spreadsheet opens: what would start a formula gets a quote mark."""
    line = visible(text)
    return f"'{line}" if _FORMULA.match(line) else line


def needs_other_fonts(text: str) -> bool:
    """Whether a letter lies outside the scripts that the sheet's own fonts hold."""
    return _OWN_FONTS.fullmatch(text) is None
