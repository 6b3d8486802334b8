"""How the work on what fixtures do to one another grows with the size of a build."""

from __future__ import annotations

import time
from math import log

from tests.random_vans.large import large
from vanplumb.flow.engine import Flow
from vanplumb.flow.mixing.check import valve_checks
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
        report_time(f"flow of {fixtures} fixtures, {links[-1]} links", spent[-1], 400)
    power = log(spent[1] / spent[0]) / log(links[1] / links[0])
    # the aim is 1.5; it was 1.9 when this was written, so this budget only holds what there is
    report("growth with the number of links, as a power", power, 2.1)
