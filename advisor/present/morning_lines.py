"""Everything the desk says about one field, line by line; the text and the page print the same lines."""

from __future__ import annotations

from typing import NamedTuple

from advisor.clock import age_words, both, both_with_day
from advisor.morning import Hazard, MorningSummary, RunwayWind, StationMorning
from advisor.present.morning_words import (
    BlockWords,
    block_words,
    ceiling,
    cited,
    cut,
    height,
    joined,
    span,
    status_line,
    surface,
)
from advisor.present.words import bearing, length
from advisor.segments import to_minutes, visibility_value


def hazard_pairs(s: StationMorning, *, doubts: bool) -> list[tuple[str, str]]:
    """Hazards, or doubts, as what is said and the group it comes from."""
    out = [_hazard(s, h) for h in s.hazards if h.doubt is doubts]
    if doubts and s.now_from != "report" and s.day.station.observation is not None:
        out.insert(0, (f"the report is {age_words(s.day.station.age_min)} old and no longer counts", ""))
    if doubts and not s.now_from:
        out.insert(0, ("no report and no forecast that counts covers this hour", ""))
    return out


def _hazard(s: StationMorning, h: Hazard) -> tuple[str, str]:
    return f"{h.message} ({h.code}), {span(s.day.zone, h.start, h.end, s.day.made_at)}", cited(h.layer, h.group)


def now_lines(s: StationMorning, units: str) -> list[str]:
    """The latest report in words with its age, or what stands in for it."""
    day = s.day
    observation = day.station.observation
    out = []
    if observation is None:
        out.append("No report that can be used.")
    else:
        age = day.station.age_min
        out.append(
            f"{observation.kind} {observation.station} {both(observation.observed_at, day.zone)}, {age_words(age)} old."
        )
        out.append(cut(observation.raw, 300))
        miles = visibility_value(observation.visibility)
        seen = "visibility unknown" if miles != miles else f"visibility {observation.visibility.miles:g} SM"
        bound = {"at_least": " or more", "less_than": " or less"}.get(observation.visibility.bound or "", "")
        weather = f", {' '.join(observation.weather)}" if observation.weather else ""
        if s.now_from == "report":
            out.append(
                f"In words: {surface(s.wind_now)}; {seen}{bound}{weather}; ceiling {ceiling(s.wind_now.ceiling_ft, units)}."
            )
    if s.now_from == "forecast":
        out.append(f"By the forecast for this hour: {surface(s.wind_now)}.")
    elif not s.now_from:
        out.append("Nothing that counts covers this hour: the wind and the sky now are not known.")
    out += [x for x in (day.station.source.observation_from, day.station.source.forecast_from) if x]
    return out


def forecast_lines(s: StationMorning) -> list[str]:
    """The forecast the blocks are cut from."""
    taf = s.day.station.source.taf
    if taf is None:
        return ["No forecast that can be used: hours past the report's two are not rated."]
    return [
        f"TAF {taf.station} issued {both(taf.issued_at, s.day.zone)}, ends {both_with_day(taf.valid_to, s.day.zone)}.",
        cut(taf.raw, 700),
    ]


def trend_lines(s: StationMorning, units: str) -> list[str]:
    """The last reports, newest first, and what moved."""
    out = []
    for p in s.trend:
        seen = "visibility unknown" if p.visibility_sm is None else f"{p.visibility_sm:g} SM"
        spread = "spread unknown" if p.spread_c is None else f"spread {p.spread_c:.1f} C"
        setting = "altimeter unknown" if p.altimeter_inhg is None else f"{p.altimeter_inhg:.2f} inHg"
        out.append(
            f"{both(p.observed_at, s.day.zone)} {p.wind}, {seen}, ceiling {ceiling(p.ceiling_ft, units)}, {spread}, {setting}"
        )
    words = ", ".join(s.trend_words[:-1]) if len(s.trend_words) > 1 else ""
    out.append(
        f"{words[:1].upper()}{words[1:]} {s.trend_words[-1]}." if words else f"{s.trend_words[-1]}.".capitalize()
    )
    return out


def wind_lines(s: StationMorning, units: str) -> list[str]:
    """Wind now at the field, at lesson height and at the lowest winds-aloft level; the sun."""
    out = [f"At the field now: {surface(s.wind_now)}. At lesson height: {height(s.wind_now)}."]
    for start, end, kt, feet in s.aloft:
        out.append(
            f"Lowest winds-aloft level, {length(feet, units)} above the field: {kt:.0f} kt, used "
            f"{both(start, s.day.zone)} to {both(end, s.day.zone)}."
        )
    if not s.aloft:
        out.append("Winds aloft: none to compare with.")
    return out


def runway_lines(s: StationMorning) -> list[str]:
    """Head and crosswind at each runway end now."""
    site = s.day.station.source.site
    ends, shut_now = site.runways, site.closed_at(to_minutes(s.day.made_at))
    out = [_runway(r) for r in s.runways]
    if s.runways and s.wind_now.mean_kt == 0:
        out = [f"Calm: nothing along or across {joined([r.name for r in s.runways])}."]
    if not ends:
        out.append("No runway of this field is known; the full wind counts as crosswind.")
    elif not s.runways:
        shut = all(e.name in shut_now for e in ends)
        out.append("Every runway is closed." if shut else "No components: the wind now is not known.")
    closed = [e.name for e in ends if e.name in shut_now]
    if closed:
        out.append(f"Closed: {', '.join(closed)}.")
    return out


def _runway(r: RunwayWind) -> str:
    side = {"left": " from the left", "right": " from the right", "either": " from either side"}.get(r.side, "")
    across = f"{r.cross_kt:.0f} kt across{side}"
    if round(r.cross_peak_kt) > round(r.cross_kt):
        across += f", up to {r.cross_peak_kt:.0f} in gusts and swings"
    if r.head_kt is None:
        along = "no headwind to rely on, direction variable"
    elif round(r.head_kt) < 0 or round(r.tail_peak_kt) > 0:
        along = f"{max(-r.head_kt, r.tail_peak_kt):.0f} kt of tailwind at worst"
    else:
        along = f"{abs(r.head_kt):.0f} kt ahead"
    doubt = ", bearing worked out from the painted number" if r.estimated else ""
    best = " (best now)" if r.best else ""
    return f"{r.name}{best}, {bearing(r.bearing_deg_true)} true: {across}; {along}{doubt}."


def area_lines(s: StationMorning, units: str) -> list[str]:
    """Practice areas: ground, ceiling above it now and at its lowest, wind at height."""
    out = [
        f"{a.name}, {a.where}, ground {length(a.ground_ft_msl, units)} MSL: ceiling above it "
        f"{ceiling(a.ceiling_now_ft, units)} now, {ceiling(a.ceiling_lowest_ft, units)} at the lowest in today's blocks"
        f"{' as far as it is known, which is not all day' if a.gaps else ''}; wind at lesson height now {height(s.wind_now)}."
        for a in s.areas
    ]
    return out or ["None described: the field's own elevation is used for the ceiling."]


def notice_lines(s: StationMorning) -> list[str]:
    """The school's notices and what the field's record says."""
    return list(s.day.station.source.notices) or ["No notice from the school."]


def sun_words(s: StationMorning) -> str:
    """Sunrise and sunset."""
    if s.sunrise is None or s.sunset is None:
        return "Sunrise and sunset: none in the hours looked at."
    return f"Sunrise {both(s.sunrise, s.day.zone)}, sunset {both(s.sunset, s.day.zone)}."


def next_words(s: StationMorning) -> str:
    """When the next posting is due."""
    return f"Next update by {both(s.next_update, s.day.zone)}, sooner if a special report comes."


def change_lines(summary: MorningSummary, s: StationMorning) -> list[str]:
    """What moved since the last posting."""
    if summary.previous_at is None:
        return ["No earlier posting to compare with."]
    since = f"Since {both(summary.previous_at, s.day.zone)}"
    return [f"{since}: {x}." for x in s.changes] or [f"{since}: nothing moved enough to say."]


def assumed_lines(s: StationMorning) -> list[str]:
    """What was assumed and substituted."""
    return list(dict.fromkeys((*s.day.station.source.notes, *s.day.assumptions)))


class FieldLines(NamedTuple):
    """Every line about one field, made once for the text and the page."""

    status: str
    hazards: list[tuple[str, str]]
    none_found: str
    doubts: list[tuple[str, str]]
    changes: list[str]
    now: list[str]
    trend: list[str]
    forecast: list[str]
    winds: list[str]
    runways: list[str]
    areas: list[str]
    notices: list[str]
    daylight: list[str]
    assumed: list[str]
    blocks: list[BlockWords]


def lines_of(summary: MorningSummary, s: StationMorning, units: str) -> FieldLines:
    """All lines of one field. Never raises."""
    return FieldLines(
        status_line(s),
        hazard_pairs(s, doubts=False),
        "none found in what was read" if s.now_from else "not known: nothing that counts covers this hour",
        hazard_pairs(s, doubts=True),
        change_lines(summary, s),
        now_lines(s, units),
        trend_lines(s, units),
        forecast_lines(s),
        wind_lines(s, units),
        runway_lines(s),
        area_lines(s, units),
        notice_lines(s),
        [sun_words(s), next_words(s)],
        assumed_lines(s),
        [block_words(s.day.zone, b, s.day.made_at) for b in s.blocks],
    )
