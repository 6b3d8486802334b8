"""The commissioning form: bands against other sums, and lines for what the van has."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from fluids.fittings import Kv_to_K
from fluids.friction import friction_factor
from scipy.optimize import brentq

from tests.small_van import SMALL_VAN
from vanplumb.chapters.commissioning import commissioning_form
from vanplumb.cli import FINE, PROBLEM, main
from vanplumb.flow.engine import Flow
from vanplumb.pack import Pack, example
from vanplumb.shop import Shop
from vanplumb.shop.commissioning import ALONE, Check
from vanplumb.shop.record.history import outside, taken
from vanplumb.shop.record.record import Record
from vanplumb.shop.record.signing import commission, countersign, not_countersigned
from vanplumb.van import load, loads

PSI = 6894.757293168
GPM = 3.785411784e-3 / 60
SISKIN = SMALL_VAN.replace('units = "US"', 'units = "US"\ncold_water = "60 °F"').replace(
    'kind = "cold tap"', 'kind = "cold tap"\nflow = "2.4 gpm"\nflow_pressure = "20 psi"'
)


def off_board(name: str) -> Pack:
    """An example whose shop looks for no board, which takes longest and changes no band."""
    pack = Pack(example(name))
    pack.__dict__["shop"] = Shop(pack.build)
    return pack


@pytest.fixture(scope="module")
def dipper() -> Pack:
    return off_board("dipper")


@pytest.fixture(scope="module")
def siskin() -> Pack:
    return Pack(loads(SISKIN))


def line(pack: Pack, name: str) -> Check:
    return pack.shop.commissioning.check(name)


def test_bands_of_set_pressures_are_those_of_the_table(dipper: Pack) -> None:
    """data/commissioning.csv, common practice: 10 % or 0.2 bar; 5 % or 0.1 bar."""
    for name, value, half in (
        ("pump, cut-in", 37.0, 3.7),
        ("pump, cut-out", 50.0, 5.0),
        ("accumulator, precharge", 35.0, 1.75),
        ("regulator, pressure behind it", 45.0, 4.5),
    ):
        found = line(dipper, name)
        assert found.low == pytest.approx((value - half) * PSI)
        assert found.high == pytest.approx((value + half) * PSI)
    low = loads(SISKIN.replace('"12 V 2.8 gpm 40 psi"', '"12 V 2.8 gpm 40 psi"\ncut_in = "1 bar"'))
    found = line(Pack(low), "pump, cut-in")
    assert (found.low, found.high) == (pytest.approx(0.8e5), pytest.approx(1.2e5))


def test_the_middle_of_a_flow_is_that_of_a_sum_by_another_library(siskin: Pack) -> None:
    """Pump curve of its table between the points, Colebrook of ``fluids``, tap by its square law.

    8 ft of 0.485 in tube, level, at 60 °F: 999.0 kg/m³ and 1.121 mPa s (IAPWS).
    """
    flow = np.array([0.0, 1.75, 2.05, 2.3, 2.55, 2.8]) * GPM
    pressure = np.array([58.0, 40.0, 30.0, 20.0, 10.0, 0.0]) * PSI
    bore, length, kv = 0.485 * 0.0254, 8 * 0.3048, 2.4 * GPM / np.sqrt(20 * PSI / 1e5)

    def left(q: float) -> float:
        speed = q / (np.pi / 4 * bore**2)
        reynolds = 999.0 * speed * bore / 1.121e-3
        tube = friction_factor(reynolds, eD=1.5e-6 / bore) * length / bore
        loss = (tube + Kv_to_K(kv * 3600, bore)) * 999.0 * speed**2 / 2
        return float(np.interp(q, flow, pressure) - loss)

    expected = brentq(left, 0.5 * GPM, 2.7 * GPM)
    found = line(siskin, "tap, flow")
    assert found.expected == pytest.approx(expected, rel=0.02)  # fittings at the ends are left out


def test_a_band_holds_the_readings_of_sound_vans(siskin: Pack) -> None:
    """Drawn vans, each read with its instrument: 99 in 100 lie inside, by chance alone."""
    van = siskin.shop.measured
    found = line(siskin, "tap, flow")
    assert found.low is not None and found.high is not None
    rng = np.random.default_rng(5)
    draws = {u.name: rng.normal(u.usual, u.spread, 4000) for u in van.unknowns}
    flows = van.model(draws)["tap, flow"]
    # data/instruments.csv: 3 % and 0.02 L/min, added as squares
    sigma = np.hypot(0.03 * flows, 0.02e-3 / 60)
    read = flows + sigma * rng.standard_normal(len(flows))
    inside = np.mean((read >= found.low) & (read <= found.high))
    assert 0.98 <= inside <= 0.998


def test_the_worst_pair_is_the_one_that_the_sheet_names(dipper: Pack) -> None:
    for pack in (dipper, off_board("heron")):
        jump = min(pack.flow.jumps, key=lambda j: j.share)
        assert pack.shop.commissioning.worst_pair == (jump.fixture, jump.other)
        name = f"{jump.fixture} with {jump.other}"
        assert line(pack, f"{name}, flow").expected == pytest.approx(jump.flow, rel=2e-3)
        assert line(pack, f"{name}, temperature").expected == pytest.approx(jump.warm, abs=0.1)


def test_outlets_alone_give_what_the_flow_engine_gives(dipper: Pack) -> None:
    flow = dipper.flow
    for fixture in ("drinking tap", "basin", "hose reel"):
        alone = flow.solve([fixture]).fixtures[fixture]
        assert line(dipper, f"{fixture}, flow").expected == pytest.approx(alone.flow, rel=2e-3)


def test_a_band_never_goes_beyond_the_limit(dipper: Pack) -> None:
    """The basin's limit is 100 °F: for those that burn easily, American Burn Association."""
    for name in ("basin valve, as set", "basin, temperature"):
        found = line(dipper, name)
        assert found.high == pytest.approx((100 + 459.67) * 5 / 9) and found.limit
    assert not line(dipper, "sink hot, temperature").limit


def test_chlorine_is_between_the_limits_of_the_way(dipper: Pack) -> None:
    """50 mg/L to begin with, 4 mg/L to drink (ANSI A119.2; EPA)."""
    assert line(dipper, "chlorine at the start").low == pytest.approx(0.050)
    assert line(dipper, "chlorine left").high == pytest.approx(0.004)


def test_ends_of_a_band_belong_to_it() -> None:
    check = Check("x", ALONE, "", "flow", 2.0, 1.0, 3.0)
    assert [check.verdict(v) for v in (0.99, 1.0, 3.0, 3.01)] == [
        "below", "within", "within", "above"
    ]  # fmt: skip
    assert replace(check, high=None).verdict(1e9) == "within"


def test_only_lines_for_what_the_van_has() -> None:
    from tests.random_vans.vans import make, text_of

    seen = 0
    for seed in range(0, 120, 12):
        try:
            build = loads(text_of(make(seed)))
            checks = Shop(build).commissioning.checks
        except ValueError:
            continue  # a van that the reader or an engine refuses with its reason
        seen += 1
        said = " ".join(f"{c.name} {c.how} {' '.join((*c.below, *c.above))}" for c in checks)
        named = {c.name for c in build.components}
        for check in checks:
            if ", " in check.name and check.group in ("pump", "accumulator", "mixing valves"):
                assert check.name.rpartition(", ")[0] in named
            if check.low is not None and check.high is not None:
                assert check.low <= check.high, check
        for kind, words in (
            ("heater", ("relief valve", "the heater", "heated")), ("shore_inlet", ("shore ",)),
            ("strainer", ("strainer",)), ("accumulator", ("precharge",)),
            ("pump", ("cut-in", "voltage", "pump off", "the pump")), ("mixing_valve", ("as set",)),
            ("zone", ("on the board",)),
        ):  # fmt: skip
            if not getattr(build, kind):
                for word in words:
                    assert not any(word in c.how + " ".join((*c.below, *c.above)) for c in checks
                                   if word not in c.name), (seed, word)  # fmt: skip
        assert said
    assert seen >= 6


@pytest.fixture
def record(tmp_path: Path) -> Record:
    return Record(tmp_path / "van.log")


def test_a_reading_outside_is_answered_for_value_by_value(dipper: Pack, record: Record) -> None:
    event, _ = commission(dipper.shop, record, "pump, cut-in", "30 psi", "ND")
    assert (event.get("verdict"), event.get("band")) == ("below", "33 to 41 psi")
    mark = dipper.build.mark
    (one,) = not_countersigned((), record.read(), mark)
    assert one.severity == "WARNING" and "30 psi" in one.what
    countersign(record, one, "the owner wants it low", "ND", mark)
    assert not_countersigned((), record.read(), mark) == []
    commission(dipper.shop, record, "1", "29 psi", "ND")  # another value: another answer
    assert len(not_countersigned((), record.read(), mark)) == 1
    commission(dipper.shop, record, "1", "38 psi", "ND")
    assert outside(record.read()) == []
    assert taken(record.read())["pump, cut-in"].value == "38 psi"


def test_above_a_limit_is_a_danger(dipper: Pack, record: Record) -> None:
    commission(dipper.shop, record, "basin, temperature", "104 °F", "ND")
    (one,) = outside(record.read())
    assert one.severity == "DANGER" and "the limit of" in one.what


def test_what_is_filled_in_is_on_the_paper(dipper: Pack, record: Record) -> None:
    commission(dipper.shop, record, "pump, cut-in", "30 psi", "ND")
    commission(dipper.shop, record, "relief valve of heater lifted", "done", "ND")
    paper = commissioning_form(dipper.shop, taken(record.read()))
    rows = {r[1]: r for g in paper.grids[:-1] for r in g.rows}
    assert rows["pump, cut-in"][4] == "30 psi: BELOW"
    assert rows["relief valve of heater lifted"][4] == "done"
    assert str(rows["pump, cut-in"][5]).startswith("ND, ")
    assert rows["pump, cut-out"][4] is None or rows["pump, cut-out"][4] == ""


@pytest.mark.parametrize(
    "words, why",
    [
        (("kettle, flow", "1 gpm", "--by", "ND"), "no reading 'kettle, flow'; there are pump"),
        (("1", "38", "--by", "ND"), "pump, cut-in"),
        (("1", "38 psi"), "say who read it"),
        (("tap, flow", "2 psi", "--by", "ND"), "tap, flow"),
        (("drained: tank", "yes", "--by", "ND"), 'write "done" or "failed"'),
        (("drained: tank", "failed", "--by", "ND"), "say why it failed"),
        (("1", "--by", "ND"), "say the value of 1"),
    ],
)
def test_what_is_no_answer_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...], why: str
) -> None:
    file = tmp_path / "siskin.toml"
    file.write_text(SISKIN, encoding="utf-8")
    assert main(["record", str(file), "commission", *words]) == PROBLEM
    told = capsys.readouterr().err
    assert why in told and "Traceback" not in told
    assert not file.with_suffix(".log").exists()


def test_what_was_measured_goes_into_a_build_file_of_its_own(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A tap whose passage is 12 % less: its readings come back out as a rated flow so much less."""
    file, out = tmp_path / "siskin.toml", tmp_path / "measured.toml"
    file.write_text(SISKIN, encoding="utf-8")
    pack = Pack(load(file))
    van = pack.shop.measured
    low = {n: float(v[0]) for n, v in van.model({"tap tap": np.array([0.94])}).items()}
    record = Record(file.with_suffix(".log"))
    commission(pack.shop, record, "pump, cut-in", "27 psi", "ND")
    for name, value in low.items():
        word = {"flow": f"{value * 60e3:.5f} L/min", "pump pressure": f"{value / 1e5:.5f} bar",
                "pump current": f"{value:.4f} A"}[name.rpartition(", ")[2]]  # fmt: skip
        commission(pack.shop, record, name, word, "ND")
    assert main(["record", str(file), "as-measured", str(out)]) == FINE
    capsys.readouterr()
    assert file.read_text(encoding="utf-8") == SISKIN
    made = load(out)
    assert made.pump[0].cut_in == pytest.approx(27 * PSI)
    given = made.fixture[0].flow
    assert given is not None and 0.93 * 2.4 * GPM < given < 0.985 * 2.4 * GPM
    before = Flow(pack.build).solve(["tap"]).fixtures["tap"].flow
    after = Flow(made).solve(["tap"]).fixtures["tap"].flow
    assert abs(after - low["tap, flow"]) < 0.6 * abs(before - low["tap, flow"])
    assert main(["record", str(file), "as-measured", str(out)]) == PROBLEM  # never over another
