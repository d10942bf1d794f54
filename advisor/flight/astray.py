"""What goes wrong without the correction, flown: one bank all the way round, no crab along a road; and how far off.

Only ``simulate`` flies; nothing here knows the formulas of the lessons either.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from advisor import units
from advisor.errors import GeometryError
from advisor.flight.simulate import Flown, fly_bank, fly_heading

if TYPE_CHECKING:
    from numpy.typing import ArrayLike


def radius_error_ft(flown: Flown, radius_ft: ArrayLike, east_ft: ArrayLike = 0.0, north_ft: ArrayLike = 0.0) -> Any:
    """How far a flown track strays from a circle, at its worst.

    Parameters
    ----------
    flown : Flown
        The track.
    radius_ft : numeric
        Radius meant. [ft]
    east_ft, north_ft : numeric
        Centre of the circle. [ft]

    Returns
    -------
    numeric
        Largest distance from the circle over the flight, 0 or more. [ft]

    Notes
    -----
    Never raises.

    References
    ----------
    Source key ``derived``.
    """
    away = np.hypot(flown.east_ft - east_ft, flown.north_ft - north_ft)
    return np.max(np.abs(away - radius_ft), axis=0)


def constant_bank_round_a_point(
    tas_kt: float,
    wind_from_deg: float,
    wind_kt: float,
    bank_deg: float,
    radius_ft: float,
    turn: int,
    *,
    turns: float = 2.0,
    steps: int = 240,
) -> Flown:
    """The first classic error: one bank all the way round, entered flying downwind abeam the point.

    Parameters
    ----------
    tas_kt : float
        True airspeed. [kt]
    wind_from_deg : float
        Direction the wind blows from. [deg]
    wind_kt : float
        Wind speed. [kt]
    bank_deg : float
        Bank held, more than 0 and under 90. [deg]
    radius_ft : float
        Distance from the point at the start; the point is at 0, 0. [ft]
    turn : int
        +1 for a right turn, -1 for a left turn.
    turns : float
        Whole turns of heading flown.
    steps : int
        Number of steps.

    Returns
    -------
    Flown
        The track, drifting downwind.

    Raises
    ------
    GeometryError
        For a bank that is not flyable level, or an airspeed that is not positive.

    References
    ----------
    Source keys ``afh-3a-ch6``, ``derived``.
    """
    if not (0.0 < bank_deg < 90.0 and tas_kt > 0.0):
        raise GeometryError(
            f"A turn at {bank_deg:g} degrees of bank and {tas_kt:g} kt cannot be flown level."
            " Give a bank between 0 and 90 degrees and a speed above 0."
        )
    side = 1.0 if turn > 0 else -1.0
    heading = wind_from_deg + 180.0
    rate = units.G_FTS2 * float(units.tan_deg(bank_deg)) / (tas_kt * units.KT_TO_FTS) * (180.0 / np.pi)
    outward = heading - side * 90.0
    return fly_bank(
        lambda _: side * bank_deg,
        tas_kt,
        wind_from_deg,
        wind_kt,
        heading,
        turns * 360.0 / rate,
        steps=steps,
        east_ft=radius_ft * float(units.sin_deg(outward)),
        north_ft=radius_ft * float(units.cos_deg(outward)),
    )


def no_crab_along_a_line(
    tas_kt: float, wind_from_deg: float, wind_kt: float, course_deg: float, seconds: float, *, steps: int = 60
) -> Flown:
    """The second classic error: the nose held along the road, and the wind left to itself.

    Parameters
    ----------
    tas_kt : float
        True airspeed. [kt]
    wind_from_deg : float
        Direction the wind blows from. [deg]
    wind_kt : float
        Wind speed. [kt]
    course_deg : float
        Direction of the road, in the same north. [deg]
    seconds : float
        Time flown. [s]
    steps : int
        Number of steps.

    Returns
    -------
    Flown
        The track, which starts over the road at 0, 0.

    Raises
    ------
    GeometryError
        For a time that is not a positive number.

    References
    ----------
    Source keys ``afh-3c-ch7``, ``derived``.
    """
    return fly_heading(lambda _: course_deg, tas_kt, wind_from_deg, wind_kt, seconds, steps=steps)


def off_line_ft(flown: Flown, course_deg: ArrayLike) -> Any:
    """Distance from a line through 0, 0.

    Parameters
    ----------
    flown : Flown
        The track.
    course_deg : numeric
        Direction of the line. [deg]

    Returns
    -------
    numeric
        Shape of the track; positive to the right of the line. [ft]

    Notes
    -----
    Never raises.

    References
    ----------
    Source key ``derived``.
    """
    return flown.east_ft * units.cos_deg(course_deg) - flown.north_ft * units.sin_deg(course_deg)
