"""Values of the data tables against printed ones.  Each test names what was printed where.

Tolerances are half a unit in the last printed place unless a test says otherwise.
"""

from __future__ import annotations

from math import pi

import pytest

from vanplumb.words.tables import Row, table

INCH, FOOT, PSI, GALLON, BTU = 0.0254, 0.3048, 6894.757, 3.785411784e-3, 1055.056
OUNCE = GALLON / 128
PEX = ["3/8", "1/2", "5/8", "3/4", "1"]


def pex(size: str) -> Row:
    return table("tubes")[f"PEX {size} in"]


def fahrenheit(value: float) -> float:
    return (value + 459.67) * 5 / 9


@pytest.mark.parametrize(
    "size, od, wall, inside",
    [
        ("3/8", 0.500, 0.070, 0.360),
        ("1/2", 0.625, 0.070, 0.485),
        ("5/8", 0.750, 0.083, 0.584),
        ("3/4", 0.875, 0.097, 0.681),
        ("1", 1.125, 0.125, 0.875),
    ],
)
def test_pex_sizes(size: str, od: float, wall: float, inside: float) -> None:
    """ASTM F876 dimensions, as printed in a published tube chart."""
    row = pex(size)
    assert row["od"] / INCH == pytest.approx(od, abs=0.0005)
    assert row["wall"] / INCH == pytest.approx(wall, abs=0.0005)
    assert (row["od"] - 2 * row["wall"]) / INCH == pytest.approx(inside, abs=0.002)


@pytest.mark.parametrize("size, ratio", [("3/8", 7.1), ("1/2", 8.9), ("3/4", 9.0), ("1", 9.0)])
def test_pex_is_sdr_9_or_thicker(size: str, ratio: float) -> None:
    """Note in a published tube chart: SDR 9, but 1/2 in and smaller have 0.070 in."""
    assert pex(size)["od"] / pex(size)["wall"] == pytest.approx(ratio, abs=0.05)


@pytest.mark.parametrize(
    "size, bore", [("3/8", 0.350), ("1/2", 0.475), ("5/8", 0.574), ("3/4", 0.671)]
)
def test_average_bore_of_pex(size: str, bore: float) -> None:
    """Published table of average inside diameters, as codes and loss tables use them."""
    assert pex(size)["bore"] / INCH == pytest.approx(bore, abs=0.002)


@pytest.mark.parametrize(
    "size, content", list(zip(PEX, [0.50, 0.92, 1.34, 1.83, 3.03], strict=True))
)
def test_content_of_pex_belongs_to_the_average_bore(size: str, content: float) -> None:
    """Published tube chart, gal per 100 ft: its contents fit the average bore, ±1 %.

    They don't fit the inside diameters printed beside them, which are those at least wall.
    """
    row = pex(size)

    def per_100_feet(diameter: float) -> float:
        return pi / 4 * diameter**2 * 100 * FOOT / GALLON

    assert per_100_feet(row["bore"]) == pytest.approx(content, rel=0.01)
    assert per_100_feet(row["od"] - 2 * row["wall"]) > 1.02 * content


@pytest.mark.parametrize("size", PEX)
def test_pressure_rating_of_pex(size: str) -> None:
    """ASTM F876, appendix X1: 160, 100 and 80 psi at 73, 180 and 200 °F."""
    row = pex(size)
    assert row["rating_temperatures"] == pytest.approx([fahrenheit(t) for t in (73, 180, 200)])
    assert [p / PSI for p in row["rating_pressures"]] == pytest.approx([160, 100, 80], rel=1e-6)


def test_pressure_rating_of_pex_follows_from_its_design_stress() -> None:
    """p = 2 HDS / (SDR − 1) with 630, 400 and 315 psi (ISO hoop formula; the last two stresses
    from memory); the standard rounds 157.5 and 78.75 psi to its classes of 160 and 80."""
    for printed, stress in zip(pex("3/4")["rating_pressures"], (630, 400, 315), strict=True):
        assert printed / PSI == pytest.approx(2 * stress / (9 - 1), rel=0.02)


@pytest.mark.parametrize("name, ounces", [("M 1/2", 1.69), ("M 3/4", 3.43), ("L 1/2", 1.55),
                                          ("L 3/4", 3.22)])  # fmt: skip
def test_content_of_copper(name: str, ounces: float) -> None:
    """IPC 2009, table E202.1: fluid ounces of water per foot; ±1 %."""
    bore = table("tubes")[f"copper {name} in"]["bore"]
    assert pi / 4 * bore**2 * FOOT / OUNCE == pytest.approx(ounces, rel=0.01)


@pytest.mark.parametrize("name", ["M 1/2", "M 3/4", "L 1/2", "L 3/4"])
def test_copper_bore_is_what_the_walls_leave(name: str) -> None:
    row = table("tubes")[f"copper {name} in"]
    assert row["bore"] == pytest.approx(row["od"] - 2 * row["wall"], abs=1e-6)


@pytest.mark.parametrize(
    "name, series",
    [("16x1.8", 4), ("20x1.9", 5), ("25x2.3", 5)],
)
def test_metric_tube_belongs_to_its_series(name: str, series: float) -> None:
    """EN ISO 15875-2 (from memory): S = (d − e) / (2 e); walls are rounded up to 0.1 mm."""
    row = table("tubes")[f"PE-X {name}"]
    od, wall = row["od"], row["wall"]
    assert (od - wall) / (2 * wall) <= series < (od - wall + 1e-4) / (2 * (wall - 1e-4))
    assert row["bore"] == pytest.approx(od - 2 * wall, abs=1e-6)


def test_growth_of_pex() -> None:
    """Trade rule: 1.1 in per 100 ft and 10 °F; a printed design sheet: 50 ft from 70 to
    150 °F grow 4.4 in."""
    growth = pex("1/2")["expansion_coefficient"]
    assert growth * 100 * FOOT * 10 * 5 / 9 / INCH == pytest.approx(1.1, abs=0.05)
    assert growth * 50 * FOOT * 80 * 5 / 9 / INCH == pytest.approx(4.4, abs=0.05)


@pytest.mark.parametrize("size, radius", [("1/2", 3.75), ("3/4", 5.25)])
def test_bend_radius_of_pex(size: str, radius: float) -> None:
    """Published handbook of tube for expanded joints: 6 outside diameters (other PEX: 8)."""
    assert pex(size)["bend_least"] / INCH == pytest.approx(radius)
    assert pex(size)["bend_least"] == pytest.approx(6 * pex(size)["od"])


@pytest.mark.parametrize("size", PEX)
def test_supports_of_pex(size: str) -> None:
    """IRC 2018, table P2605.1: 32 in for PEX up to 1 in."""
    assert pex(size)["support"] / INCH == pytest.approx(32)


@pytest.mark.parametrize("size, stub", [("1/2", 2), ("3/4", 3)])
def test_shortest_stub(size: str, stub: float) -> None:
    """Common practice, no source: 2 in of 1/2 in tube, 3 in of 3/4 in between two fittings."""
    assert pex(size)["stub_least"] / INCH == pytest.approx(stub)
    assert pex(size).source("stub_least").status == "practice"


def test_six_expansions_of_half_inch() -> None:
    """Common practice, no source: six with a powered tool; one ring at every end."""
    assert pex("1/2")["expansions"] == 6 and pex("1/2")["rings"] == 1
    assert pex("1/2").source("expansions").status == "practice"


def test_roughness_of_drawn_tubing() -> None:
    """Handbook table: drawn tubing 1.5e-6 m."""
    assert pex("1/2")["roughness"] == pytest.approx(1.5e-6)


@pytest.mark.parametrize(
    "name, printed",
    [("elbow 90", 1.5), ("elbow 45", 0.4), ("tee run", 0.9), ("tee branch", 2.0), ("union", 0.08),
     ("entrance", 0.5), ("exit", 1.0)],
)  # fmt: skip
def test_loss_coefficients_of_fittings(name: str, printed: float) -> None:
    """Handbook table, threaded fittings (the family of White and Munson)."""
    assert table("fittings")[name]["loss_coefficient"] == pytest.approx(printed)


@pytest.mark.parametrize(
    "name, low, high", [("entrance projecting", 0.8, 1.0), ("entrance rounded", 0.04, 0.05)]
)
def test_loss_coefficients_printed_as_bands(name: str, low: float, high: float) -> None:
    """Handbook table of entrances."""
    assert low <= table("fittings")[name]["loss_coefficient"] <= high


def test_loss_of_an_insert_tee_follows_from_its_printed_cv() -> None:
    """Published design manual: Cv 7.1 straight through in 3/4 in (0.671 in); K = 891 d⁴/Cv²
    (Crane), so 3.58."""
    k = 891 * 0.671**4 / 7.1**2
    assert table("fittings")["insert tee run"]["loss_coefficient"] == pytest.approx(k, abs=0.05)


@pytest.mark.parametrize(
    "name, opening, printed",
    [
        ("ball", 1, 0.05),
        ("ball", 2 / 3, 5.5),
        ("ball", 1 / 3, 200),
        ("gate", 1, 0.15),
        ("globe", 1, 10),
        ("angle", 1, 2),
    ],
)
def test_loss_coefficients_of_valves(name: str, opening: float, printed: float) -> None:
    """Handbook table: ball open, one third shut, two thirds shut; the others open."""
    row = table("valves")[name]
    pairs = dict(zip(row["openings"], row["loss_coefficients"], strict=True))
    nearest = min(pairs, key=lambda o: abs(o - opening))
    assert nearest == pytest.approx(opening, abs=0.001) and pairs[nearest] == printed


def test_ball_valve_one_third_shut() -> None:
    """Example beside the handbook table: 11 kPa at 2 m/s."""
    k = table("valves")["ball"]["loss_coefficients"][1]
    assert k * 1000 * 2**2 / 2 == pytest.approx(11e3, abs=500)


@pytest.mark.parametrize(
    "name, flow, pressure",
    [
        ("shower 2.5 gpm", 2.5, 80),  # 42 USC 6295, 10 CFR 430.32
        ("tap 2.2 gpm", 2.2, 60),  # the same
        ("shower 2.0 gpm", 2.0, 80),  # EPA WaterSense
        ("tap 1.5 gpm", 1.5, 60),  # EPA WaterSense, lavatory
        ("shower 1.8 gpm", 1.8, 80),  # California Energy Commission 2018
    ],
)
def test_greatest_flows_that_rules_allow(name: str, flow: float, pressure: float) -> None:
    row = table("fixtures")[name]
    assert row["flow"] / (GALLON / 60) == pytest.approx(flow)
    assert row["flow_pressure"] / PSI == pytest.approx(pressure, rel=1e-6)
    assert row.source("flow").status == "read"


@pytest.mark.parametrize(
    "name, lower, higher, per_gallon, per_litre, density",
    [
        ("petrol", 43.44, 46.52, 116_090, 32.36, 0.745),
        ("diesel", 42.60, 45.56, 129_488, 36.09, 0.847),
        ("propane", 46.60, 50.14, 84_950, 23.68, 0.508),
    ],
)
def test_heating_values(
    name: str, lower: float, higher: float, per_gallon: float, per_litre: float, density: float
) -> None:
    """H2 Analysis Resource Center (GREET): MJ/kg, and Btu per gallon; fuels vary by 1 %."""
    row = table("fuels")[name]
    assert row["heating_value"] / 1e6 == pytest.approx(lower, abs=0.005)
    assert row["heating_value_gross"] / 1e6 == pytest.approx(higher, abs=0.005)
    assert row["density"] / 1000 == pytest.approx(density, abs=0.0005)
    volumetric = row["heating_value"] * row["density"]
    assert volumetric / 1e9 == pytest.approx(per_litre, rel=0.01)
    assert volumetric * GALLON / BTU == pytest.approx(per_gallon, rel=0.01)


@pytest.mark.parametrize(
    "size, gauge, depth, useful",
    [
        ("3/8", 16.66, 0.856, 10.1),
        ("1/2", 20.95, 1.162, 13.2),
        ("3/4", 26.44, 1.162, 14.5),
        ("1", 33.24, 1.479, 16.8),
    ],
)
def test_taper_threads_of_iso_7(size: str, gauge: float, depth: float, useful: float) -> None:
    """A catalogue's table of British Standard threads, whose diameters are cut off, not rounded."""
    row = table("threads")[f"R {size}"]
    assert row.number("outside_diameter") * 1000 == pytest.approx(gauge, abs=0.01)
    assert row.number("effective") * 1000 == pytest.approx(useful, abs=0.05)
    between = row.number("outside_diameter") - row.number("pitch_diameter")
    assert between * 1000 == pytest.approx(depth, abs=5e-4)


@pytest.mark.parametrize(
    "size, printed", [("3/8", 17.145), ("1/2", 21.336), ("3/4", 26.67), ("1", 33.401)]
)
def test_outside_of_npt_is_that_of_the_pipe(size: str, printed: float) -> None:
    """A published list of the sizes of ASME B1.20.1, mm."""
    row = table("threads")[f"NPT {size}"]
    assert row.number("outside_diameter") * 1000 == pytest.approx(printed, abs=5e-3)


@pytest.mark.parametrize(
    "size, per_inch, hand, effective, pitch",
    [
        ("3/8", 18, 0.240, 0.4078, 0.62701),
        ("1/2", 14, 0.320, 0.5337, 0.77843),
        ("3/4", 14, 0.339, 0.5457, 0.98887),
        ("1", 11.5, 0.400, 0.6828, 1.23863),
    ],
)
def test_taper_threads(
    size: str, per_inch: float, hand: float, effective: float, pitch: float
) -> None:
    """ASME B1.20.1, basic dimensions in inches."""
    row = table("threads")[f"NPT {size}"]
    assert row["threads_per_inch"] == per_inch
    assert row["hand_tight"] / INCH == pytest.approx(hand, abs=0.0005)
    assert row["effective"] / INCH == pytest.approx(effective, abs=0.00005)
    assert row["pitch_diameter"] / INCH == pytest.approx(pitch, abs=0.000005)


@pytest.mark.parametrize("size, turns", [("3/8", 4.32), ("1/2", 4.48), ("3/4", 4.75), ("1", 4.60)])
def test_turns_by_hand(size: str, turns: float) -> None:
    """ASME B1.20.1 prints the hand-tight engagement in turns too."""
    row = table("threads")[f"NPT {size}"]
    assert row["hand_tight"] / INCH * row["threads_per_inch"] == pytest.approx(turns, abs=0.01)


def test_curing_of_compounds() -> None:
    """Typical published data: an anaerobic sealant is full in 24 h at 20 °C, on metal only.
    Common practice, no source: a high-temperature sealant sets for 72 h."""
    compounds = table("compounds")
    assert compounds["anaerobic sealant"]["cure"] == 24 * 3600
    assert compounds["anaerobic sealant"]["materials"] == ("metal",)
    assert compounds["high-temperature sealant"]["cure"] == 72 * 3600
    assert compounds["high-temperature sealant"].source("cure").status == "practice"


def test_waiting_of_an_expansion_joint() -> None:
    """Trade article: 30 min at 40 to 70 °F before it is tested; ASTM F1960: PEX only."""
    row = table("joints")["expansion"]
    assert row["wait"] == 30 * 60 and row["materials"] == ("PEX",)


def test_a_middling_pump_lies_in_the_published_band() -> None:
    """Typical published data of 12 V pumps (from memory): 2.8 to 3.5 gpm open, 2 to 2.4 at 20
    to 30 psi, cut-out 40 to 55 psi and 10 to 15 psi above cut-in, 4 to 5 A open, 7 to 9 A
    near cut-out, lift 6 to 12 ft."""
    row = table("pumps")["12 V 2.8 gpm 40 psi"]
    flow = {
        round(p / PSI): q / (GALLON / 60)
        for p, q in zip(row["curve_pressure"], row["curve_flow"], strict=True)
    }
    assert 2.8 - 1e-9 <= flow[0] <= 3.5 and 2.0 <= flow[30] <= flow[20] <= 2.4
    assert 40 <= row["cut_out"] / PSI <= 55
    assert 10 <= (row["cut_out"] - row["cut_in"]) / PSI <= 15
    assert 4 <= row["curve_current"][0] <= 5 and 7 <= row["curve_current"][-2] <= 9
    assert 6 - 1e-9 <= row["lift"] / FOOT <= 12
