"""Interactive pages for notebooks.  Widgets only; every sum is done on a lower floor.

    from vanplumb.worksheets import mixing_worksheet, of_van, paper

Each is loaded when it is first asked for; ``dir(vanplumb.worksheets)`` names all.
"""

import sys
from importlib import import_module
from typing import Any

from .frame.in_order import answer_in_order

_FACE = {
    "paper": "frame",
    "my_van": "page.my_van",
    "of_van": "page.vans",
    "board_of": "van.board",
    "compare_variants": "van.compare",
    "compare_worksheet": "van.compare",
    "frost_of_run": "van.frost",
    "frost_worksheet": "van.frost",
    "runs_of": "van.frost",
    "answer_box": "lessons.asked",
    "predict": "lessons.asked",
    "lesson": "lessons.lesson_page",
    "heater_of_build": "van.heater",
    "heater_worksheet": "van.heater",
    "mixing_of": "van.mixing",
    "mixing_worksheet": "van.mixing",
    "valves_of": "van.mixing",
    "system_worksheet": "van.system",
    "VanPicture": "van.picture",
    "trip_worksheet": "van.trip",
    "RecordPage": "shop.record",
    "ShopDay": "shop.shop_day",
    "clock_worksheet": "shop.shop_day",
    "measured_and_recorded": "shop.measured",
    "measured_worksheet": "shop.measured",
    "sureness_worksheet": "shop.record",
}
"""What a notebook needs, and the module that has it."""

__all__ = list(_FACE)


def __getattr__(name: str) -> Any:
    if name not in _FACE:
        raise AttributeError(f"vanplumb.worksheets has no {name!r}; there are {', '.join(_FACE)}")
    if name == "paper":
        return import_module(".frame.paper", __name__)
    return getattr(import_module(f".{_FACE[name]}", __name__), name)


def __dir__() -> list[str]:
    return sorted(_FACE)


def _show_tables_whole() -> None:
    """In a notebook, a pandas table shows the whole of a long text instead of its beginning."""
    ipython = sys.modules.get("IPython")
    shell = ipython.get_ipython() if ipython is not None else None
    formatter = getattr(shell, "display_formatter", None)
    if formatter is not None:
        by_kind = formatter.formatters["text/html"]
        for module in ("pandas", "pandas.core.frame"):  # by the age of pandas
            by_kind.for_type_by_name(module, "DataFrame", _whole)


def _whole(frame: Any) -> Any:
    import pandas as pd

    with pd.option_context("display.max_colwidth", None):
        return frame._repr_html_()


_show_tables_whole()
if "ipykernel" in sys.modules:
    answer_in_order()
