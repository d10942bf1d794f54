"""Ground to paper: one scale for both directions, north up, and the things every plan carries."""

from __future__ import annotations

from collections.abc import Iterable

from advisor import units
from advisor.card.model import GroundShape, WindBox
from advisor.present.figures.svg import GREY, INK, PAPER, Drawing, Point

#: Lengths a scale bar may have. [ft]
BARS_FT = (200, 500, 1000, 2000, 3000, 5000, 10000)
SMALL = 14.5


class Frame:
    """Maps feet east and north into a box of the drawing.

    Parameters
    ----------
    points : iterable of (east, north)
        Everything that must be visible. [ft]
    box : (left, top, right, bottom)
        In user units.
    """

    def __init__(self, points: Iterable[Point], box: tuple[float, float, float, float]) -> None:
        found = list(points)
        east = [p[0] for p in found]
        north = [p[1] for p in found]
        left, top, right, bottom = box
        span_e = max(max(east) - min(east), 1.0)
        span_n = max(max(north) - min(north), 1.0)
        self.per_ft = min((right - left) / span_e, (bottom - top) / span_n)
        self._e = (max(east) + min(east)) / 2.0
        self._n = (max(north) + min(north)) / 2.0
        self._x, self._y = (left + right) / 2.0, (top + bottom) / 2.0

    def at(self, east_ft: float, north_ft: float) -> Point:
        """Paper position of a ground position."""
        return self._x + (east_ft - self._e) * self.per_ft, self._y - (north_ft - self._n) * self.per_ft

    def all(self, points: Iterable[Point]) -> list[Point]:
        """Paper positions of many."""
        return [self.at(e, n) for e, n in points]


def step(at: Point, bearing_deg: float, distance: float) -> Point:
    """A paper position some units along a bearing, north up."""
    return (
        at[0] + distance * float(units.sin_deg(bearing_deg)),
        at[1] - distance * float(units.cos_deg(bearing_deg)),
    )


def aircraft(d: Drawing, at: Point, heading_deg: float, size: float = 15.0) -> None:
    """The dart with wings, drawn at its heading, nose line ahead of it."""

    def p(ahead: float, right: float) -> Point:
        return step(step(at, heading_deg, ahead * size), heading_deg + 90.0, right * size)

    d.line(p(1.0, 0), p(1.9, 0), width=1.2)
    d.polyline(
        [p(1.0, 0), p(0.25, 0.16), p(-0.1, 0.95), p(-0.35, 0.95), p(-0.2, 0.14), p(-0.75, 0.1),
         p(-0.95, 0.4), p(-1.1, 0.4), p(-1.0, 0), p(-1.1, -0.4), p(-0.95, -0.4), p(-0.75, -0.1),
         p(-0.2, -0.14), p(-0.35, -0.95), p(-0.1, -0.95), p(0.25, -0.16)],
        closed=True, fill=INK, width=0.8,
    )  # fmt: skip


def chevron(d: Drawing, at: Point, course_deg: float, size: float = 8.0) -> None:
    """A small open arrowhead on a track: which way round."""
    tip = step(at, course_deg, size * 0.6)
    d.polyline([step(tip, course_deg + 150.0, size), tip, step(tip, course_deg - 150.0, size)], width=1.8)


def ground(d: Drawing, frame: Frame, shapes: Iterable[GroundShape], *, labels: bool = True) -> None:
    """Roads, fields, points, pylons and runways."""
    for shape in shapes:
        points = frame.all(shape.corners)
        if shape.kind == "road":
            a, b = points[0], points[-1]
            bearing = float(units.atan2_deg(b[0] - a[0], a[1] - b[1]))
            for side in (90.0, -90.0):
                d.line(step(a, bearing + side, 2.5), step(b, bearing + side, 2.5), width=0.9, ink=GREY)
        elif shape.kind == "field":
            d.polyline(points, closed=True, dash="2 3", width=1.2, ink=GREY)
        elif shape.kind == "runway":
            d.line(points[0], points[-1], width=7.0, ink=GREY)
            d.line(points[0], points[-1], width=4.6, ink=PAPER)
        elif shape.kind == "pylon":
            x, y = points[0]
            d.polyline([(x, y - 8), (x + 7, y + 5), (x - 7, y + 5)], closed=True, fill=PAPER, width=1.6)
        else:
            x, y = points[0]
            d.line((x - 6, y - 6), (x + 6, y + 6), width=2.0)
            d.line((x - 6, y + 6), (x + 6, y - 6), width=2.0)
        if labels and shape.label and shape.kind not in ("road", "runway"):
            x = sum(p[0] for p in points) / len(points)
            y = sum(p[1] for p in points) / len(points)
            if shape.kind == "field":
                d.text((x, y + 4), shape.label, size=SMALL, anchor="middle", ink=GREY, halo=True)
            else:
                d.text((x, y + 22), shape.label, size=SMALL, anchor="middle", ink=GREY, halo=True)


def north_arrow(d: Drawing, at: Point, length: float = 26.0) -> None:
    """A plain arrow with an N; ``at`` is its foot."""
    tip = step(at, 0.0, length)
    d.line(at, tip, width=1.6)
    d.polyline([step(tip, 155.0, 8), tip, step(tip, -155.0, 8)], width=1.6)
    d.text((at[0], at[1] + 14), "N true", size=14.5, anchor="middle")


def scale_bar(d: Drawing, frame: Frame, left: float, base: float, room: float, metric: bool = False) -> None:
    """A bar of a round length with its length in feet and nautical miles (metres for metric)."""
    if metric:
        lengths = [(m / units.M_PER_FT, f"{m:,} m") for m in (50, 100, 200, 500, 1000, 2000)]
    else:
        lengths = [(float(ft), f"{ft:,} ft ({ft / units.FT_PER_NM:.2f} NM)") for ft in BARS_FT]
    fitting = [x for x in lengths if x[0] * frame.per_ft <= room] or lengths[:1]
    length_ft, words = fitting[-1]
    right = left + length_ft * frame.per_ft
    d.line((left, base), (right, base), width=2.0)
    for x in (left, right):
        d.line((x, base - 4), (x, base + 4), width=1.4)
    d.text((left, base - 8), words, size=14.5)


def wind_arrow(d: Drawing, wind: WindBox, at: Point, length: float = 52.0) -> None:
    """A hollow arrow centred on ``at``, blowing downwind, with a fan for the spread of direction."""
    if wind.from_deg_true is None:
        d.circle(at, 9, width=1.4)
        return
    blow = wind.from_deg_true + 180.0
    tail, tip = step(at, blow + 180.0, length / 2), step(at, blow, length / 2)
    if wind.half_width_deg > 0.5:
        for side in (-1.0, 1.0):
            d.line(
                tip, step(tip, wind.from_deg_true + side * wind.half_width_deg, length * 1.05), width=0.9, dash="3 2"
            )
    neck = step(tip, blow + 180.0, 17)
    d.polyline(
        [step(tail, blow + 90, 4), step(neck, blow + 90, 4), step(neck, blow + 90, 10), tip,
         step(neck, blow - 90, 10), step(neck, blow - 90, 4), step(tail, blow - 90, 4)],
        closed=True, fill=PAPER, width=1.6,
    )  # fmt: skip
