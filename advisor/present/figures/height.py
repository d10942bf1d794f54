"""Pivotal height round a pylon: the handbook's rule and the exact height, low to high."""

from __future__ import annotations

from collections.abc import Sequence

from advisor.card.model import Mark
from advisor.present.figures.svg import GREY, Drawing, Point

WIDTH, HEIGHT = 340.0, 186.0
LEFT, RIGHT, TOP, BOTTOM = 42.0, WIDTH - 8.0, 22.0, HEIGHT - 38.0
#: Lower than this is a caution. [ft above ground]
FLOOR_FT = 500.0


def height_figure(marks: Sequence[Mark], *, title: str, description: str, name: str = "height") -> str:
    """Heights against position, in order of flight from downwind.

    Parameters
    ----------
    marks : sequence of Mark
        Eight places with both pivotal heights.
    title, description : str
        For screen readers.
    name : str
        Makes ids unique on a page.

    Returns
    -------
    str
        SVG element. Never raises.
    """
    d = Drawing(name, WIDTH, HEIGHT, title, description)
    ring = [*marks, *marks[:1]]
    handbook = [m.pivotal_handbook_ft or (0.0, 0.0) for m in ring]
    exact = [m.pivotal_exact_ft or (0.0, 0.0) for m in ring]
    low = min(FLOOR_FT, *(p[0] for p in handbook)) - 50.0
    high = max(p[1] for p in handbook) + 50.0

    def at(i: int, feet: float) -> Point:
        return LEFT + (RIGHT - LEFT) * i / (len(ring) - 1), BOTTOM - (BOTTOM - TOP) * (feet - low) / (high - low)

    for feet in range(int(low // 200 + 1) * 200, int(high), 200):
        x, y = at(0, float(feet))
        d.line((x - 4, y), (RIGHT, y), width=0.5, ink=GREY)
        d.text((x - 6, y + 4), f"{feet:,}", size=14.5, anchor="end")
    d.hatch([*(at(i, p[1]) for i, p in enumerate(exact)), *reversed([at(i, p[0]) for i, p in enumerate(exact)])])
    for pairs, width, dash in ((exact, 2.2, ""), (handbook, 1.6, "7 4")):
        for end in (0, 1):
            d.polyline([at(i, p[end]) for i, p in enumerate(pairs)], width=width, dash=dash)
    _, y = at(0, FLOOR_FT)
    d.line((LEFT, y), (RIGHT, y), width=1.6, dash="9 3 2 3")
    d.text((RIGHT - 4, y - 4), "500 ft above ground", size=14.5, anchor="end", bold=True, halo=True)
    d.text((4.0, 12.0), "height, ft. Solid: exact; dashed: handbook", size=14.5)
    for i, words, anchor, shift in (
        (0, "downwind", "start", -36.0), (2, "across", "middle", 0.0), (4, "into wind", "middle", 0.0),
        (6, "across", "middle", -9.0), (8, "downwind", "end", 8.0),
    ):  # fmt: skip
        x, _ = at(i, low)
        d.line((x, BOTTOM), (x, BOTTOM + 5), width=1.2)
        d.text((x + shift, BOTTOM + 17), words, size=14.5, anchor=anchor)
    d.text(((LEFT + RIGHT) / 2, HEIGHT - 5), "flying, in order round the pylon", size=14.5, anchor="middle", ink=GREY)
    return d.render()
