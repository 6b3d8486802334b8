"""The JSON Schema of a build file: it takes what the reader takes, and refuses its structure."""

from __future__ import annotations

import copy
import json
import tomllib
from collections.abc import Iterator
from functools import cache
from itertools import islice
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from vanplumb.van import template
from vanplumb.van.entries import entries
from vanplumb.van.file import schema as made
from vanplumb.van.file import values
from vanplumb.van.file.check import Checker
from vanplumb.van.model import LISTS, SECTIONS
from vanplumb.words.tables import example_builds

EXAMPLES = {p.stem: p.read_text(encoding="utf-8") for p in example_builds().values()}
STRUCTURE = (
    "is not a key", "is missing", "needs a text in quotes", "needs a list of", "needs a name,",
    "needs true or false", "needs a whole number", "is a table that is said once",
    "may be said many times", "the bare number", "is no data table", "is no column",
    "needs names and numbers", "needs ports and ends",
)  # fmt: skip
"""What the reader says of keys and of the sort of a value."""
WRONG: tuple[Any, ...] = (7, True, "", "word", [1], {"x": 1})


@cache
def validator() -> Draft202012Validator:
    told = made.schema()
    Draft202012Validator.check_schema(told)
    return Draft202012Validator(told)


def fits(data: dict[str, Any]) -> bool:
    return validator().is_valid(data)


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_examples_fit_their_schema(name: str) -> None:
    assert [e.message for e in validator().iter_errors(tomllib.loads(EXAMPLES[name]))] == []


@pytest.mark.parametrize("units", ["US", "SI"])
def test_a_new_file_fits_its_schema(units: str) -> None:
    assert fits(tomllib.loads(template(units)))


def test_it_is_plain_json_and_has_every_key_that_the_reader_has() -> None:
    told = json.loads(json.dumps(made.schema()))["properties"]
    for key, kind in {**SECTIONS, **LISTS}.items():
        part = told[key] if key in SECTIONS else told[key]["items"]
        declared = entries(kind)
        assert part["properties"].keys() == declared.keys()
        assert set(part["required"]) == {k for k, (_, e, _) in declared.items() if e.required}
    assert made._KINDS.keys() == values._READERS.keys()


def changed(data: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    """The file with one value of a wrong sort, a key too many or one too few, each in turn."""
    for key in (*SECTIONS, *LISTS):
        held = data.get(key)
        if not held:
            continue
        for bad in (3, "text", [], {}, [3]):
            yield f"{key} = {bad!r}", {**data, key: bad}
        for name in held if isinstance(held, dict) else held[0]:
            for bad in (*WRONG, None):
                one = copy.deepcopy(data)
                part = one[key] if isinstance(held, dict) else one[key][0]
                if bad is None:
                    del part[name]
                else:
                    part[name] = bad
                yield f"{key}.{name} = {bad!r}", one
        one = copy.deepcopy(data)
        (one[key] if isinstance(held, dict) else one[key][0])["nonsense"] = 1
        yield f"{key}.nonsense", one
    yield "nonsense", {**data, "nonsense": 1}
    yield "rows", {**data, "rows": {"tube": []}}
    yield "rows.tubes", {**data, "rows": {"tubes": [{"name": "x", "bores": "1 mm"}]}}


@pytest.mark.parametrize("name", ["dipper", "heron"])
def test_what_the_reader_refuses_for_its_structure_the_schema_refuses(name: str) -> None:
    """And what the schema refuses the reader refuses: an editor gives no false alarm.

    One change in three: each key still has two or three wrong sorts of value.
    """
    tried = refused = 0
    for what, data in islice(changed(tomllib.loads(EXAMPLES[name])), 0, None, 3):
        checker = Checker(data, "")
        checker.build()
        said = [str(p) for p in checker.problems]
        # "is missing:" goes on to say which other value asks for it: sense, not structure.
        structure = [s for s in said if any(m in s for m in STRUCTURE) and "missing:" not in s]
        if structure:
            assert not fits(data), (what, structure)
            refused += 1
        elif not said:
            assert fits(data), what
        if not fits(data):
            assert said, what
        tried += 1
    assert tried > 200 and refused > tried / 3
