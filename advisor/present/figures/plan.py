"""The lesson seen from above: track to scale, wind, and the aircraft at its heading."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from advisor import units
from advisor.card.model import Mark, Plan, WindBox
from advisor.present.figures.frame import (
    SMALL,
    Frame,
    aircraft,
    chevron,
    ground,
    north_arrow,
    scale_bar,
    step,
    wind_arrow,
)
from advisor.present.figures.svg import GREY, Drawing, Point

WIDTH, HEIGHT = 440.0, 350.0


def _outward(mark: Mark, middle: Point) -> float:
    """Bearing square to the course that leads away from the middle of the plan."""
    away_e, away_n = mark.east_ft - middle[0], mark.north_ft - middle[1]
    right = mark.course_deg_true + 90.0
    lean = away_e * float(units.sin_deg(right)) + away_n * float(units.cos_deg(right))
    return right if lean >= 0 else right + 180.0


def plan_figure(
    plan: Plan,
    wind: WindBox,
    *,
    title: str,
    description: str,
    wind_words: Sequence[str],
    labels: Mapping[int, Sequence[str]],
    metric: bool = False,
    name: str = "plan",
) -> str:
    """Plan view of a lesson.

    Parameters
    ----------
    plan : Plan
        Track, marks and ground.
    wind : WindBox
        For the arrow.
    title, description : str
        For screen readers.
    wind_words : sequence of str
        Lines beside the wind arrow.
    labels : mapping of mark number to lines
        Written beside each aircraft.
    metric : bool
        Scale bar in metres.
    name : str
        Makes ids unique on a page.

    Returns
    -------
    str
        SVG element. Never raises.
    """
    d = Drawing(name, WIDTH, HEIGHT, title, description)
    points = [*plan.track, *((m.east_ft, m.north_ft) for m in plan.marks)]
    points += [c for s in plan.ground if s.kind != "road" for c in s.corners]
    frame = Frame(points, (74.0, 84.0, WIDTH - 74.0, HEIGHT - 66.0))
    middle = (
        sum(p[0] for p in points) / len(points),
        sum(p[1] for p in points) / len(points),
    )
    ground(d, frame, plan.ground)
    d.polyline(frame.all(plan.track), width=2.6, closed=plan.closed)
    for east, north, course in plan.arrows:
        chevron(d, frame.at(east, north), course)
    if plan.entry is not None:
        east, north, course = plan.entry
        end = frame.at(east, north)
        start = step(end, course + 180.0, 44.0)
        d.line(start, end, width=1.6, dash="5 4")
        d.text(step(start, course + 180.0, 8.0), "entry", size=SMALL, anchor="middle", ink=GREY, halo=True)
    for mark in plan.marks:
        at = frame.at(mark.east_ft, mark.north_ft)
        for way in (0.0, 180.0):
            d.line(at, step(at, mark.course_deg_true + way, 30.0), width=0.9, ink=GREY)
        aircraft(d, at, mark.drawn_heading_deg_true)
    for mark in plan.marks:
        at = frame.at(mark.east_ft, mark.north_ft)
        lines = list(labels.get(mark.number, ()))
        side = _outward(mark, middle)
        x, y = step(at, side, 24.0)
        lean = x - at[0]
        anchor = "start" if lean > 8 else "end" if lean < -8 else "middle"
        drop = 5.0 if abs(lean) > 8 else (16.0 if y > at[1] else -3.0 - 15.0 * len(lines))
        d.text((x, y + drop), str(mark.number), size=17.0, anchor=anchor, bold=True, halo=True)
        for i, line in enumerate(lines, start=1):
            d.text((x, y + drop + 15.0 * i), line, size=SMALL, anchor=anchor, halo=True)
    wind_arrow(d, wind, (44.0, 44.0))
    for i, line in enumerate(wind_words):
        d.text((84.0, 20.0 + 16.0 * i), line, size=SMALL, bold=i == 0, halo=True)
    north_arrow(d, (WIDTH - 26.0, 46.0))
    scale_bar(d, frame, 12.0, HEIGHT - 10.0, 150.0, metric)
    return d.render()
