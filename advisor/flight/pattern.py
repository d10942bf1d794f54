"""The traffic pattern on a real runway: wind shares, the four legs, and the turn to final.

Bearings are degrees true throughout; whoever prints them turns them to magnetic. ``side`` is -1 for a left
and +1 for a right pattern.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from advisor import units
from advisor.flight.demand import Demand, WindRange, check_flyable
from advisor.flight.rectangle import leg
from advisor.flight.turns import bank_deg as bank_deg_of
from advisor.flight.turns import radius_ft, turn_rate_deg_s
from advisor.flight.wind_triangle import solve
from advisor.units import floats

if TYPE_CHECKING:
    from numpy.typing import ArrayLike


class Components(NamedTuple):
    """Shares of a wind along and across a runway; a negative headwind is a tailwind."""

    headwind_kt: Any
    crosswind_kt: Any


def runway_components(
    wind_from_deg_true: ArrayLike, wind_kt: ArrayLike, runway_bearing_deg_true: ArrayLike
) -> Components:
    """Headwind and crosswind on a runway.

    Parameters
    ----------
    wind_from_deg_true : numeric
        Direction the wind blows from. [deg true]
    wind_kt : numeric
        Wind speed: mean or gust. [kt]
    runway_bearing_deg_true : numeric
        Direction of landing, true like the wind; runway numbers are magnetic and rounded. [deg true]

    Returns
    -------
    Components
        ``headwind_kt`` (negative: tailwind) and ``crosswind_kt`` (positive from the right), broadcast shape.

    Notes
    -----
    Never raises.

    References
    ----------
    Source keys ``afh-3c-ch9``, ``derived``.
    """
    angle = floats(wind_from_deg_true) - floats(runway_bearing_deg_true)
    return Components(floats(wind_kt) * units.cos_deg(angle), floats(wind_kt) * units.sin_deg(angle))


def base_tailwind_kt(
    wind_from_deg_true: ArrayLike, wind_kt: ArrayLike, runway_bearing_deg_true: ArrayLike, side: ArrayLike
) -> Any:
    """Tailwind on base leg: what makes base fast and the turn to final late.

    Parameters
    ----------
    wind_from_deg_true : numeric
        Direction the wind blows from. [deg true]
    wind_kt : numeric
        Wind speed. [kt]
    runway_bearing_deg_true : numeric
        Direction of landing. [deg true]
    side : numeric
        -1 for a left pattern, +1 for a right one.

    Returns
    -------
    numeric
        Broadcast shape; negative when base has a headwind. [kt]

    Notes
    -----
    Never raises. Base of a left pattern is flown at the runway's direction plus 90 degrees.

    References
    ----------
    Source keys ``afh-3c-ch8``, ``derived``.
    """
    crosswind = runway_components(wind_from_deg_true, wind_kt, runway_bearing_deg_true).crosswind_kt
    return floats(side) * crosswind


class FinalTurn(NamedTuple):
    """The turn from base to final at one bank, begun where a calm day would end it on the centreline.

    ``turn_deg`` is the change of heading. ``overshoot_ft`` is how far past the centreline it rolls out
    (negative: short of it), and by as much earlier the turn has to begin. ``bank_to_make_it_deg`` is what the
    calm-day place would ask for: the answer to a steep one is to begin earlier or go around.
    """

    turn_deg: Any
    base_tailwind_kt: Any
    overshoot_ft: Any
    bank_to_make_it_deg: Any
    seconds: Any


def final_turn(
    tas_kt: ArrayLike,
    wind_from_deg_true: ArrayLike,
    wind_kt: ArrayLike,
    runway_bearing_deg_true: ArrayLike,
    side: ArrayLike,
    bank_deg: ArrayLike,
) -> FinalTurn:
    """What the wind does to the turn from base to final.

    Parameters
    ----------
    tas_kt : numeric
        True airspeed in the turn. [kt]
    wind_from_deg_true : numeric
        Direction the wind blows from. [deg true]
    wind_kt : numeric
        Wind speed: mean or gust. [kt]
    runway_bearing_deg_true : numeric
        Direction of landing. [deg true]
    side : numeric
        -1 for a left pattern, +1 for a right one.
    bank_deg : numeric
        Bank held through the turn. [deg]

    Returns
    -------
    FinalTurn
        Each of the broadcast shape; NaN where a leg cannot be held.

    Notes
    -----
    Never raises. The turn is a circle in the air between two crabbed headings, carried by the wind. A
    crosswind that pushes along base adds the crab of final to the turn; a headwind on the runway takes the crab
    of base off it. Which of the two wins says whether the heading turns through more than 90 degrees.

    References
    ----------
    Source keys ``afh-3c-ch8``, ``derived``.
    """
    turn = np.where(floats(side) > 0.0, 1.0, -1.0)
    final = floats(runway_bearing_deg_true)
    base = final - 90.0 * turn
    on_base = solve(tas_kt, wind_from_deg_true, wind_kt, base)
    on_final = solve(tas_kt, wind_from_deg_true, wind_kt, final)
    tail = base_tailwind_kt(wind_from_deg_true, wind_kt, final, turn)
    # headings counted from base course towards final: 0 on base, 90 on final, each with its crab
    first, last = turn * on_base.crab_deg, 90.0 + turn * on_final.crab_deg
    radius = radius_ft(tas_kt, bank_deg)
    seconds = (last - first) / turn_rate_deg_s(tas_kt, bank_deg)
    carried = tail * units.KT_TO_FTS * seconds
    across = radius * (units.sin_deg(last) - units.sin_deg(first)) + carried
    tighter = bank_deg_of(tas_kt, radius * radius / np.where(across > 0.0, across, np.nan))
    return FinalTurn(last - first, tail, across - radius, tighter, seconds)


def pattern_legs(
    tas_kt: float,
    wind: WindRange,
    runway_bearing_deg_true: float,
    side: int,
    *,
    approach_tas_kt: float | None = None,
    downwind_ft: float | None = None,
    base_ft: float | None = None,
) -> tuple[Demand, ...]:
    """Crab, heading, groundspeed and time on the legs of a pattern.

    Parameters
    ----------
    tas_kt : float
        True airspeed on upwind, crosswind and downwind. [kt]
    wind : WindRange
        Range of wind in the pattern.
    runway_bearing_deg_true : float
        Direction of landing. [deg true]
    side : int
        -1 for a left pattern, +1 for a right one.
    approach_tas_kt : float, optional
        True airspeed on base and final; the same speed when left out. [kt]
    downwind_ft, base_ft : float, optional
        Length of the downwind leg, and of the crosswind and base legs; without them no times. [ft]

    Returns
    -------
    tuple of Demand
        Upwind, crosswind, downwind, base and final, in the order flown.

    Raises
    ------
    GeometryError
        For a speed that is not positive.
    ImpossibleTriangle
        When the wind reaches the airspeed.

    References
    ----------
    Source keys ``afh-3c-ch8``, ``aim-4-3``, ``derived``.
    """
    slow = tas_kt if approach_tas_kt is None else approach_tas_kt
    check_flyable(min(tas_kt, slow), wind, "A traffic pattern")
    out = runway_bearing_deg_true % 360.0
    turn = 90.0 if side > 0 else -90.0
    plan = (
        ("upwind", out, tas_kt, None),
        ("crosswind", out + turn, tas_kt, base_ft),
        ("downwind", out + 180.0, tas_kt, downwind_ft),
        ("base", out - turn, slow, base_ft),
        ("final", out, slow, None),
    )
    return tuple(leg(speed, wind, name, course, length) for name, course, speed, length in plan)
