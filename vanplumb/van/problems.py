"""What is wrong with a build file: every problem at once, each with its line."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches

MOST_SHOWN = 40


@dataclass(frozen=True)
class Problem:
    """One problem.  ``line`` is 0 if it is not about a line; ``path`` is such as ``tank.fresh``."""

    line: int
    path: str
    message: str

    def __str__(self) -> str:
        place = f"line {self.line}: " if self.line else ""
        subject = f"{short(self.path, 90)} " if self.path else ""
        return f"{place}{subject}{self.message}"


class BuildError(Exception):
    """A build that can't be read.  ``problems`` lists everything that is wrong with it."""

    def __init__(self, problems: Iterable[Problem], name: str = "") -> None:
        self.problems = tuple(sorted(problems, key=lambda p: p.line))
        self.name = name
        super().__init__(self.problems, name)

    def __str__(self) -> str:
        title = short(self.name, 200) if self.name else "the build"
        if len(self.problems) == 1:
            return f"{title}: {self.problems[0]}"
        shown = [f"  {p}" for p in self.problems[:MOST_SHOWN]]
        if len(self.problems) > MOST_SHOWN:
            shown.append(f"  and {len(self.problems) - MOST_SHOWN} more")
        return "\n".join([f"{title}: {len(self.problems)} problems", *shown])


def short(text: str, most: int = 40) -> str:
    """The text on one line, without marks that can't be printed, cut to ``most`` letters."""
    clean = "".join(c if c.isprintable() else "?" for c in text[: most + 1])
    return clean if len(clean) <= most else clean[: most - 3] + "..."


def quoted(text: str) -> str:
    """The text in quotes, short enough for a message."""
    return f'"{short(text)}"'


def nearest(text: str, known: Iterable[str]) -> str:
    """Such as ``; did you mean "volume"?``, or an empty text if nothing is near."""
    by_small = {k.lower()[:60]: k for k in known}
    found = get_close_matches(text.lower()[:60], by_small, n=1, cutoff=0.6)
    return f"; did you mean {quoted(by_small[found[0]])}?" if found else ""


def listed(words: Iterable[str], most: int = 12) -> str:
    """Such as ``"cold", "hot" or "mixed"``."""
    all_words = [quoted(w) for w in words]
    if len(all_words) > most:
        return ", ".join(all_words[:most]) + " and more"
    return (
        " or ".join([", ".join(all_words[:-1]), all_words[-1]]) if all_words[1:] else all_words[0]
    )
