"""What a forecast says of one minute, in plain code: the moments that ``plain_rating.rate`` rates together.

FM restates everything. TEMPO, PROB and BECMG restate what changes; over a BECMG both the old and the new values count,
from its end the new. Wind shear holds until the next FM and is no part of TEMPO or PROB (NWS lessons on the TAF).
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime, timedelta

from advisor.reports.decode_taf_groups import read_elements
from advisor.reports.types import CeilingState, Metar, Remarks, Sky, Taf, TafPeriod, Visibility
from advisor.segments import to_minutes
from advisor.wind import MISSING, Wind
from tests.plain_limits import (
    AIR_CARRIED_MIN,
    AMEND_SPEED_KT,
    AMEND_TURN_DEG,
    AMEND_TURN_FROM_KT,
    FOG_LATE_MIN,
    REPORT_STANDS_MIN,
    STORM_MARGIN_MIN,
    THUNDER_AHEAD_MIN,
)
from tests.plain_moment import Moment, Place, ceiling_ft, has_thunder, is_storm, pairs

TREND_FRAME = r"TEMPO|BECMG|INTER|PROB\d\d|(?:FM|TL|AT)\d{4,6}Z?|\d{4}/\d{4}"


def says_shear(group: TafPeriod) -> bool:
    """A wind shear group, readable or not."""
    return group.wind_shear is not None or any(x.startswith(("WS", "LLWS")) for x in group.not_understood)


def of_group(group: TafPeriod, minute: int) -> Moment:
    """A BASE or FM group."""
    return Moment(
        minute,
        group.wind or MISSING,
        group.sky or Sky(),
        group.visibility or Visibility(),
        group.weather or (),
        shear=says_shear(group),
        unread=bool(group.not_understood),
    )


def changed(under: Moment, group: TafPeriod, *, possible: bool) -> Moment:
    """A change group laid over what prevails."""
    weather = under.weather if group.weather is None else group.weather
    cavok = group.visibility is not None and group.visibility.raw == "CAVOK"
    if group.weather is None and (group.no_significant_weather or cavok):
        weather = ()
    return replace(
        under,
        wind=group.wind or under.wind,
        sky=group.sky or under.sky,
        visibility=group.visibility or under.visibility,
        weather=weather,
        possible=possible,
        shear=not possible and (under.shear or says_shear(group)),
        unread=bool(group.not_understood) or (under.unread and not possible),
    )


def span(group: TafPeriod) -> range:
    """Minutes of a group."""
    return range(to_minutes(group.start), to_minutes(group.end))


def homes(taf: Taf) -> list[tuple[TafPeriod, TafPeriod | None]]:
    """Every BECMG with the BASE or FM it changes: the one printed before it, or the one in force when it starts.

    ``None``: it starts after an FM printed later had restated everything.
    """
    bases = [g for g in taf.periods if g.change in ("BASE", "FM")]
    home, out = bases[0], []
    for g in taf.periods:
        if g in bases:
            home = g
        elif g.change == "BECMG":
            begun = [b for b in bases if b.start <= g.start]  # none where it starts before the forecast does
            own = home if g.start >= home.start or not begun else max(begun, key=lambda b: b.start)
            out.append((g, own if g.start < own.end else None))
    return out


def at_minute(taf: Taf, minute: int) -> list[Moment]:
    """Every group in force: prevailing, becoming, possible."""
    home = [g for g in taf.periods if g.change in ("BASE", "FM") and minute in span(g)]
    if not home:
        return []
    here = of_group(home[-1], minute)
    changes = sorted((g for g, own in homes(taf) if own is home[-1]), key=lambda g: g.end)
    for g in changes:
        if to_minutes(g.end) <= minute:
            here = changed(here, g, possible=False)
    out = [here, *(changed(here, g, possible=False) for g in changes if minute in span(g))]
    damaged = [g for g in taf.unreliable if minute in span(g)]
    if any(g.change not in ("TEMPO", "PROB") for g in damaged):
        # whether the old or the new values hold is not known: either may, and nothing prevails for certain
        out[0] = replace(here, possible=True, unread=True)
        out.insert(0, replace(here, wind=MISSING, sky=Sky(), visibility=Visibility(), unread=True))
    out += [changed(here, g, possible=True) for g in taf.periods if g.change in ("TEMPO", "PROB") and minute in span(g)]
    out += [replace(changed(here, g, possible=True), unread=True) for g in damaged]
    astray = [g for g, own in homes(taf) if own is None and to_minutes(g.start) <= minute]
    out += [changed(here, g, possible=True) for g in astray if g.start >= home[-1].start or minute in span(g)]
    return out


def of_report(metar: Metar, minute: int, now: datetime) -> Moment:
    """An observation, on a page made ``now``."""
    remarks = metar.remarks
    since = None if remarks.peak_wind_at is None else metar.observed_at - remarks.peak_wind_at
    return Moment(
        minute,
        metar.wind,
        metar.sky,
        metar.visibility,
        metar.weather,
        observed=True,
        remarks=remarks,
        recent=metar.recent_weather,
        peak_recent=since is None or timedelta(0) <= since <= timedelta(hours=1),
        shear=bool(metar.wind_shear),
        temperature_c=metar.temperature_c,
        dewpoint_c=metar.dewpoint_c,
        altimeter_inhg=metar.altimeter_inhg,
        age_min=age_min(metar, now),
        unread=bool(metar.not_understood),
    )


def of_trend(metar: Metar, minute: int, now: datetime) -> list[Moment]:
    """The changes of a trend printed after a report: each may come at any time in its two hours."""
    here = of_report(metar, minute, now)
    lowest_ft, lowest_sm = metar.remarks.ceiling_min_ft_agl, metar.remarks.visibility_min_sm
    sky, seen = replace(metar.sky, ceiling_ft_agl=ceiling_ft(here), layers=()), metar.visibility
    if lowest_ft is not None and sky.ceiling_state == CeilingState.NONE:
        sky = replace(sky, ceiling_state=CeilingState.AT)
    if seen.miles is not None and lowest_sm is not None and lowest_sm < seen.miles:
        seen = Visibility(lowest_sm)
    out = []
    for change in metar.trend:
        words = [w for w in change.split() if not re.fullmatch(TREND_FRAME, w)]
        if not words or change.startswith("NOSIG"):
            continue
        says = read_elements([w for w in words if w != "NSW"])
        weather = metar.weather if says.weather is None and "NSW" not in words else says.weather or ()
        under = replace(here, observed=False, possible=True, remarks=Remarks(), recent=(), weather=weather)
        out.append(
            replace(
                under,
                wind=says.wind or metar.wind,
                sky=says.sky or sky,
                visibility=says.visibility or seen,
                shear=says.wind_shear is not None,
                unread=bool(says.not_understood),
            )
        )
    return out


def age_min(metar: Metar, now: datetime) -> int:
    """Age of a report on a page made ``now``."""
    return to_minutes(now) - to_minutes(metar.observed_at)


def report_end(metar: Metar, taf: Taf | None) -> int:
    """A report stands for two hours, or until a later FM."""
    seen = to_minutes(metar.observed_at)
    starts = [to_minutes(g.start) for g in taf.periods if g.change == "FM"] if taf is not None else []
    return min([seen + REPORT_STANDS_MIN, *(s for s in starts if s > seen)])


def moments(metar: Metar | None, taf: Taf | None, minute: int, place: Place, now: datetime) -> list[Moment]:
    """Everything said of one minute on a page made ``now``: the report while it stands, and the forecast."""
    out = [] if taf is None else [replace(m, no_report=metar is None) for m in at_minute(taf, minute)]
    differ = False
    if metar is not None:
        warm = minute < to_minutes(metar.observed_at) + AIR_CARRIED_MIN
        for m in out:
            m.temperature_c = metar.temperature_c if warm else None
            m.dewpoint_c = metar.dewpoint_c if warm else None
            m.altimeter_inhg, m.age_min = metar.altimeter_inhg, age_min(metar, now)
        if minute < report_end(metar, taf):
            out.append(of_report(metar, minute, now))
        if minute < to_minutes(metar.observed_at) + REPORT_STANDS_MIN:
            out += of_trend(metar, minute, now)
        at = max(metar.observed_at, now)
        says = None if taf is None else prevailing_or_unknown(taf, to_minutes(at))
        if says is not None and age_min(metar, now) <= REPORT_STANDS_MIN:
            differ = disagree(of_report(metar, minute, now), says)
    about = storms_and_fog(metar, taf, minute, place, now)
    return [replace(m, disagrees=differ, **about) for m in out]


def prevailing_or_unknown(taf: Taf, minute: int) -> Moment | None:
    """What prevails, unknown where a damaged group may have replaced it: it comes first of what is more than possible."""
    return next((m for m in at_minute(taf, minute) if not m.possible), None)


def disagree(seen: Moment, said: Moment) -> bool:
    """What would make a forecaster amend (NWS lesson 6), or a storm in the report only."""
    a, b = seen.wind, said.wind
    a_mean, b_mean = mean_kt(a), mean_kt(b)
    if a_mean is not None and b_mean is not None:
        turn = 0
        if a.from_deg_true is not None and b.from_deg_true is not None:
            turn = abs((a.from_deg_true - b.from_deg_true + 180) % 360 - 180)
        a_peak, b_peak = a.gust_kt or a.undirected_gust_kt or a_mean, b.gust_kt or b.undirected_gust_kt or b_mean
        if max(abs(a_mean - b_mean), abs(a_peak - b_peak)) >= AMEND_SPEED_KT:
            return True
        if turn >= AMEND_TURN_DEG and max(a_mean, b_mean) >= AMEND_TURN_FROM_KT:
            return True
    stormy = is_storm(seen.weather) or bool(seen.remarks.funnel_cloud)
    return stormy and not is_storm(said.weather)


def mean_kt(wind: Wind) -> int | None:
    """Mean wind, that of a wind from nowhere known too."""
    return wind.undirected_kt if wind.speed_kt is None else wind.speed_kt


def storms_and_fog(metar: Metar | None, taf: Taf | None, minute: int, place: Place, now: datetime) -> dict[str, bool]:
    """Storms near in time, thunder ahead and today, and fog that was to be gone by now."""
    storms, thunder, foggy = [], [], []
    if taf is not None:
        first, last = to_minutes(taf.valid_from), to_minutes(taf.valid_to)
        cuts = [t for t in edges(taf) if first <= t < last]
        for start, end in zip(cuts, [*cuts[1:], last], strict=True):
            here = at_minute(taf, start)
            if any(is_storm(m.weather) for m in here):
                storms.append((start, end))
            if any(near_or_at(m.weather) for m in here):
                thunder.append((start, end))
            if any(is_fog(m.weather) for m in here if not m.possible):
                foggy.append((start, end))
    if metar is not None:
        seen = to_minutes(metar.observed_at)
        trend = of_trend(metar, minute, now)
        storms += [(seen, seen + REPORT_STANDS_MIN)] * any(is_storm(m.weather) for m in trend)
        thunder += [(seen, seen + REPORT_STANDS_MIN)] * any(near_or_at(m.weather) for m in trend)
        foggy = [(a, b) for a, b in foggy if b > seen]  # the report has put the others right
        if is_fog(metar.weather):
            foggy.append((seen, report_end(metar, taf)))
    today = [(r, s) for r, s in place.sun if r <= minute < s]
    return {
        "storm_near": any(a - STORM_MARGIN_MIN <= minute < b + STORM_MARGIN_MIN for a, b in storms)
        and not any(a <= minute < b for a, b in storms),
        "thunder_ahead": any(a - THUNDER_AHEAD_MIN <= minute < b for a, b in storms),
        "thunder_today": any(a < s and b > r for r, s in today for a, b in thunder),
        "fog_late": any(b <= minute < b + FOG_LATE_MIN for _, b in foggy),
    }


def near_or_at(weather: Iterable[str]) -> bool:
    """Thunder at the field or in its vicinity."""
    weather = tuple(weather)
    return has_thunder(weather) or has_thunder(weather, vicinity=True)


def is_fog(weather: Iterable[str]) -> bool:
    """Fog of any kind, in the vicinity too."""
    return any("FG" in words for _, words in map(pairs, weather))


def edges(taf: Taf) -> list[int]:
    """Minutes at which a group begins or ends."""
    groups = [*taf.periods, *taf.unreliable]
    return sorted({to_minutes(taf.valid_from), *(to_minutes(x) for g in groups for x in (g.start, g.end))})
