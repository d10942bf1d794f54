"""Slips of the pen in a school's file that no single value shows: a place or a height that does not fit another."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from advisor.errors import UnknownStation
from advisor.limits import table
from advisor.places import Field, Station, distance_nm, find_station
from advisor.school import Borrow, LimitOverrides, Point, PracticeArea

#: A position further than this from the list's for the same identifier, or a height further from it, is said.
MOVED_NM, MOVED_FT = 5.0, 200.0
#: No lesson is flown so far from its field, and no point of an area lies so far from the area's middle.
AREA_NM, POINT_NM = 60.0, 20.0
#: Ground so much lower or higher than the field may be so, but a digit left out looks the same.
GROUND_FT = 1000.0
#: The largest visibility a US forecast states (P6SM: NWS Instruction 10-813, from memory).
MOST_SM = 6.0


def _apart_nm(a: Station | PracticeArea | Point, b: Station | PracticeArea | Point) -> float:
    return float(distance_nm(a.latitude_deg, a.longitude_deg, b.latitude_deg, b.longitude_deg))


def _level(height_ft: float) -> str:
    return f"{abs(height_ft):,.0f} ft {'higher' if height_ft > 0 else 'lower'}"


def _found(ident: str, fields: Sequence[Field]) -> Station | None:
    try:
        return find_station(ident, fields)
    except UnknownStation:
        return None


def station_slips(own: Station, listed: Station) -> list[str]:
    """Sentences where the file's record of a field lies far from the list's. Never raises."""
    out = []
    away = _apart_nm(listed, own)
    if away > MOVED_NM:
        out.append(f"it puts {own.station} {away:.0f} NM from where the station list has it")
    height = own.elevation_ft - listed.elevation_ft
    if abs(height) > MOVED_FT:
        out.append(
            f"it has {own.station} at {own.elevation_ft:,.0f} ft, {_level(height)} than the station list; check it"
        )
    return out


def lender_slips(station: str, borrow: Borrow, fields: Sequence[Field]) -> list[str]:
    """Sentences where a report or forecast is to come from a field too far away to lend one. Never raises."""
    most_nm, most_ft = (float(table()["fixed"][name]["value"]) for name in ("borrow_stop_nm", "borrow_stop_ft"))
    out = []
    here = _found(station, fields)
    for kind, ident in (("report", borrow.observation_from), ("forecast", borrow.forecast_from)):
        other = _found(ident, fields) if ident is not None else None
        if here is None or other is None:
            continue
        away, height = _apart_nm(here, other), other.elevation_ft - here.elevation_ft
        if away > most_nm or abs(height) > most_ft:
            out.append(
                f"{other.station} is too far from {station} to lend its {kind} ({away:.1f} NM, {_level(height)}): up to "
                f"{most_nm:g} NM and {most_ft:,.0f} ft of height apart; it will not be used"
            )
    return out


def area_faults(area: PracticeArea, fields: Sequence[Field]) -> list[str]:
    """What cannot be: an area nowhere near the field it is used from, a point nowhere near its area. Never raises."""
    out = []
    near = _field_of(area, fields)
    if near is not None and (away := _apart_nm(near, area)) > AREA_NM:
        out.append(
            f"the area lies {away:,.0f} NM from {near.station}; check latitude_deg and longitude_deg (south and west are "
            "negative)"
        )
    for point in area.points:
        if (away := _apart_nm(area, point)) > POINT_NM:
            out.append(
                f"the point {point.name} lies {away:,.0f} NM from the area's middle; check both positions (south and west "
                "are negative)"
            )
    return out


def area_slips(area: PracticeArea, fields: Sequence[Field]) -> list[str]:
    """Sentences on ground much lower or higher than the field: ceilings are counted from it. Never raises."""
    near = _field_of(area, fields)
    height = area.ground_elevation_ft - near.elevation_ft if near is not None else 0.0
    if near is None or abs(height) <= GROUND_FT:
        return []
    return [
        f"the ground of {area.name}, {area.ground_elevation_ft:,.0f} ft, is {_level(height)} than {near.station}; ceilings "
        "over the area are counted from it, so check it"
    ]


def _field_of(area: PracticeArea, fields: Sequence[Field]) -> Station | None:
    """The field an area is used from: the one it names, else the nearest of the file's."""
    if area.station is not None:
        return _found(area.station, fields)
    return min((f.station for f in fields), key=lambda s: _apart_nm(s, area), default=None)


def visibility_slips(overrides: LimitOverrides) -> list[str]:
    """Sentences where a limit asks for more visibility than a forecast can say: it trips in every one. Never raises."""
    out = []
    for stage, (care, stop) in overrides.get("visibility_sm", {}).items():
        over = [
            (word, value) for word, value in (("stop", stop), ("care", care)) if value is not None and value > MOST_SM
        ]
        if over:
            word, value = over[0]
            out.append(
                f"visibility_sm for {stage}, {word} {value:g} SM: US forecasts say no more than P6SM, over {MOST_SM:g} SM, so "
                "every forecast hour trips it"
            )
    return out


def all_slips(fields: Sequence[Field], borrow: Mapping[str, Borrow], areas: Sequence[PracticeArea]) -> list[str]:
    """Every slip of fields and areas. Never raises."""
    out = [x for station, lender in borrow.items() for x in lender_slips(station, lender, fields)]
    return out + [x for area in areas for x in area_slips(area, fields)]
