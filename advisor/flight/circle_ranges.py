"""Exact ranges on a circle over the ground: steepest and shallowest bank, bank at a place, time."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from advisor import units
from advisor.flight import circle
from advisor.flight.arcs import Range, array, both_ends, from_nose, speed_ends, wind_angles
from advisor.flight.turns import bank_for_circle_deg
from advisor.flight.wind_triangle import crab_deg, groundspeed_kt

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

GOLDEN = (5.0**0.5 - 1.0) / 2.0


def steepest_bank_range_deg(
    tas_kt: ArrayLike, wind_low_kt: ArrayLike, wind_high_kt: ArrayLike, radius_ft: ArrayLike
) -> Range:
    """Steepest bank of a circle over the range of wind.

    Parameters
    ----------
    tas_kt : numeric
        True airspeed. [kt]
    wind_low_kt, wind_high_kt : numeric
        Ends of the wind speed. [kt]
    radius_ft : numeric
        Radius over the ground. [ft]

    Returns
    -------
    Range
        Broadcast shape. [deg]

    Notes
    -----
    Never raises. Always grows with the wind, whatever its direction.

    References
    ----------
    Source key ``derived``.
    """
    low, high = speed_ends(wind_low_kt, wind_high_kt)
    ends = (circle.steepest_bank_deg(tas_kt, wind, radius_ft) for wind in (low, high))
    return both_ends(*ends)


def shallowest_bank_range_deg(
    tas_kt: ArrayLike, wind_low_kt: ArrayLike, wind_high_kt: ArrayLike, radius_ft: ArrayLike
) -> Range:
    """Shallowest bank of a circle over the range of wind.

    Parameters
    ----------
    tas_kt : numeric
        True airspeed. [kt]
    wind_low_kt, wind_high_kt : numeric
        Ends of the wind speed. [kt]
    radius_ft : numeric
        Radius over the ground. [ft]

    Returns
    -------
    Range
        Broadcast shape. [deg]

    Notes
    -----
    Never raises. Always shrinks with the wind, whatever its direction.

    References
    ----------
    Source key ``derived``.
    """
    low, high = speed_ends(wind_low_kt, wind_high_kt)
    ends = (circle.shallowest_bank_deg(tas_kt, wind, radius_ft) for wind in (high, low))
    return both_ends(*ends)


def _bank_extreme(tas: Any, low: Any, high: Any, radius: Any, from_downwind: Any, most: bool) -> Any:
    """Greatest or least bank over the wind speed at one angle from downwind.

    With u = (k sin)^2 and k = W/V the bank is level in k where u^2 - u (1 + 3 cos^2) + 4 cos^2 = 0, which has
    roots only within about 20 degrees of straight across, towards flying downwind.
    """
    c, s = units.cos_deg(from_downwind), units.sin_deg(from_downwind)
    root = (9.0 * c * c - 1.0) * (c * c - 1.0)
    inside = (root >= 0.0) & (c > 0.0) & (c < 0.5)
    root = np.sqrt(np.where(inside, root, 0.0))
    winds = [low, high]
    for sign in (-1.0, 1.0):
        level = tas * np.sqrt(((1.0 + 3.0 * c * c) + sign * root) / 2.0) / np.where(inside, np.abs(s), 1.0)
        winds.append(np.where(inside, np.clip(level, low, high), low))
    banks = []
    for wind in winds:
        angle = 180.0 - from_downwind
        crab = crab_deg(tas, wind, angle)
        banks.append(bank_for_circle_deg(groundspeed_kt(tas, wind, angle), radius, crab))
    stacked = np.stack(np.broadcast_arrays(*banks))
    return stacked.max(axis=0) if most else stacked.min(axis=0)


def bank_range_deg(
    tas_kt: ArrayLike,
    wind_low_kt: ArrayLike,
    wind_high_kt: ArrayLike,
    from_start_deg: ArrayLike,
    from_width_deg: ArrayLike,
    course_deg: ArrayLike,
    radius_ft: ArrayLike,
    swing_deg: ArrayLike = 0.0,
) -> Range:
    """Bank at one place of a circle over the ground, or along part of it.

    Parameters
    ----------
    tas_kt : numeric
        True airspeed. [kt]
    wind_low_kt, wind_high_kt : numeric
        Ends of the wind speed; the high end below the airspeed. [kt]
    from_start_deg, from_width_deg : numeric
        Directions the wind blows from: clockwise from the start. [deg]
    course_deg : numeric
        Course at that place, in the same north. [deg]
    radius_ft : numeric
        Radius over the ground. [ft]
    swing_deg : numeric
        How far the course turns from there, positive to the right; 0 for the place alone. [deg]

    Returns
    -------
    Range
        Broadcast shape. [deg]

    Notes
    -----
    Never raises. At every speed the bank shrinks steadily from flying downwind to flying into wind, so only
    the directions nearest to each count. Over the speed it may be extreme inside the range, near straight
    across.
    For a place that keeps its angle to the wind give the wind's direction as 0 with width 0 and the course as
    180 plus the angle.

    References
    ----------
    Source key ``derived``.
    """
    low, high = speed_ends(wind_low_kt, wind_high_kt)
    tas = array(tas_kt)
    tas = np.where(high < tas, tas, np.nan)
    swing = array(swing_deg)
    course = array(course_deg) + np.maximum(swing, 0.0)
    given = array(from_width_deg)
    given = np.where((given >= 0.0) & (given <= 360.0), given, np.nan)
    width = np.minimum(given + np.abs(swing), 360.0)
    near, far = from_nose(*wind_angles(from_start_deg, width, course))
    least = _bank_extreme(tas, low, high, array(radius_ft), 180.0 - near, most=False)
    most = _bank_extreme(tas, low, high, array(radius_ft), 180.0 - far, most=True)
    return both_ends(least, most)


def seconds_per_circle_range(
    tas_kt: ArrayLike, wind_low_kt: ArrayLike, wind_high_kt: ArrayLike, radius_ft: ArrayLike
) -> Range:
    """Time of one circle over the range of wind.

    Parameters
    ----------
    tas_kt : numeric
        True airspeed. [kt]
    wind_low_kt, wind_high_kt : numeric
        Ends of the wind speed. [kt]
    radius_ft : numeric
        Radius over the ground. [ft]

    Returns
    -------
    Range
        Broadcast shape. [s]

    Notes
    -----
    Never raises. Always grows with the wind.

    References
    ----------
    Source key ``derived``.
    """
    low, high = speed_ends(wind_low_kt, wind_high_kt)
    ends = (circle.seconds_per_circle(tas_kt, wind, radius_ft) for wind in (low, high))
    return both_ends(*ends)


def half_circle_seconds_range(
    tas_kt: ArrayLike,
    wind_low_kt: ArrayLike,
    wind_high_kt: ArrayLike,
    from_start_deg: ArrayLike,
    from_width_deg: ArrayLike,
    course_deg: ArrayLike,
    radius_ft: ArrayLike,
    turn: int,
) -> Range:
    """Time of a half circle that begins on a course, such as one half of an S-turn.

    Parameters
    ----------
    tas_kt : numeric
        True airspeed. [kt]
    wind_low_kt, wind_high_kt : numeric
        Ends of the wind speed; the high end below the airspeed. [kt]
    from_start_deg, from_width_deg : numeric
        Directions the wind blows from: clockwise from the start. [deg]
    course_deg : numeric
        Course at the beginning, in the same north. [deg]
    radius_ft : numeric
        Radius over the ground. [ft]
    turn : int
        +1 for a right turn, -1 for a left turn.

    Returns
    -------
    Range
        Broadcast shape. [s]

    Notes
    -----
    Never raises. Half the time of a whole circle, plus what the wind carries along the chord: 2 R c / (V^2 -
    W^2), c the headwind on the chord. For one direction the time is a convex function of the wind, so its
    greatest value is at an end and its least is found by golden section.

    References
    ----------
    Source key ``derived``.
    """
    low, high = speed_ends(wind_low_kt, wind_high_kt)
    tas = array(tas_kt)
    tas = np.where(high < tas, tas, np.nan)
    # the chord of a half circle to the right runs 90 degrees to the right of the course it begins on
    chord = array(course_deg) + (90.0 if turn > 0 else -90.0)
    near, far = from_nose(*wind_angles(from_start_deg, from_width_deg, chord))

    def seconds(wind: Any, angle: Any) -> Any:
        v, w = tas * units.KT_TO_FTS, wind * units.KT_TO_FTS
        carried = 2.0 * array(radius_ft) * w * units.cos_deg(angle) / (v * v - w * w)
        return circle.seconds_per_circle(tas, wind, radius_ft) / 2.0 + carried

    most = np.maximum(seconds(low, near), seconds(high, near))
    left, right = low, high
    for _ in range(60):  # golden section; the function is convex
        first, second = right - GOLDEN * (right - left), left + GOLDEN * (right - left)
        falling = seconds(first, far) > seconds(second, far)
        left, right = np.where(falling, first, left), np.where(falling, right, second)
    least = np.minimum(seconds((left + right) / 2.0, far), np.minimum(seconds(low, far), seconds(high, far)))
    return both_ends(least, most)
