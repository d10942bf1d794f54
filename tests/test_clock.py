"""Times as typed and as printed. Clock-change dates: 15 U.S.C. 260a."""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from advisor.clock import age_words, both, both_with_day, other_day, parse_at, parse_now, zone
from advisor.errors import TimeError

CHICAGO = ZoneInfo("America/Chicago")
NOW = datetime(2026, 4, 25, 13, 10, tzinfo=UTC)  # 08:10 on the field's clock


def utc(day: int, hour: int, minute: int = 0, month: int = 4) -> datetime:
    return datetime(2026, month, day, hour, minute, tzinfo=UTC)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("15:00", utc(25, 20)),
        ("7:15", utc(25, 12, 15)),
        (" 15:00 ", utc(25, 20)),
        ("23:30", utc(26, 4, 30)),
        ("1500Z", utc(25, 15)),
        ("15:00z", utc(25, 15)),
        ("0100Z", utc(26, 1)),  # twelve hours either way: the coming night, not the one gone
        ("0111Z", utc(25, 1, 11)),
        ("0109Z", utc(26, 1, 9)),
        ("251500Z", utc(25, 15)),
        ("301500Z", utc(30, 15)),
        ("010000Z", utc(1, 0, month=5)),
        ("2026-04-25T15:00Z", utc(25, 15)),
        ("2026-04-25T15:00:00+00:00", utc(25, 15)),
        ("2026-04-25T15:00-05:00", utc(25, 20)),
        ("2026-04-25 1500", utc(25, 20)),
        ("2026-04-25T15:00+0530", utc(25, 9, 30)),
    ],
)
def test_a_time_is_read_as_the_field_or_as_zulu(text: str, expected: datetime) -> None:
    assert parse_at(text, station_tz=CHICAGO, now=NOW) == expected


def test_just_twelve_hours_off_the_coming_one_is_meant() -> None:
    """Nobody asks for a lesson in the past."""
    assert parse_at("0110Z", station_tz=CHICAGO, now=NOW) == utc(26, 1, 10)
    assert parse_at("1310Z", station_tz=CHICAGO, now=utc(25, 1, 10)) == utc(25, 13, 10)
    assert parse_at("1311Z", station_tz=CHICAGO, now=utc(25, 1, 10)) == utc(24, 13, 11)


def test_the_local_date_is_the_fields_not_greenwichs() -> None:
    late = datetime(2026, 4, 26, 2, 0, tzinfo=UTC)  # 21:00 on the 25th at the field
    assert parse_at("21:30", station_tz=CHICAGO, now=late) == utc(26, 2, 30)


@pytest.mark.parametrize(
    "text",
    ["", "25:00", "15:61", "2500Z", "1560Z", "15", "1500", "noon", "320000Z", "2026-02-30T10:00Z",
     "15:00 Z Z", "١٥:٠٠", "2026-04-25T15:00+99:00", "9999-12-31T23:00-12:00",
     "0001-01-01T00:00+14:00", "0001-01-01T00:00", "1899-12-31T23:59Z", "2200-01-01T00:00Z", "2026-04-25", "15:00\n\x1b[31m"],
)  # fmt: skip
def test_what_is_not_a_time_is_refused_with_the_forms(text: str) -> None:
    with pytest.raises(TimeError, match="15:00") as caught:
        parse_at(text, station_tz=CHICAGO, now=NOW)
    assert "\x1b" not in str(caught.value)


def test_an_hour_that_happens_twice_is_refused_and_both_are_offered() -> None:
    now = datetime(2026, 11, 1, 12, 0, tzinfo=UTC)
    with pytest.raises(TimeError, match=r"twice.*0630Z or 0730Z"):
        parse_at("01:30", station_tz=CHICAGO, now=now)
    assert parse_at("0630Z", station_tz=CHICAGO, now=now) == datetime(2026, 11, 1, 6, 30, tzinfo=UTC)
    assert parse_at("02:00", station_tz=CHICAGO, now=now) == datetime(2026, 11, 1, 8, 0, tzinfo=UTC)


def test_an_hour_that_is_skipped_is_refused() -> None:
    now = datetime(2026, 3, 8, 14, 0, tzinfo=UTC)
    with pytest.raises(TimeError, match="does not exist"):
        parse_at("02:30", station_tz=CHICAGO, now=now)
    assert parse_at("03:00", station_tz=CHICAGO, now=now) == datetime(2026, 3, 8, 8, 0, tzinfo=UTC)


def test_a_clock_without_a_zone_is_refused() -> None:
    with pytest.raises(TimeError, match="zone"):
        parse_at("15:00", station_tz=CHICAGO, now=datetime(2026, 4, 25, 13, 10))


def test_times_are_printed_local_with_zulu_beside_them() -> None:
    when = datetime(2026, 4, 25, 12, 15, tzinfo=UTC)
    assert both(when, CHICAGO) == "07:15 CDT (1215Z)"
    assert both(datetime(2026, 1, 25, 12, 15, tzinfo=UTC), CHICAGO) == "06:15 CST (1215Z)"
    assert both_with_day(datetime(2026, 4, 26, 1, 0, tzinfo=UTC), CHICAGO) == "Sat 25 Apr 20:00 CDT (260100Z)"


def test_the_command_line_clock_needs_its_zone() -> None:
    assert parse_now("2026-04-25T15:00-05:00") == datetime(2026, 4, 25, 20, 0, tzinfo=UTC)
    for text in ("2026-04-25T15:00", "15:00", "now", "2026-13-01T00:00Z", "1812-04-25T15:00Z", "2026-04-25T25:00Z"):
        with pytest.raises(TimeError, match="with its zone") as told:
            parse_now(text)
        assert "1500Z, 251500Z" not in str(told.value)  # forms for --at, which has a field's clock


def test_an_unknown_zone_is_a_sentence() -> None:
    assert zone("America/Chicago") == CHICAGO
    for name in ("Mars/Olympus", "../etc/passwd", "", "America"):
        with pytest.raises(TimeError, match="No time zone"):
            zone(name)


@pytest.mark.parametrize(
    ("when", "words"),
    [
        (datetime(2026, 4, 25, 20, tzinfo=UTC), ""),
        (
            datetime(2026, 4, 26, 4, 59, tzinfo=UTC),
            "",
        ),  # 23:59 of the 25th in Chicago, five hours behind in summer
        (datetime(2026, 4, 26, 5, 0, tzinfo=UTC), "tomorrow "),
        (datetime(2026, 4, 27, 4, 59, tzinfo=UTC), "tomorrow "),
        (datetime(2026, 4, 27, 5, 0, tzinfo=UTC), "Monday 27 April "),
        (datetime(2026, 4, 24, 20, tzinfo=UTC), "Friday 24 April "),  # a day that is over is never "tomorrow"
    ],
)
def test_another_day_is_said_by_the_fields_own_date(when: datetime, words: str) -> None:
    """25 April 2026 is a Saturday."""
    assert other_day(when, datetime(2026, 4, 25, 18, tzinfo=UTC), ZoneInfo("America/Chicago")) == words


@pytest.mark.parametrize(
    ("minutes", "words"),
    [(0, "0 minutes"), (179, "179 minutes"), (180, "3 h 0 min"), (1327, "22 h 7 min"), (-5, "-5 minutes")],
)
def test_an_old_report_gives_its_age_in_hours(minutes: float, words: str) -> None:
    """1,327 minutes is no age a reader can picture; the limits, two hours at most, are in minutes."""
    assert age_words(minutes) == words
