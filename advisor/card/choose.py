"""Which road, field or point of the practice area the card is drawn for, as the school entered them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor import units
from advisor.card.legs import nearer
from advisor.card.model import LessonCard, Pair, Reference
from advisor.flight.demand import WindRange
from advisor.flight.reference import ReferenceChoice, choose_references

if TYPE_CHECKING:
    from advisor.school import PracticeArea, School

#: Lessons whose road runs with the wind; the others' lies square to it.
WITH_WIND = ("eights-along-a-road", "eights-across-a-road")
_POINTS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")


def _where(card: LessonCard, choice: ReferenceChoice) -> str:
    station = card.day.station.source.site.station.station
    if choice.from_field_nm is None or choice.from_field_deg_true is None:
        return choice.area
    side = _POINTS[round(choice.from_field_deg_true / 45.0) % len(_POINTS)]
    return f"{choice.area}, {choice.from_field_nm:.0f} NM {side} of {station}"


def _size(areas: tuple[PracticeArea, ...], choice: ReferenceChoice) -> Pair | None:
    for area in areas:
        for field in area.fields:
            if choice.kind == "field" and (area.name, field.name) == (choice.area, choice.name):
                return field.length_ft, field.width_ft
    return None


def choose_reference(card: LessonCard, school: School | None) -> Reference | None:
    """The reference that fits the wind best.

    Parameters
    ----------
    card : LessonCard
        With a wind that has a direction.
    school : School or None

    Returns
    -------
    Reference or None
        None when the school entered nothing that serves the lesson. Never raises.
    """
    wind = card.wind
    if wind is None or wind.from_deg_true is None or school is None:
        return None
    place = card.day.station.source.site.station
    areas = school.areas_for(place.station)
    found = choose_references(
        card.lesson.key,
        areas,
        WindRange(wind.low_kt, wind.high_kt, *wind.arc_deg),
        airfield=(place.latitude_deg, place.longitude_deg),
        turn=-1 if card.left else 1,
    )
    if not found:
        return None
    best = found[0]
    where = _where(card, best)
    return Reference(
        best.name, best.kind, best.area, best.bearing_deg_true, where, f"{where}: {best.says}", _size(areas, best)
    )


def road_for(card: LessonCard, reference: Reference | None) -> tuple[float, str]:
    """Direction a road is flown in, and its name; an ideal road where the school entered none. Never raises."""
    wind_from = (card.wind.from_deg_true if card.wind is not None else None) or 0.0
    down = wind_from + 180.0
    if reference is not None and reference.kind == "road" and reference.bearing_deg_true is not None:
        return nearer(reference.bearing_deg_true, down), reference.name
    if card.lesson.key in WITH_WIND:
        return float(units.wrap_360(down)), "a road with the wind"
    return float(units.wrap_360(down + 90.0)), "a road square to the wind"
