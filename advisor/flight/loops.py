"""Places on a circle over the ground as demands: parts of turns around a point, S-turns and eights."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from advisor.directions import bearing
from advisor.errors import GeometryError
from advisor.flight import ranges
from advisor.flight.demand import Demand, WindRange, arc_pair, check_flyable, pair

#: Course counted from flying straight downwind, in the direction of the turn -> words for the place.
PLACE_WORDS = (
    (0.0, "flying downwind"),
    (45.0, "quartering downwind, nose inside"),
    (90.0, "crosswind, nose inside"),
    (135.0, "quartering into wind, nose inside"),
    (180.0, "flying into wind"),
    (225.0, "quartering into wind, nose outside"),
    (270.0, "crosswind, nose outside"),
    (315.0, "quartering downwind, nose outside"),
)


def place_words(from_downwind_deg: float) -> str:
    """Words for a place on a circle, by how the course lies to the wind.

    Parameters
    ----------
    from_downwind_deg : float
        Course from flying straight downwind, counted in the direction of the turn. [deg]

    Returns
    -------
    str
        The nearest of the eight places. The nose is inside or outside the circle.

    Notes
    -----
    Never raises for a number. "The downwind side" is never said: it is ambiguous.

    References
    ----------
    Source keys ``afh-3a-ch6``, ``derived``.
    """
    return PLACE_WORDS[round((from_downwind_deg % 360.0) / 45.0) % 8][1]


def check_radius(radius_ft: float) -> None:
    """Refuse a radius that is no circle.

    Parameters
    ----------
    radius_ft : float
        Radius over the ground. [ft]

    Returns
    -------
    None

    Raises
    ------
    GeometryError
        For a radius that is not a positive number.

    References
    ----------
    Source key ``derived``.
    """
    if not 0.0 < radius_ft < np.inf:
        raise GeometryError(f"A circle of {radius_ft:g} ft cannot be flown. Give a radius above 0 ft.")


def fixed_place(tas_kt: float, wind: WindRange, radius_ft: float, course_deg_true: float, turn: int) -> Demand:
    """Demand at a place that is fixed on the ground, such as over a road.

    Parameters
    ----------
    tas_kt : float
        True airspeed. [kt]
    wind : WindRange
        Range of wind at height.
    radius_ft : float
        Radius over the ground. [ft]
    course_deg_true : float
        Course at the place. [deg true]
    turn : int
        +1 for a right turn, -1 for a left turn; used for the words.

    Returns
    -------
    Demand
        Exact over the whole range of wind.

    Raises
    ------
    GeometryError
        For a radius or a speed that is not positive.
    ImpossibleTriangle
        When the wind reaches the airspeed.

    References
    ----------
    Source key ``derived``.
    """
    check_radius(radius_ft)
    check_flyable(tas_kt, wind, "A circle over the ground", circle=True)
    box = (tas_kt, *wind.box(), course_deg_true)
    words = place_words((course_deg_true - wind.from_middle_deg_true - 180.0) * (1 if turn > 0 else -1))
    return Demand(
        words if wind.directed else f"course {bearing(course_deg_true)} true",
        course_deg_true % 360.0,
        arc_pair(ranges.heading_arc_deg(*box)),
        pair(ranges.crab_range_deg(*box)),
        pair(ranges.groundspeed_range_kt(*box)),
        pair(ranges.bank_range_deg(*box, radius_ft)),
    )


def loop(
    tas_kt: float,
    wind: WindRange,
    radius_ft: float,
    course_deg_true: float,
    turn: int,
    sweep_deg: float,
    step_deg: float = 45.0,
) -> tuple[Demand, ...]:
    """Demands along part of a circle that begins on a course.

    Parameters
    ----------
    tas_kt : float
        True airspeed. [kt]
    wind : WindRange
        Range of wind at height.
    radius_ft : float
        Radius over the ground. [ft]
    course_deg_true : float
        Course where it begins. [deg true]
    turn : int
        +1 for a right turn, -1 for a left turn.
    sweep_deg : float
        How far the course turns, more than 0. [deg]
    step_deg : float
        A demand every so many degrees of course, and one where it ends. [deg]

    Returns
    -------
    tuple of Demand
        In the order flown, both ends included.

    Raises
    ------
    GeometryError
        For a radius, speed, sweep or step that is not positive.
    ImpossibleTriangle
        When the wind reaches the airspeed.

    References
    ----------
    Source key ``derived``.
    """
    if not (0.0 < sweep_deg <= 720.0 and step_deg > 0.0):
        raise GeometryError(f"A turn of {sweep_deg:g} degrees in steps of {step_deg:g} cannot be laid out.")
    side = 1.0 if turn > 0 else -1.0
    at = [*np.arange(0.0, sweep_deg - 1e-6, step_deg).tolist(), sweep_deg]
    places = [fixed_place(tas_kt, wind, radius_ft, course_deg_true + side * a, turn) for a in at]
    # a whole circle ends where it began: the names must still tell its rows apart
    return *places[:-1], replace(places[-1], name=f"{places[-1].name}, end")


def around_a_point(tas_kt: float, wind: WindRange, radius_ft: float, turn: int) -> tuple[Demand, ...]:
    """Demands at the eight places of a turn around a point, fixed to the wind.

    Parameters
    ----------
    tas_kt : float
        True airspeed. [kt]
    wind : WindRange
        Range of wind at height.
    radius_ft : float
        Radius over the ground. [ft]
    turn : int
        +1 for a right turn, -1 for a left turn.

    Returns
    -------
    tuple of Demand
        Eight, from flying straight downwind (where the lesson is entered) in the order flown. The places move
        with the wind's direction, so only the headings show the arc; the course is that of its middle.

    Raises
    ------
    GeometryError
        For a radius or a speed that is not positive.
    ImpossibleTriangle
        When the wind reaches the airspeed.

    References
    ----------
    Source keys ``afh-3a-ch6``, ``derived``.
    """
    check_radius(radius_ft)
    check_flyable(tas_kt, wind, "A turn around a point", circle=True)
    side = 1.0 if turn > 0 else -1.0
    places = []
    for from_downwind, words in PLACE_WORDS:
        box = (tas_kt, wind.low_kt, wind.high_kt, 0.0, 0.0, 180.0 + side * from_downwind)
        crab = pair(ranges.crab_range_deg(*box))
        course = wind.from_start_deg_true + 180.0 + side * from_downwind
        width = min(wind.width_deg + crab[1] - crab[0], 360.0)
        places.append(
            Demand(
                words,
                (course + wind.width_deg / 2.0) % 360.0,
                ((course + crab[0]) % 360.0, (course + crab[0] + width) % 360.0),
                crab,
                pair(ranges.groundspeed_range_kt(*box)),
                pair(ranges.bank_range_deg(*box, radius_ft)),
            )
        )
    return tuple(places)
