"""The two things that can be done with a worksheet's result: keep it, put it on the sheet.

Each is a button that opens a small panel; what was done, or why not, is told in the panel.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import ipywidgets as widgets

from .look import said

if TYPE_CHECKING:
    from .base import Worksheet


Keep = Callable[["Worksheet", str], Mapping[str, Any]]


class Panel:
    """A button that opens a panel with some text boxes and one button that acts.

    ``act`` gets the texts and returns what to tell; a ValueError or OSError is told too.
    """

    def __init__(
        self, name: str, icon: str, entries: Sequence[widgets.Text], act: Callable[..., str]
    ) -> None:
        self.button = widgets.ToggleButton(value=False, description=name, icon=icon)
        self.button.layout.width = "auto"
        self._entries = entries
        self._act = act
        self._do = widgets.Button(description="Write", button_style="primary")
        self._outcome = widgets.HTML()
        row = widgets.HBox([*entries, self._do])
        row.add_class("vp-buttons")
        self.box = widgets.VBox([row, self._outcome])
        self.box.add_class("vp-panel")
        self.box.layout.display = "none"
        self.button.observe(self._toggle, "value")
        self._do.on_click(lambda _: self.write())

    def write(self) -> str:
        """Act with the texts as they are and tell the outcome."""
        from ..build import BuildError

        try:
            outcome, good = self._act(*(entry.value for entry in self._entries)), True
        except (ValueError, OSError, BuildError) as error:
            outcome, good = f"Nothing was written: {error}", False
        except Exception as error:  # shown in the page: a callback's error is lost otherwise
            outcome, good = f"Nothing was written: {type(error).__name__}: {error}", False
        self._outcome.value = said(outcome, good=good)
        return outcome

    def _toggle(self, change: Mapping[str, Any]) -> None:
        self.box.layout.display = "" if change["new"] else "none"


def keep_panel(
    sheet: Worksheet,
    keep: Keep,
    part: tuple[str, str],
    path: str = "",
) -> Panel:
    """ "Keep in a build file": write the values into a file that exists, comments untouched."""
    label, default = part
    file = widgets.Text(value=path, description="build file", placeholder="my-van.toml")
    name = widgets.Text(value=default, description=label)

    def act(path: str, who: str) -> str:
        from ..build import change

        if sheet.problem:
            raise ValueError("mend the worksheet's fields first")
        if not path.strip():
            raise ValueError("type the name of a build file")
        texts = keep(sheet, who.strip())
        change(Path(path.strip()).expanduser(), texts)
        told = "\n".join(f"{key} = {value}" for key, value in texts.items() if value is not None)
        return f"Kept in {path.strip()}:\n{told}"

    return Panel("Keep in a build file", "save", [file, name], act)


def sheet_panel(sheet: Worksheet) -> Panel:
    """ "Put on the sheet": write this calculation as PDF and HTML with a remark."""
    folder = widgets.Text(value="sheets", description="folder")
    remark = widgets.Text(description="remark", placeholder="printed under the title")

    def act(place: str, words: str) -> str:
        from ..sheet import write_calculation

        if sheet.problem:
            raise ValueError("mend the worksheet's fields first")
        if not place.strip():
            raise ValueError("type the name of a folder")
        files = write_calculation(
            sheet.chapter_with_pictures(),
            Path(place.strip()).expanduser(),
            units=sheet.units,
            remark=words.strip(),
        )
        return "Written: " + ", ".join(str(file) for file in files)

    return Panel("Put on the sheet", "file-text-o", [folder, remark], act)
