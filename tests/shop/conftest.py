"""A van that the shop tests share: two manifolds of tees, a store, a set-once mixer."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from vanplumb.van import Build, loads

sys.path.insert(0, str(Path(__file__).parent))  # for shop_rig, which two modules share

MANIFOLD_VAN = """
format = 1
[van]
name = "bench van"
units = "US"
[shop]
start = "2025-03-03 08:00"
hot_compound = "high-temperature sealant"
[[tank]]
name = "fresh"
shape = "box"
length = "30 in"
width = "16 in"
height = "12 in"
[[pump]]
name = "pump"
kind = "electric"
curve = "12 V 2.8 gpm 40 psi"
cut_in = "32 psi"
cut_out = "45 psi"
[[strainer]]
name = "strainer"
[[accumulator]]
name = "cushion"
volume = "24 fl oz"
precharge = "30 psi"
[[tee]]
name = "cold tee"
[[heater]]
name = "heater"
kind = "storage"
volume = "6 gal"
setpoint = "140 °F"
burner_power = "12000 Btu/h"
fuel = "propane"
relief = "100 psi"
[[manifold]]
name = "cold"
side = "cold"
tube = "PEX 3/4 in"
[[manifold]]
name = "hot"
side = "hot"
tube = "PEX 1/2 in"
[[zone]]
manifold = "cold"
name = "galley"
[[zone]]
manifold = "cold"
name = "wash tub"
[[zone]]
manifold = "hot"
name = "galley"
[[zone]]
manifold = "hot"
name = "wash tub"
[[mixing_valve]]
name = "mixer"
kind = "fixed"
setting = "102 °F"
[[fixture]]
name = "galley"
kind = "galley tap"
[[fixture]]
name = "wash tub"
kind = "outside shower"
place = "outside"
[[run]]
from = "fresh"
to = "strainer"
tube = "PEX 1/2 in"
length = "2 ft"
fittings = { "adapter" = 2 }
[[run]]
from = "strainer"
to = "pump"
tube = "PEX 1/2 in"
length = "6 in"
fittings = { "adapter" = 2 }
[[run]]
from = "pump"
to = "cold tee"
tube = "PEX 1/2 in"
length = "1 ft"
fittings = { "adapter" = 1 }
[[run]]
from = "cold tee"
to = "cushion"
tube = "PEX 1/2 in"
length = "1 ft"
fittings = { "adapter" = 1 }
[[run]]
from = "cold tee"
to = "cold"
tube = "PEX 1/2 in"
length = "3 ft"
fittings = { "elbow 90" = 1 }
[[run]]
from = "cold tee"
to = "heater"
tube = "PEX 1/2 in"
length = "4 ft"
fittings = { "adapter" = 1 }
[[run]]
from = "heater"
to = "hot"
tube = "PEX 1/2 in"
length = "4 ft"
fittings = { "adapter" = 1, "elbow 90" = 1 }
[[run]]
from = "cold.galley"
to = "galley.cold"
tube = "PEX 1/2 in"
length = "5 ft"
[[run]]
from = "hot.galley"
to = "galley.hot"
tube = "PEX 1/2 in"
length = "5 ft"
[[run]]
from = "cold.wash tub"
to = "mixer.cold"
tube = "PEX 1/2 in"
length = "1 ft"
[[run]]
from = "hot.wash tub"
to = "mixer.hot"
tube = "PEX 1/2 in"
length = "1 ft"
[[run]]
from = "mixer"
to = "wash tub"
tube = "PEX 1/2 in"
length = "6 ft"
place = "underfloor"
"""


@pytest.fixture
def text() -> str:
    return MANIFOLD_VAN


@pytest.fixture
def van(text: str) -> Build:
    return loads(text)
