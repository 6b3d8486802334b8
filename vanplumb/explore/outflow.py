"""What comes out of one fixture, open alone, for many variants at once."""

from __future__ import annotations

from typing import Any

import numpy as np

from ..build.model import Build
from ..flow.engine import Flow, open_flags

Array = Any


def outflow(build: Build, fixture: str) -> dict[str, Array]:
    """Flow, pressure in front of the fixture and temperature of the water, SI.

    Its own tap is set while it is open alone, which is this very moment, so one solution
    gives both.  Not a number where no solution exists or no water comes.
    """
    flow = Flow(build)
    made = flow.made
    flags = open_flags(made, [(fixture,)], [flow.source])
    own = [by == fixture or acting for by, acting in
           zip(made.set_by, made.self_acting, strict=True)]  # fmt: skip
    on_the_way = _mixers_in_use(flow, fixture)
    if all(own[i] for i in on_the_way):
        solution = made.net.solve(flags, thermostatic=[own]) if own else made.net.solve(flags)
        flow.__dict__["positions"] = solution.parts["position"]
        if not np.all(solution.found):  # as far as it could be set, and left there
            solution = made.net.solve(
                flags, positions=flow.positions, thermostatic=[made.self_acting]
            )
    else:
        solution = made.net.solve(flags, positions=flow.positions, thermostatic=[made.self_acting])
    solution = flow.without_lift(solution, flags)
    link = made.net.link(fixture)
    good = np.atleast_1d(solution.found)
    passed = np.atleast_1d(solution.flow[fixture])
    some = good & (passed > 1e-9)
    warm = np.where(some, np.atleast_1d(solution.temperature[link.start]), np.nan)
    return {
        f"flow {fixture}": np.where(good, passed, np.nan),
        f"pressure {fixture}": np.where(some, np.atleast_1d(solution.pressure[link.start]), np.nan),
        f"temperature {fixture}": warm,
    }


def _mixers_in_use(flow: Flow, fixture: str) -> list[int]:
    """Mixing valves and taps that lead to a fixture; those of other fixtures stand shut."""
    from ..build.trace import served

    names = flow.made.mixers
    fixtures = set(flow.fixtures)
    return [
        i
        for i, name in enumerate(names)
        if name == fixture or (name not in fixtures and fixture in served(flow.build, name))
    ]
