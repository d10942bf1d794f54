"""The lesson seen from above: track to scale, wind, and the aircraft at its heading."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

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
from advisor.present.figures.room import about, covered, freest, freest_inside
from advisor.present.figures.svg import GREY, Box, Drawing, Point, text_box

#: Things on the ground named at the foot of the plan, where their names cover nothing.
KINDS = {"road": "double line", "runway": "bar"}

WIDTH, HEIGHT = 456.0, 286.0
#: Where a label may stand: degrees from straight out of the track, and how far; the first of equals is taken.
_AWAY = (0.0, 20.0, -20.0, 40.0, -40.0, 60.0, -60.0, 80.0, -80.0)
_PLACES = (*((turn, 25.0) for turn in (*_AWAY, 180.0)), *((turn, 40.0) for turn in _AWAY))
_ROW = 14.5
#: How much worse it is to cover words or a mark on the ground than a line.
_WORDS = 10.0
_HERE = np.zeros((1, 2))
#: Cover that is worth leaving a place for, and what a unit off the paper costs, in square units.
_WORTH_MOVING, _OFF_PAPER = 40.0, 1000.0


def _outward(mark: Mark, middle: Point) -> float:
    """Bearing square to the course that leads away from the middle of the plan."""
    away_e, away_n = mark.east_ft - middle[0], mark.north_ft - middle[1]
    right = mark.course_deg_true + 90.0
    lean = away_e * float(units.sin_deg(right)) + away_n * float(units.cos_deg(right))
    return right if lean >= 0 else right + 180.0


def _label(
    d: Drawing, mark: Mark, at: Point, middle: Point, lines: Sequence[str], taken: np.ndarray, said: list[Box]
) -> None:
    """The number and its lines beside an aircraft: outside the track, or where they cover least of the rest."""
    out = _outward(mark, middle)
    best, least, room = (at, "middle"), float("inf"), (0.0, 0.0, 0.0, 0.0)
    for turn, far in _PLACES:
        x, y = step(at, out + turn, far)
        lean = x - at[0]
        anchor = "start" if lean > 8 else "end" if lean < -8 else "middle"
        drop = 5.0 if abs(lean) > 8 else (14.0 if y > at[1] else -3.0 - 14.0 * (len(lines) - 1))
        foot = (x, y + drop)
        rows = [text_box((x, foot[1] + _ROW * i), line, SMALL, anchor) for i, line in enumerate(_said(mark, lines))]
        left, right = min(r[0] for r in rows), max(r[2] for r in rows)
        box = (left - 2.0, rows[0][1] - 4.0, right + 2.0, rows[-1][3])
        off = max(-left, right - WIDTH, -box[1], box[3] - HEIGHT, 0.0) * _OFF_PAPER
        cost = off + float(covered(_HERE, box, taken)[0] + _WORDS * covered(_HERE, box, said)[0])
        if cost < least - _WORTH_MOVING:
            best, least, room = (foot, anchor), cost, box
        if least <= _WORTH_MOVING:
            break
    said.append(room)
    foot, anchor = best
    d.text(foot, "".join(lines[:1]), size=SMALL, anchor=anchor, halo=True, lead=str(mark.number))
    for i, line in enumerate(lines[1:], start=1):
        d.text((foot[0], foot[1] + _ROW * i), line, size=SMALL, anchor=anchor, halo=True)


def _along(ends: Sequence[Point]) -> list[Point]:
    """Points of a straight line, close enough together that no letter stands between two."""
    (x0, y0), (x1, y1) = ends[0], ends[-1]
    n = max(2, int(((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5 / 6.0))
    return [(x0 + (x1 - x0) * i / n, y0 + (y1 - y0) * i / n) for i in range(n + 1)]


def _said(mark: Mark, lines: Sequence[str]) -> list[str]:
    """The lines of a label as they are written, number first."""
    return [f"{mark.number} {''.join(lines[:1])}", *lines[1:]]


def _aircraft_size(places: Sequence[Point]) -> float:
    """As large as the nearest two allow, so that a crowded circle still shows each heading."""
    gaps = [((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2) ** 0.5 for i, a in enumerate(places) for b in places[i + 1 :]]
    return min(17.0, max(9.0, 0.4 * min(gaps, default=50.0)))


def _wind_block(d: Drawing, wind: WindBox, corner: Point, words: Sequence[str]) -> None:
    """Wind arrow with its words underneath, centred on a corner of the drawing."""
    wind_arrow(d, wind, (corner[0], corner[1] - 30.0), 44.0)
    for i, line in enumerate(words):
        d.text((corner[0], corner[1] + 14.0 + 15.0 * i), line, size=SMALL, anchor="middle", bold=i == 0, halo=True)


def _foot(d: Drawing, frame: Frame, plan: Plan, metric: bool) -> None:
    """The scale, and the names of roads and runways, at the edges where they cover least."""
    low, high = HEIGHT - 8.0, 30.0
    places = [(x, y) for y in (low, high) for x in (10.0, WIDTH - 160.0, WIDTH / 2 - 75.0)]
    at = freest(places, (-4.0, -22.0, 152.0, 6.0), d.taken)
    scale_bar(d, frame, *at, 150.0, metric)
    d.taken.append((at[0] - 4.0, at[1] - 6.0, at[0] + 152.0, at[1] + 6.0))
    named = "; ".join(f"{KINDS[s.kind]}: {s.label}" for s in plan.ground if s.kind in KINDS and s.label)
    if named:
        wide = text_box((0.0, 0.0), named, SMALL)[2]
        edges = [(x, y) for y in (HEIGHT - 6.0, 16.0) for x in (WIDTH - 6.0, 6.0 + wide, WIDTH / 2 + wide / 2)]
        at = freest(edges, text_box((0.0, 0.0), named, SMALL, "end"), d.taken)
        d.text(at, named, size=SMALL, anchor="end", ink=GREY, halo=True)


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
    marked = [about(frame.at(*c), 9.0) for s in plan.ground if s.kind not in ("road", "field") for c in s.corners]
    # a pylon counts more than a name: a label over it hides what is flown round
    said = [*d.taken, *marked * 3, *(about(frame.at(m.east_ft, m.north_ft), 0.6 * size) for m in seen)]
    d.taken += [about(at, 3.0) for at in frame.all(plan.track)]
    d.taken += [about(frame.at(m.east_ft, m.north_ft), size) for m in seen]
    roads = [about(p, 3.0) for s in plan.ground if s.kind == "road" for p in _along(frame.all(s.corners))]
    taken = np.array([*d.taken, *roads])
    for mark in seen:
        at = frame.at(mark.east_ft, mark.north_ft)
        _label(d, mark, at, middle, labels.get(mark.number, ()), taken, said)
    d.taken += marked
    _foot(d, frame, plan, metric)
    # a margin, so that a label beside it is not read on from it
    wide = max(60.0, max(text_box((0.0, 0.0), line, SMALL)[2] for line in wind_words)) + 16.0
    low = 20.0 + 15.0 * (len(wind_words) - 1)
    paper = (2.0, 2.0, WIDTH - 2.0, HEIGHT - 2.0)
    at = freest_inside(paper, (-wide / 2, -56.0, wide / 2, low), d.taken)
    _wind_block(d, wind, at, wind_words)
    d.taken.append(about((at[0], at[1] - 30.0), 26.0))
    north_arrow(d, freest_inside(paper, (-26.0, -28.0, 26.0, 18.0), d.taken))
    return d.render()
