"""A small picture for each lesson: what the question is about, without its answer.

Plain SVG, 360 by 190, legible at that size.  Colours are for paper; a page that shows the
picture sets its theme's own by the classes, see ``style``.
"""

from __future__ import annotations

from collections.abc import Callable
from html import escape
from math import cos, pi, sin

from .style import COLD, HOT, MIXED

BOX = 'xmlns="http://www.w3.org/2000/svg" font-family="sans-serif" fill="currentColor"'
GREY = "#8a949d"
_CLASS = {HOT: "vp-hot", COLD: "vp-cold", MIXED: "vp-mixed"}


def lesson_picture(key: str) -> str:
    """The picture of a lesson by the key of its exercise.  KeyError if there is none."""
    title, draw = _PICTURES[key]
    return (
        f'<svg {BOX} viewBox="0 0 360 190" role="img" aria-label="{escape(title, quote=True)}">'
        f"<title>{escape(title)}</title>{draw()}</svg>"
    )


def _text(x: float, y: float, words: str, anchor: str = "start", weight: int = 400) -> str:
    return (
        f'<text x="{x:g}" y="{y:g}" font-size="13" text-anchor="{anchor}" '
        f'font-weight="{weight}">{escape(words)}</text>'
    )


def _line(path: str, colour: str = "currentColor", wide: float = 1.5, dash: str = "") -> str:
    named = f' class="{_CLASS[colour]}-line"' if colour in _CLASS else ""
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<path d="{path}" fill="none" stroke="{colour}" stroke-width="{wide:g}"'
        f'{named}{dashed} stroke-linejoin="round"/>'
    )


def _fill(path: str, colour: str, strength: float = 1.0) -> str:
    named = f' class="{_CLASS[colour]}"' if colour in _CLASS else ""
    return f'<path d="{path}" fill="{colour}" fill-opacity="{strength:g}"{named}/>'


def _box(x: float, y: float, wide: float, high: float) -> str:
    return f"M{x:g} {y:g} h{wide:g} v{high:g} h{-wide:g} z"


def _round(x: float, y: float, radius: float) -> str:
    return (
        f"M{x - radius:g} {y:g} a{radius:g} {radius:g} 0 1 0 {2 * radius:g} 0 "
        f"a{radius:g} {radius:g} 0 1 0 {-2 * radius:g} 0 z"
    )


def _between(x: float, other: float, y: float, words: str) -> str:
    """A measure from one place to another, with what it measures on it."""
    ends = f"M{x:g} {y - 5:g} v10 M{other:g} {y - 5:g} v10 M{x:g} {y:g} H{other:g}"
    return _line(ends, wide=1) + _text((x + other) / 2, y - 7, words, "middle")


def _tap(x: float, y: float) -> str:
    return _line(
        f"M{x - 16:g} {y:g} h16 v12 M{x - 8:g} {y:g} v-10 M{x - 14:g} {y - 10:g} h12", wide=3
    )


def _gauge(x: float, y: float, words: str, turn: float) -> str:
    """A dial; ``turn`` is the needle's way across it, 0 to 1."""
    angle = pi * (1.25 - 1.5 * turn)
    tip = f"L{x + 26 * cos(angle):.1f} {y - 26 * sin(angle):.1f}"
    ticks = "".join(
        f"M{x + 30 * cos(a):.1f} {y - 30 * sin(a):.1f} l{5 * cos(a):.1f} {-5 * sin(a):.1f} "
        for a in (pi * (1.25 - 1.5 * n / 6) for n in range(7))
    )
    return (
        _line(_round(x, y, 38))
        + _line(ticks, wide=1)
        + _line(f"M{x:g} {y:g} {tip}", wide=3)
        + _fill(_round(x, y, 4), "currentColor")
        + _text(x, y + 58, words, "middle")
    )


def _people(count: int, x: float, y: float) -> str:
    return "".join(
        _fill(_round(x + 26 * n, y, 7), "currentColor")
        + _fill(f"M{x + 26 * n - 10:g} {y + 36:g} v-14 q10 -16 20 0 v14 z", "currentColor")
        for n in range(count)
    )


def _water() -> str:
    return (
        _fill(_box(30, 80, 130, 70), COLD, 0.35)
        + _line("M30 50 V150 H160 V50 z")
        + _line("M30 142 H160", dash="3 3", wide=1)
        + _text(95, 172, "tank, and its heel", "middle")
        + _line("M160 138 h40 v-22", COLD, 5)
        + _people(4, 222, 52)
        + _text(262, 120, "four people,", "middle")
        + _text(262, 138, "two nights", "middle")
    )


def _mixing() -> str:
    return (
        _line("M10 45 H120 Q160 45 160 80", HOT, 12)
        + _line("M10 150 H120 Q160 150 160 112", COLD, 12)
        + _line("M175 96 H250 V130", MIXED, 14)
        + _line(_round(160, 96, 17), wide=3)
        + _text(12, 28, "hot 140 °F, 60 °C")
        + _text(12, 180, "cold, summer and winter")
        + _fill("M225 150 h80 q-4 30 -40 30 q-36 0 -40 -30 z", GREY, 0.5)
        + _text(265, 168, "tub", "middle")
    )


def _weak_shower() -> str:
    return (
        _line(_round(40, 110, 18))
        + _fill("M32 100 L52 110 L32 120 z", "currentColor")
        + _text(40, 148, "pump", "middle")
        + _line("M58 110 H210", COLD, 9)
        + _text(134, 96, "shared run", "middle")
        + _line("M210 110 V40 H270 v14", COLD, 6)
        + _line("M252 56 h36 M256 64 l-4 18 M264 64 l-1 20 M276 64 l1 20 M284 64 l4 18")
        + _text(300, 48, "shower")
        + _line("M210 110 H290", COLD, 6)
        + _tap(306, 112)
        + _text(270, 148, "sink, opened")
    )


def _cold_minute() -> str:
    return (
        _fill(_box(20, 50, 60, 100), HOT, 0.5)
        + _line(_box(20, 50, 60, 100))
        + _text(50, 170, "store", "middle")
        + _line("M80 100 H150", HOT, 11)
        + _line("M150 100 H280", COLD, 11)
        + _line("M150 90 v20", wide=3)
        + _text(215, 86, "cooled water", "middle")
        + _text(115, 86, "hot", "middle")
        + _tap(298, 102)
        + _line("M288 130 h22 l-4 34 h-14 z")
        + _text(318, 158, "jug")
    )


def _stub() -> str:
    tee = "M{0} 70 h24 v50 h-24 z M{1} 120 h8 v26 h-8 z"
    return (
        _fill(_box(20, 82, 320, 26), GREY, 0.35)
        + _line(tee.format(80, 88) + tee.format(240, 248), wide=2)
        + _line("M92 40 V160 M252 40 V160", dash="4 3", wide=1)
        + _between(92, 252, 52, "centre to centre")
        + _text(92, 178, "tee", "middle")
        + _text(252, 178, "tee", "middle")
        + _text(172, 100, "tube, with a ring", "middle")
        + _line("M112 78 v34 M232 78 v34", wide=4)
    )


def _clock() -> str:
    return (
        _text(20, 48, "threads")
        + _fill(_box(95, 36, 26, 16), HOT)
        + _fill(_box(121, 36, 160, 16), HOT, 0.25)
        + _text(290, 49, "?", weight=700)
        + _text(20, 88, "crimps")
        + _fill(_box(125, 76, 100, 16), COLD)
        + _text(20, 128, "test")
        + _line("M95 30 v130 H340", wide=1)
        + _text(95, 178, "start of work", "middle")
        + _text(320, 178, "time", "end")
        + _line("M255 128 h50", MIXED, 10, dash="3 3")
        + _text(312, 132, "when?")
    )


def _frost() -> str:
    return (
        _fill(_round(110, 100, 62), GREY, 0.3)
        + _fill(_round(110, 100, 36), GREY, 0.6)
        + _fill(_round(110, 100, 28), COLD, 0.9)
        + _line("M110 100 L290 60 M146 116 L290 110 M160 140 L290 156", wide=1)
        + _text(296, 64, "water")
        + _text(296, 114, "tube")
        + _text(296, 160, "foam")
        + _text(20, 28, "air outside, 14 °F or −10 °C")
    )


def _falling() -> str:
    return (
        _gauge(90, 86, "afternoon, 75 °F", 0.66)
        + _gauge(270, 86, "morning, 40 °F", 0.6)
        + _line("M140 86 H216 M206 80 l10 6 l-10 6")
        + _text(180, 176, "air in the lines, all taps shut", "middle")
    )


def _ends() -> str:
    crests = "".join(f"L{88 + 11 * n} {44 + n} L{93.5 + 11 * n} {52 + n} " for n in range(9))
    under = "".join(f"L{88 + 11 * n} {136 - n} L{93.5 + 11 * n} {128 - n} " for n in range(9))
    return (
        _line(_box(24, 56, 60, 68), wide=2)
        + _line(f"M84 44 {crests}L187 56 V124")
        + _line(f"M84 136 {under}L187 124")
        + _line("M84 44 V136")
        + _line("M205 44 V136 M199 44 h12 M199 136 h12", wide=1)
        + _text(218, 86, "how wide")
        + _text(218, 103, "across?")
        + _between(84, 187, 168, "crests on an inch")
        + _text(54, 26, "1/2 in pipe thread", weight=600)
    )


def _stays() -> str:
    return (
        _line("M20 60 L150 140 L330 30", GREY, 13)
        + _line("M20 60 L150 140 L281 60", COLD, 9)
        + _line("M10 60 H300", dash="4 3", wide=1)
        + _text(16, 46, "open end")
        + _text(322, 22, "open end", "end")
        + _text(150, 170, "low point", "middle")
    )


def _test() -> str:
    return (
        _gauge(76, 86, "at the start", 0.74)
        + _gauge(190, 86, "an hour later", 0.66)
        + _fill("M300 60 q-16 24 0 34 q16 -10 0 -34 z", COLD)
        + _text(300, 120, "a leak,", "middle")
        + _text(300, 137, "creep, or", "middle")
        + _text(300, 154, "the cold?", "middle")
    )


def _sure() -> str:
    joints = "".join(
        _line(_round(40 + 30 * (n % 10), 62 + 40 * (n // 10), 10))
        + _line(f"M{34 + 30 * (n % 10)} {62 + 40 * (n // 10)} l5 5 l8 -10", MIXED, 2.5)
        for n in range(20)
    )
    return (
        joints
        + _text(175, 34, "twenty joints held", "middle")
        + _text(175, 150, "and the next?", "middle")
    )


_PICTURES: dict[str, tuple[str, Callable[[], str]]] = {
    "water": ("A tank, and four people for two nights", _water),
    "mixing": ("A mixing valve between hot and cold, over a tub", _mixing),
    "weak shower": ("A shower and a sink on one shared run from the pump", _weak_shower),
    "cold minute": ("Hot water pushes cooled water along a run to the tap", _cold_minute),
    "short stub": ("Two tees with a tube between them, measured centre to centre", _stub),
    "when to test": ("Joints are made, some wait; when may the test begin?", _clock),
    "frost": ("A tube of water in its foam, cut across", _frost),
    "falling gauge": ("A gauge in the afternoon and in the morning", _falling),
    "ends": ("A taper pipe thread: how wide is it, how many crests on an inch?", _ends),
    "water stays": ("A run that sags between two open ends, with water in the sag", _stays),
    "test reading": ("The gauge of a test at the start and an hour later", _test),
    "how sure": ("Twenty joints that held", _sure),
}
