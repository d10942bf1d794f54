"""A starter school file for a known field: what the lists know filled in, the rest as commented examples."""

from __future__ import annotations

import json
from textwrap import wrap

from advisor.aircraft import find_aircraft
from advisor.errors import UnknownStation
from advisor.lessons import lesson_keys
from advisor.limits import quantities, shipped_pair
from advisor.places import RunwayEnd, Station, data_note, find_station, runways


def _text(value: str) -> str:
    return json.dumps(value, ensure_ascii=False)


def _runway(first: RunwayEnd, second: RunwayEnd) -> list[str]:
    estimated = ["bearing_estimated = true  # from the painted number: measure it, then take this line out"]
    return [
        "",
        "[[stations.runways]]",
        f'name = "{first.name}/{second.name}"',
        f"bearing_deg_true = {first.bearing_deg_true:.1f}",
        *(estimated if first.bearing_estimated else []),
        f"length_ft = {first.length_ft}",
        f"surface = {_text(first.surface)}",
        "closed = false",
        'right_pattern = []  # ends flown with a right pattern, such as ["22"]',
    ]


def _station(station: Station, ends: tuple[RunwayEnd, ...], zone_note: str) -> list[str]:
    lines = [
        "[[stations]]",
        f'station = "{station.station}"',
        f"name = {_text(station.name)}",
        f"latitude_deg = {station.latitude_deg}",
        f"longitude_deg = {station.longitude_deg}",
        f"elevation_ft = {station.elevation_ft:g}" + (f"  # {station.note}" if station.note else ""),
        f'time_zone = "{station.time_zone}"{zone_note}',
        '# observation_from = "XXXX"  # a field without a report borrows one, up to 30 NM and 1,000 ft away',
        '# forecast_from = "XXXX"',
    ]
    for first, second in zip(ends[::2], ends[1::2], strict=True):
        if first.length_ft >= 300:
            lines += _runway(first, second)
    if not ends:
        lines += ["", "# No runway is known here. Describe each one:"]
        example = RunwayEnd("04", 43.0, 3000, "asphalt"), RunwayEnd("22", 223.0, 3000, "asphalt")
        lines += [f"# {line}" for line in _runway(*example)[1:]]
    return lines


def _listed(what: str, names: tuple[str, ...]) -> list[str]:
    """Names a person may write, as comment lines."""
    return wrap(
        f"{what}: {', '.join(names)}.", 110, initial_indent="# ", subsequent_indent="#   ", break_on_hyphens=False
    )


def starter_text(station: str, *, ask: bool = False) -> str:
    """A school file for a station, ready to edit; it passes ``school check`` as it is.

    Parameters
    ----------
    station : str
        As for :func:`advisor.places.find_station`.
    ask : bool
        Ask the weather service about a station that no list here holds.

    Returns
    -------
    str

    Raises
    ------
    UnknownStation
        With a sentence naming near spellings.
    """
    data, zone_note = data_note(), ""
    try:
        place, ends = find_station(station), runways(station)
    except UnknownStation as unknown:
        if not ask:
            raise
        from advisor.commands.school_unlisted import SOURCE, unlisted_field

        place, ends = unlisted_field(unknown, station)
        data, zone_note = SOURCE, "  # not in that record: put the field's own, such as America/Chicago"
    trainer = find_aircraft()
    care, stop = shipped_pair("mean_wind_kt", "solo")
    latitude, longitude = place.latitude_deg, place.longitude_deg
    lines = [
        f"# School file for {place.station}. Lines with # are comments, or examples to take the # off.",
        f"# Field data: {data}.",
        f"# Check it with: advisor school check {place.station}.toml",
        "",
        f"name = {_text('Flying school at ' + place.station)}",
        "lesson_minutes = 60",
        "",
        "# [hours]  # local time",
        '# opens = "08:00"',
        '# closes = "18:00"',
        '# closed = ["monday"]',
        '# saturday = { opens = "09:00", closes = "16:00" }',
        "",
        *_station(place, ends, zone_note),
        "",
        "# A notice is something you know and no report says; it is shown until it ends.",
        "# [[notices]]",
        '# text = "Runway closed for repainting"',
        '# kind = "closure"  # closure, restriction, wet-surface or other',
        '# who = "field manager"',
        f'# station = "{place.station}"  # without it: at every field',
        "# since = 2026-04-25T08:00:00  # the field's own clock; a bare date means the whole day",
        "# until = 2026-04-25",
        "",
        "# [[practice_areas]]",
        '# name = "North area"',
        f'# station = "{place.station}"  # without it: used from every field',
        f"# latitude_deg = {latitude:.2f}",
        f"# longitude_deg = {longitude:.2f}",
        f"# ground_elevation_ft = {place.elevation_ft:g}  # the highest ground of the area",
        "# [[practice_areas.roads]]  # straight lines for tracking and S-turns",
        '# name = "County road"',
        "# bearing_deg_true = 90",
        "# length_nm = 4",
        "# [[practice_areas.fields]]  # rectangles; the bearing is the long side's",
        '# name = "Large field"',
        "# bearing_deg_true = 90",
        "# length_ft = 5280",
        "# width_ft = 2640",
        "# [[practice_areas.points]]",
        '# name = "Lone silo"',
        f"# latitude_deg = {latitude:.2f}",
        f"# longitude_deg = {longitude:.2f}",
        "",
        "# From the aircraft's handbook; without it this generic trainer is used, and pages say so.",
        "# [[aircraft]]",
        '# name = "Trainer"',
        f"# practice_kias = {trainer.practice_kias:g}",
        f"# stall_kcas = {trainer.stall_kcas:g}",
        f"# demonstrated_crosswind_kt = {trainer.demonstrated_crosswind_kt:g}",
        "",
        "# Your own limits by stage (pre-solo, solo, post-solo, commercial): care when reached, stop passed.",
        "# Looser than the shipped ones: marked on every page. Looser than the regulation's floor: refused.",
        *_listed("Limits", quantities()),
        "# [limits.solo]",
        f"# mean_wind_kt = {{ care = {care}, stop = {stop} }}",
        "# The wind stops of one lesson, at one stage; looser than the shipped ones: marked on every page.",
        *_listed("Lessons", lesson_keys()),
        "# [lesson_stops.solo]",
        "# s-turns = { mean_wind_kt = 10, gust_spread_kt = 5 }",
    ]
    return "\n".join(lines) + "\n"
