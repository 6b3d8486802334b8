"""The living picture of a page: a drawing that the browser sets in motion.

The kernel draws a still picture and says in a scene what moves on it; all figures are the
engines'.  A scene is plain data, all of its parts optional:

``flows``   dashes of water: ``points`` of the line in the units of the drawing, ``length`` in
            m, ``speed`` in m/s (a list: one at each of ``play.times``), ``gap`` in m from dash
            to dash, ``wide`` of the line, a ``key`` that stays from one scene to the next.
``play``    what takes its time: ``times`` in s of the picture, in order, ``clock`` a text for
            each, ``says`` a sentence for each (may be left out), a ``name``, and ``still``, the
            time that reduced motion begins with.
``tracks``  what changes over these times on the elements with ``data-part="PART"``: ``attr``
            with ``values``, ``text``, ``warm`` (°C, shown by the ramp), ``shift`` ([x, y]
            each) or ``turn`` (degrees).
``tubes``   tubes whose water differs along the way: ``points``, ``wide`` and ``cells``, for
            each time °C from the first point on, or with ``ice`` shares of whiteness; or a
            ``front``, for each time the share of the way that is ``warm``, the rest ``cool`` (°C).
``solids``  outlines between two heights, see ``drawings/board/depth.py``; a slider tilts them.
``paces``   how fast it may move: [[1, "in real time"], ...].
``dash``    one sentence that says what is seen and how it is scaled.
``folds``   x at which a narrow page may fold the drawing.

Elements with ``data-tap`` are pressed by pointer or key.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Generic, TypeVar

import anywidget
import traitlets

from ...drawings.warmth import STOPS
from ...sheet.wording import told_drawing
from ...words.regions import Local
from .browser_files import script, style

T = TypeVar("T")


class Before(Generic[T]):
    """Remembers what was shown before the last change, to put it beside what is shown now."""

    def __init__(self) -> None:
        self._shown: list[T] = []

    def of(self, now: T) -> T | None:
        """What was shown before ``now``; the same when ``now`` is shown once more."""
        if not self._shown or self._shown[-1] != now:
            self._shown.append(now)
            del self._shown[:-2]
        return self._shown[0] if len(self._shown) > 1 else None


SAID = {"clock", "says", "dash", "text", "name"}
"""What of a scene is read: the rest are numbers and names of elements."""


def _told(scene: Mapping[str, Any], say: Local) -> dict[str, Any]:
    """A scene whose texts are in the words of a region."""

    def one(key: str, value: Any) -> Any:
        if isinstance(value, Mapping):
            return {k: one(k, v) for k, v in value.items()}
        if isinstance(value, (list, tuple)):
            texts = key in SAID or any(isinstance(v, Mapping) for v in value[:1])
            return [one(key, v) for v in value] if texts else value
        return say(value) if isinstance(value, str) and key in SAID else value

    return {key: one(key, value) for key, value in scene.items()}


RAMP = [[warm, list(bytes.fromhex(shade[1:]))] for warm, shade in STOPS]


class LivingPicture(anywidget.AnyWidget):
    """Shows a drawing and moves what its scene says; ``pressed`` hears which tap was pressed.

    The first ``instead`` of the pictures that a worksheet draws are then for paper alone: this
    one stands for them on the page.  One that ``stays`` is kept in sight.
    """

    _esm = script(__package__, "living.js")
    _css = style(__package__, "living.css")
    svg = traitlets.Unicode("").tag(sync=True)
    scene: traitlets.Dict[str, Any] = traitlets.Dict().tag(sync=True)
    serial = traitlets.Int(0).tag(sync=True)

    def __init__(
        self, pressed: Callable[[str], None] | None = None, *, instead: int = 0, stays: bool = True
    ) -> None:
        super().__init__()
        self.pressed = pressed
        self.instead = instead
        self.say: Local = str
        """Tells its texts in the words of a region: set by the worksheet that it stands in."""
        self.add_class("vp-moves")
        if stays:
            self.add_class("vp-stays")
        self.on_msg(self._heard)

    def __repr__(self) -> str:
        return "<living picture>"

    def show(self, svg: str, scene: Mapping[str, Any]) -> None:
        """Another drawing with what moves on it."""
        with self.hold_sync():
            self.svg = told_drawing(svg, self.say)
            self.scene = {"ramp": RAMP, **_told(scene, self.say)}
            self.serial += 1

    def _heard(self, _: Any, message: Mapping[str, Any], __: Any) -> None:
        if self.pressed is not None and "tap" in message:
            self.pressed(str(message["tap"]))
