"""Rules about gusts: the peak, the spread, and what no reported gust does not mean."""

from __future__ import annotations

import numpy as np

from advisor.lessons import lessons
from advisor.limits import SLACK, table
from advisor.rules.context import Context, number
from advisor.rules.registry import Array, Level, rule
from advisor.table import State


def _say_peak(c: Context, s: int, _l: int, i: int) -> str:
    what = "gusts to" if c.has_gust[i] else "wind of"
    return f"{what} {number(c.peak_kt[i])} kt ({c.pair_words('peak_wind_kt', s)})"


@rule(
    "GU01", "peak-wind", family="gust", say=_say_peak,
    figure=lambda c: c.peak_kt, uses=("peak_wind_kt",), worse=("mean_kt+", "gust_kt+"),
)  # fmt: skip
def peak_wind(c: Context) -> Array:
    """The strongest wind of the group is high for this stage.

    What it watches
    ---------------
    The larger of mean and gust. For a student alone any reported gust is already care.
    Why it matters
    --------------
    A gust arrives at the worst place by chance: at the steepest bank, or over the runway.
    Worked example
    --------------
    20011G20KT for a student alone: 20 is over the stop of 18, hold. 15G18: 18 is inside, ask first.
    Source
    ------
    Common practice, no source.
    """
    level = c.over("peak_wind_kt", c.peak_kt)
    any_gust = c.limits.any_gust["peak_wind_kt"] & c.has_gust
    return np.where((level == Level.QUIET) & any_gust, np.uint8(Level.CARE), level)


def _say_spread(c: Context, s: int, _l: int, i: int) -> str:
    return f"gust spread {number(c.spread_kt[i])} kt, mean to gust ({c.pair_words('gust_spread_kt', s)})"


@rule(
    "GU02", "gust-spread", family="gust", say=_say_spread,
    figure=lambda c: c.spread_kt, uses=("gust_spread_kt",), worse=("gust_kt+",),
)  # fmt: skip
def gust_spread(c: Context) -> Array:
    """The gust spread is wide for this stage.

    What it watches
    ---------------
    Gust minus mean of one group. No G means no spread is known, not that there is none.
    Why it matters
    --------------
    The spread is what the airspeed needle shows: margin over the stall comes and goes with it, and bumps make a
    constant radius unlearnable.
    Worked example
    --------------
    20011G20KT: spread 9. Before solo that is care (8); alone it passes 7: hold.
    Source
    ------
    Common practice, no source.
    """
    level = c.over("gust_spread_kt", c.spread_kt)
    any_gust = c.limits.any_gust["gust_spread_kt"] & c.has_gust
    return np.where((level == Level.QUIET) & any_gust, np.uint8(Level.CARE), level)


def _say_lesson_spread(c: Context, s: int, lesson: int, i: int) -> str:
    stop = float(c.lesson_spread_stop_kt[s, lesson, 0])
    name = lessons()[lesson].title.lower()
    return f"gust spread {number(c.spread_kt[i])} kt is over the {stop:g} kt stop for {name}"


@rule(
    "GU03", "lesson-gust-spread", family="gust", axes="lesson", say=_say_lesson_spread,
    figure=lambda c: c.spread_kt, worse=("gust_kt+",),
)  # fmt: skip
def lesson_gust_spread(c: Context) -> Array:
    """The gust spread is over this lesson's own stop.

    What it watches
    ---------------
    Gust minus mean against the stop of the lesson and stage (``data/lessons.toml``).
    Why it matters
    --------------
    A circle of constant radius cannot be judged when the wind at the next point is a different one.
    Worked example
    --------------
    20011G20KT before solo: spread 9 holds circle lessons (stop 8), tracking may run with care (stop 10).
    Source
    ------
    Common practice, no source.
    """
    spread = np.where(np.isnan(c.spread_kt), -np.inf, c.spread_kt)
    return c.flag(spread[None, None, :] > c.lesson_spread_stop_kt + SLACK, Level.STOP)


def _say_both(c: Context, _s: int, _l: int, i: int) -> str:
    row = table()["own_cap"]["peak_with_spread"]
    return (
        f"gusts to {number(c.peak_kt[i])} kt with a spread of {number(c.spread_kt[i])} kt "
        f"(together from {row['peak_kt']} kt and {row['spread_kt']} kt); the instructor may choose to demonstrate"
    )


@rule(
    "GU04", "peak-with-spread", family="gust", say=_say_both,
    figure=lambda c: c.peak_kt, worse=("gust_kt+",),
)  # fmt: skip
def peak_with_spread(c: Context) -> Array:
    """A strong peak and a wide spread come together.

    What it watches
    ---------------
    A peak of 25 kt or more with a spread of 8 kt or more in one group.
    Why it matters
    --------------
    Either alone can be taught in; both together leave a student nothing to learn and an instructor little to
    spare. The numbers are still shown, because the instructor may choose to demonstrate.
    Worked example
    --------------
    22018G27KT before solo: 27 kt with a spread of 9, hold. After solo: ask first.
    Source
    ------
    Common practice, no source.
    """
    row = table()["own_cap"]["peak_with_spread"]
    both = (c.peak_kt >= row["peak_kt"] - SLACK) & (c.spread_kt >= row["spread_kt"] - SLACK)
    words = {"stop": Level.STOP, "ask": Level.ASK_OR_HOLD}
    by_stage = np.array([[words[row[s.stage]]] for s in c.limits.setups], dtype=np.uint8)
    return np.where(both, by_stage, np.uint8(Level.QUIET))


def _say_remark(c: Context, s: int, _l: int, i: int) -> str:
    stop = c.limits.pair("peak_wind_kt", s)[1]
    return f"a peak wind of {number(c.t.peak_remark_kt[i])} kt in the last hour (PK WND), over the {stop:g} kt stop"


@rule(
    "GU05",
    "peak-wind-remark",
    family="gust",
    say=_say_remark,
    uses=("peak_wind_kt", "peak_remark_min"),
    worse=("peak_remark_kt+",),
)
def peak_wind_remark(c: Context) -> Array:
    """A peak of the last hour passed the stop.

    What it watches
    ---------------
    The remark PK WND against the stop for the peak. It is neither peak, spread nor crosswind of the report.
    Why it matters
    --------------
    The steady figure hides what the field saw within the hour.
    Worked example
    --------------
    22012KT with PK WND 22034/1740: a student alone is on hold, the others ask first.
    Source
    ------
    Common practice, no source; the remark appears above 25 kt only (FMH-1).
    """
    return c.flag(c.t.peak_remark_kt > c.limits.stop["peak_wind_kt"] + SLACK, Level.ASK_OR_HOLD)


def _say_gust_missing(_c: Context, _s: int, _l: int, _i: int) -> str:
    return "a gust was reported without a figure; the peak is not known"


@rule("GU06", "gust-missing", family="missing", axes="row", say=_say_gust_missing, sources=("design",))
def gust_missing(c: Context) -> Array:
    """A gust was reported and its figure is missing.

    What it watches
    ---------------
    A wind group whose gust is printed as slashes or could not be read.
    Why it matters
    --------------
    The peak could be anything; every lesson depends on it.
    Worked example
    --------------
    09010G//KT: not rated.
    Source
    ------
    Common practice, no source.
    """
    return c.flag((c.t.gust_state == State.MISSING) | (c.t.gust_state == State.NOT_UNDERSTOOD), Level.MISSING)


def _say_no_gust(_c: Context, _s: int, _l: int, _i: int) -> str:
    return "no gust was reported; that does not mean there are none"


@rule("GU07", "no-gust-reported", family="note", axes="row", say=_say_no_gust, sources=("fmh-1",))
def no_gust_reported(c: Context) -> Array:
    """No gust was reported, which is not the same as no gusts.

    What it watches
    ---------------
    A known wind, not calm, without G.
    Why it matters
    --------------
    Gusts are printed only when peaks and lulls differ by 10 kt in ten minutes; a spread just under that is
    silent, and so is a gust after the report.
    Worked example
    --------------
    22012KT: the page says that no G is not no gusts. It caps nothing.
    Source
    ------
    FMH-1 5.4.4 (gust criterion), quoted in AFMAN 15-111.
    """
    return c.flag(c.wind_known & (c.t.mean_kt > 0) & (c.t.gust_state == State.NONE), Level.NOTE)
