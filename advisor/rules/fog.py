"""Rules about fog and mist."""

from __future__ import annotations

import numpy as np

from advisor.limits import SLACK
from advisor.rules.context import Context, number
from advisor.rules.registry import Array, Level, rule
from advisor.weather import Wx


def _say_spread(c: Context, s: int, _l: int, i: int) -> str:
    carried = ", carried from the last report" if c.t.carried[i] else ""
    return (
        f"temperature and dew point {number(c.air_spread_c[i], c.limits.pair('fog_spread_c', s)[1])} C apart{carried}, "
        f"little wind and a low sun or none: fog can form ({c.pair_words('fog_spread_c', s)})"
    )


@rule(
    "FG01",
    "fog-can-form",
    cites="air_group",
    family="fog",
    say=_say_spread,
    calm_hazard=True,
    uses=("fog_spread_c", "fog_wind_kt", "near_sun_min"),
    worse=("dark+", "near_sun+", "temperature_c-", "dewpoint_c+"),
)
def fog_can_form(c: Context) -> Array:
    """The air is close to saturation with little wind near dawn, dusk or night.

    What it watches
    ---------------
    Temperature minus dew point, in the dark or within 90 minutes of sunrise or sunset, with a mean of 5 kt or less.
    Why it matters
    --------------
    Radiation fog forms in minutes and closes the field behind a lesson.
    Worked example
    --------------
    06/05 and calm at dawn: 1 C apart. Before solo care; alone below 2, hold.
    Source
    ------
    Common practice, no source.
    """
    when = (c.t.dark | c.t.near_sun) & (c.t.mean_kt <= c.fixed["fog_wind_kt"])
    return c.under("fog_spread_c", np.where(when, c.air_spread_c, np.nan))


def _say_seen(c: Context, _s: int, _l: int, i: int) -> str:
    return f"fog {'reported' if c.is_report[i] else 'forecast'} (patches, shallow or in the vicinity count)"


@rule("FG02", "fog-in-group", family="fog", axes="row", say=_say_seen, worse=("weather+",))
def fog_in_group(c: Context) -> Array:
    """Fog is reported or forecast.

    What it watches
    ---------------
    FG in any form in a group in force, in the vicinity too.
    Why it matters
    --------------
    Patches drift; the visibility at the sensor is not the visibility over the practice area.
    Worked example
    --------------
    MIFG with 10SM: with care with an instructor, ask first alone.
    Source
    ------
    Common practice, no source.
    """
    return c.flag((c.t.weather & int(Wx.FOG)) != 0, Level.CARE)


def _say_late(_c: Context, _s: int, _l: int, _i: int) -> str:
    return "fog is forecast to have just gone: if the forecast is late, it is still there"


@rule(
    "FG03",
    "fog-may-linger",
    family="fog",
    axes="row",
    say=_say_late,
    uses=("fog_late_min",),
    calm_hazard=True,
    worse=("fog_late+",),
)
def fog_may_linger(c: Context) -> Array:
    """The hour is good only if fog clears on time.

    What it watches
    ---------------
    The two hours after a group with fog ends.
    Why it matters
    --------------
    The hour at which fog burns off is the part of a forecast most often wrong.
    Worked example
    --------------
    Fog until FM251600: from 16 to 18 Z with care with an instructor, ask first alone.
    Source
    ------
    Common practice, no source.
    """
    return c.flag(c.t.fog_late, Level.CARE)


def _say_in_wind(c: Context, _s: int, _l: int, i: int) -> str:
    return (
        f"temperature and dew point {number(c.air_spread_c[i])} C apart with {number(c.t.mean_kt[i])} kt of wind: fog can also "
        "drift in on a light wind"
    )


@rule(
    "FG04",
    "fog-on-the-wind",
    cites="air_group",
    family="note",
    say=_say_in_wind,
    uses=("fog_spread_c", "fog_wind_kt", "advection_fog_wind_kt"),
)
def fog_on_the_wind(c: Context) -> Array:
    """Fog could drift in with the wind.

    What it watches
    ---------------
    Temperature and dew point inside the care limit for fog with a mean above 5 and up to 15 kt, at any hour.
    Why it matters
    --------------
    Moist air over colder ground makes fog by day and in wind; it comes as a bank, not as a haze that thickens. It is
    said and caps nothing.
    Worked example
    --------------
    20006KT with 16/14 at noon: 2 C apart, said.
    Source
    ------
    Common practice, no source.
    """
    light = (c.t.mean_kt > c.fixed["fog_wind_kt"]) & (c.t.mean_kt <= c.fixed["advection_fog_wind_kt"])
    return c.flag(light & (c.air_spread_c <= c.limits.care["fog_spread_c"] + SLACK), Level.NOTE)
