"""Flies a bank or heading schedule forward in a steady wind, from the equations of motion alone.

It knows nothing of the formulas of the lessons: position changes with air velocity plus wind, heading with
g tan(bank) / V, and a fourth-order Runge-Kutta step moves both. So it can prove them and draw them;
``astray`` shows what happens without them. East and north are feet, headings degrees, bank positive to the right.
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


def _check(seconds: float, steps: int) -> None:
    if not (1 <= steps <= MAX_STEPS and 0.0 < seconds < np.inf):
        raise GeometryError(
            f"Cannot fly {seconds:g} s in {steps} steps. Give a time above 0 and 1 to {MAX_STEPS} steps."
        )


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
    _check(seconds, steps)
    tas, from_deg, wind, heading, east, north = np.broadcast_arrays(
        *(np.asarray(x, dtype=np.float64) for x in (tas_kt, wind_from_deg, wind_kt, heading_deg, east_ft, north_ft))
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
    _check(seconds, steps)
    tas, from_deg, wind, east, north = np.broadcast_arrays(
        *(np.asarray(x, dtype=np.float64) for x in (tas_kt, wind_from_deg, wind_kt, east_ft, north_ft))
    )
    step = seconds / steps
    times = np.arange(steps + 1) * step
    headings = np.stack([np.broadcast_to(np.asarray(schedule(float(t)), dtype=np.float64), tas.shape) for t in times])
    middles = np.stack(
        [np.broadcast_to(np.asarray(schedule(float(t)), dtype=np.float64), tas.shape) for t in times[:-1] + step / 2]
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
