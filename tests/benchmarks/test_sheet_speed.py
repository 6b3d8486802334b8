"""How long the sheet of the largest example takes; the figures are printed, best of five.

Each is told by the clock and in processor time: typst sets the pages on two processors.
"""

from __future__ import annotations

import time
from collections.abc import Callable

from vanplumb.pack import Pack, example, examples
from vanplumb.sheet.contents import sheet_of
from vanplumb.sheet.html_page import page
from vanplumb.sheet.lists import lists_of
from vanplumb.sheet.typst_page import _compiler, pdf

from .bench import yard

LIMIT = 5.0  # yards for the PDF


def best(
    work: Callable[[], object], before: Callable[[], object] = lambda: None
) -> tuple[float, float]:
    """Least seconds of five runs, by the clock and of processors; ``before`` isn't timed."""
    clock, processors = [], []
    for _ in range(5):
        before()
        start, used = time.perf_counter(), time.process_time()
        work()
        clock.append(time.perf_counter() - start)
        processors.append(time.process_time() - used)
    return min(clock), min(processors)


def test_the_largest_example_s_sheet() -> None:
    packs = [Pack(example(name)) for name in examples()]
    pack = max(packs, key=lambda p: len(page(sheet_of(p))))
    sheet = sheet_of(pack)
    parts = {
        "contents": best(lambda: sheet_of(pack)),
        "pdf": best(lambda: pdf(sheet), _compiler.cache_clear),
        "pdf again": best(lambda: pdf(sheet)),
        "html": best(lambda: page(sheet)),
        "lists": best(lambda: lists_of(pack.chapters, sheet.units)),
    }
    limit = LIMIT * yard(time.perf_counter)
    print(f"\n{sheet.title}: limit of the PDF {LIMIT:g} yards, {limit * 1000:.0f} ms")
    for part, (clock, processors) in parts.items():
        print(
            f"  {part:10} {clock * 1000:7.1f} ms  {clock / limit:6.3f} of the limit, "
            f"{processors * 1000:7.1f} ms of processors"
        )
    assert parts["contents"][0] + parts["pdf"][0] < limit
