"""A circle of constant radius over the ground in a steady wind: bank, crab, heading and time.

Turns around a point, each half of an S-turn and each loop of an eight are this circle. ``from_downwind_deg``
counts the course from flying straight downwind (0) in the direction of the turn: 90 and 270 are straight
across the wind, 180 is straight into it. Everything needs a wind below the airspeed; else NaN.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from advisor import units
from advisor.flight.turns import bank_for_circle_deg, radius_ft, turn_rate_deg_s
from advisor.flight.wind_triangle import crab_deg, groundspeed_kt
from advisor.units import floats

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

#: Course counted from flying downwind at the eight positions of a briefing sketch, in the order flown.
EIGHT_POSITIONS_DEG = np.arange(0.0, 360.0, 45.0)


class OnCircle(NamedTuple):
    """What is flown at places on a circle; the last axis is the place.

    ``position_deg`` is the bearing of the aircraft from the centre. Heading rate is negative turning left.
    """

    from_downwind_deg: Any
    course_deg: Any
    heading_deg: Any
    position_deg: Any
    crab_deg: Any
    groundspeed_kt: Any
    bank_deg: Any
    heading_rate_deg_s: Any


class ConstantBank(NamedTuple):
    """A turn at one bank: a circle in the air that the wind carries along."""

    air_radius_ft: Any
    seconds: Any
    drift_ft: Any


def _speeds(tas_kt: ArrayLike, wind_kt: ArrayLike) -> tuple[Any, Any]:
    """Airspeed and wind; the airspeed is NaN where no circle can be held."""
    tas, wind = floats(tas_kt), floats(wind_kt)
    return np.where((wind >= 0.0) & (wind < tas), tas, np.nan), wind


def steepest_bank_deg(tas_kt: ArrayLike, wind_kt: ArrayLike, radius_ft: ArrayLike) -> Any:
    """Steepest bank on a circle, met flying straight downwind.

    Parameters
    ----------
    tas_kt : numeric
        True airspeed. [kt]
    wind_kt : numeric
        Wind, 0 or more and below the airspeed. [kt]
    radius_ft : numeric
        Radius over the ground. [ft]

    Returns
    -------
    numeric
        Broadcast shape. [deg] NaN where no circle can be held.

    Notes
    -----
    Never raises. tan(bank) = (V + W)^2 / (11.294 R); more wind is always steeper.

    References
    ----------
    Source keys ``afh-3c-ch7``, ``derived``.
    """
    tas, wind = _speeds(tas_kt, wind_kt)
    return bank_for_circle_deg(tas + wind, radius_ft)


def shallowest_bank_deg(tas_kt: ArrayLike, wind_kt: ArrayLike, radius_ft: ArrayLike) -> Any:
    """Shallowest bank on a circle, met flying straight into wind.

    Parameters
    ----------
    tas_kt : numeric
        True airspeed. [kt]
    wind_kt : numeric
        Wind, 0 or more and below the airspeed. [kt]
    radius_ft : numeric
        Radius over the ground. [ft]

    Returns
    -------
    numeric
        Broadcast shape. [deg] NaN where no circle can be held.

    Notes
    -----
    Never raises. tan(bank) = (V - W)^2 / (11.294 R); more wind is always shallower.

    References
    ----------
    Source keys ``afh-3c-ch7``, ``derived``.
    """
    tas, wind = _speeds(tas_kt, wind_kt)
    return bank_for_circle_deg(tas - wind, radius_ft)


def radius_for_bank_ft(tas_kt: ArrayLike, wind_kt: ArrayLike, bank_deg: ArrayLike) -> Any:
    """Smallest circle over the ground that never asks for more than a bank.

    Parameters
    ----------
    tas_kt : numeric
        True airspeed. [kt]
    wind_kt : numeric
        Wind, the high end; 0 or more and below the airspeed. [kt]
    bank_deg : numeric
        Steepest bank, more than 0 and under 90. [deg]

    Returns
    -------
    numeric
        Broadcast shape. [ft] NaN where no circle can be held.

    Notes
    -----
    Never raises. R = (V + W)^2 / (11.294 tan(bank)).

    References
    ----------
    Source keys ``afh-3c-ch7`` (45 degrees at most), ``derived``.
    """
    tas, wind = _speeds(tas_kt, wind_kt)
    return radius_ft(tas + wind, bank_deg)


def max_crab_deg(tas_kt: ArrayLike, wind_kt: ArrayLike) -> Any:
    """Largest crab on a circle, met flying straight across the wind.

    Parameters
    ----------
    tas_kt : numeric
        True airspeed. [kt]
    wind_kt : numeric
        Wind, 0 or more and below the airspeed. [kt]

    Returns
    -------
    numeric
        Broadcast shape, either side. [deg] NaN where no circle can be held.

    Notes
    -----
    Never raises. asin(W / V).

    References
    ----------
    Source keys ``phak-ch16``, ``derived``.
    """
    tas, wind = _speeds(tas_kt, wind_kt)
    return units.asin_deg(wind / tas)


def seconds_per_circle(tas_kt: ArrayLike, wind_kt: ArrayLike, radius_ft: ArrayLike) -> Any:
    """Time for one whole circle over the ground; wind always makes it longer.

    Parameters
    ----------
    tas_kt : numeric
        True airspeed. [kt]
    wind_kt : numeric
        Wind, 0 or more and below the airspeed. [kt]
    radius_ft : numeric
        Radius over the ground. [ft]

    Returns
    -------
    numeric
        Broadcast shape. [s] NaN where no circle can be held.

    Notes
    -----
    Never raises. 4 R V E(W/V) / (V^2 - W^2), E the complete elliptic integral of the second kind with that
    modulus, here by the arithmetic-geometric mean (each step doubles the digits; eight are plenty).

    References
    ----------
    Source key ``derived``.
    """
    tas, wind = _speeds(tas_kt, wind_kt)
    k = wind / tas
    a, b, c = np.ones_like(k), np.sqrt(1.0 - k * k), k
    less = 0.5 * c * c
    power = 0.5
    for _ in range(8):
        a, b, c = (a + b) / 2.0, np.sqrt(a * b), (a - b) / 2.0
        power *= 2.0
        less = less + power * c * c
    elliptic = np.pi / (2.0 * a) * (1.0 - less)
    v, w = tas * units.KT_TO_FTS, wind * units.KT_TO_FTS
    radius = np.where(floats(radius_ft) > 0.0, floats(radius_ft), np.nan)
    return 4.0 * radius * v * elliptic / (v * v - w * w)


def at_places(
    tas_kt: ArrayLike,
    wind_from_deg: ArrayLike,
    wind_kt: ArrayLike,
    radius_ft: ArrayLike,
    from_downwind_deg: ArrayLike,
    turn: int,
) -> OnCircle:
    """What is flown at any places on a circle over the ground.

    Parameters
    ----------
    tas_kt : numeric
        True airspeed. [kt]
    wind_from_deg : numeric
        Direction the wind blows from. [deg]
    wind_kt : numeric
        Wind, 0 or more and below the airspeed. [kt]
    radius_ft : numeric
        Radius over the ground. [ft]
    from_downwind_deg : numeric
        Course from flying straight downwind, counted in the direction of the turn. [deg]
    turn : int
        +1 for a right turn, -1 for a left turn.

    Returns
    -------
    OnCircle
        Each field of the broadcast shape; directions in [0, 360) and in the north of the wind.

    Notes
    -----
    Never raises. The nose points inside the circle on the way from downwind to into wind, and outside on the
    way back.

    References
    ----------
    Source keys ``afh-3a-ch6``, ``derived``.
    """
    side = 1.0 if turn > 0 else -1.0
    tas, wind = _speeds(tas_kt, wind_kt)
    th = floats(from_downwind_deg)
    course = units.wrap_360(floats(wind_from_deg) + 180.0 + side * th)
    angle = floats(wind_from_deg) - course
    crab = crab_deg(tas, wind, angle)
    speed = groundspeed_kt(tas, wind, angle)
    bank = bank_for_circle_deg(speed, radius_ft, crab)
    return OnCircle(
        units.wrap_360(th),
        course,
        units.wrap_360(course + crab),
        units.wrap_360(course - side * 90.0),
        crab,
        speed,
        bank,
        side * turn_rate_deg_s(tas, bank),
    )


def clock_positions(
    tas_kt: ArrayLike, wind_from_deg: ArrayLike, wind_kt: ArrayLike, radius_ft: ArrayLike, turn: int
) -> OnCircle:
    """What is flown at the eight positions of a briefing sketch.

    Parameters
    ----------
    tas_kt : numeric
        True airspeed. [kt]
    wind_from_deg : numeric
        Direction the wind blows from. [deg]
    wind_kt : numeric
        Wind, 0 or more and below the airspeed. [kt]
    radius_ft : numeric
        Radius over the ground. [ft]
    turn : int
        +1 for a right turn, -1 for a left turn.

    Returns
    -------
    OnCircle
        Broadcast shape with a last axis of 8: every 45 degrees of course in the order flown, from flying
        straight downwind, where the lesson is entered.

    Notes
    -----
    Never raises. With the wind at 12 o'clock a left turn starts at 9 o'clock and a right turn at 3 o'clock.

    References
    ----------
    Source keys ``afh-3a-ch6``, ``derived``.
    """
    ends = [floats(x)[..., None] for x in (tas_kt, wind_from_deg, wind_kt, radius_ft)]
    return at_places(ends[0], ends[1], ends[2], ends[3], EIGHT_POSITIONS_DEG, turn)


def seconds_between(
    tas_kt: ArrayLike,
    wind_kt: ArrayLike,
    radius_ft: ArrayLike,
    start_deg: ArrayLike,
    end_deg: ArrayLike,
) -> Any:
    """Time along part of a circle over the ground.

    Parameters
    ----------
    tas_kt : numeric
        True airspeed. [kt]
    wind_kt : numeric
        Wind, 0 or more and below the airspeed. [kt]
    radius_ft : numeric
        Radius over the ground. [ft]
    start_deg, end_deg : numeric
        Course from flying straight downwind at both ends, counted in the direction of the turn; the end may
        pass 360. [deg]

    Returns
    -------
    numeric
        Broadcast shape. [s] Negative when the end comes before the start; NaN where no circle can be held.

    Notes
    -----
    Never raises. R / G integrated in closed form for the wind's share and by a 64-point Gauss rule for the
    rest, which is smooth: to a millionth of a second up to a wind of 0.98 of the airspeed.

    References
    ----------
    Source key ``derived``.
    """
    tas, wind = _speeds(tas_kt, wind_kt)
    start, end = floats(start_deg), floats(end_deg)
    nodes, weights = np.polynomial.legendre.leggauss(64)
    middle, half = (start + end) / 2.0, (end - start) / 2.0
    th = middle[..., None] + half[..., None] * nodes
    k = (wind / tas)[..., None]
    curve = np.sqrt(1.0 - (k * units.sin_deg(th)) ** 2) @ weights * half * (np.pi / 180.0)
    straight = units.sin_deg(end) - units.sin_deg(start)
    v, w = tas * units.KT_TO_FTS, wind * units.KT_TO_FTS
    return floats(radius_ft) * (v * curve - w * straight) / (v * v - w * w)


def constant_bank_drift(tas_kt: ArrayLike, wind_kt: ArrayLike, bank_deg: ArrayLike) -> ConstantBank:
    """What one whole turn at an unchanging bank does in a wind.

    Parameters
    ----------
    tas_kt : numeric
        True airspeed. [kt]
    wind_kt : numeric
        Wind, 0 or more. [kt]
    bank_deg : numeric
        Bank held, more than 0 and under 90. [deg]

    Returns
    -------
    ConstantBank
        Radius in the air, seconds of one turn and how far downwind of its start the turn ends; the broadcast
        shape. Infinite with wings level.

    Notes
    -----
    Never raises. Drift is the wind times the time: the wind does not bend the turn, it carries it.

    References
    ----------
    Source keys ``afh-3a-ch6``, ``derived``.
    """
    with np.errstate(divide="ignore"):
        seconds = 360.0 / turn_rate_deg_s(tas_kt, bank_deg)
    with np.errstate(invalid="ignore"):
        drift = floats(wind_kt) * units.KT_TO_FTS * seconds
    return ConstantBank(radius_ft(tas_kt, bank_deg), seconds, drift)
