"""The two things that can be done with a worksheet's result: keep it, put it on the sheet.

Each is a button that opens a small panel; what was done, or why not, is told in the panel.
"""

from __future__ import annotations

import base64
import mimetypes
from collections.abc import Callable, Mapping, Sequence
from html import escape
from pathlib import Path
from typing import Any, TypeVar

import ipywidgets as widgets

from ...words.report import Amiss
from . import own_files as own
from .look import said
from .page import Page
from .plain import across, html, line

P = TypeVar("P", bound=Page)


class Panel:
    """A button that opens a panel with some text boxes and one button that acts.

    ``act`` gets the texts and returns what to tell, as ``Amiss`` where it is bad news; a
    ValueError or OSError is told too.
    ``hint`` is what the button tells when the pointer rests on it, ``do`` the word on the
    button that acts.  Files that ``act`` puts
    into ``files`` can be saved from the page.
    """

    def __init__(
        self,
        name: str,
        icon: str,
        entries: Sequence[widgets.Widget],
        act: Callable[..., str],
        hint: str = "",
        do: str = "Write",
    ) -> None:
        self.button = widgets.ToggleButton(value=False, description=name, icon=icon, tooltip=hint)
        self.files: list[Path] = []
        self.button.layout.width = "auto"
        self.entries = entries
        self._act = act
        self._do = widgets.Button(description=do, button_style="primary")
        self._outcome = html()
        row = across(*entries, self._do)
        row.add_class("vp-buttons")
        self.box = widgets.VBox([row, self._outcome])
        self.box.add_class("vp-panel")
        self.box.layout.display = "none"
        self.button.observe(self._toggle, "value")
        self._do.on_click(lambda _: self.write())

    def write(self) -> str:
        """Act with the texts as they are and tell the outcome."""
        from ...van import BuildError

        self.files = []
        try:
            outcome = self._act(*(entry.value for entry in self.entries))
            good = not isinstance(outcome, Amiss)
        except (ValueError, OSError, BuildError) as error:
            outcome, good = f"Nothing was written: {error}", False
        except Exception as error:  # shown in the page: a callback's error is lost otherwise
            outcome, good = f"Nothing was written: {type(error).__name__}: {error}", False
        self._outcome.value = said(outcome, good=good) + links(self.files)
        return outcome

    def say(self, text: str) -> None:
        """Tell how far it is, while it acts."""
        self._outcome.value = f'<div class="vp-note" role="status">{escape(text)}</div>'

    def _toggle(self, change: Mapping[str, Any]) -> None:
        self.box.layout.display = "" if change["new"] else "none"


def keep_panel(
    sheet: P,
    keep: Callable[[P, str], Mapping[str, Any]],
    part: tuple[str, str],
    path: str = "",
) -> Panel:
    """ "Keep in a build file": write the values into a file that exists, comments untouched.

    ``keep`` gives what to write for the worksheet and a part's name: path in the file to value.
    """
    label, default = part
    file = own.entry("" if own.is_example(path) else path)
    name = line(value=default, description=label)

    def act(path: str, who: str) -> str:
        from ...van import change

        if sheet.problem:
            raise ValueError("mend the worksheet's fields first")
        place = own.written_into(path)
        texts = keep(sheet, who.strip())
        change(place, texts)
        told = "\n".join(f"{key} = {value}" for key, value in texts.items() if value is not None)
        return f"Kept in {place}:\n{told}"

    hint = "Write these values into a build file; its remarks stay"
    panel = Panel("Keep in a build file", "save", [file, name], act, hint)
    panel.button.observe(lambda _: setattr(file, "options", own.options()), "value")
    return panel


def sheet_panel(sheet: Page) -> Panel:
    """ "Put on the sheet": write this calculation as PDF and HTML with a remark."""
    folder = line(value="sheets", description="folder")
    remark = line(description="remark", placeholder="printed under the title")

    def act(place: str, words: str) -> str:
        from ...sheet import write_calculation

        if sheet.problem:
            raise ValueError("mend the worksheet's fields first")
        if not place.strip():
            raise ValueError("type the name of a folder")
        panel.files = write_calculation(
            sheet.chapter_with_pictures(),
            Path(place.strip()).expanduser().absolute(),
            units=sheet.units,
            van=sheet.van,
            remark=words.strip(),
        )
        return "Written: " + ", ".join(str(file) for file in panel.files)

    hint = "This calculation as a PDF and as a page for any browser"
    panel = Panel("Put on the sheet", "file-text-o", [folder, remark], act, hint)
    return panel


def links(files: Sequence[Path]) -> str:
    """Links that save files from the page, wherever the kernel runs.  They carry the files."""
    found = []
    for file in files:
        kind = mimetypes.guess_type(file.name)[0] or "application/octet-stream"
        code = base64.b64encode(file.read_bytes()).decode("ascii")
        name = escape(file.name, quote=True)
        found.append(
            f'<a class="vp-save" download="{name}" href="data:{kind};base64,{code}">Save {name}</a>'
        )
    return f'<div class="vp-links">{" ".join(found)}</div>' if found else ""
