"""Elements of one forecast change group: wind, visibility, sky, weather, shear, pressure, temperatures.

A group that is printed twice with different values is not understood, never "the last one wins". Six-digit
icing (6.....) and turbulence (5.....) groups are read before anything else could take them for a wind.
Sources: the NWS/FAA key to METAR and TAF, WMO No. 306 FM 51, US military forecast code (QNHddddINS, 5- and
6-groups).
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import field
from functools import lru_cache
from typing import Any

from advisor.patterns import pattern
from advisor.records import dataclass
from advisor.reports.metar_groups import HIGHEST_INHG, HPA_PER_INHG, LOWEST_INHG
from advisor.reports.named import contradicts_fog, named_cloud, named_weather
from advisor.reports.tokens import (
    CLEAR_TOKENS,
    UNREADABLE_SKY,
    is_weather,
    looks_like_sky,
    looks_like_visibility,
    parse_sky_group,
    parse_visibility,
    sky_from_groups,
)
from advisor.reports.types import Sky, SkyLayer, Visibility, WindShear
from advisor.reports.wind_tokens import is_varying, is_wind, looks_like_wind, parse_wind, with_varying
from advisor.wind import Wind, WindState

_SHEAR = pattern(r"WS(\d{3})/(\d{3})(\d{2,3}KT|\d{2,3}MPS|\d{2,3}KMH)", re.ASCII)
_QNH_INCHES = pattern(r"(?:QNH(\d{4})INS|A(\d{4}))", re.ASCII)
_QNH_HPA = pattern(r"QN?H?(\d{4})(?:HPA)?", re.ASCII)
_SIX_DIGITS = pattern(r"[56]\d{5}", re.ASCII)
_TEMPERATURE = pattern(r"T([XN])(M?)(\d{2})/(\d{2})(\d{2})Z?", re.ASCII)
_FORECASTER = pattern(r"F[NS]\d{5}", re.ASCII)
_TEMPERATURE_LIST = pattern(r"M?\d{2}", re.ASCII)
_PRESSURE_LIST = pattern(r"\d{4}", re.ASCII)
_HEIGHT = pattern(r"\d{4,5}FT", re.ASCII)
_MAX_TOKEN = 24
_RAW_CAP = 60  # a contradiction is quoted, not copied whole

# What one token is. WHOLE is a whole number that may begin "1 1/2SM".
WIND, VISIBILITY, WHOLE, SKY, WEATHER, NSW, SHEAR, QNH = range(8)
ICING, TURBULENCE, TEMPERATURE, NOTHING, UNKNOWN = range(8, 13)


@dataclass(slots=True)
class Elements:
    """What one change group printed; ``None`` where it printed nothing of that kind."""

    wind: Wind | None = None
    visibility: Visibility | None = None
    sky: Sky | None = None
    weather: tuple[str, ...] | None = None
    no_significant_weather: bool = False
    wind_shear: WindShear | None = None
    altimeter_inhg: float | None = None
    icing: list[str] = field(default_factory=list)
    turbulence: list[str] = field(default_factory=list)
    temperatures: list[tuple[str, float, int, int]] = field(default_factory=list)  # X or N, C, day, hour
    not_understood: list[str] = field(default_factory=list)


def classify(token: str) -> tuple[int, Any]:
    """Kind and value of one token. Never raises."""
    return _classify(token) if len(token) <= _MAX_TOKEN else (UNKNOWN, None)


@lru_cache(maxsize=8192)
def _classify(token: str) -> tuple[int, Any]:
    if is_wind(token):
        return WIND, parse_wind(token)
    if is_weather(token):
        return WEATHER, (token,)
    if token in CLEAR_TOKENS:
        return SKY, token
    if (layer := parse_sky_group(token)) is not None:
        return SKY, layer
    if token == "NSW":
        return NSW, None
    if token.startswith("WS"):
        return _shear(token)
    if _SIX_DIGITS.fullmatch(token):
        return (TURBULENCE if token[0] == "5" else ICING), token
    visibility, used = parse_visibility((token,), 0)
    if used:
        return VISIBILITY, visibility
    if len(token) <= 3 and token.isascii() and token.isdigit():
        return WHOLE, None
    if (match := _TEMPERATURE.fullmatch(token)) is not None:
        which, minus, degrees, day, hour = match.groups()
        return TEMPERATURE, (which, -float(degrees) if minus else float(degrees), int(day), int(hour))
    if (pressure := _pressure(token)) is not None:
        return QNH, pressure
    if _FORECASTER.fullmatch(token):
        return NOTHING, None
    if "/" in token:
        parts = token.split("/")  # HZ/-RA: both are forecast
        if all(is_weather(part) for part in parts):
            return WEATHER, tuple(parts)
    return UNKNOWN, None


def _shear(token: str) -> tuple[int, Any]:
    match = _SHEAR.fullmatch(token)
    if match is None:
        return UNKNOWN, None
    wind = parse_wind(match.group(2) + match.group(3))
    if wind.state is not WindState.STEADY or wind.from_deg_true is None or wind.speed_kt is None:
        return UNKNOWN, None
    return SHEAR, WindShear(int(match.group(1)) * 100, wind.from_deg_true, wind.speed_kt)


def _pressure(token: str) -> float | None:
    if (match := _QNH_INCHES.fullmatch(token)) is not None:
        inches = int(match.group(1) or match.group(2)) / 100.0
    elif (match := _QNH_HPA.fullmatch(token)) is not None:
        inches = int(match.group(1)) / HPA_PER_INHG
    else:
        return None
    return round(inches, 2) if LOWEST_INHG <= inches <= HIGHEST_INHG else None


def read_elements(tokens: Sequence[str]) -> Elements:
    """Elements of one change group.

    Parameters
    ----------
    tokens : sequence of str
        The group without its change word and time, notes taken out.

    Returns
    -------
    Elements
        Every token is in it, understood or listed. Contradicting winds, visibilities or shears leave that
        element not understood. Never raises.
    """
    out = Elements()
    sky: list[SkyLayer | str] = []
    weather: dict[str, None] = {}  # in printed order, each once
    winds: list[Wind] = []
    unknown = out.not_understood
    i, n = 0, len(tokens)
    while i < n:
        token = tokens[i]
        kind, value = classify(token)
        i += 1
        if kind == WIND:
            winds.append(value)
            if value.state is WindState.NOT_UNDERSTOOD:
                unknown.append(token)
        elif kind == SKY:
            sky.append(value)
        elif kind in (VISIBILITY, WHOLE) or (kind == UNKNOWN and i < n and tokens[i] == "SM"):
            # the next token may belong to it: "1 1/2SM", "4000 1500NE"
            value, used = parse_visibility(tokens, i - 1)
            if used == 0:
                unknown.append(token)
                continue
            i += used - 1
            _add_visibility(out, value)
            if token == "CAVOK":
                sky.append(token)
        elif kind == WEATHER:
            weather.update(dict.fromkeys(value))
        elif kind == NSW:
            out.no_significant_weather = True
        elif kind == SHEAR:
            if out.wind_shear is not None and out.wind_shear != value:
                unknown.append(token)  # two shears: keep the stronger, say that there was another
                value = max(out.wind_shear, value, key=lambda shear: shear.speed_kt)
            out.wind_shear = value
        elif kind == QNH:
            if out.altimeter_inhg is not None and out.altimeter_inhg != value:
                unknown.append(token)
            out.altimeter_inhg = value if out.altimeter_inhg is None else min(out.altimeter_inhg, value)
        elif kind == ICING:
            out.icing.append(value)
        elif kind == TURBULENCE:
            out.turbulence.append(value)
        elif kind == TEMPERATURE:
            out.temperatures.append(value)
        elif kind == UNKNOWN:
            if (used := _of_elsewhere(tokens, i - 1)) > 0:
                unknown.append(" ".join(tokens[i - 1 : i - 1 + used]))
                i += used - 1
            elif token == "WND" and i < n and _add_varying(winds, tokens[i]):
                i += 1
            elif _add_varying(winds, token):
                pass
            else:
                unknown.append(token)
                said = named_weather(token)
                if said is not None:
                    weather[said] = None
                _doubt(out, token, first=i == 1, winds=winds, sky=sky)
    if out.visibility is not None and contradicts_fog(out.visibility, tuple(weather)):
        unknown.append(out.visibility.raw)
        out.visibility = Visibility(raw=out.visibility.raw)
    if winds:
        out.wind = _one_wind(winds, unknown)
    if sky:
        out.sky = _one_sky(sky, unknown)
    if weather:
        out.weather = tuple(weather)
        if out.no_significant_weather:  # "no significant weather" beside weather: the weather counts
            out.no_significant_weather = False
            unknown.append("NSW")
    return out


def number_list(tokens: Sequence[str], i: int) -> int:
    """Length of an Australian ``T 15 18 21`` or ``Q 1013 1012`` list, its letter included."""
    pattern = _TEMPERATURE_LIST if tokens[i] == "T" else _PRESSURE_LIST
    used = 1
    while i + used < len(tokens) and used < 9 and pattern.fullmatch(tokens[i + used]):
        used += 1
    return used


def _of_elsewhere(tokens: Sequence[str], i: int) -> int:
    """Length of ``2000FT WIND 26020KT`` or ``QNH MNM 1009 MAX 1015`` (New Zealand), 0 for anything else.

    Neither the wind at a height nor the pressures may be taken for the wind and the visibility at the field.
    """
    following = tokens[i + 1 : i + 3]
    if len(following) < 2:
        return 0
    if following[0] == "WIND" and _HEIGHT.fullmatch(tokens[i]) and is_wind(following[1]):
        return 3
    used = 1
    while (
        tokens[i] == "QNH"
        and i + used + 1 < len(tokens)
        and tokens[i + used] in ("MNM", "MAX")
        and _PRESSURE_LIST.fullmatch(tokens[i + used + 1])
    ):
        used += 2
    return used if used > 1 else 0


def _add_varying(winds: list[Wind], token: str) -> bool:
    """Give the last wind the ends of dddVddd, once; False when the token is nothing of the kind."""
    if not winds or winds[-1].varying_from_deg is not None or not is_varying(token):
        return False
    wind = with_varying(winds[-1], token)
    if wind is None:
        return False
    winds[-1] = wind
    return True


def _add_visibility(out: Elements, value: Visibility) -> None:
    before = out.visibility
    if value.miles is None and value.raw.strip("/SMNDV"):
        out.not_understood.append(value.raw)
    if before is None:
        out.visibility = value
    elif (before.miles, before.bound) != (value.miles, value.bound):
        out.visibility = Visibility(raw=f"{before.raw} {value.raw}"[:_RAW_CAP])
        out.not_understood.append(value.raw)


def _doubt(out: Elements, token: str, *, first: bool, winds: list[Wind], sky: list[SkyLayer | str]) -> None:
    """An unreadable token makes the element it tried to be not understood, not absent."""
    if token.startswith("WS"):
        return
    bare = token.isascii() and token.isdigit()
    digits = any("0" <= letter <= "9" for letter in token)
    if (
        looks_like_wind(token)
        or (first and digits and (bare or not looks_like_sky(token)))
        or (bare and len(token) == 5 and not winds)  # 24015: a wind that lost its unit
    ):
        winds.append(Wind(WindState.NOT_UNDERSTOOD, raw=token[:_MAX_TOKEN]))
    elif looks_like_sky(token):
        sky.append(UNREADABLE_SKY)
        cloud = named_cloud(token)
        if cloud is not None:
            sky.append(cloud)
    elif token in ("CB", "TCU"):
        sky.append(SkyLayer("///", None, token))
    elif looks_like_visibility(token):
        before = "" if out.visibility is None else f"{out.visibility.raw} "
        out.visibility = Visibility(raw=f"{before}{token}"[:_RAW_CAP])


def _one_wind(winds: list[Wind], unknown: list[str]) -> Wind:
    first = winds[0]
    if len(winds) == 1 or all(wind == first for wind in winds):
        return first
    # The later ones are listed too; an unreadable one already is.
    unknown.extend(wind.raw for wind in winds[1:] if wind.state is not WindState.NOT_UNDERSTOOD)
    return Wind(WindState.NOT_UNDERSTOOD, raw=" ".join(wind.raw for wind in winds[:4]))


def _one_sky(sky: list[SkyLayer | str], unknown: list[str]) -> Sky:
    words = [group for group in sky if isinstance(group, str) and group != UNREADABLE_SKY]
    if words and any(isinstance(group, SkyLayer) and group.cover != "///" for group in sky):
        # A clear-sky word beside layers contradicts them: the layers count.
        unknown.extend(words)
        sky = [group for group in sky if not isinstance(group, str) or group == UNREADABLE_SKY]
    return sky_from_groups(sky)
