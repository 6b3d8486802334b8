"""Weeps over many vans: against closed forms, sampling, simulated shops with a known truth."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import beta, betabinom, fisher_exact, nchypergeom_fisher

from vanplumb.chapters.fleet import fleet_chapter
from vanplumb.cli import FINE, PROBLEM, main
from vanplumb.shop.record.alike import OfVan, chance, likeness
from vanplumb.shop.record.beside import Stratum, beside
from vanplumb.shop.record.events import Event
from vanplumb.shop.record.fleet import (
    BETWEEN,
    FEW,
    LESS,
    MORE,
    WITHIN,
    Fleet,
    VanRecord,
    fleet_of,
    read_fleet,
    since,
)
from vanplumb.shop.record.record import Contents, Record
from vanplumb.shop.record.reliability import clopper_pearson


def test_one_joint_a_van_knows_no_likeness() -> None:
    """Then the chance is Jeffreys' Beta(w + 1/2, n - w + 1/2), in closed form."""
    vans = [OfVan(1, 1)] * 3 + [OfVan(1, 0)] * 77
    found = chance(vans, likeness(vans))
    assert found.mean == pytest.approx(3.5 / 81, rel=0.005)
    assert found.limits == pytest.approx(beta.ppf([0.025, 0.975], 3.5, 77.5), rel=0.02)
    assert likeness(vans).mean == pytest.approx(0.1, rel=1e-3)  # as believed before


def test_beliefs_agree_with_weighted_draws() -> None:
    """Draws of both beliefs, weighted by scipy's beta-binomial of what each van showed."""
    vans = [OfVan(30, 1), OfVan(25, 0), OfVan(40, 2)]
    alike = likeness(vans)
    found = chance(vans, alike)
    rng = np.random.default_rng(1)
    mean, rho = rng.beta(0.5, 0.5, 300_000), rng.beta(1, 9, 300_000)
    weight = np.ones_like(mean)
    for van in vans:
        spread = (1 - rho) / rho
        weight *= betabinom.pmf(van.wept, van.joints, mean * spread, (1 - mean) * spread)
    weight /= weight.sum()
    order = np.argsort(mean)
    low, high = mean[order][np.searchsorted(np.cumsum(weight[order]), [0.025, 0.975])]
    assert found.mean == pytest.approx(weight @ mean, rel=0.03)
    assert found.limits == pytest.approx((low, high), rel=0.06)
    assert alike.mean == pytest.approx(weight @ rho, rel=0.03)


def test_limits_hold_the_truth_where_joints_of_a_van_are_alike() -> None:
    """150 shops of 12 vans, 40 joints each: limits that know no vans hold it far too seldom."""
    rng, truth, rho = np.random.default_rng(4), 0.02, 0.1
    held = plain = 0
    for _ in range(150):
        each = rng.beta(truth * (1 - rho) / rho, (1 - truth) * (1 - rho) / rho, 12)
        vans = [OfVan(40, int(w)) for w in rng.binomial(40, each)]
        low, high = chance(vans, likeness(vans)).limits
        held += low <= truth <= high
        naive = clopper_pearson(sum(v.wept for v in vans), 480)
        plain += naive.low <= truth <= naive.high
    assert held >= 0.92 * 150
    assert plain < 0.8 * 150


def test_limits_agree_with_vans_drawn_again() -> None:
    """With many vans the limits are those of a bootstrap that draws whole vans."""
    rng, truth, rho = np.random.default_rng(8), 0.05, 0.1
    each = rng.beta(truth * (1 - rho) / rho, (1 - truth) * (1 - rho) / rho, 120)
    wept = rng.binomial(30, each)
    vans = [OfVan(30, int(w)) for w in wept]
    again = wept[rng.integers(0, 120, (4000, 120))].mean(axis=1) / 30
    low, high = chance(vans, likeness(vans)).limits
    assert (low, high) == pytest.approx(np.quantile(again, [0.025, 0.975]), rel=0.15)


def test_one_stratum_is_fishers_exact_test() -> None:
    found = beside([("van", Stratum(20, 5, 30, 1))])
    table = [[5, 15], [1, 29]]
    upper = fisher_exact(table, alternative="greater").pvalue
    at = nchypergeom_fisher.pmf(5, 50, 6, 20, 1.0)
    assert 1 - found.times(1.0) == pytest.approx(upper - at / 2, rel=1e-9)
    for more in (0.5, 2.0, 7.0):
        tail = nchypergeom_fisher.sf(5, 50, 6, 20, more)
        tail += nchypergeom_fisher.pmf(5, 50, 6, 20, more) / 2
        assert 1 - found.times(more) == pytest.approx(tail, rel=1e-6)


def test_several_strata_agree_with_shuffled_joints() -> None:
    strata = [Stratum(12, 2, 8, 0), Stratum(5, 1, 15, 1), Stratum(9, 0, 9, 2), Stratum(4, 0, 6, 0)]
    found = beside([(f"van {n}", s) for n, s in enumerate(strata)])
    rng, seen = np.random.default_rng(2), np.zeros(40_000)
    for s in strata:
        weeps = s.wept + s.other_wept
        seen += rng.hypergeometric(s.joints, s.other_joints, weeps, seen.size) if weeps else 0
    told = (seen < 3).mean() + (seen == 3).mean() / 2
    assert found.times(1.0) == pytest.approx(told, abs=4 * 0.5 / np.sqrt(seen.size))
    assert (found.vans, found.share) == (4, 1.0)


def test_nothing_beside_it_tells_nothing() -> None:
    assert beside([("van", Stratum(20, 5, 0, 0))]).times(1.0) == 0.5
    assert beside([("van", Stratum(20, 0, 20, 0))]).times(3.0) == 0.5


Made = Callable[[int], dict[str, str]]


def van(name: str, joints: int, made: Made, weeps: Callable[[int], bool]) -> VanRecord:
    """A record of made joints, some of which wept, then a test that found the rest tight."""
    said: list[tuple[str, dict[str, str]]] = [("van started", {"van": name})]
    for n in range(joints):
        kind = {"kind": "expansion", "size": "PEX 1/2 in", **made(n)}
        said.append(("joint made", {"joint": f"J{n}", **kind}))
        if weeps(n):
            said.append(("joint wept", {"joint": f"J{n}"}))
    said.append(("system tested", {"medium": "water", "pressure": "60 psi", "result": "tight"}))
    events = tuple(
        Event(n, "2025-03-07 16:00:00+01:00", kind, details, f"{name} {n}")
        for n, (kind, details) in enumerate(said, 1)
    )
    return VanRecord(f"{name}.log", Contents(events))


def shop(
    rng: np.random.Generator, vans: int, worse: Callable[[int, dict[str, str]], float]
) -> Fleet:
    """Vans of 24 joints that weep by 2 % and van by van; ``worse`` times as often by plan."""
    found = []
    for number in range(vans):
        mine = rng.beta(0.02 * 9, 0.98 * 9)
        said = [
            {"by": f"P{rng.integers(3)}", "tool": f"T{rng.integers(2)}", "batch": f"B{number // 3}"}
            for _ in range(24)
        ]
        wept = [rng.random() < min(mine * worse(number, one), 1.0) for one in said]
        found.append(van(f"v{number}", 24, said.__getitem__, wept.__getitem__))
    return fleet_of(found)


def verdicts(fleet: Fleet) -> dict[str, str]:
    return {g.name: g.verdict for groups in fleet.tables.values() for g in groups}


def test_luck_alone_seldom_stands_out() -> None:
    """Twenty shops in which nothing is worse: in all but a few nobody and nothing is named."""
    rng = np.random.default_rng(6)
    named = [
        {MORE, LESS} & set(verdicts(shop(rng, 9, lambda number, one: 1.0)).values())
        for _ in range(20)
    ]
    assert sum(map(bool, named)) <= 3


def test_a_worn_tool_is_found_and_nobody_is_blamed_for_it() -> None:
    rng = np.random.default_rng(5)
    fleet = shop(rng, 30, lambda number, one: 8.0 if one["tool"] == "T1" else 1.0)
    (tool,) = [g for g in fleet.tables["tool"] if g.name == "T1"]
    assert (tool.verdict, tool.how) == (MORE, WITHIN)
    assert verdicts(fleet)["T0"] == LESS
    assert {g.verdict for g in fleet.tables["person"]} & {MORE, LESS} == set()


def test_a_bad_batch_is_set_beside_other_vans() -> None:
    rng = np.random.default_rng(7)
    fleet = shop(rng, 30, lambda number, one: 25.0 if one["batch"] == "B2" else 1.0)
    (batch,) = [g for g in fleet.tables["batch"] if g.name == "B2"]
    assert (batch.verdict, batch.how) == (MORE, BETWEEN)
    assert set(batch.vans) == {"v6.log", "v7.log", "v8.log"}


def test_who_makes_the_awkward_kind_is_not_blamed_for_it() -> None:
    """Threads weep ten times as often; one person makes most of them, no worse than others."""
    rng = np.random.default_rng(4)

    def one_van(number: int) -> VanRecord:
        def made(n: int) -> dict[str, str]:
            thread = n % 3 == 0
            who = "KO" if (n % 4 > 0) == thread else "ND"
            return {"kind": "thread", "size": "1/2 in", "by": who} if thread else {"by": who}

        wept = [rng.random() < (0.15 if n % 3 == 0 else 0.015) for n in range(48)]
        return van(f"v{number}", 48, made, wept.__getitem__)

    fleet = fleet_of([one_van(n) for n in range(20)])
    found = verdicts(fleet)
    assert found["thread, 1/2 in"] == MORE
    (ko,) = [g for g in fleet.tables["person"] if g.name == "KO"]
    rest = sum(g.wept for g in fleet.tables["person"]) - ko.wept
    assert ko.wept > 2 * rest * ko.joints / (fleet.joints - ko.joints)  # at first sight, twice
    assert ko.expected == pytest.approx(ko.wept, rel=0.35)
    assert (found["KO"], found["ND"]) in [(FEW, FEW), ("about as often", "about as often")]


def test_two_vans_tell_nothing() -> None:
    fleet = fleet_of([van(f"v{n}", 20, lambda n: {"by": f"P{n % 2}"}, lambda n: n % 2 == 0)
                      for n in range(2)])  # fmt: skip
    assert set(verdicts(fleet).values()) == {FEW}
    assert fleet.compared == 0


def written(folder: Path, name: str, weeps: bool = False) -> Record:
    record = Record(folder / f"{name}.log", clock=lambda: "2025-03-07 16:00:00+01:00")
    record.append("van started", van=name)
    for n, by in enumerate(["ND", "nd ", "KO"]):
        record.append("joint made", joint=f"R1-{n}", kind="expansion", size="PEX 1/2 in", by=by)
    if weeps:
        record.append("joint wept", joint="R1-1")
        record.append("joint repaired", joint="R1-1", how="cut back", by="KO")
    record.append("system tested", medium="water", pressure="100 psi", result="tight")
    return record


def test_records_are_read_once_and_only_whole(tmp_path: Path) -> None:
    for name in ("a", "b", "c"):
        written(tmp_path, name, weeps=name == "b")
    edited = written(tmp_path, "edited")
    edited.path.write_bytes(edited.path.read_bytes().replace(b"KO", b"OK"))
    for end in (".log", ".log.last"):
        copy = tmp_path / "old" / f"a{end}"
        copy.parent.mkdir(exist_ok=True)
        copy.write_bytes((tmp_path / f"a{end}").read_bytes())
    (tmp_path / "other.log").write_text("not a record\n")
    fleet = read_fleet(tmp_path)
    assert [v.name for v in fleet.vans] == ["a.log", "b.log", "c.log"]
    assert "begins as a.log does" in fleet.left_out["old/a.log"]
    assert "does not agree with its checksum" in fleet.left_out["edited.log"]
    assert (fleet.joints, fleet.wept) == (10, 1)
    people = {g.name: (g.joints, g.wept) for g in fleet.tables["person"]}
    assert people == {"ND": (6, 1), "KO": (4, 0)}
    assert "person" not in read_fleet(tmp_path, people=False).tables
    told = fleet_chapter(fleet).not_computed
    assert any("edited.log is left out" in one for one in told)


def test_the_next_page_tells_what_changed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    records, out = tmp_path / "records", tmp_path / "page"
    records.mkdir()
    first = written(records, "a")
    written(records, "b")
    say = ["fleet", str(records), "-o", str(out), "--date"]
    assert main([*say, "2025-04-01"]) == FINE
    assert "2 vans, 6 joints put to the test, 0 of them wept" in capsys.readouterr().out
    first.append("came back", why="wet floor")
    first.append("joint wept", joint="R1-0")
    written(records, "c")
    for file in list(records.glob("b.log*")):
        file.unlink()
    written(records, "b", weeps=True)
    assert main([*say, "2025-05-01"]) == FINE
    told = capsys.readouterr().out
    assert "- a.log: +0 joints tested, +1 wept" in told
    assert "- a.log: came back, 2025-03-07" in told
    assert "- c.log: new: 3 joints tested, 0 wept" in told
    assert "- b.log: the entry that the last page ended with is no longer in it" in told
    page = (out / "fleet.html").read_text(encoding="utf-8")
    assert read_fleet(records).mark in page and "2025-05-01" in page
    assert "Since the last page, 2025-04-01" in page and "no measure of anybody" in page
    (out / "fleet.json").write_text("{}")
    assert main([*say, "2025-06-01"]) == PROBLEM
    assert "can't be read: move it away" in capsys.readouterr().err


def test_what_a_page_leaves_is_plain_data(tmp_path: Path) -> None:
    written(tmp_path, "a")
    fleet = read_fleet(tmp_path)
    assert since(fleet, json.loads(json.dumps(fleet.state))) == ()
    with pytest.raises(ValueError, match="can't be read"):
        since(fleet, {"format": 2})


def test_no_folder_and_no_records(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["fleet", str(tmp_path / "none")]) == PROBLEM
    assert "is not a folder with records" in capsys.readouterr().err
    fleet = read_fleet(tmp_path)
    assert fleet.vans == () and fleet.whole is None
    assert fleet_chapter(fleet).answers[0].value == 0.0
