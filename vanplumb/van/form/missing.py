"""What a text lacks, each with the step that would add it: "add a manifold"."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

from ..kinds.heaters import has_store
from ..kinds.pumps import electric
from ..model import Build
from ..parts import Manifold, Pump, Strainer
from ..wiring import loose_ports
from .blocks import Block
from .sketch import Sketch
from .steps import Form, goals, starts

_NO_SECTION = "is not a key of a build file; did you mean"

Do = Callable[[Form], str]
_NAMED = re.compile(
    r'names "([^"]+)", which is no component|names no (\w+) of this build: "([^"]+)"'
)


@dataclass(frozen=True)
class Offer:
    """One thing that can be added.  ``why`` says what is missing, ``words`` stand on the button.

    ``do`` takes the step and gives the label of what was made; ``done`` tells it.
    """

    why: str
    words: str
    do: Do
    done: str


def offers(look: Sketch) -> tuple[Offer, ...]:
    """What is missing, what nothing works without first."""
    build = look.build
    if build is None:
        return ()
    found = [*_kinds(build), *_named(look)]
    if look.whole is not None:
        found += [*_valves(look, build), *_loose(look, build)]
    return tuple(found)


def _add(part: str, name: str = "", **given: object) -> Do:
    return lambda form: form.add(part, name, given)


def _kinds(build: Build) -> list[Offer]:
    """Parts that there is no van without."""
    found = []
    if not build.tank and not build.shore_inlet:
        found.append(
            Offer("There is no tank.", "add a tank", _add("tank", "fresh"), "A tank is added.")
        )
    if not build.pump and not build.shore_inlet:
        found.append(Offer("There is no pump.", "add a pump", _add("pump"), "A pump is added."))
    if not build.fixture:
        tap = _add("fixture", "sink", kind="cold tap")
        found.append(Offer("There is no tap.", "add a tap", tap, "A tap is added: join it."))
    return found


def _named(look: Sketch) -> list[Offer]:
    """Parts that the file names and does not have.

    None where a section's own name is wrong: what it holds is there, only not understood.
    """
    if any(_NO_SECTION in problem.message for problem in look.problems):
        return []
    found = {}
    for problem in look.problems:
        match = _NAMED.search(problem.message)
        if match is None:
            continue
        name = (match[1] or match[3]).partition(".")[0]
        kind = match[2] if match[2] in ("manifold", "fixture", "tank") else _kind_of(name)
        given = {"kind": "cold tap"} if kind == "fixture" else {}
        if problem.path.endswith(".grey"):
            given = {"holds": "grey"}
        article = "an" if kind[0] in "aeiou" else "a"
        words = f"add {article} {kind.replace('_', ' ')} called {name}"
        why = f"Line {problem.line} names {name}, which is not there."
        found[name] = Offer(why, words, _add(kind, name, **given), f"{name} is added: join it.")
    return list(found.values())


def _kind_of(name: str) -> str:
    """What a part of that name is, by its last words; a tee if they say nothing."""
    low = name.lower()
    kinds = {
        "manifold": "manifold", "check": "check_valve", "regulator": "regulator", "tank": "tank",
        "pump": "pump", "heater": "heater", "mixing valve": "mixing_valve", "strainer": "strainer",
        "accumulator": "accumulator", "shut-off": "shut_off", "drain": "drain_valve",
        "shower": "fixture", "tap": "fixture", "sink": "fixture", "basin": "fixture",
        "inlet": "shore_inlet", "valve": "shut_off",
    }  # fmt: skip
    return next((kind for word, kind in kinds.items() if word in low), "tee")


def _valves(look: Sketch, build: Build) -> list[Offer]:
    """What guards: a relief valve, a regulator, a strainer, a check valve."""
    found = []
    us = build.van.units == "US"
    for heater in build.heater:
        label = f"heater.{heater.name}"
        if heater.relief is None:
            opening = "150 psi" if us else "4 bar"
            found.append(
                Offer(
                    f"{heater.name} has no relief valve.",
                    "add a relief valve",
                    _set(label, "relief", opening),
                    f"A relief valve of {opening} is put in, typical: put in what its plate says.",
                )
            )
        if has_store(heater) and not build.check_valve and (run := _into(look, heater.name)):
            why = f"Nothing keeps warm water of {heater.name} from going back."
            put = _put(run, "check_valve", "heater check")
            found.append(Offer(why, "add a check valve", put, "A check valve is put in."))
    for inlet in build.shore_inlet:
        if not build.regulator and (run := _out_of(look, inlet.name)):
            why = f"{inlet.name} has no regulator behind it."
            put = _put(run, "regulator", "regulator")
            found.append(Offer(why, "add a regulator", put, "A regulator is put in: set it."))
    for pump in electric(build):
        run = _into(look, pump.name)
        if not build.strainer and run is not None:
            why = f"Nothing keeps grit out of {pump.name}."
            put = _put(run, "strainer", "strainer")
            found.append(Offer(why, "add a strainer", put, "A strainer is put in."))
    for manifold in build.manifold:
        if not build.zones(manifold.name):
            why = f"{manifold.name} has no zone yet."
            add = _add("zone", "zone 1", manifold=manifold.name)
            found.append(Offer(why, "add a zone", add, "A zone is added: join it."))
    return found


def _loose(look: Sketch, build: Build) -> list[Offer]:
    """Ports that no run joins, where one thing alone can feed them."""
    found = []
    cold = [m.name for m in build.manifold if m.side == "cold"]
    for port in loose_ports(build):
        part = build.component(port.component)
        if port.port not in part.inlets or isinstance(part, Manifold):
            continue
        begin = [name for name, _ in starts(look) if name != part.name]
        feeding = (*cold, *_feeding(build))
        if isinstance(part, Pump | Strainer):  # what sucks stands behind a tank
            feeding = (*(tank.name for tank in build.tank if tank.holds == "fresh"), *feeding)
        source = next((n for n in feeding if n in begin), "")
        able = [p for p, _ in goals(look, source)] if source else []
        end = next((p for p in able if p in (part.name, str(port))), "")
        if not end:
            continue
        found.append(
            Offer(
                f"Nothing leads to {part.name}.",
                f"lead water to it from {source}",
                _connect(source, end),
                "It is joined: its length is estimated, put in yours.",
            )
        )
    return found


def _feeding(build: Build) -> list[str]:
    """What water comes from, the last before the taps first."""
    return [one.name for one in (*build.tee, *build.pump, *build.tank)]


def _set(label: str, key: str, value: object) -> Do:
    def do(form: Form) -> str:
        form.set(label, key, value)
        return label

    return do


def _put(run: Block, kind: str, name: str) -> Do:
    return lambda form: form.put_into(run.label, kind, name)


def _connect(start: str, end: str) -> Do:
    return lambda form: form.connect(start, end)


def _into(look: Sketch, name: str) -> Block | None:
    runs = [b for b in look.blocks if b.kind == "run"]
    return next((b for b in runs if b.said("to").partition(".")[0] == name), None)


def _out_of(look: Sketch, name: str) -> Block | None:
    runs = [b for b in look.blocks if b.kind == "run"]
    return next((b for b in runs if b.said("from").partition(".")[0] == name), None)
