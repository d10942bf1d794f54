"""Rules about the runway: crosswind, tailwind, base leg, and a runway nobody knows."""

from __future__ import annotations

import numpy as np

from advisor import units
from advisor.limits import SLACK
from advisor.rules.context import Context, number
from advisor.rules.registry import Array, Level, rule
from advisor.table import WindKind

_RUNWAY = ("common-practice", "cfr-23-233")


def _practice_stop(c: Context) -> Array:
    return np.minimum(c.limits.stop["crosswind_kt"], c.aircraft.demonstrated_crosswind_kt)


def _closed(c: Context, i: int) -> bool:
    """True where runways are known, and none of those that count is open in a row."""
    return not c.runway_known[i] and bool(c.sites[int(c.t.site[i])].runways)


def _across(c: Context, s: int, i: int, *limits: float) -> str:
    speed = f"{number(c.crosswind_kt[s, i], *limits)} kt"
    if c.t.wind_kind[i] == WindKind.VARIABLE:
        return f"{speed} counted as crosswind, all of it, the direction being variable"
    if not c.runway_known[i]:
        return f"{speed} counted as crosswind, all of it, no runway being {'open' if _closed(c, i) else 'known'}"
    return f"crosswind {speed} on runway {c.end_name(s, i)}"


def _say_practice(c: Context, s: int, _l: int, i: int) -> str:
    stop = float(_practice_stop(c)[s, 0])
    care = min(c.limits.pair("crosswind_kt", s)[0], stop)
    return f"{_across(c, s, i, stop, care)} (care {care:g}, stop {stop:g} kt)"


@rule(
    "XW01", "crosswind-landing-practice", family="crosswind", scope="pattern", say=_say_practice,
    figure=lambda c: c.crosswind_kt,
    uses=("crosswind_kt",), sources=_RUNWAY, worse=("mean_kt+", "gust_kt+"),
)  # fmt: skip
def crosswind_landing_practice(c: Context) -> Array:
    """The crosswind on the best runway is strong for landing practice.

    What it watches
    ---------------
    The larger of mean and gust across the best open runway end, the worst direction inside dddVddd, the full
    speed when VRB. The stop is the lower of the stage's and the aircraft's demonstrated figure.
    Why it matters
    --------------
    Landing across the wind is the most common way light aircraft are bent in training.
    Worked example
    --------------
    27012G19KT on runway 31: 12.2 kt across in the gust, over the demonstrated 12: hold.
    Source
    ------
    Common practice, no source. The demonstrated figure is not a limit in law; many schools make it one.
    """
    stop = _practice_stop(c)
    care = np.minimum(c.limits.care["crosswind_kt"], stop)
    # without a runway the lesson is not rated (XW05), which no guess at a crosswind may replace
    crosswind = np.where(c.runway_known, c.crosswind_kt, np.nan)
    level = np.where(crosswind >= care - SLACK, np.uint8(Level.CARE), np.uint8(Level.QUIET))
    return np.where(crosswind > stop + SLACK, np.uint8(Level.STOP), level)


def _say_after(c: Context, s: int, _l: int, i: int) -> str:
    if c.limits.demonstrated[s, 0]:
        figure, stop = c.aircraft.demonstrated_crosswind_kt, c.limits.pair("crosswind_after_kt", s)[1]
        limits = f"ask first above the demonstrated {figure:g}, stop {stop:g} kt"
    else:
        limits = c.pair_words("crosswind_after_kt", s)
        figure, stop = c.limits.pair("crosswind_after_kt", s)
    return f"the landing afterwards: {_across(c, s, i, stop, figure)} ({limits})"


@rule(
    "XW02", "crosswind-landing-after", family="crosswind", scope="height", say=_say_after,
    figure=lambda c: c.crosswind_kt,
    uses=("crosswind_after_kt",), sources=_RUNWAY, worse=("mean_kt+", "gust_kt+"),
)  # fmt: skip
def crosswind_landing_after(c: Context) -> Array:
    """The crosswind on the best runway is strong for the landing that ends the lesson.

    What it watches
    ---------------
    The same crosswind as landing practice, for lessons that are flown away from the runway.
    Why it matters
    --------------
    Every lesson ends in a landing. With an instructor the aircraft's demonstrated figure is the line; alone the
    limits of landing practice hold.
    Worked example
    --------------
    13013KT with only runway 04/22: 13 kt across. Instructor aboard: ask first. Alone: hold.
    Source
    ------
    Common practice, no source.
    """
    level = c.over("crosswind_after_kt", c.crosswind_kt)
    over_figure = c.crosswind_kt > c.aircraft.demonstrated_crosswind_kt + SLACK
    own = c.limits.demonstrated & over_figure & (level != Level.STOP)
    return np.where(own, np.uint8(Level.ASK_OR_HOLD), level)


def _say_tail(c: Context, s: int, _l: int, i: int) -> str:
    tail = c.tailwind_kt[s, i]
    care, stop = c.limits.pair("tailwind_kt", s)
    return f"tailwind {number(tail, stop, care)} kt on runway {c.end_name(s, i)} ({c.pair_words('tailwind_kt', s)})"


@rule(
    "XW03",
    "tailwind-on-landing",
    family="crosswind",
    say=_say_tail,
    figure=lambda c: c.tailwind_kt,
    uses=("tailwind_kt",),
    worse=("mean_kt+", "gust_kt+"),
)
def tailwind_on_landing(c: Context) -> Array:
    """Even the best runway end has a tailwind.

    What it watches
    ---------------
    The larger of mean and gust from behind, at the end with the least crosswind among those inside the care
    limit, or the one with least tailwind.
    Why it matters
    --------------
    A tailwind lengthens the landing and hides behind a normal airspeed.
    Worked example
    --------------
    Runway 04 asked for with 22006KT: 6 kt from behind, over the stop of 5: hold.
    Source
    ------
    Common practice, no source.
    """
    return c.over("tailwind_kt", c.tailwind_kt)


def _say_unknown(c: Context, _s: int, _l: int, i: int) -> str:
    why = "no runway that counts is open then" if _closed(c, i) else "no runway of this field is known"
    return f"crosswind at the runway not checked: {why}; the full wind is counted as crosswind"


def _swing_behind_kt(c: Context) -> Array:
    """Most that a swinging wind can blow from behind at the better end, however the runway lies. [kt]"""
    steady = c.t.wind_kind == WindKind.STEADY
    share = units.sin_deg(np.minimum(c.t.arc_width_deg, 180.0) / 2.0)
    return np.where(steady, share * c.peak_kt, 0.0)


def _say_no_runway(c: Context, s: int, _l: int, i: int) -> str:
    stop, behind = c.limits.pair("tailwind_kt", s)[1], float(_swing_behind_kt(c)[i])
    if behind <= stop + SLACK:
        return _say_unknown(c, s, _l, i)
    return f"{_say_unknown(c, s, _l, i)}; its swing could put {number(behind, stop)} kt behind at either end (stop {stop:g} kt)"


@rule(
    "XW04", "runway-unknown", family="crosswind", scope="height", say=_say_no_runway, uses=("tailwind_kt",),
    sources=("design", "common-practice"), worse=("mean_kt+", "gust_kt+", "arc_width_deg+"),
)  # fmt: skip
def runway_unknown(c: Context) -> Array:
    """No runway of the field is known.

    What it watches
    ---------------
    A field without a usable runway end in the data, the school's file or the question.
    Why it matters
    --------------
    The landing cannot be checked, so the whole speed counts as crosswind and nothing is better than with care.
    A swinging direction may also blow from behind at both ends: what it could at most is held to the tailwind stop,
    so that not knowing the runway is never better than knowing it.
    Worked example
    --------------
    22008KT, runway unknown: before solo with care, alone ask first; crosswind circuits are not rated. With
    22010KT 170V270 up to 7.7 kt could be behind at either end, over the stop of 5: hold.
    Source
    ------
    Common practice, no source.
    """
    behind = ~c.runway_known & (_swing_behind_kt(c) > c.limits.stop["tailwind_kt"] + SLACK)
    return np.where(behind, np.uint8(Level.STOP), c.flag(~c.runway_known, Level.CARE))


@rule(
    "XW05",
    "runway-missing",
    family="missing",
    axes="row",
    scope="pattern",
    say=_say_unknown,
    sources=("design",),
)
def runway_missing(c: Context) -> Array:
    """Circuits cannot be rated without a runway.

    What it watches
    ---------------
    The same as runway-unknown, for the lesson that is about the runway.
    Why it matters
    --------------
    Its whole point is the component across one runway.
    Worked example
    --------------
    22008KT, runway unknown: crosswind circuits not rated. With 22026KT the mean wind is a stop of its own: hold.
    Source
    ------
    Common practice, no source.
    """
    return c.flag(~c.runway_known, Level.MISSING)


def _say_base(c: Context, s: int, _l: int, i: int) -> str:
    care = c.limits.pair("base_tailwind_kt", s)[0]
    return (
        f"tailwind {number(c.base_tailwind_kt[s, i], care)} kt on base for runway {c.end_name(s, i)} (care {care:g} kt): "
        "a fast base, mostly with more than 90 degrees to turn onto final, which is easily overshot; go around, do not tighten"
    )


@rule(
    "XW06", "base-leg-tailwind", family="crosswind", scope="pattern", say=_say_base,
    figure=lambda c: c.base_tailwind_kt, uses=("base_tailwind_kt",),
    sources=("afh-3c-ch8", "common-practice"),
)  # fmt: skip
def base_leg_tailwind(c: Context) -> Array:
    """Base leg is flown with the wind behind.

    What it watches
    ---------------
    The larger of mean and gust from behind on the base leg of the best runway, on the pattern side in use.
    Why it matters
    --------------
    The base is fast and the turn to final mostly more than 90 degrees (crab into a headwind can make it less); a
    student who overshoots and tightens with rudder is set up for a stall with no height.
    Worked example
    --------------
    31012KT, runway 04, left pattern: base is flown with about 12 kt behind: with care. More wind may make another
    end the best one, so this rule alone may fall silent; the crosswind rules do not.
    Source
    ------
    AFH chapter 8 on overshooting the final; the number is common practice, no source.
    """
    return c.over("base_tailwind_kt", c.base_tailwind_kt)
