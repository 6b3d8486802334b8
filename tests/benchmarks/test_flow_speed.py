"""One solve, ten thousand at once, and a click on the schematic, beside a general root finder."""

from __future__ import annotations

from collections.abc import Callable
from statistics import median

import numpy as np
import pytest

from tests.browser.lab import Notebook
from tests.flow.random_networks import Oracle
from vanplumb import example
from vanplumb.flow.engine import Flow, open_flags
from vanplumb.flow.mixing.check import valve_checks

from .bench import least, report_time

NAMES = ("dipper", "heron")
MANY = 10_000
SAMPLE = 100


def prepared(name: str) -> tuple[Flow, Callable[..., object]]:
    flow = Flow(example(name))
    flow.positions  # noqa: B018

    def solve(opens: list[tuple[str, ...]]) -> object:
        flags = open_flags(flow.made, opens, [flow.source] * len(opens))
        return flow.made.net.solve(
            flags, positions=flow.positions, thermostatic=[flow.made.self_acting]
        )

    return flow, solve


def oracle(flow: Flow) -> float:
    """Seconds that ``scipy.optimize.root`` takes for the same network, from 10 % off its answer."""
    from dataclasses import replace

    net = flow.made.net
    batch = flow.batch([flow.fixtures]).solution
    flags = open_flags(flow.made, [flow.fixtures], [flow.source])
    links = [replace(k, open=bool(np.all(flags.get(k.name, k.open)))) for k in net.links]
    reached = [k for k in links if k.open and np.isfinite(batch.pressure[k.start])]
    plain = replace(net, links=tuple(reached))
    finder = Oracle(plain, batch.density, batch.viscosity, batch.positions[0])
    start = np.array(
        [batch.mass_flow[k.name] / 0.05 for k in finder.links]
        + [batch.pressure[n] / 1e5 for n in finder.nodes]
    )
    from scipy.optimize import root

    start = start * (1 + 0.1 * np.random.default_rng(1).standard_normal(len(start)))
    return least(lambda: root(finder.residual, start, method="hybr"), rounds=3)


@pytest.mark.parametrize("name", NAMES)
def test_one_solve(name: str) -> None:
    flow, solve = prepared(name)
    once = least(lambda: solve([flow.fixtures]), rounds=60)
    print(f"\n{name}, one solve against scipy.optimize.root: 1 to {oracle(flow) / once:.0f}")
    links = len(flow.made.net.links)
    budget = {"dipper": 0.04, "heron": 0.08}[name]
    report_time(f"{name}, one solve of {links} links", once, budget)


@pytest.mark.parametrize("name", NAMES)
def test_ten_thousand_at_once(name: str) -> None:
    flow, solve = prepared(name)
    rng = np.random.default_rng(1)
    opens = [tuple(f for f in flow.fixtures if rng.random() < 0.6) for _ in range(MANY)]
    solve(opens[:64])

    def one_by_one() -> None:
        for one in opens[:SAMPLE]:
            solve([one])

    ratios, batches = [], []
    for _ in range(4):
        batches.append(least(lambda: solve(opens), rounds=1))
        ratios.append(least(one_by_one, rounds=1) * MANY / SAMPLE / batches[-1])
    together, times = min(batches), median(ratios)
    print(
        f"\n{name}, {MANY} variants against one scipy.optimize.root: {together / oracle(flow):.1f}"
    )
    print(f"{name}, {MANY} at once: {times:.0f} times faster than one by one (budget 50)")
    assert times >= 50
    report_time(f"{name}, {MANY} variants in one batch", together, 30)


@pytest.mark.parametrize("name", NAMES)
def test_the_search_of_a_valves_extremes(name: str) -> None:
    """Every combination of the other fixtures, heaters and supplies: 0.3 s for each valve."""
    flow = Flow(example(name))
    assert flow.situations
    valves = len(flow.build.mixing_valve)
    spent = least(lambda: valve_checks(flow), rounds=3) / valves
    report_time(f"{name}, the extremes of each of {valves} valves", spent, 3)


WATCH = """() => { window.changed = new Promise((done, failed) => {
  let start = 0;
  document.addEventListener('click', e => { start = e.timeStamp }, {capture: true, once: true});
  const seen = new MutationObserver(() => {
    seen.disconnect();
    requestAnimationFrame(() => done(performance.now() - start));
  });
  const picture = document.querySelector('.vanplumb .vp-living svg');
  seen.observe(picture, {childList: true, subtree: true, characterData: true});
  setTimeout(() => { seen.disconnect(); failed(new Error('the drawing did not change')) }, 5000);
}) }"""


def test_click_to_schematic(run_notebook: Callable[..., Notebook]) -> None:
    notebook = run_notebook("10_whole_system.ipynb")
    notebook.page.wait_for_selector(".vp-living svg")
    notebook.settle()
    times = []
    for number in range(30):
        notebook.page.evaluate(WATCH)
        notebook.page.locator(".vp-tap").nth(number % 3).click()
        times.append(notebook.page.evaluate("() => window.changed"))
        notebook.settle()
    print(f"\nclick to changed schematic: {min(times):.0f} to {max(times):.0f} ms")
    report_time(f"click to changed schematic, median of {len(times)}", median(times) / 1000, 1.0)
