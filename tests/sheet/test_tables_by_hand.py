"""The tables of the three example sheets against one another, by hand from what is printed.

A figure may be off by what the printed digits leave open, and no more.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from itertools import pairwise
from math import log10, pi
from typing import Any

import pytest

from tests.examples import pack_of
from tests.sheet.by_hand import PSI, Figure, Table, figure, table
from tests.sheet.test_by_hand import EXAMPLES, answers, sheet

GRAVITY = 9.80665
BOARDS = ("dipper",)


def told(name: str, label: str) -> Figure:
    """The printed answer whose label begins so."""
    return figure(next(a.answer for a in answers(name) if a.label.startswith(label)))


def full(cells: list[Figure | None]) -> list[Figure]:
    return [c for c in cells if c is not None]


def between(low: float, high: float, printed: Figure) -> bool:
    """Whether a printed figure lies in a range, give or take its last place."""
    slack = printed.half * 1.01 + 1e-12
    return min(low, high) - slack <= printed.value <= max(low, high) + slack


def ends(f: Figure) -> tuple[float, float]:
    return f.value - f.half, f.value + f.half


def water_at(name: str) -> dict[float, tuple[Figure, Figure]]:
    """Density and viscosity by the temperature that is printed beside them."""
    properties = table(sheet(name), "At the temperatures of this build")
    columns = (full(properties.figures(h)) for h in ("temperature", "density", "viscosity"))
    return {at.value: (d, v) for at, d, v in zip(*columns, strict=True)}


def water(name: str, kind: str) -> tuple[float, float]:
    """Density and viscosity of cold, hot or mixed water, read off the table of properties.

    Cold is the coolest row, hot the hottest, mixed between them.
    """
    properties = table(sheet(name), "At the temperatures of this build")
    rows = list(zip(full(properties.figures("density")), full(properties.figures("viscosity")),
                    full(properties.figures("temperature")), strict=False))  # fmt: skip
    rows.sort(key=lambda row: row[2].value)
    return {"cold": rows[0], "hot": rows[-1]}[kind][0].value, {"cold": rows[0], "hot": rows[-1]}[
        kind
    ][1].value


# ---- water, current, weight --------------------------------------------------------


@pytest.mark.parametrize("name", EXAMPLES)
def test_uses_add_up_to_the_day(name: str) -> None:
    uses = table(sheet(name), "Uses of water in a day")
    times, each, daily = (uses.figures(h) for h in ("times a day", "each", "in a day"))
    for n, one, day in zip(times, each, daily, strict=True):
        if n is not None and one is not None and day is not None:
            low, high = (n.value * x for x in ends(one))
            assert between(low, high, day)
    parts = full(daily)
    spread = sum(p.half for p in parts)
    total = sum(p.value for p in parts)
    assert between(total - spread, total + spread, told(name, "Water used in a day"))


@pytest.mark.parametrize("name", EXAMPLES)
def test_what_weighs_adds_up_and_is_its_share_of_the_payload(name: str) -> None:
    loads = table(sheet(name), "What weighs how much")
    masses = full(loads.figures("mass"))
    total, spread = sum(m.value for m in masses), sum(m.half for m in masses)
    whole = told(name, "All of it, fresh tanks full")
    assert between(total - spread, total + spread, whole)
    payload = next(figure(row[1]) for row in _inputs(name) if row[0] == "Payload of the van")
    share = told(name, "Share of the payload")
    low, high = (x / payload.value for x in ends(whole))
    assert between(low, high, share)


def _inputs(name: str) -> list[list[str]]:
    """The rows of every table of inputs."""
    found: list[list[str]] = []
    for part in sheet(name).split("<h3>Inputs</h3>")[1:]:
        found += table(f"<h3>Inputs</h3>{part}", "Inputs").rows
    return found


@pytest.mark.parametrize("name", ["dipper", "heron"])
def test_current_adds_up_and_the_battery_bridges_what_the_charge_lacks(name: str) -> None:
    parts = full(table(sheet(name), "Energy drawn from the battery in a day").figures("energy"))
    total, spread = sum(p.value for p in parts), sum(p.half for p in parts)
    whole = told(name, "Energy drawn from the battery in a day")
    assert between(total - spread, total + spread, whole)
    lacks = whole.value - told(name, "Charged in a day").value
    if lacks > 0:
        days = told(name, "Days that the battery lasts, at the mean of a day")
        store = told(name, "Energy that may be taken from the battery")
        slack = whole.half * 2
        assert between(store.value / (lacks + slack), store.value / (lacks - slack), days)


# ---- runs and network --------------------------------------------------------------


def friction_factor(reynolds: float, wall: float) -> float:
    """By the law that the sheet states: laminar, Colebrook, and a smooth bridge between."""

    def colebrook(number: float) -> float:
        root = 8.0
        for _ in range(60):
            root = -2 * log10(wall / 3.7 + 2.51 * root / number)
        return root**-2

    if reynolds <= 2000:
        return 64 / reynolds
    if reynolds >= 4000:
        return colebrook(reynolds)
    way = log10(reynolds / 2000) / log10(2)
    share = way**2 * (3 - 2 * way)
    return (1 - share) * 64 / reynolds + share * colebrook(reynolds)


def tubes(name: str) -> dict[str, tuple[float, float]]:
    """Bore and roughness of each tube."""
    printed = table(sheet(name), "Tubes that the sums use")
    sizes = zip(full(printed.figures("bore")), full(printed.figures("roughness")), strict=True)
    return {t: (b.value, r.value) for t, (b, r) in zip(printed.texts("tube"), sizes, strict=True)}


@pytest.mark.parametrize("name", EXAMPLES)
def test_each_run_where_it_carries_most(name: str) -> None:
    """Speed, Reynolds number, factor, friction: from flow, bore, length and the water's sorts."""
    runs, sizes, done = table(sheet(name), "Each run where it carries most"), tubes(name), 0
    columns = {h: runs.figures(h) for h in ("length", "flow", "speed", "Reynolds", "factor f",
                                            "friction")}  # fmt: skip
    known, warm = water_at(name), full(runs.figures("at"))
    for n, tube in enumerate(runs.texts("tube")):
        one = {h: column[n] for h, column in columns.items()}
        length, flow, speed, number, factor, friction = full(list(one.values()))
        bore, rough = sizes[tube]
        area = pi / 4 * bore**2
        assert between(*(q / area for q in ends(flow)), speed)
        assert factor.holds(friction_factor(number.value, rough / bore)) or factor.value == (
            pytest.approx(friction_factor(number.value, rough / bore), rel=2e-4)
        )
        if warm[n].value not in known:
            continue
        density, sticky = known[warm[n].value]
        dense = ends(density)
        reynolds = [
            d * q / area * bore / v
            for d, q, v in zip(dense, ends(flow), reversed(ends(sticky)), strict=True)
        ]
        assert between(*reynolds, number)
        lost = [
            f * long / bore * d * (q / area) ** 2 / 2
            for f, long, d, q in zip(ends(factor), ends(length), dense, ends(flow), strict=True)
        ]
        assert between(*lost, friction)
        done += 1
    assert done >= 2


@pytest.mark.parametrize("name", EXAMPLES)
def test_losses_of_the_network_close_from_its_own_columns(name: str) -> None:
    """Friction, fittings and rise of each run, and each valve's Kv, make the printed loss."""
    page = sheet(name)
    net, runs = table(page, "The network in full"), table(page, "Each run where it carries most")
    sizes = tubes(name)
    own = {f"run {no}": (tube, length, kind) for no, tube, length, kind in zip(
        runs.texts("No."), runs.texts("tube"), full(runs.figures("length")), runs.texts("water"),
        strict=True)}  # fmt: skip
    # Cv is the flow in gpm at 1 psi, Kv that in m³/h at 1 bar
    valve, at = ("Cv", PSI) if name == "dipper" else ("Kv", 1e5)
    columns = {h: net.figures(h) for h in ("flow", "factor f", "K", valve, "loss in all",
                                           "of it, rise")}  # fmt: skip
    push = page.partition("hecks in mixing valves open at ")[2].partition(" (assumed)")[0]
    opens = figure(push).value if push else 0.0
    losses = valves = 0
    for n, link in enumerate(net.texts("link")):
        flow, factor, k, kv, loss, rise = (columns[h][n] for h in columns)
        assert flow is not None and loss is not None
        lift = rise.value if rise else 0.0
        if link in own and factor is not None:
            tube, length, kind = own[link]
            bore, _ = sizes[tube]
            densities = [
                water(name, k)[0] for k in (("cold", "hot") if kind == "mixed" else (kind,))
            ]
            ways = [
                (f * long / bore + (k.value if k else 0.0)) * d * (q / (pi / 4 * bore**2)) ** 2 / 2
                for f, long, q, d in zip(ends(factor), ends(length), ends(flow),
                                         (min(densities), max(densities)), strict=True)
            ]  # fmt: skip
            slack = rise.half if rise else 0.0
            assert between(ways[0] + lift - slack, ways[1] + lift + slack, loss), link
            losses += 1
        elif kv is not None and net.texts("what")[n] not in ("check valve",):
            lost = [at * (q / c) ** 2 for q, c in zip(ends(flow), ends(kv)[::-1], strict=True)]
            if net.texts("what")[n] == "mixing valve":
                lost = [x + opens for x in lost]
            # the water between 970 and 1000 kg/m³, as hot as it may be
            assert between(0.97 * lost[0], lost[1], loss), link
            valves += 1
    assert losses >= 2 and valves >= 1


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_network_balances_at_its_junctions(name: str) -> None:
    """A run's loss is what its two ends differ by, where both stand in the table of nodes."""
    nodes = table(sheet(name), "Nodes:")
    at = dict(zip(nodes.texts("node"), nodes.figures("pressure"), strict=True))
    net = table(sheet(name), "The network in full")
    done = 0
    plain = ("pump", "heater", "strainer", "check valve", "shut-off")
    for link, what, loss in zip(
        net.texts("link"), net.texts("what"), net.figures("loss in all"), strict=True
    ):
        if what not in plain:
            continue
        for start, end in (
            (f"{link}, cold inlet", f"{link}, hot outlet"),
            (f"{link}, inlet", f"{link}, outlet"),
        ):
            first, last = at.get(start), at.get(end)
            if first is not None and last is not None and loss is not None:
                gap = first.value - last.value
                slack = first.half + last.half
                assert between(gap - slack, gap + slack, loss), link
                done += 1
    assert done >= 1


@pytest.mark.parametrize("name", ["dipper", "heron"])
def test_the_pump_stands_on_its_curve(name: str) -> None:
    """With everything open: what the pump adds and gives, straight between the curve's points."""
    curve = table(sheet(name), "Curve of the pump")
    adds, gives = full(curve.figures("pressure that it adds")), full(curve.figures("flow"))
    net = table(sheet(name), "The network in full")
    row = net.texts("what").index("pump")
    flow, loss = net.figures("flow")[row], net.figures("loss in all")[row]
    assert flow is not None and loss is not None
    points = sorted(zip((p.value for p in adds), (q.value for q in gives), strict=True))
    here = -loss.value
    (p0, q0), (p1, q1) = next((a, b) for a, b in pairwise(points) if a[0] <= here <= b[0])
    given = q0 + (q1 - q0) * (here - p0) / (p1 - p0)
    slope = abs((q1 - q0) / (p1 - p0))
    slack = slope * loss.half + gives[0].half
    assert between(given - slack, given + slack, flow)


@pytest.mark.parametrize("name", ["dipper", "heron"])
def test_jumps_are_differences_of_the_situations(name: str) -> None:
    jumps = table(sheet(name), "What one fixture does to another")
    before, after, change = (
        jumps.figures("alone"), jumps.figures("then"), jumps.figures("change", rise=True)
    )  # fmt: skip
    for a, b, c in zip(before, after, change, strict=True):
        assert a is not None and b is not None
        gap, slack = b.value - a.value, a.half + b.half
        if c is None:  # a thermostatic valve holds it, within its band
            assert abs(gap) < 2.0 + slack
            continue
        assert between(gap - slack, gap + slack, c)
    moments: dict[str, list[tuple[str, Any]]] = {}
    situations = table(sheet(name), "Situations")
    for moment_, fixture, flow in zip(
        *(situations.texts(h) for h in ("situation", "fixture")), situations.figures("flow"),
        strict=True,
    ):  # fmt: skip
        if flow is not None and "shore" not in moment_:
            moments.setdefault(moment_, []).append((fixture, flow))
    # a build may call a moment by a name of its own
    flows = [rows[0] for said, rows in moments.items() if len(rows) == 1 and "alone" in said]
    alone = full(jumps.figures("flow alone"))
    for fixture, flow in zip(jumps.texts("fixture"), alone, strict=True):
        assert (fixture, flow) in flows


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_surge_adds_to_what_was_there_before(name: str) -> None:
    hammer = table(sheet(name), "Water hammer")
    columns = (hammer.figures(h) for h in ("before", "rise", "peak", "speed", "wave",
                                           "rise if at once"))  # fmt: skip
    for before, rise, peak, speed, wave, instant in zip(*columns, strict=True):
        assert before and rise and peak and speed and wave and instant
        slack = before.half + rise.half
        total = before.value + rise.value
        assert between(total - slack, total + slack, peak)
        # density between 970 and 1000 kg/m³
        low, high = (
            d * s * w for d, s, w in zip((970, 1000), ends(speed), ends(wave), strict=True)
        )
        assert between(low, high, instant)
        assert rise.value <= instant.value


# ---- days and nights ---------------------------------------------------------------


@pytest.mark.parametrize("name", EXAMPLES)
def test_evenings_carry_what_is_left(name: str) -> None:
    """Water in the tanks is fresh, heel and grey at the cold water's density; the system's share
    is all that was aboard less the water that has gone and the fuel that was burned."""
    days = table(sheet(name), "Aboard at the end of each day")
    tanks = table(sheet(name), "Tanks")
    heel = next(f for f in tanks.figures("heel") if f is not None)
    density, _ = water(name, "cold")
    payload = next(figure(row[1]) for row in _inputs(name) if row[0] == "Payload of the van")
    whole = told(name, "All of it, fresh tanks full")
    first = next(f for f in tanks.figures("water when full") if f is not None)
    burned = days.figures("fuel")
    columns = (days.figures(h) for h in ("fresh that can be pumped", "grey", "water in the tanks",
                                         "system, share of payload"))  # fmt: skip
    carried = next((figure(row[1]) for row in table(sheet(name), "What weighs").rows
                    if row[0] == "fuel for the heater"), None)  # fmt: skip
    loads = table(sheet(name), "What weighs how much")
    start = dict(zip(loads.texts("part"), loads.figures("mass"), strict=True))
    carried = start.get("fuel for the heater")
    for fresh, grey, mass, share, fuel in zip(*columns, burned, strict=True):
        assert fresh and grey is not None and mass and share
        held = density * (fresh.value + heel.value + grey.value)
        slack = density * (fresh.half + heel.half + grey.half)
        assert between(held - slack, held + slack, mass)
        gone = first.value - mass.value
        used = carried.value - fuel.value if carried and fuel else 0.0
        slack = whole.half + first.half + mass.half + (fuel.half + carried.half if fuel and carried
                                                       else 0.0)  # fmt: skip
        left = whole.value - gone - used
        assert between((left - slack) / payload.value, (left + slack) / payload.value, share)


@pytest.mark.parametrize("name", ["dipper", "heron"])
def test_what_runs_off_is_the_flow_for_the_wait(name: str) -> None:
    waits = table(sheet(name), "Waits")
    columns = (waits.figures(h) for h in ("flow", "wait", "run off", "holds"))
    for flow, wait, off, holds in zip(*columns, strict=True):
        assert flow and wait and off and holds
        low, high = (q * t for q, t in zip(ends(flow), ends(wait), strict=True))
        assert between(low, high, off)
        assert off.value > holds.value - holds.half - off.half


# ---- board and shop ----------------------------------------------------------------


@pytest.mark.parametrize("name", BOARDS)
def test_cuts_are_centres_less_take_offs(name: str) -> None:
    cuts = table(sheet(name), "Cut list")
    place = cuts.place("Take-off at the start")
    unit = cuts.heads[place].partition(", ")[2]
    middle = next(h for h in cuts.heads if h.startswith("Cent")).partition(",")[0]
    for row, centre, cut in zip(cuts.rows, cuts.figures(middle), cuts.figures("Cut"), strict=True):
        one, other = (figure(f"{row[n]} {unit}") for n in (place, place + 1))
        assert centre and cut
        left = centre.value - one.value - other.value
        slack = centre.half + one.half + other.half
        assert between(left - slack, left + slack, cut)
    for row in table(sheet(name), "Headers closed").rows:
        assert float(row[1]) - float(row[2]) == pytest.approx(float(row[3]), abs=1e-3)


@pytest.mark.parametrize("name", BOARDS)
def test_lengths_of_the_cut_plan_close_with_what_is_kept_spare(name: str) -> None:
    plan = table(sheet(name), "Cut plan")
    spare = next(figure(row[1]) for row in _inputs(name) if row[0].startswith("Kept spare"))
    pieces, cuts, left = (plan.figures(h) for h in ("Pieces", "Cut each", "Left"))
    length, used, slack, closed = 0.0, 0.0, 0.0, 0
    for head, many, cut, rest in zip(plan.texts("Length no."), pieces, cuts, left, strict=True):
        if head != "–":
            length, used, slack = figure(head.rpartition(", ")[2]).value, 0.0, 0.0
        assert many and cut
        used += many.value * (cut.value + spare.value)
        slack += many.value * cut.half
        if rest is not None:
            assert between(length - used - slack, length - used + slack, rest)
            assert rest.value >= -rest.half
            closed += 1
    assert closed >= 2


def moment(text: str) -> datetime:
    """A printed moment; the year does not matter, but its days do."""
    return datetime.strptime(f"{text} 2025", "%a %d %b %H:%M %Y")


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_order_of_work_keeps_its_printed_times(name: str) -> None:
    """Each stage that ends on the day it begins takes so many times what one step takes."""
    order, times = table(sheet(name), "Order of work"), table(sheet(name), "Times of work")
    takes = dict(zip(times.texts("step"), (figure(t).value for t in times.texts("takes")),
                     strict=True))  # fmt: skip
    runs = len([1 for a in sheet(name).split("<dt>run ")[1:]]) or None
    done = 0
    for what, begins, ends_at in zip(*(order.texts(h) for h in ("work", "begins", "done")),
                                     strict=True):  # fmt: skip
        begin, end = moment(begins), moment(ends_at)
        many, _, kind = what.partition(" × ")
        one = None
        if kind:
            step = kind.partition(",")[0] if "," in kind else f"{kind.split()[0]} thread"
            one = int(many) * takes[f"one joint: {step}"]
        elif what in takes:
            one = takes[what]
        elif what == "hand-over":
            one = takes["show the owner"]
        if one is not None and begin.date() == end.date():
            assert end - begin == timedelta(seconds=one), what
            done += 1
    joints = told(name, "joints to make").value
    test = next(row for row in order.rows if row[0] == "pressure test")
    watched = pack_of(name).shop.test.duration / 60
    minutes = takes["read the test"] / 60 + 30 + watched + joints / 4
    taken = (moment(test[3]) - moment(test[2])).total_seconds() / 60
    assert taken == pytest.approx(minutes, abs=1.0)
    assert done >= 4 and runs is None


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_joint_is_ready_when_its_printed_wait_is_over(name: str) -> None:
    order = table(sheet(name), "Order of work")
    waits = table(sheet(name), "Waits before pressure")
    found = dict(zip(waits.texts("joint made with"), waits.texts("waits"), strict=True))
    done = 0
    for what, end, ready in zip(*(order.texts(h) for h in ("work", "done", "ready")), strict=True):
        _, _, kind = what.partition(" × ")
        if not kind:
            continue
        made = kind.partition(" with ")[2] or kind.partition(",")[0]
        wait = found[made]
        hours = 0.0 if wait == "none" else figure(wait).value / 3600
        slack = 0.0 if wait == "none" else figure(wait).half / 3600
        taken = (moment(ready) - moment(end)).total_seconds() / 3600
        assert taken == pytest.approx(hours, abs=slack + 1 / 60)
        done += 1
    assert done >= 2


@pytest.mark.parametrize("name", EXAMPLES)
def test_joints_are_counted_alike_by_kind_by_run_and_in_all(name: str) -> None:
    kinds = full(table(sheet(name), "Joints by kind").figures("joints"))
    every = told(name, "joints to make").value
    assert sum(k.value for k in kinds) == every
    made = table(sheet(name), "Joints by run").texts("made as")
    assert sum(int(part.split(" × ")[0]) for row in made for part in row.split(", ")
               if " × " in part) == every  # fmt: skip


def test_a_table_that_is_not_there_is_told() -> None:
    with pytest.raises(StopIteration):
        table(sheet("wren"), "Cut list")
    assert isinstance(table(sheet("wren"), "Tanks"), Table)
