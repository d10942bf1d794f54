"""The desk's morning in plain English: the lines that the text and the page share."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import NamedTuple
from zoneinfo import ZoneInfo

from advisor.clock import both, both_with_day
from advisor.lessons import lesson
from advisor.morning import Block, Cell, Hazard, MorningSummary, RunwayWind, StationMorning, WindLayer
from advisor.present import standing
from advisor.present.words import bearing, length, pair
from advisor.rules.registry import Suitability
from advisor.segments import visibility_value

#: Letters of a cited group that are printed.
GROUP_LETTERS = 60
_FIRST_STAGE = "pre-solo"
FAMILY_WORDS = {
    "thunder": "storm",
    "shear": "wind shear",
    "fog": "fog or mist",
    "icing": "ice or frost",
    "wind": "strong wind",
    "gust": "strong gusts",
    "crosswind": "strong crosswind",
    "ceiling": "low cloud",
    "visibility": "low visibility",
    "temperature": "cold or heat",
}


class Said(NamedTuple):
    """Columns of a block that say the same: their names, the word, the lesson, the reason with its rule."""

    columns: tuple[str, ...]
    word: Suitability
    lesson: str
    reason: str
    group: str


def span(day_zone: ZoneInfo, start: datetime, end: datetime) -> str:
    """``08:10 to 11:00 CDT (1310Z to 1600Z)``. Never raises."""
    a, b = start.astimezone(day_zone), end.astimezone(day_zone)
    return f"{a:%H:%M} to {b:%H:%M} {b:%Z} ({start:%H%M}Z to {end:%H%M}Z)"


def cut(group: str, most: int = GROUP_LETTERS) -> str:
    """A group on one line, shortened where it is long."""
    flat = " ".join(group.split())
    return flat if len(flat) <= most else f"{flat[: most - 4]} ..."


def heading(summary: MorningSummary) -> str:
    """Title of the posting."""
    return f"Morning posting: {summary.school}" if summary.school else "Morning posting"


def zone_of(summary: MorningSummary) -> ZoneInfo:
    """Zone the posting's own times are printed in: the first field's, UTC without one."""
    return summary.stations[0].day.zone if summary.stations else ZoneInfo("UTC")


def made_words(summary: MorningSummary) -> str:
    """When it was made and when it must not be used any more."""
    zone = zone_of(summary)
    there = summary.made_at.astimezone(zone)
    return (
        f"{there:%A} {there.day} {there:%B %Y}, made {both(summary.made_at, zone)}, do not use after "
        f"{both(summary.expires_at, zone)}."
    )


def posted_words(summary: MorningSummary) -> str:
    """Who posted it; a blank to sign when nobody was named."""
    return f"Posted by: {summary.posted_by or '____________________'}"


def columns_now(block: Block) -> str:
    """``solo hold, dual with care, ...``."""
    return ", ".join(f"{column} {cell.suitability.words}" for column, cell in block.cells.items())


def status_line(s: StationMorning) -> str:
    """The field in one line: the block at hand, the wind and the first hazard."""
    if not s.blocks:
        return "no lesson block is left in the hours looked at"
    block = s.blocks[0]
    tail = f"; {hazard_brief(s)}" if hazard_brief(s) else ""
    day = "" if block.start.date() == s.day.made_at.date() else f"{block.start.astimezone(s.day.zone):%a} "
    until = block.end.astimezone(s.day.zone)
    start = block.start.astimezone(s.day.zone)
    return f"{day}{start:%H:%M}-{until:%H:%M} {columns_now(block)}{tail}"


def hazard_brief(s: StationMorning) -> str:
    """The first hazard in a few words with its hour; empty when there is none."""
    worst = next((h for h in s.hazards if not h.doubt), None)
    if worst is None:
        return ""
    when = "now" if worst.start <= s.day.made_at else f"from {worst.start.astimezone(s.day.zone):%H:%M}"
    return f"{FAMILY_WORDS[worst.family]} {when} ({worst.code})"


def surface(w: WindLayer) -> str:
    """The wind at the field; missing is said to be missing."""
    if w.mean_kt is None:
        return "wind not known (missing is not calm)"
    gust = f" gusting {w.gust_kt:.0f} kt" if w.gust_kt is not None else " (no gust reported)"
    if w.mean_kt == 0:
        return "calm"
    if w.from_deg_true is None:
        return f"variable {w.mean_kt:.0f} kt{gust}"
    return f"{bearing(w.from_deg_true)} true {w.mean_kt:.0f} kt{gust}"


def height(w: WindLayer) -> str:
    """The wind at lesson height, low to high."""
    if w.low_kt is None or w.high_kt is None:
        return "not known"
    return f"{pair(w.low_kt, w.high_kt, 'kt')} (estimate)"


def ceiling(feet: float | None, units: str) -> str:
    """A ceiling; unknown and none are told apart."""
    if feet is None:
        return "unknown"
    if feet == float("inf"):
        return "none reported"
    return length(max(feet, 0.0), units) if feet >= 0 else "below that ground"


def lesson_words(cell: Cell) -> str:
    """The lesson behind a word, with its stage when it is not the first, and what it teaches."""
    if cell.lesson is None:
        return ""
    stage = "" if cell.stage in (_FIRST_STAGE, "solo") else f" ({cell.stage})"
    teaches = f", teaching value {cell.teaching.words}" if cell.teaching is not None else ""
    return f"{lesson(cell.lesson).title}{stage}{teaches}"


def reason_words(cell: Cell) -> str:
    """Why it is not better, with the code of the rule."""
    if not cell.reason:
        return ""
    return f"{cell.reason} ({cell.code})" if cell.code else cell.reason


def said_of(block: Block) -> list[Said]:
    """The block's columns, those that say the same together."""
    out: dict[tuple[str, str, str], Said] = {}
    for column, cell in block.cells.items():
        lesson_, reason = lesson_words(cell), reason_words(cell)
        group = cited(cell.layer, cell.group)
        key = (cell.suitability.words, lesson_, reason)
        known = out.get(key)
        out[key] = Said(
            (*known.columns, column) if known else (column,), cell.suitability, lesson_, reason, group
        )
    return list(out.values())


def cited(layer: str, group: str) -> str:
    """What a reason is taken from: a forecast group as printed, a report (printed elsewhere) by its name alone."""
    if not group:
        return ""
    kind, _, rest = group.partition(" ")
    if kind in ("METAR", "SPECI"):
        said = " ".join(rest.split()[:2])
        return f"{layer}: {kind} {said}" if layer.startswith("observed") else f"carried from {kind} {said}"
    return f"{layer}: {cut(group)}"


def block_wind(block: Block) -> str:
    """Wind of a block at the field and at lesson height: the strongest that is reported or prevails."""
    w = block.wind
    if w.mean_kt is None:
        return "Wind not known."
    gaps = "; not known for part of these hours" if w.wind_gaps else ""
    return f"Wind at the field {surface(w)} at its strongest; at lesson height {height(w)}{gaps}."


def hazard_lines(s: StationMorning, *, doubts: bool) -> list[str]:
    """Hazards with their hours, or doubts about the reports; that none was found is said."""
    out = [" ".join((text, f"[{group}]" if group else "")).rstrip() for text, group in hazard_pairs(s, doubts=doubts)]
    if out or doubts:
        return out
    return ["none found in what was read"] if s.now_from else ["not known: nothing that counts covers this hour"]


def hazard_pairs(s: StationMorning, *, doubts: bool) -> list[tuple[str, str]]:
    """Hazards, or doubts, as what is said and the group it comes from."""
    out = [_hazard(s, h) for h in s.hazards if h.doubt is doubts]
    if doubts and s.now_from != "report" and s.day.station.observation is not None:
        out.insert(0, (f"the report is {s.day.station.age_min:.0f} minutes old and no longer counts", ""))
    if doubts and not s.now_from:
        out.insert(0, ("no report and no forecast that counts covers this hour", ""))
    return out


def _hazard(s: StationMorning, h: Hazard) -> tuple[str, str]:
    return f"{h.message} ({h.code}), {span(s.day.zone, h.start, h.end)}", cited(h.layer, h.group)


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
            f"{observation.kind} {observation.station} {both(observation.observed_at, day.zone)}, {age:.0f} minutes old."
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
            f"{p.observed_at:%H%M}Z {p.wind}, {seen}, ceiling {ceiling(p.ceiling_ft, units)}, {spread}, {setting}"
        )
    words = ", ".join(s.trend_words[:-1]) if len(s.trend_words) > 1 else ""
    out.append(f"{words[:1].upper()}{words[1:]} {s.trend_words[-1]}." if words else f"{s.trend_words[-1]}.".capitalize())
    return out


def wind_lines(s: StationMorning, units: str) -> list[str]:
    """Wind now at the field, at lesson height and at the lowest winds-aloft level; the sun."""
    out = [f"At the field now: {surface(s.wind_now)}. At lesson height: {height(s.wind_now)}."]
    for start, end, kt, feet in s.aloft:
        out.append(
            f"Lowest winds-aloft level, {length(feet, units)} above the field: {kt:.0f} kt, used {start:%H%M}Z to {end:%H%M}Z."
        )
    if not s.aloft:
        out.append("Winds aloft: none to compare with.")
    return out


def runway_lines(s: StationMorning) -> list[str]:
    """Head and crosswind at each runway end now."""
    ends = s.day.station.source.site.runways
    out = [_runway(r) for r in s.runways]
    if s.runways and s.wind_now.mean_kt == 0:
        out = [f"Calm: nothing along or across {joined([r.name for r in s.runways])}."]
    if not ends:
        out.append("No runway of this field is known; the full wind counts as crosswind.")
    elif not s.runways:
        shut = all(e.closed for e in ends)
        out.append("Every runway is closed." if shut else "No components: the wind now is not known.")
    closed = [e.name for e in ends if e.closed]
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


def standing_of(summary: MorningSummary) -> list[str]:
    """Lines every page carries, but for when it was made and whether it is made up."""
    if not summary.stations:
        return [standing.DESK_DECIDES, standing.NOT_LOOKED_AT, standing.US_FIGURES]
    lines = standing.standing_lines(summary.stations[0].day, desk=True)
    return [x for x in lines if x != standing.MADE_UP and not x.startswith("Made ")]


def unserved_lines(summary: MorningSummary) -> list[str]:
    """Fields nothing is shown for."""
    return [f"{u.station}: {u.sentence.removeprefix(f'{u.station}: ')}" for u in summary.unserved]


def joined(columns: Sequence[str]) -> str:
    """``solo``, ``solo and dual``, ``solo, dual and area``."""
    return columns[0] if len(columns) == 1 else f"{', '.join(columns[:-1])} and {columns[-1]}"


def bullet(lines: Iterable[str]) -> list[str]:
    """Lines marked as a list."""
    return [f"- {x}" for x in lines]


def station_made_words(summary: MorningSummary, s: StationMorning) -> str:
    """As :func:`made_words`, for one field: its own clock and its own end."""
    there = summary.made_at.astimezone(s.day.zone)
    return (
        f"{there:%A} {there.day} {there:%B %Y}, made {both(summary.made_at, s.day.zone)}, do not use after "
        f"{both(s.day.expires_at, s.day.zone)}."
    )
