"""What the reader does is answered in the order in which it was done, one thing at a time.

A kernel may hand the messages of different widgets to different threads: ipykernel 7.4 sends those
of a widget to the thread that last showed something on it.  Then a button can be heard before the
text that was typed just before it was pressed, and two answers are worked out at once from fields
that are half changed.
"""

from __future__ import annotations

from typing import Any


def answer_in_order() -> None:
    """Have the kernel hear all widgets in its main thread, where cells run too.

    Answers to a question that a widget itself asked, which have an id, go back to whoever waits for
    them.  Nothing is done in kernels that choose no thread by the widget.
    """
    try:
        from ipykernel.comm.comm import BaseComm
    except ImportError:  # not in a kernel, or in one of another make
        return
    theirs = getattr(BaseComm, _CHOICE, None)
    if theirs is None or getattr(theirs, "in_order", False):
        return

    def chosen(comm: Any, data: Any, asked_for: str | None) -> str | None:
        content = data.get("content") if isinstance(data, dict) else None
        if isinstance(content, dict) and isinstance(content.get("id"), str):
            thread: str | None = theirs(comm, data, asked_for)
            return thread
        return None

    chosen.in_order = True  # type: ignore[attr-defined]
    setattr(BaseComm, _CHOICE, chosen)


_CHOICE = "_reply_subshell_for"
