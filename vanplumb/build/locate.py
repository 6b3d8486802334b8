"""The line of each table and key in a TOML text.

The reader of TOML in the standard library says what a file holds, not where.  This walks
the same text a second time and notes the line of each key, so that a problem found in a
value can be shown with its place.  It expects a text that ``tomllib`` has accepted.
"""

from __future__ import annotations

from typing import Any

Path = tuple[str | int, ...]
"""Keys, and positions in arrays from 0: ``("tank", 0, "volume")``."""

_BARE = frozenset("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-")
_ESCAPES = {"b": "\b", "t": "\t", "n": "\n", "f": "\f", "r": "\r", '"': '"', "\\": "\\"}


def locate(text: str) -> dict[Path, int]:
    """Path of each table, array entry and key to the line it begins on, from 1.

    A table that is only implied (``a`` in ``[a.b]``) has the line of what first implies it.
    """
    return walk(text).lines


def walk(text: str) -> Walker:
    """The walker after its walk, which knows where each key and value begins and ends."""
    walker = Walker(text)
    walker.document()
    return walker


class Walker:
    """One walk over one text.

    ``lines`` gives the line of each path; ``values`` the first and last place of each value;
    ``keys`` the place of each key that stands on a line of its own; ``ends`` the place
    behind the last value of each table that has a header (behind the header if it is empty).
    """

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.line = 1
        self.lines: dict[Path, int] = {}
        self.values: dict[Path, tuple[int, int]] = {}
        self.keys: dict[Path, int] = {}
        self.ends: dict[Path, int] = {}
        self.sizes: dict[Path, int] = {}

    # moving

    def peek(self, size: int = 1) -> str:
        return self.text[self.at : self.at + size]

    def step(self, size: int = 1) -> None:
        self.line += self.text.count("\n", self.at, self.at + size)
        self.at += size

    def blanks(self, newlines: bool) -> None:
        """Over spaces and comments, and over line ends if ``newlines``."""
        marks = " \t\r\n" if newlines else " \t"
        while self.at < len(self.text):
            if self.text[self.at] in marks:
                self.step()
            elif self.text[self.at] == "#" and newlines:
                end = self.text.find("\n", self.at)
                self.at = len(self.text) if end < 0 else end
            else:
                return

    # what a document is made of

    def document(self) -> None:
        table: Path = ()
        while True:
            self.blanks(newlines=True)
            if self.at >= len(self.text):
                return
            if self.peek(2) == "[[":
                self.step(2)
                table = self.entry_of_array(self.key())
                self.step(2)
                self.ends[table] = self.at
            elif self.peek() == "[":
                self.step()
                table = self.place(self.key())
                self.lines[table] = self.line
                self.step()
                self.ends[table] = self.at
            else:
                start = self.at
                self.keys[self.pair(table)] = start
                self.ends[table] = self.at

    def place(self, keys: list[str]) -> Path:
        """The path of a header, which goes into the last entry of each array on its way."""
        path: Path = ()
        for key in keys:
            path = (*path, key)
            self.lines.setdefault(path, self.line)
            if path in self.sizes:
                path = (*path, self.sizes[path] - 1)
        return path

    def entry_of_array(self, keys: list[str]) -> Path:
        above = self.place(keys[:-1])
        array = (*above, keys[-1])
        self.lines.setdefault(array, self.line)
        self.sizes[array] = self.sizes.get(array, 0) + 1
        entry = (*array, self.sizes[array] - 1)
        self.lines[entry] = self.line
        return entry

    def pair(self, table: Path) -> Path:
        line = self.line
        path = table
        for key in self.key():
            path = (*path, key)
            self.lines.setdefault(path, line)
        self.step()  # the equals sign
        self.blanks(newlines=False)
        start = self.at
        self.value(path)
        self.values[path] = (start, self.at)
        return path

    def key(self) -> list[str]:
        """A key, which may be dotted; stands after it and the blanks that follow."""
        keys = []
        while True:
            self.blanks(newlines=False)
            if self.peek() in ('"', "'"):
                keys.append(self.string())
            else:
                start = self.at
                while self.at < len(self.text) and self.text[self.at] in _BARE:
                    self.at += 1
                keys.append(self.text[start : self.at])
            self.blanks(newlines=False)
            if self.peek() != ".":
                return keys
            self.step()

    def value(self, path: Path) -> None:
        mark = self.peek()
        if mark in ('"', "'"):
            self.string()
        elif mark == "[":
            self.array(path)
        elif mark == "{":
            self.inline(path)
        else:
            while self.at < len(self.text) and self.text[self.at] not in ",]}#\r\n":
                self.at += 1
            while self.text[self.at - 1] in " \t":
                self.at -= 1

    def array(self, path: Path) -> None:
        self.step()
        position = 0
        while True:
            self.blanks(newlines=True)
            if self.peek() in ("]", ""):
                self.step()
                return
            if self.peek() == ",":
                self.step()
                continue
            self.lines[(*path, position)] = self.line
            self.value((*path, position))
            position += 1

    def inline(self, path: Path) -> None:
        self.step()
        while True:
            self.blanks(newlines=True)
            if self.peek() in ("}", ""):
                self.step()
                return
            if self.peek() == ",":
                self.step()
                continue
            self.pair(path)

    def string(self) -> str:
        """A string of any of the four kinds; gives what it says (as far as keys need it)."""
        mark = self.peek()
        if self.peek(3) == mark * 3:
            self.long_string(mark)
            return ""
        self.step()
        said: list[str] = []
        while (letter := self.peek()) not in (mark, ""):
            if letter == "\\" and mark == '"':
                said.append(self.escape())
            else:
                said.append(letter)
                self.at += 1
        self.step()
        return "".join(said)

    def escape(self) -> str:
        letter = self.text[self.at + 1]
        size = {"u": 4, "U": 8, "x": 2}.get(letter, 0)
        code = self.text[self.at + 2 : self.at + 2 + size]
        self.at += 2 + size
        return chr(int(code, 16)) if size else _ESCAPES[letter]

    def long_string(self, mark: str) -> None:
        self.step(3)
        while self.at < len(self.text):
            if mark == '"' and self.peek() == "\\":
                self.step(2)
            elif self.peek(3) == mark * 3:
                self.step(3)
                while self.peek() == mark:  # up to two more belong to the string
                    self.step()
                return
            else:
                self.step()


def line_of(lines: dict[Path, int], path: Path) -> int:
    """The line of a path, or of the nearest thing above it that has one."""
    while path and path not in lines:
        path = path[:-1]
    return lines.get(path, 1)


def every_path(data: Any, above: Path = ()) -> list[Path]:
    """All paths of what ``tomllib`` read."""
    found: list[Path] = []
    if isinstance(data, dict):
        pairs: list[tuple[str | int, Any]] = list(data.items())
    elif isinstance(data, list):
        pairs = list(enumerate(data))
    else:
        return found
    for key, value in pairs:
        path = (*above, key)
        found.append(path)
        found.extend(every_path(value, path))
    return found
