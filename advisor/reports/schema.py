"""Decoded reports as plain dictionaries for JSON, schema version 1.

One object a report (winds aloft: one a station). Absent is ``null``, never 0; a list in a forecast period
is ``null`` when the period does not restate it. Times are ISO 8601 ending in Z. Directions
are degrees true, 1 to 360; speeds knots; heights feet. A report that could not be read keeps its place: the
same keys, all ``null`` but ``kind``, ``error`` (a sentence) and ``raw``. New keys may be added within a
version; a key that is renamed, dropped or changes its meaning makes a new version.

METAR::

    schema 1, kind "metar", station, observed_at, report_type METAR|SPECI, automatic, corrected,
    wind {state calm|steady|variable|missing|not_understood, from_deg_true, speed_kt, gust_kt,
          varying_from_deg, varying_to_deg, speed_bound null|at_least, gust_bound null|at_least,
          gust_missing (G//), undirected_kt, undirected_gust_kt (///28G40KT)},
    visibility_sm, visibility_bound null|at_least|less_than,
    ceiling_ft_agl, ceiling_state none|at|unknown,
    sky [{cover FEW|SCT|BKN|OVC|VV or null for slashes, base_ft_agl, cloud_type CB|TCU|null}],
    sky_token CLR|SKC|NSC|NCD|CAVOK|null,
    weather, recent_weather, runway_visual_range, wind_shear, trend [groups as printed],
    temperature_c, dewpoint_c, altimeter_inhg,
    remarks {see ``Remarks``; times ISO}, not_understood [groups as printed], error, raw

TAF::

    schema 1, kind "taf", station, issued_at, valid_from, valid_to, amended, corrected, cancelled, nil,
    periods [{change BASE|FM|BECMG|TEMPO|PROB, probability, from, to, wind, visibility_sm, visibility_bound,
              ceiling_ft_agl, ceiling_state, sky, sky_token, weather, no_significant_weather,
              wind_shear {height_ft_agl, from_deg_true, speed_kt}|null, altimeter_inhg, icing, turbulence,
              not_understood, raw}],
    unreliable_periods [the same, for groups whose own time is damaged: the widest hours they may cover],
    max_temperatures, min_temperatures [{temperature_c, at}], limits_note, not_understood, error, raw

PROB30 TEMPO is change TEMPO with probability 30. ``from``/``to`` of BECMG are its transition.

Winds aloft::

    schema 1, kind "winds-aloft", station, based_on, valid_at, use_from, use_to,
    levels [{height_ft_msl, from_deg_true, speed_kt, speed_bound, temperature_c, light_and_variable}],
    not_understood, error, raw
"""

from __future__ import annotations

from dataclasses import fields
from datetime import UTC, datetime
from typing import Any

from advisor.reports.types import Metar, Remarks, Sky, Taf, TafPeriod, Visibility, WindsAloft
from advisor.wind import Wind

SCHEMA_VERSION = 1
Json = dict[str, Any]
_REMARK_NAMES = tuple(f.name for f in fields(Remarks))
_KEYS = {
    "metar": (
        "station observed_at report_type automatic corrected wind visibility_sm visibility_bound "
        "ceiling_ft_agl ceiling_state sky sky_token weather recent_weather runway_visual_range wind_shear "
        "trend temperature_c dewpoint_c altimeter_inhg remarks not_understood"
    ),
    "taf": (
        "station issued_at valid_from valid_to amended corrected cancelled nil periods unreliable_periods "
        "max_temperatures min_temperatures limits_note not_understood"
    ),
    "winds-aloft": "station based_on valid_at use_from use_to levels not_understood",
    "unknown": "station",
}


def iso(when: datetime | None) -> str | None:
    """A time as ``2026-04-25T17:53:00Z``, or ``None``."""
    if when is None:
        return None
    if when.tzinfo is not UTC:
        when = when.astimezone(UTC)
    return when.isoformat(timespec="seconds")[:19] + "Z"


def error_object(kind: str, raw: str, sentence: str) -> Json:
    """The object that stands for a report that could not be read.

    Parameters
    ----------
    kind : str
        metar, taf, winds-aloft or unknown.
    raw : str
        The text as received.
    sentence : str
        What is wrong, and what to do.
    """
    absent: Json = dict.fromkeys(_KEYS[kind].split())
    return {"schema": SCHEMA_VERSION, "kind": kind} | absent | {"error": sentence, "raw": raw}


def metar_object(metar: Metar) -> Json:
    """One METAR or SPECI. Never raises."""
    return {
        "schema": SCHEMA_VERSION,
        "kind": "metar",
        "station": metar.station,
        "observed_at": iso(metar.observed_at),
        "report_type": metar.kind,
        "automatic": metar.automatic,
        "corrected": metar.corrected,
        "wind": wind_object(metar.wind),
        "visibility_sm": visibility_sm(metar.visibility),
        "visibility_bound": metar.visibility.bound,
        **_sky(metar.sky),
        "weather": metar.weather,
        "recent_weather": metar.recent_weather,
        "runway_visual_range": metar.runway_visual_range,
        "wind_shear": metar.wind_shear,
        "trend": metar.trend,
        "temperature_c": metar.temperature_c,
        "dewpoint_c": metar.dewpoint_c,
        "altimeter_inhg": metar.altimeter_inhg,
        "remarks": _remarks(metar.remarks),
        "not_understood": metar.not_understood,
        "error": None,
        "raw": metar.raw,
    }


def wind_object(wind: Wind) -> Json:
    """One wind group; a state without numbers has them all ``None``. Never raises."""
    return {
        "state": wind.state.value,
        "from_deg_true": wind.from_deg_true,
        "speed_kt": wind.speed_kt,
        "gust_kt": wind.gust_kt,
        "varying_from_deg": wind.varying_from_deg,
        "varying_to_deg": wind.varying_to_deg,
        "speed_bound": wind.speed_bound,
        "gust_bound": wind.gust_bound,
        "gust_missing": wind.gust_missing,
        "undirected_kt": wind.undirected_kt,
        "undirected_gust_kt": wind.undirected_gust_kt,
    }


def visibility_sm(visibility: Visibility) -> float | None:
    """Statute miles: fractions of a mile exactly, metres to two places."""
    miles = visibility.miles
    return miles if miles is None or visibility.raw.endswith("SM") else round(miles, 2)


def _sky(sky: Sky) -> Json:
    return {
        "ceiling_ft_agl": sky.ceiling_ft_agl,
        "ceiling_state": sky.ceiling_state.value,
        "sky": [
            {
                "cover": None if layer.cover == "///" else layer.cover,
                "base_ft_agl": layer.base_ft_agl,
                "cloud_type": layer.cloud_type,
            }
            for layer in sky.layers
        ],
        "sky_token": sky.token,
    }


def _remarks(remarks: Remarks) -> Json:
    found: Json = {name: getattr(remarks, name) for name in _REMARK_NAMES}
    for name in ("peak_wind_at", "wind_shift_at"):
        found[name] = iso(found[name])
    for name in ("visibility_min_sm", "visibility_max_sm"):
        if found[name] is not None:
            found[name] = round(found[name], 4)
    return found


def taf_object(taf: Taf) -> Json:
    """One forecast; what a period does not restate is ``None``. Never raises."""
    return {
        "schema": SCHEMA_VERSION,
        "kind": "taf",
        "station": taf.station,
        "issued_at": iso(taf.issued_at),
        "valid_from": iso(taf.valid_from),
        "valid_to": iso(taf.valid_to),
        "amended": taf.amended,
        "corrected": taf.corrected,
        "cancelled": taf.cancelled,
        "nil": taf.nil,
        "periods": [_period(period) for period in taf.periods],
        "unreliable_periods": [_period(period) for period in taf.unreliable],
        "max_temperatures": [{"temperature_c": t, "at": iso(at)} for t, at in taf.max_temperatures],
        "min_temperatures": [{"temperature_c": t, "at": iso(at)} for t, at in taf.min_temperatures],
        "limits_note": taf.limits_note,
        "not_understood": taf.not_understood,
        "error": None,
        "raw": taf.raw,
    }


def _period(period: TafPeriod) -> Json:
    absent_sky = {"ceiling_ft_agl": None, "ceiling_state": None, "sky": None, "sky_token": None}
    shear = period.wind_shear
    return {
        "change": period.change,
        "probability": period.probability,
        "from": iso(period.start),
        "to": iso(period.end),
        "wind": None if period.wind is None else wind_object(period.wind),
        "visibility_sm": None if period.visibility is None else visibility_sm(period.visibility),
        "visibility_bound": None if period.visibility is None else period.visibility.bound,
        **(absent_sky if period.sky is None else _sky(period.sky)),
        "weather": period.weather,
        "no_significant_weather": period.no_significant_weather,
        "wind_shear": None
        if shear is None
        else {
            "height_ft_agl": shear.height_ft_agl,
            "from_deg_true": shear.from_deg_true,
            "speed_kt": shear.speed_kt,
        },
        "altimeter_inhg": period.altimeter_inhg,
        "icing": period.icing,
        "turbulence": period.turbulence,
        "not_understood": period.not_understood,
        "raw": period.raw,
    }


def aloft_object(aloft: WindsAloft) -> Json:
    """One station of a winds-aloft bulletin. Never raises."""
    return {
        "schema": SCHEMA_VERSION,
        "kind": "winds-aloft",
        "station": aloft.station,
        "based_on": iso(aloft.based_on),
        "valid_at": iso(aloft.valid_at),
        "use_from": iso(aloft.use_from),
        "use_to": iso(aloft.use_to),
        "levels": [
            {
                "height_ft_msl": level.height_ft_msl,
                "from_deg_true": level.from_deg_true,
                "speed_kt": level.speed_kt,
                "speed_bound": level.speed_bound,
                "temperature_c": level.temperature_c,
                "light_and_variable": level.light_and_variable,
            }
            for level in aloft.levels
        ],
        "not_understood": aloft.not_understood,
        "error": None,
        "raw": aloft.raw,
    }
