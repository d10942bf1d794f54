"""Plans of the straight lessons: tracking a road, the rectangular course and the pattern."""

from __future__ import annotations

import numpy as np

from advisor import units
from advisor.card.legs import Leg, along, leg_mark, with_corners
from advisor.card.model import Astray, GroundShape, Plan, Track, WindBox
from advisor.flight.astray import no_crab_along_a_line, off_line_ft
from advisor.flight.circle import radius_for_bank_ft
from advisor.flight.demand import WindRange
from advisor.flight.rectangle import best_downwind_course

#: Outside the field's edge; the test standard says half to three quarters of a mile (source key acs-6c).
RECTANGLE_OFFSET_FT = 0.5 * units.FT_PER_SM
#: A section of land where the school entered no field (common practice, no source).
SECTION_FT = units.FT_PER_SM
ROAD_FT = units.FT_PER_NM
#: Abeam the runway; half a mile to a mile (source key afh-3c-ch8).
PATTERN_OFFSET_FT = 0.75 * units.FT_PER_SM
#: Past the threshold before turning base and after the far end before turning crosswind (common practice).
PATTERN_BEYOND_FT = 0.5 * units.FT_PER_NM
DEFAULT_RUNWAY_FT = 3000.0


def tracking_plan(box: WindBox, tas_kt: float, road_deg: float, road_name: str) -> tuple[Plan, Astray]:
    """Along a road and back. Raises ImpossibleTriangle when the wind is too strong to hold it."""
    start = along(0.0, 0.0, road_deg + 180.0, ROAD_FT / 2)
    out = leg_mark(1, Leg("along the road", *start, road_deg, ROAD_FT), box, tas_kt, share=0.3)
    far = along(0.0, 0.0, road_deg, ROAD_FT / 2)
    back = leg_mark(2, Leg("back again", *far, (road_deg + 180.0) % 360.0, ROAD_FT), box, tas_kt, share=0.3)
    road = GroundShape(
        "road",
        (along(0.0, 0.0, road_deg + 180.0, ROAD_FT * 0.62), along(0.0, 0.0, road_deg, ROAD_FT * 0.62)),
        road_name,
    )
    plan = Plan((start, far), False, (out, back), (road,), box.high_kt)
    seconds = ROAD_FT / (tas_kt * units.KT_TO_FTS)
    lost = no_crab_along_a_line(tas_kt, box.from_deg_true or 0.0, box.high_kt, road_deg, seconds, steps=2)
    off_ft = abs(float(off_line_ft(lost, road_deg)[-1]))
    end = start[0] + float(lost.east_ft[-1]), start[1] + float(lost.north_ft[-1])
    astray = Astray(
        (start, end),
        (start, far),
        (road,),
        "No crab: nose along the road",
        f"{round(off_ft, -1):,.0f} ft off the road after {seconds:.0f} seconds",
    )
    return plan, astray


def rounded(legs: list[Leg], radius_ft: float, side: float) -> Track:
    """A ring of legs with circular corners, as points. [ft]"""
    points: list[tuple[float, float]] = []
    for leg in legs:
        begin, end = leg.at(radius_ft / leg.length_ft), leg.at(1.0 - radius_ft / leg.length_ft)
        points += [begin, end]
        centre = along(*end, leg.course_deg_true + side * 90.0, radius_ft)
        points += [
            along(*centre, leg.course_deg_true - side * 90.0 + side * float(a), radius_ft)
            for a in np.linspace(0.0, 90.0, 10)[1:]
        ]
    return tuple(points)


def _ring(corner: tuple[float, float], course: float, long_ft: float, short_ft: float, side: float,
          names: tuple[str, str, str, str]) -> list[Leg]:  # fmt: skip
    legs = []
    at = corner
    for i, name in enumerate(names):
        length = long_ft if i % 2 == 0 else short_ft
        legs.append(Leg(name, *at, float(units.wrap_360(course + side * 90.0 * i)), length))
        at = legs[-1].at(1.0)
    return legs


def rectangle_plan(
    box: WindBox, tas_kt: float, field_deg: float, size_ft: tuple[float, float], name: str, left: bool,
    planned_bank_deg: float,
) -> tuple[Plan, Astray, float]:  # fmt: skip
    """Round a field, the downwind leg first; returns the corner radius too. Raises ImpossibleTriangle.

    ``field_deg`` is the direction of the side that ``size_ft`` gives first. The downwind leg runs along whichever of
    the four sides lies nearest downwind, as the words about the field say.
    """
    side = -1.0 if left else 1.0
    course = best_downwind_course(field_deg, WindRange(box.low_kt, box.high_kt, *box.arc_deg))
    if abs(float(units.cos_deg(course - field_deg))) < 0.5:  # a quarter turn from the side given first
        size_ft = size_ft[1], size_ft[0]
    radius = float(radius_for_bank_ft(tas_kt, box.high_kt, planned_bank_deg))
    # a corner needs its radius inside the offset and half of each side
    long_ft = max(size_ft[0] + 2 * RECTANGLE_OFFSET_FT, 2.2 * radius)
    short_ft = max(size_ft[1] + 2 * RECTANGLE_OFFSET_FT, 2.2 * radius)
    outside = along(0.0, 0.0, course - side * 90.0, short_ft / 2)
    corner = along(*outside, course + 180.0, long_ft / 2)
    legs = _ring(corner, course, long_ft, short_ft, side, ("downwind leg", "base leg", "upwind leg", "crosswind leg"))
    marks = with_corners([leg_mark(i, leg, box, tas_kt) for i, leg in enumerate(legs, start=1)], box, tas_kt, radius)
    half_l, half_w = size_ft[0] / 2, size_ft[1] / 2
    corners = tuple(
        along(*along(0.0, 0.0, course, a * half_l), course + 90.0, b * half_w)
        for a, b in ((1, 1), (1, -1), (-1, -1), (-1, 1))
    )
    field = GroundShape("field", corners, name)
    track = rounded(legs, radius, side)
    arrows = tuple((*leg.at(0.75), leg.course_deg_true) for leg in legs)
    entry = (*legs[0].at(radius / long_ft), course + side * 45.0)
    plan = Plan(track, True, marks, (field,), box.high_kt, entry, arrows)
    return plan, _no_crab_ring(box, tas_kt, legs, track, (field,)), radius


def pattern_plan(
    box: WindBox, tas_kt: float, runway_deg: float, runway_ft: float, name: str, left: bool, bank_deg: float
) -> tuple[Plan, Astray, float]:
    """The traffic pattern round a runway end; returns the corner radius too. Raises ImpossibleTriangle."""
    side = -1.0 if left else 1.0
    radius = float(radius_for_bank_ft(tas_kt, box.high_kt, bank_deg))
    runway_ft = runway_ft or DEFAULT_RUNWAY_FT
    beyond = max(PATTERN_BEYOND_FT, 1.1 * radius)
    long_ft, short_ft = runway_ft + 2 * beyond, max(PATTERN_OFFSET_FT, 2.2 * radius)
    threshold, far = along(0.0, 0.0, runway_deg + 180.0, runway_ft / 2), along(0.0, 0.0, runway_deg, runway_ft / 2)
    abeam = along(0.0, 0.0, runway_deg + side * 90.0, short_ft)
    start = along(*abeam, runway_deg, long_ft / 2)
    legs = _ring(
        start, float(units.wrap_360(runway_deg + 180.0)), long_ft, short_ft, side,
        ("downwind", "base", "final and upwind", "crosswind"),
    )  # fmt: skip
    marks = with_corners(
        [
            # on final the aircraft is drawn half way from its last corner to the threshold
            leg_mark(i, leg, box, tas_kt, share=(radius + beyond) / 2 / long_ft if i == 3 else 0.5)
            for i, leg in enumerate(legs, start=1)
        ],
        box, tas_kt, radius,
    )  # fmt: skip
    strip = GroundShape("runway", (threshold, far), f"runway {name}")
    track = rounded(legs, radius, side)
    arrows = tuple((*leg.at(0.7), leg.course_deg_true) for leg in legs)
    entry_at = legs[0].at(0.4)
    plan = Plan(
        track, True, marks, (strip,), box.high_kt,
        (*entry_at, legs[0].course_deg_true + side * 45.0), arrows,
    )  # fmt: skip
    return plan, _no_crab_ring(box, tas_kt, legs, track, (strip,)), radius


def _no_crab_ring(
    box: WindBox, tas_kt: float, legs: list[Leg], meant: Track, ground: tuple[GroundShape, ...]
) -> Astray:
    """The same four headings and still-air times without any crab."""
    at = (legs[0].east_ft, legs[0].north_ft)
    points = [at]
    for leg in legs:
        seconds = leg.length_ft / (tas_kt * units.KT_TO_FTS)
        lost = no_crab_along_a_line(
            tas_kt, box.from_deg_true or 0.0, box.high_kt, leg.course_deg_true, seconds, steps=2
        )
        at = at[0] + float(lost.east_ft[-1]), at[1] + float(lost.north_ft[-1])
        points.append(at)
    miss_ft = float(np.hypot(at[0] - points[0][0], at[1] - points[0][1]))
    return Astray(
        tuple(points),
        meant,
        ground,
        "No crab, four turns of 90 degrees",
        f"after one round {round(miss_ft, -1):,.0f} ft away from the start",
    )
