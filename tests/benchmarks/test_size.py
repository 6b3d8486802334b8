"""What a large build costs, and how the work grows with its size."""

from __future__ import annotations

import time
from math import log
from pathlib import Path

from tests.random_vans.large import large
from vanplumb.flow.engine import Flow
from vanplumb.flow.mixing.check import valve_checks
from vanplumb.pack import Pack
from vanplumb.van import loads

from .bench import report, report_time

SIZES = ((20, 50), (60, 150))


def test_growth_with_fixtures_and_runs() -> None:
    """Every situation, the greatest changes and the valves' extremes."""
    spent, links = [], []
    for fixtures, runs in SIZES:
        flow = Flow(loads(large(fixtures, runs)))
        start = time.process_time()
        assert flow.situations and flow.changes and valve_checks(flow)
        spent.append(time.process_time() - start)
        links.append(len(flow.made.net.links))
        report_time(f"flow of {fixtures} fixtures, {links[-1]} links", spent[-1], 200)
    power = log(spent[1] / spent[0]) / log(links[1] / links[0])
    # 1.3 to 1.4 when this was written
    report("growth with the number of links, as a power", power, 1.5)


def test_a_whole_pack_of_sixty_fixtures(tmp_path: Path) -> None:
    """From the file to sheet, drawings and lists; asked for is 30 s."""
    start = time.process_time()
    pack = Pack(loads(large(60, 150)))
    pack.write(tmp_path)
    spent = time.process_time() - start
    assert not [f for f in pack.failures if f.not_worked_out and "zones" not in f.what]
    report_time("pack of 60 fixtures and 150 runs", spent, 320)
