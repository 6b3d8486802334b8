"""Interactive pages for notebooks.  Widgets only; every sum is done on a lower floor."""

import sys
from typing import Any


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
