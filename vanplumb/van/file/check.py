"""From what the file holds to a Build, noting every problem on the way.

What a key may hold is declared once, in the dataclasses; here is only the walk over them.
A value with a problem is left at its default, so that the rest can still be looked at.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from typing import Any

from ...words.tables import Table, table
from ..entries import Entry, entries
from ..model import FORMAT, LISTS, SECTIONS, Build
from ..problems import Problem, listed, nearest
from .fit import RULES, check_joins
from .own_rows import OwnRows
from .toml_text import KeyPath, line_of, locate, under_remarks
from .values import ValueProblem, as_written, read_value

MOST_PROBLEMS = 1000
"""After that many the walk stops: such a file is no build file."""


class TooManyProblems(Exception):
    """Stops the walk; the problems found until then stay in the Checker."""


class Checker:
    """One walk over one file.  ``build`` gives the Build; ``problems`` what was wrong."""

    def __init__(self, data: Mapping[str, Any], text: str) -> None:
        self.data = data
        self.text = text
        self.problems: list[Problem] = []
        self.given: dict[str, str] = {}
        self.rows: dict[str, dict[str, dict[str, Any]]] = {}
        self.places: dict[int, tuple[KeyPath, str]] = {}
        self.bad: set[tuple[int, str]] = set()

    @cached_property
    def lines(self) -> dict[KeyPath, int]:
        """Where each key stands; only asked for when there is a problem to place."""
        return locate(self.text)

    def build(self) -> Build:
        """The Build that the file describes, whole only if there are no ``problems``."""
        self._format()
        if self.problems:
            return Build(van=SECTIONS["van"](name="", units="SI"))
        known = ["format", *SECTIONS, *LISTS, "rows"]
        for key in self.data:
            if key not in known:
                near = nearest(key, known)
                self.say((key,), key, f"is not a key of a build file{near}")
        own = OwnRows(self.data.get("rows", {}), self.say)
        self.rows = own.rows
        self.given.update(own.given)
        parts: dict[str, Any] = {}
        for key, kind in SECTIONS.items():
            if (one := self._section(key, kind)) is not None:
                parts[key] = one
        for key, kind in LISTS.items():
            parts[key] = self._list(key, kind)
        build = Build(**parts, rows=self.rows, given=self.given)
        self._remarked()
        self._sense(build)
        return build

    def say(self, path: KeyPath, label: str, message: str) -> None:
        """Note one problem with what stands at a path of the file."""
        line = line_of(self.lines, path)
        if len(self.problems) >= MOST_PROBLEMS:
            self.problems.append(Problem(line, "", "and what follows was not looked at"))
            raise TooManyProblems
        self.problems.append(Problem(line, label, message))

    def tables(self, name: str) -> Table:
        """A data table with the file's own rows in it."""
        return table(name, self.rows)

    def _remarked(self) -> None:
        """Keys below a heading that is a remark are read as those of the part above it."""
        for line, told in under_remarks(self.text).items():
            paths = [p for p, at in self.lines.items() if at == line and isinstance(p[-1], str)]
            if paths:  # else a line of a longer text
                self.problems = [p for p in self.problems if p.line != line]
                self.problems.append(Problem(line, "", told))

    # the parts

    def _format(self) -> None:
        said = self.data.get("format")
        if said is None:
            self.problems.append(
                Problem(1, "format", f"is missing: the file must begin with format = {FORMAT}")
            )
        elif isinstance(said, bool) or not isinstance(said, int) or said < 1:
            self.say(("format",), "format", f"must be a whole number, {FORMAT} for this version")
        elif said > FORMAT:
            self.say(
                ("format",),
                "format",
                f"is newer than this version of vanplumb reads (up to {FORMAT}): "
                "get a newer version",
            )

    def _section(self, key: str, kind: type) -> Any:
        if key not in self.data:
            if key == "van":
                self.problems.append(Problem(1, "van", "is missing: the file needs a [van] table"))
                return kind(name="", units="SI")
            return None
        said = self.data[key]
        if not isinstance(said, dict):
            self.say((key,), key, f"is a table that is said once: write [{key}]")
            return self._part(kind, {}, (key,), key, quiet=True)
        return self._part(kind, said, (key,), key)

    def _list(self, key: str, kind: type) -> tuple[Any, ...]:
        said = self.data.get(key, [])
        if not isinstance(said, list) or not all(isinstance(one, dict) for one in said):
            self.say((key,), key, f"may be said many times: write [[{key}]]")
            return ()
        found: list[Any] = []
        for number, one in enumerate(said, 1):
            label = self._label(key, kind, one, number)
            found.append(self._part(kind, one, (key, number - 1), label))
        return tuple(found)

    def _label(self, key: str, kind: type, said: Mapping[str, Any], number: int) -> str:
        """The part's path in messages and in ``given``: as ``Build.label`` will give it.

        It is not that one, since a part with problems has no name to rely on yet.
        """
        name = said.get("name")
        if "name" not in entries(kind) or not isinstance(name, str) or not name.strip():
            return f"{key}.{number}"
        if key == "zone":
            return f"{key}.{as_written(said.get('manifold', '?'))}.{name}"
        return f"{key}.{name}"

    def _part(
        self, kind: type, said: Mapping[str, Any], path: KeyPath, label: str, quiet: bool = False
    ) -> Any:
        declared = entries(kind)
        values: dict[str, Any] = {}
        bad: set[str] = set()
        for key, value in said.items():
            if key not in declared:
                near = nearest(key, declared) or f"; it may have {listed(declared, 30)}"
                self.say((*path, key), f"{label}.{key}", f"is not a key of this table{near}")
                bad.add(key)
                continue
            field_name, entry, _ = declared[key]
            try:
                values[field_name] = read_value(value, entry, self.tables)
                self.given[f"{label}.{key}"] = as_written(value)
            except ValueProblem as problem:
                self.say((*path, key, *problem.at), f"{label}.{key}", str(problem))
                bad.add(key)
        for key, (field_name, entry, _) in declared.items():
            if entry.required and field_name not in values:
                values[field_name] = _stand_in(entry)
                if key not in bad and not quiet:
                    self.say(path, f"{label}.{key}", "is missing")
                bad.add(key)
        part = kind(**values)
        self.places[id(part)] = (path, label)
        self.bad |= {(id(part), key) for key in bad}
        return part

    def _sense(self, build: Build) -> None:
        """What one part says together, then what the parts say of each other."""

        def say(part: object, key: str, message: str) -> None:
            path, label = self.places[id(part)]
            if (id(part), key) in self.bad:
                return
            self.say((*path, key) if key else path, f"{label}.{key}" if key else label, message)

        for key in SECTIONS:
            self._rule(getattr(build, key), say)
        for key in LISTS:
            for part in getattr(build, key):
                self._rule(part, say)
        check_joins(build, say)

    def _rule(self, part: Any, say: Any) -> None:
        rule = RULES.get(type(part))
        unclear = any((id(part), key) in self.bad for key in ("kind", "shape"))
        if rule is not None and id(part) in self.places and not unclear:
            for key, message in rule(part, self.tables):
                say(part, key, message)


def _stand_in(entry: Entry) -> Any:
    """A value for a required key that has none, so that the part can be made all the same."""
    if entry.kind == "quantity":
        return 1.0
    return entry.options[0] if entry.options else ""
