"""The remark groups of a METAR that matter for training, read by our own patterns.

Remarks are free text, and a careless pattern can hang on them. Here the text is cut into groups once, each
group is looked at once, and no pattern is applied to more than one short group, so time grows in proportion
to length. Source: the NWS/FAA key to METAR remarks; AFMAN 15-111 for the metric forms.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import datetime, timedelta
from functools import lru_cache
from typing import Any

from advisor.patterns import pattern
from advisor.reports.types import Remarks

_MAX_GROUP = 24
_PEAK = pattern(r"(\d{3})(\d{2,3})/(?:(\d\d))?(\d\d)", re.ASCII)
_SHIFT = pattern(r"(?:(\d\d))?(\d\d)", re.ASCII)
_TENTHS = pattern(r"T([01])(\d{3})(?:([01])(\d{3}))?", re.ASCII)
_SEA_LEVEL = pattern(r"SLP(\d{3})", re.ASCII)
_CEILING = pattern(r"(\d{3})V(\d{3})", re.ASCII)
_CEILING_VRB = pattern(r"(\d{1,3})-(\d{1,3})", re.ASCII)
_FEET = pattern(r"(-?\d{1,5})(?:FT)?", re.ASCII)
_LIGHTNING = pattern(r"LT(?:N)?G(?:IC|CC|CG|CA|CW){0,5}|LIGHTNING")
_THUNDER = pattern(r"(?:VC)?[-+]?TS(?:RA|SN|GR|GS|PL|DZ|UP){0,3}(?:[BE]\d\d(?:\d\d)?){1,6}", re.ASCII)
# Also the cloud groups of Canada (type and eighths, CB2SC3), of Japan (eighths, type and height, 1CB020) and of FMH-1
# (8/ and the low, middle and high type: low type 3 and 9 are CB by code table 0513).
_CLOUD = pattern(
    r"(?:CB|TCU|CBMAM)(?:/[A-Z/]{1,12})?|(?:[A-Z]{2,3}\d){0,6}(?:CB|TCU)\d(?:[A-Z]{2,3}\d){0,6}|\d(?:CB|TCU)\d{3}"
    r"|8/[39][\d/]{2}",
    re.ASCII,
)
_FUNNEL_WORDS = frozenset({"TORNADO", "TORNADOES", "FUNNEL", "WATERSPOUT", "WATERSPOUTS"})
_BEGAN_OR_ENDED = pattern(r"[BE]\d\d(?:\d\d)?", re.ASCII)
_VARYING_LAYER = pattern(r"(?:FEW|SCT)(\d{3})", re.ASCII)
_WIND_WORDS = frozenset({"WND", "WNDS", "WIND", "WINDS"})
#: How stations say that a figure is estimated.
ESTIMATED = frozenset({"ESTMD", "EST", "ESTD", "ESTIMATED"})
_DIRECTION = pattern(r"[NSEW]{1,3}(?:[-/][NSEW]{1,3}){0,3},?")
_LOCATION_WORDS = frozenset(
    {"OHD", "VC", "DSNT", "AND", "ALQDS", "ALQS", "MOV", "MOVD", "MOVG", "THRU", "TO", "STNRY", "UNKN", "LTL"}
)
_FREQUENCY = frozenset({"OCNL", "FRQ", "CONS", "CNTNS"})
_MILES = pattern(r"M?(?:(\d{1,2})|(\d{1,2})/(\d{1,2})|(\d{4}))", re.ASCII)
_FLAGS = {
    "TSNO": "no_thunder_sensor",
    "PWINO": "no_present_weather_sensor",
    "FZRANO": "no_freezing_rain_sensor",
    "$": "maintenance_needed",
}
_LISTS = ("lightning", "thunder_location", "cb_or_tcu", "funnel_cloud")
_STORMS = frozenset({"frequency", "lightning", "thunder begins", "cloud", "funnel"})
NONE = Remarks()


@lru_cache(maxsize=16384)
def _start(group: str) -> str:
    """Which reader a group calls for; empty for a group that starts nothing we read."""
    if len(group) > _MAX_GROUP:
        return ""
    if group[0].isdigit():
        return "cloud" if group[1:2] in ("C", "T", "/") and _CLOUD.fullmatch(group) else ""
    if group[0] == "T" and group[1:2] in ("0", "1"):
        return "tenths" if _TENTHS.fullmatch(group) else ""
    if group[:3] == "SLP":
        return "sea level" if _SEA_LEVEL.fullmatch(group) else ""
    if group in _FLAGS:
        return "flag"
    if group in ("PK", "WSHFT", "VIS", "CIG", "DENSITY", "TS", "VCTS"):
        return "thunder" if group.endswith("TS") else group
    if group in _WIND_WORDS or group in ESTIMATED:
        return "wind"
    if group in _FUNNEL_WORDS:
        return "funnel"
    if _VARYING_LAYER.fullmatch(group):
        return "layer"
    if group in _FREQUENCY:
        return "frequency"
    if _LIGHTNING.fullmatch(group):
        return "lightning"
    if _THUNDER.fullmatch(group):
        return "thunder begins"
    if _CLOUD.fullmatch(group):
        return "cloud"
    return ""


def parse_remarks(groups: Sequence[str], observed_at: datetime) -> Remarks:
    """Remarks of one report.

    Parameters
    ----------
    groups : sequence of str
        The groups after RMK, upper case.
    observed_at : datetime
        Time of the report, aware UTC: the minutes of PK WND and WSHFT count back from it.

    Returns
    -------
    Remarks
        Groups not known here stay verbatim in ``other``. Never raises; time is linear in the text.
    """
    if not groups:
        return NONE
    found: dict[str, Any] = {}
    other: list[str] = []
    i, n = 0, len(groups)
    while i < n:
        group = groups[i]
        start = _start(group)
        used = 0
        if start:
            used = _READERS[start](groups, i, found, observed_at)
        if used:
            i += used
        else:
            other.append(group)
            i += 1
    for name in _LISTS:
        if name in found:
            found[name] = tuple(found[name])
    return Remarks(**found, other=tuple(other))


def _flag(groups: Sequence[str], i: int, found: dict[str, Any], at: datetime) -> int:
    found[_FLAGS[groups[i]]] = True
    return 1


def _peak(groups: Sequence[str], i: int, found: dict[str, Any], at: datetime) -> int:
    if i + 2 >= len(groups) or groups[i + 1] != "WND":
        return 0
    match = _PEAK.fullmatch(groups[i + 2][:_MAX_GROUP])
    if match is None:
        return 0
    direction, speed, hour, minute = match.groups()
    when = _back_from(at, hour, minute)
    if int(direction) > 360 or int(speed) > 199 or when is None:
        return 0
    # Two peaks are never printed; in a corrupt report the stronger one is kept.
    if int(speed) > (found.get("peak_wind_kt") or -1):
        found.update(
            peak_wind_from_deg_true=int(direction) or 360, peak_wind_kt=int(speed), peak_wind_at=when
        )
    return 3


def _shift(groups: Sequence[str], i: int, found: dict[str, Any], at: datetime) -> int:
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


def _wind_data(groups: Sequence[str], i: int, found: dict[str, Any], at: datetime) -> int:
    """WND DATA ESTMD (AFMAN 15-111), and as it is also printed: WND EST, WIND DATA ESTD, EST WND."""
    words = groups[i : i + 3]
    if words[0] in ESTIMATED:
        used = 2 if len(words) > 1 and words[1] in _WIND_WORDS else 0
    elif len(words) > 1 and words[1] in ESTIMATED:
        used = 2
    else:
        used = 3 if len(words) > 2 and words[1] == "DATA" and words[2] in ESTIMATED else 0
    if used:
        found["wind_estimated"] = True
    return used


def _tenths(groups: Sequence[str], i: int, found: dict[str, Any], at: datetime) -> int:
    match = _TENTHS.fullmatch(groups[i])
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


def _sea_level(groups: Sequence[str], i: int, found: dict[str, Any], at: datetime) -> int:
    tenths = int(groups[i][3:])
    # The leading 9 or 10 is not printed; sea-level pressure stays between 950 and 1050.
    found["sea_level_pressure_hpa"] = (9000 + tenths if tenths >= 500 else 10000 + tenths) / 10
    return 1


def _location_end(groups: Sequence[str], i: int) -> int:
    end = i
    while end < len(groups) and end < i + 12:
        word = groups[end]
        if word not in _LOCATION_WORDS and not (len(word) <= 12 and _DIRECTION.fullmatch(word)):
            break
        end += 1
    return end


def _lightning(groups: Sequence[str], i: int, found: dict[str, Any], at: datetime) -> int:
    first = i
    if groups[i] in _FREQUENCY:
        i += 1
        if i >= len(groups) or not (len(groups[i]) <= _MAX_GROUP and _LIGHTNING.fullmatch(groups[i])):
            return 0
    end = _location_end(groups, i + 1)
    words = groups[first:end]
    found.setdefault("lightning", []).append(" ".join(words))
    # "LTG DSNT N AND VC" is near as well: only a group that says nothing but distant is distant.
    distant = "DSNT" in words and "VC" not in words and "OHD" not in words
    found["lightning_distant" if distant else "lightning_near"] = True
    return end - first


def _located(name: str) -> Any:
    def read(groups: Sequence[str], i: int, found: dict[str, Any], at: datetime) -> int:
        end = _location_end(groups, i + 1)
        found.setdefault(name, []).append(" ".join(groups[i:end]))
        return end - i

    return read


def _visibility(groups: Sequence[str], i: int, found: dict[str, Any], at: datetime) -> int:
    """VIS 3/4V1 1/2, VIS 1 3/4V5, VIS 1200V8000; a second site or a sector stays in ``other``."""
    if not any("V" in word for word in groups[i + 1 : i + 3]):
        return 0
    if groups[i + 1] == "VRB":
        return _vrb_visibility(groups, i, found)
    words = [word for word in groups[i + 1 : i + 4] if len(word) <= 12]
    at_v = next((k for k, word in enumerate(words[:2]) if "V" in word), None)
    if at_v is None:
        return 0
    left, _, right = words[at_v].partition("V")
    least, most = _miles([*words[:at_v], left]), _miles([right])
    if least is None or most is None:
        return 0
    used = 2 + at_v
    if at_v + 1 < len(words) and right.isdigit() and "/" in words[at_v + 1]:
        whole_and_part = _miles([right, words[at_v + 1]])
        if whole_and_part is not None:
            most, used = whole_and_part, used + 1
    if least > most:
        return 0
    found["visibility_min_sm"], found["visibility_max_sm"] = least, most
    return used


def _vrb_visibility(groups: Sequence[str], i: int, found: dict[str, Any]) -> int:
    """VIS VRB 1/2-1 1/2, the Canadian form (MANOBS)."""
    words = [word for word in groups[i + 2 : i + 5] if len(word) <= 12]
    at = next((k for k, word in enumerate(words[:2]) if "-" in word), None)
    if at is None:
        return 0
    left, _, right = words[at].partition("-")
    least, most = _miles([*words[:at], left]), _miles([right])
    if least is None or most is None:
        return 0
    used = 3 + at
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


def _ceiling(groups: Sequence[str], i: int, found: dict[str, Any], at: datetime) -> int:
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


def _layer(groups: Sequence[str], i: int, found: dict[str, Any], at: datetime) -> int:
    """SCT014 V BKN: the layer is at times a ceiling (FMH-1, variable sky condition)."""
    match = _VARYING_LAYER.fullmatch(groups[i])
    if match is None or i + 2 >= len(groups) or groups[i + 1] != "V" or groups[i + 2] not in ("BKN", "OVC"):
        return 0
    base = int(match.group(1)) * 100
    found["ceiling_min_ft_agl"] = min(base, found.get("ceiling_min_ft_agl", base))
    return 3


def _funnel(groups: Sequence[str], i: int, found: dict[str, Any], at: datetime) -> int:
    """TORNADO B13 6 NE, FUNNEL CLOUD, WATERSPOUT: also one that has ended, for it was within the hour."""
    end = i + 1
    while end < len(groups) and end < i + 4:
        if groups[end] != "CLOUD" and not _BEGAN_OR_ENDED.fullmatch(groups[end][:6]):
            break
        end += 1
    if end < len(groups) and len(groups[end]) <= 2 and groups[end].isdigit():
        end += 1  # miles away
    end = _location_end(groups, end)
    found.setdefault("funnel_cloud", []).append(" ".join(groups[i:end]))
    return end - i


def storm_phrase(groups: Sequence[str], i: int) -> int:
    """How many groups from ``i`` on are a remark on lightning, thunder, a funnel cloud, CB or TCU; 0 for none."""
    start = _start(groups[i])
    return int(_READERS[start](groups, i, {}, datetime.min)) if start in _STORMS else 0


def _density(groups: Sequence[str], i: int, found: dict[str, Any], at: datetime) -> int:
    if i + 2 >= len(groups) or groups[i + 1] != "ALT":
        return 0
    match = _FEET.fullmatch(groups[i + 2][:9])
    if match is None:
        return 0
    found["density_altitude_ft"] = int(match.group(1))
    return 3


def _thunder_begins(groups: Sequence[str], i: int, found: dict[str, Any], at: datetime) -> int:
    found.setdefault("thunder_location", []).append(groups[i])
    return 1


_READERS: dict[str, Any] = {
    "flag": _flag,
    "PK": _peak,
    "WSHFT": _shift,
    "wind": _wind_data,
    "layer": _layer,
    "funnel": _funnel,
    "VIS": _visibility,
    "CIG": _ceiling,
    "DENSITY": _density,
    "thunder": _located("thunder_location"),
    "thunder begins": _thunder_begins,
    "frequency": _lightning,
    "tenths": _tenths,
    "sea level": _sea_level,
    "lightning": _lightning,
    "cloud": _located("cb_or_tcu"),
}
