"""From a build file to its sheet on one page, by the buttons that a reader presses."""

from __future__ import annotations

import base64
import re
from pathlib import Path

import pytest

import vanplumb as vp
from vanplumb.worksheets.frame.actions import links
from vanplumb.worksheets.page import my_van as module
from vanplumb.worksheets.page.my_van import MyVan, my_van
from vanplumb.worksheets.page.pages import record_path


@pytest.fixture
def page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> MyVan:
    here = tmp_path / "notebooks"
    here.mkdir()
    monkeypatch.chdir(here)
    monkeypatch.setattr(module, "_drafts", {})
    monkeypatch.setattr(module, "_last", {"van": "dipper"})
    return my_van()


def start(page: MyVan, name: str = "my-van", source: str = "dipper") -> Path:
    page.start.entries[0].value, page.start.entries[1].value = name, source
    page.start.write()
    return Path(f"{name}.toml").absolute()


def test_an_example_can_be_looked_at_and_not_changed(page: MyVan) -> None:
    assert repr(page) == "Your van: Dipper"
    assert page.path is None and page.editor.fixed
    assert page.editor.text == vp.example("dipper").text
    with pytest.raises(ValueError, match="an example stays as it is"):
        page.save()


@pytest.mark.parametrize("source", ["US", "SI", "dipper", "heron", "wren"])
def test_a_new_file_is_started_and_chosen(page: MyVan, source: str) -> None:
    path = start(page, source=source)
    assert page.path == path and not page.editor.fixed and page.editor.problems == []
    assert vp.load(path).van.name == "my-van" == page.build.van.name
    assert "my-van.toml exists and is left as it is" in page.start.write()


@pytest.mark.parametrize("name", ["", "  ", "a/b", "../x"])
def test_a_file_is_only_started_beside_the_notebook(page: MyVan, name: str) -> None:
    start(page, name=name)
    assert "type a plain name" in page.start._outcome.value
    assert list(Path().glob("**/*.toml")) == []


def test_problems_are_told_with_their_lines_and_nothing_typed_is_lost(page: MyVan) -> None:
    path = start(page)
    good = page.editor.text
    bad = good.replace('width = "18 in"', 'width = "1/2"', 1).replace("[[strainer]]", "[[strain]]")
    page.editor.text = bad
    assert "not saved" in page._told.value
    assert page.save() == f"Saved in {path}, with what is still wrong."
    assert path.read_text(encoding="utf-8") == bad
    lines = bad.splitlines()
    told = {one["line"]: one["told"] for one in page.editor.problems}
    assert 'got "1/2" with no unit' in told[lines.index('width = "1/2"') + 1]
    assert 'did you mean "strainer"?' in told[lines.index("[[strain]]") + 1]
    assert page.build.tank[0].width == pytest.approx(18 * 0.0254)  # the last good van stays
    page.editor.text = good.replace('width = "18 in"', 'width = "17 1/2 in"', 1)
    assert page.save() == f"Saved in {path}. The file is fine."
    assert page.build.tank[0].width == pytest.approx(17.5 * 0.0254)


def test_the_cell_run_again_stays_with_the_van_and_what_was_typed(page: MyVan) -> None:
    path = start(page)
    page.editor.text += "\n# not saved yet\n"
    again = my_van()
    assert again.path == path
    assert again.editor.text.endswith("# not saved yet\n")
    assert not path.read_text(encoding="utf-8").endswith("# not saved yet\n")


def test_a_file_that_is_no_build_is_opened_to_be_mended(page: MyVan) -> None:
    path = start(page, source="wren")
    good = path.read_text(encoding="utf-8")
    broken = good.replace('length = "300 mm"', 'length = "300"', 1)
    path.write_text(broken, encoding="utf-8")
    page.vans.choose("example dipper")
    page.vans.choose(str(path))
    again = my_van()  # as after a restart: what was chosen last
    for one in (page, again):
        assert one.editor.text == broken and one.path == path and not one.editor.fixed
        assert "with no unit" in one.editor.problems[0]["told"]
        one.sections.open("answers")
        assert "mend them first" in one.sections._made["answers"].value
        assert "mend them first" in one.writing.write()
        one.sections.open("the file")
    assert "with no unit" in again._repr_mimebundle_()["text/html"]
    again.editor.text = good
    again.save()
    assert again.build.van.name == "my-van" and again.editor.problems == []
    again.sections.open("answers")
    assert "my-van" in again.sections._made["answers"].value
    path.write_bytes(b"\xff\xfe")
    page.vans.read()  # no text: nothing to mend here
    assert "not UTF-8 text" in page.vans._outcome.value


def test_a_button_takes_what_stands_on_the_page(page: MyVan) -> None:
    """The press may come before what was typed: the page is asked, and its answer is saved."""
    path = start(page, source="wren")
    sent: list[object] = []
    page.editor.send = sent.append  # type: ignore[method-assign, assignment]
    buttons = {b.description: b for b in page._file.children[1].children}
    buttons["Save"].click()
    assert sent == [{"ask": "text"}] and "as saved" in page._told.value
    typed = page.editor.text + "\n# typed last\n"
    page.editor._handle_custom_msg({"text": typed}, [])
    assert path.read_text(encoding="utf-8") == typed and "is fine" in page._told.value


def test_a_file_changed_elsewhere_is_not_written_over(page: MyVan) -> None:
    path = start(page)
    path.write_text(page.editor.text + "\n# from elsewhere\n", encoding="utf-8")
    page.editor.text += "\n# from here\n"
    with pytest.raises(ValueError, match="changed elsewhere meanwhile"):
        page.save()
    assert path.read_text(encoding="utf-8").endswith("# from elsewhere\n")


def test_every_page_of_other_examples_opens_or_says_why_not(page: MyVan) -> None:
    """Dipper's pages are those that the notebooks themselves show."""
    lacking = {
        "heron": {"board": "No manifold with a zone"},
        "wren": {
            "heater and showers": "Wren has no heater",
            "mixing valve": "Wren has no mixing valve",
            "board": "No manifold with a zone",
        },
    }
    for name, told in lacking.items():
        page.vans.choose(f"example {name}")
        for section in page.sections._makers:
            page.sections.open(section)
            said = str(getattr(page.sections._made[section], "value", ""))
            assert "page has a fault" not in said, (name, section, said)
            assert ("vp-wrong" in said) == (section in told), (name, section, said)
            assert told.get(section, "") in said


def test_the_sheet_is_written_with_its_remark_and_can_be_taken_away(page: MyVan) -> None:
    path = start(page, source="wren")
    page.writing.entries[1].value = "tank measured, <pump> not yet"
    told = page.writing.write()
    out = path.parent / "my-van-pack"
    assert re.match(rf"\d+ files are in {re.escape(str(out))}\.", told)
    assert "tank measured, &lt;pump&gt; not yet" in (out / "sheet.html").read_text("utf-8")
    assert vp.load(path).van.note == "tank measured, <pump> not yet"
    shown = page.writing._outcome.value
    for name in ("sheet.pdf", "sheet.html"):
        code = re.search(rf'download="{name}" href="data:[\w/]+;base64,([^"]+)"', shown)
        assert code and base64.b64decode(code[1]) == (out / name).read_bytes()


def test_a_file_that_is_not_saved_is_not_written_as_a_sheet(page: MyVan) -> None:
    start(page, source="wren")
    page.editor.text = page.editor.text.replace("people = 2", "people = 3")
    assert "press Save first" in page.writing.write()
    assert not Path("my-van-pack").exists()


def test_the_record_lies_beside_the_file_and_never_beside_an_example(page: MyVan) -> None:
    here = Path().absolute()
    assert record_path(vp.example("heron")) == here / "heron.log"
    path = start(page)
    assert record_path(vp.load(path)) == here / "my-van.log"


def test_a_name_is_no_way_into_the_page(tmp_path: Path) -> None:
    file = tmp_path / 'a"<b>.pdf'
    file.write_bytes(b"%PDF")
    assert '"<b>' not in links([file]) and "&lt;b&gt;" in links([file])
