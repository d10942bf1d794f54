"""Day-and-hour stamps of forecasts turned into aware UTC times. Nothing here reads a clock.

Forecasts print a day of the month and an hour, never a month or a year. Every function takes the moment
the stamp must be near, and gives ``None`` for a stamp that is no time at all (hour 25, day 0, day 31 of a
short month): a damaged stamp never becomes a neighbouring time. Hour 24 is the end of the printed day.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

DAY = timedelta(days=1)
#: A stamp is read as the latest such day not later than this after ``now``: reports are from the past,
#: but the reader's clock may be slow, archives often keep only the date, and a forecast's hours lie ahead.
AHEAD_OF_NOW = timedelta(hours=72)


def valid_clock(hour: int, minute: int) -> bool:
    """Whether hour and minute form a time of day, 24:00 included. Never raises."""
    return 0 <= minute <= 59 and (0 <= hour <= 23 or (hour == 24 and minute == 0))


def latest(day: int, hour: int, minute: int, now: datetime) -> datetime | None:
    """Latest time with that day of month not more than 72 hours after ``now``; None when there is none."""
    if not (1 <= day <= 31 and valid_clock(hour, minute)):
        return None
    limit = now + AHEAD_OF_NOW
    year, month = limit.year, limit.month
    for _ in range(4):  # a day 31 or 29 may be missing from two months running
        try:
            found = datetime(year, month, day, tzinfo=UTC) + timedelta(hours=hour, minutes=minute)
        except (ValueError, OverflowError):
            found = None
        if found is not None and found <= limit:
            return found
        month -= 1
        if month == 0:
            year, month = year - 1, 12
    return None


def near(day: int, hour: int, minute: int, anchor: datetime, reach_days: int = 14) -> datetime | None:
    """Time with that day of month nearest to ``anchor`` within ``reach_days``; None when there is none."""
    if not (1 <= day <= 31 and valid_clock(hour, minute)):
        return None
    base = anchor.replace(hour=0, minute=0, second=0, microsecond=0)
    if base.day != day:
        for offset in range(1, reach_days + 1):
            step = offset * DAY
            try:
                if (later := base + step).day == day:
                    base = later
                    break
                if (earlier := base - step).day == day:
                    base = earlier
                    break
            except OverflowError:
                return None
        else:
            return None
    return base + timedelta(hours=hour, minutes=minute)


def next_clock(hour: int, minute: int, after: datetime) -> datetime | None:
    """First time of day hour:minute at or after ``after``; None when it is no time of day."""
    if not valid_clock(hour, minute):
        return None
    found = after.replace(hour=0, minute=0, second=0, microsecond=0) + timedelta(hours=hour, minutes=minute)
    while found - DAY >= after:  # 24:00 and 00:00 are the same time of day
        found -= DAY
    return found if found >= after else found + DAY


def last_clock(hour: int, minute: int, before: datetime) -> datetime | None:
    """Last time of day hour:minute at or before ``before``; None when it is no time of day."""
    found = next_clock(hour, minute, before)
    if found is None:
        return None
    return found if found == before else found - DAY
