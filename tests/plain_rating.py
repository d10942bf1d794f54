"""The rating of one minute in plain scalar code: a second, independent statement of the rules.

Written from the table of limits and the way a limit is read, not from the rules: ``if value > limit``, one minute, one
stage, one lesson at a time. Nothing is shared with ``advisor/rules``; the decoded report is the only common ground.
``rate`` gives the suitability and what was found.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from advisor.reports.types import CeilingState
from tests.plain_air import density_altitude_ft, vapour_hpa
from tests.plain_limits import (
    CALM_KT,
    CARBURETTOR,
    CARBURETTOR_TO_C,
    DAY,
    EARLY_SOLO,
    FAMILIES,
    FREEZING_BAND_C,
    FROST_SPREAD_C,
    LAST_HOUR_MIN,
    LESSON_MEAN_KT,
    PATTERN,
    SOLO,
    STAGES,
    TWILIGHT_MIN,
)
from tests.plain_moment import (
    ASK,
    CARE,
    FROZEN,
    HOLD,
    NOT_RATED,
    NOT_TAUGHT,
    SLACK,
    SUITED,
    WORST_FIRST,
    Found,
    Moment,
    Place,
    ceiling_ft,
    has_thunder,
    is_storm,
    pairs,
)
from tests.plain_wind import wind_rows


def rows(m: Moment, stage: str, lesson: str, place: Place, early: bool, alone: bool) -> Iterator[Found]:
    """Every caution of one moment."""
    day = DAY[stage] | (EARLY_SOLO if early else {})
    care = ASK if alone else CARE
    own = HOLD if alone else ASK  # rows that give a cap of their own
    stop = ASK if m.possible and not alone else HOLD
    risen = [(r, s) for r, s in place.sun if r <= m.minute < s]
    if not risen:
        yield Found("dark", "light", HOLD)
    ends = [(r, s) for r, s in risen if s - r < 1440]  # under a midnight sun no day ends
    stable = not risen or any(m.minute < r + TWILIGHT_MIN or m.minute >= s - TWILIGHT_MIN for r, s in ends)
    if alone and any(m.minute >= s - LAST_HOUR_MIN for _, s in ends):
        yield Found("last hour of light", "light", care)

    # what was said that stands alone
    if m.age_min is not None and m.age_min >= day["age_min"][0]:
        yield Found("age", "age", care)
    if m.no_report:
        yield Found("no fresh report", "age", care)
    if m.disagrees:
        yield Found("disagreement", "disagreement", care)
    if m.unread:
        yield Found("unread group", "source", care)

    # weather
    storms = is_storm(m.weather) or bool(m.observed and m.remarks.funnel_cloud)
    if storms:
        yield Found("storm", "thunder", HOLD)
    elif m.storm_near:
        yield Found("storm near in time", "thunder", own)
    cb = any(x.cloud_type == "CB" for x in m.sky.layers)
    tcu = any(x.cloud_type == "TCU" for x in m.sky.layers)
    if m.observed:
        told = m.remarks.thunder_location
        cb = cb or any("TCU" not in x or "CB" in x for x in m.remarks.cb_or_tcu)
        tcu = tcu or any("TCU" in x for x in m.remarks.cb_or_tcu)
        near = has_thunder(m.weather, vicinity=True) or has_thunder(m.recent) or m.remarks.lightning_near
        if near or any("DSNT" not in x for x in told):
            yield Found("thunder near", "thunder", HOLD)
        if m.remarks.lightning_distant or cb or any("DSNT" in x for x in told):
            yield Found("distant lightning or CB", "thunder", own)
        if m.remarks.no_thunder_sensor:
            yield Found("no thunder sensor", "source", care)
        told = m.remarks.peak_wind_kt if m.peak_recent else None
        if told is not None and told > day["peak_kt"][1]:
            yield Found("peak remark", "gust", own)
        blind = m.remarks.no_present_weather_sensor or m.remarks.no_freezing_rain_sensor
        if blind and m.temperature_c is not None and m.temperature_c <= FREEZING_BAND_C:
            yield Found("weather sensor out", "source", care)
        if m.remarks.wind_estimated:
            yield Found("wind estimated", "source", care)
        if m.remarks.wind_shift_at is not None or m.remarks.wind_shift_front:
            yield Found("wind shift", "variable", care)
    elif cb or has_thunder(m.weather, vicinity=True):
        yield Found("storm ahead", "thunder", care)
    if tcu or m.thunder_ahead or (m.observed and m.remarks.virga):
        yield Found("storm ahead", "thunder", care)
    if m.fog_late or any("FG" in words for _, words in map(pairs, m.weather)):
        yield Found("fog seen or late", "fog", care)
    if m.thunder_today and alone:
        yield Found("thunder today", "thunder", care)

    # ceiling and visibility
    ceiling = ceiling_ft(m)
    if m.sky.ceiling_state == CeilingState.UNKNOWN:
        yield Found("ceiling missing", "ceiling", NOT_RATED)
    elif ceiling is not None:
        key = "ceiling_pattern_ft" if lesson == PATTERN else "ceiling_area_ft"
        above = ceiling - (0.0 if lesson == PATTERN else place.ground_above_field_ft)
        if above < day[key][1] - SLACK:
            yield Found("ceiling", "ceiling", stop)
        elif above <= day[key][0] + SLACK:
            yield Found("ceiling", "ceiling", care)
    miles = m.visibility.miles
    if miles is None:
        yield Found("visibility missing", "visibility", NOT_RATED)
    else:
        if m.observed and m.remarks.visibility_min_sm is not None:
            miles = min(miles, m.remarks.visibility_min_sm)
        more = m.visibility.bound == "at_least" and miles == m.visibility.miles
        if miles < day["visibility_sm"][1]:
            yield Found("visibility", "visibility", stop)
        elif miles < day["visibility_sm"][0] or (miles == day["visibility_sm"][0] and not more):
            yield Found("visibility", "visibility", care)

    falling = [words & (FROZEN | {"DZ", "RA", "UP"}) for near, words in map(pairs, m.weather) if not near]
    freezing = m.temperature_c is not None and m.temperature_c <= FREEZING_BAND_C
    if any(words & FROZEN or (words and freezing) for words in falling):
        yield Found("snow or frost", "icing", care)

    # the air
    t, dew = m.temperature_c, m.dewpoint_c
    speed = m.wind.undirected_kt if m.wind.speed_kt is None else m.wind.speed_kt
    calm = speed is not None and speed <= CALM_KT
    if t is not None:
        if t < day["cold_c"][1]:
            yield Found("cold", "temperature", stop)
        elif t <= day["cold_c"][0]:
            yield Found("cold", "temperature", care)
        if t > day["heat_c"][1]:
            yield Found("heat", "temperature", stop)
        elif t >= day["heat_c"][0]:
            yield Found("heat", "temperature", care)
        if density_altitude_ft(m, place) - place.elevation_ft >= day["density_altitude_ft"]:
            yield Found("density altitude", "temperature", care)
        if t <= FREEZING_BAND_C and dew is not None and t - dew <= FROST_SPREAD_C + SLACK:
            yield Found("snow or frost", "icing", care)
        if dew is not None and stable and calm:
            if t - dew < day["dew_spread_c"][1] - SLACK:
                yield Found("fog", "fog", stop)
            elif t - dew <= day["dew_spread_c"][0] + SLACK:
                yield Found("fog", "fog", care)
        if dew is not None:
            humid = vapour_hpa(dew) / vapour_hpa(t) * 100.0
            if t <= CARBURETTOR_TO_C and any(t >= cold and humid >= least for cold, least in CARBURETTOR):
                yield Found("carburettor ice", "carburettor", CARE)

    # shear
    if m.shear:
        yield Found("shear", "shear", stop if alone else care)
    if stable and calm and m.wind.known:
        yield Found("inversion guess", "shear", care)
    yield from wind_rows(m, stage, lesson, place, day, care, stop, alone, stable)


def rate(
    moments: Iterable[Moment], stage: str, lesson: str, place: Place, *, early: bool = False, alone: bool | None = None
) -> tuple[str, list[Found]]:
    """Suitability and cautions of one minute, over every group in force."""
    if LESSON_MEAN_KT[lesson][STAGES.index(stage)] is None:
        return NOT_TAUGHT, []
    lone = stage == SOLO if alone is None else alone
    found: list[Found] = []
    read = False
    for m in moments:
        old = m.observed and m.age_min is not None and m.age_min > DAY[stage]["age_min"][1]
        here = replace(m, possible=True) if old else m  # counts as missing, and can only warn
        read = read or not here.possible
        found += rows(here, stage, lesson, place, early, lone)
    if not read:
        found.append(Found("nothing reaches", "age", NOT_RATED))
    if len({f.family for f in found if f.cap == CARE and f.family != "carburettor"}) >= FAMILIES:
        found.append(Found("three families", "families", ASK))
    worst = min((f.cap for f in found), key=WORST_FIRST.index, default=SUITED)
    return worst, found
