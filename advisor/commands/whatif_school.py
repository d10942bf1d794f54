"""What ``advisor whatif`` takes from a school's file and a field's data: airspeed, height, runway, variation."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from advisor.commands.common import clock_now
from advisor.demo import is_demo_station, load_demo
from advisor.describe import Asked, describe_site, pick_aircraft
from advisor.errors import DataFileError
from advisor.places import variation_deg_east
from advisor.school import load_school

if TYPE_CHECKING:
    from datetime import datetime

    from advisor.school import School


def with_school(given: dict[str, Any]) -> tuple[dict[str, Any], list[str]]:
    """The options with what was not given filled in, and sentences that say from where.

    Parameters
    ----------
    given : dict
        Options of the command; ``school_file``, ``field``, ``aircraft_name`` and ``now_text`` are taken out.

    Returns
    -------
    tuple of dict and list of str

    Raises
    ------
    AdvisorError
        The file, the field, its runway or the aircraft is not known.
    """
    given = dict(given)
    school_file, field, name = (given.pop(x) for x in ("school_file", "field", "aircraft_name"))
    demo = field is not None and is_demo_station(field)
    now = clock_now(given.pop("now_text"), load_demo().now if demo else None)
    school = load_school(Path(school_file), when=now) if school_file is not None else None
    if school is None and demo:
        school = load_demo().school
    said: list[str] = []
    if given["kias"] is None and (name is not None or (school is not None and school.aircraft)):
        aircraft = pick_aircraft(name, school)
        given["kias"] = aircraft.practice_kias
        said.append(aircraft.assumption())
    if field is None and school is not None:
        if len(school.stations) == 1:
            field = school.stations[0].station.station
        elif school.stations:
            listed = ", ".join(record.station.station for record in school.stations)
            said.append(f"The school file has several fields: add --field ({listed}) to use one's height and runways.")
    if field is not None:
        said += _field(given, field, school, now)
    return given, said


def _field(given: dict[str, Any], field: str, school: School | None, now: datetime) -> list[str]:
    """Fill in height, variation and the runway's true bearing of a field; returns what to say of it."""
    runway = given["runway"]
    if runway is not None and runway.isdecimal() and len(runway) == len("223"):
        runway = None  # a direction in degrees true needs no field
    site = describe_site(field, now=now, school=school, asked=Asked(runway, None))
    place = site.station
    if given["elevation"] is None:
        given["elevation"] = float(place.elevation_ft)
    variation = variation_deg_east(place.latitude_deg, place.longitude_deg, place.elevation_ft, now)
    if given["variation"] is None and variation.value_deg is not None:
        given["variation"] = round(variation.value_deg, 1)  # as printed
    given["south"] = given["south"] or not site.northern
    said = f"Field: {place.station} {place.name}, {given['elevation']:,.0f} ft"
    if variation.value_deg is not None:
        side = "E" if variation.value_deg >= 0 else "W"
        said += f", variation {abs(variation.value_deg):.1f} {side} ({variation.epoch_note})"
    if runway is not None:
        end = next(iter(site.usable_ends), None)
        if end is None:
            raise DataFileError(f"Runway {runway} of {place.station} cannot be used today; see the school's file.")
        given["runway_deg_true"] = end.bearing_deg_true
        said += f"; runway {end.name}, {end.bearing_deg_true:.0f} true"
    return [f"{said}."]
