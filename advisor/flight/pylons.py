"""Eights on pylons: the height at which the pylon stays on the wing tip, by the handbook and exactly.

The handbook's height goes with the square of the groundspeed. In a wind the exact height goes with airspeed
times the groundspeed's share along the heading, so it changes about half as much. Heights are above the
pylon.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from advisor import units
from advisor.units import floats

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

#: Divisor of the handbook rule for knots and feet; the exact one is 11.294. Source key ``afh-3c-ch7``.
HANDBOOK_DIVISOR_KT2_PER_FT = 11.3


class PylonTrack(NamedTuple):
    """The ellipse flown round a pylon; the last axis is the place.

    ``east_ft`` and ``north_ft`` are from the pylon. Bank is that of the line to the pylon below the horizon.
    """

    from_downwind_deg: Any
    heading_deg: Any
    distance_ft: Any
    height_ft: Any
    bank_deg: Any
    east_ft: Any
    north_ft: Any


class HeightBand(NamedTuple):
    """Pivotal heights over a range of wind. [ft above the pylon]

    ``low`` is flying into wind, ``high`` flying downwind, both at the high wind; ``calm`` is in between.
    """

    handbook_low_ft: Any
    handbook_high_ft: Any
    exact_low_ft: Any
    exact_high_ft: Any
    calm_ft: Any


def handbook_pivotal_ft(groundspeed_kt: ArrayLike) -> Any:
    """Pivotal height by the handbook rule.

    Parameters
    ----------
    groundspeed_kt : numeric
        Groundspeed, 0 or more. [kt]

    Returns
    -------
    numeric
        Shape of the input; above the pylon. [ft] NaN for a negative speed.

    Notes
    -----
    Never raises. G^2 / 11.3. Exact in still air within 0.05 %; in a wind it doubles the real swing.

    References
    ----------
    Source keys ``afh-3c-ch7``, ``afh-3c-fig-7-12``.
    """
    speed = floats(groundspeed_kt)
    return np.where(speed >= 0.0, speed, np.nan)[()] ** 2 / HANDBOOK_DIVISOR_KT2_PER_FT


def exact_pivotal_ft(tas_kt: ArrayLike, wind_kt: ArrayLike, angle_from_downwind_deg: ArrayLike) -> Any:
    """Exact pivotal height at a heading, constant true airspeed.

    Parameters
    ----------
    tas_kt : numeric
        True airspeed, more than 0. [kt]
    wind_kt : numeric
        Wind, 0 or more. [kt]
    angle_from_downwind_deg : numeric
        Heading counted from straight downwind, either way. [deg]

    Returns
    -------
    numeric
        Broadcast shape; above the pylon. [ft] NaN where the aircraft would not move forward over the ground.

    Notes
    -----
    Never raises. h = V (V + W cos a) / 11.294.

    References
    ----------
    Source keys ``denker-pylons``, ``derived``.
    """
    tas, wind = floats(tas_kt), floats(wind_kt)
    tas = np.where((tas > 0.0) & (wind >= 0.0), tas, np.nan)
    forward = tas + wind * units.cos_deg(angle_from_downwind_deg)
    return tas * np.where(forward > 0.0, forward, np.nan) / units.TURN_CONSTANT_KT2_PER_FT


def height_band(tas_kt: ArrayLike, wind_kt: ArrayLike) -> HeightBand:
    """Pivotal heights flying into wind and downwind, by both rules.

    Parameters
    ----------
    tas_kt : numeric
        True airspeed. [kt]
    wind_kt : numeric
        Wind, the high end of its range: more wind always widens the band. [kt]

    Returns
    -------
    HeightBand
        Each of the broadcast shape, above the pylon. [ft]

    Notes
    -----
    Never raises.

    References
    ----------
    Source keys ``afh-3c-ch7``, ``denker-pylons``, ``derived``.
    """
    tas, wind = floats(tas_kt), floats(wind_kt)
    return HeightBand(
        handbook_pivotal_ft(tas - wind),
        handbook_pivotal_ft(tas + wind),
        exact_pivotal_ft(tas, wind, 180.0),
        exact_pivotal_ft(tas, wind, 0.0),
        exact_pivotal_ft(tas, 0.0 * wind, 0.0),
    )


def ellipse_track(
    tas_kt: float,
    wind_from_deg: float,
    wind_kt: float,
    nearest_ft: float,
    turn: int,
    angle_from_downwind_deg: ArrayLike,
) -> PylonTrack:
    """Track round a pylon that stays on the wing tip: an ellipse with the pylon at a focus.

    Parameters
    ----------
    tas_kt : float
        True airspeed. [kt]
    wind_from_deg : float
        Direction the wind blows from. [deg]
    wind_kt : float
        Wind, 0 or more and below the airspeed. [kt]
    nearest_ft : float
        Distance from the pylon flying straight downwind, the nearest. [ft]
    turn : int
        +1 for a right turn, -1 for a left turn.
    angle_from_downwind_deg : array
        Headings counted from straight downwind in the direction of the turn. [deg]

    Returns
    -------
    PylonTrack
        Arrays of the shape of the angles. NaN when the wind is not below the airspeed.

    Notes
    -----
    Never raises. The pylon is square off the heading, so r = C / (V + W cos a) and r times h is constant;
    tan(bank) = h / r.

    References
    ----------
    Source keys ``denker-pylons``, ``derived``.
    """
    side = 1.0 if turn > 0 else -1.0
    angle = floats(angle_from_downwind_deg)
    tas, wind = floats(tas_kt), floats(wind_kt)
    tas = np.where(wind < tas, tas, np.nan)
    heading = units.wrap_360(floats(wind_from_deg) + 180.0 + side * angle)
    distance = floats(nearest_ft) * (tas + wind) / (tas + wind * units.cos_deg(angle))
    height = exact_pivotal_ft(tas, wind, angle)
    outward = heading - side * 90.0
    return PylonTrack(
        angle,
        heading,
        distance,
        height,
        units.atan2_deg(height, distance),
        distance * units.sin_deg(outward),
        distance * units.cos_deg(outward),
    )
