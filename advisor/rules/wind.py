"""Rules about the mean wind and how steady it is."""

from __future__ import annotations

import numpy as np

from advisor.aloft import AirClass
from advisor.lessons import lessons
from advisor.limits import SLACK
from advisor.rules.context import Context, number
from advisor.rules.registry import Array, Level, rule
from advisor.table import WindKind


def _say_mean(c: Context, s: int, _l: int, i: int) -> str:
    return f"mean wind {number(c.t.mean_kt[i])} kt at the field ({c.pair_words('mean_wind_kt', s)})"


@rule(
    "WI01", "mean-wind", family="wind", say=_say_mean,
    figure=lambda c: c.t.mean_kt, uses=("mean_wind_kt",), worse=("mean_kt+",),
)  # fmt: skip
def mean_wind(c: Context) -> Array:
    """The mean wind at the field is strong for this stage.

    What it watches
    ---------------
    The mean wind of each report or forecast group, at the field, in whole knots. Never scaled up to height.
    Why it matters
    --------------
    More wind means more bank at the steepest point, a faster ground rush flying downwind, and rougher air
    close to the ground; it also makes the landing harder.
    Worked example
    --------------
    22012KT for a student alone: 12 kt is the care limit, so ask first. 22016KT passes the stop of 15: hold.
    Source
    ------
    Common practice, no source: no authority publishes a wind limit for these lessons.
    """
    return c.over("mean_wind_kt", c.t.mean_kt)


def _say_lesson_mean(c: Context, s: int, lesson: int, i: int) -> str:
    stop = float(c.lesson_mean_stop_kt[s, lesson, 0])
    name = lessons()[lesson].title.lower()
    return f"mean wind {number(c.t.mean_kt[i], stop)} kt is over the {stop:g} kt stop for {name}"


@rule(
    "WI02", "lesson-mean-wind", family="wind", axes="lesson", say=_say_lesson_mean,
    figure=lambda c: c.t.mean_kt, worse=("mean_kt+",),
)  # fmt: skip
def lesson_mean_wind(c: Context) -> Array:
    """The mean wind is over this lesson's own stop.

    What it watches
    ---------------
    The mean wind at the field against the stop of the lesson and stage (``data/lessons.toml``).
    Why it matters
    --------------
    Lessons that circle a mark need more bank and change it faster than tracking a road; they are given up first
    as the wind rises.
    Worked example
    --------------
    22018KT before solo: tracking may run (stop 25), turns around a point are on hold (stop 15).
    Source
    ------
    Common practice, no source.
    """
    mean = np.where(np.isnan(c.t.mean_kt), -np.inf, c.t.mean_kt)
    return c.flag(mean[None, None, :] > c.lesson_mean_stop_kt + SLACK, Level.STOP)


def _say_unsteady(c: Context, s: int, _l: int, i: int) -> str:
    what = (
        "direction variable (VRB)"
        if c.t.wind_kind[i] == WindKind.VARIABLE
        else (f"direction swinging through {number(c.t.arc_width_deg[i])} degrees")
    )
    return (
        f"{what} with {number(c.t.mean_kt[i])} kt: a heading plan is unreliable ({c.pair_words('unsteady_wind_kt', s)})"
    )


@rule(
    "WI03", "unsteady-direction", family="variable", say=_say_unsteady,
    figure=lambda c: c.t.mean_kt, uses=("unsteady_wind_kt", "swing_deg"),
    sources=("common-practice", "fmh-1"), worse=("mean_kt+", "arc_width_deg+"),
)  # fmt: skip
def unsteady_direction(c: Context) -> Array:
    """The wind direction is variable or swings widely.

    What it watches
    ---------------
    VRB of 5 kt or more, or dddVddd through 60 degrees or more.
    Why it matters
    --------------
    A crab worked out for one direction is wrong a minute later; the crosswind on landing can be the full speed.
    Worked example
    --------------
    VRB05KT: with care with an instructor. VRB09KT for a student alone passes 8 kt: hold.
    Source
    ------
    Common practice, no source; the 60 degrees is the reporting threshold (FMH-1, from memory of the text).
    """
    variable = c.t.wind_kind == WindKind.VARIABLE
    swinging = (c.t.wind_kind == WindKind.STEADY) & (c.t.arc_width_deg >= c.fixed["swing_deg"])
    care = (variable & (c.t.mean_kt >= c.limits.care["unsteady_wind_kt"] - SLACK)) | swinging
    stop = (variable | swinging) & (c.t.mean_kt > c.limits.stop["unsteady_wind_kt"] + SLACK)
    return np.where(stop, np.uint8(Level.STOP), c.flag(care, Level.CARE))


def _say_missing(c: Context, _s: int, _l: int, i: int) -> str:
    if c.t.wind_kind[i] == WindKind.NOT_UNDERSTOOD:
        return "the wind group could not be read; it is not taken as calm"
    if c.t.mean_kt[i] == c.t.mean_kt[i]:
        return f"the wind's direction is missing ({number(c.t.mean_kt[i])} kt from nowhere known); it is not guessed"
    return "no wind was reported (the group is missing); missing is not calm"


@rule("WI04", "wind-missing", family="missing", axes="row", say=_say_missing, sources=("design",))
def wind_missing(c: Context) -> Array:
    """The wind is missing or could not be read.

    What it watches
    ---------------
    A report or prevailing forecast group without a wind that can be trusted: no group, slashes, or a group that
    contradicts itself. Of ///28KT the speed still counts against the stops.
    Why it matters
    --------------
    Every lesson here depends on the wind. Missing is not calm.
    Worked example
    --------------
    /////KT: every lesson is not rated. 00000KT is calm and is rated.
    Source
    ------
    Common practice, no source.
    """
    return c.flag(~c.wind_known, Level.MISSING)


def _say_estimated(_c: Context, _s: int, _l: int, _i: int) -> str:
    return "the station says its wind is estimated (WND DATA ESTMD)"


@rule("WI05", "wind-estimated", family="source", axes="row", say=_say_estimated, worse=("wind_estimated+",))
def wind_estimated(c: Context) -> Array:
    """The station marks its wind as estimated.

    What it watches
    ---------------
    The remark WND DATA ESTMD.
    Why it matters
    --------------
    The figure was judged by eye or from a failing sensor, so limits close to it mean little.
    Worked example
    --------------
    RMK WND DATA ESTMD: with care with an instructor, ask first alone.
    Source
    ------
    Common practice, no source.
    """
    return c.flag(c.t.wind_estimated, Level.CARE)


def _say_shift(_c: Context, _s: int, _l: int, _i: int) -> str:
    return "a wind shift was reported in the last hour (WSHFT); more may follow"


@rule("WI06", "wind-shift", family="variable", axes="row", say=_say_shift, worse=("wind_shift+",))
def wind_shift(c: Context) -> Array:
    """A wind shift was remarked.

    What it watches
    ---------------
    The remark WSHFT.
    Why it matters
    --------------
    A front or an outflow has just passed: direction, runway and gusts may all be different in minutes.
    Worked example
    --------------
    RMK WSHFT 1715 FROPA: with care with an instructor, ask first alone.
    Source
    ------
    Common practice, no source.
    """
    return c.flag(c.t.wind_shift, Level.CARE)


def _say_building(c: Context, _s: int, _l: int, i: int) -> str:
    return f"the mean wind has risen {number(c.t.building_kt[i])} kt in the last two hours"


@rule("WI07", "wind-building", family="note", axes="row", say=_say_building, uses=("building_wind_kt",))
def wind_building(c: Context) -> Array:
    """The wind has been building.

    What it watches
    ---------------
    The rise of the mean wind over the reports of the last two hours.
    Why it matters
    --------------
    The next hour is likely to be windier than this one; plan the return early. It is said and caps nothing: the
    limits are judged on what is reported and forecast.
    Worked example
    --------------
    18006KT two hours ago, 18012KT now: a rise of 6 kt is said.
    Source
    ------
    Common practice, no source.
    """
    return c.flag(c.is_report & (c.t.building_kt >= c.fixed["building_wind_kt"]), Level.NOTE)


def _say_bumps(c: Context, _s: int, _l: int, i: int) -> str:
    return (
        f"{number(c.t.temperature_c[i])} C under a broken or clear sky: expect bumps at lesson height, least early and late "
        "in the day"
    )


@rule(
    "WI08", "convective-bumps", cites="air_group", family="note", axes="row", say=_say_bumps,
    uses=("bumps_temperature_c", "near_sun_min"), sources=("nws-front-2014", "common-practice"),
)  # fmt: skip
def convective_bumps(c: Context) -> Array:
    """The sun stirs the air near the ground.

    What it watches
    ---------------
    25 C or more by day, more than 90 minutes from sunrise and sunset, without an overcast below 7,000 ft.
    Why it matters
    --------------
    Over warm fields a constant height and radius are hard to hold; the same lesson is easier in the morning. It is
    said and caps nothing: the wind, gust and heat limits do that.
    Worked example
    --------------
    20006KT 10SM CLR 36/12 in the afternoon: said.
    Source
    ------
    NWS The Front 2014 for the hours of the day; the temperature is common practice, no source.
    """
    stirred = (c.height.air_class == AirClass.MIXED) | (c.height.air_class == AirClass.WINDY)
    return c.flag(stirred & c.wind_known & (c.t.temperature_c >= c.fixed["bumps_temperature_c"]), Level.NOTE)
