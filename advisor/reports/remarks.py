"""The remark groups of a METAR that matter for training, read by our own patterns.

Remarks are free text, and a careless pattern can hang on them. Here the text is cut into groups once, each
group is looked at once, and no pattern is applied to more than one short group, so time grows in proportion
to length. The walk and the storms are here; figures are read in ``remark_values``. Source: the NWS/FAA key to
METAR remarks; AFMAN 15-111 for the metric forms.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import datetime
from functools import lru_cache
from typing import Any

from advisor.patterns import pattern
from advisor.reports.remark_values import (
    ESTIMATED,
    LONGEST_GROUP,
    SEA_LEVEL,
    TENTHS,
    VARYING_LAYER,
    WIND_WORDS,
    read_ceiling,
    read_density_altitude,
    read_estimated_wind,
    read_layer,
    read_peak_wind,
    read_sea_level,
    read_tenths,
    read_visibility,
    read_wind_shift,
)
from advisor.reports.types import Remarks

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
_DIRECTION = pattern(r"[NSEW]{1,3}(?:[-/][NSEW]{1,3}){0,3},?")
_LOCATION_WORDS = frozenset(
    {"OHD", "VC", "DSNT", "AND", "ALQDS", "ALQS", "MOV", "MOVD", "MOVG", "THRU", "TO", "STNRY", "UNKN", "LTL"}
)
_FREQUENCY = frozenset({"OCNL", "FRQ", "CONS", "CNTNS"})
_FLAGS = {
    "TSNO": "no_thunder_sensor",
    "PWINO": "no_present_weather_sensor",
    "FZRANO": "no_freezing_rain_sensor",
    "$": "maintenance_needed",
    "VIRGA": "virga",
}
_LISTS = ("lightning", "thunder_location", "cb_or_tcu", "funnel_cloud")
_STORMS = frozenset({"frequency", "lightning", "thunder begins", "cloud", "funnel"})
NONE = Remarks()


@lru_cache(maxsize=16384)
def _start(group: str) -> str:
    """Which reader a group calls for; empty for a group that starts nothing we read."""
    if len(group) > LONGEST_GROUP:
        return ""
    if group[0].isdigit():
        return "cloud" if group[1:2] in ("C", "T", "/") and _CLOUD.fullmatch(group) else ""
    if group[0] == "T" and group[1:2] in ("0", "1"):
        return "tenths" if TENTHS.fullmatch(group) else ""
    if group[:3] == "SLP":
        return "sea level" if SEA_LEVEL.fullmatch(group) else ""
    if group in _FLAGS:
        return "flag"
    if group in ("PK", "WSHFT", "VIS", "CIG", "DENSITY", "TS", "VCTS"):
        return "thunder" if group.endswith("TS") else group
    if group in WIND_WORDS or group in ESTIMATED:
        return "wind"
    if group in _FUNNEL_WORDS:
        return "funnel"
    if VARYING_LAYER.fullmatch(group):
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
        if i >= len(groups) or not (len(groups[i]) <= LONGEST_GROUP and _LIGHTNING.fullmatch(groups[i])):
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


def _thunder_begins(groups: Sequence[str], i: int, found: dict[str, Any], at: datetime) -> int:
    found.setdefault("thunder_location", []).append(groups[i])
    return 1


_READERS: dict[str, Any] = {
    "flag": _flag,
    "PK": read_peak_wind,
    "WSHFT": read_wind_shift,
    "wind": read_estimated_wind,
    "layer": read_layer,
    "funnel": _funnel,
    "VIS": read_visibility,
    "CIG": read_ceiling,
    "DENSITY": read_density_altitude,
    "thunder": _located("thunder_location"),
    "thunder begins": _thunder_begins,
    "frequency": _lightning,
    "tenths": read_tenths,
    "sea level": read_sea_level,
    "lightning": _lightning,
    "cloud": _located("cb_or_tcu"),
}
