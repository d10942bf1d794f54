"""The desk's morning in plain English: the lines that the text and the page share."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from functools import lru_cache
from typing import NamedTuple
from zoneinfo import ZoneInfo

from advisor.clock import both, other_day, zone_name
from advisor.lessons import lesson
from advisor.morning import Block, Cell, MorningSummary, StationMorning, WindLayer
from advisor.present import standing
from advisor.present.words import bearing, column_words, length, pair
from advisor.rules.registry import Suitability
from advisor.teaching import Teaching

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


class CellWords(NamedTuple):
    """One column of a block in words."""

    column: str
    word: Suitability
    lesson: str
    reason: str
    group: str


class BlockWords(NamedTuple):
    """A block in words: ``08:10 to 11:00 CDT``, ``1310Z to 1600Z``, the wind, its columns."""

    local: str
    zulu: str
    wind: str
    cells: list[CellWords]


class Said(NamedTuple):
    """Columns of a block that say the same: their names, the word, the lesson, the reason with its rule."""

    columns: tuple[str, ...]
    word: str
    lesson: str
    reason: str
    group: str


@lru_cache(maxsize=4096)  # a posting says the same few times of hundreds of fields
def span(day_zone: ZoneInfo, start: datetime, end: datetime, now: datetime) -> str:
    """``08:10 to 11:00 CDT (1310Z to 1600Z)``, the day before it when it is not that of ``now``. Never raises."""
    a, b, name = local_span(day_zone, start, end)
    return f"{other_day(start, now, day_zone)}{a} to {b} {name} ({zulu(start)} to {zulu(end)})"


@lru_cache(maxsize=4096)
def local_span(day_zone: ZoneInfo, start: datetime, end: datetime) -> tuple[str, str, str]:
    """``08:10``, ``11:00``, ``CDT``: two times on the field's clock and its name at the end. Never raises."""
    a, b = start.astimezone(day_zone), end.astimezone(day_zone)
    return hm(a), hm(b), zone_name(b)


def hm(when: datetime) -> str:
    """``08:10`` (as strftime writes it, several times as fast)."""
    return f"{when.hour:02d}:{when.minute:02d}"


def zulu(when: datetime) -> str:
    """``1310Z`` of a UTC time."""
    return f"{when.hour:02d}{when.minute:02d}Z"


@lru_cache(maxsize=8192)
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
    return _made(summary.made_at, zone_of(summary), summary.expires_at)


@lru_cache(maxsize=1024)
def _made(made_at: datetime, zone: ZoneInfo, expires_at: datetime) -> str:
    there = made_at.astimezone(zone)
    return (
        f"{there:%A} {there.day} {there:%B %Y}, made {both(made_at, zone)}, do not use after {both(expires_at, zone)}."
    )


def posted_words(summary: MorningSummary) -> str:
    """Who posted it; a blank to sign when nobody was named."""
    return f"Posted by: {summary.posted_by or '____________________'}"


def columns_now(block: Block) -> str:
    """``solo hold, dual with care, ...``."""
    return ", ".join(
        f"{column} {column_words(column, cell.suitability, short=True)}" for column, cell in block.cells.items()
    )


def status_line(s: StationMorning) -> str:
    """The field in one line: the block at hand, the wind and the first hazard."""
    if not s.blocks:
        return no_block_words(s)
    block = s.blocks[0]
    brief = hazard_brief(s)
    tail = f"; {brief}" if brief else ""
    day = other_day(block.start, s.day.made_at, s.day.zone)
    start, until, name = local_span(s.day.zone, block.start, block.end)
    when = f"{day}{start}-{until} {name} ({zulu(block.start)}-{zulu(block.end)})"
    return f"{when} {columns_now(block)}{tail}"


def no_block_words(s: StationMorning) -> str:
    """That there is no block to rate, and on which days because the school is closed. Never raises."""
    day = s.day
    first, last = day.made_at.astimezone(day.zone), day.last_minute.astimezone(day.zone)
    dates = dict.fromkeys((first.date(), last.date()))
    shut = [f"{x:%A}" for x in dates if day.opening is not None and day.opening.on(x) is None]
    return "no lesson block is left in the hours looked at" + (f": closed on {' and '.join(shut)}" if shut else "")


def hazard_brief(s: StationMorning) -> str:
    """The first hazard in a few words with its hour; without one what holds the block at hand down, if anything does."""
    worst = next((h for h in s.hazards if not h.doubt), None)
    if worst is None:
        return _held_brief(s.blocks[0]) if s.blocks else ""
    when = "now" if worst.start <= s.day.made_at else f"from {both(worst.start, s.day.zone)}"
    return f"{FAMILY_WORDS[worst.family]} {when} ({worst.code})"


def _held_brief(block: Block) -> str:
    """The lowest column of a block, or those that share its reason, with it; empty where all are suited."""
    lowest = min(block.cells.values(), key=lambda c: c.suitability)
    said = reason_words(lowest)
    if not said:
        return ""
    columns = [
        name for name, c in block.cells.items() if c.suitability == lowest.suitability and reason_words(c) == said
    ]
    return f"{joined(columns)}: {said}"


def surface(w: WindLayer) -> str:
    """The wind at the field; missing is said to be missing."""
    return _surface(w.mean_kt, w.gust_kt, w.from_deg_true)


@lru_cache(maxsize=4096)
def _surface(mean_kt: float | None, gust_kt: float | None, from_deg_true: float | None) -> str:
    if mean_kt is None:
        return "wind not known (missing is not calm)"
    gust = f" gusting {gust_kt:.0f} kt" if gust_kt is not None else " (no gust reported)"
    if mean_kt == 0:
        return "calm"
    if from_deg_true is None:
        return f"variable {mean_kt:.0f} kt{gust}"
    return f"{bearing(from_deg_true)} true {mean_kt:.0f} kt{gust}"


def height(w: WindLayer) -> str:
    """The wind at lesson height, low to high."""
    return _height(w.low_kt, w.high_kt)


@lru_cache(maxsize=4096)
def _height(low_kt: float | None, high_kt: float | None) -> str:
    if low_kt is None or high_kt is None:
        return "not known"
    return f"{pair(low_kt, high_kt, 'kt')} (estimate)"


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
    return _taught(cell.lesson, cell.stage, cell.teaching)


@lru_cache(maxsize=256)
def _taught(key: str, at_stage: str, teaching: Teaching | None) -> str:
    stage = "" if at_stage in (_FIRST_STAGE, "solo") else f" ({at_stage})"
    teaches = f", teaching value {teaching.words}" if teaching is not None else ""
    return f"{lesson(key).title}{stage}{teaches}"


def reason_words(cell: Cell) -> str:
    """Why it is not better, with the code of the rule."""
    if not cell.reason:
        return ""
    return f"{cell.reason} ({cell.code})" if cell.code else cell.reason


def block_words(zone: ZoneInfo, block: Block, now: datetime) -> BlockWords:
    """A block in words. Never raises."""
    start, end, name = local_span(zone, block.start, block.end)
    return BlockWords(
        f"{other_day(block.start, now, zone)}{start} to {end} {name}",
        f"{zulu(block.start)} to {zulu(block.end)}",
        block_wind(block),
        [
            CellWords(column, c.suitability, lesson_words(c), reason_words(c), cited(c.layer, c.group))
            for column, c in block.cells.items()
        ],
    )


def said_of(cells: Sequence[CellWords]) -> list[Said]:
    """A block's columns, those that say the same together."""
    columns: dict[tuple[str, str, str], list[str]] = {}
    groups: dict[tuple[str, str, str], str] = {}
    for column, word, lesson_, reason, group in cells:
        key = (column_words(column, word), lesson_, reason)
        columns.setdefault(key, []).append(column)
        groups[key] = group
    return [Said(tuple(columns[key]), *key, group) for key, group in groups.items()]


@lru_cache(maxsize=8192)
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
    """Wind of a block at the field and at lesson height: the strongest that is reported or prevails, and what may come."""
    w = block.wind
    if w.mean_kt is None:
        return "Wind not known."
    gaps = "; not known for part of these hours" if w.wind_gaps else ""
    maybe = f", {w.possible_peak_kt:.0f} kt possible" if w.possible_peak_kt is not None else ""
    return f"Wind at the field {surface(w)} at its strongest{maybe}; at lesson height {height(w)}{gaps}."


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


def station_made_words(summary: MorningSummary, s: StationMorning) -> str:
    """As :func:`made_words`, for one field: its own clock and its own end."""
    return _made(summary.made_at, s.day.zone, s.day.expires_at)
