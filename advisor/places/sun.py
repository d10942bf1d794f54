"""Sunrise, sunset, twilight and the sun's height, for whole columns of places and days.

NOAA's solar calculator equations (Meeus, *Astronomical Algorithms*, low precision). Sunrise and sunset are
the upper limb on the horizon with standard refraction: the centre at -0.833 degrees. Within 30 s of an
ephemeris at field latitudes; a hill, the field's own height and the day's refraction matter more.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from enum import IntEnum
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import numpy as np

from advisor.records import dataclass
from advisor.units import acos_deg, asin_deg, atan2_deg, cos_deg, sin_deg, wrap_180, wrap_360

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

#: Height of the sun's centre at sunrise and sunset, degrees (NOAA: refraction 34', half-width 16').
HORIZON_DEG = -0.833
#: Civil twilight (14 CFR 1.1 leaves "night" to the almanac's civil twilight, the centre at -6 degrees).
CIVIL_DEG = -6.0

_MINUTES_PER_DAY = 1440
_J2000_MIN = 946728000 // 60  # 1 January 2000 1200Z, minutes since 1970
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


class SunState(IntEnum):
    """Whether the sun crosses the height asked for on a day."""

    ALWAYS_DOWN = -1
    RISES_AND_SETS = 0
    ALWAYS_UP = 1


def _declination_and_equation(utc_minutes: Any) -> tuple[Any, Any]:
    """Sun's declination, degrees, and equation of time, minutes (NOAA solar calculator)."""
    t = (np.asarray(utc_minutes, dtype=np.float64) - _J2000_MIN) / (_MINUTES_PER_DAY * 36525.0)
    mean_longitude = wrap_360(280.46646 + t * (36000.76983 + t * 0.0003032))
    anomaly = 357.52911 + t * (35999.05029 - 0.0001537 * t)
    centre = (
        sin_deg(anomaly) * (1.914602 - t * (0.004817 + 0.000014 * t))
        + sin_deg(2.0 * anomaly) * (0.019993 - 0.000101 * t)
        + sin_deg(3.0 * anomaly) * 0.000289
    )
    node = 125.04 - 1934.136 * t
    apparent = mean_longitude + centre - 0.00569 - 0.00478 * sin_deg(node)
    obliquity = 23.0 + (26.0 + (21.448 - t * (46.815 + t * (0.00059 - t * 0.001813))) / 60.0) / 60.0
    obliquity = obliquity + 0.00256 * cos_deg(node)
    declination = asin_deg(sin_deg(obliquity) * sin_deg(apparent))
    # Equation of time as the exact difference of mean longitude and right ascension, four minutes a degree.
    right_ascension = atan2_deg(cos_deg(obliquity) * sin_deg(apparent), cos_deg(apparent))
    nutation = -0.00478 * sin_deg(node) * cos_deg(obliquity)
    equation = 4.0 * wrap_180(mean_longitude - 0.0057183 - right_ascension + nutation)
    return declination, equation


def solar_elevation_deg(latitude_deg: ArrayLike, longitude_deg: ArrayLike, utc_minutes: ArrayLike) -> Any:
    """Height of the sun's centre above the horizon, without refraction.

    Parameters
    ----------
    latitude_deg, longitude_deg : scalar or array, degrees, north and east positive
    utc_minutes : scalar or array, minutes since 1970-01-01T00:00Z (fractions allowed)
        Shapes broadcast.

    Returns
    -------
    float or array of float64, degrees, -90 to 90. NaN in gives NaN out; never raises.
    """
    minutes = np.asarray(utc_minutes, dtype=np.float64)
    declination, equation = _declination_and_equation(minutes)
    hour_angle = (np.mod(minutes, _MINUTES_PER_DAY) + equation) / 4.0 + np.asarray(longitude_deg) - 180.0
    return asin_deg(
        np.clip(
            sin_deg(latitude_deg) * sin_deg(declination)
            + cos_deg(latitude_deg) * cos_deg(declination) * cos_deg(hour_angle),
            -1.0,
            1.0,
        )
    )


def _noon(longitude_deg: Any, utc_midnight_minutes: Any) -> Any:
    """Solar noon of the dates, float UTC minutes: the one nearest clock noon of the place's mean time."""
    mean_noon = np.asarray(utc_midnight_minutes, dtype=np.float64) + 720.0 - 4.0 * np.asarray(longitude_deg)
    noon = mean_noon
    for _ in range(2):
        noon = mean_noon - _declination_and_equation(noon)[1]
    return noon


def _half_day(latitude_deg: Any, declination_deg: Any, height_deg: float) -> tuple[Any, Any]:
    """Hour angle at which the sun stands at a height, degrees, and its cosine: NaN and beyond 1 where it never does."""
    cosine = (sin_deg(height_deg) - sin_deg(latitude_deg) * sin_deg(declination_deg)) / (
        cos_deg(latitude_deg) * cos_deg(declination_deg)
    )
    return acos_deg(cosine), cosine


def _crossings(
    latitude_deg: ArrayLike, longitude_deg: ArrayLike, utc_midnight_minutes: ArrayLike, height_deg: float
) -> tuple[Any, Any, Any]:
    lat, lon, midnight = np.broadcast_arrays(
        np.clip(np.asarray(latitude_deg, dtype=np.float64), -89.999, 89.999),
        np.asarray(longitude_deg, dtype=np.float64),
        np.asarray(utc_midnight_minutes, dtype=np.float64),
    )
    noon = _noon(lon, midnight)
    declination, _ = _declination_and_equation(noon)
    half, cosine = _half_day(lat, declination, height_deg)
    state = np.where(cosine > 1.0, SunState.ALWAYS_DOWN, np.where(cosine < -1.0, SunState.ALWAYS_UP, 0))
    found: list[Any] = []
    for side in (-1.0, 1.0):
        # The sun moves on while it sinks: work the crossing out again at its own time.
        moment = noon + side * 4.0 * half
        for _ in range(3):
            declination, equation = _declination_and_equation(moment)
            again, _ = _half_day(lat, declination, height_deg)
            better = midnight + 720.0 - 4.0 * lon - equation + side * 4.0 * again
            moment = np.where(np.isnan(better), moment, better)
        # All-day cases keep the column whole: the whole solar day, or nothing of it.
        edge = np.where(state == SunState.ALWAYS_UP, noon + side * 721.0, noon)
        found.append(np.rint(np.where(np.isnan(moment), edge, moment)).astype(np.int64)[()])
    return found[0], found[1], state.astype(np.int8)[()]


def sun_times(latitude_deg: ArrayLike, longitude_deg: ArrayLike, utc_midnight_minutes: ArrayLike) -> tuple[Any, Any]:
    """Sunrise and sunset of the solar day whose noon falls on each date.

    Parameters
    ----------
    latitude_deg, longitude_deg : scalar or array, degrees, north and east positive
    utc_midnight_minutes : scalar or array of int
        0000Z of the date wanted, minutes since 1970-01-01T00:00Z. At 97 W the noon of 25 April is at
        1826Z and its sunset early on the 26th.

    Returns
    -------
    (sunrise_min, sunset_min) : int64 UTC minutes, nearest minute, shapes broadcast
        Sun always up: the whole solar day (noon +/- 721 min). Always down: both are noon, an empty day.
        ``sun_state`` tells those apart. Never raises. Source: NOAA solar calculator equations.
    """
    rise, fall, _ = _crossings(latitude_deg, longitude_deg, utc_midnight_minutes, HORIZON_DEG)
    return rise, fall


def civil_twilight(
    latitude_deg: ArrayLike, longitude_deg: ArrayLike, utc_midnight_minutes: ArrayLike
) -> tuple[Any, Any]:
    """Beginning of morning and end of evening civil twilight; arguments and returns as :func:`sun_times`."""
    dawn, dusk, _ = _crossings(latitude_deg, longitude_deg, utc_midnight_minutes, CIVIL_DEG)
    return dawn, dusk


def sun_state(latitude_deg: ArrayLike, longitude_deg: ArrayLike, utc_midnight_minutes: ArrayLike) -> Any:
    """``SunState`` values (int8, shapes broadcast) for the days of :func:`sun_times`. Never raises."""
    return _crossings(latitude_deg, longitude_deg, utc_midnight_minutes, HORIZON_DEG)[2]


@dataclass(frozen=True, slots=True)
class SunDay:
    """One day of the sun at one place: aware UTC times to the minute, ``None`` when it does not happen."""

    sunrise: datetime | None
    sunset: datetime | None
    dawn: datetime | None
    dusk: datetime | None
    state: SunState


def sun_day(latitude_deg: float, longitude_deg: float, day: date, time_zone: str) -> SunDay:
    """The sun on a calendar date as the place's own clocks count it.

    Parameters
    ----------
    latitude_deg, longitude_deg : float, degrees
    day : date
        Local date.
    time_zone : str
        IANA name; it matters only near the date line, where the zone's date and the sun's differ.

    Returns
    -------
    SunDay
        Never raises for a known zone.
    """
    midnight = int((datetime(day.year, day.month, day.day, tzinfo=UTC) - _EPOCH).total_seconds() // 60)
    zone = ZoneInfo(time_zone)
    noon = _EPOCH + timedelta(minutes=float(_noon(longitude_deg, midnight)))
    midnight += _MINUTES_PER_DAY * (day - noon.astimezone(zone).date()).days
    rise, fall, state = _crossings(latitude_deg, longitude_deg, midnight, HORIZON_DEG)
    dawn, dusk, twilight = _crossings(latitude_deg, longitude_deg, midnight, CIVIL_DEG)

    def at(minute: Any, happens: bool) -> datetime | None:
        return _EPOCH + timedelta(minutes=int(minute)) if happens else None

    up, light = int(state) == SunState.RISES_AND_SETS, int(twilight) == SunState.RISES_AND_SETS
    return SunDay(at(rise, up), at(fall, up), at(dawn, light), at(dusk, light), SunState(int(state)))
