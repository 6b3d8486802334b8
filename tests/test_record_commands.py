"""A van's day at the bench, told to the terminal: what is noted, and what is refused and why."""

from __future__ import annotations

import hashlib
import subprocess
import sys
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from tests.small_van import SMALL_VAN
from vanplumb.cli import FINE, FOUND, PROBLEM, main
from vanplumb.pack import Pack
from vanplumb.record_commands import OPEN
from vanplumb.shop.record.record import Record
from vanplumb.van import load

NOW = datetime.now().astimezone().replace(microsecond=0)
"""The tests' readings are of the hours before it."""


@pytest.fixture
def van(tmp_path: Path) -> Path:
    file = tmp_path / "siskin.toml"
    file.write_text(SMALL_VAN, encoding="utf-8")
    return file


class Bench:
    """Says things to the command line and keeps what came back."""

    def __init__(self, file: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self.file, self._capsys = file, capsys

    def __call__(self, *words: str) -> tuple[int, str]:
        code = main(["record", str(self.file), *words])
        told = self._capsys.readouterr()
        return code, told.out + told.err

    @property
    def record(self) -> Record:
        return Record(self.file.with_suffix(".log"))

    def gauge(self, step: str = "0.5 psi") -> None:
        code, told = self("gauge", "G 5", "--range", "0 psi to 160 psi", "--step", step,
                          "--by", "ND")  # fmt: skip
        assert code == FINE, told

    def readings(self, pressures: list[str], minutes: list[float], end: float = 5.0) -> None:
        """Readings that end ``end`` minutes ago."""
        for pressure, minute in zip(pressures, minutes, strict=True):
            at = NOW - timedelta(minutes=end + minutes[-1] - minute)
            code, told = self("read", pressure, "66 °F", "--gauge", "G 5",
                              "--at", at.isoformat(sep=" "), "--by", "ND")  # fmt: skip
            assert code == FINE, told


@pytest.fixture
def bench(van: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Bench:
    """Joints are noted the day before they are tested."""
    yesterday = (NOW - timedelta(days=1)).isoformat(sep=" ")
    monkeypatch.setattr(Record.__init__, "__defaults__", (lambda: yesterday,))
    return Bench(van, capsys)


def stages(van: Path) -> tuple[float, float]:
    """Pressure in psi and minutes of the van's own test."""
    plan = Pack(load(van)).shop.test
    return plan.pressure / 6894.757, plan.duration / 60


def test_a_whole_day_ends_in_a_signed_van(bench: Bench, van: Path) -> None:
    pressure, minutes = stages(van)
    assert bench("made", "*", "--by", "ND")[0] == FINE
    bench.gauge()
    steady = [f"{pressure + 1:.1f} psi"] * 4
    bench.readings(steady, [0.0, minutes / 3, 2 * minutes / 3, minutes])
    code, told = bench("test", "--by", "ND")
    assert code == FINE and "passed" in told
    bench("dosed", "50 mg/L", "4 h", "--with", "bleach", "--by", "ND")
    bench("flushed", "0.4 mg/L", "--by", "ND")
    pack = Pack(load(van))
    for finding in pack.findings:
        if finding.severity in ("DANGER", "WARNING"):
            code, told = bench("countersign", finding.rule, "--where", finding.where, "--reason",
                               "shown to the owner", "--by", "ND")  # fmt: skip
            assert code == FINE, told
    code, told = bench("open")
    assert code == FINE, told
    assert f"Nothing is open. The sheet's mark is {pack.build.mark}." in told
    assert "not filled in on the commissioning form: 6 lines" in told
    code, told = bench("hand-over", "--by", "ND", "--to", "the owner", "--sheet", pack.build.mark)
    assert code == FINE, told
    last = bench.record.read().events[-1]
    assert (last.kind, last.get("sheet")) == ("handed over", pack.build.mark)
    assert last.get("record") == bench.record.read().events[-2].mark
    assert bench("back", "--why", "tap drips", "--by", "ND")[0] == FINE
    code, told = bench("show")
    assert code == FINE and "the chain is whole" in told


def test_nothing_read_nothing_signed(bench: Bench, van: Path) -> None:
    mark = load(van).mark
    code, told = bench("hand-over", "--by", "ND", "--to", "the owner", "--sheet", mark)
    assert code == PROBLEM
    assert "no pressure test has passed" in told and "not in the record" in told
    code, told = bench("test", "--by", "ND")
    assert (
        code == PROBLEM and "needs three readings at least; taken since the last change: 0" in told
    )
    assert not bench.record.path.exists()


def ready(bench: Bench, van: Path) -> tuple[str, ...]:
    """A van with nothing open but its disinfection; gives the words of its hand-over."""
    pressure, minutes = stages(van)
    bench("made", "*", "--by", "ND")
    bench.gauge()
    bench.readings([f"{pressure + 1:.1f} psi"] * 3, [0.0, minutes / 2, minutes])
    assert bench("test", "--by", "ND")[0] == FINE
    return ("hand-over", "--by", "ND", "--to", "the owner", "--sheet", load(van).mark)


def test_a_dose_must_be_strong_enough_after_all_work_and_rinsed(bench: Bench, van: Path) -> None:
    over = ready(bench, van)
    assert "it was not disinfected" in bench(*over)[1]
    assert bench("dosed", "0 mg/L", "4 h", "--by", "ND")[0] == PROBLEM
    bench("flushed", "0.4 mg/L", "--by", "ND")
    bench("dosed", "2 mg/L", "1 min", "--by", "ND")
    told = bench(*over)[1]
    assert "disinfected with 2 mg/L for 1 min; the rule asks for 50 mg/L for 4 h" in told
    assert "was not measured after it was disinfected" in told
    bench("dosed", "100 mg/L", "1 h", "--by", "ND")  # another way of the same standard
    bench("flushed", "0.4 mg/L", "--by", "ND")
    assert bench("open")[0] == FINE
    joint = bench.record.read().events[0].get("joint")
    bench("repaired", joint, "--how", "new ring", "--by", "ND")
    assert f"it was disinfected before {joint} was repaired" in bench("open")[1]


def test_a_van_goes_out_and_comes_back_in_turn(bench: Bench, van: Path) -> None:
    over, back = ready(bench, van), ("back", "--why", "a drip", "--by", "ND")
    bench("dosed", "50 mg/L", "4 h", "--by", "ND")
    bench("flushed", "0.4 mg/L", "--by", "ND")
    code, told = bench(*back)
    assert code == PROBLEM and "was not handed over, so it can't have come back" in told
    assert bench(*over)[0] == FINE
    code, told = bench(*over)
    assert code == PROBLEM and "handed over to the owner on" in told and "its return first" in told
    assert bench(*back)[0] == FINE
    code, told = bench(*over)
    assert code == PROBLEM and "(a drip) and nothing was noted since" in told
    assert bench("note", "the aerator was loose")[0] == FINE
    assert bench(*over)[0] == FINE


def test_a_clock_put_back_is_answered_for(
    bench: Bench, van: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    over = ready(bench, van)
    bench("dosed", "50 mg/L", "4 h", "--by", "ND")
    early = (NOW - timedelta(days=9)).isoformat(sep=" ")
    monkeypatch.setattr(Record.__init__, "__defaults__", (lambda: early,))
    bench("flushed", "0.4 mg/L", "--by", "ND")
    code, told = bench(*over)
    assert code == PROBLEM and "the clock was put back" in told
    sign = ("countersign", "clock_put_back", "--by", "ND", "--reason", "battery of the computer")
    assert bench(*sign)[0] == FINE
    assert bench(*over)[0] == FINE


def test_a_record_that_is_gone_is_missed_and_not_begun_anew(bench: Bench) -> None:
    bench("note", "a first word")
    bench.record.path.unlink()
    code, told = bench("show")
    assert code == OPEN and "siskin.log is gone or empty" in told and "tells of entry 1" in told
    code, told = bench("note", "all is well")
    assert code == PROBLEM and "put it back" in told


def test_nobody_gets_a_finer_gauge_in_the_middle_of_a_test(bench: Bench) -> None:
    bench.gauge("10 psi")
    bench.readings(["60 psi"], [0.0])
    finer = ("gauge", "G 5", "--range", "0 psi to 160 psi", "--by", "ND", "--step")
    code, told = bench(*finer, "0.5 psi")
    assert code == PROBLEM and "1 reading of this test with it: none changes in a test" in told
    assert bench(*finer, "10 psi")[0] == FINE


def test_an_old_sheet_is_not_signed(bench: Bench, van: Path) -> None:
    old = load(van).mark
    van.write_text(SMALL_VAN.replace('"6 ft"', '"7 ft"'), encoding="utf-8")
    code, told = bench("hand-over", "--by", "ND", "--to", "the owner", "--sheet", old)
    assert code == PROBLEM and f"the sheet signed has the mark {old}" in told


def test_readings_are_refused_that_nobody_can_have_taken(bench: Bench) -> None:
    at = NOW - timedelta(minutes=30)
    read = ("read", "60 psi", "66 °F", "--gauge", "G 5", "--by", "ND", "--at")
    assert "was not noted with its range" in bench(*read, str(at))[1]
    bench.gauge()
    assert bench(*read, str(at))[0] == FINE
    code, told = bench(*read, str(at - timedelta(minutes=5)))
    assert code == PROBLEM and "out of order" in told
    code, told = bench(*read, str(NOW + timedelta(hours=1)))
    assert code == PROBLEM and "is still to come" in told
    code, told = bench("read", "200 psi", "66 °F", "--gauge", "G 5", "--by", "ND")
    assert code == PROBLEM and "outside the range of gauge G 5" in told
    code, told = bench("read", "60", "66 °F", "--gauge", "G 5", "--by", "ND")
    assert code == PROBLEM and "pressure" in told
    assert len(bench.record.read().of("gauge read")) == 1


@pytest.mark.parametrize("note", [("made",), ("repaired", "--how", "cut back")])
def test_a_reading_from_before_its_joint_is_refused(
    bench: Bench, van: Path, note: tuple[str, ...]
) -> None:
    joint = Pack(load(van)).shop.joints[0].name
    bench.gauge()
    read = ("read", "60 psi", "66 °F", "--gauge", "G 5", "--by", "ND", "--at")
    assert bench("made", joint, "--by", "ND")[0] == FINE
    assert bench(note[0], joint, *note[1:], "--by", "ND")[0] == FINE
    code, told = bench(*read, str(NOW - timedelta(days=1, minutes=5)))
    assert code == PROBLEM and f"says nothing of {joint}, which was noted as {note[0]}" in told
    assert not bench.record.read().of("gauge read")
    assert bench(*read, str(NOW - timedelta(hours=23)))[0] == FINE


def test_a_joint_made_again_asks_for_the_readings_beyond_it(bench: Bench, van: Path) -> None:
    joints = Pack(load(van)).shop.joints
    way = next(j.name for j in joints if j.run == 0)
    assert bench("made", "*", "--by", "ND")[0] == FINE
    assert bench("commission", "tap, flow", "2 gpm", "--by", "ND")[0] == FINE
    assert bench("commission", "pump, cut-in", "30 psi", "--by", "ND")[0] == FINE
    assert "read again" not in bench("open")[1]
    assert bench("wept", way, "--by", "ND")[0] == FINE
    told = bench("open")[1]
    assert f"read again: tap, flow was read before {way} (wept)" in told
    assert told.count("read again") == 1
    bench("repaired", way, "--how", "cut back", "--by", "ND")
    assert f"read before {way} (repaired)" in bench("open")[1]
    assert bench("commission", "tap, flow", "2 gpm", "--by", "ND")[0] == FINE
    assert "read again" not in bench("open")[1]


def test_a_joint_noted_as_made_twice_says_which_entry_it_follows(bench: Bench, van: Path) -> None:
    way = next(j.name for j in Pack(load(van)).shop.joints)
    assert "made before" not in bench("made", way, "--by", "ND")[1]
    first = bench.record.read().events[-1]
    code, told = bench("made", way, "--by", "AP")
    assert code == FINE and f"made before in entry {first.number}" in told


@pytest.mark.parametrize("falls", [(0, 5, 12), (0, 0, 0)])
def test_a_gauge_too_coarse_gives_no_verdict(
    bench: Bench, van: Path, falls: tuple[int, ...]
) -> None:
    """A fall of less than its step can't be told from none, nor from one; nor can no fall."""
    pressure, minutes = stages(van)
    bench("made", "*", "--by", "ND")
    bench.gauge(step="20 psi")
    top = pressure + 21.0
    bench.readings([f"{top - f:.0f} psi" for f in falls], [0.0, minutes / 2, minutes])
    code, told = bench("test", "--by", "ND")
    assert code == PROBLEM and "can't tell yet" in told
    assert not bench.record.read().of("system tested")


def test_a_fall_fails_and_a_changed_joint_reopens_its_test(bench: Bench, van: Path) -> None:
    pressure, minutes = stages(van)
    bench("made", "*", "--by", "ND")
    bench.gauge()
    falling = [f"{pressure + 1 - n * 12:.1f} psi" for n in range(4)]
    bench.readings(falling, [0.0, minutes / 3, 2 * minutes / 3, minutes], end=3 * minutes)
    code, told = bench("test", "--by", "ND")
    assert code == FINE and "failed" in told
    joint = Pack(load(van)).shop.joints[0].name
    assert bench("wept", joint, "--by", "ND")[0] == FINE
    assert bench("repaired", joint, "--how", "cut back and made anew", "--by", "ND")[0] == FINE
    assert "taken since the last change: 0" in bench("test", "--by", "ND")[1]
    bench.readings([f"{pressure + 1:.1f} psi"] * 3, [0.0, minutes / 2, minutes])
    assert "passed" in bench("test", "--by", "ND")[1]
    assert "not proven tight" not in bench("open")[1]
    assert bench("made", joint, "--by", "ND")[0] == FINE
    assert f"1 joints are not proven tight: {joint}" in bench("open")[1]


def test_all_joints_of_a_run_are_made_by_its_name(bench: Bench, van: Path) -> None:
    """The run's own, and not those of run 10 and above; what is near is said where none fits."""
    joints = Pack(load(van)).shop.joints
    run = next(j.line for j in joints if j.run is not None)
    assert bench("made", run, "--by", "ND")[0] == FINE
    made = [e.get("joint") for e in bench.record.read().of("joint made")]
    assert made == [j.name for j in joints if j.line == run]
    last = joints[-1].name
    code, told = bench("made", last[:-1] + "x", "--by", "ND")
    assert code == PROBLEM and f'did you mean "{last}"?' in told
    code, told = bench("wept", made[0][:-1], "--by", "ND")
    assert code == PROBLEM and f'did you mean "{made[0]}"?' in told


def test_a_weak_dose_is_told_when_it_is_noted(bench: Bench) -> None:
    code, told = bench("dosed", "2 mg/L", "1 min", "--by", "ND")
    assert code == FINE and "Not enough: it was disinfected with 2 mg/L for 1 min; the" in told
    assert "Not enough" not in bench("dosed", "50 mg/L", "4 h", "--by", "ND")[1]


def test_a_range_may_say_its_unit_once(bench: Bench) -> None:
    words = ("gauge", "G 7", "--range", "0 to 100 psi", "--step", "1 psi", "--by", "ND")
    assert bench(*words)[0] == FINE
    (event,) = bench.record.read().of("gauge named")
    assert event.get("range") == "0 psi to 100 psi"
    code, told = bench("gauge", "G 8", "--range", "0 to 100", "--step", "1 psi", "--by", "ND")
    assert code == PROBLEM and "no unit" in told


def test_photographs_are_copied_and_hashed(bench: Bench, tmp_path: Path) -> None:
    picture = tmp_path / "joint.jpg"
    picture.write_bytes(b"no picture, but bytes")
    assert bench("photo", str(picture), "--of", "R1-1", "--by", "ND")[0] == FINE
    (event,) = bench.record.read().of("photograph")
    copy = tmp_path / event.get("file")
    assert copy.read_bytes() == picture.read_bytes()
    assert event.get("sha256") == hashlib.sha256(copy.read_bytes()).hexdigest()
    code, told = bench("photo", str(tmp_path / "none.jpg"), "--of", "R1-1", "--by", "ND")
    assert code == PROBLEM and "none.jpg" in told


@pytest.mark.parametrize(
    "words, why",
    [
        (("made", "R99-*"), "no joint is named 'R99-*'"),
        (("wept", "R1-1"), "R1-1 is not in the record yet"),
        (("set", "valve", "40 °C"), "no mixing valve 'valve'; there are none"),
        (("dosed", "strong", "4 h"), "strong"),
        (("fitted", "kettle", "--serial", "1"), "the build names no 'kettle'"),
        (("reading", "kettle, flow", "1 gpm"), "no reading 'kettle, flow'; there are "),
        (("reading", "kettle", "1 gpm"), "cut-in; pump, cut-out; "),
        (("countersign", "no_rule", "--reason", "because"), "'no_rule' is not open here"),
        (("test", "--rule", "a lax one"), "no rule of this region is named 'a lax one'"),
        (("commission", "tap, flow", "-2 gpm"), "-2 gpm is less than nothing"),
        (("dosed", "50 mg/L", "0 h"), "a dose of 50 mg/L for 0 h is none"),
    ],
)
def test_what_is_not_so_is_refused_in_a_sentence(
    bench: Bench, words: tuple[str, ...], why: str
) -> None:
    code, told = bench(*words, "--by", "ND")
    assert code == PROBLEM and why in told and "Traceback" not in told
    assert not bench.record.path.exists()


@pytest.mark.parametrize(
    "words",
    [("wept", "any"), ("repaired", "any", "--how", "x"), ("dosed", "50 mg/L", "4 h"),
     ("fitted", "pump", "--serial", "1"), ("back", "--why", "x"), ("photo", "x", "--of", "x")],
)  # fmt: skip
def test_nobody_notes_anything_without_a_name(bench: Bench, words: tuple[str, ...]) -> None:
    code, told = bench(*words, "--by", "  ")
    assert code == PROBLEM and "say who did it" in told
    assert not bench.record.path.exists()


def test_water_under_test_is_neither_ice_nor_steam(bench: Bench) -> None:
    bench.gauge()
    code, told = bench("read", "60 psi", "900 °F", "--gauge", "G 5", "--by", "ND")
    assert code == PROBLEM and "900 °F is no temperature of a van under test" in told


def test_an_edited_line_is_found(bench: Bench) -> None:
    bench("note", "one")
    bench("note", "two")
    path = bench.record.path
    path.write_bytes(path.read_bytes().replace(b"one", b"own"))
    code, told = bench("show")
    assert code == FOUND and "NOT WHOLE: line 2" in told
    assert "the record: line 2 does not agree with its checksum" in bench("open")[1]


def test_two_writers_at_once_keep_both_entries(bench: Bench, van: Path) -> None:
    """Two terminals and a phone's file at one record: no entry is lost and the chain is whole."""
    say = [sys.executable, "-m", "vanplumb", "record", str(van), "note"]
    both = [subprocess.Popen([*say, text, "--by", who], stdout=subprocess.DEVNULL)
            for text, who in (("from the bench", "ND"), ("from the office", "KO"))]  # fmt: skip
    for number in range(20):
        bench.record.append("note", text=f"{number} from here", by="RS")
    assert [one.wait(60) for one in both] == [0, 0]
    found = bench.record.read()
    assert found.problems == ()
    assert {e.get("by") for e in found.events} == {"ND", "KO", "RS"}
    assert [e.number for e in found.events] == list(range(1, 23))
