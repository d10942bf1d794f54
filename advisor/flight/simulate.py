"""Flies a bank or heading schedule forward in a steady wind, from the equations of motion alone.

It knows nothing of the formulas of the lessons: position changes with air velocity plus wind, heading with
g tan(bank) / V, and a fourth-order Runge-Kutta step moves both. So it can prove them, draw them, and show
what happens without them. East and north are feet, headings degrees, bank positive to the right.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from advisor import units
from advisor.errors import GeometryError

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

#: Steps above this are a mistake of the caller, not a flight.
MAX_STEPS = 200_000


class State(NamedTuple):
    """Where the aircraft is and how it moves, as a bank law sees it."""

    seconds: float
    east_ft: Any
    north_ft: Any
    heading_deg: Any
    track_deg: Any
    groundspeed_kt: Any


class Flown(NamedTuple):
    """A flown track; the first axis is time, the rest the shape of the inputs. Bank is what the law asked."""

    seconds: Any
    east_ft: Any
    north_ft: Any
    heading_deg: Any
    track_deg: Any
    groundspeed_kt: Any
    bank_deg: Any


BankLaw = Callable[[State], Any]


def _over_ground(tas_kt: Any, wind_from_deg: Any, wind_kt: Any, heading_deg: Any) -> tuple[Any, Any]:
    """Velocity over the ground, east and north. [kt]"""
    east = tas_kt * units.sin_deg(heading_deg) - wind_kt * units.sin_deg(wind_from_deg)
    north = tas_kt * units.cos_deg(heading_deg) - wind_kt * units.cos_deg(wind_from_deg)
    return east, north


def fly_bank(
    law: BankLaw,
    tas_kt: ArrayLike,
    wind_from_deg: ArrayLike,
    wind_kt: ArrayLike,
    heading_deg: ArrayLike,
    seconds: float,
    *,
    steps: int = 400,
    east_ft: ArrayLike = 0.0,
    north_ft: ArrayLike = 0.0,
) -> Flown:
    """Fly a bank law forward.

    Parameters
    ----------
    law : callable
        Takes a ``State`` and returns the bank there, positive to the right. [deg]
    tas_kt : numeric
        True airspeed, constant. [kt]
    wind_from_deg : numeric
        Direction the wind blows from. [deg]
    wind_kt : numeric
        Wind speed. [kt]
    heading_deg : numeric
        Heading at the start. [deg]
    seconds : float
        Time flown. [s]
    steps : int
        Number of Runge-Kutta steps; 400 hold a circle within a thousandth of a foot.
    east_ft, north_ft : numeric
        Where it starts. [ft]

    Returns
    -------
    Flown
        ``steps + 1`` moments; headings run on past 360 so that turns can be counted.

    Raises
    ------
    GeometryError
        For no steps, too many, or a time that is not a positive number.

    References
    ----------
    Source key ``derived``; the constants are those of ``exact-units``.
    """
    if not (1 <= steps <= MAX_STEPS and 0.0 < seconds < np.inf):
        raise GeometryError(
            f"Cannot fly {seconds:g} s in {steps} steps. Give a time above 0 and 1 to {MAX_STEPS} steps."
        )
    tas, from_deg, wind, heading, east, north = np.broadcast_arrays(
        *(
            np.asarray(x, dtype=np.float64)
            for x in (tas_kt, wind_from_deg, wind_kt, heading_deg, east_ft, north_ft)
        )
    )
    turn_scale = units.G_FTS2 / (tas * units.KT_TO_FTS) * (180.0 / np.pi)

    def look(at: float, where: Any) -> tuple[State, Any]:
        over_east, over_north = _over_ground(tas, from_deg, wind, where[2])
        track = units.wrap_360(units.atan2_deg(over_east, over_north))
        state = State(at, where[0], where[1], where[2], track, np.hypot(over_east, over_north))
        bank = np.asarray(law(state), dtype=np.float64)
        speed = np.stack(
            [
                over_east * units.KT_TO_FTS,
                over_north * units.KT_TO_FTS,
                np.broadcast_to(turn_scale * units.tan_deg(bank), tas.shape),
            ]
        )
        return state._replace(seconds=at), (bank, speed)

    where = np.stack([east, north, heading])
    step = seconds / steps
    rows: list[tuple[State, Any]] = []
    for i in range(steps + 1):
        now = i * step
        state, (bank, k1) = look(now, where)
        rows.append((state, np.broadcast_to(bank, tas.shape)))
        if i == steps:
            break
        k2 = look(now + step / 2.0, where + k1 * (step / 2.0))[1][1]
        k3 = look(now + step / 2.0, where + k2 * (step / 2.0))[1][1]
        k4 = look(now + step, where + k3 * step)[1][1]
        where = where + (k1 + 2.0 * k2 + 2.0 * k3 + k4) * (step / 6.0)
    east, north, headings, tracks, speeds = (np.stack([s[field] for s, _ in rows]) for field in range(1, 6))
    times = np.array([s.seconds for s, _ in rows])
    return Flown(times, east, north, headings, tracks, speeds, np.stack([b for _, b in rows]))


def fly_heading(
    schedule: Callable[[float], Any],
    tas_kt: ArrayLike,
    wind_from_deg: ArrayLike,
    wind_kt: ArrayLike,
    seconds: float,
    *,
    steps: int = 100,
    east_ft: ArrayLike = 0.0,
    north_ft: ArrayLike = 0.0,
) -> Flown:
    """Fly a heading schedule forward; turns between headings take no time.

    Parameters
    ----------
    schedule : callable
        Takes seconds since the start and returns the heading. [deg]
    tas_kt : numeric
        True airspeed. [kt]
    wind_from_deg : numeric
        Direction the wind blows from. [deg]
    wind_kt : numeric
        Wind speed. [kt]
    seconds : float
        Time flown. [s]
    steps : int
        Number of steps; each is flown on the heading of its middle.
    east_ft, north_ft : numeric
        Where it starts. [ft]

    Returns
    -------
    Flown
        ``steps + 1`` moments, bank 0.

    Raises
    ------
    GeometryError
        For no steps, too many, or a time that is not a positive number.

    References
    ----------
    Source key ``derived``.
    """
    if not (1 <= steps <= MAX_STEPS and 0.0 < seconds < np.inf):
        raise GeometryError(
            f"Cannot fly {seconds:g} s in {steps} steps. Give a time above 0 and 1 to {MAX_STEPS} steps."
        )
    tas, from_deg, wind, east, north = np.broadcast_arrays(
        *(np.asarray(x, dtype=np.float64) for x in (tas_kt, wind_from_deg, wind_kt, east_ft, north_ft))
    )
    step = seconds / steps
    times = np.arange(steps + 1) * step
    headings = np.stack(
        [np.broadcast_to(np.asarray(schedule(float(t)), dtype=np.float64), tas.shape) for t in times]
    )
    middles = np.stack(
        [
            np.broadcast_to(np.asarray(schedule(float(t)), dtype=np.float64), tas.shape)
            for t in times[:-1] + step / 2
        ]
    )
    go_east, go_north = _over_ground(tas, from_deg, wind, middles)
    start = np.zeros((1, *tas.shape))
    moved = units.KT_TO_FTS * step
    over_east, over_north = _over_ground(tas, from_deg, wind, headings)
    return Flown(
        times,
        east + np.concatenate([start, np.cumsum(go_east, axis=0)]) * moved,
        north + np.concatenate([start, np.cumsum(go_north, axis=0)]) * moved,
        headings,
        units.wrap_360(units.atan2_deg(over_east, over_north)),
        np.hypot(over_east, over_north),
        np.zeros_like(headings),
    )


def radius_error_ft(
    flown: Flown, radius_ft: ArrayLike, east_ft: ArrayLike = 0.0, north_ft: ArrayLike = 0.0
) -> Any:
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
