"""Rules about temperature: cold, heat, thin air, ice on the aircraft and ice in the carburettor."""

from __future__ import annotations

import numpy as np

from advisor.limits import SLACK
from advisor.rules.context import Context, number
from advisor.rules.registry import Array, Level, rule
from advisor.weather import Wx


def _from(c: Context, i: int) -> str:
    return " (carried from the last report, not forecast)" if c.t.carried[i] else ""


def _say_cold(c: Context, s: int, _l: int, i: int) -> str:
    return f"temperature {number(c.t.temperature_c[i])} C{_from(c, i)} ({c.pair_words('cold_c', s)})"


@rule(
    "TE01",
    "cold",
    cites="air_group",
    family="temperature",
    say=_say_cold,
    uses=("cold_c",),
    worse=("temperature_c-",),
)
def cold(c: Context) -> Array:
    """It is very cold.

    What it watches
    ---------------
    Temperature at the field, carried on into forecast hours.
    Why it matters
    --------------
    Engines, batteries, brakes and fingers stop working; a forced landing becomes survival.
    Worked example
    --------------
    M16 alone: below the stop of -15 C, hold. Before solo: with care (stop -18).
    Source
    ------
    Common practice, no source.
    """
    return c.under("cold_c", c.t.temperature_c)


def _say_heat(c: Context, s: int, _l: int, i: int) -> str:
    later = "; an earlier or later hour is cooler" if c.t.temperature_c[i] >= c.limits.care["heat_c"][s, 0] else ""
    return f"temperature {number(c.t.temperature_c[i])} C{_from(c, i)} ({c.pair_words('heat_c', s)}){later}"


@rule(
    "TE02",
    "heat",
    cites="air_group",
    family="temperature",
    say=_say_heat,
    uses=("heat_c",),
    worse=("temperature_c+",),
)
def heat(c: Context) -> Array:
    """It is very hot.

    What it watches
    ---------------
    Temperature at the field, carried on into forecast hours.
    Why it matters
    --------------
    People tire, engines overheat, the air over fields is rough, and the aircraft climbs badly.
    Worked example
    --------------
    39 C alone: over the stop of 38, hold. Before solo: with care (stop 40).
    Source
    ------
    Common practice, no source.
    """
    return c.over("heat_c", c.t.temperature_c)


def _say_density(c: Context, s: int, _l: int, i: int) -> str:
    care = c.limits.pair("density_altitude_above_field_ft", s)[0]
    return (
        f"density altitude {number(c.density_altitude_ft[i])} ft, {number(c.density_above_field_ft[i], care)} ft above the "
        f"field{_from(c, i)} ({c.pair_words('density_altitude_above_field_ft', s)})"
    )


@rule(
    "TE03", "density-altitude", cites="air_group", family="temperature", say=_say_density,
    uses=("density_altitude_above_field_ft",), sources=("phak", "nws-da", "common-practice"), worse=("temperature_c+",),
)  # fmt: skip
def density_altitude(c: Context) -> Array:
    """The air is thin for the height of the field.

    What it watches
    ---------------
    Density altitude less field elevation, with humidity where the dew point is known.
    Why it matters
    --------------
    True airspeed, turn radius and take-off run grow, climb shrinks, and nothing on the panel says so.
    Worked example
    --------------
    5,400 ft, 36 C, A2980: density altitude about 9,200 ft, 3,800 above the field: care.
    Source
    ------
    The formula: source keys phak and nws-da. The limit: common practice, no source.
    """
    return c.over("density_altitude_above_field_ft", c.density_above_field_ft)


def _say_falling(c: Context, _s: int, _l: int, i: int) -> str:
    what = "snow or ice" if int(c.t.weather[i]) & int(Wx.SNOW) else "precipitation"
    return f"{what} at {number(c.t.temperature_c[i])} C{_from(c, i)}: icing on the aircraft and a frozen or slippery surface"


@rule(
    "IC01",
    "precipitation-near-freezing",
    cites="air_group",
    family="icing",
    axes="row",
    say=_say_falling,
    uses=("icing_temperature_c",),
    worse=("weather+", "temperature_c-"),
)
def precipitation_near_freezing(c: Context) -> Array:
    """Snow, or anything falling at or below +2 C.

    What it watches
    ---------------
    Precipitation with a temperature of +2 C or less, and snow at any temperature.
    Why it matters
    --------------
    Ice on the wing, a pitot that blocks, and a runway that does not brake. Freezing rain and drizzle stop
    everything (storm-in-the-hour).
    Worked example
    --------------
    -SN at M02: with care with an instructor, ask first alone.
    Source
    ------
    Common practice, no source.
    """
    falling = (c.t.weather & int(Wx.PRECIPITATION | Wx.SNOW)) != 0
    cold_enough = c.t.temperature_c <= c.fixed["icing_temperature_c"]
    return c.flag((falling & cold_enough) | ((c.t.weather & int(Wx.SNOW)) != 0), Level.CARE)


def _say_frost(c: Context, _s: int, _l: int, i: int) -> str:
    return (
        f"{number(c.t.temperature_c[i])} C with the dew point {number(c.air_spread_c[i])} C below{_from(c, i)}: look for "
        "frost on wings and tail; all of it comes off"
    )


@rule(
    "IC02",
    "frost",
    cites="air_group",
    family="icing",
    axes="row",
    say=_say_frost,
    calm_hazard=True,
    uses=("icing_temperature_c", "frost_spread_c"),
    worse=("temperature_c-", "dewpoint_c+"),
)
def frost(c: Context) -> Array:
    """Frost may lie on the aircraft.

    What it watches
    ---------------
    Temperature of +2 C or less with the dew point within 3 C.
    Why it matters
    --------------
    A thin layer of frost raises the stall speed and nobody can see it on a white wing.
    Worked example
    --------------
    M02/M04: with care with an instructor, ask first alone.
    Source
    ------
    Common practice, no source.
    """
    near = c.air_spread_c <= c.fixed["frost_spread_c"] + SLACK
    return c.flag((c.t.temperature_c <= c.fixed["icing_temperature_c"]) & near, Level.CARE)


def _say_carburettor(c: Context, _s: int, _l: int, i: int) -> str:
    return (
        f"{number(c.t.temperature_c[i])}/{number(c.t.dewpoint_c[i])} C{_from(c, i)} is in the carburettor-icing band: "
        "brief carburettor heat, above all at low power"
    )


def _in_band(c: Context) -> Array:
    humidity, air = c.humidity_pct, c.t.temperature_c
    cool = (air >= c.fixed["carb_ice_low_c"]) & (humidity >= c.fixed["carb_ice_humidity_pct"])
    warm = (air >= c.fixed["carb_ice_severe_from_c"]) & (humidity >= c.fixed["carb_ice_severe_humidity_pct"])
    return np.asarray((cool | warm) & (air <= c.fixed["carb_ice_high_c"]))


@rule(
    "IC03", "carburettor-icing-band", cites="air_group", family="carburettor", axes="row", say=_say_carburettor,
    uses=(
        "carb_ice_low_c", "carb_ice_high_c", "carb_ice_humidity_pct", "carb_ice_severe_from_c",
        "carb_ice_severe_humidity_pct",
    ),
    sources=("phak", "doi-sa-11-01", "common-practice"),
)  # fmt: skip
def carburettor_icing_band(c: Context) -> Array:
    """Temperature and humidity are in the carburettor-icing band.

    What it watches
    ---------------
    From -7 C with relative humidity of 80 % or more; from +10 C with 60 % or more; up to 38 C.
    Why it matters
    --------------
    Ground-reference work ends in low power turns close to the ground; that is where it bites.
    Worked example
    --------------
    16/14: humidity 88 %. With care at every stage, a student alone included; alone it lowers nothing further.
    Source
    ------
    PHAK chapter 7 (most probable band); US DOI Safety Alert SA 11-01 (severe from 50 F with humidity over 60 %,
    possible up to 100 F). The cap is common practice.
    """
    return c.flag(_in_band(c), Level.CARE_ONLY)


def _say_possible(c: Context, _s: int, _l: int, i: int) -> str:
    return (
        f"carburettor ice is possible at {number(c.t.temperature_c[i])}/{number(c.t.dewpoint_c[i])} C{_from(c, i)}, at low "
        "power even in drier, warmer air"
    )


@rule(
    "IC04", "carburettor-ice-possible", cites="air_group", family="note", axes="row", say=_say_possible,
    uses=(
        "carb_ice_low_c", "carb_ice_high_c", "carb_ice_possible_humidity_pct", "carb_ice_severe_from_c",
        "carb_ice_dry_humidity_pct",
    ),
    sources=("doi-sa-11-01", "ntsb-ce-09-35"),
)  # fmt: skip
def carburettor_ice_possible(c: Context) -> Array:
    """Carburettor ice is possible outside the usual band.

    What it watches
    ---------------
    -7 to 38 C with relative humidity of 50 % or more, and from +10 C of 23 % or more, short of the icing band.
    Why it matters
    --------------
    At glide power ice has been charted in air as dry as 23 % humidity; the band is a habit, not a boundary.
    Worked example
    --------------
    15/05: humidity 51 %. It is said and caps nothing.
    Source
    ------
    US DOI Safety Alert SA 11-01; an NTSB report reads serious icing at glide power at 86 F with a dew point of 44 F.
    """
    air, humidity = c.t.temperature_c, c.humidity_pct
    inside = (air >= c.fixed["carb_ice_low_c"]) & (air <= c.fixed["carb_ice_high_c"])
    moist = humidity >= c.fixed["carb_ice_possible_humidity_pct"]
    dry = (air >= c.fixed["carb_ice_severe_from_c"]) & (humidity >= c.fixed["carb_ice_dry_humidity_pct"])
    return c.flag(inside & (moist | dry) & ~_in_band(c), Level.NOTE)


def _say_no_temperature(c: Context, _s: int, _l: int, i: int) -> str:
    why = "reported" if c.is_report[i] else "forecast"
    return f"temperature not {why}: heat, cold, ice and density altitude not judged"


@rule("TE04", "temperature-not-known", family="note", axes="row", say=_say_no_temperature)
def temperature_not_known(c: Context) -> Array:
    """The temperature is not known for the hour.

    What it watches
    ---------------
    A row without a temperature: none reported, or a forecast hour more than six hours from the last report.
    Why it matters
    --------------
    Heat, cold, frost, carburettor ice and density altitude are not judged, and the page must say so.
    Worked example
    --------------
    A report of 13Z and a forecast hour at 20Z: "temperature not forecast". It caps nothing.
    Source
    ------
    Common practice, no source.
    """
    return c.flag(np.isnan(c.t.temperature_c), Level.NOTE)
