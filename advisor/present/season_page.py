"""A season as one self-contained page: for each lesson a year of days, drawn month by hour.

Each hour is a disc whose area is the share of past hours worth scheduling, with the number printed in it and a
fill that steps with the share; so it reads without colour, in print and at arm's length. The row of discs widens
and narrows with the daylight of the month.
"""

from __future__ import annotations

from html import escape

import numpy as np

from advisor.archive.report import FEW_HOURS, MONTH_NAMES, Season, SeasonReport, counted
from advisor.errors import DataFileError
from advisor.lessons import lessons
from advisor.present.figures.svg import FONT, GREY, INK, PAPER, num
from advisor.present.season_words import (
    FEW,
    answer,
    fit_words,
    held_down,
    lesson_title,
    percent,
    stage_words,
    standing_lines,
)

#: More stations than this make no page a person reads.
MOST_STATIONS = 12
_STEP, _LEFT, _TOP = 34.0, 44.0, 30.0
_LARGEST = 15.5
#: Width of a picture on the screen, and how large a unit of it is at that width for a year of days.
_WIDEST_REM, _REM_A_UNIT = 46, 0.077
#: Share from which a fill is used, and the colour of the number on it.
_FILLS = ((0.5, INK, PAPER), (0.3, "url(#h3)", INK), (0.15, "url(#h2)", INK), (0.0, PAPER, INK))

_STYLE = f"""
body{{font:16px/1.45 {FONT};color:{INK};background:{PAPER};margin:0 auto;max-width:62rem;padding:1rem}}
h1{{font-size:1.5rem;margin:.2rem 0}} h2{{font-size:1.25rem;border-top:3px solid {INK};padding-top:.6rem;margin-top:2rem}}
h3{{font-size:1.05rem;margin:1.4rem 0 .2rem}} p{{margin:.3rem 0}}
svg{{width:100%;height:auto;max-width:{_WIDEST_REM}rem;display:block}}
.best{{font-size:1.1rem;font-weight:bold}} .key svg{{max-width:34rem}}
footer{{border-top:1px solid {INK};margin-top:2rem;font-size:.9rem}}
table{{border-collapse:collapse;font-size:.8rem}} td,th{{border:1px solid {GREY};padding:.1rem .3rem;text-align:right}}
.wide,figure{{overflow-x:auto}} figure{{margin:.4rem 0}} summary{{cursor:pointer;padding:.4rem 0}}
@media screen and (max-width:600px){{figure svg{{min-width:36rem}}}}
@page{{margin:10mm}}
h2,h3{{break-after:avoid}} section{{break-inside:avoid}}
@media print{{details{{display:none}} body{{max-width:none;padding:0;font-size:11pt}} h2{{margin-top:1rem}}
figure{{overflow:visible}} figure:not(.key) svg{{max-height:88mm;max-width:none;width:auto}}}}
"""
_PATTERNS = (
    '<svg width="0" height="0" aria-hidden="true" style="position:absolute"><defs>'
    '<pattern id="h3" width="4" height="4" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    '<rect width="4" height="4" fill="#c9c9c9"/><rect width="1.2" height="4" fill="#8f8f8f"/></pattern>'
    '<pattern id="h2" width="5" height="5" patternUnits="userSpaceOnUse">'
    '<rect width="5" height="5" fill="#f1f1f1"/><circle cx="2.5" cy="2.5" r=".8" fill="#9a9a9a"/></pattern>'
    "</defs></svg>"
)


def season_html(report: SeasonReport) -> str:
    """The page.

    Parameters
    ----------
    report : SeasonReport
        Up to ``MOST_STATIONS`` stations.

    Returns
    -------
    str
        A whole HTML document with nothing to load.

    Raises
    ------
    DataFileError
        More stations than a person reads.
    """
    stations = report.counts.stations
    if len(stations) > MOST_STATIONS:
        raise DataFileError(
            f"A page of {len(stations)} stations is too long to read. Name up to {MOST_STATIONS} with --stations, or "
            "take the table: --format csv."
        )
    title = f"Months and hours for lessons at {', '.join(stations)}"
    out = [
        "<!DOCTYPE html>",
        f'<html lang="en"><head><meta charset="utf-8"><title>{escape(title)}</title>',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<style>{_STYLE}</style></head><body>{_PATTERNS}",
        f"<main><h1>{escape(title)}</h1>",
        *(f"<p>{escape(line)}</p>" for line in standing_lines()[:2]),
        _key(),
    ]
    number = 0
    for station in stations:
        stage = ""
        for season in report.seasons(station):
            if stage_words(season.setup) != stage:
                stage = stage_words(season.setup)
                out.append(f"<h2>{escape(station)}, {escape(stage)}</h2>")
            number += 1
            out.append(_section(season, number))
    lines = [*report.told(), *standing_lines()]
    out.append(f"</main><footer>{''.join(f'<p>{escape(line)}</p>' for line in lines)}</footer></body></html>")
    return "\n".join(out) + "\n"


def _section(season: Season, number: int) -> str:
    return "\n".join(
        [
            f"<section><h3>{escape(lesson_title(season))}</h3>",
            f'<p class="best">{escape(_upper_first(answer(season).split(": ", 1)[1]))}</p>',
            f"<p>{counted(season.total, 'daylight hour')}: {escape(fit_words(season))}. {escape(held_down(season))}</p>",
            f'<figure tabindex="0">{picture(season, number)}</figure>',
            f"{_numbers(season)}</section>",
        ]
    )


def _upper_first(text: str) -> str:
    return text[:1].upper() + text[1:]


def _span(season: Season) -> range:
    seen = np.flatnonzero(season.hours.sum(axis=0))
    return range(int(seen[0]), int(seen[-1]) + 1) if len(seen) else range(0)


def _narrow(width: float) -> str:
    """A picture of few hours keeps the size of its letters, and is not blown up to the width of the page."""
    rem = width * _REM_A_UNIT
    return "" if rem >= _WIDEST_REM else f' style="max-width:{num(rem)}rem;min-width:min(36rem,{num(rem)}rem)"'


def picture(season: Season, number: int = 1) -> str:
    """The year of one lesson as SVG: rows are months, columns local hours. Never raises."""
    span = _span(season)
    width, height = _LEFT + _STEP * max(len(span), 1) + 8, _TOP + _STEP * 12 + 8
    title = f"{season.station}: {lesson_title(season)}, per cent of past hours worth scheduling"
    parts = [
        f'<svg viewBox="0 0 {num(width)} {num(height)}" role="img"{_narrow(width)} aria-labelledby="t{number} d{number}" '
        f'font-family="{escape(FONT)}" font-size="11.5">',
        f'<title id="t{number}">{escape(title)}</title>',
        f'<desc id="d{number}">{escape(answer(season))} Rows are months, columns hours on the local clock.</desc>',
    ]
    for column, hour in enumerate(span):
        x = _LEFT + _STEP * (column + 0.5)
        parts.append(f'<text x="{num(x)}" y="18" text-anchor="middle" fill="{GREY}">{hour:02d}</text>')
    for window in season.windows():
        x = _LEFT + _STEP * (window.first_hour - span[0]) + 1
        y, wide = (
            _TOP + _STEP * (window.month - 1) + 1,
            _STEP * (window.last_hour - window.first_hour + 1) - 2,
        )
        parts.append(
            f'<rect x="{num(x)}" y="{num(y)}" width="{num(wide)}" height="{num(_STEP - 2)}" rx="15" fill="none" '
            f'stroke="{INK}" stroke-width="2"/>'
        )
    shares = season.shares
    for month, name in enumerate(MONTH_NAMES, 1):
        y = _TOP + _STEP * (month - 0.5)
        parts.append(f'<text x="{num(_LEFT - 8)}" y="{num(y + 4)}" text-anchor="end">{name}</text>')
        lit = [column for column, hour in enumerate(span) if season.hours[month - 1, hour]]
        if lit:
            left, right = _LEFT + _STEP * (lit[0] + 0.5), _LEFT + _STEP * (lit[-1] + 0.5)
            parts.append(
                f'<line x1="{num(left)}" y1="{num(y)}" x2="{num(right)}" y2="{num(y)}" stroke="{GREY}" stroke-width=".6"/>'
            )
        for column in lit:
            hour = span[column]
            hours, share = int(season.hours[month - 1, hour]), float(shares[month - 1, hour])
            x = _LEFT + _STEP * (column + 0.5)
            parts.append(_disc(x, y, share, hours))
    parts.append("</svg>")
    return "".join(parts)


def _disc(x: float, y: float, share: float, hours: int) -> str:
    fill, ink = next((fill, ink) for low, fill, ink in _FILLS if share >= low)
    radius = max(8.5, _LARGEST * share**0.5)
    few = ' stroke-dasharray="2 2"' if hours < FEW_HOURS else ""
    backing = f' stroke="{PAPER}" stroke-width="2.4" paint-order="stroke"' if fill.startswith("url") else ""
    return (
        f'<circle cx="{num(x)}" cy="{num(y)}" r="{num(radius)}" fill="{fill}" stroke="{INK}"{few}/>'
        f'<text x="{num(x)}" y="{num(y + 4)}" text-anchor="middle" fill="{ink}"{backing}>{percent(share, hours)}</text>'
    )


def _key() -> str:
    steps = ((0.05, "under 15"), (0.2, "15 to 29"), (0.4, "30 to 49"), (0.7, "50 and more"))
    parts = [
        '<figure class="key" tabindex="0"><svg viewBox="0 0 560 44" role="img" aria-label="Key" font-size="12" '
        f'font-family="{escape(FONT)}">'
    ]
    for k, (share, words) in enumerate(steps):
        x = 20 + 104 * k
        parts.append(_disc(x, 22, share, FEW_HOURS) + f'<text x="{x + 20}" y="26">{words}</text>')
    parts.append(f'<rect x="430" y="6" width="40" height="32" rx="15" fill="none" stroke="{INK}" stroke-width="2"/>')
    parts.append('<text x="476" y="26">best hours</text></svg>')
    words = "Per cent of past hours worth scheduling: a larger and darker disc is more."
    return "".join(parts) + f"<figcaption>{words} {FEW}</figcaption></figure>"


def _numbers(season: Season) -> str:
    span = _span(season)
    shares = season.shares
    head = "".join(f"<th scope='col'>{hour:02d}</th>" for hour in span)
    rows = []
    for month, name in enumerate(MONTH_NAMES):
        cells = "".join(
            f"<td>{percent(float(shares[month, h]), int(season.hours[month, h]))} / {int(season.hours[month, h])}</td>"
            for h in span
        )
        rows.append(f"<tr><th scope='row'>{name}</th>{cells}</tr>")
    title = escape(lessons()[season.lesson].title.lower())
    return (
        f"<details><summary>The same as a table: per cent worth scheduling / hours seen, {title}</summary>"
        f"<div class='wide' tabindex='0'><table><tr><th scope='col'>month</th>{head}</tr>{''.join(rows)}</table></div>"
        "</details>"
    )
