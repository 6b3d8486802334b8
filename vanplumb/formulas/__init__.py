"""The printed formulas: one subject a file, each function one formula.

``dir(vanplumb.formulas)`` names the subjects and every formula; ``listed()`` is a table of all.
A formula is found under its subject and by itself: ``formulas.tube.velocity`` and
``formulas.velocity`` are one.
"""

from ..words.formula import REGISTRY, Formula
from ..words.report import ResultTable, grid
from . import (
    carrying,
    disinfection,
    frost,
    heater,
    joints,
    mixing,
    money,
    needs,
    pressure,
    runs_heat,
    tank,
    tube,
    valves,
    water,
    wiring,
)

SUBJECTS = {
    "water": water,
    "needs": needs,
    "tank": tank,
    "pressure": pressure,
    "tube": tube,
    "valves": valves,
    "mixing": mixing,
    "heater": heater,
    "runs_heat": runs_heat,
    "frost": frost,
    "joints": joints,
    "carrying": carrying,
    "wiring": wiring,
    "money": money,
    "disinfection": disinfection,
}
"""Every subject with its module, in the order of the water's way."""


def of_subject(subject: str) -> tuple[Formula, ...]:
    """The formulas of one subject, in the order of its file.  KeyError for no subject."""
    module = SUBJECTS[subject].__name__
    return tuple(f for f in REGISTRY.values() if f.__module__ == module)


def listed(subject: str = "") -> ResultTable:
    """All formulas, or those of one subject: what each gives, from what, and its source."""
    subjects = (subject,) if subject else tuple(SUBJECTS)
    return ResultTable(
        grid(
            "Formulas",
            [(one, f) for one in subjects for f in of_subject(one)],
            {
                "subject": 0,
                "formula": lambda row: row[1].name,
                "gives": lambda row: row[1].result.label,
                "from": lambda row: ", ".join(row[1].parameters),
                "source": lambda row: str(row[1].source),
            },
        ),
        "SI",
    )


def __getattr__(name: str) -> Formula:
    if name in REGISTRY:
        return REGISTRY[name]
    raise AttributeError(f"there is no formula {name!r}; dir(vanplumb.formulas) names all")


def __dir__() -> list[str]:
    return sorted({*SUBJECTS, *REGISTRY, "SUBJECTS", "listed", "of_subject"})
