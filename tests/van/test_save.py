"""Saving keeps remarks and order, and leaves a whole file at any moment."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
import threading
import time
from dataclasses import replace
from pathlib import Path

import pytest

from tests.cases import cases
from vanplumb.van import BuildError, change, load, loads, save
from vanplumb.words.tables import example_builds

DIPPER = example_builds()["dipper"].read_text(encoding="utf-8")


@pytest.fixture
def dipper(tmp_path: Path) -> Path:
    path = tmp_path / "dipper.toml"
    path.write_text(DIPPER, encoding="utf-8")
    return path


def changed_lines(old: str, new: str) -> list[tuple[str, str]]:
    before, after = old.splitlines(), new.splitlines()
    assert len(before) == len(after)
    return [(a, b) for a, b in zip(before, after, strict=True) if a != b]


def test_saving_a_build_writes_its_text_to_the_letter(tmp_path: Path) -> None:
    path = tmp_path / "new.toml"
    assert save(load(example_builds()["dipper"]), path) == path
    assert path.read_text(encoding="utf-8") == DIPPER
    assert load(path).run == loads(DIPPER).run


def test_a_change_touches_its_own_lines_and_keeps_the_remarks(dipper: Path) -> None:
    build = change(
        dipper,
        {
            "mixing_valve.basin valve.setting": "96 °F",
            "run.2.rise": "4 in",
            "van.cold_water": "55 °F",
            "zone.hot manifold.wet room.name": "wet room",
        },
    )
    assert changed_lines(DIPPER, dipper.read_text(encoding="utf-8")) == [
        (
            'cold_water = "57 °F"             # tank water on an autumn morning',
            'cold_water = "55 °F"             # tank water on an autumn morning',
        ),
        ('setting = "98 °F"', 'setting = "96 °F"'),
        ('rise = "2 in"', 'rise = "4 in"'),
    ]
    assert build.mixing_valve[0].setting == pytest.approx((96 + 459.67) * 5 / 9)
    assert build.run[1].rise == pytest.approx(4 * 0.0254)
    assert load(dipper) == build


def test_a_new_key_goes_into_its_own_table(dipper: Path) -> None:
    build = change(dipper, {"heater.heater.flow_least": "0.1 gpm", "heater.heater.kv": "1 m^3/h"})
    assert build.heater[0].flow_least == pytest.approx(0.1 * 3.785411784e-3 / 60)
    text = dipper.read_text(encoding="utf-8")
    start = text.index("[[heater]]")
    block = text[start : text.index("[[", start + 2)]
    assert 'flow_least = "0.1 gpm"' in block and 'kv = "1 m^3/h"' in block
    kept = [line for line in text.splitlines() if "flow_least" not in line]
    assert [line for line in kept if line != 'kv = "1 m^3/h"'] == DIPPER.splitlines()


def test_feet_and_inches_are_read_and_stay_as_they_were_written(dipper: Path) -> None:
    new = {"run.2.length": "5 ft 3/8 in", "run.2.rise": "1' 2\"", "run.4.length": "2 ft 6 in"}
    build = change(dipper, new)
    assert build.run[1].length == pytest.approx(60.375 * 0.0254, rel=1e-12)
    assert build.run[1].rise == pytest.approx(14 * 0.0254, rel=1e-12)
    assert {key: build.given[key] for key in new} == new
    text = dipper.read_text(encoding="utf-8")
    assert 'length = "5 ft 3/8 in"' in text and 'rise = "1\' 2\\""' in text
    assert load(dipper) == build
    change(dipper, {"van.cold_water": "55 °F"})
    assert load(dipper).given["run.2.rise"] == "1' 2\""
    assert 'length = "5 ft 3/8 in"' in dipper.read_text(encoding="utf-8")


def test_none_takes_a_key_out(dipper: Path) -> None:
    build = change(dipper, {"run.2.rise": None})
    assert build.run[1].rise == 0.0 and "run.2.rise" not in build.given
    assert len(dipper.read_text(encoding="utf-8").splitlines()) == len(DIPPER.splitlines()) - 1


def test_a_table_that_is_not_there_yet_is_made(tmp_path: Path) -> None:
    path = tmp_path / "wren.toml"
    path.write_text(example_builds()["wren"].read_text(encoding="utf-8"), encoding="utf-8")
    assert change(path, {"limits.wait": "20 s"}).limits.wait == 20.0


def test_lists_flags_counts_and_numbers_can_be_changed(dipper: Path) -> None:
    build = change(
        dipper,
        {
            "crew.people": 3,
            "mixing_valve.basin valve.hot_check": False,
            "situation.everything open.open": ["sink", "shower"],
            "run.1.fittings": {"elbow 90": 2},
            "battery.usable": 0.5,
        },
    )
    assert build.crew.people == 3 and build.mixing_valve[0].hot_check is False
    assert build.situation[3].open == ("sink", "shower")
    assert build.run[0].fittings == (("elbow 90", 2),)
    assert build.battery is not None and build.battery.usable == 0.5


@pytest.mark.parametrize(
    "path, value, message",
    [
        ("mixing_valve.shower.setting", "98 °F", 'no mixing valve.*"shower"; there are "basin'),
        ("run.99.rise", "1 in", 'names no run of this build: "99"; there are 26'),
        ("run.0.rise", "1 in", "names no run"),
        ("heatr.heater.volume", "1 gal", 'names no part of a build; did you mean "heater"'),
        ("van", "x", "no path of a value"),
        ("format", 2, "can't be changed"),
        ("heater.heater.volume", "60 kg", "a mass"),
        ("heater.heater.volum", "6 gal", 'did you mean "volume"'),
        ("van.units", None, "van.units is missing"),
        ("run.1.to", "nowhere", "no component of this build"),
    ],
)
def test_a_change_that_would_break_the_file_writes_nothing(
    dipper: Path, path: str, value: object, message: str
) -> None:
    with pytest.raises(BuildError, match=message):
        change(dipper, {path: value, "van.name": "other"})
    assert dipper.read_text(encoding="utf-8") == DIPPER


def test_a_text_that_is_no_build_is_not_saved(dipper: Path) -> None:
    with pytest.raises(BuildError, match="format is missing"):
        save("x = 1\n", dipper)
    assert dipper.read_text(encoding="utf-8") == DIPPER


def test_a_build_that_was_altered_in_memory_is_not_saved_as_its_old_text(dipper: Path) -> None:
    build = load(dipper)
    altered = replace(build, van=replace(build.van, name="other"))
    with pytest.raises(ValueError, match=r"not what its text says: use change\(\)"):
        save(altered, dipper)
    with pytest.raises(ValueError, match="not read from a text"):
        save(replace(build, text=""), dipper)
    assert dipper.read_text(encoding="utf-8") == DIPPER


@pytest.mark.parametrize("name", ["ü" * 100 + ".toml", "a*b[c]?.toml", ".toml", "x y.toml"])
def test_odd_file_names(tmp_path: Path, name: str) -> None:
    save(DIPPER, tmp_path / name)
    change(tmp_path / name, {"van.name": "other"})
    assert os.listdir(tmp_path) == [name] and load(tmp_path / name).van.name == "other"


@pytest.mark.parametrize(
    "value",
    ["", 'a "b" \\ c', "line\nline", "tab\t", "ünï 水 🚰", "<script>", "{", "# no remark", "'x'"],
)
def test_any_text_comes_back_as_it_was_put_in(dipper: Path, value: str) -> None:
    assert change(dipper, {"van.note": value}).van.note == value
    assert load(dipper).van.note == value


def test_numbers_of_numpy_are_numbers(dipper: Path) -> None:
    import numpy as np

    build = change(dipper, {"battery.usable": np.float64(0.7)})
    assert build.battery is not None and build.battery.usable == 0.7


def test_what_toml_has_no_word_for(dipper: Path) -> None:
    with pytest.raises(TypeError, match="can't hold <object"):
        change(dipper, {"van.note": object()})


@pytest.mark.parametrize(
    "text", ['van = { name = "x", units = "SI" }\n', 'van.name = "x"\nvan.units = "SI"\n']
)
def test_a_table_written_on_one_line_takes_no_new_key(tmp_path: Path, text: str) -> None:
    file = tmp_path / "x.toml"
    save("format = 1\n" + text, file)
    with pytest.raises(BuildError, match="written on one line"):
        change(file, {"van.note": "new"})
    assert change(file, {"van.name": "y"}).van.name == "y"


def test_saving_into_a_folder_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(OSError, match="none"):
        save(DIPPER, tmp_path / "none" / "x.toml")


def test_rights_of_the_file_and_links_to_it_are_kept(dipper: Path, tmp_path: Path) -> None:
    dipper.chmod(0o640)
    link = tmp_path / "link.toml"
    link.symlink_to(dipper)
    change(link, {"van.name": "by link"})
    assert link.is_symlink() and load(dipper).van.name == "by link"
    assert stat.S_IMODE(dipper.stat().st_mode) == 0o640


def test_nothing_is_left_beside_the_file(dipper: Path) -> None:
    change(dipper, {"van.name": "other"})
    assert os.listdir(dipper.parent) == ["dipper.toml"]


def test_line_ends_of_another_system_are_kept(dipper: Path) -> None:
    dipper.write_bytes(DIPPER.replace("\n", "\r\n").encode())
    change(dipper, {"van.name": "other"})
    assert (
        dipper.read_bytes() == DIPPER.replace('"Dipper"', '"other"').replace("\n", "\r\n").encode()
    )


def test_two_threads_lose_none_of_their_changes(dipper: Path) -> None:
    def work(key: str) -> None:
        for number in range(8):
            change(dipper, {key: f"note {number}"})

    threads = [
        threading.Thread(target=work, args=(key,)) for key in ("van.note", "heater.heater.note")
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    build = load(dipper)
    assert build.van.note == build.heater[0].note == "note 7"


KILLS = cases(10, 1000)
"""How often one that saves is killed at the least."""
ENDLESS = """
import sys
from vanplumb.words.files import folder_held, replace_whole
from pathlib import Path
path, one, two = Path(sys.argv[1]), sys.argv[2], sys.argv[3]
texts = [Path(one).read_text(), Path(two).read_text()]
print("ready", flush=True)
while True:
    for text in texts:
        with folder_held(path.parent) as alone:
            replace_whole(path, text, alone=alone)
"""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="kills by signal")
def test_a_process_killed_while_it_saves_leaves_a_whole_file(tmp_path: Path) -> None:
    texts = [DIPPER, DIPPER.replace('name = "Dipper"', 'name = "Dipper two"') + "# end\n" * 20_000]
    for number, text in enumerate(texts):
        (tmp_path / f"text{number}").write_text(text, encoding="utf-8")
    folder = tmp_path / "builds"
    folder.mkdir()
    path = folder / "dipper.toml"
    save(DIPPER, path)
    command = [sys.executable, "-c", ENDLESS, str(path)]
    command += [str(tmp_path / "text0"), str(tmp_path / "text1")]
    root = str(Path(__file__).resolve().parents[2])
    found, left_over = set(), 0
    for kill in range(max(KILLS, 120)):
        if kill >= KILLS and found == {0, 1}:
            break  # a slow disk needs longer looks than forty short ones
        with subprocess.Popen(
            command, stdout=subprocess.PIPE, env={**os.environ, "PYTHONPATH": root}
        ) as process:
            assert process.stdout is not None and process.stdout.readline() == b"ready\n"
            time.sleep(0.0007 * (kill % 40) * (1 + 20 * (kill // 40 % 3)))
            process.kill()
        text = path.read_text(encoding="utf-8")
        assert text in texts, f"kill {kill}: {len(text)} letters"
        found.add(texts.index(text))
        parts = [n for n in os.listdir(folder) if n.endswith(".part")]
        assert len(parts) <= 1
        left_over += len(parts)
    assert found == {0, 1}, "no kill came while it was saving"
    save(DIPPER, path)
    assert os.listdir(folder) == ["dipper.toml"]  # the next one that saves clears up
