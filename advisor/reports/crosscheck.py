"""Comparing the service's JSON fields with our own reading of the raw text in the same record.

The raw text is what counts. A disagreement is a reason to look, never a reason to change a value.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from advisor.reports.answers import number, row_time
from advisor.reports.identity import METAR, clean
from advisor.reports.types import Metar
from advisor.wind import WindState


def cross_check(record: Mapping[str, Any], metar: Metar) -> list[str]:
    """Where a JSON record and our decode of its raw text differ, one sentence each.

    A key the record lacks (or gives as null) says nothing and is not compared. Never raises.

    Parameters
    ----------
    record : mapping
        One object of the service's METAR answer.
    metar : Metar
        Our decode of its ``rawOb``.
    """
    from advisor.units import HPA_PER_INHG  # here, because it brings numpy and fetching does not need it

    found: list[str] = []

    def differ(field: str, theirs: object, ours: object) -> None:
        found.append(
            f"{metar.station} {field}: the service's table says {clean(str(theirs))[:40]}, the report "
            f"itself reads {'nothing' if ours is None else ours}; the report counts."
        )

    if record.get("icaoId") not in (None, "", metar.station):
        differ("station", record["icaoId"], metar.station)
    stamp = row_time(record, METAR)
    if stamp is not None and stamp != metar.observed_at:
        differ("time", f"{stamp:%d %H%M}Z", f"{metar.observed_at:%d %H%M}Z")
    _wind(record, metar, differ)
    _visibility(record, metar, differ)
    # Whole degrees in the body against tenths in the remark round apart by up to half a degree.
    for key, field, ours in (
        ("temp", "temperature C", metar.temperature_c),
        ("dewp", "dew point C", metar.dewpoint_c),
    ):
        theirs = number(record.get(key))
        if theirs is not None and (ours is None or abs(theirs - ours) > 0.51):
            differ(field, record[key], ours)
    pressure = number(record.get("altim"))
    if pressure is not None:
        ours_hpa = None if metar.altimeter_inhg is None else metar.altimeter_inhg * HPA_PER_INHG
        if ours_hpa is None or abs(pressure - ours_hpa) > 0.6:
            differ("altimeter hPa", record["altim"], None if ours_hpa is None else f"{ours_hpa:.1f}")
    _sky(record, metar, differ)
    weather = record.get("wxString")
    if isinstance(weather, str) and sorted(weather.split()) != sorted(metar.weather):
        differ("weather", weather, " ".join(metar.weather) or None)
    return found


def _wind(record: Mapping[str, Any], metar: Metar, differ: Any) -> None:
    wind = metar.wind
    speed, gust, direction = number(record.get("wspd")), number(record.get("wgst")), record.get("wdir")
    # Metres a second are rounded to knots by both sides, not always alike.
    slack = 0 if wind.raw.endswith("KT") else 1
    if speed is not None and (wind.speed_kt is None or abs(speed - wind.speed_kt) > slack):
        differ("wind speed kt", record["wspd"], wind.speed_kt)
    if gust is not None and gust > 0 and (wind.gust_kt is None or abs(gust - wind.gust_kt) > slack):
        differ("gust kt", record["wgst"], wind.gust_kt)
    if "wgst" not in record and speed is not None and wind.gust_kt is not None:
        differ("gust kt", "no gust", wind.gust_kt)
    if direction is None:
        return
    if wind.state is WindState.VARIABLE:
        agrees = direction == "VRB"
    elif wind.state is WindState.CALM:
        agrees = number(direction) == 0
    else:
        agrees = wind.from_deg_true is not None and number(direction) in (
            wind.from_deg_true,
            wind.from_deg_true % 360,
        )
    if not agrees:
        differ("wind direction", direction, wind.from_deg_true or wind.state.value)


def _visibility(record: Mapping[str, Any], metar: Metar, differ: Any) -> None:
    theirs, ours = record.get("visib"), metar.visibility.miles
    if theirs is None:
        return
    if isinstance(theirs, str) and theirs.endswith("+"):
        floor = number(theirs[:-1])
        if floor is not None and (ours is None or ours < floor - 0.01):
            differ("visibility SM", theirs, ours)
        return
    miles = number(theirs)
    if miles is not None and (ours is None or abs(miles - ours) > max(0.02, 0.02 * miles)):
        differ("visibility SM", theirs, ours)


def _sky(record: Mapping[str, Any], metar: Metar, differ: Any) -> None:
    clouds = record.get("clouds")
    if not isinstance(clouds, list):
        return
    theirs = sorted(
        (str(c.get("cover")), int(base))
        for c in clouds
        if isinstance(c, dict) and (base := number(c.get("base"))) is not None
    )
    ours = sorted(
        ("OVX" if layer.cover == "VV" else layer.cover, layer.base_ft_agl)
        for layer in metar.sky.layers
        if layer.base_ft_agl is not None
    )
    if [c for c in theirs if c[0] != "OVX"] != [c for c in ours if c[0] != "OVX"]:
        differ("cloud", theirs, ours or None)
    height = number(record.get("vertVis"))
    obscured = [layer.base_ft_agl for layer in metar.sky.layers if layer.cover == "VV"]
    if height is not None and obscured != [int(height)]:
        differ("vertical visibility ft", record["vertVis"], obscured or None)
