"""The desk's morning as pages for a wall screen: one file each, readable without script, no meaning by colour."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache
from html import escape
from typing import Any

from advisor.clock import age_words
from advisor.morning import DEFINITIONS, MorningSummary, StationMorning
from advisor.present import morning_words as w
from advisor.present.day_json import iso
from advisor.present.figures.ladder import ladder
from advisor.present.html import environment, markup
from advisor.present.morning_lines import FieldLines, lines_of
from advisor.present.standing import DESK_DECIDES, MADE_UP
from advisor.present.words import US, column_words
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


def common_parts(summary: MorningSummary) -> dict[str, Any]:
    """What every page of a posting carries; its foot is rendered once for all of them."""
    foot = (
        environment()
        .get_template("morning_foot.html")
        .render(
            definitions=list(DEFINITIONS.items()),
            legend=[(_mark(s), s.words) for s in _LEGEND],
            standing=[x for x in w.standing_of(summary) if x != DESK_DECIDES],
        )
    )
    return {
        "sprite": _sprite(),
        "made_up": summary.made_up,
        "made_up_words": MADE_UP,
        "posted": w.posted_words(summary),
        "decides": DESK_DECIDES,
        "foot": markup(foot),
    }


def _items(lines: Iterable[str]) -> Any:
    """Lines as a list, escaped in one go: a posting has a hundred thousand of them."""
    inner = escape("\x1f".join(lines)).replace("\x1f", "</li>\n<li>")
    return markup(f"<ul><li>{inner}</li></ul>")


def _pairs(pairs: Iterable[tuple[str, str]]) -> Any:
    return markup(
        "\n".join(f'<li>{escape(text)}. <span class="cite">{escape(cite)}</span></li>' for text, cite in pairs)
    )


def _small(text: str) -> str:
    return f'<p class="small">{escape(text)}</p>' if text else ""


@lru_cache(maxsize=16384)  # of a posting's cells, twelve in thirteen say what another one says
def _cell(column: str, suitability: Suitability, lesson: str, reason: str) -> str:
    return (
        f'<div class="cell">{_ladder(_mark(suitability))}'
        f'<div><p class="col">{column}</p>{_rating(column, suitability)}'
        f"{f'<p>{escape(lesson)}</p>' if lesson else ''}"
        f"{_small(reason)}</div></div>"
    )


def _rating(column: str, suitability: Suitability) -> str:
    """The word of a cell; what a suited hour reads for a student alone is two lines, the condition never left out."""
    said, _, release = column_words(column, suitability).partition("; ")
    if not release:
        return f"<b>{said}</b>"
    return f'<b class="long">{said}; <span class="release">{release}</span></b>'


def _ladder(name: str) -> str:
    return f'<svg class="ladder" viewBox="0 0 22 26" aria-hidden="true" focusable="false"><use href="#{name}"/></svg>'


def _block(block: w.BlockWords, level: int) -> str:
    cells = "\n".join([_cell(column, word, lesson, reason) for column, word, lesson, reason, _ in block.cells])
    return (
        f'<div class="block"><div><h{level} class="blk">{escape(block.local)}</h{level}>'
        f"{_small(block.zulu)}{_small(block.wind)}</div>\n"
        f'<div class="cells">{cells}</div></div>\n'
    )


def _cited(s: StationMorning) -> list[str]:
    """Each group that a reason of a block comes from, once."""
    cells = [cell for b in s.blocks for cell in b.cells.values() if cell.code and cell.group]
    found = dict.fromkeys([(cell.code, w.cited(cell.layer, cell.group)) for cell in cells])
    by_group: dict[str, list[str]] = {}
    for code, group in found:
        by_group.setdefault(group, []).append(code)
    return [f"{', '.join(dict.fromkeys(codes))} from {group}." for group, codes in by_group.items()]


def _field(s: StationMorning, say: FieldLines, cards: Sequence[Link], level: int) -> dict[str, Any]:
    """A field's parts; ``level`` is that of its headings."""
    return {
        "station": s.station,
        "heading": f"{s.station} {s.name}",
        "hazards": _pairs(say.hazards),
        "none_found": say.none_found,
        "doubts": _pairs(say.doubts),
        "blocks": markup("".join([_block(b, level + 1) for b in say.blocks])),
        "no_block": f"N{w.no_block_words(s)[1:]}.",
        "cited": _cited(s),
        "now": _items(say.now),
        "trend": _items(say.trend),
        "winds": _items(say.winds),
        "runways": _items(say.runways),
        "areas": _items(say.areas),
        "notices": _items(say.notices),
        "changes": _items(say.changes),
        "daylight": _items(say.daylight),
        "forecast": _items(say.forecast),
        "assumed": _items(say.assumed),
        "cards": list(cards),
    }


def _then(s: StationMorning, column: str) -> str:
    """How one column goes on through the day: ``from 09:00 hold, from 19:00 ask first``."""
    out, last = [], s.blocks[0].cells[column].suitability
    for b in s.blocks[1:]:
        word = b.cells[column].suitability
        if word is not last:
            out.append(f"from {w.local_span(s.day.zone, b.start, b.end)[0]} {column_words(column, word, short=True)}")
        last = word
    return ", ".join(out) or ("all day" if len(s.blocks) > 1 else "")


@lru_cache(maxsize=4096)
def _word(column: str, suitability: Suitability, then: str) -> Any:
    """One column of a field's row."""
    return markup(
        f"<li>{_ladder(_mark(suitability))}<span>{column} {_rating(column, suitability)} "
        f'<span class="small">{escape(then)}</span></span></li>'
    )


def _row(s: StationMorning, href: str) -> dict[str, Any]:
    block = s.blocks[0] if s.blocks else None
    brief = w.hazard_brief(s)
    age = f", report {age_words(s.day.station.age_min)} old" if s.day.station.observation is not None else ""
    return {
        "heading": f"{s.station} {s.name}",
        "href": href,
        "no_block": f"N{w.no_block_words(s)[1:]}.",
        "span": w.span(s.day.zone, block.start, block.end, s.day.made_at) if block else "",
        "words": [_word(column, cell.suitability, _then(s, column)) for column, cell in block.cells.items()]
        if block
        else [],
        "hazard": brief[:1].upper() + brief[1:],
        "wind": f"At the field now {w.surface(s.wind_now)}, at lesson height {w.height(s.wind_now)}{age}.",
    }


def station_html(
    summary: MorningSummary,
    s: StationMorning,
    *,
    units: str = US,
    cards: Sequence[Link] = (),
    links: Sequence[Link] = (),
    lines: FieldLines | None = None,
    common: dict[str, Any] | None = None,
) -> str:
    """One field's page.

    Parameters
    ----------
    summary : MorningSummary
    s : StationMorning
        One of its fields.
    units : str
        ``us`` or ``metric`` for heights.
    cards, links : sequence of (address, words)
        Lesson cards, and other pages, to link to.
    lines : FieldLines or None
        Its lines, when they are made already.
    common : dict or None
        :func:`common_parts` of the posting, when they are made already.

    Returns
    -------
    str
        A whole HTML document; every text is escaped. Never raises.
    """
    say = lines if lines is not None else lines_of(summary, s, units)
    return (
        environment()
        .get_template("morning_station.html")
        .render(
            **(common if common is not None else common_parts(summary)),
            reloads=True,
            title=f"{s.station} {s.name}",
            made=w.station_made_words(summary, s),
            status=say.status,
            s=_field(s, say, cards, 2),
            links=list(links),
            expires_iso=iso(s.day.expires_at),
            next_iso=iso(s.next_update),
        )
    )


def index_html(
    summary: MorningSummary,
    *,
    links: Sequence[Link] = (),
    whole: Sequence[Any] = (),
    common: dict[str, Any] | None = None,
) -> str:
    """The page of all fields, worst first, each in one line. With ``whole`` the fields' parts follow on the page."""
    nexts = [s.next_update for s in summary.stations] or [summary.expires_at]
    return (
        environment()
        .get_template("morning.html")
        .render(
            **(common if common is not None else common_parts(summary)),
            reloads=not whole,
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
    )


def morning_html(summary: MorningSummary, *, units: str = US) -> str:
    """The whole posting as one page that stands alone."""
    return index_html(summary, whole=[_field(s, lines_of(summary, s, units), (), 3) for s in summary.stations])
