"""Worksheet of a board: drag a valve, turn or bend its handle, swap its part, undo, keep.

The drawing of a board on which parts can be taken with the pointer or by keys.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import anywidget
import ipywidgets as widgets
import traitlets

from ...board.hands import edit
from ...board.hands.pin_lines import pins_of
from ...board.parts.parts import PartError
from ...board.parts.shapes import BENDS
from ...board.place.layout import Layout
from ...board.place.state import State, ticks
from ...board.plan import BoardPlan
from ...chapters.board import worksheet_chapter
from ...drawings.board.depth import board_depth
from ...drawings.board.front import board_parts
from ...sheet.wording import told_drawing, words_of
from ...van import Build
from ...words.files import file_name
from ...words.report import Chapter, Picture
from ..frame.base import Flag, Text, Worksheet
from ..frame.browser_files import script, style
from ..frame.living import LivingPicture

Told = Callable[[dict[str, Any]], None]


class BoardStage(anywidget.AnyWidget):
    """Shows ``svg`` and calls ``told`` with each thing that the reader does.

    Messages: ``{"kind": "take" | "drag" | "drop", "grip": ..., "dx": mm, "dy": mm}``,
    ``{"kind": "cancel"}``, ``{"kind": "key", "grip": ..., "key": ..., "far": bool}``.
    ``show`` answers each of them, changed or not, so that the page goes on.
    """

    _esm = script(__package__, "board_stage.js")
    _css = style(__package__, "board_stage.css")
    svg = traitlets.Unicode("").tag(sync=True)
    selected = traitlets.Unicode("").tag(sync=True)
    patch: traitlets.List[Any] = traitlets.List().tag(sync=True)
    serial = traitlets.Int(0).tag(sync=True)

    def __init__(self, told: Told) -> None:
        super().__init__()
        self._told = told
        self._parts: tuple[str, list[str]] = ("", [])
        self.on_msg(self._heard)

    def __repr__(self) -> str:
        return "<board to drag on>"

    def show(
        self, head: str, parts: list[str], selected: str = "", *, passing: bool = False
    ) -> None:
        """A new drawing: its opening and its elements, in one message.

        While something is dragged (``passing``) only the elements that differ from the last
        drawing are sent, if there are as many as before; the last one is sent whole again.
        """
        old, self._parts = self._parts, (head, parts)
        if passing and old[0] == head and len(old[1]) == len(parts):
            pairs = enumerate(zip(old[1], parts, strict=True))
            changed = [[number, new] for number, (was, new) in pairs if was != new]
            with self.hold_sync():
                self.patch = changed
                self.serial += 1
            return
        with self.hold_sync():
            self.svg, self.selected = f"{head}{''.join(parts)}</svg>", selected
            self.patch = []
            self.serial += 1

    def _heard(self, _: Any, content: Any, buffers: Any) -> None:
        before = self.serial
        try:
            self._told(content)
        finally:
            if self.serial == before:
                self.serial += 1


QUESTION = (
    "Does everything fit, and what is cut? Drag a valve along its header or away from it, drag a "
    "header or the mixing valve; with the keyboard, go to a valve with Tab and use the arrows, t "
    "to turn its handle and b to bend it. What is in the way turns magenta."
)
ARROWS = {"ArrowLeft": (-1, 0), "ArrowRight": (1, 0), "ArrowUp": (0, 1), "ArrowDown": (0, -1)}
MOST_UNDO = 200


@dataclass(frozen=True)
class Seen:
    """What the worksheet shows: a plan laid out as it stands, and whether fingers are drawn."""

    plan: BoardPlan
    fingers: bool

    @property
    def layout(self) -> Layout:
        return self.plan.layout


def board_of(build: Build) -> Worksheet:
    """The worksheet of a build's board, as the search or the build's pins lay it out.

    PartError if the build has no board.
    """
    return _Bench(build).sheet


class _Bench:
    """The state of the board as it is being changed, and what changes it."""

    def __init__(self, build: Build) -> None:
        self.build, self.say = build, words_of(build)
        plan = BoardPlan(build)
        self.first = plan.layout.state
        self.needs = plan.needs
        self.state = self.first
        self.undone: list[State] = []
        self.done: list[State] = []
        self.start: State | None = None
        self.grip = f"zone:{self.first.rows[0].spots[0].zone}"
        self.problem = ""
        self.written = ""
        self.passing = False
        self.stage = BoardStage(self.heard)
        self.tools = _Tools(self)
        self.depth = LivingPicture(stays=False)
        self.sheet = Worksheet(
            "Manifold board",
            question=QUESTION,
            units=build.van.units,
            words=self.say,
            fields=[
                Flag("fingers", "show the room for fingers", False),
                Text("layout", "layout, as lines for the build file"),
            ],
            compute=self.compute,
            draw=self.draw,
            chapter=self.chapter,
            hide=lambda values: ["layout"],
            keep=self.kept,
            part=("board", "board"),
            file=str(build.path or ""),
            stage=widgets.VBox([self.stage, self.tools.box, self.depth]),
        )
        self.write()
        # For tests and notebooks: everything that a hand can do.
        self.sheet.bench = self  # type: ignore[attr-defined]

    def pins(self) -> str:
        return "; ".join(pins_of(self.needs, self.state))

    def compute(self, values: Mapping[str, Any]) -> Seen:
        """The board as it stands; a layout that was put back from a kept state is read first."""
        if self.problem:
            told, self.problem = self.problem, ""
            raise ValueError(told)
        if values["layout"] != self.written:
            self.state, self.written = self.read(values["layout"]), values["layout"]
        plan = BoardPlan(self.build, self.state)
        plan.needs = self.needs
        return Seen(plan, values["fingers"])

    def read(self, text: str) -> State:
        """A state from its pins.  ValueError if they do not hold a whole layout."""
        from dataclasses import replace

        board = replace(self.build.board, pin=tuple(text.split("; ")))
        plan = BoardPlan(replace(self.build, board=board))
        if plan.needs.problems or plan.found.stage != "as set":
            raise ValueError("this is no whole layout of this board")
        return plan.state

    def draw(self, seen: Seen, units: str) -> list[str]:
        head, parts = board_parts(seen.layout, units, fingers=seen.fingers, live=True)
        lettered = [told_drawing(part, self.say) for part in parts]
        self.stage.show(head, lettered, self.grip, passing=self.passing)
        self.tools.follow(seen.layout)
        if not self.passing:
            self.depth.show(*board_depth(seen.layout))
        return []

    def chapter(self, seen: Seen, units: str) -> Chapter:
        """What stands under the drawing; for the sheet the drawing is in it too."""
        chapter = worksheet_chapter(seen.plan)
        if self.passing:
            return chapter
        return chapter.with_pictures(Picture("board", "The board from the front", self.stage.svg))

    def heard(self, message: dict[str, Any]) -> None:
        """What the reader did on the drawing."""
        kind, grip = message.get("kind"), str(message.get("grip", ""))
        if kind == "take":
            self.grip, self.start = grip, self.state
            self.stage.selected = grip
            self.tools.follow()
        elif kind in ("drag", "drop") and self.start is not None:
            dx, dy = ticks(float(message["dx"])), ticks(float(message["dy"]))
            start, self.passing = self.start, kind == "drag"
            try:
                self.to(lambda: edit.dragged(self.needs, start, grip, dx, dy), note=False)
            finally:
                self.passing = False
            if kind == "drop":
                self.start = None
                if self.state != start:
                    self.note(start)
        elif kind == "cancel" and self.start is not None:
            start, self.start = self.start, None
            self.to(lambda: start, note=False)
        elif kind == "key":
            self.grip = grip
            self.key(str(message.get("key")), bool(message.get("far")))

    def key(self, key: str, far: bool) -> None:
        """One key on a part of the drawing."""
        zone = self.zone
        if key in ARROWS:
            steps = 8 if far else 1
            dx, dy = (a * steps * self.needs.grid for a in ARROWS[key])
            self.to(lambda: edit.dragged(self.needs, self.state, self.grip, dx, dy))
        elif key == "t":
            self.turn()
        elif key == "b" and zone:
            now = self.spot.bend
            self.bend(BENDS[(BENDS.index(now) + 1) % len(BENDS)])
        else:
            self.sheet.update()

    @property
    def zone(self) -> str:
        """The zone that is taken, or an empty text."""
        kind, _, name = self.grip.partition(":")
        return name if kind == "zone" else ""

    @property
    def spot(self) -> Any:
        row, index = self.state.find(self.zone)
        return row.spots[index]

    def to(self, change: Callable[[], State], note: bool = True) -> None:
        """Take a new state and show it; what can't be done is told in the page."""
        before = self.state
        try:
            self.state = change()
        except (PartError, ValueError, KeyError) as error:
            self.problem = str(error).strip("'\"")
        if note and self.state != before:
            self.note(before)
        if not self.passing:
            self.write()
        self.sheet.update()

    def write(self) -> None:
        """Put the layout into its field, from which it is kept and put back."""
        self.written = self.pins()
        self.sheet.fields["layout"].set(self.written)

    def note(self, before: State) -> None:
        self.done = [*self.done, before][-MOST_UNDO:]
        self.undone = []
        self.tools.follow()

    def turn(self) -> None:
        """Turn the handle of the zone that is taken, or the device by a quarter."""
        kind, _, name = self.grip.partition(":")
        if kind == "zone":
            self.to(lambda: edit.turned(self.state, name))
        elif kind == "device":
            self.to(lambda: edit.device_turned(self.state, name))

    def bend(self, bend: str) -> None:
        self.to(lambda: edit.bent(self.needs, self.state, self.zone, bend))

    def swap(self, part: str) -> None:
        self.to(lambda: edit.swapped(self.needs, self.state, self.zone, part))

    def other_side(self) -> None:
        self.to(lambda: edit.other_side(self.state, self.zone))

    def reorder(self, places: int) -> None:
        self.to(lambda: edit.moved_in_order(self.needs, self.state, self.zone, places))

    def close_up(self) -> None:
        self.to(lambda: edit.closed_up(self.needs, self.state))

    def search(self) -> None:
        """Back to what the search gives for the build."""
        self.to(lambda: self.first)

    def undo(self) -> None:
        if self.done:
            self.undone.append(self.state)
            last = self.done.pop()
            self.to(lambda: last, note=False)

    def redo(self) -> None:
        if self.undone:
            self.done.append(self.state)
            last = self.undone.pop()
            self.to(lambda: last, note=False)

    def kept(self, sheet: Worksheet, name: str) -> dict[str, Any]:
        return {"board.pin": list(pins_of(self.needs, self.state))}


class _Tools:
    """The buttons under the drawing, for whatever is taken."""

    def __init__(self, bench: _Bench) -> None:
        self.bench = bench
        self.quiet = False
        zones = [(z.label, f"zone:{z.key}") for m in bench.needs.manifolds for z in m.zones]
        zones += [(d.name, f"device:{d.name}") for d in bench.needs.devices]
        self.which = widgets.Dropdown(options=zones, value=bench.grip, description="taken")
        self.part = widgets.Dropdown(options=[""], description="part")
        tips = [(f"tip {bend}", bend) for bend in BENDS]
        self.tip = widgets.ToggleButtons(options=tips, tooltips=["", "", ""])
        self.tip.style.button_width = "7em"
        self.turn = self.button("Turn handle", "rotate-right", bench.turn)
        self.side = self.button("Other side", "arrows-v", bench.other_side)
        self.earlier = self.button("Earlier", "arrow-left", lambda: bench.reorder(-1))
        self.later = self.button("Later", "arrow-right", lambda: bench.reorder(1))
        self.close = self.button("Close up", "compress", bench.close_up)
        self.undo = self.button("Undo", "undo", bench.undo)
        self.redo = self.button("Redo", "repeat", bench.redo)
        self.again = self.button("As found", "refresh", bench.search)
        rows = (
            [self.which, self.part],
            [self.turn, self.tip, self.side, self.earlier, self.later],
            [self.undo, self.redo, self.close, self.again],
        )
        boxes = [widgets.HBox(row) for row in rows]
        for box in boxes:
            box.add_class("vp-buttons")
        self.box = widgets.VBox(boxes)
        self.box.add_class("vp-board-tools")
        self.which.observe(self._taken, "value")
        self.part.observe(self._swapped, "value")
        self.tip.observe(self._bent, "value")
        self.follow()

    def button(self, name: str, icon: str, act: Callable[[], None]) -> widgets.Button:
        one = widgets.Button(description=name, icon=icon)
        one.layout.width = "auto"
        one.add_class("vp-do-" + file_name(name))
        one.on_click(lambda _: act())
        return one

    def follow(self, layout: Layout | None = None) -> None:
        """Bring the buttons into line with what is taken."""
        bench, self.quiet = self.bench, True
        try:
            if bench.grip in {value for _, value in self.which.options}:
                self.which.value = bench.grip
            zone = bench.zone
            for one in (self.part, self.tip, self.side, self.earlier, self.later):
                one.disabled = not zone
            self.turn.disabled = bench.grip.startswith("row:")
            if zone:
                names = [p.name for p in edit.valves_for(bench.needs, zone)]
                now = bench.spot.valve
                if tuple(names) != tuple(self.part.options):
                    self.part.options = names if now in names else [*names, now]
                self.part.value = now
                self.tip.value = bench.spot.bend
            self.undo.disabled, self.redo.disabled = not bench.done, not bench.undone
        finally:
            self.quiet = False

    def _taken(self, change: Mapping[str, Any]) -> None:
        if not self.quiet:
            self.bench.grip = change["new"]
            self.bench.sheet.update()

    def _swapped(self, change: Mapping[str, Any]) -> None:
        if not self.quiet and change["new"]:
            self.bench.swap(change["new"])

    def _bent(self, change: Mapping[str, Any]) -> None:
        if not self.quiet:
            self.bench.bend(change["new"])
