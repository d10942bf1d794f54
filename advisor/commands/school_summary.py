"""What a school file was understood to say, as plain lines for ``advisor school check``."""

from __future__ import annotations

from calendar import day_name
from zoneinfo import ZoneInfo

from advisor.clock import both_with_day
from advisor.limits import STAGES, Changes, make_limits, stage_setup, unit_of
from advisor.places import Field, RunwayEnd
from advisor.school import Borrow, PracticeArea, School


def _count(number: int, word: str, plural: str | None = None) -> str:
    if number == 0:
        return f"No {plural or word + 's'}."
    return f"{number} {word if number == 1 else plural or word + 's'}:"


def _end(end: RunwayEnd) -> str:
    extra = ", right pattern" if end.pattern_side == "right" else ""
    extra += ", closed" if end.closed else ""
    extra += ", from the painted number" if end.bearing_estimated else ""
    return f"{end.name} {end.bearing_deg_true:.0f} true{extra}"


def _field(record: Field, borrow: Borrow) -> list[str]:
    s = record.station
    lines = [
        f"  {s.station} {s.name}: {s.latitude_deg:.4f}, {s.longitude_deg:.4f}, {s.elevation_ft:.0f} ft, "
        f"{s.time_zone} ({s.source})"
    ]
    ends = record.runway_ends or ()
    lines.append("    runways: " + ("; ".join(_end(end) for end in ends) if ends else "none known"))
    if borrow.observation_from:
        lines.append(f"    report borrowed from {borrow.observation_from}")
    if borrow.forecast_from:
        lines.append(f"    forecast borrowed from {borrow.forecast_from}")
    return lines


def _area(area: PracticeArea) -> list[str]:
    at = f", used from {area.station}" if area.station else ""
    lines = [f"  {area.name}{at}: ground up to {area.ground_elevation_ft:.0f} ft"]
    lines += [f"    road {r.name}: {r.bearing_deg_true:.0f} true, {r.length_nm:g} NM" for r in area.roads]
    for f in area.fields:
        size = f"{f.length_ft:.0f} by {f.width_ft:.0f} ft"
        lines.append(f"    field {f.name}: long side {f.bearing_deg_true:.0f} true, {size}")
    lines += [f"    point {p.name}: {p.latitude_deg:.4f}, {p.longitude_deg:.4f}" for p in area.points]
    return lines


def summary_lines(school: School, file_name: str) -> list[str]:
    """Plain lines saying what was understood. Never raises for a school that was read."""
    made_up = " (made-up demo)" if school.made_up else ""
    lines = [f"{file_name} is understood.", f"School: {school.name}{made_up}"]
    lines.append(f"Lesson length: {school.lesson_minutes} min")
    hours = school.opening_hours
    opening = f"{hours.opens:%H:%M} to {hours.closes:%H:%M} local" if hours else "not given; daylight only"
    for weekday, times in hours.days if hours else ():
        own = f"{times[0]:%H:%M} to {times[1]:%H:%M}" if times is not None else "closed"
        opening += f"; {day_name[weekday]} {own}"
    lines.append(f"Hours: {opening}")
    lines.append(_count(len(school.stations), "field"))
    for record in school.stations:
        lines += _field(record, school.borrow_for(record.station.station))
    lines.append(_count(len(school.notices), "notice"))
    zone = ZoneInfo(school.stations[0].station.time_zone if school.stations else "UTC")
    for n in school.notices:
        where = f" {n.station}" if n.station else ""
        where += f" runway {n.runway}" if n.runway else ""
        since = f"from {both_with_day(n.since, zone, year=True)} " if n.since else ""
        lines.append(f"  {n.kind}{where}: {n.text} ({n.who}; {since}until {both_with_day(n.until, zone, year=True)})")
    lines.append(_count(len(school.practice_areas), "practice area"))
    for area in school.practice_areas:
        lines += _area(area)
    lines.append(_count(len(school.aircraft), "aircraft", "aircraft"))
    first = " Used unless --aircraft names another." if len(school.aircraft) > 1 else ""
    lines += [f"  {a.assumption()}{'' if i else first}" for i, a in enumerate(school.aircraft)]
    pairs = [
        (stage, quantity, pair)
        for quantity, by_stage in school.limit_overrides.items()
        for stage, pair in by_stage.items()
    ]
    lines.append(_count(len(pairs), "limit of your own", "limits of your own"))
    for stage, quantity, (care, stop) in sorted(pairs, key=lambda p: (STAGES.index(p[0]), p[1])):
        said = [f"{word} {value:g} {unit_of(quantity)}".rstrip() for word, value in
                (("care", care), ("stop", stop)) if value is not None]  # fmt: skip
        lines.append(f"  {stage} {quantity}: {', '.join(said)}")
    stops = [(s, x, w, kt) for s, by in school.lesson_stops.items() for x, own in by.items() for w, kt in own.items()]
    lines += ["Stops of single lessons:"] if stops else []
    lines += [f"  {stage} {lesson} {what}: stop {kt:g} kt" for stage, lesson, what, kt in stops]
    setups = tuple(stage_setup(stage) for stage in STAGES)
    changes = Changes(school=school.limit_overrides, lesson_stops=school.lesson_stops)
    for sentence in make_limits(setups, changes).loosened:
        lines.append(f"  Marked on every page: {sentence}")
    lines += list(school.notes)
    return lines
