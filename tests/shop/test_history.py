"""What records say of joints, over one van and over many; readings as they are typed."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from vanplumb.shop.record.history import as_left, left_over, states, tallies, trials
from vanplumb.shop.record.record import Record
from vanplumb.shop.test.leak import ReadingsError, read_readings


def fixed() -> str:
    return "2025-03-07 16:00:00+01:00"


def van(folder: Path, name: str, joints: int, weeping: tuple[int, ...] = ()) -> Record:
    record = Record(folder / f"{name}.log", clock=fixed)
    record.append("van started", van=name)
    for i in range(joints):
        record.append("joint made", joint=f"R1-{i}", kind="expansion", size="PEX 1/2 in")
    for i in weeping:
        record.append("joint wept", joint=f"R1-{i}")
        record.append("joint repaired", joint=f"R1-{i}", how="cut out, new ring")
    record.append("system tested", medium="water", pressure="100 psi", result="tight")
    return record


def test_a_joint_goes_from_made_to_tight(tmp_path: Path) -> None:
    record = van(tmp_path, "one", 3, weeping=(1,))
    found = states(record.read())
    assert [s.state for s in found.values()] == ["tight"] * 3
    assert found["R1-1"].weeps == 1
    tried = Counter(t.joint for t in trials(record.read()) if t.done)
    assert tried == {"R1-0": 1, "R1-1": 2, "R1-2": 1}  # one wept, was made again and held
    assert left_over(record.read()) == ()


def test_what_is_not_tested_is_left_over(tmp_path: Path) -> None:
    record = Record(tmp_path / "v.log", clock=fixed)
    record.append("joint made", joint="A", kind="expansion", size="PEX 1/2 in")
    record.append("joint made", joint="B", kind="expansion", size="PEX 1/2 in")
    record.append("joint tested", joint="A")
    assert [s.joint for s in left_over(record.read())] == ["B"]
    record.append("joint wept", joint="A")
    assert {s.joint: s.state for s in left_over(record.read())} == {"A": "wept", "B": "made"}


def test_tallies_over_many_vans(tmp_path: Path) -> None:
    vans = [van(tmp_path, f"v{i}", 30, weeping=(4,) if i in (1, 6) else ()) for i in range(8)]
    found = tallies(v.read() for v in vans)["expansion, PEX 1/2 in"]
    assert (found.joints, found.weeps) == (242, 2)  # 240 made once, two of them made twice
    assert found.exact.low < 2 / 242 < found.exact.high


def test_a_weep_after_the_test_is_of_the_same_trial(tmp_path: Path) -> None:
    record = van(tmp_path, "one", 2)
    record.append("came back", why="wet floor")
    record.append("joint wept", joint="R1-0")
    found = tallies([record.read()])["expansion, PEX 1/2 in"]
    assert (found.joints, found.weeps) == (2, 1)


def test_as_left_tells_the_owner(tmp_path: Path) -> None:
    record = van(tmp_path, "one", 2, weeping=(0,))
    record.append("valve set", valve="mixer", temperature="101 °F")
    record.append("valve set", valve="mixer", temperature="100 °F")
    record.append("handed over", to="B. Owner", by="A. Builder")
    found = as_left(record.read())
    assert found["pressure test"].startswith("water, 100 psi: tight")
    assert found["mixer"].startswith("100 °F")
    assert found["handed over to"].startswith("B. Owner, by A. Builder")
    assert found["joints that were made again"] == "R1-0"


def test_readings_as_they_are_typed() -> None:
    found = read_readings(
        "0 min, 100 psi, 65 °F\n\n10 min; 97.5 psi\n20 min, 6.7 bar, 18 °C # fell\n"
    )
    assert [r.time for r in found] == [0, 600, 1200]
    assert found[1].temperature == found[0].temperature
    assert found[2].pressure == pytest.approx(6.7e5)


def test_bad_readings_are_told_all_at_once() -> None:
    with pytest.raises(ReadingsError) as caught:
        read_readings("0 min, 100 psi\n5 min, 90 kg, 60 °F\nsoon\n")
    told = str(caught.value)
    assert "line 1: the first reading needs a temperature" in told
    assert "line 2: needs a pressure" in told
    assert "line 3: write time, pressure, temperature" in told
