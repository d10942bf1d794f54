"""Tracking a road: the crab each way along it, and which of several roads shows the most wind."""

from __future__ import annotations

from collections.abc import Iterable

from advisor import directions, units
from advisor.flight import ranges
from advisor.flight.demand import Demand, Pair, WindRange, check_flyable, pair
from advisor.flight.rectangle import leg
from advisor.records import dataclass


@dataclass(frozen=True, slots=True)
class RoadWind:
    """What one road shows. ``crosswind_kt`` is the least and greatest share across it, either side.

    ``share`` is the share of the wind across it at the middle direction, 0 to 1.
    """

    name: str
    bearing_deg_true: float
    crosswind_kt: Pair
    share: float
    there: Demand
    back: Demand


def crosswind_amount_kt(wind: WindRange, bearing_deg_true: float) -> Pair:
    """Least and greatest crosswind on a line, whichever side it comes from.

    Parameters
    ----------
    wind : WindRange
        Range of wind at height.
    bearing_deg_true : float
        Direction of the line. [deg true]

    Returns
    -------
    tuple of float
        Low and high, 0 or more. [kt]

    Notes
    -----
    Never raises. Exact; 0 when the wind may blow straight along the line.

    References
    ----------
    Source key ``derived``.
    """
    low, high = pair(ranges.crosswind_range_kt(*wind.box(), bearing_deg_true))
    most = max(abs(low), abs(high))
    least = 0.0 if low <= 0.0 <= high else min(abs(low), abs(high))
    return least, most


def track_road(
    tas_kt: float,
    wind: WindRange,
    bearing_deg_true: float,
    name: str = "road",
    length_ft: float | None = None,
) -> RoadWind:
    """Crab, groundspeed and time along a road, there and back.

    Parameters
    ----------
    tas_kt : float
        True airspeed. [kt]
    wind : WindRange
        Range of wind at height.
    bearing_deg_true : float
        Direction of the road. [deg true]
    name : str
        Name of the road.
    length_ft : float or None
        How far along it; None leaves the time out. [ft]

    Returns
    -------
    RoadWind
        Exact over the whole range of wind.

    Raises
    ------
    GeometryError
        For a speed that is not positive.
    ImpossibleTriangle
        When the wind reaches the airspeed.

    References
    ----------
    Source keys ``afh-3c-ch7``, ``derived``.
    """
    check_flyable(tas_kt, wind, "Tracking a road")
    bearing = bearing_deg_true % 360.0
    return RoadWind(
        name,
        bearing,
        crosswind_amount_kt(wind, bearing),
        abs(float(units.sin_deg(wind.from_middle_deg_true - bearing))) if wind.directed else 0.0,
        leg(tas_kt, wind, f"along {name}, {directions.bearing(bearing)} true", bearing, length_ft),
        leg(tas_kt, wind, f"back, {directions.bearing(bearing + 180.0)} true", bearing + 180.0, length_ft),
    )


def most_crosswind(tas_kt: float, wind: WindRange, roads: Iterable[tuple[str, float]]) -> tuple[RoadWind, ...]:
    """Roads in the order in which they show the wind, most crosswind first.

    Parameters
    ----------
    tas_kt : float
        True airspeed. [kt]
    wind : WindRange
        Range of wind at height.
    roads : iterable of (str, float)
        Names and directions. [deg true]

    Returns
    -------
    tuple of RoadWind
        By the least crosswind over the range, then by the share at the middle direction.

    Raises
    ------
    GeometryError
        For a speed that is not positive.
    ImpossibleTriangle
        When the wind reaches the airspeed.

    References
    ----------
    Source keys ``afh-3c-ch7``, ``derived``.
    """
    found = [track_road(tas_kt, wind, bearing, name) for name, bearing in roads]
    return tuple(sorted(found, key=lambda r: (-round(r.crosswind_kt[0], 6), -round(r.share, 6))))
