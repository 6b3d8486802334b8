"""What a build file leaves open: values that nobody gave, who can answer, and what they change.

Each default is tried lower, higher or otherwise than it is assumed; how far the results of
``explore`` move ranks the questions.  What is typical of a table (ends, masses) is listed by
``lists``.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from ..answers import Answers
from ..flow.changed_build import vary
from ..review import RULES
from ..van.entries import Entry, entries
from ..van.kinds import pumps
from ..van.model import LISTS, SECTIONS, Build, label_of
from ..van.parts import Pump
from ..van.trace import title
from .choices import axes, told
from .sums import measures
from .variants import Variants, group

OWNER, PLATE, VAN, SHOP = (
    "the owner",
    "the plate or papers",
    "the van, with tape and scales",
    "the shop",
)
LOOKED_AT = "the part itself"
_OWNERS = ("crew", "use", "battery", "fuel")
_IDLE = ("name", "note", "units", "reversed", "currency", "region", "builder", "pin", "price",
         "holds", "fill_share", "start_share", "opening", "bypass_open")  # fmt: skip
"""Keys that ask nothing of the van, and how it stands at the moment."""
NUDGE = 0.3
"""How far a figure is tried from what is assumed, as a share of it."""
NUDGE_TEMPERATURE = 5.0
"""How far a temperature is tried from what is assumed, K."""
FROM_NOTHING = {"height": 0.3048, "thickness": 0.013}
"""What is tried where nothing is assumed: a rise or fall of a foot, m, and foam, m."""
FELT = 0.01
"""Results that move by less are not told."""

REVIEWED = (
    "scald_at_mixed_outlet", "unmixed_hot_at_fixture", "relief_missing", "checks_missing_at_valve",
    "shore_without_backflow_protection", "hose_outlet_unprotected", "hand_shower_unprotected",
    "run_freezes_at_night",
)  # fmt: skip
"""Rules of the review on what hurts or bursts, and that are asked of every other answer."""
ALARM = {"DANGER": 10.0, "WARNING": 5.0, "CAUTION": 2.0, "NOTICE": 1.0}
"""How far a finding that comes counts as moving a result."""


@dataclass(frozen=True)
class Effect:
    """One result, as it is with what is assumed and where it goes, as texts; ``share`` of it.

    A finding that comes is its own result, with nothing in ``now``.
    """

    result: str
    now: str
    then: str
    share: float


@dataclass(frozen=True)
class Question:
    """One value that the file does not give, of all parts where it is assumed alike.

    ``assumed`` is empty where nothing can be: the sums that need it say so.  ``tried`` are the
    values that the effects come from; empty where no result of ``explore`` hangs on it.
    """

    kind: str
    key: str
    parts: tuple[str, ...]
    paths: tuple[str, ...]
    assumed: str
    word: str
    about: str
    basis: str
    who: str
    tried: tuple[str, ...] = ()
    effects: tuple[Effect, ...] = ()

    @property
    def asked(self) -> str:
        """The key, and what it means where that is not the key again: "rise: end above start"."""
        key = "Kv" if self.key == "kv" else self.key.replace("_", " ")
        return f"{key}: {self.about}" if self.about and self.about != key else key

    @property
    def weight(self) -> float:
        """How far the result that moves most does."""
        return max((e.share for e in self.effects), default=0.0)


def open_questions(build: Build) -> tuple[Question, ...]:
    """Everything that the build file leaves open, what changes most first.

    Questions that nothing can be assumed for stand before all others: nobody knows what they
    change.
    """
    found = [_tried(build, q, entry, value) for q, entry, value in _asked(build)]
    return tuple(sorted(found, key=lambda q: (bool(q.assumed), -q.weight, not q.tried)))


def _asked(build: Build) -> Iterator[tuple[Question, Entry, Any]]:
    """Values that nobody gave, those alike of several parts together."""
    alike: dict[tuple[str, str, str], list[tuple[str, str, Entry, Any]]] = {}
    for kind, name, label, part in _parts(build):
        for key, (field, entry, _) in entries(type(part)).items():
            value = getattr(part, field)
            path = f"{label}.{key}"
            if path in build.given or key in _IDLE or not _applies(build, part, key):
                continue
            if not _is_question(kind, entry, value):
                continue
            alike.setdefault((kind, key, repr(value)), []).append((name, path, entry, value))
    for (kind, key, _), those in alike.items():
        entry, value = those[0][2:]
        yield (
            Question(
                kind, key, tuple(t[0] for t in those if t[0]), tuple(t[1] for t in those),
                "" if value is None else told(value, entry.word, build.van.units), entry.word,
                entry.about, entry.basis, _who(kind, key, entry),
            ),
            entry,
            value,
        )  # fmt: skip


def _parts(build: Build) -> Iterator[tuple[str, str, str, Any]]:
    """Kind, name as it is shown, path and part of everything in a build."""
    for kind in SECTIONS:
        if getattr(build, kind) is not None:
            yield kind, "", kind, getattr(build, kind)
    for kind in LISTS:
        for number, part in enumerate(getattr(build, kind), 1):
            label = label_of(kind, part, number)
            name = title(build, number - 1) if kind == "run" else label.partition(".")[2]
            yield kind, name, label, part


def _applies(build: Build, part: Any, key: str) -> bool:
    """Whether a key says anything of a part of that form, in that van."""
    if key == "heads":
        return "cylinder" in part.shape
    if key == "opens_below":
        return bool(part.kind == "in frost")
    if key == "element_voltage":
        return bool(part.element_power)
    if key.startswith("burner_") and key != "burner_power":
        return bool(part.burner_power)
    if key == "inverter_efficiency":
        return any(h.element_power for h in build.heater)
    if isinstance(part, Pump):
        return pumps.is_electric(part) != key.startswith("stroke_") and (
            pumps.is_electric(part) or "voltage" not in key
        )
    return True


def _is_question(kind: str, entry: Entry, value: Any) -> bool:
    """Whether somebody could answer it: a figure or choice, or a figure that only a plate tells."""
    if kind in ("board", "shop", "limits", "stock", "situation"):
        return False  # the shop's own affair
    if value is None:
        return entry.kind == "quantity" and (kind == "van" or "plate" in entry.about)
    if entry.kind in ("quantity", "number", "count"):
        return bool(value) or entry.basis != ""
    return entry.kind in ("choice", "flag") and value != "" and not entry.required


def _who(kind: str, key: str, entry: Entry) -> str:
    said = f"{entry.basis} {entry.about}"
    if kind in _OWNERS or key in ("vulnerable", "altitude", "outside", "cabin"):
        return OWNER
    if "plate" in said or "printed" in said or key in ("check", "potable", "payload"):
        return PLATE
    if kind == "van" and entry.word:
        return VAN  # its lengths by a tape, its axles by a weighbridge
    if kind in ("run", "tank") and entry.word in ("height", "length", "depth", "thickness"):
        return VAN
    if "measure yours" in said or entry.word:
        return LOOKED_AT
    return VAN if key == "place" else SHOP


def _others(entry: Entry, value: Any) -> list[Any]:
    """What is tried beside what is assumed."""
    if isinstance(value, bool):
        return [not value]
    if entry.kind == "choice":
        return [o for o in entry.options if o != value]
    if entry.kind == "count":
        return [max(value - 1, 0), value + 1]
    if entry.kind in ("quantity", "number") and value is not None:
        if entry.word == "temperature":
            return [value - NUDGE_TEMPERATURE, value + NUDGE_TEMPERATURE]
        if not value:
            step = FROM_NOTHING.get(entry.word)
            return [] if step is None else [-step, step] if entry.word == "height" else [step]
        return [value * (1 - NUDGE), value * (1 + NUDGE)]
    return []


def _tried(build: Build, asked: Question, entry: Entry, value: Any) -> Question:
    """The question with what its answer changes, where the results of ``explore`` hang on it."""
    usable = [v for v in _others(entry, value) if _can_be(build, asked.paths[0], v, entry)]
    if not usable:
        return asked
    tried = tuple(told(v, entry.word, build.van.units) for v in usable)
    try:
        moved = [*_findings(build, asked.paths, usable, tried)]
        chosen = axes(build, {asked.paths: [value, *usable]})
        results = [k for k, m in measures(build).items() if group(m.group, build).needs(chosen[0])]
        if results:
            moved += _effects(Variants(build, chosen, results))
    except ValueError:
        return asked  # a value that this build can't have: nothing is known of it
    moved.sort(key=lambda e: -e.share)
    return replace(asked, tried=tried, effects=tuple(moved))


def _findings(
    build: Build, paths: Sequence[str], usable: Sequence[Any], tried: Sequence[str]
) -> Iterator[Effect]:
    """Findings of some rules that come with another answer, each once."""
    known = _found_in(build)
    for value, shown in zip(usable, tried, strict=True):
        now = _found_in(vary(build, dict.fromkeys(paths, value)))
        for what in now.keys() - known.keys():
            yield Effect(f"{now[what]} if {shown}: {what}", "", "", ALARM[now[what]])
        known |= now


def _found_in(build: Build) -> dict[str, str]:
    """What the rules find, and how grave it is."""
    answers = Answers(build)
    return {f.what: f.severity for name in REVIEWED for f in RULES[name](answers)}


def _can_be(build: Build, path: str, value: Any, entry: Entry) -> bool:
    if entry.word in ("share", "efficiency") and not 0 <= value <= 1:
        return False
    low, high = entry.low, entry.high
    if isinstance(value, int | float) and not isinstance(value, bool):
        return (low is None or value >= low) and (high is None or value <= high)
    try:
        vary(build, {path: value})
    except ValueError:
        return False
    return True


def _effects(found: Variants) -> Iterable[Effect]:
    """Results that move, the most first; a temperature by its part of 20 K."""
    moved = []
    for key, one in found.measures.items():
        values = found.values[key]
        base, others = float(values[0]), values[1:]
        if not np.isfinite(base):
            continue
        scale = 20.0 if one.word == "temperature" else abs(base)
        shares = np.where(np.isfinite(others), np.abs(others - base), np.inf) / (scale or 1.0)
        worst = int(np.argmax(shares))
        share = min(float(shares[worst]), 10.0)
        if share >= FELT:
            now, then = found.shown(key, 0), found.shown(key, worst + 1)
            moved.append(Effect(one.label, now, then, share))
    return sorted(moved, key=lambda e: -e.share)


def by_who(questions: Sequence[Question]) -> dict[str, list[Question]]:
    """Questions by who can answer them, in the order of their weight."""
    found: dict[str, list[Question]] = {who: [] for who in (OWNER, PLATE, LOOKED_AT, VAN, SHOP)}
    for one in questions:
        found[one.who].append(one)
    return {who: those for who, those in found.items() if those}
