"""All vans of a shop on one page: where joints wept, what can be told from it, what changed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ..shop.record.alike import Chance
from ..shop.record.fleet import (
    ALIKE,
    BETWEEN,
    FEW,
    LEAST_VANS,
    LESS,
    LUCK,
    MORE,
    TABLES,
    WITHIN,
    Fleet,
    Group,
    Since,
)
from ..words.report import RIGHT, Answer, Caution, Chapter, Getter, Grid, grid
from ..words.show import capital, counted, show

TITLES = {
    "kind": "By kind and size",
    "tool": "By tool",
    "person": "By who made them",
    "batch": "By batch",
}
FAIR = (
    "Initials say who closed a joint, not why it wept: tube, rings, tool, cold and hurry come with "
    "the job, and the awkward joints go to those who can make them. What would be expected allows "
    "for the kinds of joint and for nothing else. This is no measure of anybody's work: ask first "
    "what the joints that wept had in common."
)
NOTES = {
    "kind": "Kinds are set beside one another as they are: some are harder to make.",
    "tool": "A tool is also whoever uses it, and what it is used for.",
    "person": FAIR,
    "batch": "A batch is also the vans that it went into; the last column names them.",
}
_BESIDE = {
    (MORE, WITHIN): "more often than the others of its vans",
    (MORE, BETWEEN): "more often than other vans",
    (LESS, WITHIN): "less often than the others of its vans",
    (LESS, BETWEEN): "less often than other vans",
    (ALIKE, WITHIN): "as often, within twice and half",
    (ALIKE, BETWEEN): "as often, within twice and half",
}


def fleet_chapter(fleet: Fleet, changes: Sequence[Since] | None = None, last: str = "") -> Chapter:
    """The page of a shop's records.  ``changes`` since the page of the day ``last``, if any."""
    grids = [_changes(changes, last)] if changes is not None else []
    grids += [_groups(key, groups) for key, groups in fleet.tables.items() if _says(groups)]
    grids += [_vans(fleet), _returns(fleet)]
    return Chapter(
        "fleet",
        "All vans of the shop",
        basis=(
            "A joint counts once for each time that it was made and put to the test; one that wept "
            "later counts with the test that it had passed.",
            "Joints of one van are alike: they share days, hands and boxes. Each van has a chance "
            "of its own, spread about that of all (a beta-binomial, Skellam 1948); beliefs begin "
            "at Jeffreys' Beta(1/2, 1/2), and at Beta(1, 9) for how alike joints of a van are, "
            "which is this kit's assumption. Limits are those of 95 % of the belief.",
            "A group is set beside the other joints of the same vans and kinds where at least half "
            "of it has such (exact conditional test of Cochran, Mantel and Haenszel, mid-p), else "
            f"beside other vans; with fewer than {LEAST_VANS} vans, beside nothing.",
            f"{counted(fleet.compared, 'group')} set beside others: each is held to "
            f"{LUCK:g} divided by their number (Bonferroni), since among many one stands out by "
            f'luck alone. "{capital(FEW)}" is what is left, and no sign that all is '
            "well.",
        ),
        answers=_answers(fleet),
        grids=tuple(g for g in grids if g.rows),
        cautions=(
            Caution(
                "NOTICE",
                "What stands out is a reason to look, not a cause: nobody drew lots for who made "
                "which joint, with what, in which van.",
            ),
        ),
        not_computed=(
            *(f"{name} is left out: {why}." for name, why in fleet.left_out.items()),
            *(
                f"By {key}: of no joint that was put to the test."
                for key, groups in fleet.tables.items()
                if not _says(groups)
            ),
            *(("By who made them: left out as asked.",) if "person" not in fleet.tables else ()),
            "What wept at the customer and was never told.",
        ),
    )


def _says(groups: Sequence[Group]) -> bool:
    return any(g.name != "not said" for g in groups)


def _answers(fleet: Fleet) -> tuple[Answer, ...]:
    back = sum(bool(v.contents.of("came back")) for v in fleet.vans)
    found = [
        Answer("vans", float(len(fleet.vans)), "count",
               note=f"{counted(len(fleet.left_out), 'record')} left out" if fleet.left_out else ""),
        Answer("of them came back", float(back), "count"),
        Answer("joints put to the test", float(fleet.joints), "count"),
        Answer("of them wept", float(fleet.wept), "count"),
    ]  # fmt: skip
    if fleet.whole is not None:
        low, high = fleet.alike.limits
        found += [
            Answer("a joint weeps at its test", show(fleet.whole.mean, "share"),
                   note=limits_told(fleet.whole)),
            Answer("joints of one van are alike by", f"{fleet.alike.mean:.2f}",
                   note=f"{low:.2f} to {high:.2f}; 0 is luck alone, 1 all or none"),
        ]  # fmt: skip
    stand_out = [
        f"{TABLES[key][0].lower()} {g.name}"
        for key, groups in fleet.tables.items()
        for g in groups
        if g.verdict == MORE
    ]
    found.append(Answer("wept more often than the rest", ", ".join(stand_out) or "none that shows"))
    return tuple(found)


def limits_told(one: Chance) -> str:
    """The limits of a chance as a reader takes them: only a top where nothing wept."""
    low, high = one.limits
    return (
        f"{show(low, 'share')} to {show(high, 'share')}"
        if one.wept
        else (f"at most {show(high, 'share')}")
    )


def _groups(key: str, groups: Sequence[Group]) -> Grid:
    columns: dict[str, Getter | tuple[Getter, str]] = {
        TABLES[key][0]: "name",
        "Vans": (lambda g: str(len(g.vans)), RIGHT),
        "Tested": (lambda g: str(g.joints), RIGHT),
        "Wept": (lambda g: str(g.wept), RIGHT),
    }
    if key != "kind":
        columns["Expected by kind"] = (lambda g: f"{g.expected:.1f}", RIGHT)
    columns |= {
        "Chance to weep": (lambda g: limits_told(g.chance), RIGHT),
        "It weeps": lambda g: _BESIDE.get((g.verdict, g.how), FEW) if g.name != "not said" else "",
    }
    if key == "batch":
        columns["In"] = lambda g: ", ".join(g.vans[:6]) + (" …" if len(g.vans) > 6 else "")
    return grid(TITLES[key], groups, columns, key=f"fleet-{key}", note=NOTES[key])


def _vans(fleet: Fleet) -> Grid:
    columns: dict[str, Getter | tuple[Getter, str]] = {
        "Record": "name",
        "Stands": "state",
        "Tested": (lambda v: str(len(v.trials)), RIGHT),
        "Wept": (lambda v: str(sum(bool(t.wept) for t in v.trials)), RIGHT),
        "Not proven tight": (lambda v: str(v.waiting) if v.waiting else "", RIGHT),
        "Last entry": lambda v: f"{v.contents.events[-1].number}, {v.contents.mark[-8:]}",
    }
    return grid("Vans", fleet.vans, columns, key="fleet-vans")


def _returns(fleet: Fleet) -> Grid:
    rows = [
        (v.name, e.time[:10], e.get("why")) for v in fleet.vans for e in v.contents.of("came back")
    ]
    return grid("Vans that came back", rows, {"Record": 0, "On": 1, "Why": 2}, key="fleet-back")


def _changes(changes: Sequence[Since], last: str) -> Grid:
    rows: Sequence[Since] = changes or [Since("nothing", "all is as it was")]
    title = f"Since the last page, {last}" if last else "Since the last page"
    columns: Mapping[str, Getter] = {"What": "what", "Is new": "told"}
    return grid(title, rows, columns, key="fleet-changes")
