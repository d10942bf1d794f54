"""Cautions that the wind gives, one after the other, for ``plain_rating.py``."""

from __future__ import annotations

import math
from collections.abc import Iterator

from advisor.wind import Wind, WindState
from tests.plain_air import pivotal_ft, radius_ft, true_airspeed_kt, wind_above_kt
from tests.plain_limits import (
    CIRCLES,
    EXIT_BANK_DEG,
    LESSON_MEAN_KT,
    LESSON_SPREAD_KT,
    MARGIN,
    PATTERN,
    PIVOTAL_FT,
    PLANNED_BANK_DEG,
    PRACTICE_KIAS,
    PRE,
    PYLONS,
    RADIUS_FT,
    SOLO,
    STAGES,
    STALL_KCAS,
    STRONG_PEAK_KT,
    STRONG_SPREAD_KT,
    SWING_DEG,
    VARIABLE_KT,
    WIND_TO_TAS,
)
from tests.plain_moment import ASK, HOLD, NOT_RATED, SLACK, Found, Moment, Place


def wind_rows(
    m: Moment, stage: str, lesson: str, place: Place, day: dict, care: str, stop: str, alone: bool, stable: bool
) -> Iterator[Found]:
    """Cautions that the wind gives."""
    w, mean = m.wind, m.wind.speed_kt
    if not place.ends:
        yield Found("runway unknown", "crosswind", NOT_RATED if lesson == PATTERN else care)
    gust = w.gust_kt
    if mean is None:
        yield Found("wind missing", "wind", NOT_RATED)
        mean, gust = w.undirected_kt, w.undirected_gust_kt  # too strong from anywhere is too strong
        if mean is None:
            return
    if w.gust_missing:
        yield Found("gust missing", "gust", NOT_RATED)
    peak = mean if gust is None else max(mean, gust)
    spread = 0 if gust is None else gust - mean
    at = STAGES.index(stage)
    if mean > day["mean_kt"][1] or mean > (LESSON_MEAN_KT[lesson][at] or 0):
        yield Found("mean", "wind", stop)
    elif mean >= day["mean_kt"][0]:
        yield Found("mean", "wind", care)
    if peak > day["peak_kt"][1]:
        yield Found("peak", "gust", stop)
    elif gust is not None if stage == SOLO else peak >= day["peak_kt"][0]:
        yield Found("peak", "gust", care)
    lesson_spread = day["spread_kt"][1] if stage == SOLO else LESSON_SPREAD_KT[lesson][0 if stage == PRE else 1]
    if gust is not None and spread > min(day["spread_kt"][1], lesson_spread or 0):
        yield Found("spread", "gust", stop)
    elif gust is not None and (stage == SOLO or spread >= day["spread_kt"][0]):
        yield Found("spread", "gust", care)
    if peak >= STRONG_PEAK_KT and spread >= STRONG_SPREAD_KT:
        yield Found("strong and gusty", "gust", stop if stage in (PRE, SOLO) else HOLD if alone else ASK)
    if w.speed_kt is None and (place.ends or lesson == PATTERN):
        return
    swinging = w.state == WindState.VARIABLE and mean >= VARIABLE_KT
    if swinging or (w.state != WindState.VARIABLE and w.swing_deg >= SWING_DEG):
        passed = day["variable_kt"] is not None and mean > day["variable_kt"]
        yield Found("variable", "variable", stop if passed else care)

    across, tail = at_the_runway(w, peak, place, day["tailwind_kt"][0])
    low, high = day["crosswind_kt"]
    if lesson == PATTERN:
        high = min(high, place.demonstrated_kt)
        low = min(low, high)
    if not place.ends and lesson == PATTERN:
        pass  # not rated: no crosswind is guessed for the lesson that is about it (the case of 22008KT)
    elif lesson == PATTERN or stage == SOLO:
        if across > high + SLACK:
            yield Found("crosswind", "crosswind", stop)
        elif across >= low - SLACK:
            yield Found("crosswind", "crosswind", care)
    elif across > day["crosswind_never_kt"] + SLACK:
        yield Found("crosswind", "crosswind", stop)
    elif across > place.demonstrated_kt + SLACK:
        yield Found("crosswind", "crosswind", HOLD if alone else ASK)
    # a swing may be behind at both ends of a runway nobody knows
    behind = peak * math.sin(math.radians(min(w.swing_deg, 180) / 2)) if w.state == WindState.STEADY else 0.0
    if not place.ends and lesson != PATTERN and behind > day["tailwind_kt"][1] + SLACK:
        yield Found("runway unknown", "crosswind", stop)
    if lesson == PATTERN and base_tailwind(w, peak, place, day["tailwind_kt"][0]) >= day["base_tailwind_kt"] - SLACK:
        yield Found("tailwind on base", "crosswind", care)
    if tail > day["tailwind_kt"][1] + SLACK:
        yield Found("tailwind", "crosswind", stop)
    elif tail >= day["tailwind_kt"][0] - SLACK:
        yield Found("tailwind", "crosswind", care)

    # the lesson in the wind at its height
    if w.speed_kt is None:
        return
    high_kt, tas = wind_above_kt(m, mean, peak, stable), true_airspeed_kt(m, place)
    if high_kt / tas >= WIND_TO_TAS[stage] - SLACK:
        yield Found("wind to airspeed", "demand", care)
    bank = PLANNED_BANK_DEG[stage]
    if lesson in CIRCLES:
        if radius_ft(tas, mean, EXIT_BANK_DEG) > RADIUS_FT:
            yield Found("radius", "demand", stop)
        elif radius_ft(tas, high_kt, EXIT_BANK_DEG) > RADIUS_FT:
            yield Found("radius", "demand", ASK)
        elif radius_ft(tas, high_kt, bank) > RADIUS_FT:
            yield Found("radius", "demand", care)
    if lesson == PYLONS:
        if pivotal_ft(tas, mean) < PIVOTAL_FT - SLACK:
            yield Found("pivotal height", "demand", stop)
        elif pivotal_ft(tas, high_kt) < PIVOTAL_FT - SLACK:
            yield Found("pivotal height", "demand", ASK)
    margin = (PRACTICE_KIAS - spread) / (STALL_KCAS / math.sqrt(math.cos(math.radians(bank))))
    if margin < MARGIN[1]:
        yield Found("stall margin", "demand", stop)
    elif margin < MARGIN[0]:
        yield Found("stall margin", "demand", care)


def worst_share(w: Wind, course: float) -> tuple[float, float]:
    """Largest share of the wind across a course and from behind it, over every direction the group allows."""
    if w.state != WindState.STEADY:
        return (1.0 if w.state == WindState.VARIABLE else 0.0), 0.0
    first = w.from_deg_true if w.varying_from_deg is None else w.varying_from_deg
    width = w.swing_deg

    def inside(direction: float) -> bool:
        return (direction - first) % 360 <= width

    ends = [math.radians(d - course) for d in (first, first + width, w.from_deg_true)]
    across = 1.0 if inside(course + 90) or inside(course - 90) else max(abs(math.sin(a)) for a in ends)
    behind = 1.0 if inside(course + 180) else max(-math.cos(a) for a in ends)
    return across, max(behind, 0.0)


def best_end(w: Wind, peak: float, place: Place, care_tailwind: float) -> tuple[float, float, float]:
    """Crosswind, tailwind and bearing of the best end: least crosswind of those inside the care tailwind."""
    ends = [(*(peak * x for x in worst_share(w, end)), end) for end in place.ends]
    inside = [x for x in ends if x[1] < care_tailwind - SLACK]
    if inside:
        return min(inside, key=lambda x: round(x[0] + x[1] * SLACK, 9))
    return min(ends, key=lambda x: round(x[1] + x[0] * SLACK, 9))


def at_the_runway(w: Wind, peak: float, place: Place, care_tailwind: float) -> tuple[float, float]:
    """Crosswind and tailwind, kt, at the best end; all of it across where no end is known."""
    return best_end(w, peak, place, care_tailwind)[:2] if place.ends else (float(peak), 0.0)


def base_tailwind(w: Wind, peak: float, place: Place, care_tailwind: float) -> float:
    """Wind from behind on base of a left pattern at the best end, kt."""
    if not place.ends:
        return 0.0
    return peak * worst_share(w, best_end(w, peak, place, care_tailwind)[2] + 90)[1]
