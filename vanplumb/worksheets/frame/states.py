"""States of a worksheet: all its values under a name, in a file of the reader's."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from ...words.files import write_whole
from .look import said
from .page import Page
from .plain import across, html, line

FORMAT = 1


def keep(sheet: Page, path: Path | str, name: str) -> None:
    """Write the values of a worksheet into a file under a name, others in it untouched.

    ValueError if a field of the worksheet is wrong, the name is empty or the file is none of
    states; OSError if it can't be written.  A kill leaves the old file or the new one, whole.
    """
    if sheet.problem:
        raise ValueError("mend the worksheet's fields first")
    if not name.strip():
        raise ValueError("type a name for this state")
    file = Path(path).expanduser()
    held: dict[str, Any] = {"format": FORMAT, "worksheets": {}}
    if file.exists():
        held = _read(file)
    held["worksheets"].setdefault(sheet.title, {})[name.strip()] = sheet.written
    text = json.dumps(held, indent=2, ensure_ascii=False) + "\n"
    write_whole(file, text)


def names(sheet: Page, path: Path | str) -> list[str]:
    """The states that a file has for a worksheet.  ValueError or OSError if it can't be read."""
    return list(_read(Path(path).expanduser())["worksheets"].get(sheet.title, {}))


def restore(sheet: Page, path: Path | str, name: str) -> None:
    """Give a worksheet the values of one of its states; all of them, or none.

    ValueError if there is no such state or a value of it does not belong to its field.
    """
    states = _read(Path(path).expanduser())["worksheets"].get(sheet.title, {})
    if name.strip() not in states:
        told = ", ".join(states) or "none"
        raise ValueError(f"no state {name.strip()!r} of this worksheet; there are {told}")
    values = states[name.strip()]
    known = {key: value for key, value in values.items() if key in sheet.fields}
    before = sheet.values
    try:
        sheet.set(**known)
    except Exception as error:  # whatever a control says to a value that is not its own
        sheet.set(**before)
        raise ValueError(f"a value of {name.strip()!r} does not belong here: {error}") from None


def _read(file: Path) -> dict[str, Any]:
    try:
        held = json.loads(file.read_text(encoding="utf-8"))
    except (json.JSONDecodeError, UnicodeDecodeError):
        raise ValueError(f"{file} is no file of states") from None
    if not isinstance(held, dict) or not isinstance(held.get("worksheets"), dict):
        raise ValueError(f"{file} is no file of states")
    if held.get("format") != FORMAT:
        raise ValueError(f"{file} was written by a newer version")
    return held


class StatesPanel:
    """ "States": a button that opens a panel to keep a state, list those kept, go back to one."""

    def __init__(self, sheet: Page) -> None:
        self._sheet = sheet
        self.button = widgets.ToggleButton(
            value=False, description="States", icon="bookmark", tooltip=""
        )
        self.button.layout.width = "auto"
        self._file = line(value="states.json", description="kept in the file")
        self._name = widgets.Combobox(
            description="state's name", placeholder="as drawn", options=(), continuous_update=True
        )
        buttons = []
        for text, act in (("Keep", self._keep), ("Go back to it", self._restore)):
            one = widgets.Button(description=text)
            one.layout.width = "auto"
            one.on_click(lambda _, act=act: self._told(act))
            buttons.append(one)
        self._outcome = html()
        row = across(self._file, self._name, *buttons)
        row.add_class("vp-buttons")
        self.box = widgets.VBox([row, self._outcome])
        self.box.add_class("vp-panel")
        self.box.add_class("vp-states")
        self.box.layout.display = "none"
        self.button.observe(self._toggle, "value")

    def _keep(self) -> str:
        keep(self._sheet, self._place(), self._name.value)
        return f'Kept as "{self._name.value.strip()}" in {self._place()}. {self._list()}'

    def _restore(self) -> str:
        restore(self._sheet, self._place(), self._name.value)
        return f'The worksheet stands as in "{self._name.value.strip()}". {self._list()}'

    def _place(self) -> str:
        place = str(self._file.value).strip()
        if not place:
            raise ValueError("type the name of a file")
        return place

    def _list(self) -> str:
        found = names(self._sheet, self._place())
        self._name.options = tuple(found)
        return f"States there: {', '.join(found) or 'none'}."

    def _told(self, act: Any) -> str:
        try:
            outcome, good = act(), True
        except (ValueError, OSError) as error:
            outcome, good = f"Nothing was changed: {error}", False
        except Exception as error:  # shown in the page: a callback's error is lost otherwise
            outcome, good = f"Nothing was changed: {type(error).__name__}: {error}", False
        self._outcome.value = said(outcome, good=good)
        return outcome

    def _toggle(self, change: Mapping[str, Any]) -> None:
        self.box.layout.display = "" if change["new"] else "none"
        if change["new"] and Path(str(self._file.value).strip() or "-").expanduser().is_file():
            self._told(self._list)
