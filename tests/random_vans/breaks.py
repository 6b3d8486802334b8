"""Vans that somebody spoiled: a text with letters changed, values swapped, rows of one's own."""

from __future__ import annotations

import copy
from random import Random
from typing import Any

from vanplumb.van.model import LISTS, SECTIONS
from vanplumb.words.tables import table, table_names

from .vans import Van, make, text_of

ODD: tuple[Any, ...] = (
    0, -1, 10**400, 1e308, float("nan"), float("inf"), True, "", " ", "√", "nan m", "1e300 m",
    "-5 bar", "1/0 in", "12,7 mm", "9" * 5000 + " m", "a.b", "a\nb", "\u202e", [], [[]], {},
    {"elbow 90": 10**9}, {"elbow 90": -1}, {"x": "1"}, ["25:00"], [True], "24:61",
    "0000-00-00 00:00",
)  # fmt: skip
"""What may stand anywhere by mistake."""
LETTERS = ("\x00", "\ufeff", '"', "'", "[", "]", "=", "\n", "\\", "#", "é", "\ud7ff", ",", ".", "{")
PINS = (
    "nonsense", "tee at 0, 0", "zone z1 leaves left", "cold manifold order z1, z2", "√", "",
    "cold manifold.z1 stub 1e300 m", "cold manifold.z1 gap -5 mm",
    "cold manifold at 10 mm, 1e300 m",
    "cold manifold.z1 handle lever", "pump at 10 mm, 10 mm", "cold manifold.z1 side left",
)  # fmt: skip


def spoiled(seed: int) -> str:
    """A build file with something wrong in it, or at least odd."""
    rng = Random(seed)
    van = copy.deepcopy(make(seed))
    for _ in range(rng.randint(1, 3)):
        rng.choice((_value, _value, _key, _less, _twice, _rename, _shape))(van, rng)
    text = text_of(van)
    if rng.random() < 0.3:
        for _ in range(rng.randint(1, 4)):
            at = rng.randrange(len(text))
            text = text[:at] + rng.choice(LETTERS) + text[at + rng.randint(0, 3) :]
    return text[: rng.randrange(len(text))] if rng.random() < 0.1 else text


def _parts(van: Van) -> list[tuple[str, Van]]:
    found = [(k, van[k]) for k in SECTIONS if isinstance(van.get(k), dict)]
    for key in LISTS:
        found += [(key, p) for p in van.get(key, ()) if isinstance(p, dict)]
    return [(k, p) for k, p in found if p]


def _value(van: Van, rng: Random) -> None:
    _, part = rng.choice(_parts(van))
    part[rng.choice(list(part))] = rng.choice(ODD)


def _key(van: Van, rng: Random) -> None:
    _, part = rng.choice(_parts(van))
    key = rng.choice(list(part))
    part[rng.choice((f"{key}s", "lenght", "x"))] = part.pop(key)


def _less(van: Van, rng: Random) -> None:
    _, part = rng.choice(_parts(van))
    del part[rng.choice(list(part))]


def _twice(van: Van, rng: Random) -> None:
    key = rng.choice([k for k in LISTS if van.get(k)])
    van[key].append(copy.deepcopy(rng.choice(van[key])))


def _rename(van: Van, rng: Random) -> None:
    """A name that others use is another one now."""
    named = [p for _, p in _parts(van) if "name" in p]
    rng.choice(named)["name"] = rng.choice(("other", "tee", "fresh", "a.b", ""))


def _shape(van: Van, rng: Random) -> None:
    """A table where a list is wanted would not be TOML here: a part is of another kind."""
    kinds = [k for k in LISTS if van.get(k)]
    one, other = rng.choice(kinds), rng.choice(list(LISTS))
    van.setdefault(other, []).append(copy.deepcopy(rng.choice(van[one])))


def with_own_rows(seed: int) -> str:
    """A van with rows of its own in some tables: right ones, odd ones, and names that use them."""
    rng = Random(seed)
    van = copy.deepcopy(make(seed))
    rows: dict[str, list[Van]] = {}
    names = [n for n in table_names() if n != "regions"]
    for name in rng.sample(names, rng.randint(1, 4)) + rng.sample(
        ("tubes", "pumps", "valves", "fittings", "fixtures", "compounds", "board_parts"), 2
    ):
        known = table(name)
        like = rng.choice(list(known))
        row: Van = {"name": rng.choice(("mine", like, "1/2 in. mine")), "like": like}
        if rng.random() < 0.1:
            del row["like"]
        for key, column in known.columns.items():
            if rng.random() < 0.12:
                row[key] = _cell(column, known, key, rng)
        rows.setdefault(name, []).append(row)
    van["rows"] = rows
    for tube in rows.get("tubes", ()):
        for run in van.get("run", ()):
            run["tube"] = tube["name"] if rng.random() < 0.5 else run["tube"]
    return text_of(van)


def _cell(column: Any, known: Any, key: str, rng: Random) -> Any:
    if rng.random() < 0.06:
        return rng.choice(ODD)
    if column.flag:
        return rng.random() < 0.5
    if not column.word:
        held = [r[key] for r in known.values() if r[key]]
        said = rng.choice(held) if held else "a text"
        return list(said) if isinstance(said, tuple) else said
    if column.word in ("count", "number", "share", "loss_coefficient", "price", "efficiency"):
        one: Any = rng.choice((0, 1, 1, 2, 2, 3, 0.5, 1e9))
    else:
        from vanplumb.van.file.template import quantity

        held = [r[key] for r in known.values() if r[key] is not None]
        base = rng.choice(held) if held else 0.01
        base = base[0] if isinstance(base, tuple) else base
        one = quantity(base * 10 ** rng.uniform(-0.4, 0.4), column.word, "SI")
    return [one] * rng.randint(1, 3) if column.many else one


def pinned(seed: int) -> str:
    """A van with a board whose parts are pinned anywhere."""
    rng = Random(seed)
    van = copy.deepcopy(make(seed))
    van["board"] = {**van.get("board", {}), "pin": rng.sample(PINS, rng.randint(1, 4))}
    return text_of(van)
