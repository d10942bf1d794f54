"""The field advice is asked for: its runways, practice area and aircraft, with what had to be assumed."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING

from advisor.aircraft import Aircraft, find_aircraft
from advisor.conditions import PilotWind
from advisor.errors import DataFileError
from advisor.places import RunwayEnd, Station, find_station, runways
from advisor.records import dataclass
from advisor.segments import to_minutes
from advisor.site import Closure, Site

if TYPE_CHECKING:
    from advisor.school import School


@dataclass(frozen=True, slots=True)
class Asked:
    """What the asker says about a field besides its name."""

    runway: str | None = None
    pattern_side: str | None = None
    pilot_wind: PilotWind | None = None
    horizon_min: int = 1440


def pick_aircraft(name: str | None, school: School | None) -> Aircraft:
    """The aircraft asked for: the school's first, else the generic trainer. Raises DataFileError if unknown."""
    own = school.aircraft if school is not None else ()
    if name is None and own:
        return own[0]
    return find_aircraft(name, own)


def describe_site(station_id: str, *, now: datetime, school: School | None = None, asked: Asked | None = None) -> Site:
    """The field with its runways and practice area.

    Parameters
    ----------
    station_id : str
        Identifier.
    now : datetime
        Aware; for closures in force.
    school : School or None
        The school's file.
    asked : Asked or None
        Runway and pattern side as asked.

    Returns
    -------
    Site

    Raises
    ------
    UnknownStation, DataFileError
        No such station, or no such runway there.
    """
    asked = asked or Asked()
    fields = school.stations if school is not None else ()
    station = find_station(station_id, fields)
    ends = runways(station.station, fields)
    closures = tuple(
        Closure(name, to_minutes(since) if since is not None else 0, to_minutes(until))
        for name, since, until in (school.closures(station.station) if school is not None else ())
    )
    told = [f"{station.station}: {station.note}"] if station.note else []
    areas = school.areas_for(station.station) if school is not None else ()
    ground = max((a.ground_elevation_ft for a in areas), default=None)
    if ground is None:
        told.append("Practice area: no ground height given, so the field's own elevation is used for the ceiling.")
    named = asked.runway.upper().removeprefix("RW").lstrip("Y") if asked.runway else None
    if named is not None:
        shut = Site(station, ends, closures=closures).closed_at(to_minutes(now))
        ends = _named_end(named, ends, shut, station, now, told)
    elif not ends:
        told.append("No runway of this field is known: give --runway or a school file.")
    if ends and any(e.bearing_estimated for e in ends):
        told.append("Some runway bearings are worked out from the painted number; check the chart supplement.")
    return Site(
        station,
        ends,
        ground,
        named,
        asked.pattern_side,
        tuple(told),
        made_up=bool(school is not None and school.made_up),
        closures=closures,
    )


def _named_end(
    named: str, ends: tuple[RunwayEnd, ...], shut: frozenset[str], station: Station, now: datetime, told: list[str]
) -> tuple[RunwayEnd, ...]:
    for end in ends:
        if end.name == named or end.name.lstrip("0") == named.lstrip("0"):
            if end.name in shut:
                raise DataFileError(f"Runway {end.name} of {station.station} is closed in the school's file.")
            return tuple(replace(e, name=named) if e is end else e for e in ends)
    digits = named.rstrip("LRC")
    if ends or not digits.isdecimal() or not 1 <= int(digits) <= 36:
        known = ", ".join(e.name for e in ends) or "none"
        raise DataFileError(f"{station.station} has no runway {named!r}; known: {known}.")
    from advisor.places import variation_deg_east

    variation = variation_deg_east(station.latitude_deg, station.longitude_deg, station.elevation_ft, now).value_deg
    bearing = (int(digits) * 10 + (variation or 0.0)) % 360 or 360.0
    told.append(f"Runway {named} is not in the data: its bearing is taken from the number, {bearing:.0f} true.")
    return (RunwayEnd(named, bearing, 0, "unknown", bearing_estimated=True),)
