"""Words by region: one thing, and what it is called where the van is built.

The table below is the only place that says so.  Texts are written in any of these words and told
in those of a region by ``local`` where they leave for a reader; what the builder wrote in the
build file stays as written.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import lru_cache

REGIONS = ("US", "UK", "EU", "AU-NZ")
"""Keys of the regions, as in the table of regions."""


@dataclass(frozen=True)
class Term:
    """One thing with its word in each region; ``also`` are other words for it, told nowhere.

    Plurals that only add an s need no term of their own.
    """

    us: str
    uk: str
    eu: str = ""
    au_nz: str = ""
    also: tuple[str, ...] = ()

    def word(self, region: str) -> str:
        """The word of a region.  KeyError for an unknown region."""
        words = {"US": self.us, "UK": self.uk, "EU": self.eu, "AU-NZ": self.au_nz}
        return words[region] or self.uk

    @property
    def all(self) -> tuple[str, ...]:
        """Every word for it, each once."""
        return tuple(dict.fromkeys((*(self.word(r) for r in REGIONS), *self.also)))


TERMS: tuple[Term, ...] = (
    # the same everywhere, so that a shorter term below leaves it alone
    Term("tap water", "tap water"),
    Term("tap hole", "tap hole"),
    Term("water mains", "water mains"),
    # parts
    Term("faucet", "tap"),
    Term("city water inlet", "mains inlet", also=("shore inlet",)),
    Term("city water", "mains water", also=("mains pressure water", "shore water")),
    Term("tankless heater", "instantaneous heater"),
    Term("double check valve", "double check valve"),  # names of devices, alike everywhere
    Term("dual check valve", "dual check valve"),
    Term("check valve", "non-return valve"),
    Term("T&P valve", "expansion relief valve", au_nz="TPR valve"),
    Term("thread sealant", "jointing compound", also=("thread compound",)),
    Term("push-to-connect", "push-fit"),
    Term("hose clamp", "hose clip"),
    Term("backflow preventer", "backflow preventer"),
    # work
    Term("insulate", "lag", eu="insulate"),
    Term("insulated", "lagged", eu="insulated"),
    Term("insulation", "lagging", eu="insulation"),
    Term("wrench", "spanner"),
    Term("wrenches", "spanners"),
    Term("soldering torch", "blowlamp"),
    Term("manufacturer", "manufacturer", also=("maker",)),
    # where it is bought and weighed
    Term("plumbing supply house", "plumbers' merchant", also=("plumbing merchant",)),
    Term("hardware store", "hardware shop"),
    Term("truck scale", "weighbridge"),
    # energy
    Term("gasoline", "petrol"),
    Term("line voltage", "mains electricity", also=("mains voltage",)),
    Term("grounding", "earthing"),
    Term("ground-fault protection", "residual-current protection"),
    # who is allowed to
    Term(
        "licensed fitter",
        "registered gas engineer",
        eu="licensed fitter",
        au_nz="licensed gasfitter",
    ),
    Term(
        "licensed electrician",
        "qualified electrician",
        eu="licensed electrician",
        au_nz="licensed electrician",
    ),
    # spelling
    Term("color", "colour"),
    Term("colored", "coloured"),
    Term("gray", "grey"),
    Term("liter", "litre"),
    Term("meter", "metre"),
    Term("millimeter", "millimetre"),
    Term("center", "centre"),
    Term("aluminum", "aluminium"),
    Term("tire", "tyre"),
    Term("odor", "odour"),
    Term("vapor", "vapour"),
    Term("fiber", "fibre"),
    Term("license", "licence"),
    Term("harbor", "harbour"),
)

Local = Callable[[str], str]


def local(text: str, region: str, keep: Iterable[str] = ()) -> str:
    """The text in the words of a region, with its capitals.

    ``keep`` are names that the builder gave: they stay, wherever they stand.
    ValueError for an unknown region.
    """
    return speaker(region, tuple(keep))(text)


@lru_cache(maxsize=32)
def speaker(region: str, keep: tuple[str, ...] = ()) -> Local:
    """``local`` for one region and the names of one build, to be called often."""
    if region not in REGIONS:
        raise ValueError(f"no region {region!r}; there are {', '.join(REGIONS)}")
    told: dict[str, str] = {}
    always: set[str] = set()  # written with a capital wherever it stands, as in T&P valve
    for term in TERMS:
        for word in term.all:
            for form, said in ((word, term.word(region)), (_many(word), _many(term.word(region)))):
                told[form.lower()] = said
                if form[0].isupper():
                    always.add(form.lower())
    kept = sorted({n for n in keep if n.strip()}, key=len, reverse=True)
    words = sorted(told, key=len, reverse=True)
    if not kept and not words:
        return str
    pattern = re.compile(
        "|".join(
            [
                *([rf"(?P<kept>{_whole(kept)})"] if kept else []),
                rf"(?P<word>(?i:{_whole(words)}))",
            ]
        )
    )

    def one(found: re.Match[str]) -> str:
        text = found.group()
        if found.lastgroup == "kept":
            return text
        word = told[text.lower()]
        first = text[0].isupper() and text.lower() not in always
        return word[0].upper() + word[1:] if first else word

    return lambda text: pattern.sub(one, text)


def _whole(words: Iterable[str]) -> str:
    """A pattern for any of the words, whole: not inside a longer word or a name with a point."""
    return rf"(?<![\w.])(?:{'|'.join(map(re.escape, words))})(?![\w])"


def _many(word: str) -> str:
    return word if word.endswith("s") else f"{word}s"
