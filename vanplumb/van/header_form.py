"""What a header is built of: tees, or ready headers with several outlets, by the fewest joints."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from ..words.brief import brief
from ..words.tables import Row, table
from .ends import NEAR, method_of
from .laid_header import LaidHeader

if TYPE_CHECKING:
    from .model import Build
    from .parts import Manifold, Zone

TEES, BLOCK, FEWEST = "tees", "block", "fewest joints"


@brief
@dataclass(frozen=True)
class HeaderForm:
    """How a header is built.  ``outlets`` are those of each ready header, in order from the feed.

    ``joints`` counts the tube ends on the header itself, without the feed and without the stubs
    of its zones; ``joints_tees`` what tees would take, ``joints_block`` what ready headers would
    (None where the table has none).  ``branch`` is the tube of a ready header's outlets: that of
    all zones if they have one, else the header's own.
    """

    form: str
    outlets: tuple[int, ...]
    joints_tees: int
    joints_block: int | None
    branch: str = ""

    @property
    def joints(self) -> int:
        """Of the form that is taken."""
        if self.form == TEES or self.joints_block is None:
            return self.joints_tees
        return self.joints_block


def header_form(build: Build, manifold: Manifold) -> HeaderForm:
    """The form of a manifold's header: as the build says, or that with fewer joints.

    Tees where both have as many: they are mended one by one.
    """
    zones, own = len(build.zones(manifold.name)), _first(manifold.tube)
    used = {
        _first(run.tube)
        for run, (start, _) in zip(build.run, build.run_ends, strict=True)
        if start.component == manifold.name
    }
    branch = used.pop() if len(used) == 1 else own
    counts = outlet_counts(build, own, branch)
    if not counts and branch != own:
        branch = own
        counts = outlet_counts(build, own, branch)
    outlets = covering(zones, counts) if zones else ()
    tees = _tees(zones)
    block = _ready(outlets, zones) if outlets else None
    form = manifold.form
    if form == FEWEST:
        form = BLOCK if block is not None and block < tees else TEES
    return HeaderForm(form, outlets, tees, block, branch)


def form_of(build: Build, manifold: Manifold) -> str:
    """ "tees" or "block"."""
    return manifold.form if manifold.form != FEWEST else header_form(build, manifold).form


def asked_of(manifold: Manifold, zones: Sequence[Zone]) -> tuple[object, ...] | None:
    """What a header on a board hangs on; None for a build with several tubes or valves."""
    tubes, valves = np.ravel(manifold.tube), [np.ravel(zone.valve) for zone in zones]
    if len(tubes) > 1 or any(len(one) > 1 for one in valves):
        return None
    known = sorted((zone.name, str(one[0])) for zone, one in zip(zones, valves, strict=True))
    return str(tubes[0]), manifold.stub, manifold.form, *known


def laid_header(build: Build, manifold: str) -> LaidHeader | None:
    """The header of a manifold as its board is laid out.

    None where there is no board, and where the build has changed so that it is another header.
    """
    found = next((one for one in build.laid if one.name == manifold), None)
    if found is None:
        return None
    part = next(m for m in build.manifold if m.name == manifold)
    return found if found.asked == asked_of(part, build.zones(manifold)) else None


def outlet_counts(build: Build, tube: str, branch: str) -> tuple[int, ...]:
    """Numbers of outlets of ready headers of a tube with outlets for another."""
    rows, tubes = table("board_parts", build.rows), table("tubes", build.rows)
    method = method_of(tube, "", build.rows)

    def fits(row: Row, column: str, wanted: str) -> bool:
        own = row[column] or row["tube"]
        return abs(float(own or 0.0) - tubes[wanted].number("od")) * 1000 <= NEAR

    found = {
        int(row["ports"])
        for row in rows.values()
        if row["kind"] == "header" and row["ports"] and row["joint"] in (method, None)
        and fits(row, "tube", tube) and fits(row, "branch", branch)
    }  # fmt: skip
    return tuple(sorted(found))


def covering(zones: int, counts: tuple[int, ...]) -> tuple[int, ...]:
    """The ready headers, largest first, that feed so many zones with the fewest joints.

    Of equals that with the fewest plugs, then with the fewest headers.
    """
    if not counts:
        return ()
    best: dict[int, tuple[int, ...]] = {0: ()}
    for size in range(1, zones + max(counts)):
        ways = [(*best[size - n], n) for n in counts if size >= n and size - n in best]
        if ways:
            best[size] = min(ways, key=lambda way: (len(way), way))
    whole = {size: way for size, way in best.items() if size >= zones}
    size = min(whole, key=lambda s: (_ready(whole[s], zones), s - zones, len(whole[s])))
    return tuple(sorted(whole[size], reverse=True))


def _ready(outlets: tuple[int, ...], zones: int) -> int:
    """Tube ends between ready headers, at the plug of the last one, and at unused outlets."""
    return 2 * (len(outlets) - 1) + 2 + 2 * (sum(outlets) - zones)


def _tees(zones: int) -> int:
    """Tube ends between tees and the elbow of the last zone; one zone has just its elbow."""
    return 2 * max(zones - 1, 0)


def _first(tube: Any) -> str:
    """The tube; of many variants that of the first, since all are built in one way."""
    return str(np.ravel(tube)[0])
