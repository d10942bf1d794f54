"""Rules about the reports themselves: age, disagreement, borrowing, what could not be read."""

from __future__ import annotations

import numpy as np

from advisor.clock import age_words
from advisor.limits import SLACK
from advisor.rules.context import Context
from advisor.rules.registry import Array, Level, rule
from advisor.table import Layer
from advisor.weather import Wx


def _say_age(c: Context, s: int, _l: int, i: int) -> str:
    care, stop = c.limits.pair("report_age_min", s)
    age = age_words(c.t.age_min[i])
    if c.t.age_min[i] > stop:
        forecast = ((c.t.site == c.t.site[i]) & (c.t.layer == Layer.PREVAILING)).any()
        alone = " and the forecast stands alone" if forecast else ""
        return f"the last report is {age} old, past {stop:g} minutes: it counts as missing{alone}"
    return f"the last report is {age} old (care from {care:g}, missing past {stop:g} min)"


@rule("AG01", "report-old", family="age", say=_say_age, uses=("report_age_min",), worse=("age_min+",))
def report_old(c: Context) -> Array:
    """The last report is old.

    What it watches
    ---------------
    Minutes from the report's own time to now.
    Why it matters
    --------------
    Weather near a limit changes within the hour; past the stop the report counts as missing, and stays only as a
    warning where it is worse than the forecast.
    Worked example
    --------------
    A report 90 minutes old: with an instructor still used, with care; alone it counts as missing.
    Source
    ------
    Common practice, no source.
    """
    return c.flag(c.t.age_min >= c.limits.care["report_age_min"] - SLACK, Level.CARE)


def _say_none(_c: Context, _s: int, _l: int, _i: int) -> str:
    return "there is no report of the field's weather now: rated from the forecast alone"


@rule("AG02", "no-report", family="age", axes="row", say=_say_none, worse=("no_fresh_report+",))
def no_report(c: Context) -> Array:
    """There is no observation at all.

    What it watches
    ---------------
    A page made from a forecast without any report.
    Why it matters
    --------------
    A forecast has not yet met the day.
    Worked example
    --------------
    Forecast only: with care with an instructor, ask first alone.
    Source
    ------
    Common practice, no source.
    """
    return c.flag(c.t.no_fresh_report, Level.CARE)


def _say_nothing(_c: Context, _s: int, _l: int, _i: int) -> str:
    return "no report or forecast that counts reaches this far: what is only possible can warn, not rate"


@rule("AG03", "nothing-in-force", family="missing", say=_say_nothing, sources=("design",))
def nothing_in_force(c: Context) -> Array:
    """No report or forecast that counts reaches the hour.

    What it watches
    ---------------
    Hours past the end of the forecast, or past two hours from a report that has no forecast; and hours covered only by
    a report too old to count or by TEMPO and PROB.
    Why it matters
    --------------
    Nobody has said what the weather will be. Nothing is not fair weather.
    Worked example
    --------------
    Forecast 2512/2520, asked for 21Z: not rated, the forecast ended at 20Z.
    Source
    ------
    Common practice, no source.
    """
    return c.flag(c.uncovered, Level.MISSING)


def _say_disagrees(_c: Context, _s: int, _l: int, _i: int) -> str:
    return "the last report and the forecast do not agree; the worse of the two is used"


@rule(
    "DI01", "report-against-forecast", family="disagreement", axes="row", say=_say_disagrees,
    uses=("disagree_speed_kt", "disagree_gust_kt", "disagree_direction_deg", "disagree_direction_wind_kt"),
    sources=("nws-taf", "common-practice"), worse=("disagrees+",),
)  # fmt: skip
def report_against_forecast(c: Context) -> Array:
    """The report contradicts the forecast for the same time.

    What it watches
    ---------------
    Mean wind, peak or direction apart by what would make a forecaster amend, or a storm in the report only.
    Why it matters
    --------------
    A forecast that is already wrong says little about the afternoon.
    Worked example
    --------------
    Report 27022G30KT, forecast 18010KT: with care with an instructor, ask first alone, before any other rule.
    Source
    ------
    NWS TAF lesson 6 for the amounts; the cap is common practice, no source.
    """
    return c.flag(c.t.disagrees, Level.CARE)


def _say_borrowed(_c: Context, _s: int, _l: int, _i: int) -> str:
    return "the report or forecast is borrowed from a field over 15 NM away or 500 ft higher or lower"


@rule(
    "BO01",
    "borrowed-from-afar",
    family="source",
    axes="row",
    say=_say_borrowed,
    uses=("borrow_care_nm", "borrow_care_ft"),
    worse=("borrowed_far+",),
)
def borrowed_from_afar(c: Context) -> Array:
    """The weather is another field's, and that field is not close.

    What it watches
    ---------------
    Distance over 15 NM or height over 500 ft between this field and the one the report or forecast is for.
    Why it matters
    --------------
    Cloud base, wind and fog change with ground and distance. Past 30 NM or 1,000 ft nothing is rated.
    Worked example
    --------------
    Forecast from 24 NM away: with care with an instructor, ask first alone.
    Source
    ------
    Common practice, no source.
    """
    return c.flag(c.t.borrowed_far, Level.CARE)


def _say_undecoded(c: Context, _s: int, _l: int, _i: int) -> str:
    return "part of the report or forecast could not be read; it is printed as received"


@rule("UN01", "group-not-understood", family="source", axes="row", say=_say_undecoded, worse=("undecoded+",))
def group_not_understood(c: Context) -> Array:
    """A group could not be read.

    What it watches
    ---------------
    Any group of the report or forecast that was kept verbatim because it fits no known form.
    Why it matters
    --------------
    It may be noise, or the one thing that matters today; a person should look.
    Worked example
    --------------
    An unknown word before the remarks: with care with an instructor, ask first alone.
    Source
    ------
    Common practice, no source.
    """
    return c.flag(c.t.undecoded, Level.CARE)


def _say_automatic(_c: Context, _s: int, _l: int, _i: int) -> str:
    return (
        "automatic station: one beam up, one sensor of visibility; it does not see a storm, shower or fog bank "
        "that is not over it, nor cloud above 12,000 ft"
    )


@rule(
    "AU01",
    "automatic-station",
    family="note",
    axes="row",
    say=_say_automatic,
    sources=("faa-awos", "aim-7-1"),
)
def automatic_station(c: Context) -> Array:
    """The report is automatic.

    What it watches
    ---------------
    AUTO in the report.
    Why it matters
    --------------
    No person looked at the sky. It is said and caps nothing.
    Worked example
    --------------
    AUTO 22006KT 10SM CLR: the page says what the station cannot see.
    Source
    ------
    FAA note on automatic stations; AIM 7-1.
    """
    return c.flag(c.t.automatic & c.is_report, Level.NOTE)


def _say_maintenance(_c: Context, _s: int, _l: int, _i: int) -> str:
    return "the station asks for maintenance ($): one of its figures may be wrong"


@rule("AU02", "station-needs-maintenance", family="note", axes="row", say=_say_maintenance, sources=("aim-7-1",))
def station_needs_maintenance(c: Context) -> Array:
    """The station asks for maintenance.

    What it watches
    ---------------
    The remark $.
    Why it matters
    --------------
    The station found a fault in itself and does not say in what. It is said and caps nothing.
    Worked example
    --------------
    A report ending in $: the page says so.
    Source
    ------
    AIM 7-1 METAR key.
    """
    return c.flag(c.t.maintenance & c.is_report, Level.NOTE)


def _say_altimeter(_c: Context, _s: int, _l: int, _i: int) -> str:
    return "the altimeter setting is not known: standard pressure is assumed for true airspeed and density altitude"


@rule("AU03", "altimeter-not-known", family="note", axes="row", say=_say_altimeter)
def altimeter_not_known(c: Context) -> Array:
    """No altimeter setting could be read.

    What it watches
    ---------------
    A row without a pressure.
    Why it matters
    --------------
    True airspeed and density altitude then rest on the standard day; the error is small, and the page says so.
    Worked example
    --------------
    A report without A2992: the page says standard pressure is assumed.
    Source
    ------
    Common practice, no source.
    """
    return c.flag(np.isnan(c.t.altimeter_inhg), Level.NOTE)


def _say_weather_sensor(c: Context, _s: int, _l: int, i: int) -> str:
    out = int(c.t.weather[i])
    which = "present-weather" if out & int(Wx.WEATHER_SENSOR_OUT) else "freezing-rain"
    word = "PWINO" if out & int(Wx.WEATHER_SENSOR_OUT) else "FZRANO"
    cold = c.t.temperature_c[i] <= c.fixed["icing_temperature_c"]
    silence = "freezing rain" if cold or which == "freezing-rain" else "rain, snow or fog"
    return f"the {which} sensor is out ({word}): a report without {silence} does not mean there is none"


@rule(
    "AU04", "weather-sensor-out", family="source", axes="row", say=_say_weather_sensor, uses=("icing_temperature_c",),
    sources=("metar-key", "common-practice"), worse=("weather+", "temperature_c-"),
)  # fmt: skip
def weather_sensor_out(c: Context) -> Array:
    """The sensor for rain, snow or freezing rain is out.

    What it watches
    ---------------
    The remarks PWINO and FZRANO. At or below +2 C either is a care; PWINO in warmer air is said and caps nothing, and
    so is FZRANO where the temperature is not known.
    Why it matters
    --------------
    Freezing rain stops every lesson, and a station that cannot see it reports the same as one that sees none.
    Worked example
    --------------
    RMK AO2 FZRANO at 01/M01: with care with an instructor, ask first alone.
    Source
    ------
    The remarks: the decode key, from memory. The cap is common practice, no source, as for the thunderstorm sensor.
    """
    no_weather = (c.t.weather & int(Wx.WEATHER_SENSOR_OUT)) != 0
    no_ice = (c.t.weather & int(Wx.ICE_SENSOR_OUT)) != 0
    cold = c.t.temperature_c <= c.fixed["icing_temperature_c"]
    said = no_weather | (no_ice & np.isnan(c.t.temperature_c))
    level = np.where((no_weather | no_ice) & cold, int(Level.CARE), np.where(said, int(Level.NOTE), int(Level.QUIET)))
    return np.asarray(level, dtype=np.uint8)
