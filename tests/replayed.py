"""A notebook is run once: what the lab showed in the browser is compared with what is stored.

nbval asks a kernel of its own for the outputs of each cell.  Where a worker's browser tests have
run the notebook from the top already, nbval is given a stand-in for the kernel, which answers with
the outputs of that run; everything else, and the comparison itself, is nbval's.  Without a browser,
or if only notebooks are asked for, nbval runs them as it always does.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

shown: dict[str, list[dict[str, Any]]] = {}
"""By notebook the code cells of its first run in this process's lab, as the page has them."""


class Replayed:
    """As much of nbval's ``RunningKernel`` as it uses, over cells that were run already."""

    def __init__(self, cells: list[dict[str, Any]]) -> None:
        self.cells = iter(cells)
        self.messages: Iterator[dict[str, Any]] = iter(())

    def is_alive(self) -> bool:
        return True

    def stop(self) -> None:
        """Nothing to end: the kernel is the lab's."""

    def execute_cell_input(self, source: str, allow_stdin: bool | None = None) -> str:
        """Turn to the next cell.  AssertionError if that is another one, or was never run."""
        cell = next(self.cells)
        assert whole(cell["source"]) == source, "the lab ran another cell"
        assert cell["execution_count"], "the lab did not run this cell"
        self.messages = self._answers(cell)
        return "replayed"

    def await_reply(self, msg_id: str, timeout: float | None = None) -> None:
        """It has been given."""

    await_idle = await_reply

    def get_message(self, stream: str, timeout: float | None = None) -> dict[str, Any]:
        return next(self.messages)

    def _answers(self, cell: dict[str, Any]) -> Iterator[dict[str, Any]]:
        parent = {"msg_id": "replayed"}
        for output in cell["outputs"]:
            content = {k: v for k, v in output.items() if k != "output_type"}
            if "text" in content:
                content["text"] = whole(content["text"])
            if "data" in content:
                content["data"] = {
                    kind: whole(value) if kind.startswith(("text/", "image/")) else value
                    for kind, value in content["data"].items()
                }
            yield {"msg_type": output["output_type"], "parent_header": parent, "content": content}
        idle = {"execution_state": "idle"}
        yield {"msg_type": "status", "parent_header": parent, "content": idle}


def whole(text: str | list[str]) -> str:
    """A text that a notebook may hold line by line."""
    return text if isinstance(text, str) else "".join(text)


def use_what_was_shown() -> None:
    """Let nbval begin a notebook with its stand-in, if there is one."""
    from nbval.plugin import IPyNbFile

    started = IPyNbFile.setup

    def setup(file: Any) -> None:
        if file.path.name not in shown:
            return started(file)
        file.kernel = Replayed(shown[file.path.name])
        file.setup_sanitize_files()

    IPyNbFile.setup = setup
