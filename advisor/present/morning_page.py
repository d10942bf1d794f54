"""The desk's morning as pages for a wall screen: one file each, readable without script, no meaning by colour."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache
from html import escape

from advisor.morning import DEFINITIONS, MorningSummary, StationMorning
from advisor.present import morning_words as w
from advisor.present.day_json import iso
from advisor.present.figures.ladder import ladder
from advisor.present.morning_frame import Common, escaped, page
from advisor.present.morning_lines import FieldLines, lines_of
from advisor.present.standing import DESK_DECIDES
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
_NO_BLOCK = "<p>No lesson block is left in the hours looked at.</p>"


def _mark(suitability: Suitability) -> str:
    return f"r{int(suitability)}"


@lru_cache(maxsize=1)
def _sprite() -> str:
    """Every ladder once, to be used by name."""
    symbols = []
    for s in _LEGEND:
        inner = ladder(s).split(">", 1)[1].removesuffix("</svg>")
        symbols.append(f'<symbol id="{_mark(s)}" viewBox="0 0 22 26">{inner}</symbol>')
    return f'<svg class="sprite" aria-hidden="true" focusable="false">{"".join(symbols)}</svg>'


def common_parts(summary: MorningSummary) -> Common:
    """What every page of a posting carries, made once for all of them."""
    return Common(
        sprite=_sprite(),
        made_up=summary.made_up,
        posted=escaped(f"{w.posted_words(summary)}. {DESK_DECIDES}"),
        foot=_foot(summary),
    )


def _foot(summary: MorningSummary) -> str:
    """What the words mean, and the lines every posting carries."""
    meanings = "".join(
        f"<li><strong>{escaped(name)}</strong>: {escaped(meaning)}.</li>\n" for name, meaning in DEFINITIONS.items()
    )
    style = ' style="display:inline-block;vertical-align:middle"'
    legend = ", ".join(
        f'<svg class="ladder"{style} viewBox="0 0 22 26" aria-hidden="true"><use href="#{_mark(s)}"/></svg> {s.words}'
        for s in _LEGEND
    )
    standing = "".join(_note(x) for x in w.standing_of(summary) if x != DESK_DECIDES)
    return (
        f'<h2 class="sec">What the words mean</h2>\n<ul>{meanings}'
        f"<li>{legend}. From worst to best; not rated: the inputs it needs are missing.</li>\n"
        f"<li>Each block shows the worst of its hours, TEMPO and PROB included.</li></ul>\n{standing}"
    )


def _note(line: str) -> str:
    return f'<p class="small">{escaped(line)}</p>\n'


def _items(lines: Iterable[str]) -> str:
    """Lines as a list, escaped in one go: a posting has a hundred thousand of them."""
    inner = escape("\x1f".join(lines)).replace("\x1f", "</li>\n<li>")
    return f"<ul><li>{inner}</li></ul>"


def _pairs(pairs: Iterable[tuple[str, str]]) -> str:
    return "\n".join([f'<li>{escape(text)}. <span class="cite">{escape(cite)}</span></li>' for text, cite in pairs])


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
    return (
        f'<svg class="ladder" viewBox="0 0 22 26" aria-hidden="true" focusable="false"><use href="#{name}"/></svg>'
    )


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


def _field(s: StationMorning, say: FieldLines, cards: Sequence[Link], level: int) -> str:
    """A field's parts; ``level`` is that of its headings."""
    sec, end = f'<h{level} class="sec">', f"</h{level}>"
    if say.hazards or say.doubts:
        found = _pairs(say.hazards) or f"<li>{escaped(say.none_found)}</li>"
        doubts = f"{sec}Doubts about the reports{end}<ul>{_pairs(say.doubts)}</ul>" if say.doubts else ""
        hazards = f'<section class="hazards">{sec}Hazards{end}\n<ul>{found}</ul>\n{doubts}</section>\n'
    else:
        hazards = f"<p>Hazards: {escaped(say.none_found)}.</p>"
    blocks = "".join([_block(b, level + 1) for b in say.blocks])
    notes = "".join([_note(x) for x in _cited(s)])
    drawn = "".join(f"<li>{_link(card)}</li>\n" for card in cards)
    return f"""{hazards}<section>{sec}Lesson blocks, worst credible case of each{end}
{blocks or _NO_BLOCK}{notes}</section>
<div class="two">
<section>{sec}Now{end}{_items(say.now)}</section>
<section>{sec}Last reports, newest first{end}{_items(say.trend)}</section>
<section>{sec}Wind now and above{end}{_items(say.winds)}</section>
<section>{sec}Runways now{end}{_items(say.runways)}</section>
<section>{sec}Practice areas{end}{_items(say.areas)}</section>
<section>{sec}Restrictions and notices{end}{_items(say.notices)}</section>
<section>{sec}Changed since the last posting{end}{_items(say.changes)}</section>
<section>{sec}Daylight and next update{end}{_items(say.daylight)}</section>
<section>{sec}Forecast{end}{_items(say.forecast)}</section>
<section>{sec}Assumed{end}{_items(say.assumed)}</section>
</div>
{f"<section>{sec}Lesson cards{end}<ul>{drawn}</ul></section>" if drawn else ""}"""


def _link(link: Link) -> str:
    return f'<a href="{escaped(link[0])}">{escaped(link[1])}</a>'


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
def _word(column: str, suitability: Suitability, then: str) -> str:
    """One column of a field's row."""
    return (
        f"<li>{_ladder(_mark(suitability))}<span>{column} {_rating(column, suitability)} "
        f'<span class="small">{escape(then)}</span></span></li>'
    )


def _row(s: StationMorning, href: str) -> str:
    """A field's row in the list of all of them."""
    block = s.blocks[0] if s.blocks else None
    brief = w.hazard_brief(s)
    age = f", report {s.day.station.age_min:.0f} minutes old" if s.day.station.observation is not None else ""
    wind = f"At the field now {w.surface(s.wind_now)}, at lesson height {w.height(s.wind_now)}{age}."
    span, words = "", _NO_BLOCK
    if block is not None:
        span = w.span(s.day.zone, block.start, block.end, s.day.made_at)
        each = [_word(column, cell.suitability, _then(s, column)) for column, cell in block.cells.items()]
        words = "".join(['<ul class="words">', *(f"{x}\n" for x in each), "</ul>"])
    worst = f"<strong>{escaped(brief[:1].upper() + brief[1:])}.</strong> " if brief else ""
    return (
        f'<li><div><span class="name">{_link((href, f"{s.station} {s.name}"))}</span><p>{escaped(span)}</p></div>\n'
        f'{words}<p class="rest">{worst}{escaped(wind)}</p></li>\n'
    )


def station_html(
    summary: MorningSummary,
    s: StationMorning,
    *,
    units: str = US,
    cards: Sequence[Link] = (),
    links: Sequence[Link] = (),
    lines: FieldLines | None = None,
    common: Common | None = None,
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
    common : Common or None
        :func:`common_parts` of the posting, when they are made already.

    Returns
    -------
    str
        A whole HTML document; every text is escaped. Never raises.
    """
    say = lines if lines is not None else lines_of(summary, s, units)
    title = f"{s.station} {s.name}"
    return page(
        common if common is not None else common_parts(summary),
        title=title,
        made=w.station_made_words(summary, s),
        head=f"<h1>{escaped(title)}</h1>\n<p>{escaped(say.status)}.</p>",
        main=f"{_field(s, say, cards, 2)}\n<p>{' | '.join([_link(x) for x in links])}</p>\n",
        expires_iso=iso(s.day.expires_at),
        next_iso=iso(s.next_update),
        reloads=True,
    )


def index_html(
    summary: MorningSummary,
    *,
    links: Sequence[Link] = (),
    whole: Sequence[str] = (),
    common: Common | None = None,
) -> str:
    """The page of all fields, worst first, each in one line. With ``whole`` the fields' parts follow on the page."""
    nexts = [s.next_update for s in summary.stations] or [summary.expires_at]
    title = w.heading(summary)
    main = [f"<p>Note: {escaped(x)}</p>\n" for x in summary.notes]
    if summary.unserved:
        lines = "".join([f"<li>{escaped(x)}</li>\n" for x in w.unserved_lines(summary)])
        main.append(f'<section class="hazards"><h2 class="sec">Nothing can be shown for</h2><ul>{lines}</ul></section>')
    main.append('<ul class="fields">\n')
    main += [_row(s, f"#{s.station}" if whole else f"{s.station}.html") for s in summary.stations]
    main += ["</ul>\n", *whole]
    if links:
        main.append(f"<p>{' | '.join([_link(x) for x in links])}</p>")
    return page(
        common if common is not None else common_parts(summary),
        title=title,
        made=w.made_words(summary),
        head=f"<h1>{escaped(title)}</h1>",
        main="".join(main),
        expires_iso=iso(summary.expires_at),
        next_iso=iso(min(nexts)),
        reloads=not whole,
    )


def morning_html(summary: MorningSummary, *, units: str = US) -> str:
    """The whole posting as one page that stands alone."""
    return index_html(summary, whole=[_article(s, lines_of(summary, s, units)) for s in summary.stations])


def _article(s: StationMorning, say: FieldLines) -> str:
    heading = escaped(f"{s.station} {s.name}")
    return f'<article id="{s.station}"><h2 class="field">{heading}</h2>\n{_field(s, say, (), 3)}\n</article>'
