"""The wind triangle: what to steer to hold a course, and how fast the ground goes by.

A wind angle is ``wind_from - course``: 0 is dead ahead, +90 from the right. Crab is ``heading - course``:
positive with the nose to the right. Directions are degrees in one and the same north, speeds knots.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from advisor import units
from advisor.errors import ImpossibleTriangle
from advisor.units import floats

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

#: Below this a wind found from a track has no direction worth naming. [kt]
CALM_BELOW_KT = 1e-9


class Triangle(NamedTuple):
    """A solved triangle; all NaN where no heading holds the course."""

    crab_deg: Any
    heading_deg: Any
    groundspeed_kt: Any


class FoundWind(NamedTuple):
    """A wind found from a flown track; the direction is NaN when the air is calm."""

    from_deg: Any
    speed_kt: Any


class Drift(NamedTuple):
    """Where a heading leads when nothing is corrected; drift is ``track - heading``, positive right."""

    track_deg: Any
    drift_deg: Any
    groundspeed_kt: Any


def _flown(tas_kt: ArrayLike, wind_kt: ArrayLike) -> tuple[Any, Any]:
    """Airspeed and wind as arrays; NaN where the airspeed is not positive or the wind is negative."""
    tas, wind = floats(tas_kt), floats(wind_kt)
    return np.where(tas > 0.0, tas, np.nan), np.where(wind >= 0.0, wind, np.nan)


def crab_deg(tas_kt: ArrayLike, wind_kt: ArrayLike, wind_angle_deg: ArrayLike) -> Any:
    """Angle between heading and course that stops the drift.

    Parameters
    ----------
    tas_kt : numeric
        True airspeed. [kt]
    wind_kt : numeric
        Wind speed, 0 or more. [kt]
    wind_angle_deg : numeric
        Direction the wind blows from, less the course. [deg]

    Returns
    -------
    numeric
        Broadcast shape of the inputs; positive with the nose right of the course. [deg] NaN where the share
        across is as strong as the airspeed, for an airspeed that is not positive, and for NaN.

    Notes
    -----
    Never raises. sin(crab) = (W / V) sin(wind angle).

    References
    ----------
    Source keys ``phak-ch16``, ``derived``.
    """
    tas, wind = _flown(tas_kt, wind_kt)
    ratio = wind / tas * units.sin_deg(wind_angle_deg)
    return units.asin_deg(np.where(np.abs(ratio) < 1.0, ratio, np.nan))


def groundspeed_kt(tas_kt: ArrayLike, wind_kt: ArrayLike, wind_angle_deg: ArrayLike) -> Any:
    """Speed over the ground along a course that is held with crab.

    Parameters
    ----------
    tas_kt : numeric
        True airspeed. [kt]
    wind_kt : numeric
        Wind speed, 0 or more. [kt]
    wind_angle_deg : numeric
        Direction the wind blows from, less the course. [deg]

    Returns
    -------
    numeric
        Broadcast shape of the inputs. [kt] NaN where no heading holds the course or the aircraft would stand
        still or go backwards.

    Notes
    -----
    Never raises. G = V cos(crab) - W cos(wind angle): the cosine of the crab is kept, which training answers
    often drop.

    References
    ----------
    Source keys ``phak-ch16``, ``cnatra-p-305`` (without the cosine), ``derived``.
    """
    tas, wind = _flown(tas_kt, wind_kt)
    across = wind * units.sin_deg(wind_angle_deg)
    with np.errstate(invalid="ignore"):
        along = np.sqrt(np.where(np.abs(across) < tas, tas * tas - across * across, np.nan))
    speed = along - wind * units.cos_deg(wind_angle_deg)
    return np.where(speed > 0.0, speed, np.nan)[()]


def solve(
    tas_kt: ArrayLike,
    wind_from_deg: ArrayLike,
    wind_kt: ArrayLike,
    course_deg: ArrayLike,
    *,
    strict: bool = False,
) -> Triangle:
    """Crab, heading and groundspeed that hold a course.

    Parameters
    ----------
    tas_kt : numeric
        True airspeed. [kt]
    wind_from_deg : numeric
        Direction the wind blows from. [deg]
    wind_kt : numeric
        Wind speed, 0 or more. [kt]
    course_deg : numeric
        Course over the ground, in the same north as the wind. [deg]
    strict : bool
        Refuse instead of giving NaN.

    Returns
    -------
    Triangle
        ``crab_deg``, ``heading_deg`` in [0, 360) and ``groundspeed_kt``, each of the broadcast shape; all
        three NaN where there is no solution.

    Raises
    ------
    ImpossibleTriangle
        With ``strict``, when any element made of numbers has no solution.

    References
    ----------
    Source keys ``phak-ch16``, ``derived``.
    """
    angle = floats(wind_from_deg) - floats(course_deg)
    speed = groundspeed_kt(tas_kt, wind_kt, angle)
    crab = np.where(np.isnan(speed), np.nan, crab_deg(tas_kt, wind_kt, angle))[()]
    if strict:
        given = ~np.isnan(floats(tas_kt) + floats(wind_kt) + angle)
        stuck = given & np.isnan(speed)
        if np.any(stuck):
            which = np.broadcast_arrays(floats(tas_kt), floats(wind_kt), angle)
            tas, wind, at = (float(a[np.nonzero(stuck)][0]) if a.ndim else float(a) for a in which)
            raise ImpossibleTriangle(
                f"No heading holds the course: {wind:g} kt of wind from {units.wrap_360(at):.0f} degrees off"
                f" the course is too much for {tas:g} kt of true airspeed. Check both speeds, or pick another"
                " course."
            )
    return Triangle(crab, units.wrap_360(floats(course_deg) + crab), speed)


def fly_heading(tas_kt: ArrayLike, wind_from_deg: ArrayLike, wind_kt: ArrayLike, heading_deg: ArrayLike) -> Drift:
    """Track and groundspeed when a heading is held and the wind is left to itself.

    Parameters
    ----------
    tas_kt : numeric
        True airspeed. [kt]
    wind_from_deg : numeric
        Direction the wind blows from. [deg]
    wind_kt : numeric
        Wind speed, 0 or more. [kt]
    heading_deg : numeric
        Heading, in the same north as the wind. [deg]

    Returns
    -------
    Drift
        ``track_deg`` in [0, 360), ``drift_deg`` and ``groundspeed_kt`` of the broadcast shape.

    Notes
    -----
    Never raises. The ground vector is the air vector plus the wind.

    References
    ----------
    Source keys ``air-crew-mathematics``, ``derived``.
    """
    tas, wind = _flown(tas_kt, wind_kt)
    east = tas * units.sin_deg(heading_deg) - wind * units.sin_deg(wind_from_deg)
    north = tas * units.cos_deg(heading_deg) - wind * units.cos_deg(wind_from_deg)
    track = units.wrap_360(units.atan2_deg(east, north))
    return Drift(track, units.wrap_180(track - floats(heading_deg)), np.hypot(east, north))


def wind_from_track(
    tas_kt: ArrayLike, heading_deg: ArrayLike, track_deg: ArrayLike, groundspeed_kt: ArrayLike
) -> FoundWind:
    """Wind that explains a flown track.

    Parameters
    ----------
    tas_kt : numeric
        True airspeed. [kt]
    heading_deg : numeric
        Heading flown. [deg]
    track_deg : numeric
        Track over the ground, in the same north. [deg]
    groundspeed_kt : numeric
        Speed over the ground. [kt]

    Returns
    -------
    FoundWind
        ``from_deg`` in [0, 360), NaN when there is no wind, and ``speed_kt``; the broadcast shape.

    Notes
    -----
    Never raises. The wind is the ground vector less the air vector.

    References
    ----------
    Source keys ``wind-computer-manual``, ``derived``.
    """
    east = floats(groundspeed_kt) * units.sin_deg(track_deg) - floats(tas_kt) * units.sin_deg(heading_deg)
    north = floats(groundspeed_kt) * units.cos_deg(track_deg) - floats(tas_kt) * units.cos_deg(heading_deg)
    speed = np.hypot(east, north)
    from_deg = units.wrap_360(units.atan2_deg(-east, -north))
    return FoundWind(np.where(speed > CALM_BELOW_KT, from_deg, np.nan)[()], speed)
