"""The rectangular course: four legs and four corners, in any wind, left or right."""

from __future__ import annotations

import numpy as np

from advisor import units
from advisor.errors import GeometryError
from advisor.flight import ranges
from advisor.flight.demand import (
    BankWord,
    Corner,
    Demand,
    WindRange,
    arc_pair,
    check_flyable,
    pair,
)
from advisor.flight.loops import check_radius
from advisor.flight.turns import bank_for_circle_deg
from advisor.flight.wind_triangle import solve
from advisor.records import dataclass

LEG_NAMES = ("downwind", "base", "upwind", "crosswind")
#: A corner whose bank changes less than this is flown at one bank. [deg]
SAME_BANK_DEG = 1.0
#: Courses within this of straight downwind start or end steep; the same to into wind, shallow. [deg]
STEEP_WITHIN_DEG = 60.0


@dataclass(frozen=True, slots=True)
class Rectangle:
    """Four legs in the order flown, and the corner that ends each of them."""

    side: int
    legs: tuple[Demand, ...]
    corners: tuple[Corner, ...]


def leg_courses(downwind_course_deg: float, side: int) -> tuple[float, float, float, float]:
    """Courses of the four legs in the order flown.

    Parameters
    ----------
    downwind_course_deg : float
        Course of the downwind leg. [deg]
    side : int
        -1 for turns to the left, +1 for turns to the right.

    Returns
    -------
    tuple of float
        Downwind, base, upwind and crosswind, each in [0, 360). [deg]

    Notes
    -----
    Never raises.

    References
    ----------
    Source key ``afh-3c-ch7``.
    """
    turn = 90.0 if side > 0 else -90.0
    a, b, c, d = ((downwind_course_deg + i * turn) % 360.0 for i in range(4))
    return a, b, c, d


def best_downwind_course(field_bearing_deg: float, wind: WindRange) -> float:
    """Side of a field that lies nearest downwind.

    Parameters
    ----------
    field_bearing_deg : float
        Direction of one side of the field. [deg true]
    wind : WindRange
        Range of wind at height.

    Returns
    -------
    float
        One of the field's four directions, in [0, 360). [deg true]

    Notes
    -----
    Never raises.

    References
    ----------
    Source key ``afh-3c-ch7``.
    """
    downwind = wind.from_middle_deg_true + 180.0
    off = (downwind - field_bearing_deg) % 360.0
    return (field_bearing_deg + 90.0 * round(off / 90.0)) % 360.0


def bank_word(from_downwind_deg: float) -> BankWord:
    """Word for the bank where a course lies so far off straight downwind.

    Parameters
    ----------
    from_downwind_deg : float
        Course from straight downwind, either way. [deg]

    Returns
    -------
    BankWord
        Steep within 60 degrees of downwind, shallow within 60 of into wind, medium between.

    Notes
    -----
    Never raises.

    References
    ----------
    Source key ``afh-3c-ch7`` (wind along a leg: downwind steep, across medium, into wind shallow); the 60
    degrees for other winds are ``common-practice``.
    """
    off = abs((from_downwind_deg + 180.0) % 360.0 - 180.0)
    if off <= STEEP_WITHIN_DEG:
        return BankWord.STEEP
    return BankWord.SHALLOW if off >= 180.0 - STEEP_WITHIN_DEG else BankWord.MEDIUM


def corner_words(tas_kt: float, wind: WindRange, course_in_deg: float, course_out_deg: float) -> str:
    """How the bank runs through a corner, in the handbook's words, at the middle of the wind.

    Parameters
    ----------
    tas_kt : float
        True airspeed. [kt]
    wind : WindRange
        Range of wind at height.
    course_in_deg, course_out_deg : float
        Courses before and after. [deg true]

    Returns
    -------
    str
        Such as "steep, shallowing to medium"; "medium throughout" when the bank hardly changes; empty for a
        wind without a direction.

    Notes
    -----
    Never raises.

    References
    ----------
    Source key ``afh-3c-ch7``.
    """
    if not wind.directed:
        return ""
    one = wind.steady()
    ends = [solve(tas_kt, one.from_start_deg_true, one.low_kt, c) for c in (course_in_deg, course_out_deg)]
    # the change of bank does not depend much on the radius: a medium corner is looked at
    radius = tas_kt**2 / units.TURN_CONSTANT_KT2_PER_FT / float(units.tan_deg(25.0))
    first, last = (float(bank_for_circle_deg(e.groundspeed_kt, radius, e.crab_deg)) for e in ends)
    if abs(last - first) < SAME_BANK_DEG:
        return "medium throughout" if one.low_kt < 1.0 else f"{_word(course_in_deg, one)} throughout"
    runs = "shallowing" if last < first else "steepening"
    start, end = _word(course_in_deg, one), _word(course_out_deg, one)
    return f"{start}, {runs}" + (f" to {end}" if end is not start else "")


def _word(course_deg: float, one: WindRange) -> BankWord:
    return bank_word(course_deg - one.from_start_deg_true - 180.0)


def leg(tas_kt: float, wind: WindRange, name: str, course_deg_true: float, length_ft: float | None) -> Demand:
    """Demand of one straight leg.

    Parameters
    ----------
    tas_kt : float
        True airspeed. [kt]
    wind : WindRange
        Range of wind at height.
    name : str
        Name of the leg.
    course_deg_true : float
        Course. [deg true]
    length_ft : float or None
        Length over the ground; None leaves the time out. [ft]

    Returns
    -------
    Demand
        Exact over the whole range of wind; NaN where the course cannot be held.

    Notes
    -----
    Never raises.

    References
    ----------
    Source keys ``afh-3c-ch7``, ``derived``.
    """
    box = (tas_kt, *wind.box(), course_deg_true)
    return Demand(
        name,
        course_deg_true % 360.0,
        arc_pair(ranges.heading_arc_deg(*box)),
        pair(ranges.crab_range_deg(*box)),
        pair(ranges.groundspeed_range_kt(*box)),
        None,
        None if length_ft is None else pair(ranges.leg_seconds_range(*box, length_ft)),
    )


def corner(
    tas_kt: float,
    wind: WindRange,
    name: str,
    course_in_deg_true: float,
    course_out_deg_true: float,
    radius_ft: float,
) -> Corner:
    """Demand of the turn between two legs, over a rounded corner on the ground.

    Parameters
    ----------
    tas_kt : float
        True airspeed. [kt]
    wind : WindRange
        Range of wind at height; its high end below the airspeed.
    name : str
        Name of the corner.
    course_in_deg_true, course_out_deg_true : float
        Courses before and after, less than 180 apart. [deg true]
    radius_ft : float
        Radius of the corner over the ground. [ft]

    Returns
    -------
    Corner
        Turn amount with the same wind on both legs, and the banks.

    Notes
    -----
    Never raises; what cannot be flown is NaN.

    References
    ----------
    Source keys ``afh-3c-ch7``, ``derived``.
    """
    swing = float(units.wrap_180(course_out_deg_true - course_in_deg_true))
    box = (tas_kt, *wind.box())
    return Corner(
        name,
        pair(ranges.corner_range_deg(*box, course_in_deg_true, course_out_deg_true)),
        radius_ft,
        pair(ranges.bank_range_deg(*box, course_in_deg_true, radius_ft)),
        pair(ranges.bank_range_deg(*box, course_out_deg_true, radius_ft)),
        pair(ranges.bank_range_deg(*box, course_in_deg_true, radius_ft, swing)),
        corner_words(tas_kt, wind, course_in_deg_true, course_out_deg_true),
    )


def rectangle(
    tas_kt: float,
    wind: WindRange,
    downwind_course_deg_true: float,
    side: int,
    corner_radius_ft: float,
    sides_ft: tuple[float, float] | None = None,
) -> Rectangle:
    """Legs and corners of a rectangular course.

    Parameters
    ----------
    tas_kt : float
        True airspeed. [kt]
    wind : WindRange
        Range of wind at height.
    downwind_course_deg_true : float
        Course of the leg that lies nearest downwind. [deg true]
    side : int
        -1 for turns to the left, +1 for turns to the right.
    corner_radius_ft : float
        Radius of the corners over the ground. [ft]
    sides_ft : tuple of float, optional
        Length of the flown rectangle along the downwind leg and along base; the corners are taken off. [ft]

    Returns
    -------
    Rectangle
        The four turns add up to 360 degrees for any one wind.

    Raises
    ------
    GeometryError
        For a speed or radius that is not positive, or sides shorter than two corners.
    ImpossibleTriangle
        When the wind reaches the airspeed.

    References
    ----------
    Source keys ``afh-3c-ch7``, ``ac-61-21a``, ``derived``.
    """
    check_radius(corner_radius_ft)
    check_flyable(tas_kt, wind, "A rectangular course", circle=True)
    straight: tuple[float | None, float | None] = (None, None)
    if sides_ft is not None:
        if not min(sides_ft) >= 2.0 * corner_radius_ft or not np.isfinite(sides_ft).all():
            raise GeometryError(
                f"Corners of {corner_radius_ft:,.0f} ft do not fit a rectangle of {sides_ft[0]:,.0f} by"
                f" {sides_ft[1]:,.0f} ft. Give longer sides or a smaller corner radius."
            )
        straight = (sides_ft[0] - 2.0 * corner_radius_ft, sides_ft[1] - 2.0 * corner_radius_ft)
    courses = leg_courses(downwind_course_deg_true, side)
    legs = tuple(leg(tas_kt, wind, LEG_NAMES[i], courses[i], straight[i % 2]) for i in range(4))
    corners = tuple(
        corner(
            tas_kt,
            wind,
            f"{LEG_NAMES[i]} to {LEG_NAMES[(i + 1) % 4]}",
            courses[i],
            courses[(i + 1) % 4],
            corner_radius_ft,
        )
        for i in range(4)
    )
    return Rectangle(side, legs, corners)
