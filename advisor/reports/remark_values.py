"""Remarks that hold a figure: peak wind, wind shift, tenths, pressure, the ranges of visibility and ceiling.

Each reader gets the groups, where to look, what was found so far and the time of the report. It writes what it
reads into ``found`` and returns how many groups it used, 0 for none; none of them raises.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from advisor.patterns import pattern

#: No remark read here has a longer group.
LONGEST_GROUP = 24
_PEAK = pattern(r"(\d{3})(\d{2,3})/(?:(\d\d))?(\d\d)", re.ASCII)
_SHIFT = pattern(r"(?:(\d\d))?(\d\d)", re.ASCII)
TENTHS = pattern(r"T([01])(\d{3})(?:([01])(\d{3}))?", re.ASCII)
SEA_LEVEL = pattern(r"SLP(\d{3})", re.ASCII)
_CEILING = pattern(r"(\d{3})V(\d{3})", re.ASCII)
_CEILING_VRB = pattern(r"(\d{1,3})-(\d{1,3})", re.ASCII)
_FEET = pattern(r"(-?\d{1,5})(?:FT)?", re.ASCII)
VARYING_LAYER = pattern(r"(?:FEW|SCT)(\d{3})", re.ASCII)
WIND_WORDS = frozenset({"WND", "WNDS", "WIND", "WINDS"})
#: How stations say that a figure is estimated.
ESTIMATED = frozenset({"ESTMD", "EST", "ESTD", "ESTIMATED"})
_MILES = pattern(r"M?(?:(\d{1,2})|(\d{1,2})/(\d{1,2})|(\d{4}))", re.ASCII)


def read_peak_wind(groups: Sequence[str], i: int, found: dict[str, Any], at: datetime) -> int:
    """PK WND 28045/15: strongest gust of the hour."""
    if i + 2 >= len(groups) or groups[i + 1] != "WND":
        return 0
    match = _PEAK.fullmatch(groups[i + 2][:LONGEST_GROUP])
    if match is None:
        return 0
    direction, speed, hour, minute = match.groups()
    when = _back_from(at, hour, minute)
    if int(direction) > 360 or int(speed) > 199 or when is None:
        return 0
    # Two peaks are never printed; in a corrupt report the stronger one is kept.
    if int(speed) > (found.get("peak_wind_kt") or -1):
        found.update(peak_wind_from_deg_true=int(direction) or 360, peak_wind_kt=int(speed), peak_wind_at=when)
    return 3


def read_wind_shift(groups: Sequence[str], i: int, found: dict[str, Any], at: datetime) -> int:
    """WSHFT 30 FROPA."""
    match = _SHIFT.fullmatch(groups[i + 1][:5]) if i + 1 < len(groups) else None
    when = None if match is None else _back_from(at, *match.groups())
    if when is None:
        return 0
    found["wind_shift_at"] = when
    if i + 2 < len(groups) and groups[i + 2] == "FROPA":
        found["wind_shift_front"] = True
        return 3
    return 2


def _back_from(at: datetime, hour: str | None, minute: str) -> datetime | None:
    """Latest such time not after the report: the groups look back over at most the hour before it."""
    if int(minute) > 59 or (hour is not None and int(hour) > 23):
        return None
    if hour is None:
        when = at.replace(minute=int(minute))
        return when if when <= at else when - timedelta(hours=1)
    when = at.replace(hour=int(hour), minute=int(minute))
    return when if when <= at else when - timedelta(days=1)


def read_estimated_wind(groups: Sequence[str], i: int, found: dict[str, Any], at: datetime) -> int:
    """WND DATA ESTMD (AFMAN 15-111), and as it is also printed: WND EST, WIND DATA ESTD, EST WND."""
    words = groups[i : i + 3]
    if words[0] in ESTIMATED:
        used = 2 if len(words) > 1 and words[1] in WIND_WORDS else 0
    elif len(words) > 1 and words[1] in ESTIMATED:
        used = 2
    else:
        used = 3 if len(words) > 2 and words[1] == "DATA" and words[2] in ESTIMATED else 0
    if used:
        found["wind_estimated"] = True
    return used


def read_tenths(groups: Sequence[str], i: int, found: dict[str, Any], at: datetime) -> int:
    """T01670011: temperature and dew point to a tenth."""
    match = TENTHS.fullmatch(groups[i])
    if match is None:
        return 0
    sign, degrees, dew_sign, dew = match.groups()
    found["temperature_c"] = _signed(sign, degrees)
    if dew is not None:
        found["dewpoint_c"] = _signed(dew_sign, dew)
    return 1


def _signed(sign: str, tenths: str) -> float:
    value = int(tenths) / 10
    return -value if sign == "1" and value else value


def read_sea_level(groups: Sequence[str], i: int, found: dict[str, Any], at: datetime) -> int:
    """SLP159."""
    tenths = int(groups[i][3:])
    # The leading 9 or 10 is not printed; sea-level pressure stays between 950 and 1050.
    found["sea_level_pressure_hpa"] = (9000 + tenths if tenths >= 500 else 10000 + tenths) / 10
    return 1


def read_visibility(groups: Sequence[str], i: int, found: dict[str, Any], at: datetime) -> int:
    """VIS 3/4V1 1/2, VIS 1 3/4V5, VIS 1200V8000; a second site or a sector stays in ``other``."""
    if not any("V" in word for word in groups[i + 1 : i + 3]):
        return 0
    if groups[i + 1] == "VRB":
        return _visibility_range(groups, i + 2, "-", found, 3)  # VIS VRB 1/2-1 1/2, the Canadian form (MANOBS)
    return _visibility_range(groups, i + 1, "V", found, 2)


def _visibility_range(groups: Sequence[str], first: int, mark: str, found: dict[str, Any], used: int) -> int:
    """Two figures joined by a mark, each whole, broken or both; ``used`` counts the words up to the least one's first."""
    words = [word for word in groups[first : first + 3] if len(word) <= 12]
    at = next((k for k, word in enumerate(words[:2]) if mark in word), None)
    if at is None:
        return 0
    left, _, right = words[at].partition(mark)
    least, most = _miles([*words[:at], left]), _miles([right])
    if least is None or most is None:
        return 0
    used += at
    whole_and_part = _miles([right, words[at + 1]]) if at + 1 < len(words) and "/" in words[at + 1] else None
    if whole_and_part is not None and right.isdigit():
        most, used = whole_and_part, used + 1
    if least > most:
        return 0
    found["visibility_min_sm"], found["visibility_max_sm"] = least, most
    return used


def _miles(words: Sequence[str]) -> float | None:
    total = 0.0
    for position, word in enumerate(words):
        match = _MILES.fullmatch(word)
        if match is None:
            return None
        whole, numerator, denominator, metres = match.groups()
        if metres is not None:
            return int(metres) / 1609.344 if len(words) == 1 else None
        if whole is not None:
            if position:
                return None
            total = float(whole)
        elif int(denominator) == 0 or int(numerator) >= int(denominator):
            return None
        else:
            total += int(numerator) / int(denominator)
    return total


def read_ceiling(groups: Sequence[str], i: int, found: dict[str, Any], at: datetime) -> int:
    """CIG 013V017, and CIG VRB 13-17 (Canada)."""
    if i + 2 < len(groups) and groups[i + 1] == "VRB" and (match := _CEILING_VRB.fullmatch(groups[i + 2][:8])):
        low, high = sorted((int(match.group(1)) * 100, int(match.group(2)) * 100))
        found["ceiling_min_ft_agl"], found["ceiling_max_ft_agl"] = low, high
        return 3
    match = _CEILING.fullmatch(groups[i + 1][:8]) if i + 1 < len(groups) else None
    if match is None:
        return 0
    low, high = sorted((int(match.group(1)) * 100, int(match.group(2)) * 100))
    found["ceiling_min_ft_agl"], found["ceiling_max_ft_agl"] = low, high
    return 2


def read_layer(groups: Sequence[str], i: int, found: dict[str, Any], at: datetime) -> int:
    """SCT014 V BKN: the layer is at times a ceiling (FMH-1, variable sky condition)."""
    match = VARYING_LAYER.fullmatch(groups[i])
    if match is None or i + 2 >= len(groups) or groups[i + 1] != "V" or groups[i + 2] not in ("BKN", "OVC"):
        return 0
    base = int(match.group(1)) * 100
    found["ceiling_min_ft_agl"] = min(base, found.get("ceiling_min_ft_agl", base))
    return 3


def read_density_altitude(groups: Sequence[str], i: int, found: dict[str, Any], at: datetime) -> int:
    """DENSITY ALT 3100FT."""
    if i + 2 >= len(groups) or groups[i + 1] != "ALT":
        return 0
    match = _FEET.fullmatch(groups[i + 2][:9])
    if match is None:
        return 0
    found["density_altitude_ft"] = int(match.group(1))
    return 3
