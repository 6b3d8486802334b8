"""Tube bent round its corners: the run as made, and everything that follows from it."""

from __future__ import annotations

from math import pi
from types import SimpleNamespace

import pytest
from pytest import approx

from tests.lists.test_random_vans import check
from tests.review.test_lists_rules import TEXT
from vanplumb.flow.engine import Flow
from vanplumb.lists import Lists
from vanplumb.review import lists as rules
from vanplumb.van import loads

INCH = 0.0254
RADIUS = 3.75 * INCH
"""The least radius of half inch PEX in the table."""
CORNERS = TEXT.replace(
    'to = "tap"\ntube = "PEX 1/2 in"\nlength = "5 ft"\nfittings = { "adapter" = 2 }',
    'to = "tap"\ntube = "PEX 1/2 in"\nlength = "5 ft"\n'
    'fittings = { "adapter" = 2, "insert elbow 90" = 2 }',
)
BENT = CORNERS + "[shop]\nbend_corners = true\n"


def lists_of(text: str) -> Lists:
    return Lists(loads(text))


def test_without_the_key_elbows_stay() -> None:
    assert (
        loads(CORNERS).bent == () and dict(loads(CORNERS).run[1].fittings)["insert elbow 90"] == 2
    )


def test_a_bent_run_is_shorter_by_what_its_corners_cut_off() -> None:
    """By a square of the radius at each corner less the quarter circle in it, from geometry."""
    build = loads(BENT)
    (made,) = build.bent
    assert (made.index, made.corners, made.refused) == (1, 2, "")
    assert made.radius == approx(RADIUS)
    assert build.run[1].length == approx(60 * INCH - 2 * (2 - pi / 2) * RADIUS)
    assert dict(build.run[1].fittings) == {"adapter": 2, "bend": 2}


def test_joints_rings_elbows_and_weight_follow() -> None:
    elbows, bends = lists_of(CORNERS), lists_of(BENT)
    # each elbow has two ends, each with a ring
    assert len(elbows.joints) - len(bends.joints) == 4
    rings = [one.bill.line("ring for PEX 1/2 in").needed for one in (elbows, bends)]
    assert rings[0] - rings[1] == 4
    assert [u.part.kind for u in elbows.fittings].count("elbow") == 2
    assert "elbow" not in [u.part.kind for u in bends.fittings]
    assert len([p for p in elbows.pieces if p.run == 1 and p.kind == "run"]) == 3
    (piece,) = [p for p in bends.pieces if p.run == 1 and p.kind == "run"]
    assert piece.bends == 2 and bends.bill.mass < elbows.bill.mass
    check(bends)


def test_more_flows_through_bends_than_through_elbows() -> None:
    flows = [Flow(loads(text)).solve(["tap"]).fixtures["tap"].flow for text in (CORNERS, BENT)]
    assert flows[1] > flows[0] > 0


@pytest.mark.parametrize(
    "more, words",
    [
        ('legs = ["3 in", "54 in", "3 in"]', "too short for the tube's least radius"),
        ('legs = ["27 in", "6 in", "27 in"]', "too short for the tube's least radius"),
    ],
)
def test_corners_without_room_stay_elbows_and_are_told(more: str, words: str) -> None:
    text = BENT.replace('"insert elbow 90" = 2 }', f'"insert elbow 90" = 2 }}\n{more}')
    build = loads(text)
    assert build.bent[0].refused and build.run == loads(text.replace("true", "false")).run
    (told,) = rules.corners_not_bent(SimpleNamespace(build=build))
    assert words in told.what and told.where == "run 2" and told.value < told.limit
    assert list(rules.corners_not_bent(SimpleNamespace(build=loads(BENT)))) == []


def test_a_coupling_somewhere_in_the_run_keeps_the_elbows() -> None:
    text = BENT.replace('"insert elbow 90" = 2', '"insert elbow 90" = 2, "insert coupling" = 1')
    assert "nobody says where" in loads(text).bent[0].refused


def test_a_run_as_long_as_it_rises_keeps_its_elbows() -> None:
    text = BENT.replace('"insert elbow 90" = 2 }', '"insert elbow 90" = 2 }\nrise = "58 in"')
    assert "shorter than it rises" in loads(text).bent[0].refused


def test_legs_with_room_are_bent() -> None:
    legs = 'legs = ["20 in", "20 in", "20 in"]'
    text = BENT.replace('"insert elbow 90" = 2 }', f'"insert elbow 90" = 2 }}\n{legs}')
    build = loads(text)
    assert build.bent[0].refused == "" and build.run[1].legs == ()
    check(Lists(build))


@pytest.mark.parametrize("said, shop", [("bent", "false"), ("elbows", "true")])
def test_a_run_says_its_own_corners_whatever_the_shop_does(said: str, shop: str) -> None:
    text = BENT.replace("bend_corners = true", f"bend_corners = {shop}").replace(
        '"insert elbow 90" = 2 }', f'"insert elbow 90" = 2 }}\ncorners = "{said}"'
    )
    build = loads(text)
    assert len(build.bent) == (said == "bent")
    assert dict(build.run[1].fittings).get("bend", 0) == (2 if said == "bent" else 0)
    same = loads(BENT if said == "bent" else CORNERS)
    assert build.run[1].length == same.run[1].length
