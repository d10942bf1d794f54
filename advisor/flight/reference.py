"""Which road, field or point of a practice area fits this wind, and how to begin on it.

The school enters the references; nobody here has seen them today. Every choice therefore says to look first.
"""

from __future__ import annotations

from collections.abc import Iterable

from advisor import units
from advisor.directions import bearing
from advisor.flight.demand import WindRange
from advisor.flight.rectangle import best_downwind_course
from advisor.flight.s_turns import crossing_course
from advisor.flight.tracking import crosswind_amount_kt
from advisor.places.geodesy import bearing_deg_true, distance_nm
from advisor.records import dataclass
from advisor.school import Point, PracticeArea, PracticeField, Road

LOOK_FIRST = "Look first for people, wires, towers, traffic."

#: lesson -> (kind of reference, how a road or line should lie to the wind: square, along or nothing)
WANTED: dict[str, tuple[str, str]] = {
    "tracking": ("road", "square"),
    "rectangular-course": ("field", ""),
    "s-turns": ("road", "square"),
    "turns-around-a-point": ("point", ""),
    "eights-along-a-road": ("road", "along"),
    "eights-across-a-road": ("road", "along"),
    "eights-around-pylons": ("pair", "square"),
    "eights-on-pylons": ("pair", "square"),
}
#: An S-turn or road eight wants a road straight for at least this long. Source key ``caa-fim`` (a mile).
SHORT_ROAD_NM = units.M_PER_SM / units.M_PER_NM
#: Pylons half a mile to a mile apart. Source key ``afh-3c-ch7``; statute miles.
PYLON_GAP_NM = (0.5 * SHORT_ROAD_NM, SHORT_ROAD_NM)


@dataclass(frozen=True, slots=True)
class ReferenceChoice:
    """One reference and how it fits. ``misfit`` sorts: 0 is ideal, larger is worse.

    ``entry_deg_true`` is the course to begin on, ``None`` in a wind without a direction. ``turn`` is -1 for
    left first, +1 for right first. Distance and bearing are from the airfield to the reference, or to the
    middle of its area when the school gave no place for it; ``None`` when the airfield is not known.
    """

    name: str
    kind: str
    area: str
    bearing_deg_true: float | None
    entry_deg_true: float | None
    turn: int
    misfit: float
    from_field_nm: float | None
    from_field_deg_true: float | None
    says: str


def _off_line(a_deg: float, b_deg: float) -> float:
    """Angle between two lines, 0 to 90."""
    return abs((a_deg - b_deg + 90.0) % 180.0 - 90.0)


def _from(
    airfield: tuple[float, float] | None, latitude_deg: float, longitude_deg: float
) -> tuple[float | None, float | None]:
    if airfield is None:
        return None, None
    here = (airfield[0], airfield[1], latitude_deg, longitude_deg)
    return float(distance_nm(*here)), float(bearing_deg_true(*here))


def _downwind(wind: WindRange) -> float:
    return (wind.from_middle_deg_true + 180.0) % 360.0


def _entry_words(entry: float | None, turn: int) -> str:
    side = "left" if turn < 0 else "right"
    if entry is None:
        return f"The wind has no direction to plan by: find it first by drift. First turn {side}."
    return f"Begin on {bearing(entry)} true, flying downwind as nearly as it lets you; first turn {side}."


def _road(
    road: Road,
    area: PracticeArea,
    lesson: str,
    wind: WindRange,
    turn: int,
    airfield: tuple[float, float] | None,
) -> ReferenceChoice:
    want = WANTED[lesson][1]
    to_wind = _off_line(road.bearing_deg_true, wind.from_middle_deg_true)
    entry: float | None = None
    if not wind.directed:
        misfit, fit = 0.0, "no road fits a variable wind better than another"
    elif want == "square":
        misfit = 90.0 - to_wind
        low, high = crosswind_amount_kt(wind, road.bearing_deg_true)
        fit = f"{misfit:.0f} degrees off square to the wind, {low:.0f} to {high:.0f} kt across it"
        along = min((road.bearing_deg_true, road.bearing_deg_true + 180.0), key=lambda c: _off_line_way(c, wind))
        entry = along % 360.0 if lesson == "tracking" else crossing_course(road.bearing_deg_true, wind)
    else:
        misfit = to_wind
        fit = f"{misfit:.0f} degrees off the line of the wind"
        line = road.bearing_deg_true + (90.0 if lesson == "eights-across-a-road" else 0.0)
        entry = min((line, line + 180.0), key=lambda c: _off_line_way(c, wind)) % 360.0
    if road.length_nm < SHORT_ROAD_NM:
        misfit += 90.0
        fit += f"; only {road.length_nm:.1f} NM long"
    return ReferenceChoice(
        road.name,
        "road",
        area.name,
        road.bearing_deg_true,
        entry,
        turn,
        misfit,
        *_from(airfield, area.latitude_deg, area.longitude_deg),
        f"{road.name}: {fit}. {_entry_words(entry, turn)} {LOOK_FIRST}",
    )


def _off_line_way(course_deg: float, wind: WindRange) -> float:
    return abs((course_deg - _downwind(wind) + 180.0) % 360.0 - 180.0)


def _field(
    field: PracticeField, area: PracticeArea, wind: WindRange, turn: int, airfield: tuple[float, float] | None
) -> ReferenceChoice:
    entry: float | None = None
    if wind.directed:
        course = best_downwind_course(field.bearing_deg_true, wind)
        misfit = _off_line_way(course, wind)
        fit = f"its sides lie {misfit:.0f} degrees off the wind, the downwind leg on {bearing(course)} true"
        # joined at 45 degrees to the downwind leg, from outside the course
        entry = (course + 45.0 * turn) % 360.0
        side = "left" if turn < 0 else "right"
        how = f"Join the downwind leg at 45 degrees on {bearing(entry)} true; turns {side}."
    else:
        misfit, fit, how = 0.0, "no field fits a variable wind better than another", _entry_words(None, turn)
    return ReferenceChoice(
        field.name,
        "field",
        area.name,
        field.bearing_deg_true,
        entry,
        turn,
        misfit,
        *_from(airfield, area.latitude_deg, area.longitude_deg),
        f"{field.name}, {field.length_ft:,.0f} by {field.width_ft:,.0f} ft: {fit}. {how} {LOOK_FIRST}",
    )


def _point(
    point: Point, area: PracticeArea, wind: WindRange, turn: int, airfield: tuple[float, float] | None
) -> ReferenceChoice:
    entry = _downwind(wind) if wind.directed else None
    away = _from(airfield, point.latitude_deg, point.longitude_deg)
    return ReferenceChoice(
        point.name,
        "point",
        area.name,
        None,
        entry,
        turn,
        0.0,
        *away,
        f"{point.name}: fits any wind. {_entry_words(entry, turn)} {LOOK_FIRST}",
    )


def _pair(
    lesson: str,
    first: Point,
    second: Point,
    area: PracticeArea,
    wind: WindRange,
    turn: int,
    airfield: tuple[float, float] | None,
) -> ReferenceChoice:
    ends = (first.latitude_deg, first.longitude_deg, second.latitude_deg, second.longitude_deg)
    gap, line = float(distance_nm(*ends)), float(bearing_deg_true(*ends))
    misfit = 90.0 - _off_line(line, wind.from_middle_deg_true) if wind.directed else 0.0
    fit = f"{misfit:.0f} degrees off square to the wind" if wind.directed else "any pair fits a variable wind"
    if not PYLON_GAP_NM[0] <= gap <= PYLON_GAP_NM[1]:
        misfit += 90.0
        fit += ", and outside the usual half a mile to a mile"
    entry = _downwind(wind) if wind.directed else None
    words = _entry_words(entry, turn)
    if lesson == "eights-on-pylons" and entry is not None:
        # between the pylons to a place downwind of the first, so that the first turn is into wind
        entry = (entry + 45.0 * turn) % 360.0
        words = (
            f"Come between them diagonally crosswind on {bearing(entry)} true, so that the first turn,"
            f" {'left' if turn < 0 else 'right'}, is into wind."
        )
    name = f"{first.name} and {second.name}"
    return ReferenceChoice(
        name,
        "pair of points",
        area.name,
        line,
        entry,
        turn,
        misfit,
        *_from(airfield, first.latitude_deg, first.longitude_deg),
        f"{name}, {gap:.2f} NM apart: {fit}. {words} {LOOK_FIRST}",
    )


def choose_references(
    lesson: str,
    areas: Iterable[PracticeArea],
    wind: WindRange,
    *,
    airfield: tuple[float, float] | None = None,
    turn: int = -1,
) -> tuple[ReferenceChoice, ...]:
    """References of the practice areas that a lesson can use, best fit for this wind first.

    Parameters
    ----------
    lesson : str
        Name of a lesson; the traffic pattern needs no reference and gets none.
    areas : iterable of PracticeArea
        As the school entered them.
    wind : WindRange
        Range of wind at lesson height.
    airfield : tuple of float, optional
        Latitude and longitude of the airfield, north and east positive. [deg]
    turn : int
        -1 when the first turn is to the left, +1 when it is to the right.

    Returns
    -------
    tuple of ReferenceChoice
        By misfit, then by distance; empty when no area has what the lesson needs. Each says to look first for
        people, wires, towers and traffic.

    Notes
    -----
    Never raises. How a reference should lie: road square to the wind for tracking and S-turns, along it for
    eights on a road; pylons square to the wind; a field with a side along the wind.

    References
    ----------
    Source keys ``afh-3c-ch7``, ``caa-fim``, ``common-practice``.
    """
    kind = WANTED.get(lesson, ("", ""))[0]
    found: list[ReferenceChoice] = []
    for area in areas:
        if kind == "road":
            found += [_road(road, area, lesson, wind, turn, airfield) for road in area.roads]
        elif kind == "field":
            found += [_field(field, area, wind, turn, airfield) for field in area.fields]
        elif kind == "point":
            found += [_point(point, area, wind, turn, airfield) for point in area.points]
        elif kind == "pair":
            found += [
                _pair(lesson, first, second, area, wind, turn, airfield)
                for i, first in enumerate(area.points)
                for second in area.points[i + 1 :]
            ]
    return tuple(sorted(found, key=lambda c: (round(c.misfit, 3), c.from_field_nm or 0.0, c.name)))
