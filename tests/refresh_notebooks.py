"""Run notebooks and store their outputs anew, without widget state, for nbval to compare with.

    python tests/refresh_notebooks.py                     all of them
    python tests/refresh_notebooks.py notebooks/02*.ipynb
    python tests/refresh_notebooks.py --check             only say which would change

Look at `git diff notebooks` afterwards: a changed figure wants a reason.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import nbformat
from nbclient import NotebookClient

NOTEBOOKS = Path(__file__).parents[1] / "notebooks"
WIDGET = "application/vnd.jupyter.widget-view+json"


def refreshed(path: Path) -> nbformat.NotebookNode:
    """The notebook run from the top in a folder of its own, with tidy outputs."""
    book = nbformat.read(path, as_version=4)
    with tempfile.TemporaryDirectory() as folder:
        NotebookClient(
            book,
            timeout=300,
            kernel_name="python3",
            store_widget_state=False,
            resources={"metadata": {"path": folder}},
        ).execute()
    book.metadata.pop("widgets", None)
    book.metadata["language_info"] = {"name": "python"}
    for number, cell in enumerate(book.cells):
        cell["id"] = f"cell-{number:02d}"
        cell.metadata.pop("execution", None)
        for output in cell.get("outputs", []):
            output.get("data", {}).pop(WIDGET, None)
    return book


def main(arguments: list[str]) -> int:
    """Refresh the notebooks named, or all.  Gives 1 if ``--check`` found a change."""
    check = "--check" in arguments
    named = [Path(a) for a in arguments if not a.startswith("-")]
    changed = 0
    for path in named or sorted(NOTEBOOKS.glob("*.ipynb")):
        text = nbformat.writes(refreshed(path)) + "\n"
        if text != path.read_text(encoding="utf-8"):
            changed += 1
            print(f"{path.name}: {'would change' if check else 'changed'}")
            if not check:
                path.write_text(text, encoding="utf-8")
    print(f"{changed} changed")
    return int(check and changed > 0)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
