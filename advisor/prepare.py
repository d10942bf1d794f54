"""From raw reports to what the engine is asked: decode, check whose and when, borrow, describe the field.

Every refusal is a sentence; every assumption and every substitution becomes a line of the page.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from advisor.clock import both
from advisor.conditions import StationInput, fixed_numbers
from advisor.describe import Asked, describe_site, pick_aircraft
from advisor.errors import AdvisorError, DecodeError, WrongReport, printable
from advisor.places import Station, bearing_deg_true, distance_nm, find_station
from advisor.reports.decode_metar import decode_metar
from advisor.reports.decode_taf import decode_taf
from advisor.reports.gathered import Gathered, StationReports, StoredReport
from advisor.reports.types import Metar, Taf
from advisor.segments import to_minutes
from advisor.site import Site

if TYPE_CHECKING:
    from advisor.school import School

__all__ = ["Asked", "describe_site", "pick_aircraft", "prepare"]

#: A report stamped this far ahead of the clock is the future's; less is two clocks that differ.
FUTURE = timedelta(minutes=10)
#: A winds-aloft point farther away than this says little about the field (common practice, no source).
ALOFT_WITHIN_NM = 150.0
#: Unread groups that a note quotes; the whole report stands on the page besides.
MOST_QUOTES = 5
_POINTS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")


def _decoded(reports: tuple[StoredReport, ...], now: datetime) -> tuple[tuple[Metar, ...], list[str], list[str]]:
    """Decoded observations newest first, sentences about those that could not be, and refusals."""
    out: list[Metar] = []
    notes: list[str] = []
    refused: list[str] = []
    for report in reports:
        try:
            metar = decode_metar(report.raw, now, report.time)
        except DecodeError as error:
            notes.append(f"A report could not be read and was left out: {error}")
            continue
        if metar.observed_at > now + FUTURE:
            ahead = (metar.observed_at - now) // timedelta(minutes=1)
            refused.append(
                f"{metar.station}: the report of {metar.observed_at:%d %H%MZ} lies {ahead} minutes in the future of "
                f"{now:%d %H%MZ}. Check the clock (--now) or give the right report."
            )
            continue
        out.append(metar)
    out.sort(key=lambda m: (m.observed_at, m.corrected), reverse=True)
    return tuple(out), notes, refused


def prepare(
    station_id: str,
    gathered: Gathered,
    *,
    now: datetime,
    school: School | None = None,
    asked: Asked | None = None,
    aloft_point: Mapping[str, str] | None = None,
) -> StationInput:
    """Decode and check everything about one field.

    Parameters
    ----------
    station_id : str
        Identifier of the field the advice is for.
    gathered : Gathered
        Raw reports, of this field and perhaps of others to borrow from.
    now : datetime
        Aware UTC.
    school : School or None
        The school's file.
    asked : Asked or None
        Runway, pattern side, pilot's wind.
    aloft_point : mapping or None
        Winds-aloft point by station, where it is not to be found by distance.

    Returns
    -------
    StationInput

    Raises
    ------
    UnknownStation
        The field is not known.
    WrongReport
        The report is from the future, or nothing usable was given at all.
    """
    asked = asked or Asked()
    site = describe_site(station_id, now=now, school=school, asked=asked)
    own = gathered.stations.get(site.station.station) or gathered.stations.get(station_id.upper())
    own = own or StationReports(site.station.station)
    notes = list(gathered.notes)
    given = StationInput(site, now, pilot_wind=asked.pilot_wind, horizon_min=asked.horizon_min)
    metars, told, refused = _decoded(own.metars, now)
    notes += told
    if refused and not metars:
        raise WrongReport(refused[0])
    notes += refused
    if own.record and metars:
        from advisor.reports.crosscheck import cross_check

        notes += cross_check(own.record, metars[0])
    taf, why = _forecast(own.taf, now)
    notes += why
    far = False
    if not metars:
        metars, given.observation_from, far, given.observation_drop_ft = _borrow_observation(
            site, gathered, now, school, notes
        )
    if taf is None:
        taf, given.forecast_from, far_too, given.forecast_drop_ft = _borrow_forecast(site, gathered, now, school, notes)
        far = far or far_too
    if metars and metars[0].not_understood:
        notes.append(
            f"Parts of the report of {metars[0].observed_at:%d %H%MZ} could not be read: {_quoted(metars[0].not_understood)}"
        )
    if not metars and taf is None:
        reason = " ".join(notes) or "None was found in what was given."
        raise WrongReport(
            f"{site.station.station}: no report and no forecast that can be used, so nothing is rated. {reason} "
            "A METAR or TAF as it is issued can be given with --from-file."
        )
    if taf is None:
        notes.append("No forecast: hours past the report's two are not rated.")
    given.metars, given.taf, given.borrowed_far = metars, taf, far
    given.aloft = _aloft(site, gathered, now, aloft_point or {}, notes)
    given.notes = tuple(dict.fromkeys(notes))
    given.notices = _notices(site, now, school)
    return given


def _notices(site: Site, now: datetime, school: School | None) -> tuple[str, ...]:
    """Notices of the school in force now or within a day, as sentences."""
    if school is None:
        return ()
    soon = now + timedelta(days=1)
    zone = ZoneInfo(site.station.time_zone)
    out = []
    for n in school.notices:
        if n.station not in (None, site.station.station) or n.until <= now or (n.since is not None and n.since > soon):
            continue
        out.append(n.words(zone, now))
    return tuple(out)


def _forecast(report: StoredReport | None, now: datetime) -> tuple[Taf | None, list[str]]:
    if report is None:
        return None, []
    try:
        taf = decode_taf(report.raw, report.time or now)
    except DecodeError as error:
        return None, [f"The forecast could not be read and was left out: {error}"]
    if taf.nil or taf.cancelled:
        what = "cancelled" if taf.cancelled else "empty (NIL)"
        return None, [f"The forecast for {taf.station} is {what}: there is no forecast in force."]
    if taf.issued_at > now + FUTURE and taf.valid_from > now + FUTURE:
        return None, [f"The forecast for {taf.station} is from the future ({taf.issued_at:%d %H%MZ}) and was left out."]
    if taf.valid_to <= now:
        return None, [
            f"The forecast for {taf.station} ended at {taf.valid_to:%d %H%MZ}: hours ahead are not rated from it."
        ]
    notes = []
    if taf.limits_note:
        notes.append(f"The forecaster's note on {taf.station}: {taf.limits_note} (no amendments while it holds).")
    unread = [*taf.not_understood, *(g for p in (*taf.periods, *taf.unreliable) for g in p.not_understood)]
    if unread:
        notes.append(f"Parts of the forecast could not be read: {_quoted(unread)}")
    return taf, notes


def _quoted(groups: Sequence[str]) -> str:
    """The first few groups as received, apart from each other."""
    each = list(dict.fromkeys(printable(" ".join(g.split())) for g in groups))
    return " | ".join(each[:MOST_QUOTES]) + (f" and {len(each) - MOST_QUOTES} more" if len(each) > MOST_QUOTES else "")


def _where(site: Site, other: Station) -> tuple[float, float, str]:
    """Distance NM, height difference ft, and words for another station as seen from the field."""
    here = site.station
    away = float(distance_nm(here.latitude_deg, here.longitude_deg, other.latitude_deg, other.longitude_deg))
    towards = float(bearing_deg_true(here.latitude_deg, here.longitude_deg, other.latitude_deg, other.longitude_deg))
    height = other.elevation_ft - here.elevation_ft
    side = _POINTS[round(towards / 45.0) % len(_POINTS)]
    level = f"{abs(height):.0f} ft {'higher' if height > 0 else 'lower'}"
    return away, height, f"{other.station}, {away:.0f} NM {side}, {level}"


def _lenders(
    site: Site, gathered: Gathered, named: str | None, kind: str, school: School | None, now: datetime, notes: list[str]
) -> list[tuple[float, float, str, str]]:
    """Stations to borrow from, nearest first: distance, height difference, words, identifier.

    The one the school's file names is said in ``notes`` where it lies too far away to count.
    """
    fields = school.stations if school is not None else ()
    fixed = fixed_numbers()
    out = []
    for ident, reports in gathered.stations.items():
        if ident == site.station.station or (named is not None and ident != named):
            continue
        if not (reports.metars if kind == "report" else reports.taf):
            continue
        try:
            other = find_station(ident, fields)
        except AdvisorError:
            continue
        away, height, words = _where(site, other)
        if away <= fixed["borrow_stop_nm"] and abs(height) <= fixed["borrow_stop_ft"]:
            out.append((away, height, words, ident))
        elif named is not None:
            notes.append(
                f"The school's file takes the {kind} from {ident}, {away:.1f} NM away and {abs(height):,.0f} ft "
                f"{'higher' if height > 0 else 'lower'}: not used, since a {kind} is borrowed up to "
                f"{fixed['borrow_stop_nm']:g} NM and {fixed['borrow_stop_ft']:,.0f} ft of height apart."
            )
    return sorted(out)


def _is_far(away: float, height: float) -> bool:
    fixed = fixed_numbers()
    return away > fixed["borrow_care_nm"] or abs(height) > fixed["borrow_care_ft"]


def _cloud(height: float) -> tuple[str, float]:
    """Words and feet for the ceiling of a lender that lies lower: the same cloud is that much closer to the ground here."""
    if round(-height) < 1:
        return "", 0.0
    return f" Its ceilings count {-height:.0f} ft lower here.", -height


def _borrow_observation(
    site: Site, gathered: Gathered, now: datetime, school: School | None, notes: list[str]
) -> tuple[tuple[Metar, ...], str | None, bool, float]:
    named = school.borrow_for(site.station.station).observation_from if school is not None else None
    for away, height, words, ident in _lenders(site, gathered, named, "report", school, now, notes):
        metars, told, refused = _decoded(gathered.stations[ident].metars, now)
        notes += told + refused
        if metars:
            said, drop_ft = _cloud(height)
            return metars, f"Report borrowed from {words}.{said}", _is_far(away, height), drop_ft
    return (), None, False, 0.0


def _borrow_forecast(
    site: Site, gathered: Gathered, now: datetime, school: School | None, notes: list[str]
) -> tuple[Taf | None, str | None, bool, float]:
    named = school.borrow_for(site.station.station).forecast_from if school is not None else None
    for away, height, words, ident in _lenders(site, gathered, named, "forecast", school, now, notes):
        taf, told = _forecast(gathered.stations[ident].taf, now)
        if taf is not None:
            notes += told
            said, drop_ft = _cloud(height)
            return taf, f"Forecast borrowed from {words}.{said}", _is_far(away, height), drop_ft
    return None, None, False, 0.0


def _aloft(
    site: Site, gathered: Gathered, now: datetime, points: Mapping[str, str], notes: list[str]
) -> tuple[tuple[int, int, float, float, float], ...]:
    """Winds aloft at the nearest reporting point: use period, lowest level, its height, wind at lesson height."""
    if not gathered.aloft:
        return ()
    from advisor.limits import table
    from advisor.reports.decode_aloft import decode_winds_aloft, interpolate_aloft

    out = []
    field_zone = ZoneInfo(site.station.time_zone)
    lesson_ft = site.elevation_ft + float(table()["height_wind"]["lesson_height_ft"])
    for bulletin in gathered.aloft:
        try:
            rows = {row.station: row for row in decode_winds_aloft(bulletin.raw, bulletin.time or now)}
        except DecodeError as error:
            notes.append(f"Winds aloft could not be read: {error}")
            continue
        point, words = _nearest_point(site, rows, points)
        levels = [x for x in rows[point].levels if x.speed_kt is not None or x.light_and_variable] if point else []
        if point is None or not levels:
            continue
        row, lowest = rows[point], levels[0]
        at = interpolate_aloft(row, lesson_ft)
        low_kt = 5.0 if lowest.light_and_variable else float(lowest.speed_kt or 0)
        out.append(
            (
                to_minutes(row.use_from),
                to_minutes(row.use_to),
                low_kt,
                lowest.height_ft_msl - site.elevation_ft,
                float(at.speed_high_kt) if at.speed_high_kt is not None else low_kt,
            )
        )
        notes.append(
            f"Winds aloft: {words}, lowest level {lowest.height_ft_msl:,} ft MSL, used "
            f"{both(row.use_from, field_zone)} to {both(row.use_to, field_zone)}."
        )
    return tuple(out)


def _nearest_point(site: Site, rows: Mapping[str, object], points: Mapping[str, str]) -> tuple[str | None, str]:
    named = points.get(site.station.station)
    if named in rows:
        return named, f"point {named}"
    best: tuple[float, str] | None = None
    for ident in rows:
        try:
            other = find_station(ident if len(ident) == 4 else f"K{ident}")
        except AdvisorError:
            continue
        away, _, _ = _where(site, other)
        if away <= ALOFT_WITHIN_NM and (best is None or away < best[0]):
            best = (away, ident)
    return (best[1], f"point {best[1]}, {best[0]:.0f} NM away") if best else (None, "")
