"""Names the kind of each group in a METAR body, and says where the body ends.

A group is judged on its own, so one that is bad never takes its neighbours with it.
Source: the NWS/FAA key to METAR, WMO No. 306 FM 15, and regional groups seen in real reports.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Any

from advisor.patterns import pattern
from advisor.reports.tokens import is_weather, looks_like_sky, looks_like_visibility, parse_sky_group
from advisor.reports.wind_tokens import is_varying, is_wind, looks_like_wind

# Kinds, as small integers: the walk over a body compares them a dozen times a report.
(
    UNKNOWN,
    WIND,
    BAD_WIND,
    VARYING,
    VISIBILITY,
    NUMBER,
    BAD_VISIBILITY,
    SKY,
    BAD_SKY,
    WEATHER,
    RECENT,
    TEMPERATURE,
    PRESSURE,
    RVR,
    AUTO,
    COR,
    SLASHES,
    ABSENT,
    OTHER,
    WIND_SHEAR,
    TREND,
    REMARK,
    REMARK_WORD,
) = range(23)

_TEMPERATURE = pattern(r"(?:(M?\d{1,2})|//|XX|MM|M)/(?:(M?\d{1,2})|//|XX|MM|M)?", re.ASCII)
_PRESSURE = pattern(r"([AQ])(\d{4})|QNH(\d{4})(INS)?|[AQ](?:////)?|QNH////(?:INS)?", re.ASCII)
_RVR = pattern(r"R\d\d[LCR]{0,2}/[PM]?(?:\d{4}|////)(?:V[PM]?\d{4})?(?:FT)?/?[UDN/]?|RVRNO", re.ASCII)
# Runway state (R29/60D, R88/D, 8 digits), sea state, rainfall: understood, no part in a lesson.
_OTHER = pattern(
    r"R\d\d[LCR]{0,2}//?[0-9/D]{1,6}|R\d\d[LCR]{0,2}/CLRD(?:\d\d|//)?|R/{5,7}"
    r"|\d\d(?:CLRD|[0-9/]{4})(?:\d\d|//)"
    r"|W(?:M?\d\d|//)/[SH][0-9/]{1,3}|RF\d\d\.\d/\d{3}\.\d|RF//\.?/?[/.]*",
    re.ASCII,
)
_COLOURS = pattern(r"(?:BLACK)?(?:BLU|WHT|GRN|YLO[12]?|AMB|RED)\+?(?:/?(?:BLU|WHT|GRN|YLO[12]?|AMB|RED)\+?)?")
_AMOUNTS = frozenset({"FEW", "SCT", "BKN", "OVC"})
_TREND = pattern(r"TEMPO|BECMG|NOSIG(?:[:/.][A-Z]{0,15})?|INTER|PROB[34]0|FM\d{4}(?:\d\d)?", re.ASCII)
_REMARK_WORD = pattern(r"A[O0][12]A?|TSNO|PWINO|FZRANO|SLPNO|SLP\d{3}|T[01]\d{3}[01]\d{3}|\$", re.ASCII)
_CORRECTION = pattern(r"COR|CORR|CC[A-Z]|RTD")


@lru_cache(maxsize=16384)
def classify(token: str) -> tuple[int, Any]:
    """Kind of one group and what it holds.

    Returns
    -------
    (int, object)
        One of this module's kinds; for SKY the parsed layer or word, for TEMPERATURE a pair of whole degrees
        C or ``None``, for PRESSURE inches of mercury or ``None``; else ``None``. Never raises.
    """
    if len(token) > 24:
        return UNKNOWN, None
    # The four kinds that differ from report to report first, by their shape: most new groups are of these.
    if token[-2:] == "KT" and is_wind(token):
        return WIND, None
    if token[:3] in _AMOUNTS:
        layer = parse_sky_group(token)
        if layer is not None:
            return SKY, layer
    if len(token) <= 7 and "/" in token:
        match = _TEMPERATURE.fullmatch(token)
        if match is not None and token.strip("/"):
            return TEMPERATURE, (_celsius(match.group(1)), _celsius(match.group(2)))
    if len(token) == 5 and token[0] in "AQ":
        match = _PRESSURE.fullmatch(token)
        if match is not None:
            return PRESSURE, _inches(match)
    if is_wind(token):
        return WIND, None
    if is_varying(token):
        return VARYING, None
    if not token.strip("/"):
        return SLASHES, None
    if is_weather(token) or ("/" in token and all(map(is_weather, token.split("/")))):
        return WEATHER, None
    for test in (_sky, _numbers, _words):
        found = test(token)
        if found is not None:
            return found
    if looks_like_sky(token):
        return BAD_SKY, None
    if looks_like_wind(token):
        return BAD_WIND, None
    if looks_like_visibility(token):
        return BAD_VISIBILITY, None
    return UNKNOWN, None


def _sky(token: str) -> tuple[int, Any] | None:
    group = parse_sky_group(token)
    return None if group is None else (SKY, group)


def _numbers(token: str) -> tuple[int, Any] | None:
    if _is_visibility(token):
        return VISIBILITY, None
    if len(token) <= 2 and token.isdigit():
        return NUMBER, None
    match = _PRESSURE.fullmatch(token)
    if match is not None:
        return PRESSURE, _inches(match)
    if _RVR.fullmatch(token):
        return RVR, None
    if _OTHER.fullmatch(token):
        return OTHER, None
    return None


def _words(token: str) -> tuple[int, Any] | None:
    if token.startswith("RMK"):
        return REMARK, token[3:].lstrip("S:/.")
    if _TREND.fullmatch(token):
        return TREND, None
    if token == "AUTO":
        return AUTO, None
    if _CORRECTION.fullmatch(token):
        return COR, None
    if token == "WS":
        return WIND_SHEAR, None
    if token in ("M", "MM", "/M", "M/", "XX"):
        return ABSENT, None
    if _REMARK_WORD.fullmatch(token):
        return REMARK_WORD, None
    if _COLOURS.fullmatch(token):
        return OTHER, None
    if token.startswith("RE") and len(token) > 3 and (is_weather(token[2:]) or token == "RE//"):
        return RECENT, None
    return None


_FULL_VISIBILITY = pattern(
    r"CAVOK|(?:[PM]?\d{4})(?:NDV|[NS][EW]?|[EW])?|[PM]?\d{1,3}(?:/\d{1,2})?SM|\d{1,3}KM|////(?:SM|NDV)|///?SM",
    re.ASCII,
)


def _is_visibility(token: str) -> bool:
    return _FULL_VISIBILITY.fullmatch(token) is not None


def _celsius(text: str | None) -> int | None:
    if text is None:
        return None
    return -int(text[1:]) if text[0] == "M" else int(text)


#: Records at sea level lie between 870 and 1085 hPa; a reduced pressure outside this is a misprint.
LOWEST_INHG, HIGHEST_INHG = 25.0, 32.04
HPA_PER_INHG = 33.8638866667  # as units.py, which would pull numpy in; a test holds them together


def _inches(match: re.Match[str]) -> float | str | None:
    letter, digits, qnh, inches = match.groups()
    if qnh is not None:
        letter, digits = ("A" if inches else "Q"), qnh
    if digits is None:
        return None if "/" in match.group() else "bad"
    value = int(digits) / 100 if letter == "A" else int(digits) / HPA_PER_INHG
    return value if LOWEST_INHG <= value <= HIGHEST_INHG else "bad"
