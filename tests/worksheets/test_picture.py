"""A van's picture by itself: taps pressed on it, and a still of it where nothing runs."""

from __future__ import annotations

import pytest

from vanplumb import Pack, example
from vanplumb.van import loads
from vanplumb.words.show import show
from vanplumb.worksheets import VanPicture


def test_a_pressed_tap_opens_and_shuts_and_tells_what_the_other_loses():
    pack = Pack(example("dipper"))
    picture = VanPicture(pack)
    assert picture.moment.open == ("shower",)
    alone = picture.moment.fixtures["shower"].flow
    picture._living._heard(None, {"tap": "sink"}, None)
    assert set(picture.moment.open) == {"shower", "sink"}
    both = pack.flow.solve(["shower", "sink"]).fixtures["shower"].flow
    old, new = show(alone, "flow", "US"), show(both, "flow", "US")
    assert f"{old.split()[0]} → {new}" in picture._living.svg
    picture.press("sink")
    assert picture.moment.fixtures["shower"].flow == pytest.approx(alone)


def test_a_still_is_stored_for_where_nothing_runs():
    shown = VanPicture(Pack(example("wren")))._repr_mimebundle_()
    assert "data:image/svg+xml;base64," in shown["text/html"]
    assert shown["text/plain"] == "<picture: Wren>"


def test_a_build_that_moves_no_water_is_refused():
    with pytest.raises(ValueError, match="names no fixture"):
        VanPicture(Pack(loads('format = 1\n[van]\nname = "Dry"\nunits = "SI"\n')))
