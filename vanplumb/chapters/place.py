"""The rules of the place, on the sheet: which rules were taken, whose they are, what they ask."""

from __future__ import annotations

from collections.abc import Iterator

from ..answers import Answers
from ..shop.place import Place
from ..van.kinds import heaters
from ..van.model import Build
from ..van.parts import Fixture
from ..van.region import (
    NOT_KNOWN,
    backflow_devices,
    clips_of_run,
    device_told,
    disinfection,
    heater_distance,
    limit_at,
    mixed_limit,
    pressure_test_rule,
    rules_of,
)
from ..van.trace import served, title
from ..words.hazards import MAINS
from ..words.report import RIGHT, Answer, Caution, Chapter, Grid, grid
from ..words.show import first_of, show
from ..words.sources import Source
from ..words.tables import Row, table

PLACES = {"shower": "hand shower", "outside shower": "outside shower", "hose": "hose outlet"}
"""Sorts of fixture, and what the table of backflow devices calls them."""


CATEGORIES = (
    "Categories of EN 1717: 1 drinking water, 2 changed in taste, smell or warmth, 3 somewhat "
    "harmful, 4 toxic, 5 with germs of illness; a device is for its category and those below."
)
"""What the categories of water behind a device mean."""


def place_chapter(answers: Answers) -> Chapter:
    """The rules of the build's region, and what they ask of this build."""
    build = answers.build
    place = Place(build)
    return Chapter(
        "place",
        f"Rules of the place: {place.region.title}",
        basis=(
            f"Region: {place.region.title}, {place.region.basis}; {place.region.row['about']}.",
            "The local code and its authority go first, then the manufacturers' instructions. A "
            "rule for buildings is told as such; no rule here is law for a van unless the local "
            "law says so. Where sources differ, the one that is named beside the figure was used.",
        ),
        answers=(*_rules(answers), *_sums(place)),
        grids=tuple(g for g in (*_grids(answers, place),) if g.rows),
        cautions=(
            *(
                (MAINS.caution("Wires above 50 V are left out here."),)
                if any(map(heaters.on_mains, build.heater))
                else ()
            ),
            Caution(
                "WARNING",
                "What comes loose in a crash kills: straps and anchors by the instructions of the "
                "van's maker for converters.",
            ),
        ),
        not_computed=tuple(_unknown(answers, place)),
    )


def _rules(answers: Answers) -> Iterator[Answer]:
    """The rules that were taken, one a line."""
    build = answers.build
    for label, row in (
        ("pressure test", pressure_test_rule(build)),
        ("test by air", pressure_test_rule(build, "air")),
        ("disinfecting", disinfection(build)),
    ):
        if row is None:
            yield Answer(label, NOT_KNOWN)
        else:
            yield Answer(label, row.name, basis=str(row.source("about")), note=str(row["about"]))
    limit = limit_at(build)
    if limit is not None:
        yield Answer("hottest at a mixed outlet", limit.value, "temperature",
                     basis=str(limit.source), note=limit.who)  # fmt: skip
    row = Place(build).region.row
    parallel = f"; parallel {row['parallel']} by a washer" if row["parallel"] else ""
    yield Answer("threads", f"taper {row['taper']}{parallel}", basis=str(row.source("taper")))


def _sums(place: Place) -> Iterator[Answer]:
    for one in place.consumers:
        fuse = one.fuse.name if one.fuse else "above the table"
        yield Answer(f"fuse of {one.name}", fuse, note=f"for {show(one.current, 'current')} at the "
                     "most; near the battery; the instructions name another: that one")  # fmt: skip
    for strap in place.straps:
        yield Answer(f"straps of {strap.name}, braking", strap.forward.value, "force",
                     (strap.forward,), str(strap.row.source("forward")),
                     "full" if strap.own is not None else "its water alone")  # fmt: skip
    known = {strap.name for strap in place.straps}
    for name in place.unweighed if known else ():
        if name not in known:
            yield Answer(f"straps of {name}, braking", "not known",
                         note="the file does not say its mass")  # fmt: skip
    if place.belongings is not None:
        row, work = place.belongings
        yield Answer("belongings to be able to carry", work.value, "mass", (work,), row.basis)


def _known(build: Build) -> Iterator[Grid]:
    """Every test and every way of disinfecting that the region has, by the name that chooses it."""
    yield grid(
        "Pressure tests of the region",
        rules_of(build, "test_rules").values(),
        {
            "test_rule": lambda r: r.name,
            "by": lambda r: r["medium"],
            "watched": (lambda r: show(r.number("duration"), "duration"), RIGHT),
            "what it asks": lambda r: r["about"],
            "source": lambda r: str(r.source("about")),
        },
        key="test_rules",
        note="Another than the one taken is chosen by its name (test_rule, under [limits]).",
    )
    yield grid(
        "Ways to disinfect of the region",
        rules_of(build, "disinfection_rules").values(),
        {
            "disinfection": lambda r: r.name,
            "with": lambda r: r["agent"],
            "dose": (lambda r: r["concentration"], "concentration"),
            "stands": (lambda r: show(r.number("duration"), "duration"), RIGHT),
            "left, at least": (lambda r: r["residual_least"], "concentration"),
            "water at most": (lambda r: r["temperature_greatest"], "temperature"),
            "what it asks": lambda r: r["about"],
            "source": lambda r: str(r.source("about")),
        },
        key="disinfection_rules",
        note="Another than the one taken is chosen by its name (disinfection, under [limits]).",
    )
    if build.heater:
        yield grid(
            "How soon hot water burns deeply",
            sorted(table("burns").values(), key=lambda r: (-r.number("temperature"), r["who"])),
            {
                "water": (lambda r: r["temperature"], "temperature"),
                "who": lambda r: {"old": "old people", "child": "small child"}.get(
                    r["who"], r["who"]
                ),
                "after": (lambda r: show(r.number("duration"), "duration"), RIGHT),
                "source": lambda r: str(r.source("duration")),
            },
            key="burns",
            note="Sources differ on children and old people: take the shorter time.",
        )


def _grids(answers: Answers, place: Place) -> Iterator[Grid]:
    build = answers.build
    yield from _known(build)
    kinds = table("fixtures", build.rows)
    warm = {name for h in build.heater for name in served(build, h.name)}
    fed = [
        (f, limit_at(build, f.name)) for f in build.fixture if f.kind in kinds and f.name in warm
    ]
    yield grid(
        "Hottest at each outlet",
        [(f, at) for f, at in fed if at is not None],
        {
            "fixture": lambda one: one[0].name,
            "used by": lambda one: "vulnerable" if one[0].vulnerable else "anyone",
            "at most": (lambda one: one[1].value, "temperature"),
            "rule": lambda one: one[1].who,
            "source": lambda one: str(one[1].source),
            "the region's own": (lambda one: _of_region(build, one[0])[0], "temperature"),
            "its rule": lambda one: _of_region(build, one[0])[1],
        },
        key="outlet_limits",
    )
    yield grid(
        "Water against the growth of germs",
        rules_of(build, "water_temperatures").values(),
        {
            "water": lambda r: {"growth": "where germs grow"}.get(r["place"], r["place"]),
            "at least": (lambda r: r["least"], "temperature"),
            "at most": (lambda r: r["greatest"], "temperature"),
            "when": lambda r: r["about"] or "",
            "source": lambda r: str(r.source("place")),
        },
    )
    yield grid(
        "Greatest speeds of water",
        rules_of(build, "velocities").values(),
        {
            "where": lambda r: {"header": "headers", "single": "to one fixture"}.get(
                r["place"], "anywhere"
            ),
            "tube": lambda r: ", ".join(r["materials"] or ()) or "any",
            "water": lambda r: {True: "hot", False: "cold", None: "any"}[r["hot"]],
            "at most": (lambda r: r["velocity"], "velocity"),
            "source": lambda r: str(r.source("velocity")),
        },
    )
    yield grid(
        "Flow that a building is sized for, beside this van's",
        [(f, row) for f in build.fixture if (row := _draw_off(answers, f.kind)) is not None],
        {
            "fixture": lambda one: one[0].name,
            "here": (lambda one: one[0].flow or kinds[one[0].kind]["flow"], "flow"),
            "building": (lambda one: one[1]["flow"], "flow"),
            "building, at least": (lambda one: one[1]["flow_least"], "flow"),
            "source": lambda one: str(one[1].source("flow")),
        },
        note="For buildings on mains water: a van with a tank gives less on purpose.",
    )
    yield _backflow_grid(answers)
    tubes = dict.fromkeys(run.tube for run in build.run)
    yield grid(
        "Clips and bends",
        place.clips,
        {
            "tube": "tube",
            "level, at most": (lambda c: c.level and c.level.value, "length"),
            "upright, at most": (lambda c: c.upright and c.upright.value, "length"),
            "bent by hand, radius at least": (
                lambda c: table("tubes", build.rows)[c.tube]["bend_least"],
                "length",
            ),
            "source": lambda c: str(c.level.source) if c.level else NOT_KNOWN,
        },
        key="clips",
    )
    yield grid(
        "Clips of each run",
        [(n, run, clips_of_run(build, n)) for n, run in enumerate(build.run)],
        {
            "run": lambda one: f"{one[0] + 1}: {title(build, one[0])}",
            "lies": lambda one: "upright" if one[2].upright else "level",
            "apart, at most": (lambda one: one[2].allowed, "length"),
            "here": (lambda one: one[1].clip_spacing, "length"),
            "clips, at least": (lambda one: one[2].count(one[1].length), RIGHT),
        },
        key="run_clips",
        note="What asks for less goes first: the region or the tube itself. Where nothing is said "
        "of a run, it is counted as close as asked.",
    )
    metal = [
        (h, t, asked)
        for h in build.heater
        for t in tubes
        if any(r.tube == t and h.name in {e.component for e in build.ends(r)} for r in build.run)
        and (asked := heater_distance(build, t, h.kind)) is not None
    ]
    yield grid(
        "Metal first at a heater",
        metal,
        {
            "heater": lambda one: one[0].name,
            "tube": lambda one: one[1],
            "from the heater": (lambda one: one[2].value, "length"),
            "rule": lambda one: str(one[2].row["about"]),
            "source": lambda one: str(one[2].source),
        },
    )
    yield grid(
        "Straps and anchors",
        place.straps,
        {
            "what": "name",
            "empty": ("own", "mass"),
            "full": ("mass", "mass"),
            "braking": (lambda s: s.forward.value, "force"),
            "bends": (lambda s: s.sideways.value, "force"),
        },
        key="straps",
        note="On the road, in braking and bends. A crash is far more; none of this speaks of it."
        + (
            f" No mass is said of {first_of(place.unweighed)}: its own comes on top."
            if place.unweighed
            else ""
        ),
    )
    wires = [w for w in place.wires if w.reach]
    yield grid(
        "Wires of low voltage: how far from the battery, one way",
        wires,
        {
            "for": "consumer",
            "wire": "size",
            "bears": ("current", "current"),
            "fuse": ("fuse", RIGHT),
            "with 3 % lost": (lambda w: w.reach["critical"].value, "height"),
            "with 10 % lost": (lambda w: w.reach["other"].value, "height"),
        },
        key="wires",
        note="Single wires in free air; bundled ones carry less. The fuse protects the wire, so it "
        "stands near the battery. A pump that loses a tenth of its voltage gives a tenth less.",
    )
    yield grid(
        "The drain of a relief valve",
        place.relief_drain if any(h.relief for h in build.heater) else (),
        {"it must be": "demand", "source": lambda r: str(r.source("demand"))},
    )
    yield grid(
        "What else parts ask for",
        place.practices,
        {"what": lambda one: one[0], "source": lambda one: str(one[1].source("demand"))},
    )


def _of_region(build: Build, fixture: Fixture) -> tuple[float | None, str]:
    """What the region itself asks at a fixture, K, and the rule, whatever the build says."""
    kind = table("fixtures", build.rows)[fixture.kind]
    row = mixed_limit(build, str(kind["sort"] or ""), vulnerable=fixture.vulnerable)
    return (None, NOT_KNOWN) if row is None else (row.number("temperature"), row.name)


def _draw_off(answers: Answers, kind: str) -> Row | None:
    found = table("fixtures", answers.build.rows).get(kind)
    sort = found["sort"] if found else None
    rows = rules_of(answers.build, "draw_offs").values()
    return next((r for r in rows if sort in r["sorts"]), None)


def _backflow_grid(answers: Answers) -> Grid:
    """For each place of this build where water could run back: the region's devices."""
    build = answers.build
    kinds = table("fixtures", build.rows)
    places = ["shore inlet"] if build.shore_inlet else []
    for fixture in build.fixture:
        kind = kinds.get(fixture.kind)
        place = PLACES.get(str(kind["sort"])) if kind else None
        if place and place not in places:
            places.append(place)

    def devices(place: str) -> str:
        known = backflow_devices(build, place, continuous=place == "shore inlet")
        return "; or ".join(map(device_told, known)) or NOT_KNOWN

    def category(place: str) -> str:
        known = backflow_devices(build, place, continuous=place == "shore inlet")
        said = dict.fromkeys(f"{d['category']:g}" for d in known if d["category"] is not None)
        return " or ".join(said)

    def source(place: str) -> Source | str:
        known = backflow_devices(build, place, continuous=place == "shore inlet")
        return known[0].source("standard") if known else ""

    return grid(
        "Devices against water that runs back",
        places,
        {
            "at": lambda p: p,
            "device": devices,
            "for category": category,
            "source": lambda p: str(source(p)),
        },
        note="An air gap stands above any device."
        + (f" {CATEGORIES}" if any(map(category, places)) else ""),
    )


def _unknown(answers: Answers, place: Place) -> Iterator[str]:
    """What the region has no rule for, as far as is known, and what was not worked out."""
    build = answers.build
    asked = {
        "draw_offs": "flow that a building is sized for",
        "heater_distances": "distance of plastic tube from a heater",
        "belongings": "belongings that the van must be able to carry",
        "clips": "distance between clips",
        "restraints": "loads of straps",
    }
    for name, about in asked.items():
        if not rules_of(build, name):
            yield f"{about}: {NOT_KNOWN}"
    if place.region.key == "US":
        yield (
            "the pressure test of the standard for recreational vehicles (NFPA 1192, with ANSI "
            "A119.2 before it): it was not read, so no figure of it stands here. Who certifies by "
            "it tests by it"
        )
    if place.region.key == "AU-NZ":
        yield (
            "disinfecting the pipes of a van: no clause of AS/NZS 3500 for it is known here; what "
            "is told is for tanks of water carriers"
        )
    if rules_of(build, "belongings") and build.van.length is None:
        yield "belongings by the van's length: the build does not say the length"
    if any(h.element_power and h.element_voltage > 50 for h in build.heater):
        yield "wires and fuses above 50 V"
