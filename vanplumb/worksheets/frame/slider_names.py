"""Names for the handles of sliders, which they lack: a slider's field stands beside it."""

from __future__ import annotations

import anywidget

from .browser_files import script


class SliderNames(anywidget.AnyWidget):
    """Nothing to be seen: once on a page, it names the handles there by the labels of their fields.

    A handle says its number to a screen reader by itself, but not of what.
    """

    _esm = script(__package__, "slider_names.js")
