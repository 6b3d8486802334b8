"""How sure the joints of the next van are, from all that were made, on paper."""

from __future__ import annotations

from ..formulas.joints import chance_of_any, upper_chance_none
from ..shop.record.reliability import Sureness, clean_joints_for
from ..words.report import RIGHT, Answer, Chapter, Grid, grid
from ..words.show import show


def sureness_chapter(found: Sureness) -> Chapter:
    """Chances with their limits, and what one more clean van changes."""
    now, then = found.now, found.more.then
    answers = [
        Answer("chance of a weep in the next van", f"{now.expected * 100:.1f} %",
               note=f"{_share(now.low)} to {_share(now.high)}, {now.joints} joints"),
        Answer("after one more clean van", f"{then.expected * 100:.1f} %",
               note=f"{_share(then.low)} to {_share(then.high)}"),
        Answer("joints without a weep to show 1 in 100", float(clean_joints_for(0.01)), "count",
               note="at 95 %"),
    ]  # fmt: skip
    clean = [t for t in found.tallies.values() if not t.weeps]
    if clean:
        most = max(clean, key=lambda t: t.joints)
        work = upper_chance_none.work(confidence=0.95, count=float(most.joints))
        van = chance_of_any.work(chance=work.value, count=float(found.plan.get(most.kind, 0)))
        answers.append(
            Answer(f"{most.kind}: at most", work.value, "share", (work, van), note="at 95 %")
        )
    left_out: tuple[str, ...] = ()
    if now.unknown:
        left_out = ("kinds that were never tested: " + ", ".join(now.unknown),)
    return Chapter(
        "sureness",
        "How sure the joints are",
        basis=(
            "Limits are Clopper-Pearson at 95 %, one-sided where nothing wept; the "
            "other way to work it out is that of Jeffreys.",
            "Joints of one kind and size count as alike and as knowing nothing of each other.",
        ),
        answers=tuple(answers),
        grids=(_tallies(found),),
        not_computed=(*left_out, "bad days, bad batches and tired hands: they weep together"),
    )


def _tallies(found: Sureness) -> Grid:
    return grid(
        "Joints over all vans",
        found.tallies.items(),
        {
            "kind and size": 0,
            "tested": (lambda row: float(row[1].joints), "count"),
            "wept": (lambda row: float(row[1].weeps), "count"),
            "at least": (lambda row: _share(row[1].exact.low), RIGHT),
            "at most": (lambda row: _share(row[1].exact.high), RIGHT),
            "at most, Jeffreys": (lambda row: _share(row[1].bayes.high), RIGHT),
            "next van": (lambda row: float(found.plan.get(row[0], 0)), "count"),
        },
        key="sureness",
    )


def _share(value: float) -> str:
    return show(value, "share")
