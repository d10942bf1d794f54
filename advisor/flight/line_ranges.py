"""Exact ranges along a straight course: crosswind, crab, groundspeed, heading and the turn at a corner."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from advisor import units
from advisor.flight.arcs import (
    Arc,
    Range,
    across_shares,
    array,
    both_ends,
    from_nose,
    holds,
    speed_ends,
    wind_angles,
)
from advisor.flight.wind_triangle import crab_deg, groundspeed_kt

if TYPE_CHECKING:
    from numpy.typing import ArrayLike


def crosswind_range_kt(
    wind_low_kt: ArrayLike,
    wind_high_kt: ArrayLike,
    from_start_deg: ArrayLike,
    from_width_deg: ArrayLike,
    course_deg: ArrayLike,
) -> Range:
    """Crosswind on a runway or road, signed.

    Parameters
    ----------
    wind_low_kt, wind_high_kt : numeric
        Ends of the wind speed. [kt]
    from_start_deg, from_width_deg : numeric
        Directions the wind blows from: clockwise from the start. [deg]
    course_deg : numeric
        Direction flown, in the same north. [deg]

    Returns
    -------
    Range
        Broadcast shape; positive from the right. [kt]

    Notes
    -----
    Never raises. The share is extreme at the arc's ends or straight across, and the product at a wind end.

    References
    ----------
    Source key ``derived``.
    """
    low, high = speed_ends(wind_low_kt, wind_high_kt)
    least, most = across_shares(*wind_angles(from_start_deg, from_width_deg, course_deg))
    return both_ends(np.where(least < 0.0, high, low) * least, np.where(most > 0.0, high, low) * most)


def headwind_range_kt(
    wind_low_kt: ArrayLike,
    wind_high_kt: ArrayLike,
    from_start_deg: ArrayLike,
    from_width_deg: ArrayLike,
    course_deg: ArrayLike,
) -> Range:
    """Headwind on a runway or road; negative is a tailwind.

    Parameters
    ----------
    wind_low_kt, wind_high_kt : numeric
        Ends of the wind speed. [kt]
    from_start_deg, from_width_deg : numeric
        Directions the wind blows from: clockwise from the start. [deg]
    course_deg : numeric
        Direction flown, in the same north. [deg]

    Returns
    -------
    Range
        Broadcast shape. [kt]

    Notes
    -----
    Never raises. The headwind on a course is the crosswind from the right on the course 90 degrees
    to its left.

    References
    ----------
    Source key ``derived``.
    """
    turned = array(course_deg) - 90.0
    return crosswind_range_kt(wind_low_kt, wind_high_kt, from_start_deg, from_width_deg, turned)


def crab_range_deg(
    tas_kt: ArrayLike,
    wind_low_kt: ArrayLike,
    wind_high_kt: ArrayLike,
    from_start_deg: ArrayLike,
    from_width_deg: ArrayLike,
    course_deg: ArrayLike,
) -> Range:
    """Crab that holds a course.

    Parameters
    ----------
    tas_kt : numeric
        True airspeed. [kt]
    wind_low_kt, wind_high_kt : numeric
        Ends of the wind speed. [kt]
    from_start_deg, from_width_deg : numeric
        Directions the wind blows from: clockwise from the start. [deg]
    course_deg : numeric
        Course, in the same north. [deg]

    Returns
    -------
    Range
        Broadcast shape; positive with the nose right of the course. [deg]

    Notes
    -----
    Never raises. Crab follows the crosswind alone, so its extremes are the crosswind's.

    References
    ----------
    Source key ``derived``.
    """
    across = crosswind_range_kt(wind_low_kt, wind_high_kt, from_start_deg, from_width_deg, course_deg)
    ends = (crab_deg(tas_kt, np.abs(x), np.where(x < 0.0, -90.0, 90.0)) for x in across)
    return both_ends(*ends)


def groundspeed_range_kt(
    tas_kt: ArrayLike,
    wind_low_kt: ArrayLike,
    wind_high_kt: ArrayLike,
    from_start_deg: ArrayLike,
    from_width_deg: ArrayLike,
    course_deg: ArrayLike,
) -> Range:
    """Groundspeed along a course that is held with crab.

    Parameters
    ----------
    tas_kt : numeric
        True airspeed. [kt]
    wind_low_kt, wind_high_kt : numeric
        Ends of the wind speed. [kt]
    from_start_deg, from_width_deg : numeric
        Directions the wind blows from: clockwise from the start. [deg]
    course_deg : numeric
        Course, in the same north. [deg]

    Returns
    -------
    Range
        Broadcast shape. [kt]

    Notes
    -----
    Never raises. Least with the wind nearest the nose, at one of the wind's ends. Greatest with the wind
    nearest the tail: behind the beam the speed grows with the wind up to W = V |cot(angle)| and shrinks
    beyond.

    References
    ----------
    Source key ``derived``.
    """
    low, high = speed_ends(wind_low_kt, wind_high_kt)
    tas = array(tas_kt)
    near, far = from_nose(*wind_angles(from_start_deg, from_width_deg, course_deg))
    least = np.minimum(groundspeed_kt(tas, low, near), groundspeed_kt(tas, high, near))
    with np.errstate(divide="ignore", invalid="ignore"):
        turning = np.where(far > 90.0, -tas * units.cos_deg(far) / units.sin_deg(far), low)
    turning = np.where(np.isnan(turning), low, turning)  # straight behind: 0 / 0 never wins over the ends
    best = groundspeed_kt(tas, np.clip(turning, low, high), far)
    most = np.maximum(best, groundspeed_kt(tas, np.where(far > 90.0, high, low), far))
    # the fastest wind may be impossible across although both chosen directions are flown
    crab = crab_range_deg(tas, low, high, from_start_deg, from_width_deg, course_deg).low
    return both_ends(least, most + 0.0 * crab)


def heading_arc_deg(
    tas_kt: ArrayLike,
    wind_low_kt: ArrayLike,
    wind_high_kt: ArrayLike,
    from_start_deg: ArrayLike,
    from_width_deg: ArrayLike,
    course_deg: ArrayLike,
) -> Arc:
    """Headings that hold a course.

    Parameters
    ----------
    tas_kt : numeric
        True airspeed. [kt]
    wind_low_kt, wind_high_kt : numeric
        Ends of the wind speed. [kt]
    from_start_deg, from_width_deg : numeric
        Directions the wind blows from: clockwise from the start. [deg]
    course_deg : numeric
        Course, in the same north. [deg]

    Returns
    -------
    Arc
        Broadcast shape; the start in [0, 360).

    Notes
    -----
    Never raises. An arc and not a pair of numbers: 355 to 005 is ten degrees wide.

    References
    ----------
    Source key ``derived``.
    """
    crab = crab_range_deg(tas_kt, wind_low_kt, wind_high_kt, from_start_deg, from_width_deg, course_deg)
    return Arc(units.wrap_360(array(course_deg) + crab.low), crab.high - crab.low)


def corner_range_deg(
    tas_kt: ArrayLike,
    wind_low_kt: ArrayLike,
    wind_high_kt: ArrayLike,
    from_start_deg: ArrayLike,
    from_width_deg: ArrayLike,
    course_in_deg: ArrayLike,
    course_out_deg: ArrayLike,
) -> Range:
    """How far the heading turns at a corner between two courses, in the shorter direction.

    Parameters
    ----------
    tas_kt : numeric
        True airspeed. [kt]
    wind_low_kt, wind_high_kt : numeric
        Ends of the wind speed. [kt]
    from_start_deg, from_width_deg : numeric
        Directions the wind blows from: clockwise from the start. [deg]
    course_in_deg, course_out_deg : numeric
        Courses before and after the corner, less than 180 apart. [deg]

    Returns
    -------
    Range
        Amount of turn, positive either way; broadcast shape. [deg]

    Notes
    -----
    Never raises. The wind is the same on both legs, so this is not a difference of two crab ranges. At one
    direction the amount only grows or only shrinks with the wind; at one speed it is extreme at the arc's
    ends or where the wind lies on the bisector of the two courses.

    References
    ----------
    Source keys ``afh-3c-ch7`` (in words), ``derived``.
    """
    low, high = speed_ends(wind_low_kt, wind_high_kt)
    tas = array(tas_kt)
    swing = units.wrap_180(array(course_out_deg) - array(course_in_deg))
    side = np.where(swing < 0.0, -1.0, 1.0)
    start, width = wind_angles(from_start_deg, from_width_deg, course_in_deg)
    bisector = swing / 2.0
    ahead = np.where(holds(start, width, bisector), bisector, start)
    behind = np.where(holds(start, width, bisector + 180.0), bisector + 180.0, start)
    turns = [
        side * (swing + crab_deg(tas, wind, angle - swing) - crab_deg(tas, wind, angle))
        for wind in (low, high)
        for angle in (start, start + width, ahead, behind)
    ]
    flown = 0.0
    for course in (course_in_deg, course_out_deg):
        flown = flown + 0.0 * groundspeed_range_kt(tas, low, high, from_start_deg, from_width_deg, course).low
    stacked = np.stack(np.broadcast_arrays(*turns))
    return both_ends(stacked.min(axis=0) + flown, stacked.max(axis=0) + flown)


def leg_seconds_range(
    tas_kt: ArrayLike,
    wind_low_kt: ArrayLike,
    wind_high_kt: ArrayLike,
    from_start_deg: ArrayLike,
    from_width_deg: ArrayLike,
    course_deg: ArrayLike,
    length_ft: ArrayLike,
) -> Range:
    """Time along a straight leg.

    Parameters
    ----------
    tas_kt : numeric
        True airspeed. [kt]
    wind_low_kt, wind_high_kt : numeric
        Ends of the wind speed. [kt]
    from_start_deg, from_width_deg : numeric
        Directions the wind blows from: clockwise from the start. [deg]
    course_deg : numeric
        Course, in the same north. [deg]
    length_ft : numeric
        Length over the ground, 0 or more. [ft]

    Returns
    -------
    Range
        Broadcast shape. [s]

    Notes
    -----
    Never raises. Shortest at the greatest groundspeed.

    References
    ----------
    Source key ``derived``.
    """
    speed = groundspeed_range_kt(tas_kt, wind_low_kt, wind_high_kt, from_start_deg, from_width_deg, course_deg)
    length = array(length_ft) / units.KT_TO_FTS
    return Range(length / speed.high, length / speed.low)
