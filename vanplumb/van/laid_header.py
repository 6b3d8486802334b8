"""A header as it hangs on its board: what the board's layout tells the other sums of it.

Where a board is laid out, its headers have their zones in the order in which they hang there and
tubes as long as they are cut for it.  A build carries that (``Build.laid``), so that flow, waits,
test, dose and drains take the header that is bought and cut, and no other.
"""

from __future__ import annotations

from dataclasses import dataclass

from ..words.brief import brief


@brief
@dataclass(frozen=True)
class LaidHeader:
    """One manifold on its board; each figure in the order of its zones, the feed's end first.

    ``ways`` are m of the header's tube that hold as much as the way from one zone's fitting to
    the next, from the feed to the first; what is left at the end is that to plugs.  ``outs`` are
    such m from the fitting through stub and valve to the zone's outlet, ``cuts`` m of tube from
    fitting to fitting as it is cut, and ``corners`` elbows on that way.  ``ends_in_elbow`` tells
    how the last zone leaves; ``asked`` what all that was laid out for.
    """

    name: str
    zones: tuple[str, ...]
    ways: tuple[float, ...]
    outs: tuple[float, ...]
    cuts: tuple[float, ...]
    corners: tuple[int, ...]
    ends_in_elbow: bool
    asked: tuple[object, ...]
