"""The reference lists all that there is, from the code itself."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path
from xml.etree import ElementTree

import pytest

import vanplumb as vp
from vanplumb import formulas, reference
from vanplumb.cli import main
from vanplumb.review import RULES
from vanplumb.words.formula import REGISTRY
from vanplumb.words.tables import table_names


@cache
def _markdown() -> str:
    return reference.markdown()


@cache
def _page() -> str:
    return reference.page()


@pytest.mark.parametrize("name", sorted(REGISTRY))
def test_every_formula_is_in_the_reference_with_its_source(name: str) -> None:
    one = REGISTRY[name]
    section = _markdown().partition(f"\n### {name}\n")[2].partition("\n### ")[0]
    assert f"    {name}({', '.join(one.parameters)})\n" in section
    assert section.count("$$") == 2 * len(reference.formula_item(one).lines) > 0
    assert f"- source: {one.source}\n" in section
    assert f"<h3>{name}</h3>" in _page()


def test_equations_are_well_formed_in_the_page() -> None:
    found = re.findall(r"<math\b.*?</math>", _page())
    assert len(found) >= len(REGISTRY)
    for one in found:
        ElementTree.fromstring(one)


def test_rules_results_and_tables_are_listed() -> None:
    text = _markdown()
    assert all(f"\n### {name.replace('_', ' ')}\n" in text for name in RULES)
    assert all(f"| {name} |" in text for name in table_names())
    for name in ("findings", "tables", "flow", "trip", "board", "shop"):
        assert f"\n### {name}\n" in text
    assert " at 0x" not in text and "<factory>" not in text


def test_the_command_writes_a_page_or_markdown(tmp_path: Path) -> None:
    assert main(["reference", str(tmp_path / "all.html")]) == 0
    assert main(["reference", str(tmp_path / "all.md")]) == 0
    page = (tmp_path / "all.html").read_text(encoding="utf-8")
    assert page == _page() and "http" not in re.sub(r"http://www\.w3\.org\S*", "", page)
    assert (tmp_path / "all.md").read_text(encoding="utf-8") == _markdown()


def test_formulas_are_found_by_subject_and_by_name() -> None:
    assert vp.formulas.tube.velocity is vp.formulas.velocity
    assert set(REGISTRY) | set(formulas.SUBJECTS) <= set(dir(vp.formulas))
    assert {f.name for s in formulas.SUBJECTS for f in formulas.of_subject(s)} == set(REGISTRY)
    assert list(formulas.listed("tube").frame()["formula"])[:2] == ["bore_area", "velocity"]
    with pytest.raises(AttributeError, match="no formula 'speed_of_light'"):
        _ = vp.formulas.speed_of_light


def test_the_worksheets_are_found_without_their_modules() -> None:
    import vanplumb.worksheets as worksheets

    for name in dir(worksheets):
        assert getattr(worksheets, name) is not None
    with pytest.raises(AttributeError, match=r"there are .*mixing_worksheet"):
        _ = worksheets.pipe_worksheet


def test_the_terminal_lists_what_a_script_may_call(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["names", "api"]) == 0
    told = capsys.readouterr().out
    for kind in reference.RESULTS:
        assert f"\n{kind.__name__}\n" in told
    assert "solve(" in told and "Q(value" in told
    assert main(["names", "api", "trip.plot"]) == 0
    assert capsys.readouterr().out.startswith("Trip\n  plot(")
    assert main(["names", "tubes", "flow"]) == 2
    assert main(["names", "api", "gramophone"]) == 2
    assert "nothing has 'gramophone'" in capsys.readouterr().out
