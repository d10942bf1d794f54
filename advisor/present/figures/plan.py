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

#: Things on the ground named at the foot of the plan, where their names cover nothing.
KINDS = {"road": "double line", "runway": "bar"}

WIDTH, HEIGHT = 456.0, 286.0


def _outward(mark: Mark, middle: Point) -> float:
    """Bearing square to the course that leads away from the middle of the plan."""
    away_e, away_n = mark.east_ft - middle[0], mark.north_ft - middle[1]
    right = mark.course_deg_true + 90.0
    lean = away_e * float(units.sin_deg(right)) + away_n * float(units.cos_deg(right))
    return right if lean >= 0 else right + 180.0


def _label(d: Drawing, mark: Mark, at: Point, middle: Point, lines: list[str]) -> list[Point]:
    """The number and its lines beside an aircraft; returns the places the text takes."""
    side = _outward(mark, middle)
    x, y = step(at, side, 25.0)
    lean = x - at[0]
    anchor = "start" if lean > 8 else "end" if lean < -8 else "middle"
    drop = 5.0 if abs(lean) > 8 else (14.0 if y > at[1] else -3.0 - 14.0 * (len(lines) - 1))
    d.text((x, y + drop), "".join(lines[:1]), size=SMALL, anchor=anchor, halo=True, lead=str(mark.number))
    for i, line in enumerate(lines[1:], start=1):
        d.text((x, y + drop + 14.5 * i), line, size=SMALL, anchor=anchor, halo=True)
    shift = {"start": 40.0, "middle": 0.0, "end": -40.0}[anchor]
    return [(x + part * shift, y + drop + 15.0 * i) for i in range(len(lines)) for part in (0.0, 0.6, 1.2, 1.8)]


def _aircraft_size(places: Sequence[Point]) -> float:
    """As large as the nearest two allow, so that a crowded circle still shows each heading."""
    gaps = [
        ((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2) ** 0.5 for i, a in enumerate(places) for b in places[i + 1 :]
    ]
    return min(17.0, max(9.0, 0.4 * min(gaps, default=50.0)))


def _room(corner: Point, taken: Sequence[Point]) -> float:
    """Clear space round a corner's wind block: under 1 something lies in the arrow or its words; 1.3 is plenty."""
    x0, y0 = corner
    parts = ((y0 - 36.0, 30.0, 30.0), (y0 + 24.0, 44.0, 28.0))  # middle, half width, half height
    nearest = min(
        max(abs(x - x0) / wide, abs(y - middle) / high) for x, y in taken for middle, wide, high in parts
    )
    return min(nearest, 1.3)


def _wind_block(d: Drawing, wind: WindBox, corner: Point, words: Sequence[str]) -> None:
    """Wind arrow with its words underneath, centred on a corner of the drawing."""
    wind_arrow(d, wind, (corner[0], corner[1] - 36.0))
    for i, line in enumerate(words):
        d.text((corner[0], corner[1] + 14.0 + 15.0 * i), line, size=SMALL, anchor="middle", bold=i == 0, halo=True)


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
    frame = Frame(points, (136.0, 46.0, WIDTH - 94.0, HEIGHT - 54.0))
    middle = (
        sum(p[0] for p in points) / len(points),
        sum(p[1] for p in points) / len(points),
    )
    ground(d, frame, plan.ground)
    d.polyline(frame.all(plan.track), width=2.6, closed=plan.closed)
    for arrow_east, arrow_north, arrow_course in plan.arrows:
        chevron(d, frame.at(arrow_east, arrow_north), arrow_course)
    if plan.entry is not None:
        entry_east, entry_north, course = plan.entry
        end = frame.at(entry_east, entry_north)
        start = step(end, course + 180.0, 44.0)
        d.line(start, end, width=1.6, dash="5 4")
        d.text(step(start, course + 180.0, 8.0), "entry", size=SMALL, anchor="middle", ink=GREY, halo=True)
    seen = [m for m in plan.marks if m.drawn]
    size = _aircraft_size([frame.at(m.east_ft, m.north_ft) for m in seen])
    for mark in seen:
        at = frame.at(mark.east_ft, mark.north_ft)
        for way in (0.0, 180.0):
            d.line(at, step(at, mark.course_deg_true + way, 30.0), width=0.9, ink=GREY)
        aircraft(d, at, mark.drawn_heading_deg_true, size)
    taken = frame.all(plan.track)
    for mark in seen:
        taken += _label(d, mark, frame.at(mark.east_ft, mark.north_ft), middle, list(labels.get(mark.number, ())))
    west, east = (48.0, 70.0), (WIDTH - 48.0, 70.0)
    low_corners = (WIDTH - 48.0, HEIGHT - 66.0), (50.0, HEIGHT - 80.0)
    corner = max((west, east, *low_corners), key=lambda c: _room(c, taken))
    _wind_block(d, wind, corner, wind_words)
    free = [c for c in (west, east) if c != corner]
    north = max(free, key=lambda c: _room(c, taken))
    north_arrow(d, (north[0] + (20.0 if north == east else -20.0), 44.0))
    scale_bar(d, frame, 10.0, HEIGHT - 8.0, 150.0, metric)
    named = [f"{KINDS[s.kind]}: {s.label}" for s in plan.ground if s.kind in KINDS and s.label]
    if named:
        d.text((WIDTH - 6.0, HEIGHT - 6.0), "; ".join(named), size=14.5, anchor="end", ink=GREY, halo=True)
    return d.render()
