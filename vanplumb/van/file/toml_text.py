"""What is wrong with a text that is no build file, in plain words and on the right line.

The reader of TOML in the standard library stops at the first letter that it can't use, and
says so in terms of its grammar.  Here the row is looked at again for the slips that people
make: a quote mark left out, a name without a value, a bracket that stays open.

The line of each table and key in a TOML text.
"""

from __future__ import annotations

import re
import tomllib
from functools import lru_cache

from ..model import LISTS, SECTIONS
from ..problems import quoted, short

KeyPath = tuple[str | int, ...]
"""Keys, and positions in arrays from 0: ``("tank", 0, "volume")``."""

_BARE = frozenset("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-")
_ESCAPES = {"b": "\b", "t": "\t", "n": "\n", "f": "\f", "r": "\r", '"': '"', "\\": "\\"}


def locate(text: str) -> dict[KeyPath, int]:
    """Path of each table, array entry and key to the line it begins on, from 1.

    A table that is only implied (``a`` in ``[a.b]``) has the line of what first implies it.
    """
    return walk(text).lines


@lru_cache(maxsize=16)
def walk(text: str) -> Walker:
    """The walker after its walk, which knows where each key and value begins and ends.

    Whoever asks twice for one text gets the same walker, to be read and not changed.
    """
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
        self.lines: dict[KeyPath, int] = {}
        self.values: dict[KeyPath, tuple[int, int]] = {}
        self.keys: dict[KeyPath, int] = {}
        self.ends: dict[KeyPath, int] = {}
        self.sizes: dict[KeyPath, int] = {}

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
        table: KeyPath = ()
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

    def place(self, keys: list[str]) -> KeyPath:
        """The path of a header, which goes into the last entry of each array on its way."""
        path: KeyPath = ()
        for key in keys:
            path = (*path, key)
            self.lines.setdefault(path, self.line)
            if path in self.sizes:
                path = (*path, self.sizes[path] - 1)
        return path

    def entry_of_array(self, keys: list[str]) -> KeyPath:
        above = self.place(keys[:-1])
        array = (*above, keys[-1])
        self.lines.setdefault(array, self.line)
        self.sizes[array] = self.sizes.get(array, 0) + 1
        entry = (*array, self.sizes[array] - 1)
        self.lines[entry] = self.line
        return entry

    def pair(self, table: KeyPath) -> KeyPath:
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

    def value(self, path: KeyPath) -> None:
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

    def array(self, path: KeyPath) -> None:
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

    def inline(self, path: KeyPath) -> None:
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


def line_of(lines: dict[KeyPath, int], path: KeyPath) -> int:
    """The line of a path, or of the nearest thing above it that has one."""
    while path and path not in lines:
        path = path[:-1]
    return lines.get(path, 1)


_PLACE = re.compile(r"\s*\(at (?:line (\d+), column (\d+)|end of document)\)")
_TOKEN = re.compile(
    r"""\#[^\n]*+
      |\"{3}(?:\\.|[^\\])*?\"{3}|'{3}.*?'{3}|\"{3}|'{3}
      |"(?:\\[^\n]|[^"\\\n])*+"|'[^'\n]*+'
      |[\[\]{}"']""",
    re.VERBOSE | re.DOTALL,
)
"""Remarks, texts in quotes, and what may stay open."""
_PAIR = re.compile(r"""((?:"[^"]*+"|'[^']*+'|[^="'])*+)=(.*)""")
_KEY = re.compile(r"""(?:[\w-]++|"[^"]*+"|'[^']*+')(?:\s*\.\s*(?:[\w-]++|"[^"]*+"|'[^']*+'))*+""")
_TEXT = re.compile(r""""(?:\\.|[^"\\])*+"|'[^']*+'""")
_QUANTITY = re.compile(r"[-+−]?[\d.,/½¼¾⅛⅜⅝⅞ ]++[A-Za-z°\"'%]")
_BEGINS = re.compile(r"\s*(?:[\w-]++\s*=|\[++\s*[\w-]++\s*\])")
"""A row that begins a pair or stands as a heading, so that no list goes on in it."""
_INCH = re.compile(r"\d\s*[\"']$")
_SWITCH = {"true": "true", "yes": "true", "on": "true", "false": "false", "no": "false"}
_SWITCH["off"] = "false"
_TWICE = ("Cannot", "Duplicate")


def reason(text: str, error: tomllib.TOMLDecodeError) -> tuple[int, str]:
    """Line and plain words for what the reader of TOML stopped at."""
    text = text.replace("\r\n", "\n")
    rows = text.split("\n")
    place = _PLACE.search(str(error))
    said = _PLACE.sub("", str(error))
    if place and place[1]:
        line, column = int(place[1]), int(place[2])
        at = sum(len(row) + 1 for row in rows[: line - 1]) + column - 1
    else:
        line = max((n for n, row in enumerate(rows, 1) if row.strip()), default=1)
        at, column = len(text), 0
    row = rows[line - 1]
    if told := under_remarks(text).get(line):
        return line, told
    if said.startswith(_TWICE):
        return line, _twice(rows, line, said.startswith("Duplicate"))
    opened = _left_open(text[:at])
    mark, began = opened[0] if opened else ("", line)
    if mark and (began < line or not column) and (not column or _BEGINS.match(row)):
        return began, _OPEN[mark]
    if mark and mark in "[{" and (began < line or said.startswith("Unclosed")):
        told = _inside(row if began == line else f"[{row.strip()}]")
        alone = told == _LEFT_OVER and said.startswith("Unclosed")
        return line, _NO_COMMA if alone else told
    told = _of_row(row.strip(), said)
    where = f" at letter {column}" if column else ""
    return line, told or f"can't be read{where}: {said[:1].lower()}{short(said[1:], 120)}"


_NO_COMMA = "a comma is missing between two values"
_LEFT_OVER = "something is left over in or behind the brackets"
_OPEN = {
    "[": 'the "[" of this line is not closed: a "]" is missing behind the last value',
    "{": 'the "{" of this line is not closed: a "}" is missing on the same line',
    '"': 'a text begins here with " and never ends: write a quote mark at each end',
    "'": "a text begins here with ' and never ends: write a quote mark at each end",
}
_OPEN['"""'] = "a text begins here with three quote marks and never ends: write one at each end"
_OPEN["'''"] = _OPEN['"""']


def _left_open(text: str) -> list[tuple[str, int]]:
    """The marks that are still open at the end of a text, the outermost first, with lines."""
    stack: list[tuple[str, int]] = []
    for token in _TOKEN.finditer(text):
        mark = token[0]
        if mark in _OPEN:
            stack.append((mark, token.start()))
            if mark not in "[{":
                break
        elif mark in "]}" and stack:
            stack.pop()
    return [(mark, text.count("\n", 0, at) + 1) for mark, at in stack]


def _of_row(row: str, said: str) -> str:
    """What is wrong with one row; an empty text if it is no slip that is known."""
    if any(c in row for c in "“”„‘’«»") and "Illegal" not in said:
        return 'the quote marks are slanted: use straight quotes, "'
    if row.startswith("["):
        return _heading(row)
    if "Unescaped" in said or "hex" in said or "Escaped" in said:
        return "a backslash ( \\ ) in a text is written twice: \\\\"
    odd = re.search(r"character '(.+)'$", said)
    if odd and odd[1] not in ("\\n", "\\r"):
        return f"has a control mark ({short(odd[1], 10)}) that can't be shown"
    pair = _PAIR.match(row)
    if pair is None:
        return _without_equals(row)
    key, value = pair[1].strip(), pair[2].strip()
    if not key:
        return 'has no name before the "="'
    if behind := re.match(r"""([\w-]+)\s*[\[{"']""", key):
        return f'a "=" is missing behind {short(behind[1])}'
    if not _KEY.fullmatch(key) or not key.isascii():
        return f'{quoted(key)} before the "=" is no name: letters, digits, - and _ make one'
    if not value or value.startswith("#"):
        return f'{short(key)} has no value behind the "="'
    if value.startswith("="):
        return 'has "=" twice'
    return _value(short(key), value)


def _heading(row: str) -> str:
    inner = re.sub(r"#.*", "", row).strip()
    match = re.fullmatch(r"(\[+)([^\[\]]*)(\]*)(.*)", inner)
    if match is None:
        return "can't be read as a heading such as [van] or [[tank]]"
    name = re.sub(r"\s+", "_", match[2].strip())
    if not name:
        return "the heading has no name between its brackets"
    if name not in LISTS and name not in SECTIONS and name != match[2].strip():
        return "a heading is one name in brackets, such as [van] or [[tank]]"
    if match[4].strip():
        return "a heading such as [van] or [[tank]] stands alone on its line"
    return f"the heading is not in whole brackets: write {_headed(name, len(match[1]))}"


def _headed(name: str, opened: int) -> str:
    double = name in LISTS or (name not in SECTIONS and opened > 1)
    return f"[[{short(name)}]]" if double else f"[{short(name)}]"


def _without_equals(row: str) -> str:
    colon = re.match(r"([\w-]+)\s*:\s*(\S.*)", row)
    if colon:
        return f'has ":" where "=" belongs: write {short(colon[1])} = {short(colon[2])}'
    if re.fullmatch(r"""["']?[\w-]+["']?""", row):
        return f'{short(row)} has no "=" and no value behind it'
    if heading := re.fullmatch(r"([a-z_]+)\]+", row):
        return f"the heading is not in whole brackets: write {_headed(heading[1], 1)}"
    name = re.match(r"[\w-]+", row)
    if name:
        return f'a "=" is missing behind {short(name[0])}; a remark begins with #'
    return "is neither a name with its value, nor a heading, nor a remark (which begins with #)"


def _value(key: str, value: str) -> str:
    """What is wrong with a value, which stands behind a name and a "="."""
    if value[0] in "[{":
        return _inside(value)
    text = _TEXT.match(value)
    if text:
        rest = re.sub(r"#.*", "", value[text.end() :]).strip()
        if rest and re.search(r"\d\"$", text[0]) and '"' in rest:
            return f'a " within a text ends it: write {_inches(key, value)}'
        if rest and not rest.strip("\"'"):
            return f"a quote mark is too many: write {key} = {short(text[0])}"
        if rest and text[0] == '""':
            return f"a quote mark is too many{_so(key, _in_quotes(value))}"
        if rest:
            return f"something stands behind the value: {quoted(rest)}; a remark begins with #"
        return ""
    plain = re.sub(r"\s+#.*", "", value).strip()
    if plain[0] in "\"'":
        return f"a quote mark is missing at the end{_so(key, _in_quotes(plain[1:]))}"
    if plain[-1] in "\"'" and plain.count(plain[-1]) == 1 and not _INCH.search(plain):
        return f"a quote mark is missing at the front{_so(key, _in_quotes(plain[:-1]))}"
    if re.match(r"\d+[-:]\d", plain):
        return f"a date or a time stands in quotes{_so(key, _in_quotes(plain))}"
    if re.fullmatch(r"[-+]?\d+,\d+", plain):
        return f"write decimals with a point: {key} = {plain.replace(',', '.')}"
    if _QUANTITY.match(plain):
        return f"a value with its unit stands in quotes{_so(key, _in_quotes(plain))}"
    if re.fullmatch(r"[-+]?[\d.]+", plain) and plain.count(".") < 2:
        return f"write the number as {key} = {_number(plain)}"
    if plain.lower() in _SWITCH:
        return f"write {key} = {_SWITCH[plain.lower()]}, in small letters"
    return f"a text stands in quotes{_so(key, _in_quotes(plain))}"


def _inside(value: str) -> str:
    """What is wrong with a list or a table written on one line."""
    opened = [mark for mark, _ in _left_open(value)]
    if opened and opened[-1] not in "[{":
        return "a quote mark is missing within the brackets"
    if opened:
        return _OPEN[opened[-1]].replace(" of this line", "")
    bare = _TEXT.sub('""', value)
    if bare.count("]") > bare.count("[") or bare.count("}") > bare.count("{"):
        return "a closing bracket is too many"
    if re.search(r"""["\d\]}]\s+["\d\[{]""", bare):
        return _NO_COMMA
    if re.search(r"[\[{,]\s*,", bare):
        return "a comma is too many"
    if "{" in bare:
        return 'is not of the form { "elbow 90" = 2, "tee" = 1 }'
    if re.search(r"[^\W\d]", bare.replace("true", "").replace("false", "")):
        return 'each value with a unit, and each name, stands in quotes: ["60 cm", "2 ft"]'
    return _LEFT_OVER


def _so(key: str, value: str) -> str:
    """How to write it, unless the value is too long to be shown whole."""
    return "" if "..." in key + value else f": write {key} = {value}"


def _in_quotes(value: str) -> str:
    """A value in quotes as it should stand in the file; inch marks are written out."""
    clean = re.sub(r'(?<=\d)\s*"', " in", value.strip())
    return quoted(clean.replace('"', "").replace("\\", "").strip())


def _inches(key: str, value: str) -> str:
    said = value.strip().strip('"').strip()
    said = re.sub(r"(?<=\d)\s*'\s*", " ft ", re.sub(r"#.*", "", said)).strip().strip('"')
    return f'{key} = "{short(said)} in"'


def _number(value: str) -> str:
    sign = "-" if value[0] == "-" else ""
    whole, point, part = value.lstrip("+-").partition(".")
    return f"{sign}{whole.lstrip('0') or '0'}" + (f".{part or '0'}" if point else "")


_REMARKED = re.compile(r"\s*#+\s*(\[\[?)\s*([a-z_]+)\s*(\]\]?)\s*(#.*)?")
_HEADED = re.compile(r"\s*\[")
_KEYED = re.compile(r"\s*([\w-]+)\s*=")


def under_remarks(text: str) -> dict[int, str]:
    """Lines of keys that stand below a heading which is a remark, and what to do, in words.

    Such a key is read as one of the part above it: who took the ``#`` away from it meant the
    section that it stands in.
    """
    found: dict[int, str] = {}
    head, at = "", 0
    for number, row in enumerate(text.split("\n"), 1):
        remark = _REMARKED.fullmatch(row.rstrip("\r"))
        if remark and (remark[2] in LISTS or remark[2] in SECTIONS):
            head, at = _headed(remark[2], len(remark[1])), number
        elif _HEADED.match(row):
            head = ""
        elif head and (key := _KEYED.match(row)):
            found[number] = (
                f"{key[1]} stands below line {at}, # {head}, whose section is still a remark: "
                f"take the # away from line {at} too"
            )
    return found


def _twice(rows: list[str], line: int, inline: bool) -> str:
    """A name or a heading that stands in the file already."""
    row = rows[line - 1].strip()
    if inline:
        return "a name stands twice within { }: keep one of them"
    if row.startswith("["):
        if not re.match(r"\[[^\[\]]+\]\s*(#|$)|\[\[[^\[\]]+\]\]\s*(#|$)", row):
            return _heading(row)
        name = row.partition("#")[0].strip("[] ")
        same = re.compile(rf"\s*\[+\s*{re.escape(name)}\s*\]")
        first = next((n for n, r in enumerate(rows[: line - 1], 1) if same.match(r)), 0)
        told = (
            f"{short(row)} stands on line {first} already"
            if first
            else f"{short(row)} is there twice"
        )
        return told + (f": write [[{name}]] for each of them" if name in LISTS else "")
    key = row.partition("=")[0].strip()
    for number in range(line - 1, 0, -1):
        above = rows[number - 1].strip()
        if above.startswith("["):
            break
        if above.partition("=")[0].strip() == key:
            return f"{short(key)} stands on line {number} already: keep one of them"
    return f"{short(key)} is given twice: keep one of them"
