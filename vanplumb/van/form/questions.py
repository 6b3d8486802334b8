"""Eight questions that make a build: what is asked, what may be answered, what is meant by it.

A page and a terminal ask the same ones in the same order.  What may be answered goes by the
answers before it: a pump worked by foot feeds one cold tap, hose carries no hot water.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from ...words.quantity import QuantityError
from ...words.show import counted, show, unit, value
from ...words.tables import Row, table
from ...words.typed import typed
from ..problems import listed, nearest, quoted

LEAST_TANK, MOST_TANK = 0.005, 1.0
"""m³ that the question takes; a file may say others."""
MOST_BEDS, MOST_SEATS = 8, 9


class AnswerProblem(ValueError):
    """An answer that can't be taken; the message says what may be answered."""


@dataclass(frozen=True)
class Answers:
    """What was answered.  ``tank`` is m³, ``joints`` a tube, ``pump`` a row of the table."""

    region: str = "US"
    beds: int = 2
    seats: int = 2
    tank: float = 0.0
    pump: str = ""
    heater: str = ""
    taps: tuple[str, ...] = ()
    joints: str = ""
    sharing: str = ""

    @property
    def units(self) -> str:
        return str(table("regions")[self.region]["units"])

    @property
    def by_strokes(self) -> bool:
        """Whether a foot or a hand drives the pump."""
        return str(table("pumps")[self.pump]["kind"]) != "electric"

    @property
    def hung(self) -> bool:
        """Whether the pump hangs in the tank."""
        return _hangs(table("pumps")[self.pump])

    @property
    def hot(self) -> bool:
        return self.heater != NO_HEATER


NO_HEATER = "none"
Options = tuple[tuple[str, str], ...]
"""Each the answer, and what it means in words."""


@dataclass(frozen=True)
class Question:
    """One question.  ``kind`` is "choice", "many", "numbers" or "volume".

    ``options`` and ``usual`` go by the answers before it; ``usual`` is what is taken if nothing
    is answered, as a reader would type it.
    """

    key: str
    asks: str
    help: str
    kind: str
    usual: Callable[[Answers], str]
    options: Callable[[Answers], Options] = field(default=lambda _: ())


def _regions(_: Answers) -> Options:
    return tuple((row.name, str(row["title"])) for row in table("regions").values())


def _hangs(pump: Row) -> bool:
    """Whether an electric pump hangs in the tank: the tap starts it, not a pressure switch."""
    return pump["kind"] == "electric" and pump["cut_out"] is None


def _pumps(a: Answers) -> Options:
    """Electric ones in the region's units, the one in the tank, then those by foot and hand."""
    found = []
    for row in table("pumps").values():
        if row["kind"] == "electric" and row["units"] in (a.units, None):
            found.append(
                (row.name, "hangs in the tank" if _hangs(row) else "with a pressure switch")
            )
    found += [(r.name, "one cold tap") for r in table("pumps").values() if r["kind"] != "electric"]
    return tuple(found)


def _heaters(a: Answers) -> Options:
    if a.by_strokes:
        return ((NO_HEATER, "cold water only: a pump by foot or hand feeds no heater"),)
    return (
        (NO_HEATER, "cold water only"),
        ("electric store", "a store with an electric element, on mains at a site"),
        ("gas store", "a store with a propane burner"),
        ("engine store", "a store on the engine's coolant, with an electric element"),
        ("gas flow-through", "heats as it flows, with propane"),
    )


TAPS = {
    "sink": "at the galley",
    "basin": "where hands and teeth are washed",
    "shower": "inside",
    "outside shower": "a rinse at the back, with a mixing valve where there is hot water",
    "drinking tap": "cold, beside the sink",
    "toilet": "flushed with fresh water",
    "hose outlet": "cold, outside: boots, buckets",
}
WARM_TAPS = ("sink", "basin", "shower", "outside shower")
"""Those that hot water goes to where there is some."""


def _taps(a: Answers) -> Options:
    return tuple(TAPS.items())[: 1 if a.by_strokes else None]


_TUBES = {
    # by the system of its sizes, since threads go with it
    "PEX 1/2 in": ("US", "expanded onto fittings with rings"),
    "PEX-B 1/2 in": ("US", "crimped onto fittings with copper rings"),
    "PE-X 15x1.7": ("SI", "pushed into fittings, liners in the tube"),
    "PE-X 16x2.0": ("SI", "pushed into fittings, liners in the tube"),
    "hose 12 mm": ("SI", "clamped onto barbs, cold water only"),
}


def _joints(a: Answers) -> Options:
    names = [n for n, (units, _) in _TUBES.items() if units == a.units]
    if a.region == "EU":
        names.sort(key=lambda n: n != "PE-X 16x2.0")
    if a.hot:
        names = [n for n in names if table("tubes")[n]["hot"]]
    return tuple((n, _TUBES[n][1]) for n in names)


def _sharing(a: Answers) -> Options:
    trunk = "a trunk with a tee for each tap"
    if not _on_a_board(a.joints):
        return (("tees", f"{trunk}; there are no parts of a board for {a.joints}"),)
    if len(a.taps) < 2:
        return (("tees", trunk),)
    return (("board", "manifolds on a board, a shut-off for each tap"), ("tees", trunk))


def _on_a_board(tube: str) -> bool:
    """Whether the table has tees of that tube's size to build manifolds of."""
    size, joint = table("tubes")[tube]["od"], table("tubes")[tube]["joint"]
    return any(
        row["kind"] == "tee" and row["joint"] == joint and abs(float(row["tube"]) - size) < 5e-4
        for row in table("board_parts").values()
        if isinstance(row["tube"], float)
    )


def _tank(a: Answers) -> str:
    """About two nights for those who sleep in it, to the next five."""
    if a.units == "US":
        return f"{max(5, 5 * round((4 + 10 * a.beds) / 5))} gal"
    return f"{max(20, 10 * round((15 + 40 * a.beds) / 10))} L"


def _usual_taps(a: Answers) -> str:
    return "sink" if a.by_strokes else "sink, shower" if a.hot else "sink"


def _second(a: Answers) -> str:
    """The pump of middle size."""
    return _pumps(a)[1][0]


QUESTIONS = (
    Question(
        "region", "Where is the van built?", "Its units, words and rules follow.", "choice",
        lambda a: a.region, _regions,
    ),
    Question(
        "people", "How many beds and how many seats?",
        "Two whole numbers such as 2 and 4: who sleeps in it, and who comes along by day.",
        "numbers", lambda a: "2, 2",
    ),
    Question(
        "tank", "How much fresh water does the tank hold?",
        "As printed on it, with its unit; a grey tank of the same size is put in.",
        "volume", _tank,
    ),
    Question(
        "pump", "Which pump?", "A typical curve of its size; your pump's own can be put in later.",
        "choice", _second, _pumps,
    ),
    Question(
        "heater", "How is water heated?", "Its size and powers are typical until you put in yours.",
        "choice", lambda a: _heaters(a)[0][0] if a.by_strokes else "gas store", _heaters,
    ),
    Question(
        "taps", "Which taps?", "One or more of them.", "many", _usual_taps, _taps,
    ),
    Question(
        "joints", "How is the tube joined?", "The tube goes with it.", "choice",
        lambda a: _joints(a)[0][0], _joints,
    ),
    Question(
        "sharing", "Is the water shared out on a board or by tees?",
        "A board has a shut-off for each tap in one place.", "choice",
        lambda a: _sharing(a)[0][0], _sharing,
    ),
)  # fmt: skip
BY_KEY = {question.key: question for question in QUESTIONS}


def answered(answers: Answers, key: str, said: str) -> Answers:
    """The answers with one more, as it was typed; what is empty is the usual one.

    AnswerProblem if it can't be taken, with what may be answered.
    """
    question = BY_KEY[key]
    text = " ".join(said.split()) or question.usual(answers)
    if key == "people":
        return replace(answers, **_people(text))
    if key == "tank":
        return replace(answers, tank=_volume(text, answers))
    if key == "taps":
        parts = [part for part in (p.strip() for p in text.replace(";", ",").split(",")) if part]
        if all(word.isdigit() for word in text.split()):
            parts = text.split()
        chosen = {_chosen(part, question, answers) for part in parts}
        if answers.hot and not chosen & set(WARM_TAPS):
            raise AnswerProblem(f"the heater feeds none of these: add {listed(WARM_TAPS)}")
        return replace(answers, taps=tuple(tap for tap in TAPS if tap in chosen))
    one: Any = _chosen(text, question, answers)
    return replace(answers, **{key: one})


def taken_as(answers: Answers, key: str) -> str:
    """How an answer that was typed freely is taken; empty for one that was chosen."""
    if key == "people":
        return f"{counted(answers.beds, 'bed')}, {counted(answers.seats, 'seat')}"
    if key != "tank":
        return ""
    size = value(answers.tank, "volume", answers.units)
    return f"{size:.4g} {unit('volume', answers.units)}"


def all_answered(said: Mapping[str, str]) -> Answers:
    """The answers to all questions, in their order; those not said are the usual ones."""
    answers = Answers()
    for question in QUESTIONS:
        answers = answered(answers, question.key, said.get(question.key, ""))
    return answers


def _chosen(text: str, question: Question, answers: Answers) -> str:
    """One of the options by its name, its number, its beginning or some of its words."""
    options = [name for name, _ in question.options(answers)]
    if text.isascii() and text.isdigit() and 1 <= int(text) <= len(options):
        return options[int(text) - 1]
    low = text.lower()
    same = [name for name in options if name.lower() == low]
    begins = [name for name in options if name.lower().startswith(low)]
    found = same or begins or [name for name in options if f" {low} " in f" {name.lower()} "]
    if len(found) == 1:
        return found[0]
    if found:
        raise AnswerProblem(f"{quoted(text)} fits several: say {listed(found)}")
    near = nearest(text, options)
    raise AnswerProblem(f"{quoted(text)} is none of {listed(options)}{near}")


def _people(text: str) -> dict[str, Any]:
    parts = text.replace(",", " ").replace(" and ", " ").split()
    if len(parts) not in (1, 2) or not all(p.isascii() and p.isdigit() for p in parts):
        raise AnswerProblem(f"needs one or two whole numbers such as 2, 4; got {quoted(text)}")
    beds, seats = int(parts[0][:9]), int(parts[-1][:9])
    if not 1 <= beds <= MOST_BEDS:
        raise AnswerProblem(f"beds must be 1 to {MOST_BEDS}, got {parts[0]}")
    if not 1 <= seats <= MOST_SEATS:
        raise AnswerProblem(f"seats must be 1 to {MOST_SEATS}, got {parts[-1]}")
    return {"beds": beds, "seats": seats}


def _volume(text: str, answers: Answers) -> float:
    try:
        found = typed(text, "volume", answers.units)
    except QuantityError as error:
        raise AnswerProblem(f"the tank {error}") from None
    if not LEAST_TANK <= found <= MOST_TANK:
        least, most = (show(v, "volume", answers.units) for v in (LEAST_TANK, MOST_TANK))
        raise AnswerProblem(f"the tank must hold {least} to {most}, got {quoted(text)}")
    return found
