"""The head of a TAF: station, issue time, period of validity, and the day-and-hour forms it may take.

Validity as 0918/1018, 160624 (day, from, to) or 0909 (from, to); with or without an issue time; the word TAF
first, after the station, or absent. Sources: as in decode_taf.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import datetime, timedelta

from advisor.errors import DecodeError
from advisor.patterns import pattern
from advisor.records import dataclass
from advisor.reports.decode_taf_times import last_clock, latest, near, next_clock

_STATION = pattern(r"[A-Z][A-Z0-9]{3}", re.ASCII)
_NOT_A_STATION = frozenset({"PROB", "BECM", "TEMP", "INTE", "METAR", "SPEC", "AUTO", "CNLD"})
_DAY_HOURS = pattern(r"(\d{2})(\d{2})(\d{2})", re.ASCII)
_REVISION = pattern(r"(AA|CC|RR)[A-Z]")
_ISSUE_BEFORE = timedelta(hours=30)
_ISSUE_AFTER = timedelta(hours=48)
_LATE = timedelta(hours=6)
STAMP = pattern(r"\d{6}Z?", re.ASCII)
PERIOD = pattern(r"(\d{2})(\d{2})/(\d{2})(\d{2})", re.ASCII)
HOURS = pattern(r"(\d{2})(\d{2})", re.ASCII)
LONGEST = timedelta(hours=48)


@dataclass(slots=True)
class Header:
    """What the head said; ``next_token`` is where the forecast itself begins."""

    station: str
    issued_at: datetime
    valid_from: datetime
    valid_to: datetime
    old_style: bool  # hours without a day in the change groups
    amended: bool
    corrected: bool
    next_token: int
    missing: bool = False  # NIL, or CNL without a validity


def read_header(tokens: Sequence[str], text: str, now: datetime) -> Header:
    """Head of the forecast in ``tokens``.

    Parameters
    ----------
    tokens : sequence of str
        The whole text, upper case.
    text : str
        As received, for the error.
    now : datetime
        Aware; gives month and year.

    Returns
    -------
    Header

    Raises
    ------
    DecodeError
        No station, no time that is one, or hours that cannot belong together.
    """
    i, amended, corrected = _skip_to_station(tokens)
    station = tokens[i] if i < len(tokens) else ""
    if not _STATION.fullmatch(station) or station in _NOT_A_STATION:
        raise DecodeError(
            "This is not a forecast: no four-letter station follows the word TAF. Check the text.",
            text,
            station[:24],
        )
    i += 1
    issued: datetime | None = None
    stamped = False
    while i < len(tokens):
        token = tokens[i]
        if token in ("TAF", "AMD", "COR") or _REVISION.fullmatch(token):
            amended = amended or token == "AMD" or token[:2] == "AA"
            corrected = corrected or token == "COR" or token[:2] == "CC"
        elif not stamped and STAMP.fullmatch(token) and (token[-1] == "Z" or _starts_period(tokens, i + 1)):
            issued = latest(int(token[:2]), int(token[2:4]), int(token[4:6]), now)
            stamped = True
            if issued is None:
                raise DecodeError(
                    f"The issue time {token} of the forecast for {station} is no time. Fetch it again.",
                    text,
                    token,
                )
        else:
            break
        i += 1
    word = tokens[i] if i < len(tokens) else ""
    if word in ("NIL", "CNL"):
        at = issued or now
        return Header(station, at, at, at, False, amended, corrected, i + 1, missing=True)
    validity = _validity(word, issued, now)
    if validity is None and issued is not None:
        issued, validity = _earlier_month(word, issued)
    if validity is None:
        raise DecodeError(
            f"The forecast for {station} has no period of validity that can be read"
            f"{f' (found {word[:24]})' if word else ''}. Fetch it again.",
            text,
            word[:24],
        )
    start, end, old_style = validity
    # Without an issue time the forecast is taken to be as old as its first hour.
    at = issued or min(start, now)
    return Header(station, at, start, end, old_style, amended, corrected, i + 1)


def _skip_to_station(tokens: Sequence[str]) -> tuple[int, bool, bool]:
    i = 0
    opening = tokens[:12]
    if "TAF" in opening:
        i = opening.index("TAF")
        following = tokens[i + 1] if i + 1 < len(tokens) else ""
        if i and following[:1].isdigit() and _STATION.fullmatch(tokens[i - 1]):
            i -= 1  # "KNSE TAF 260909": the station comes first
    amended = corrected = False
    while i < len(tokens) and tokens[i] in ("TAF", "AMD", "COR", "RTD"):
        amended = amended or tokens[i] == "AMD"
        corrected = corrected or tokens[i] == "COR"
        i += 1
    return i, amended, corrected


def _starts_period(tokens: Sequence[str], i: int) -> bool:
    return i < len(tokens) and PERIOD.fullmatch(tokens[i]) is not None


def _validity(word: str, issued: datetime | None, now: datetime) -> tuple[datetime, datetime, bool] | None:
    start: datetime | None
    end: datetime | None
    old_style = True
    if (match := PERIOD.fullmatch(word)) is not None:
        old_style = False
        day, hour, end_day, end_hour = map(int, match.groups())
        start = near(day, hour, 0, issued) if issued else latest(day, hour, 0, now)
        end = near(end_day, end_hour, 0, start) if start else None
    elif (match := _DAY_HOURS.fullmatch(word)) is not None:
        day, hour, end_hour = map(int, match.groups())
        start = near(day, hour, 0, issued) if issued else latest(day, hour, 0, now)
        end = later_clock(end_hour, start) if start else None
    elif (match := HOURS.fullmatch(word)) is not None:
        hour, end_hour = map(int, match.groups())
        # No day at all: the first such hour after the issue, which may be a little late; else the last one.
        start = next_clock(hour, 0, issued - _LATE) if issued else last_clock(hour, 0, now + timedelta(hours=1))
        end = later_clock(end_hour, start) if start else None
    else:
        return None
    if start is None or end is None or not start < end <= start + LONGEST:
        return None
    if issued is not None and not issued - _ISSUE_BEFORE <= start <= issued + _ISSUE_AFTER:
        return None
    return start, end, old_style


def _earlier_month(word: str, issued: datetime) -> tuple[datetime | None, tuple[datetime, datetime, bool] | None]:
    """An old forecast read with no date beside it: the latest month in which its days follow each other.

    2818/2918 does not fit the end of February but in a leap year, 2923/0124 in no other, so eight years are tried.
    """
    if PERIOD.fullmatch(word) is None:
        return issued, None
    day, hour, minute = issued.day, issued.hour, issued.minute
    at: datetime | None = issued
    for _ in range(96):
        at = latest(day, hour, minute, at - timedelta(days=5)) if at else None
        if at is None:
            break
        if (validity := _validity(word, at, at)) is not None:
            return at, validity
    return issued, None


def later_clock(hour: int, start: datetime) -> datetime | None:
    """First such full hour after ``start``; the same hour means a day later; None for no hour of the day."""
    return next_clock(hour, 0, start + timedelta(minutes=1))
