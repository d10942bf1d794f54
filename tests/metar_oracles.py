"""Two other decoders of METARs, their readings in our words, and where those differ from ours."""

from __future__ import annotations

import re
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from advisor.reports.types import Metar
from advisor.wind import WindState

# @@
_TO_KT = {"KT": 1.0, "KTS": 1.0, "MPS": 3600 / 1852, "KM/H": 1 / 1.852, "kt": 1.0, "m/s": 3600 / 1852}
_TO_KT["km/h"] = 1 / 1.852
#: (from, mean, gust) in whole knots; from is "VRB", or None when calm.
Wind = tuple[Any, int, int | None]


@dataclass(frozen=True)
class Reading:
    """The three fields compared, ``None`` where a decoder gives nothing."""

    wind: Wind | None
    visibility_sm: float | None
    ceiling_ft: int | None


def ours_as_reading(metar: Metar) -> Reading:
    wind = metar.wind
    direction = "VRB" if wind.state is WindState.VARIABLE else wind.from_deg_true
    return Reading(
        (direction, wind.speed_kt, wind.gust_kt) if wind.speed_kt is not None else None,
        metar.visibility.miles,
        metar.sky.ceiling_ft_agl,
    )


def _knots(value: float | None, unit: str) -> int | None:
    return None if value is None else int(value * _TO_KT[unit] + 0.5)


def mivek(raw: str, when: datetime) -> Reading | None:
    from metar_taf_parser.parser.parser import MetarParser

    try:
        read = MetarParser().parse(raw)
    except Exception:  # it raises what it likes
        return None
    wind = None
    if read.wind is not None and read.wind.speed is not None:
        unit = str(read.wind.unit)
        direction = "VRB" if read.wind.degrees is None else read.wind.degrees
        mean = _knots(read.wind.speed, unit) or 0
        wind = (None if mean == 0 and direction == 0 else direction, mean, _knots(read.wind.gust, unit))
    miles = None
    if read.visibility is not None:
        figure = _miles((read.visibility.distance or "").strip(" >"))
        if figure is not None:
            metric = str(read.visibility.unit) == "M"
            if metric and read.visibility.min_distance is not None:
                figure = min(figure, read.visibility.min_distance)
            miles = figure / 1609.344 if metric else figure
    heights = [
        cloud.height for cloud in read.clouds if cloud.quantity.name in ("BKN", "OVC") and cloud.height is not None
    ]
    if read.vertical_visibility is not None:
        heights.append(read.vertical_visibility)
    return Reading(wind, miles, min(heights, default=None))


def _miles(text: str) -> float | None:
    match = re.fullmatch(r"[PM]?(?:(\d+) )?(\d+)(?:/(\d+))?(?:km|m|M|SM)?", text)
    if match is None or match[3] == "0":
        return None
    return int(match[1] or 0) + int(match[2]) / int(match[3] or 1)


def avwx(raw: str, when: datetime) -> Reading | None:
    from avwx.current import metar as parser

    station = next(x for x in raw.split() if x not in ("METAR", "SPECI", "COR"))
    if station.startswith("X"):  # made up: it knows no units for it
        real = "KEWR" if "SM " in raw else "EGLL"
        raw, station = raw.replace(station, real), real
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            read, units, _ = parser.parse(station, raw, issued=when.date())
    except Exception:  # it raises what it likes
        return None
    if read is None or units is None:
        return None
    wind = None
    if read.wind_speed is not None and read.wind_speed.value is not None:
        direction = read.wind_direction
        where: Any = None if direction is None else "VRB" if direction.repr == "VRB" else direction.value
        mean = _knots(read.wind_speed.value, units.wind_speed) or 0
        gust = None if read.wind_gust is None else _knots(read.wind_gust.value, units.wind_speed)
        wind = (None if mean == 0 and where == 0 else where, mean, gust)
    miles = None
    if read.visibility is not None and read.visibility.value is not None:
        miles = float(read.visibility.value)
        if units.visibility == "m":
            miles = (10_000 if miles == 9999 else miles) / 1609.344
    heights = [
        cloud.base * 100 for cloud in read.clouds if cloud.type in ("BKN", "OVC", "VV") and cloud.base is not None
    ]
    return Reading(wind, miles, min(heights, default=None))


ORACLES: dict[str, Callable[[str, datetime], Reading | None]] = {"mivek": mivek, "avwx": avwx}


def disagreements(metar: Metar, theirs: Reading) -> list[str]:
    """Names of the fields the two do not agree on."""
    ours = ours_as_reading(metar)
    found = []
    if ours.wind != theirs.wind:
        found.append("wind")
    a, b = ours.visibility_sm, theirs.visibility_sm
    if (a is None) != (b is None) or (a is not None and b is not None and abs(a - b) > 0.02):
        found.append("visibility")
    if ours.ceiling_ft != theirs.ceiling_ft:
        found.append("ceiling")
    return found
