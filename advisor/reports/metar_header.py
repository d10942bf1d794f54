"""The head of a METAR: type, station and time, and refusals of what is no METAR."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from functools import lru_cache

from advisor.errors import DecodeError
from advisor.patterns import pattern

STATION = pattern(r"[A-Z][A-Z0-9]{3}", re.ASCII)
TIME = pattern(r"(0[1-9]|[12]\d|3[01])([01]\d|2[0-3])([0-5]\d)Z?", re.ASCII)
_DATE_LINE = pattern(r"\d{4}/\d\d/\d\d", re.ASCII)
_TAF_PERIOD = pattern(r"\d{4}/\d{4}|\d{6}", re.ASCII)
# The status words of bulletins (WMO No. 386: AAx, CCx, RRx; RTD delayed) strayed into the report.
_STATUS = frozenset({"COR", "AMD", "RTD", *(f"CC{letter}" for letter in "ABCDEFGHIJKLMNOPQRSTUVWX")})
_BEFORE_STATION = frozenset({"METAR", "SPECI"}) | _STATUS
#: Words that stand for a report that was not made.
ABSENT_REPORT = frozenset({"NIL", "FINO"})


class Header:
    """Type, station and time of one report; ``end`` is where its body starts among the groups.

    Raises
    ------
    DecodeError
        When there is no station or no time, or when what follows is a forecast.
    """

    __slots__ = (
        "corrected",
        "date_hint",
        "day",
        "end",
        "hour",
        "kind",
        "minute",
        "stamp",
        "start",
        "station",
    )

    def __init__(self, groups: Sequence[str], text: str) -> None:
        self.kind, self.corrected = "METAR", False
        self.date_hint: datetime | None = None
        i = 0
        n = len(groups)
        if groups[0][0].isdigit():
            i = self._skip_date_line(groups)
        self.start = i
        while i < n and groups[i] in _BEFORE_STATION:
            if groups[i] in _STATUS:
                self.corrected = True
            else:
                self.kind = groups[i]
            i += 1
        station = groups[i] if i < n else ""
        if station == "TAF" or not STATION.fullmatch(station):
            raise _no_station(station, text)
        self.station = station
        i += 1
        stamp = groups[i] if i < n else ""
        while stamp in _STATUS:
            self.corrected = True
            i += 1
            stamp = groups[i] if i < n else ""
        match = TIME.fullmatch(stamp)
        if match is None:
            raise _no_time(station, stamp, text)
        self.stamp = stamp
        day, hour, minute = match.groups()
        self.day, self.hour, self.minute = int(day), int(hour), int(minute)
        self.end = i = i + 1
        if i < n and groups[i][0].isdigit() and _TAF_PERIOD.fullmatch(groups[i]):
            raise _forecast(f"{station} {stamp} {groups[i]}", text)

    def _skip_date_line(self, groups: Sequence[str]) -> int:
        if len(groups) < 2 or not _DATE_LINE.fullmatch(groups[0]):
            return 0
        try:
            when = datetime.strptime(f"{groups[0]} {groups[1]}", "%Y/%m/%d %H:%M")
        except ValueError:
            return 0
        self.date_hint = when.replace(tzinfo=UTC)
        return 2


def _no_station(station: str, text: str) -> DecodeError:
    if station == "TAF":
        return _forecast("This", text)
    return DecodeError(
        f"No station identifier (four characters, a letter first): {station[:20]!r} stands there. "
        "Check that the text starts with the station.",
        text,
        station[:80],
    )


def _no_time(station: str, stamp: str, text: str) -> DecodeError:
    if stamp in ABSENT_REPORT:
        return nil_report(station, text)
    return DecodeError(
        f"No time of observation (ddhhmmZ) after {station}: {stamp[:20]!r} stands there. "
        "A report without a time cannot be used: get it again.",
        text,
        stamp[:80],
    )


def _forecast(what: str, text: str) -> DecodeError:
    return DecodeError(f"{what} is a forecast (TAF), not an observation. Decode it with --kind taf.", text, what[:80])


def nil_report(station: str, text: str) -> DecodeError:
    """The error for a station that sent NIL in place of a report."""
    return DecodeError(
        f"{station} sent NIL: there is no report for that time. Use another time or station.", text, "NIL"
    )


@lru_cache(maxsize=4096)
def nearest(day: int, hour: int, minute: int, year: int, month: int, day_near: int) -> datetime | None:
    """The time with that day of the month that lies nearest to a date, aware UTC.

    A report prints no month. It is never taken from the machine clock, which may be a day slow at the
    turn of a month; the caller says what to be near to. ``None`` only at the ends of the calendar.
    """
    near = datetime(year, month, day_near, 12, tzinfo=UTC)
    candidates = []
    for offset in (0, -1, 1, -2, 2):
        candidate_year, month0 = divmod(year * 12 + month - 1 + offset, 12)
        try:
            when = datetime(candidate_year, month0 + 1, day, hour, minute, tzinfo=UTC)
        except ValueError:
            continue
        if abs(when - near) < timedelta(days=13):
            return when
        candidates.append(when)
    return min(candidates, key=lambda when: abs(when - near), default=None)
