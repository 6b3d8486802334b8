"""SVG in millimetres with the lower left corner of the board at 0, 0."""

from __future__ import annotations

from typing import Any

from .lettering import for_svg


def number(value: float) -> str:
    """A coordinate without idle digits."""
    return f"{round(value, 3) + 0.0:.8g}"


class Sheet:
    """Collects SVG elements in millimetres with the board's lower left corner at 0, 0."""

    def __init__(self, height: float) -> None:
        self.height = height
        self.out: list[str] = []

    def at(self, x: float, y: float) -> str:
        return f"{number(x)},{number(self.height - y)}"

    def path(self, shape: Any, **style: str) -> None:
        """A polygon or several."""
        self.out.append(f'<path d="{self.outline(shape)}"{_attributes(style)}/>')

    def outline(self, shape: Any) -> str:
        parts = getattr(shape, "geoms", [shape])
        return "".join(
            "M" + "L".join(self.at(x, y) for x, y in ring.coords[:-1]) + "Z"
            for one in parts
            for ring in (one.exterior, *one.interiors)
        )

    def line(self, ax: float, ay: float, bx: float, by: float, **style: str) -> None:
        a, b = self.at(ax, ay).split(","), self.at(bx, by).split(",")
        self.out.append(
            f'<line x1="{a[0]}" y1="{a[1]}" x2="{b[0]}" y2="{b[1]}"{_attributes(style)}/>'
        )

    def circle(self, x: float, y: float, radius: float, **style: str) -> None:
        cx, cy = self.at(x, y).split(",")
        self.out.append(f'<circle cx="{cx}" cy="{cy}" r="{number(radius)}"{_attributes(style)}/>')

    def text(self, x: float, y: float, words: str, size: float = 7.0, **style: str) -> None:
        tx, ty = self.at(x, y).split(",")
        turn = style.pop("turn", "")
        if turn:
            style["transform"] = f"rotate({turn} {tx} {ty})"
        style.setdefault("text_anchor", "middle")
        self.out.append(
            f'<text x="{tx}" y="{ty}" font-size="{number(size)}"{_attributes(style)}>'
            f"{for_svg(words)}</text>"
        )

    def group(self, **style: str) -> None:
        self.out.append(f"<g{_attributes(style)}>")

    def end(self) -> None:
        self.out.append("</g>")


def _attributes(style: dict[str, str]) -> str:
    return "".join(f' {k.replace("_", "-")}="{for_svg(v)}"' for k, v in style.items())
