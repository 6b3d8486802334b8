"""What the job costs a customer: priced parts, hours at the shop's rate, margin and tax."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from ..formulas.money import price_of_work, price_with_margin, price_with_tax
from ..words.brief import brief
from ..words.work import Work, total
from .clock.clock import Plan, without_waiting

if TYPE_CHECKING:
    from ..lists.bill import Bill, Line
    from ..van.model import Build

JOINTS = "making the joints"
"""What the work on all joints together is called."""


@brief
@dataclass(frozen=True)
class Quote:
    """One van's quote.  ``parts`` is what the priced lines cost; ``unpriced`` names the rest.

    ``hours`` of work in s, told step by step in ``steps``.  ``work``, ``net``, ``tax`` and
    ``total`` are None where the build file says no rate.  ``works`` are the steps of the sums,
    ``mark`` is that of the build.
    """

    name: str
    currency: str
    parts: float
    groups: tuple[tuple[str, float, int], ...]
    unpriced: tuple[str, ...]
    hours: float
    steps: tuple[tuple[str, float], ...]
    work: float | None = None
    net: float | None = None
    tax: float | None = None
    total: float | None = None
    works: tuple[Work, ...] = ()
    mark: str = ""


def quote_of(build: Build, bill: Bill, plan: Plan) -> Quote:
    """The quote of a build: its bill, and the work of its clock without the waiting."""
    priced = [line for line in bill.lines if line.cost is not None]
    parts = sum(line.cost or 0.0 for line in priced)
    hours = without_waiting(plan).total_seconds()
    plain = Quote(
        build.van.name, bill.currency, parts, tuple(_groups(priced)), bill.unpriced, hours,
        tuple(_steps(plan)), mark=build.mark,
    )  # fmt: skip
    shop = build.shop
    if shop.rate is None:
        return plain
    work = price_of_work.work(price_hour=shop.rate, number_hours=hours / 3600)
    both = total("price", [("parts", parts), ("work", work.value)])
    net = price_with_margin.work(price_cost=both.value, share_margin=shop.margin)
    taxed = net.value if shop.tax_on_work else price_with_margin.si(parts, shop.margin)
    whole = price_with_tax.work(price_net=net.value, price_taxed=float(taxed), share_tax=shop.tax)
    return replace(
        plain, work=work.value, net=net.value, tax=whole.value - net.value, total=whole.value,
        works=(work, both, net, whole),
    )  # fmt: skip


def _groups(lines: Iterable[Line]) -> Iterable[tuple[str, float, int]]:
    """Devices one by one, the rest by kind: what it is, its cost, how many lines."""
    found: dict[str, tuple[float, int]] = {}
    for line in lines:
        name = line.name if line.kind == "device" else _plural(line.kind)
        cost, many = found.get(name, (0.0, 0))
        found[name] = (cost + (line.cost or 0.0), many + 1)
    return [(name, cost, many) for name, (cost, many) in found.items()]


def _plural(kind: str) -> str:
    if kind in ("tube", "insulation"):
        return kind
    if kind in ("ring", "liner", "clip", "screw", "compound"):
        return "rings, clips, screws and compound"
    return "valves" if "valve" in kind else "fittings"


def _steps(plan: Plan) -> Iterable[tuple[str, float]]:
    """Work by step, s; all joints together."""
    found: dict[str, float] = {}
    for task in plan.tasks:
        name = JOINTS if task.joint is not None else task.name
        found[name] = found.get(name, 0.0) + (task.end - task.start).total_seconds()
    return found.items()
