"""Plain widgets share what they have in common, and nothing that is their own."""

from __future__ import annotations

from ipywidgets.widgets.widget import _instances

from vanplumb.worksheets.frame import plain


def test_a_line_is_one_object_and_keeps_its_own_text_and_class() -> None:
    one = plain.line(description="name", value="Ann")
    before = len(_instances)
    other = plain.line(description="place")
    assert len(_instances) == before + 1
    other.add_class("vp-here")
    assert (one.value, other.value) == ("Ann", "") and one._dom_classes == ()
    assert one.layout is other.layout and one.style is other.style
    assert plain.html("a").layout is not one.layout


def test_what_was_closed_is_made_anew() -> None:
    one = plain.html("a")
    one.layout.close()
    other = plain.html("b")
    assert other.layout is not one.layout and other.layout.comm is not None


def test_a_row_holds_what_it_is_given() -> None:
    parts = plain.html("a"), plain.line()
    assert plain.across(*parts).children == parts
