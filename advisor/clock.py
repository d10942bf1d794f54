"""Times as people type and read them: the field's clock first, Z beside it.

Every library function takes ``now``; only the command line reads the machine's clock.
"""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from advisor.errors import TimeError, printable
from advisor.patterns import pattern
from advisor.records import dataclass

_LOCAL = pattern(r"(\d{1,2}):(\d{2})")
_ZULU = pattern(r"(\d{2}):?(\d{2})\s*[Zz]")
_DAY_ZULU = pattern(r"(\d{2})(\d{2})(\d{2})[Zz]")
_ISO = pattern(r"(\d{4})-(\d{2})-(\d{2})[T ](\d{2}):?(\d{2})(?::?(\d{2}))?\s*([Zz]|[+-]\d{2}:?\d{2})?")
#: A Zulu or local time of day means the one nearest to now in the window from 12 h back to 12 h ahead.
_HALF_DAY = timedelta(hours=12)
_FULL = "Write it with its zone: 2026-04-25T15:00Z."
_FORMS = "Write 15:00 (the field's clock), 1500Z, 251500Z or 2026-04-25T15:00Z."


@dataclass(frozen=True, slots=True)
class OpeningHours:
    """Local clock times; a day's lessons lie between them. ``days`` holds the weekdays (Monday is 0) that differ:
    other times, or ``None`` for closed.
    """

    opens: time
    closes: time
    days: tuple[tuple[int, tuple[time, time] | None], ...] = ()

    def on(self, day: date) -> tuple[time, time] | None:
        """Opening and closing of a date; ``None`` when closed all day. Never raises."""
        for weekday, times in self.days:
            if weekday == day.weekday():
                return times
        return self.opens, self.closes

    def outside(self, start: datetime, end: datetime) -> str:
        """How a time on the field's clock lies outside the hours, or nothing when it lies inside. Never raises."""
        times = self.on(start.date())
        if times is None:
            return f"closed on {start:%A} {start.day} {start:%B}"
        if start.time() >= times[0] and end.date() == start.date() and end.time() <= times[1]:
            return ""
        hours = f"{times[0]:%H:%M} to {times[1]:%H:%M}"
        some = start.time() < times[1] and (end.time() > times[0] or end.date() != start.date())
        part = "for all of" if some else "at"
        return f"open {hours} on {start:%A} {start.day} {start:%B}, so not {part} this time"


def zone(name: str) -> ZoneInfo:
    """Time zone of an IANA name. Raises TimeError when the name is not known."""
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise TimeError(f"No time zone is called '{name[:40]}'. Write one like America/Chicago.") from error


@lru_cache(maxsize=4096)
def other_day(when: datetime, now: datetime, station_tz: ZoneInfo) -> str:
    """ "tomorrow " or "Sunday 26 April ", before a time that is not on the field's date of ``now``; else nothing."""
    there, here = when.astimezone(station_tz).date(), now.astimezone(station_tz).date()
    if there == here:
        return ""
    if there - here == timedelta(days=1):
        return "tomorrow "
    return f"{there:%A} {there.day} {there:%B} "


def from_local(day: date, clock: time, station_tz: ZoneInfo) -> datetime:
    """Aware UTC time of a wall-clock time at the field.

    Parameters
    ----------
    day : date
    clock : time
        Naive.
    station_tz : ZoneInfo

    Returns
    -------
    datetime, aware, UTC

    Raises
    ------
    TimeError
        The clocks change over that time: it happens twice, or not at all.
    """
    wall = datetime.combine(day, clock)
    first, second = wall.replace(tzinfo=station_tz, fold=0), wall.replace(tzinfo=station_tz, fold=1)
    shown = f"{wall:%H:%M} on {wall:%d %B %Y}"
    exists = first.astimezone(UTC).astimezone(station_tz).replace(tzinfo=None) == wall
    if not exists:
        raise TimeError(f"{shown} does not exist at the field: the clocks go forward over it. Write it in Z instead.")
    if first.utcoffset() != second.utcoffset():
        either = " or ".join(f"{t.astimezone(UTC):%H%M}Z" for t in (first, second))
        raise TimeError(f"{shown} happens twice at the field: the clocks go back. Write {either} instead.")
    return first.astimezone(UTC)


def _time(hour: int, minute: int, second: int = 0, text: str = "", forms: str = _FORMS) -> time:
    try:
        return time(hour, minute, second)
    except ValueError as error:
        raise TimeError(f"'{text}' is not a time of day. {forms}") from error


def _check_now(now: datetime) -> datetime:
    if now.tzinfo is None:
        raise TimeError("The clock 'now' must carry a time zone; pass an aware UTC time.")
    return now.astimezone(UTC)


def parse_at(text: str, *, station_tz: ZoneInfo, now: datetime) -> datetime:
    """A time as typed.

    Parameters
    ----------
    text : str
        ``15:00`` (the field's clock, on the field's date of ``now``), ``1500Z`` or ``15:00Z`` (the one within
        twelve hours of ``now``), ``251500Z`` (day and time, nearest month), or an ISO time; an ISO time
        without zone is the field's clock.
    station_tz : ZoneInfo
        The field's time zone.
    now : datetime
        Aware.

    Returns
    -------
    datetime, aware, UTC

    Raises
    ------
    TimeError
        Not a time, or an hour that a clock change repeats or skips.
    """
    now = _check_now(now)
    text = text.strip()
    shown = printable(text, 30)
    if not text.isascii():
        raise TimeError(f"'{shown}' is not a time. {_FORMS}")
    if match := _LOCAL.fullmatch(text):
        clock = _time(int(match[1]), int(match[2]), text=shown)
        return from_local(now.astimezone(station_tz).date(), clock, station_tz)
    if match := _ZULU.fullmatch(text):
        clock = _time(int(match[1]), int(match[2]), text=shown)
        near = datetime.combine(now.date(), clock, tzinfo=UTC)
        if near - now > _HALF_DAY:
            near -= timedelta(days=1)
        elif now - near >= _HALF_DAY:
            near += timedelta(days=1)
        return near
    if match := _DAY_ZULU.fullmatch(text):
        return _nearest_day(int(match[1]), _time(int(match[2]), int(match[3]), text=shown), now, shown)
    if match := _ISO.fullmatch(text):
        return _iso(match, shown, station_tz)
    raise TimeError(f"'{shown}' is not a time. {_FORMS}")


def _nearest_day(day: int, clock: time, now: datetime, shown: str) -> datetime:
    found: list[datetime] = []
    for months in (-1, 0, 1):
        month0 = now.year * 12 + now.month - 1 + months
        try:
            found.append(datetime.combine(date(month0 // 12, month0 % 12 + 1, day), clock, tzinfo=UTC))
        except ValueError:
            continue
    if not found:
        raise TimeError(f"'{shown}' names no day of this month or the next. {_FORMS}")
    return min(found, key=lambda t: abs(t - now))


def _iso(match: re.Match[str], shown: str, station_tz: ZoneInfo, forms: str = _FORMS) -> datetime:
    try:
        day = date(int(match[1]), int(match[2]), int(match[3]))
    except ValueError as error:
        raise TimeError(f"'{shown}' is not a date. {forms}") from error
    if not 1900 <= day.year < 2200:
        raise TimeError(f"'{shown}' lies outside the years 1900 to 2199. {forms}")
    clock = _time(int(match[4]), int(match[5]), int(match[6] or 0), text=shown, forms=forms)
    offset = match[7]
    if offset is None:
        return from_local(day, clock, station_tz)
    if offset in "Zz":
        return datetime.combine(day, clock, tzinfo=UTC)
    hours, minutes = int(offset[1:3]), int(offset[-2:])
    if hours > 14 or minutes > 59:
        raise TimeError(f"'{shown}' has no such offset from UTC. {forms}")
    shift = timedelta(hours=hours, minutes=minutes)
    return datetime.combine(day, clock, tzinfo=UTC) - (shift if offset[0] == "+" else -shift)


def parse_now(text: str) -> datetime:
    """The clock given on the command line (``--now``): an ISO time with Z or an offset. Raises TimeError."""
    match = _ISO.fullmatch(text.strip()) if text.isascii() else None
    shown = printable(text, 30)
    if match is None or match[7] is None:
        raise TimeError(f"'{shown}' is not a full time. {_FULL}")
    return _iso(match, shown, ZoneInfo("UTC"), _FULL)


def local(when: datetime, tz: ZoneInfo) -> str:
    """``07:15 CDT``: a time on the field's clock, with the zone's short name."""
    there = when.astimezone(tz)
    # as strftime writes it, several times as fast
    return f"{there.hour:02d}:{there.minute:02d} {zone_name(there)}"


def zone_name(there: datetime) -> str:
    """Short name of an aware time's zone: ``CDT``, or ``UTC+8`` where the zone has a figure for a name."""
    name = there.tzname() or there.strftime("%z")
    if name[:1] not in ("+", "-"):
        return name
    hours = int(name[:3])
    return f"UTC{hours:+d}{':' + name[3:5] if name[3:5] not in ('', '00') else ''}" if int(name) else "UTC"


@lru_cache(maxsize=4096)  # a posting says the same few times of hundreds of fields
def both(when: datetime, tz: ZoneInfo) -> str:
    """A time for a page: ``07:15 CDT (1215Z)``. ``when`` must be aware. Never raises for an aware time."""
    zulu = when.astimezone(UTC)
    return f"{local(when, tz)} ({zulu.hour:02d}{zulu.minute:02d}Z)"


@lru_cache(maxsize=4096)
def both_with_day(when: datetime, tz: ZoneInfo, *, year: bool = False) -> str:
    """As :func:`both` with the field's date: ``Sat 25 Apr 07:15 CDT (251215Z)``, with ``year`` ``Sat 25 Apr 2026 ...``."""
    there = when.astimezone(tz)
    date = f"{there:%a} {there.day} {there:%b}" + (f" {there.year}" if year else "")
    return f"{date} {local(when, tz)} ({when.astimezone(UTC):%d%H%M}Z)"


def age_words(age_min: float) -> str:
    """How old a report is: ``17 minutes``, from three hours on ``22 h 7 min``. Never raises for a finite number."""
    minutes = round(age_min)
    return f"{minutes} minutes" if abs(minutes) < 180 else f"{minutes // 60} h {minutes % 60} min"
