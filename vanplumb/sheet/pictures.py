"""Pictures on a sheet: their size on paper, and an SVG that does nothing but show."""

from __future__ import annotations

import re
from dataclasses import dataclass
from xml.etree import ElementTree

from ..words.report import Picture
from .escape import plain

SVG = "http://www.w3.org/2000/svg"
LINK = "http://www.w3.org/1999/xlink"
_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6}
_SIZE = re.compile(r"\s*([0-9.]+)\s*(mm|cm|in|pt|pc)\s*")
_DOCTYPE = re.compile(r"<!DOCTYPE[^>\[]*>", re.IGNORECASE)
_OUTSIDE = re.compile(r"url\(\s*['\"]?(?!#)[^)]*\)|@import[^;]*;?|expression\s*\(", re.IGNORECASE)
_OWN_ID = re.compile(r"url\(\s*['\"]?#([^)'\"]+)['\"]?\s*\)")
_HARMFUL = {"script", "foreignobject", "iframe", "animate", "set", "animatetransform"} | {
    "handler",
    "metadata",
    "audio",
    "video",
}

ElementTree.register_namespace("", SVG)
ElementTree.register_namespace("xlink", LINK)


@dataclass(frozen=True)
class Drawing:
    """A picture with its size in mm if it has one (0 if not), and why it is not shown if so.

    ``units`` is the width of its view box, from which a picture without a size gets one.
    """

    key: str
    caption: str
    svg: str
    width: float
    height: float
    units: float = 0.0
    problem: str = ""


def drawing(picture: Picture, key: str) -> Drawing:
    """A picture that is fit to stand in a page: no scripts, no links out, ids of its own."""
    caption = plain(picture.caption)
    try:
        root = _parsed(picture.svg)
    except (ElementTree.ParseError, ValueError) as error:
        return Drawing(
            key, caption, "", 0.0, 0.0, problem=f"This picture can't be shown: {plain(error)}"
        )
    width, height = (_millimetres(root.get(side, "")) for side in ("width", "height"))
    _clean(root, key)
    if "viewBox" not in root.attrib and width and height:
        root.set("viewBox", f"0 0 {_pixels(root.get('width'))} {_pixels(root.get('height'))}")
    root.set("id", key)
    text = ElementTree.tostring(root, encoding="unicode")
    return Drawing(key, caption, text, width, height, _box_width(root))


def _parsed(svg: str) -> ElementTree.Element:
    text = _DOCTYPE.sub("", svg)
    if "<!DOCTYPE" in text or "<!ENTITY" in text:
        raise ValueError("it declares entities")
    root = ElementTree.fromstring(text)
    if root.tag != f"{{{SVG}}}svg":
        raise ValueError("it is not an SVG")
    return root


def _millimetres(size: str) -> float:
    match = _SIZE.fullmatch(size)
    return float(match[1]) * _MM[match[2]] if match else 0.0


def _box_width(root: ElementTree.Element) -> float:
    numbers = re.findall(r"[-+0-9.eE]+", root.get("viewBox", ""))
    try:
        return max(0.0, float(numbers[2])) if len(numbers) == 4 else 0.0
    except ValueError:
        return 0.0


def _pixels(size: str | None) -> str:
    return f"{_millimetres(size or '') / 25.4 * 96:g}"


def _clean(root: ElementTree.Element, key: str) -> None:
    """Take out what could act or reach outside, and give each id the picture's own name."""
    for parent in list(root.iter()):
        for child in list(parent):
            if not isinstance(child.tag, str) or _local(child.tag).lower() in _HARMFUL:
                parent.remove(child)
    for element in root.iter():
        for attribute, value in list(element.attrib.items()):
            kept = _attribute(_local(attribute), value, key)
            if kept is None:
                del element.attrib[attribute]
            elif kept != value:
                element.set(attribute, kept)
        if _local(element.tag) == "style" and element.text:
            element.text = _OUTSIDE.sub("none", _owned(element.text, key))


def _attribute(attribute: str, value: str, key: str) -> str | None:
    """The attribute's value as it may stay, or None if it has to go."""
    if attribute.lower().startswith("on"):
        return None
    if attribute == "id":
        return f"{key}-{value}"
    if attribute == "href":
        if value.startswith("#"):
            return f"#{key}-{value[1:]}"
        return value if value.startswith("data:image/png;base64,") else None
    return _OUTSIDE.sub("none", _owned(value, key)) if "(" in value else value


def _owned(text: str, key: str) -> str:
    return _OWN_ID.sub(lambda match: f"url(#{key}-{match[1]})", text)


def _local(tag: str) -> str:
    return tag.rsplit("}", 1)[-1]
