"""A class on paper: a page for the teacher, papers with room to work, and marks from the files.

    class_sheet(20, "class")              # seeds and key for the teacher, a paper for each learner
    marks(["class/ann", "class/ben"])     # what their files tell

Every learner has the figures of a seed of their own, so that nobody can use a neighbour's.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from pathlib import Path

from ..sheet import write_calculation
from ..words.report import WRITE, Answer, Chapter, Grid, grid
from ..words.show import counted
from .exercise import ORDER, TITLES, Exercise, exercises
from .progress import Progress, Standing, learners

MOST = 60
"""Learners of one class."""
_LINES = 6
"""Lines at least that each question has to work on."""
_BLANK = "\u00a0"
_ROOM = 60 * _BLANK
"""As wide as a line of a sum, where the browser lays the columns out."""
_SIDE_BY_SIDE = 4
"""Answers of the key that stand side by side on a page."""


def sheet(seed: int, units: str = "US", learner: str = "") -> Chapter:
    """The questions of a seed, each with room to work and a line for the answer."""
    whose = f", {learner}" if learner else ""
    return Chapter(
        key=f"exercises-{seed}",
        title=f"Exercises, set {seed}{whose}",
        basis=(
            "Predict first, then compute. Write each answer with its unit.",
            f"In a lesson on the screen, press {units} first and then type the set's number "
            f"{seed}: a set has other round figures in {'SI' if units == 'US' else 'US'}.",
        ),
        grids=tuple(_question(number, one) for number, one in enumerate(exercises(seed, units), 1)),
    )


def _question(number: int, one: Exercise) -> Grid:
    rows = [(label, value, _ROOM) for label, value in one.given]
    room = [(_BLANK, _BLANK, _ROOM)] * max(0, _LINES - len(rows))
    return grid(
        f"{number}. {one.title}",
        [*rows, *room, ("Answer, with its unit:", _BLANK, _ROOM)],
        {"given": 0, "figure": 1, "room to work": (2, WRITE)},
        asks=one.question,
    )


def key(seed: int, units: str = "US") -> Chapter:
    """The answers of the same seed, each with its steps."""
    return Chapter(
        key=f"answers-{seed}",
        title=f"Answers to exercises, set {seed}",
        answers=tuple(
            Answer(f"{number}. {one.title}", one.answer, one.word, one.work, note=one.question)
            for number, one in enumerate(exercises(seed, units), 1)
        ),
    )


def write(seed: int, folder: Path | str, units: str = "US") -> list[Path]:
    """Sheet and key of one seed as PDF and HTML in a folder.  Gives the paths, the sheet first."""
    return [
        path
        for chapter in (sheet(seed, units), key(seed, units))
        for path in write_calculation(chapter, folder, units=units)
    ]


def seeds_of(names: Sequence[str], first: int = 1) -> dict[str, int]:
    """A seed for each learner.  ValueError if there is nobody, or too many, or a name twice."""
    if not 1 <= len(names) <= MOST:
        raise ValueError(f"a class has 1 to {MOST} learners, got {len(names)}")
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise ValueError(f"the name stands twice: {', '.join(twice)}")
    return {name: first + number for number, name in enumerate(names)}


def teacher(names: Sequence[str], units: str = "US", first: int = 1) -> Chapter:
    """The teacher's page: each learner's seed, and the key of all of them."""
    seeds = seeds_of(names, first)
    sets = {name: exercises(seed, units) for name, seed in seeds.items()}
    kinds = list(ORDER)
    keys = []
    for start in range(0, len(kinds), _SIDE_BY_SIDE):
        some = range(start, min(start + _SIDE_BY_SIDE, len(kinds)))
        heads = {f"{number + 1}. {TITLES[kinds[number]]}": number + 2 for number in some}
        rows = [
            (name, str(seeds[name]), *(one.shown for one in mine)) for name, mine in sets.items()
        ]
        keys.append(grid("Key", rows, {"learner": 0, "set": 1, **heads}))
    told = grid(
        "Learners and their sets",
        [(name, str(seed), "") for name, seed in seeds.items()],
        {"learner": 0, "set": 1, "right, of " + str(len(kinds)): (2, WRITE)},
        note=f"In a lesson, {units} is pressed first and the number of the set typed beside New "
        f"figures: the figures of a set are round ones in {units}, and others in "
        f"{'SI' if units == 'US' else 'US'}. With them an answer is right as it is printed here, "
        "in any unit.",
    )
    return Chapter(
        key="class",
        title=f"Class of {len(names)}",
        basis=(f"Sets {first} to {first + len(names) - 1}, one for each learner.",),
        grids=(told, *keys),
    )


def class_sheet(
    names: int | Sequence[str], folder: Path | str, units: str = "US", first: int = 1
) -> list[Path]:
    """The teacher's page and a paper for each learner, as PDF and HTML in a folder.

    ``names`` are the learners, or how many there are.  Gives the paths, the teacher's page
    first.  ValueError if there is nobody, or too many, or a name twice.
    """
    who = [f"learner {n}" for n in range(1, names + 1)] if isinstance(names, int) else list(names)
    seeds = seeds_of(who, first)
    chapters = [teacher(who, units, first)]
    chapters += [sheet(seed, units, name) for name, seed in seeds.items()]
    return [p for one in chapters for p in write_calculation(one, folder, units=units)]


def marks(folders: Path | str | Iterable[Path | str] = ".") -> Grid:
    """What the learners' files in some folders tell: solved and tried, exercise by exercise.

    Every answer is judged anew; where a file calls one right that is not, its cell says so.
    A file that can't be read has its reason in its row, and so has a folder without one.
    Whoever has more than one file stands there with the folder of each.
    """
    places = [folders] if isinstance(folders, str | Path) else list(folders)
    people = [one for place in places for one in learners(place)]
    empty = [place for place in places if not learners(place)]
    names = Counter(one.learner for one in people)

    def name(one: Progress) -> str:
        if not one.learner:
            return one.path.stem
        where = one.path.absolute().parent.name
        return f"{one.learner} (in {where})" if names[one.learner] > 1 else one.learner

    def row(one: Progress) -> tuple[str, ...]:
        claimed, found = one.standings(), one.standings(anew=True)
        right = sum(found[kind].right for kind in ORDER if kind in found)
        cells = [_cell(found.get(kind), claimed.get(kind)) for kind in ORDER]
        return name(one), one.problem or f"{right} of {len(ORDER)}", *cells

    rows = [row(one) for one in people]
    rows += [
        (str(place), "no learner's file in this folder", *("" for _ in ORDER)) for place in empty
    ]
    heads = {kind: number + 2 for number, kind in enumerate(ORDER)}
    return grid("Marks", rows, {"learner": 0, "right": 1, **heads})


def _cell(found: Standing | None, claimed: Standing | None) -> str:
    """How one exercise stands, and what the file says where that is more."""
    if found is None:
        return ""
    tries = counted(found.tries, "try", "tries")
    if found.right:
        return f"right, {tries}"
    more = '; the file says "right"' if claimed and claimed.right else ""
    return f"not yet, {tries}{more}"
