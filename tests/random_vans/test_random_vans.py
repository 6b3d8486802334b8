"""Vans nobody drew, and files that somebody spoiled: no crash, no hang, nothing impossible.

Few of each in the suite, ten thousand by hand
(``pytest --roaming --times 10 tests/random_vans -s``); what was tried is printed.
"""

from __future__ import annotations

import os
import time
import warnings
from collections import Counter
from collections.abc import Callable
from math import isfinite

import numpy as np
import pytest

from tests.cases import cases
from vanplumb.chapters.chance import TRIPS
from vanplumb.pack import Pack
from vanplumb.van import BuildError, load, loads
from vanplumb.van.model import Build
from vanplumb.words.glossary import GRAVITY

from .breaks import pinned, spoiled, with_own_rows
from .vans import TALLEST, begun, make, text_of

COUNT = cases(60, 1000)
WORKED = cases(6, 100)
"""Vans whose whole pack is worked out; the others are only read."""
PARTS = cases(1, 5)
SLOWEST = 10.0
"""Processor seconds that one file may take: read, or read and worked out."""
NOT_YET = ("names no fixture", "names nothing that water comes from")
"""What the kit says of itself where a van is only begun: no failure."""


def seeds(part: int, count: int) -> range:
    return range(part, count, PARTS)


def read(text: str) -> Build | None:
    """The build, or None if it was refused as it should be: in lines, each with its place."""
    try:
        return loads(text)
    except BuildError as error:
        assert error.problems
        for problem in error.problems:
            assert problem.line > 0 or "the build" in str(error), str(problem)
            assert "Traceback" not in str(problem)
        return None


KINDS: dict[str, Callable[[int], str]] = {
    "valid": lambda seed: text_of(make(seed)),
    "begun": lambda seed: text_of(begun(seed)),
    "spoiled": spoiled,
    "own rows": with_own_rows,
    "pins": pinned,
}


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("part", range(PARTS))
def test_any_file_is_read_or_refused_with_its_lines(kind: str, part: int) -> None:
    seen: Counter[str] = Counter()
    for seed in seeds(part, COUNT):
        start = time.process_time()
        build = read(KINDS[kind](seed))
        seen["read" if build else "refused"] += 1
        assert time.process_time() - start < SLOWEST, seed
    print(f"\n{kind}: {seen['read']} read, {seen['refused']} refused")
    if kind in ("valid", "begun"):
        assert seen["refused"] == 0
    if kind == "spoiled":
        assert seen["refused"] > seen["read"]


@pytest.mark.parametrize("seed", [2970, 6711])
def test_no_tank_is_made_that_no_van_holds(seed: int) -> None:
    """Drawn as 35 m and as 13 m tall."""
    build = read(KINDS["valid"](seed))
    assert build is not None
    assert max(tank.height or 0.0 for tank in build.tank) == TALLEST


def test_no_tank_is_made_that_no_pickup_gets_into() -> None:
    """Drawn as 14 mm high."""
    assert read(KINDS["begun"](9404)) is not None


@pytest.mark.parametrize("kind", ["valid", "begun", "own rows", "pins"])
@pytest.mark.parametrize("part", range(PARTS))
def test_any_van_is_worked_out_and_keeps_the_laws(kind: str, part: int) -> None:
    """No failed chapter or rule; mass, heat, energy; no pressure above what drives it."""
    tried = slow = 0
    for seed in seeds(part, WORKED):
        build = read(KINDS[kind](seed))
        if build is None:
            continue
        start = time.process_time()
        with warnings.catch_warnings(record=True) as warned:
            warnings.simplefilter("always")
            pack = Pack(build)
            assert pack.chapters
            failed = [f.what for f in pack.all_findings if f.not_worked_out]
        bad = [what for what in failed if not any(known in what for known in NOT_YET)]
        assert bad == [], (kind, seed)
        assert [str(w.message) for w in warned if "vanplumb" in str(w.filename)] == [], (kind, seed)
        slow += time.process_time() - start > SLOWEST
        keeps_the_laws(pack, (kind, seed))
        tried += 1
    print(f"\n{kind}: {tried} worked out, {slow} of them over {SLOWEST:g} s")
    assert tried or kind == "own rows"


def keeps_the_laws(pack: Pack, which: tuple[str, int]) -> None:
    build = pack.build
    if build.fixture and not pack.flow.problem:
        for moment in pack.flow.situations:
            if not moment.found:
                continue
            assert moment.imbalance < 1e-5, which
            top = _most_that_drives(build)
            for node in moment.nodes.values():
                if isfinite(node.pressure):
                    assert node.pressure <= top, (which, moment.name, node.name)
    outcome = pack.trip.planned
    assert np.nanmax(outcome.water_gap(), initial=0.0) < 1e-6, which
    assert np.nanmax(outcome.heat_gap(), initial=0.0) < 1e-6, which
    assert np.nanmax(outcome.energy_gap(), initial=0.0) < 1e-6, which
    for played in (outcome, pack.trip.chance(TRIPS).outcome):
        assert played.warmth_gap().max() < 1e-6, which


def _most_that_drives(build: Build) -> float:
    """More than any pump, site or height of this van can give, Pa."""
    from vanplumb.words.tables import table

    drives = [s.pressure for s in build.shore_inlet] + [a.precharge for a in build.accumulator]
    for pump in build.pump:
        row = table("pumps", build.rows).get(pump.curve)
        points = pump.curve_pressure or (row["curve_pressure"] if row else None) or ()
        usual = pump.voltage or (row and row["voltage"]) or 12.0
        volts = max((pump.supply_voltage or usual) / usual, 1.0)
        drives += [max(points, default=0.0) * volts**2, pump.stroke_pressure or 0.0]
        drives.append((row and row["stroke_pressure"]) or 0.0)
    heights = sum(abs(r.rise) for r in build.run) + sum(
        abs(t.base_height) + (t.height or t.diameter or 1.0) for t in build.tank
    )
    return sum(drives) + 1010.0 * GRAVITY * (heights + 1.0) + 1e4


def test_a_device_that_never_ends_is_refused() -> None:
    for place in ("/dev/zero", "/dev/urandom"):
        if os.path.exists(place):
            with pytest.raises(BuildError, match="not a plain file"):
                load(place)


def test_a_pump_that_starts_at_no_pressure_at_all_divides_by_nothing() -> None:
    """Its valves are looked at with the pump at its cut-in, which then is 0."""
    pack = Pack(loads(text_of(make(1863))))
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert pack.mixing
