"""Which road, field or point of the practice area fits the wind, as the school entered them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from advisor import units
from advisor.card.legs import nearer
from advisor.card.model import LessonCard, Reference
from advisor.places import bearing_deg_true, distance_nm

if TYPE_CHECKING:
    from advisor.school import PracticeArea, School

LOOK = "Look first for people, houses, wires, towers, traffic."
#: Angle a road should make with the wind: square for these, along it for the rest.
SQUARE = ("tracking", "s-turns", "eights-across-a-road")
ALONG = ("eights-along-a-road",)
_POINTS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")


def where(card: LessonCard, latitude_deg: float, longitude_deg: float) -> str:
    """``7 NM N of XBRK``. Never raises."""
    place = card.day.station.source.site.station
    away = float(distance_nm(place.latitude_deg, place.longitude_deg, latitude_deg, longitude_deg))
    towards = float(bearing_deg_true(place.latitude_deg, place.longitude_deg, latitude_deg, longitude_deg))
    return f"{away:.0f} NM {_POINTS[round(towards / 45.0) % len(_POINTS)]} of {place.station}"


def _areas(card: LessonCard, school: School | None) -> tuple[PracticeArea, ...]:
    return school.areas_for(card.day.station.source.site.station.station) if school is not None else ()


def _roads(card: LessonCard, school: School | None, wind_from_deg: float) -> Iterator[tuple[float, Reference]]:
    along = card.lesson.key in ALONG
    for area in _areas(card, school):
        for road in area.roads:
            angle = abs(float(units.wrap_180(2.0 * (road.bearing_deg_true - wind_from_deg)))) / 2.0  # 0 to 90
            off = angle if along else 90.0 - angle
            place = where(card, area.latitude_deg, area.longitude_deg)
            fit = "with the wind" if along else "square to the wind"
            says = (
                f"{road.name}, {area.name}, {place}: runs {card_line(card, road.bearing_deg_true)}, "
                f"{road.length_nm:g} NM, {off:.0f}° off {fit}. {LOOK}"
            )
            yield off, Reference(road.name, "road", area.name, road.bearing_deg_true, place, says)


def card_line(card: LessonCard, bearing_deg: float) -> str:
    """Both directions of a line in magnetic, or in true where the variation is not known."""
    magnetic = card.magnetic(bearing_deg)
    value, north = (bearing_deg, "true") if magnetic is None else (magnetic, "magnetic")
    one = round(value) % 180 or 180
    return f"{one:03d}/{one + 180:03d}° {north}"


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
    if card.wind is None or card.wind.from_deg_true is None:
        return None
    wind_from = card.wind.from_deg_true
    key = card.lesson.key
    if key in SQUARE or key in ALONG:
        found = sorted(_roads(card, school, wind_from), key=lambda x: x[0])
        return found[0][1] if found else None
    if key == "rectangular-course":
        for area in _areas(card, school):
            for field in area.fields:
                place = where(card, area.latitude_deg, area.longitude_deg)
                says = (
                    f"{field.name}, {area.name}, {place}: {field.length_ft:,.0f} by {field.width_ft:,.0f} ft, long side "
                    f"{card_line(card, field.bearing_deg_true)}. {LOOK}"
                )
                return Reference(
                    field.name, "field", area.name, field.bearing_deg_true, place, says,
                    (field.length_ft, field.width_ft),
                )  # fmt: skip
        return None
    if key == "turns-around-a-point":
        for area in _areas(card, school):
            for point in area.points:
                place = where(card, point.latitude_deg, point.longitude_deg)
                return Reference(
                    point.name, "point", area.name, None, place, f"{point.name}, {area.name}, {place}. {LOOK}"
                )
        return None
    if key in ("eights-around-pylons", "eights-on-pylons"):
        return _pylons(card, school, wind_from)
    return None


def _pylons(card: LessonCard, school: School | None, wind_from: float) -> Reference | None:
    """The pair of points whose line lies most nearly square to the wind."""
    best: tuple[float, Reference] | None = None
    for area in _areas(card, school):
        for i, a in enumerate(area.points):
            for b in area.points[i + 1 :]:
                line = float(bearing_deg_true(a.latitude_deg, a.longitude_deg, b.latitude_deg, b.longitude_deg))
                off = 90.0 - abs(float(units.wrap_180(2.0 * (line - wind_from)))) / 2.0
                apart = float(distance_nm(a.latitude_deg, a.longitude_deg, b.latitude_deg, b.longitude_deg))
                place = where(card, a.latitude_deg, a.longitude_deg)
                says = (
                    f"{a.name} and {b.name}, {area.name}, {place}: {apart:.1f} NM apart, {off:.0f}° off square to the wind. "
                    f"{LOOK}"
                )
                found = Reference(f"{a.name} and {b.name}", "pylons", area.name, line, place, says)
                if best is None or off < best[0]:
                    best = (off, found)
    return best[1] if best is not None else None


def road_for(card: LessonCard, reference: Reference | None) -> tuple[float, str]:
    """Direction a road is flown in, and its name; an ideal road where the school entered none. Never raises."""
    wind_from = (card.wind.from_deg_true if card.wind is not None else None) or 0.0
    down = wind_from + 180.0
    if reference is not None and reference.kind == "road" and reference.bearing_deg_true is not None:
        return nearer(reference.bearing_deg_true, down), reference.name
    if card.lesson.key in ALONG:
        return float(units.wrap_360(down)), "a road with the wind"
    return float(units.wrap_360(down + 90.0)), "a road square to the wind"
