"""S-turns across a road: two half circles of one radius, square to the wind or not."""

from __future__ import annotations

from advisor.flight import ranges
from advisor.flight.demand import Demand, Pair, WindRange, pair
from advisor.flight.loops import loop
from advisor.records import dataclass


@dataclass(frozen=True, slots=True)
class HalfCircle:
    """One half of an S-turn: every 45 degrees of course, both crossings of the road included."""

    name: str
    turn: int
    places: tuple[Demand, ...]
    seconds: Pair
    runs: str  # how the bank goes along it


@dataclass(frozen=True, slots=True)
class STurns:
    """Both halves. ``off_square_deg`` is how far the wind lies off square to the road, 0 to 90."""

    road_deg_true: float
    crossing_deg_true: float
    off_square_deg: float
    radius_ft: float
    first: HalfCircle
    second: HalfCircle


def crossing_course(road_deg_true: float, wind: WindRange) -> float:
    """Course of the first crossing: square to the road, as nearly downwind as that allows.

    Parameters
    ----------
    road_deg_true : float
        Direction of the road, either way along it. [deg true]
    wind : WindRange
        Range of wind at height.

    Returns
    -------
    float
        In [0, 360). [deg true]

    Notes
    -----
    Never raises. Entered downwind, so that the steepest bank comes first.

    References
    ----------
    Source key ``afh-3c-ch7``.
    """
    downwind = wind.from_middle_deg_true + 180.0
    right = (road_deg_true + 90.0) % 360.0
    off = abs((right - downwind + 180.0) % 360.0 - 180.0)
    return right if off <= 90.0 else (right + 180.0) % 360.0


def s_turns(tas_kt: float, wind: WindRange, radius_ft: float, road_deg_true: float, first_turn: int) -> STurns:
    """Bank, crab and time of both halves of an S-turn.

    Parameters
    ----------
    tas_kt : float
        True airspeed. [kt]
    wind : WindRange
        Range of wind at height.
    radius_ft : float
        Radius of both halves over the ground. [ft]
    road_deg_true : float
        Direction of the road. [deg true]
    first_turn : int
        +1 when the first half turns right, -1 when it turns left; the second turns the other way.

    Returns
    -------
    STurns
        Exact over the whole range of wind. Both halves take the same time, whatever the wind.

    Raises
    ------
    GeometryError
        For a radius or a speed that is not positive.
    ImpossibleTriangle
        When the wind reaches the airspeed.

    References
    ----------
    Source keys ``afh-3a-ch6``, ``afh-3c-ch7``, ``derived``.
    """
    crossing = crossing_course(road_deg_true, wind)
    downwind = wind.from_middle_deg_true + 180.0
    off = abs((crossing - downwind + 180.0) % 360.0 - 180.0)
    halves = []
    for name, course, turn, runs in (
        ("first half, entered flying downwind", crossing, first_turn, "steepest first, then shallowing"),
        (
            "second half, entered flying into wind",
            crossing + 180.0,
            -first_turn,
            "shallowest first, then steepening",
        ),
    ):
        places = loop(tas_kt, wind, radius_ft, course, turn, 180.0)
        seconds = pair(ranges.half_circle_seconds_range(tas_kt, *wind.box(), course, radius_ft, turn))
        halves.append(HalfCircle(name, turn, places, seconds, runs if wind.directed else "not known"))
    return STurns(road_deg_true % 360.0, crossing, off, radius_ft, halves[0], halves[1])
