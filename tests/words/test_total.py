"""A part of a sum keeps its own words under its letter, in every hand, and none of them acts."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import numpy as np
import pytest
import typst
from pytest import approx

from vanplumb.formulas.runs_heat import hot_wait
from vanplumb.words.formula import FormulaError
from vanplumb.words.work import LONGEST_LABEL, Steps, total

HOSTILE = [
    'a"b\\c',
    '", #panic(), "',
    "</mtext></math><script>x</script>",
    "#x $y$ {z} & 50 % _u ^2",
    '"',
    "\\",
    "#",
    "two\nlines\x00 \u202ereversed",
    "ванна",
    "",
]


def test_a_part_is_told_in_its_own_words() -> None:
    one = total("duration", [("PE-X 16x2.0 to mixing", 7.0), ("PEX 1/2 in", 2.0)])
    assert one.lines("text") == ["t = t_PE-X_16x2.0_to_mixing + t_PEX_1/2_in = 7 + 2 = 9 s"]
    assert r"t_{\text{PE-X 16x2.0 to mixing}} + t_{\text{PEX 1/2 in}}" in one.latex()[0]
    assert 't_"PE-X 16x2.0 to mixing" + t_"PEX 1/2 in"' in one.typst()[0]
    assert "<mtext>PE-X 16x2.0 to mixing</mtext>" in one.mathml()[0]
    assert [row[:2] for row in one.symbols("text")][1] == ("t_PEX_1/2_in", "time, PEX 1/2 in")


def test_plain_words_are_written_as_before() -> None:
    one = total("duration", [("to ice", 1.0), ("to ice", 2.0)])
    assert r"t_{\mathrm{to~ice}} + t_{\mathrm{to~ice~2}}" in one.latex()[0]


@pytest.mark.parametrize("label", HOSTILE)
def test_no_label_acts(label: str) -> None:
    one = total("mass", [(label, 1.0), (label, 2.0)])
    assert one.value == 3.0
    assert len({letter for letter, *_ in one.symbols("text")}) == 2
    (math,) = one.mathml()
    ElementTree.fromstring(math)
    assert "<script" not in math and "<" not in one.latex()[0]
    bare = re.sub(r"\\textbackslash\{\}|\\\^\{\}|\\[{}$&#%_]", "", one.latex()[0])
    assert bare.count("{") == bare.count("}") and not set("$&#%") & set(bare)
    (line,) = one.typst()
    source = f'#set page(width: auto)\n#math.equation(eval({_quoted(line)}, mode: "math"))'
    assert typst.compile(source.encode(), format="pdf").startswith(b"%PDF")
    assert all(
        text.isprintable() for text in (math.replace("\u00a0", " "), line, one.lines("text")[0])
    )


def test_a_very_long_label_is_cut() -> None:
    (told, *_) = total("mass", [("x" * 500, 1.0)]).told.values()
    assert told == "x" * LONGEST_LABEL + "…"


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def test_steps_give_what_the_formula_gives_for_floats_and_for_arrays() -> None:
    kept, bare = Steps(), Steps(kept=False)
    flows = np.array([1e-4, 2e-4])
    many = bare.of(hot_wait, volume=3e-4, number_wall=0.5, flow=flows)
    each = [kept.of(hot_wait, volume=3e-4, number_wall=0.5, flow=one) for one in flows]
    assert many == approx(each) and many == approx([4.5, 2.25])
    assert [one.value for one in kept] == each and not bare
    with pytest.raises(FormulaError, match="volume"):
        kept.of(hot_wait, volume=-1.0, number_wall=0.5, flow=1e-4)
