"""Eights along and across a road and around pylons: two circles of one radius, turned opposite ways.

Around pylons the circles are joined by straight legs, each with a wind triangle of its own.
"""

from __future__ import annotations

from advisor import units
from advisor.errors import GeometryError
from advisor.flight import ranges
from advisor.flight.demand import LEFT, RIGHT, Demand, Pair, WindRange, arc_pair, check_flyable, pair
from advisor.flight.loops import check_radius, loop
from advisor.records import dataclass


@dataclass(frozen=True, slots=True)
class Loop:
    """One loop of an eight; ``sweep_deg`` is how far its course turns, ``places`` every 45 degrees of it."""

    name: str
    turn: int
    sweep_deg: float
    places: tuple[Demand, ...]


@dataclass(frozen=True, slots=True)
class Eight:
    """A whole eight. ``off_wind_deg`` is how far the line it is laid on lies off the wind it should have."""

    name: str
    line_deg_true: float
    entry_course_deg_true: float
    off_wind_deg: float
    radius_ft: float
    loops: tuple[Loop, Loop]
    legs: tuple[Demand, ...] = ()
    leg_ft: float = 0.0
    leg_to_line_deg: float = 90.0
    circle_seconds: Pair = (0.0, 0.0)


def _off(a_deg: float, b_deg: float) -> float:
    """Angle between two lines, 0 to 90."""
    return abs((a_deg - b_deg + 90.0) % 180.0 - 90.0)


def _nearer_downwind(course_deg: float, wind: WindRange) -> float:
    downwind = wind.from_middle_deg_true + 180.0
    off = abs((course_deg - downwind + 180.0) % 360.0 - 180.0)
    return course_deg % 360.0 if off <= 90.0 else (course_deg + 180.0) % 360.0


def _circle_seconds(tas_kt: float, wind: WindRange, radius_ft: float) -> Pair:
    return pair(ranges.seconds_per_circle_range(tas_kt, wind.low_kt, wind.high_kt, radius_ft))


def along_a_road(
    tas_kt: float, wind: WindRange, radius_ft: float, road_deg_true: float, first_turn: int = LEFT
) -> Eight:
    """Eights along a road: a circle on each side of it, both begun along the road.

    Parameters
    ----------
    tas_kt : float
        True airspeed. [kt]
    wind : WindRange
        Range of wind at height.
    radius_ft : float
        Radius of both loops. [ft]
    road_deg_true : float
        Direction of the road, best straight up and down the wind. [deg true]
    first_turn : int
        -1 when the first loop turns left, +1 when it turns right.

    Returns
    -------
    Eight
        Two whole circles, entered along the road as nearly downwind as it runs.

    Raises
    ------
    GeometryError
        For a radius or a speed that is not positive.
    ImpossibleTriangle
        When the wind reaches the airspeed.

    References
    ----------
    Source keys ``caa-fim``, ``afh-3b-ch6``, ``derived``.
    """
    entry = _nearer_downwind(road_deg_true, wind)
    loops = tuple(
        Loop(name, turn, 360.0, loop(tas_kt, wind, radius_ft, entry, turn, 360.0))
        for name, turn in (("first loop", first_turn), ("second loop", -first_turn))
    )
    return Eight(
        "eights along a road",
        road_deg_true % 360.0,
        entry,
        _off(road_deg_true, wind.from_middle_deg_true),
        radius_ft,
        (loops[0], loops[1]),
        circle_seconds=_circle_seconds(tas_kt, wind, radius_ft),
    )


def across_a_road(
    tas_kt: float, wind: WindRange, radius_ft: float, road_deg_true: float, first_turn: int = LEFT
) -> Eight:
    """Eights across a road: a circle to each side of the crossing, banked as soon as the road is crossed.

    Parameters
    ----------
    tas_kt : float
        True airspeed. [kt]
    wind : WindRange
        Range of wind at height.
    radius_ft : float
        Radius of both loops. [ft]
    road_deg_true : float
        Direction of the road that is crossed square. [deg true]
    first_turn : int
        -1 when the first loop turns left, +1 when it turns right.

    Returns
    -------
    Eight
        Two whole circles; ``off_wind_deg`` counts from a road straight into the wind.

    Raises
    ------
    GeometryError
        For a radius or a speed that is not positive.
    ImpossibleTriangle
        When the wind reaches the airspeed.

    References
    ----------
    Source keys ``caa-fim`` (page 122: the road into the wind if possible), ``derived``.
    """
    entry = _nearer_downwind(road_deg_true + 90.0, wind)
    loops = tuple(
        Loop(name, turn, 360.0, loop(tas_kt, wind, radius_ft, entry, turn, 360.0))
        for name, turn in (("first loop", first_turn), ("second loop", -first_turn))
    )
    return Eight(
        "eights across a road",
        road_deg_true % 360.0,
        entry,
        _off(road_deg_true, wind.from_middle_deg_true),
        radius_ft,
        (loops[0], loops[1]),
        circle_seconds=_circle_seconds(tas_kt, wind, radius_ft),
    )


def around_pylons(
    tas_kt: float, wind: WindRange, radius_ft: float, pylon_line_deg_true: float, pylon_gap_ft: float
) -> Eight:
    """Eights around pylons: downwind between them, into wind outside, with straight legs across the middle.

    Parameters
    ----------
    tas_kt : float
        True airspeed. [kt]
    wind : WindRange
        Range of wind at height.
    radius_ft : float
        Radius around both pylons. [ft]
    pylon_line_deg_true : float
        Direction of the line through the pylons, best square to the wind. [deg true]
    pylon_gap_ft : float
        Distance between the pylons, at least twice the radius. [ft]

    Returns
    -------
    Eight
        Two loops and the two legs. A leg lies asin(2 R / D) off the pylon line and is sqrt(D^2 - 4 R^2) long;
        each loop turns 180 degrees and twice that angle.

    Raises
    ------
    GeometryError
        For a radius or speed that is not positive, or pylons closer than twice the radius.
    ImpossibleTriangle
        When the wind reaches the airspeed.

    References
    ----------
    Source keys ``afh-3c-ch7``, ``afh-3a-ch6``, ``derived``.
    """
    check_radius(radius_ft)
    check_flyable(tas_kt, wind, "Eights around pylons", circle=True)
    if not pylon_gap_ft >= 2.0 * radius_ft:
        raise GeometryError(
            f"Pylons {pylon_gap_ft:,.0f} ft apart leave no room for two circles of {radius_ft:,.0f} ft."
            f" Choose pylons at least {2.0 * radius_ft:,.0f} ft apart, or a smaller radius."
        )
    tilt = float(units.asin_deg(2.0 * radius_ft / pylon_gap_ft))
    leg_ft = (pylon_gap_ft**2 - 4.0 * radius_ft**2) ** 0.5
    downwind = wind.from_middle_deg_true + 180.0
    # the line is looked along so that downwind lies to its right: the far pylon is then turned to the left
    line = pylon_line_deg_true % 360.0
    if float(units.sin_deg(downwind - line)) < 0.0:
        line = (line + 180.0) % 360.0
    courses = ((line + tilt) % 360.0, (line + 180.0 - tilt) % 360.0)
    sweep = 180.0 + 2.0 * tilt
    legs = []
    for name, course in zip(("leg to the left-hand pylon", "leg to the right-hand pylon"), courses, strict=True):
        box = (tas_kt, *wind.box(), course)
        legs.append(
            Demand(
                name,
                course,
                arc_pair(ranges.heading_arc_deg(*box)),
                pair(ranges.crab_range_deg(*box)),
                pair(ranges.groundspeed_range_kt(*box)),
                None,
                pair(ranges.leg_seconds_range(*box, leg_ft)),
            )
        )
    loops = (
        Loop("left turn", LEFT, sweep, loop(tas_kt, wind, radius_ft, courses[0], LEFT, sweep)),
        Loop("right turn", RIGHT, sweep, loop(tas_kt, wind, radius_ft, courses[1], RIGHT, sweep)),
    )
    return Eight(
        "eights around pylons",
        line,
        courses[0],
        90.0 - _off(pylon_line_deg_true, wind.from_middle_deg_true),
        radius_ft,
        loops,
        tuple(legs),
        leg_ft,
        tilt,
        _circle_seconds(tas_kt, wind, radius_ft),
    )
