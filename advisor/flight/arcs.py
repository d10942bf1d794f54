"""Arcs of direction and ranges of wind: what the exact ranges are built from.

A range of wind is every speed between two ends from every direction of an arc that starts somewhere and runs
clockwise, 0 wide for one direction and 360 for a variable one. The wind angle is ``wind_from - course``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from advisor import units

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

#: Slack when asking whether a direction lies in an arc, so that rounding never makes a range narrower. [deg]
ARC_SLACK_DEG = 1e-9


class Range(NamedTuple):
    """Least and greatest value over a range of wind; NaN together where some wind of it cannot be flown."""

    low: Any
    high: Any


class Arc(NamedTuple):
    """Directions from ``start_deg`` clockwise through ``width_deg``."""

    start_deg: Any
    width_deg: Any


def array(value: ArrayLike) -> Any:
    """Float64 array of anything numeric.

    Parameters
    ----------
    value : numeric
        A number or an array.

    Returns
    -------
    array of float64
        Shape of the input.

    Notes
    -----
    Never raises for numbers.

    References
    ----------
    Source key ``derived``.
    """
    return np.asarray(value, dtype=np.float64)


def speed_ends(low_kt: ArrayLike, high_kt: ArrayLike) -> tuple[Any, Any]:
    """Ends of a wind speed as arrays.

    Parameters
    ----------
    low_kt, high_kt : numeric
        Ends of the wind speed. [kt]

    Returns
    -------
    tuple of numeric
        Both NaN where an end is negative or the ends are the wrong way round. [kt]

    Notes
    -----
    Never raises.

    References
    ----------
    Source key ``derived``.
    """
    low, high = array(low_kt), array(high_kt)
    fits = (low >= 0.0) & (low <= high)
    return np.where(fits, low, np.nan), np.where(fits, high, np.nan)


def wind_angles(start_deg: ArrayLike, width_deg: ArrayLike, course_deg: ArrayLike) -> tuple[Any, Any]:
    """Arc of the wind angle on a course.

    Parameters
    ----------
    start_deg, width_deg : numeric
        Directions the wind blows from: clockwise from the start; width 0 to 360. [deg]
    course_deg : numeric
        Course, in the same north. [deg]

    Returns
    -------
    tuple of numeric
        Start in [0, 360) and width; NaN for a width that is no arc. [deg]

    Notes
    -----
    Never raises.

    References
    ----------
    Source key ``derived``.
    """
    width = array(width_deg)
    width = np.where((width >= 0.0) & (width <= 360.0), width, np.nan)
    return units.wrap_360(array(start_deg) - array(course_deg)), width


def holds(start_deg: Any, width_deg: Any, angle_deg: Any) -> Any:
    """Whether a direction lies in an arc.

    Parameters
    ----------
    start_deg, width_deg : numeric
        The arc. [deg]
    angle_deg : numeric
        The direction. [deg]

    Returns
    -------
    bool or array of bool
        Broadcast shape; false with NaN.

    Notes
    -----
    Never raises. The ends belong to the arc, with a slack of 1e-9 degrees.

    References
    ----------
    Source key ``derived``.
    """
    ahead = units.wrap_360(angle_deg - start_deg)
    return (ahead <= width_deg + ARC_SLACK_DEG) | (ahead >= 360.0 - ARC_SLACK_DEG)


def from_nose(start_deg: Any, width_deg: Any) -> tuple[Any, Any]:
    """Angles between wind and course nearest the nose and nearest the tail.

    Parameters
    ----------
    start_deg, width_deg : numeric
        Arc of the wind angle. [deg]

    Returns
    -------
    tuple of numeric
        Least and greatest, each 0 to 180, either side. [deg]

    Notes
    -----
    Never raises.

    References
    ----------
    Source key ``derived``.
    """
    first, last = np.abs(units.wrap_180(start_deg)), np.abs(units.wrap_180(start_deg + width_deg))
    near = np.where(holds(start_deg, width_deg, 0.0), 0.0, np.minimum(first, last))
    far = np.where(holds(start_deg, width_deg, 180.0), 180.0, np.maximum(first, last))
    return near, far


def across_shares(start_deg: Any, width_deg: Any) -> tuple[Any, Any]:
    """Least and greatest share of the wind from the right.

    Parameters
    ----------
    start_deg, width_deg : numeric
        Arc of the wind angle. [deg]

    Returns
    -------
    tuple of numeric
        Each -1 to 1.

    Notes
    -----
    Never raises. Extreme at the arc's ends, or straight across where the arc holds it.

    References
    ----------
    Source key ``derived``.
    """
    first, last = units.sin_deg(start_deg), units.sin_deg(start_deg + width_deg)
    least = np.where(holds(start_deg, width_deg, 270.0), -1.0, np.minimum(first, last))
    most = np.where(holds(start_deg, width_deg, 90.0), 1.0, np.maximum(first, last))
    return least, most


def both_ends(low: Any, high: Any) -> Range:
    """A range whose ends are NaN together.

    Parameters
    ----------
    low, high : numeric
        Least and greatest value.

    Returns
    -------
    Range
        Broadcast shape.

    Notes
    -----
    Never raises.

    References
    ----------
    Source key ``derived``.
    """
    bad = np.isnan(low) | np.isnan(high)
    return Range(np.where(bad, np.nan, low)[()], np.where(bad, np.nan, high)[()])
