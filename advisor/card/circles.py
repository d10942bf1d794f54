"""Plans of the circular lessons: turns around a point, S-turns, the eights, and eights on pylons."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from advisor import units
from advisor.card.legs import Leg, along, leg_mark, nearer
from advisor.card.model import Astray, BankCurve, GroundShape, Mark, Pair, Plan, Track, WindBox
from advisor.flight.circle import at_places, constant_bank_drift
from advisor.flight.pylons import ellipse_track, exact_pivotal_ft, handbook_pivotal_ft
from advisor.flight.ranges import bank_range_deg, crab_range_deg, groundspeed_range_kt
from advisor.flight.simulate import fly_bank
from advisor.flight.turns import bank_for_circle_deg
from advisor.flight.wind_triangle import fly_heading

#: What a place on a circle is called, by the course from flying straight downwind in steps of 45 degrees.
PLACES = (
    "downwind",
    "downwind to across",
    "across, nose in",
    "across to into wind",
    "into wind",
    "into wind to across",
    "across, nose out",
    "across to downwind",
)
#: Wings level between pylons (source: memory, see trade practice; 3 to 5 s).
STRAIGHT_S = 4.0
ROAD_BEYOND = 2.4


def _span(values: Any) -> Pair:
    return float(np.min(values)), float(np.max(values))


def place_name(from_downwind_deg: float) -> str:
    """Nearest of the eight names."""
    return PLACES[round(from_downwind_deg / 45.0) % len(PLACES)]


def arc_marks(
    first: int, centre: tuple[float, float], radius_ft: float, box: WindBox, tas_kt: float, turn: int,
    places_deg: Any,
) -> list[Mark]:  # fmt: skip
    """Marks on a circle at courses counted from downwind in the direction of the turn."""
    wind_from = box.from_deg_true or 0.0
    drawn = at_places(tas_kt, wind_from, box.high_kt, radius_ft, places_deg, turn)
    ends = (tas_kt, box.low_kt, box.high_kt, wind_from, 0.0, drawn.course_deg)
    crabs, grounds = crab_range_deg(*ends), groundspeed_range_kt(*ends)
    banks = bank_range_deg(*ends, radius_ft)
    out = []
    for i, place in enumerate(np.atleast_1d(places_deg)):
        crab = float(crabs.low[i]), float(crabs.high[i])
        course = float(drawn.course_deg[i])
        east, north = along(*centre, float(drawn.position_deg[i]), radius_ft)
        out.append(
            Mark(
                first + i,
                place_name(float(place) % 360.0),
                east,
                north,
                course,
                float(drawn.heading_deg[i]),
                (course + crab[0], course + crab[1]),
                crab,
                (float(grounds.low[i]), float(grounds.high[i])),
                bank_deg=(float(banks.low[i]), float(banks.high[i])),
            )
        )
    return out


def arc_track(
    centre: tuple[float, float], radius_ft: float, wind_from_deg: float, turn: int, start_deg: float, end_deg: float
) -> list[tuple[float, float]]:
    """Points of part of a circle, places counted from downwind in the direction of the turn."""
    count = max(8, int(abs(end_deg - start_deg) / 4))
    return [
        along(*centre, wind_from_deg + 180.0 + turn * float(th) - turn * 90.0, radius_ft)
        for th in np.linspace(start_deg, end_deg, count)
    ]


def bank_curve(
    box: WindBox, tas_kt: float, radius_ft: float, planned_deg: float, exit_deg: float, left: bool
) -> BankCurve:
    """Bank round the circle, low to high over the wind. Never raises."""
    places = np.linspace(0.0, 360.0, 73)
    courses = 180.0 + (-places if left else places)
    banks = bank_range_deg(tas_kt, box.low_kt, box.high_kt, 0.0, 0.0, courses, radius_ft)
    return BankCurve(
        tuple(float(x) for x in places),
        tuple(float(x) for x in banks.low),
        tuple(float(x) for x in banks.high),
        planned_deg,
        exit_deg,
        left,
    )


def constant_bank(
    box: WindBox, tas_kt: float, radius_ft: float, turn: int, start: Mark, meant: Track,
    ground: tuple[GroundShape, ...], turns: float,
) -> Astray:  # fmt: skip
    """One bank held all the way, flown forward: the circle in the air that the wind carries off."""
    bank = float(bank_for_circle_deg(tas_kt, radius_ft))
    air = constant_bank_drift(tas_kt, box.high_kt, bank)
    flown = fly_bank(
        lambda _: turn * bank,
        tas_kt,
        box.from_deg_true or 0.0,
        box.high_kt,
        start.drawn_heading_deg_true,
        turns * float(air.seconds),
        steps=int(60 * turns),
        east_ft=start.east_ft,
        north_ft=start.north_ft,
    )
    return Astray(
        tuple((float(e), float(n)) for e, n in zip(flown.east_ft, flown.north_ft, strict=True)),
        meant,
        ground,
        "The same bank all the way round",
        f"{bank:.0f}° held: carried {round(float(air.drift_ft), -1):,.0f} ft downwind every turn of {float(air.seconds):.0f} s",
    )


def point_plan(box: WindBox, tas_kt: float, radius_ft: float, left: bool, name: str) -> tuple[Plan, Astray]:
    """Turns around a point, entered flying downwind. Never raises for a wind below the airspeed."""
    turn = -1 if left else 1
    wind_from = box.from_deg_true or 0.0
    marks = tuple(arc_marks(1, (0.0, 0.0), radius_ft, box, tas_kt, turn, np.arange(0.0, 360.0, 45.0)))
    track = tuple(arc_track((0.0, 0.0), radius_ft, wind_from, turn, 0.0, 360.0))
    point = (GroundShape("point", ((0.0, 0.0),), name),)
    first = marks[0]
    arrows = tuple(
        (*along(0.0, 0.0, wind_from + 180.0 + turn * (th - 90.0), radius_ft), wind_from + 180.0 + turn * th)
        for th in (67.5, 247.5)
    )
    plan = Plan(track, True, marks, point, box.high_kt, None, arrows)
    astray = constant_bank(box, tas_kt, radius_ft, turn, first, track, point, 2.0)
    return plan, astray


def s_turn_plan(
    box: WindBox, tas_kt: float, radius_ft: float, left: bool, road_deg: float, name: str
) -> tuple[Plan, Astray]:
    """Two half circles across a road, the first entered flying downwind."""
    turn = -1 if left else 1
    wind_from = box.from_deg_true or 0.0
    down = wind_from + 180.0
    course = nearer(road_deg + 90.0, down)
    off = turn * float(units.wrap_180(course - down))
    ahead = course + turn * 90.0  # along the road, the way the lesson moves
    one, two = along(0.0, 0.0, ahead, -radius_ft), along(0.0, 0.0, ahead, radius_ft)
    first = arc_marks(1, one, radius_ft, box, tas_kt, turn, off + np.arange(0.0, 136.0, 45.0))
    # the second half turns the other way; its places are counted in its own direction
    back = -turn * float(units.wrap_180(course + 180.0 - down))
    back = back if back >= 0 else back + 360.0
    second = arc_marks(5, two, radius_ft, box, tas_kt, -turn, back + np.arange(0.0, 181.0, 45.0))
    track = tuple(
        arc_track(one, radius_ft, wind_from, turn, off, off + 180.0)
        + arc_track(two, radius_ft, wind_from, -turn, back, back + 180.0)
    )
    reach = radius_ft * ROAD_BEYOND
    road = (GroundShape("road", (along(0.0, 0.0, ahead, -reach), along(0.0, 0.0, ahead, reach)), name),)
    start = first[0]
    plan = Plan(track, False, (*first, *second), road, box.high_kt)
    astray = constant_bank(box, tas_kt, radius_ft, turn, start, track, road, 0.5)
    return plan, astray


def eight_plan(
    box: WindBox, tas_kt: float, radius_ft: float, left: bool, road_deg: float, name: str, *, across: bool
) -> tuple[Plan, Astray]:
    """Two circles that touch over a road, first the one on the chosen side."""
    turn = -1 if left else 1
    wind_from = box.from_deg_true or 0.0
    down = wind_from + 180.0
    course = nearer(road_deg + (90.0 if across else 0.0), down)
    off = turn * float(units.wrap_180(course - down))
    side = course + turn * 90.0
    one, two = along(0.0, 0.0, side, radius_ft), along(0.0, 0.0, side, -radius_ft)
    first = arc_marks(1, one, radius_ft, box, tas_kt, turn, off + np.arange(0.0, 360.0, 45.0))
    track = tuple(
        arc_track(one, radius_ft, wind_from, turn, off, off + 360.0)
        + arc_track(two, radius_ft, wind_from, -turn, -off, -off + 360.0)
    )
    road_way = side if across else course
    reach = radius_ft * (2.3 if across else 1.3)
    road = (GroundShape("road", (along(0.0, 0.0, road_way, -reach), along(0.0, 0.0, road_way, reach)), name),)
    arrow = (*along(*two, course, radius_ft), course + turn * 90.0)
    plan = Plan(track, True, tuple(first), road, box.high_kt, None, (arrow,))
    astray = constant_bank(box, tas_kt, radius_ft, turn, first[0], track[: len(track) // 2], road, 1.0)
    return plan, astray


def around_pylons_plan(box: WindBox, tas_kt: float, radius_ft: float, left: bool) -> tuple[Plan, Astray, float]:
    """Two turns in opposite directions joined by straight legs; returns the pylon spacing too. [ft]"""
    turn = -1 if left else 1
    wind_from = box.from_deg_true or 0.0
    down = wind_from + 180.0
    straight_ft = STRAIGHT_S * (tas_kt + box.high_kt) * units.KT_TO_FTS
    spacing = float(np.hypot(2.0 * radius_ft, straight_ft))
    lean = 90.0 - float(units.asin_deg(2.0 * radius_ft / spacing))  # of the legs off straight downwind
    first_at = along(0.0, 0.0, down + turn * 90.0, spacing / 2)
    other_at = along(0.0, 0.0, down - turn * 90.0, spacing / 2)
    into, back = down + turn * lean, down - turn * lean
    leg_in = Leg("level, to the first", *along(0.0, 0.0, into, -straight_ft / 2), into % 360.0, straight_ft)
    leg_back = Leg("level, to the second", *along(0.0, 0.0, back, -straight_ft / 2), back % 360.0, straight_ft)
    places = np.array([45.0, 90.0, 180.0, 270.0, 315.0])
    marks = [
        leg_mark(1, leg_in, box, tas_kt),
        *arc_marks(2, first_at, radius_ft, box, tas_kt, turn, places),
        # the two legs cross where the first aircraft is drawn
        replace(leg_mark(7, leg_back, box, tas_kt), drawn=False),
    ]
    track = tuple(
        arc_track(first_at, radius_ft, wind_from, turn, lean, 360.0 - lean)
        + arc_track(other_at, radius_ft, wind_from, -turn, lean, 360.0 - lean)
    )
    ground = (GroundShape("pylon", (first_at,), "first"), GroundShape("pylon", (other_at,), "second"))
    plan = Plan(track, True, tuple(marks), ground, box.high_kt)
    meant = tuple(arc_track(first_at, radius_ft, wind_from, turn, 0.0, 360.0))
    start = arc_marks(1, first_at, radius_ft, box, tas_kt, turn, np.array([lean]))[0]
    astray = constant_bank(box, tas_kt, radius_ft, turn, start, meant, ground[:1], 1.0)
    return plan, astray, spacing


def on_pylons_plan(box: WindBox, tas_kt: float, left: bool, bank_deg: float) -> tuple[Plan, float]:
    """Round one pylon on the wing tip; returns the nearest distance too. [ft]"""
    turn = -1 if left else 1
    wind_from = box.from_deg_true or 0.0
    nearest = float(exact_pivotal_ft(tas_kt, box.high_kt, 0.0) / units.tan_deg(bank_deg))
    around = ellipse_track(tas_kt, wind_from, box.high_kt, nearest, turn, np.linspace(0.0, 360.0, 91))
    places = np.arange(0.0, 360.0, 45.0)
    drawn = ellipse_track(tas_kt, wind_from, box.high_kt, nearest, turn, places)
    marks = []
    for i, place in enumerate(places):
        heading = float(drawn.heading_deg[i])
        # drift and the exact height only grow or shrink with the wind; the groundspeed may turn at V cos(angle)
        least = np.clip(tas_kt * units.cos_deg(wind_from - heading), box.low_kt, box.high_kt)
        ends = np.array([box.low_kt, float(least), box.high_kt])
        lost = fly_heading(tas_kt, wind_from, ends, heading)
        here = fly_heading(tas_kt, wind_from, box.high_kt, heading)
        marks.append(
            Mark(
                i + 1,
                place_name(float(place)).partition(",")[0],
                float(drawn.east_ft[i]),
                float(drawn.north_ft[i]),
                float(here.track_deg),
                heading,
                (heading, heading),
                _span(-lost.drift_deg),
                _span(lost.groundspeed_kt),
                bank_deg=(float(drawn.bank_deg[i]), float(drawn.bank_deg[i])),
                pivotal_handbook_ft=_span(handbook_pivotal_ft(lost.groundspeed_kt)),
                pivotal_exact_ft=_span(exact_pivotal_ft(tas_kt, ends, float(place))),
            )
        )
    track = tuple((float(e), float(n)) for e, n in zip(around.east_ft, around.north_ft, strict=True))
    pylon = (GroundShape("pylon", ((0.0, 0.0),), "pylon"),)
    return Plan(track, True, tuple(marks), pylon, box.high_kt), nearest
