"""The quote as a customer reads it, one van or several ways of building it side by side."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from ..shop.quote import Quote
from ..words.report import RIGHT, Answer, Caution, Chapter, Getter, Grid, grid
from ..words.show import first_of, show

if TYPE_CHECKING:
    from ..van.model import Build


NO_RATE = "the build file says no rate under [shop]"


def money(amount: float | None, currency: str) -> str:
    """An amount as it is paid: two places and the currency."""
    return "not said" if amount is None else f"{amount:,.2f} {currency}".strip()


def quote_chapter(build: Build, quotes: Sequence[Quote]) -> Chapter:
    """The quote of the first, with the others beside it as options.

    ``build`` is that of the first: its rate, margin and tax are printed.  ValueError without
    a quote.
    """
    if not quotes:
        raise ValueError("quote_chapter(): needs at least one quote")
    first, shop = quotes[0], build.shop
    grids = [_parts(first), _work(first)]
    if len(quotes) > 1:
        grids.insert(0, options_grid(quotes))
    gaps = [
        f"Lines of {_name(one, quotes)} without a price, not in its sum ({len(one.unpriced)}): "
        f"{first_of(one.unpriced, 12, '; ')}."
        for one in quotes
        if one.unpriced
    ]
    if first.total is None:
        gaps.append(f"Price of the work: {NO_RATE}.")
    tax = "on parts and work" if shop.tax_on_work else "on parts alone"
    return Chapter(
        "quote",
        "Quote",
        basis=(
            "Parts by the bill of the whole van, with spares; work by the times of its steps, "
            "waiting not counted.",
        ),
        inputs=(
            Answer("Rate of an hour", money(shop.rate, first.currency),
                   basis="given" if shop.rate is not None else "",
                   note=NO_RATE if shop.rate is None else ""),
            Answer("Margin on parts and work", shop.margin, "share",
                   basis="given" if "shop.margin" in build.given else "default"),
            Answer(f"Tax, {tax}", shop.tax, "share",
                   basis="given" if "shop.tax" in build.given else "default"),
        ),
        answers=_answers(first),
        grids=tuple(grid for grid in grids if grid.rows),
        cautions=(
            Caution(
                "NOTICE",
                "Prices and rate are those of the build file on the day that it was saved. Work "
                "on fuel, mains electricity and the vehicle is not in it.",
            ),
        ),
        not_computed=tuple(gaps),
    )  # fmt: skip


def _answers(one: Quote) -> tuple[Answer, ...]:
    shown = [Answer("Parts that have a price", money(one.parts, one.currency))]
    shown.append(Answer("Work", one.hours, "duration", note="without waiting"))
    if one.total is None or one.net is None or one.tax is None or one.work is None:
        return tuple(shown)
    work, both, net, whole = one.works
    partly = " of what is priced" if one.unpriced else ""
    shown += [
        Answer("Price of the work", one.work, "price", (work,),
               note=money(one.work, one.currency)),
        Answer(f"Net price{partly}", one.net, "price", (both, net),
               note=money(one.net, one.currency)),
        Answer(f"Total with tax{partly}", one.total, "price", (whole,),
               note=money(one.total, one.currency), key=True),
    ]  # fmt: skip
    return tuple(shown)


def _parts(one: Quote) -> Grid:
    return grid(
        "Parts",
        one.groups,
        {
            "What": 0,
            "Lines": (lambda row: str(row[2]), RIGHT),
            "Cost": (lambda row: money(row[1], one.currency), RIGHT),
        },
        key="quote-parts",
    )


def _work(one: Quote) -> Grid:
    columns: dict[str, Getter | tuple[Getter, str]] = {
        "Step": 0,
        "Takes": (lambda row: show(row[1], "duration"), RIGHT),
    }
    return grid("Work", one.steps, columns, key="quote-work")


def options_grid(quotes: Sequence[Quote]) -> Grid:
    """Ways of building a van side by side, one a column."""
    lines = (
        ("build mark", [q.mark for q in quotes]),
        ("parts that have a price", [money(q.parts, q.currency) for q in quotes]),
        ("lines without a price", [str(len(q.unpriced)) for q in quotes]),
        ("work", [show(q.hours, "duration") for q in quotes]),
        ("net price", [money(q.net, q.currency) for q in quotes]),
        ("tax", [money(q.tax, q.currency) for q in quotes]),
        ("total with tax", [money(q.total, q.currency) for q in quotes]),
    )
    columns: dict[str, Getter | tuple[Getter, str]] = {"": 0}
    columns |= {_name(q, quotes): (place, RIGHT) for place, q in enumerate(quotes, 1)}
    rows = [(name, *cells) for name, cells in lines]
    return grid("Options side by side", rows, columns, key="quote-options")


def _name(one: Quote, quotes: Sequence[Quote]) -> str:
    alike = [q for q in quotes if q.name == one.name]
    number = next(n for n, q in enumerate(quotes, 1) if q is one)
    return f"{one.name}, option {number}" if len(alike) > 1 else one.name
