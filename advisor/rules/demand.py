"""Rules about what the wind at height asks of the pilot and the aircraft."""

from __future__ import annotations

import numpy as np

from advisor.limits import SLACK
from advisor.rules.context import Context, number
from advisor.rules.registry import Array, Level, rule


def _say_ratio(c: Context, s: int, _l: int, i: int) -> str:
    care = c.limits.pair("wind_to_airspeed", s)[0]
    return (
        f"wind at lesson height up to {number(c.height.high_kt[i])} kt, {c.wind_ratio[i]:.2f} of the true airspeed of "
        f"{number(c.tas_kt[i])} kt (care {care:g})"
    )


@rule(
    "DE01", "wind-to-airspeed", family="demand", say=_say_ratio,
    figure=lambda c: c.wind_ratio, uses=("wind_to_airspeed",),
    sources=("derived", "common-practice"), worse=("mean_kt+", "gust_kt+"),
)  # fmt: skip
def wind_to_airspeed(c: Context) -> Array:
    """The wind at lesson height is a large part of the airspeed.

    What it watches
    ---------------
    The high end of the wind at lesson height over the true airspeed of the practice speed; circuits are flown at that
    height too.
    Why it matters
    --------------
    Crab, bank change and ground rush follow this ratio, not knots alone.
    Worked example
    --------------
    22018KT by day: up to 28.8 kt at height over 93 kt is 0.31: care.
    Source
    ------
    The relation is derived; the limit is common practice, no source.
    """
    return c.over("wind_to_airspeed", c.wind_ratio)


def _say_radius(c: Context, s: int, _l: int, i: int) -> str:
    most = c.fixed["practical_radius_ft"]
    need = float(c.radius_planned_ft[s, i])
    exit_need = float(c.radius_exit_ft(c.height.high_kt)[i])
    bank = c.planned_bank_deg[s, 0]
    if np.isnan(exit_need):
        return f"the high wind is {number(c.height.high_kt[i])} kt, as fast as the aircraft: no circle can be held"
    if exit_need > most:
        return (
            f"even {c.fixed['exit_bank_deg']:g} degrees of bank needs {number(exit_need, most)} ft of radius at the high wind, "
            f"over the practical {most:,g} ft"
        )
    return f"the planned {bank:g} degrees of bank needs {number(need, most)} ft of radius at the high wind, over {most:,g} ft"


@rule(
    "DE02", "radius-too-large", family="demand", scope="circle", say=_say_radius,
    figure=lambda c: c.radius_planned_ft,
    uses=("practical_radius_ft", "exit_bank_deg"), sources=("afh-3c-ch7", "common-practice"),
    worse=("mean_kt+", "gust_kt+"),
)  # fmt: skip
def radius_too_large(c: Context) -> Array:
    """No practical radius holds the planned bank.

    What it watches
    ---------------
    The radius that gives the planned bank flying downwind in the high wind; and the one for the exit bank. In a wind as
    fast as the aircraft there is none.
    Why it matters
    --------------
    Closer means steeper than planned; farther means the reference is lost from sight.
    Worked example
    --------------
    TAS 100, 35 kt at height, 30 degrees planned: 2,795 ft, over 2,600: care.
    Source
    ------
    AFH chapter 7 for 45 degrees; the radius is common practice, no source.
    """
    most = c.fixed["practical_radius_ft"] + SLACK
    level = c.flag(c.radius_planned_ft > most, Level.CARE)
    # a wind as fast as the aircraft leaves no circle at all: no radius, which must not read as a small one
    high = (c.radius_exit_ft(c.height.high_kt) > most) | (c.height.high_kt >= c.tas_kt)
    low = (c.radius_exit_ft(c.height.low_kt) > most) | (c.height.low_kt >= c.tas_kt)
    return np.where(low, np.uint8(Level.STOP), np.where(high, np.uint8(Level.STOP_HIGH), level))


def _say_pivot(c: Context, s: int, _l: int, i: int) -> str:
    floor = c.limits.pair("pivotal_height_ft", s)[1]
    high, low = c.pivotal_into_wind_ft(c.height.high_kt)[i], c.pivotal_into_wind_ft(c.height.low_kt)[i]
    return (
        f"pivotal height flying into wind {number(high, floor)} to {number(low, floor)} ft (lower of handbook and exact), "
        f"below {floor:g} ft above the ground in part of the range"
    )


@rule(
    "DE03", "pivotal-height-low", family="demand", scope="pylons", say=_say_pivot,
    figure=lambda c: -c.pivotal_into_wind_ft(c.height.high_kt), uses=("pivotal_height_ft",),
    sources=("afh-3a-ch6", "afh-3c-ch7"), worse=("mean_kt+", "gust_kt+"),
)  # fmt: skip
def pivotal_height_low(c: Context) -> Array:
    """The pivotal height into wind is too close to the ground.

    What it watches
    ---------------
    The lower of the handbook and the exact pivotal height flying into wind, at both ends of the wind at height.
    Why it matters
    --------------
    The lesson itself flies the aircraft down as the groundspeed falls.
    Worked example
    --------------
    22016KT at 90 KIAS: about 400 ft at the high wind, 525 ft at the low: ask first.
    Source
    ------
    AFH-3A chapter 6: never below 500 ft above the ground; AFH-3C chapter 7 for the rule.
    """
    floor = c.limits.stop["pivotal_height_ft"] - SLACK
    high = c.pivotal_into_wind_ft(c.height.high_kt) < floor
    low = c.pivotal_into_wind_ft(c.height.low_kt) < floor
    return np.where(low, np.uint8(Level.STOP), c.flag(high, Level.STOP_HIGH))


def _say_margin(c: Context, s: int, _l: int, i: int) -> str:
    stop = c.limits.pair("stall_margin", s)[1]
    bank = c.planned_bank_deg[s, 0]
    return (
        f"practice speed less gust spread is {c.stall_margin[s, i]:.2f} of the stall speed at {bank:g} degrees of bank "
        f"({c.pair_words('stall_margin', s)}; stop {stop:g})"
    )


@rule(
    "DE04",
    "stall-margin",
    family="demand",
    say=_say_margin,
    figure=lambda c: -c.stall_margin,
    uses=("stall_margin",),
    sources=("phak", "common-practice"),
    worse=("gust_kt+",),
)
def stall_margin(c: Context) -> Array:
    """The margin over the stall in the steepest turn is thin.

    What it watches
    ---------------
    Practice speed less gust spread, over stall speed times the factor at the planned bank; both as the airspeed
    indicator shows them.
    Why it matters
    --------------
    At lesson height there is no room to recover from a stall in a turn.
    Worked example
    --------------
    90 KIAS, spread 9, stall 48, 30 degrees: 81 over 51.6 is 1.57. With 70 KIAS and 20 kt of spread it is 0.97: stop.
    Source
    ------
    PHAK for the load factor; the limits are common practice, no source.
    """
    return c.under("stall_margin", c.stall_margin)
