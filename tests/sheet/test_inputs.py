"""The build's own values on the sheet, as the reader's units show them."""

from __future__ import annotations

import pytest

from vanplumb.sheet.entries import given_of
from vanplumb.van import loads, template

WRITTEN = {"length": "2 ft 6 in", "width": "1' 2 3/8 in", "height": "0 ft 11 1/32 in"}
SHOWN = {
    # shown, and as written where the shown figure has lost something
    "US": [("30 in", ""), ("14 3/8 in", ""), ("11 1/16 in", "0 ft 11 1/32 in")],
    "SI": [("762 mm", ""), ("365 mm", "1' 2 3/8 in"), ("280 mm", "0 ft 11 1/32 in")],
}


@pytest.mark.parametrize("units", SHOWN)
def test_feet_and_inches_are_shown_in_one_unit(units: str) -> None:
    text = template("US").replace('units = "US"', f'units = "{units}"')
    for key, old in (("length", "30 in"), ("width", "14 in"), ("height", "12 in")):
        text = text.replace(f'{key} = "{old}"', f'{key} = "{WRITTEN[key]}"', 1)
    tank = next(p for p in given_of(loads(text)) if p.kind == "tank")
    sizes = {label: (shown, written) for label, shown, written in tank.values}
    assert [sizes[key] for key in WRITTEN] == SHOWN[units]
