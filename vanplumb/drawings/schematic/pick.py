"""The schematic as something to take hold of: each part and each run can be chosen on it.

Of a build that is not whole yet as well; what no run touches stands in it too.  Lines are
coloured by what they carry.  Nothing flows.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from ...van.model import Build
from ...van.wiring import sides
from ..style import for_svg
from .draw import FAINT, GROUND, INK, SCREEN, Schematic, drawn

SHADES = {"cold": "var(--vp-cold)", "hot": "var(--vp-hot)", "mixed": "var(--vp-mixed)"}


def pickable(
    build: Build,
    picked: str,
    runs: Sequence[str],
    labels: dict[str, str],
    *,
    still: bool = False,
) -> str:
    """The drawing as one <svg>; of a ``still`` one nothing can be chosen.

    ``runs`` are the labels of the runs, in the order of the build; ``labels`` those of its
    components by name; ``picked`` is the label of what is chosen.
    """
    layout = Schematic(build, rows=0, loose=True)
    svg = drawn(layout, None, build.van.units, "", -1, paper=True)
    for mark, shade in zip((INK, GROUND, FAINT), SCREEN, strict=True):
        svg = svg.replace(mark, shade)
    names = list(layout.spots)
    count = iter(range(len(names)))

    def part(match: re.Match[str]) -> str:
        name = names[next(count)]
        label = labels.get(name, "")
        chosen = " vp-picked" if label == picked else ""
        box = [float(x) for x in match[2].split()]
        spot = layout.spots[name]
        frame = (
            f'<rect class="vp-press" x="{box[0] - spot.x + 1:.1f}" y="{box[1] - spot.y + 1:.1f}" '
            f'width="{box[2] - box[0] - 2:.1f}" height="{box[3] - box[1] - 2:.1f}" rx="6" '
            'fill="transparent" stroke="none"/>'
        )
        if still:
            return f'{match[1]} class="vp-part" data-box="{match[2]}">'
        told = f"{name}, {layout.kinds[name]}"
        return (
            f'{match[1]} class="vp-part vp-pick{chosen}" data-box="{match[2]}" role="button" '
            f'tabindex="0" data-pick="{for_svg(label)}" aria-label="{for_svg(told)}">{frame}'
        )

    svg = re.sub(r'(<g transform="[^"]*") class="vp-part" data-box="([^"]*)">', part, svg)
    carried = sides(build)

    def run(match: re.Match[str]) -> str:
        number = int(match[2])
        side = carried.get(str(build.run_ends[number][0]), "")
        shade = SHADES.get(side, SCREEN[2])
        label = runs[number]
        chosen = " vp-picked" if label == picked else ""
        said = f"run from {build.run[number].start} to {build.run[number].end}"
        if still:
            return f'<path d="{match[1]}" stroke="{shade}" stroke-width="3"/>'
        return (
            f'<g class="vp-pick vp-pick-run{chosen}" data-pick="{for_svg(label)}" role="button" '
            f'tabindex="-1" aria-label="{for_svg(said)}">'
            f'<path class="vp-press" d="{match[1]}" stroke="transparent" stroke-width="14"/>'
            f'<path d="{match[1]}" stroke="{shade}" stroke-width="3"/>'
            f"<title>{for_svg(said)}</title></g>"
        )

    pattern = (
        r'<path d="([^"]*)" stroke="[^"]*" stroke-width="[^"]*" class="vp-run" '
        r'data-run="(\d+)"><title>.*?</title></path>'
    )
    svg = re.sub(pattern, run, svg)
    return svg if still else svg.replace('role="img"', 'role="group"', 1)
