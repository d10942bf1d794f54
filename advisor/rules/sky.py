"""Rules about ceiling and visibility."""

from __future__ import annotations

import numpy as np

from advisor.rules.context import Context, number
from advisor.rules.registry import Array, Level, rule
from advisor.segments import visibility_said


def _feet(value: float, limit: float) -> str:
    return number(value, limit) if np.isfinite(value) else "none"


def _say_area(c: Context, s: int, _l: int, i: int) -> str:
    stop = c.limits.pair("ceiling_area_ft", s)[1]
    return (
        f"ceiling {_feet(c.ceiling_area_ft[i], stop)} ft above the practice-area ground "
        f"({c.pair_words('ceiling_area_ft', s)})"
    )


@rule(
    "CE01", "ceiling-over-area", family="ceiling", scope="height", say=_say_area,
    figure=lambda c: -c.ceiling_area_ft, uses=("ceiling_area_ft",),
    sources=("cfr-91-155", "common-practice"), worse=("ceiling_ft-",),
)  # fmt: skip
def ceiling_over_area(c: Context) -> Array:
    """The ceiling is low over the practice area.

    What it watches
    ---------------
    The lowest broken, overcast or vertical-visibility height, less the ground of the practice area above the
    field.
    Why it matters
    --------------
    Lessons are flown near 1,000 ft above the ground and need 500 ft below cloud, with height left to climb away
    from a lesson that goes wrong. A low ceiling is never a reason for a low lesson.
    Worked example
    --------------
    OVC018 before solo: below the stop of 2,000 ft, hold. OVC030 alone: on the stop of 3,000, ask first.
    Source
    ------
    14 CFR 91.155 for the floor of lesson height plus 500 ft; the limits are common practice, no source.
    """
    return c.under("ceiling_area_ft", c.ceiling_area_ft)


def _say_pattern(c: Context, s: int, _l: int, i: int) -> str:
    stop = c.limits.pair("ceiling_pattern_ft", s)[1]
    return f"ceiling {_feet(c.t.ceiling_ft[i], stop)} ft above the field ({c.pair_words('ceiling_pattern_ft', s)})"


@rule(
    "CE02", "ceiling-for-pattern", family="ceiling", scope="pattern", say=_say_pattern,
    figure=lambda c: -c.t.ceiling_ft, uses=("ceiling_pattern_ft",),
    sources=("cfr-91-155", "common-practice"), worse=("ceiling_ft-",),
)  # fmt: skip
def ceiling_for_pattern(c: Context) -> Array:
    """The ceiling is low for the traffic pattern.

    What it watches
    ---------------
    The ceiling above the field against the limits for circuits.
    Why it matters
    --------------
    Pattern height is 1,000 ft, cloud stays 500 ft above, and a go-around must not end in it.
    Worked example
    --------------
    OVC018 before solo: inside the stop of 1,500, care (2,000). Alone: below the stop of 2,000, hold.
    Source
    ------
    14 CFR 91.155 for the floor; AIM figure 4-3-2 for pattern height; the limits are common practice, no source.
    """
    return c.under("ceiling_pattern_ft", c.t.ceiling_ft)


def _say_no_ceiling(_c: Context, _s: int, _l: int, _i: int) -> str:
    return "the ceiling is not known: no cloud group could be read, and that is not a clear sky"


@rule("CE03", "ceiling-unknown", family="missing", axes="row", say=_say_no_ceiling, sources=("design",))
def ceiling_unknown(c: Context) -> Array:
    """The ceiling is not known.

    What it watches
    ---------------
    A report or prevailing group whose sky is missing or could not be read.
    Why it matters
    --------------
    Every lesson needs height below cloud. No cloud group is not a clear sky.
    Worked example
    --------------
    An automatic report with no sky group: not rated. CLR is a reported sky and is rated.
    Source
    ------
    Common practice, no source.
    """
    return c.flag(np.isnan(c.t.ceiling_ft), Level.MISSING)


def _say_visibility(c: Context, s: int, _l: int, i: int) -> str:
    pair = c.limits.pair("visibility_sm", s)
    return f"visibility {visibility_said(float(c.t.visibility_sm[i]), pair)} SM ({c.pair_words('visibility_sm', s)})"


@rule(
    "VS01", "visibility-low", family="visibility", say=_say_visibility,
    figure=lambda c: -c.t.visibility_sm, uses=("visibility_sm",),
    sources=("cfr-61-89", "cfr-91-155", "common-practice"), worse=("visibility_sm-",),
)  # fmt: skip
def visibility_low(c: Context) -> Array:
    """The visibility is low for this stage.

    What it watches
    ---------------
    Prevailing visibility, or the lower figure of a variable-visibility remark.
    Why it matters
    --------------
    The reference, the traffic and the field to land in must all be seen; haze also distorts judged distance.
    Worked example
    --------------
    5SM alone: on the stop, ask first. 4SM alone: below it, hold.
    Source
    ------
    14 CFR 61.89 (3 SM for a student alone by day) and 91.155 are the floor; the limits are common practice.
    """
    return c.under("visibility_sm", c.t.visibility_sm)


def _say_no_visibility(_c: Context, _s: int, _l: int, _i: int) -> str:
    return "the visibility is missing; that is not good visibility"


@rule("VS02", "visibility-missing", family="missing", axes="row", say=_say_no_visibility, sources=("design",))
def visibility_missing(c: Context) -> Array:
    """The visibility is missing or could not be read.

    What it watches
    ---------------
    A report or prevailing group without a visibility that can be trusted.
    Why it matters
    --------------
    Every lesson depends on it.
    Worked example
    --------------
    A visibility printed as slashes: not rated.
    Source
    ------
    Common practice, no source.
    """
    return c.flag(np.isnan(c.t.visibility_sm), Level.MISSING)
