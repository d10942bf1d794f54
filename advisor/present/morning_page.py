"""The desk's morning as pages for a wall screen: one file each, readable without script, no meaning by colour."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Any

from advisor.morning import DEFINITIONS, Block, MorningSummary, StationMorning
from advisor.present import morning_words as w
from advisor.present.day_json import iso
from advisor.present.figures.ladder import ladder
from advisor.present.html import environment, markup
from advisor.present.standing import DESK_DECIDES, MADE_UP
from advisor.present.words import US
from advisor.rules.registry import Suitability

_LEGEND = (
    Suitability.HOLD,
    Suitability.ASK_FIRST,
    Suitability.WITH_CARE,
    Suitability.SUITED,
    Suitability.NOT_RATED,
)
Link = tuple[str, str]


def _mark(suitability: Suitability) -> str:
    return f"r{int(suitability)}"


@lru_cache(maxsize=1)
def _sprite() -> Any:
    """Every ladder once, to be used by name."""
    symbols = []
    for s in _LEGEND:
        inner = ladder(s).split(">", 1)[1].removesuffix("</svg>")
        symbols.append(f'<symbol id="{_mark(s)}" viewBox="0 0 22 26">{inner}</symbol>')
    return markup(f'<svg class="sprite" aria-hidden="true" focusable="false">{"".join(symbols)}</svg>')


def _common(summary: MorningSummary, *, reloads: bool) -> dict[str, Any]:
    standing = [x for x in w.standing_of(summary) if x != DESK_DECIDES]
    return {
        "sprite": _sprite(),
        "made_up": summary.made_up,
        "made_up_words": MADE_UP,
        "posted": w.posted_words(summary),
        "decides": DESK_DECIDES,
        "definitions": list(DEFINITIONS.items()),
        "legend": [(_mark(s), s.words) for s in _LEGEND],
        "standing": standing,
        "reloads": reloads,
    }


def _block(s: StationMorning, block: Block) -> dict[str, Any]:
    a, b = block.start.astimezone(s.day.zone), block.end.astimezone(s.day.zone)
    return {
        "local": f"{a:%H:%M} to {b:%H:%M} {b:%Z}",
        "zulu": f"{block.start:%H%M}Z to {block.end:%H%M}Z",
        "wind": w.block_wind(block),
        "cells": [
            {
                "column": column,
                "word": cell.suitability.words,
                "mark": _mark(cell.suitability),
                "lesson": w.lesson_words(cell),
                "reason": w.reason_words(cell),
            }
            for column, cell in block.cells.items()
        ],
    }


def _cited(s: StationMorning) -> list[str]:
    """Each group that a reason of a block comes from, once."""
    found = {
        (cell.code, w.cited(cell.layer, cell.group)): None
        for b in s.blocks
        for cell in b.cells.values()
        if cell.code and cell.group
    }
    by_group: dict[str, list[str]] = {}
    for code, group in found:
        by_group.setdefault(group, []).append(code)
    return [f"{', '.join(dict.fromkeys(codes))} from {group}." for group, codes in by_group.items()]


def _field(summary: MorningSummary, s: StationMorning, units: str, cards: Sequence[Link]) -> dict[str, Any]:
    return {
        "station": s.station,
        "heading": f"{s.station} {s.name}",
        "hazards": w.hazard_pairs(s, doubts=False),
        "none_found": w.hazard_lines(s, doubts=False)[0],
        "doubts": w.hazard_pairs(s, doubts=True),
        "blocks": [_block(s, b) for b in s.blocks],
        "cited": _cited(s),
        "now": w.now_lines(s, units),
        "trend": w.trend_lines(s, units),
        "winds": w.wind_lines(s, units),
        "runways": w.runway_lines(s),
        "areas": w.area_lines(s, units),
        "notices": w.notice_lines(s),
        "changes": w.change_lines(summary, s),
        "daylight": (w.sun_words(s), w.next_words(s)),
        "forecast": w.forecast_lines(s),
        "assumed": w.assumed_lines(s),
        "cards": list(cards),
    }


def _then(s: StationMorning, column: str) -> str:
    """How one column goes on through the day: ``from 09:00 hold, from 19:00 ask first``."""
    out, last = [], s.blocks[0].cells[column].suitability
    for b in s.blocks[1:]:
        word = b.cells[column].suitability
        if word is not last:
            out.append(f"from {b.start.astimezone(s.day.zone):%H:%M} {word.words}")
        last = word
    return ", ".join(out) or ("all day" if len(s.blocks) > 1 else "")


def _row(s: StationMorning, href: str) -> dict[str, Any]:
    block = s.blocks[0] if s.blocks else None
    age = f", report {s.day.station.age_min:.0f} minutes old" if s.day.station.observation is not None else ""
    return {
        "heading": f"{s.station} {s.name}",
        "href": href,
        "span": w.span(s.day.zone, block.start, block.end) if block else "",
        "words": [
            (column, cell.suitability.words, _mark(cell.suitability), _then(s, column))
            for column, cell in block.cells.items()
        ]
        if block
        else [],
        "hazard": w.hazard_brief(s)[:1].upper() + w.hazard_brief(s)[1:],
        "wind": f"At the field now {w.surface(s.wind_now)}, at lesson height {w.height(s.wind_now)}{age}.",
    }


def station_html(
    summary: MorningSummary, s: StationMorning, *, units: str = US, cards: Sequence[Link] = ()
) -> str:
    """One field's page.

    Parameters
    ----------
    summary : MorningSummary
    s : StationMorning
        One of its fields.
    units : str
        ``us`` or ``metric`` for heights.
    cards : sequence of (address, words)
        Lesson cards to link to.

    Returns
    -------
    str
        A whole HTML document; every text is escaped. Never raises.
    """
    return environment().get_template("morning_station.html").render(
        **_common(summary, reloads=True),
        title=f"{s.station} {s.name}",
        made=w.station_made_words(summary, s),
        status=w.status_line(s),
        s=_field(summary, s, units, cards),
        expires_iso=iso(s.day.expires_at),
        next_iso=iso(s.next_update),
    )


def index_html(summary: MorningSummary, *, links: Sequence[Link] = (), whole: Sequence[Any] = ()) -> str:
    """The page of all fields, worst first, each in one line. With ``whole`` the fields' parts follow on the page."""
    nexts = [s.next_update for s in summary.stations] or [summary.expires_at]
    return environment().get_template("morning.html").render(
        **_common(summary, reloads=not whole),
        title=w.heading(summary),
        made=w.made_words(summary),
        notes=list(summary.notes),
        unserved=w.unserved_lines(summary),
        fields=[_row(s, f"#{s.station}" if whole else f"{s.station}.html") for s in summary.stations],
        whole=list(whole),
        links=list(links),
        expires_iso=iso(summary.expires_at),
        next_iso=iso(min(nexts)),
    )


def morning_html(summary: MorningSummary, *, units: str = US) -> str:
    """The whole posting as one page that stands alone."""
    return index_html(summary, whole=[_field(summary, s, units, ()) for s in summary.stations])
