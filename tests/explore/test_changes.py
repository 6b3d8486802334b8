"""What changed since the last sheet: every change is told, and nothing else."""

from __future__ import annotations

from pathlib import Path

import pytest

import vanplumb as vp
from vanplumb.cli import main
from vanplumb.explore.changes import Changes, _inputs, changes, chapter
from vanplumb.van import load
from vanplumb.van.file.read import loads
from vanplumb.van.file.write import changed
from vanplumb.words.show import show


@pytest.fixture
def old(tmp_path: Path) -> Path:
    path = tmp_path / "old.toml"
    path.write_text(vp.example("dipper").text, encoding="utf-8")
    return path


@pytest.fixture
def small(old: Path) -> Path:
    old.write_text(vp.example("wren").text, encoding="utf-8")
    return old


def compared(old: Path, text: str) -> Changes:
    new = old.with_name("new.toml")
    new.write_text(text, encoding="utf-8")
    return changes(vp.Pack(load(old)), vp.Pack(load(new)))


def test_the_same_build_has_no_changes(small: Path) -> None:
    found = compared(small, small.read_text(encoding="utf-8"))
    assert not found
    assert chapter(found).grids == ()


def test_another_unit_or_remark_is_no_change(old: Path) -> None:
    text = old.read_text(encoding="utf-8").replace('mass_empty = "26 lb"', 'mass_empty = "416 oz"')
    new = loads(text + "\n# a remark\n")
    assert list(_inputs(load(old), new, "US")) == []


def test_inputs_answers_and_findings_are_told(old: Path) -> None:
    text = changed(
        old.read_text(encoding="utf-8"),
        {"crew.nights": 5, "heater.heater.setpoint": "120 °F", "run.21.tube": "PEX-B 3/8 in"},
    )
    new_one = old.with_name("new.toml")
    new_one.write_text(text, encoding="utf-8")
    before, after = vp.Pack(load(old)), vp.Pack(load(new_one))
    found = changes(before, after)
    told = {(c.where, c.what): (c.old, c.new) for c in found.inputs}
    assert told == {
        ("crew", "nights"): ("2", "5"),
        ("heater heater", "setpoint"): ("140 °F", "120 °F"),
        ("run hot manifold.wet room to shower.hot", "tube"): ("PEX-B 1/2 in", "PEX-B 3/8 in"),
    }
    stays = [c for c in found.answers if "nights" in c.what and c.where == before.chapters[0].title]
    need = (show(before.water.need, "volume", "US"), show(after.water.need, "volume", "US"))
    assert need in {(c.old, c.new) for c in stays}
    heat = (h.heater[0].sources[0].time for h in (before, after))
    told_heat = tuple(show(t, "duration", "US") for t in heat)
    assert told_heat in {(c.old, c.new) for c in found.answers if c.where == "Heater"}
    assert len(found.answers) > 3
    new = {f.what for state, f in found.findings if state == "new"}
    assert new
    assert new.isdisjoint({f.what for f in before.findings})
    gone = {(f.rule, f.where) for state, f in found.findings if state == "gone"}
    assert gone.isdisjoint({(f.rule, f.where) for f in after.findings})


def test_a_run_that_comes_between_renames_none(old: Path) -> None:
    """Runs have no names, so one more must not make all later ones look changed."""
    text = old.read_text(encoding="utf-8")
    one = (
        '[[check_valve]]\nname = "second check"\nkv = "3 m^3/h"\n\n'
        '[[run]]\nfrom = "strainer"\nto = "second check"\ntube = "PEX 1/2 in"\nlength = "5 in"\n\n'
        '[[run]]\nfrom = "second check"\nto = "pump"\n'
    )
    text = text.replace('[[run]]\nfrom = "strainer"\nto = "pump"\n', one)
    found = _inputs(load(old), loads(text), "US")
    assert {(c.where, c.new) for c in found} == {
        ("check valve second check", "new"),
        ("run strainer to second check", "new"),
        ("run second check to pump", "new"),
        ("run strainer to pump", "gone"),
    }


def test_the_command_puts_it_first_on_the_sheet(
    small: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    new = small.with_name("new.toml")
    new.write_text(changed(small.read_text(encoding="utf-8"), {"crew.nights": 5}), encoding="utf-8")
    out = small.with_name("out")
    assert main(["pack", str(new), "-o", str(out), "--since", str(small), "--revision", "B"]) == 0
    assert "Since old.toml: 1 inputs" in capsys.readouterr().out
    page = next(out.glob("*.html")).read_text(encoding="utf-8")
    assert page.index("What changed since the last sheet") < page.index("Inputs that changed")
    assert page.index("Inputs that changed") < page.index("Uses of water in a day")


def test_an_old_file_that_is_not_there_is_told(
    small: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["pack", str(small), "--since", "nowhere.toml"]) == 1
    assert "nowhere.toml" in capsys.readouterr().err


def test_the_notebook_of_a_pack_tells_the_changes_too(small: Path) -> None:
    new = small.with_name("new.toml")
    new.write_text(changed(small.read_text(encoding="utf-8"), {"crew.nights": 5}), encoding="utf-8")
    out = small.with_name("out")
    assert main(["pack", str(new), "-o", str(out), "--since", str(small), "--notebook"]) == 0
    text = (out / "pack.ipynb").read_text(encoding="utf-8")
    assert "What changed since the last sheet" in text
