"""A season as plain text: one answer a lesson, and a grid of months and hours when one lesson is asked for."""

from __future__ import annotations

import textwrap

import numpy as np

from advisor.archive.report import MONTH_NAMES, Season, SeasonReport, counted
from advisor.lessons import lessons
from advisor.present.season_words import (
    FEW,
    NONE_BELOW,
    answer,
    fit_words,
    held_down,
    lesson_title,
    percent,
    stage_words,
    standing_lines,
)
from advisor.rules.registry import Suitability

#: Columns of sentences; a row of a table may be wider.
WIDTH = 100


def season_text(report: SeasonReport) -> str:
    """The page as text, under 110 columns. Never raises."""
    out: list[str] = []
    one_lesson = len(report.lesson_index) == 1
    for station in report.counts.stations:
        by_stage: dict[str, list[Season]] = {}
        for season in report.seasons(station):
            by_stage.setdefault(stage_words(season.setup), []).append(season)
        for stage, seasons in by_stage.items():
            out += [f"{station}  {stage}", ""]
            out += [line for season in seasons for line in _grid(season)] if one_lesson else _overview(seasons)
            out.append("")
        if one_lesson and not by_stage:
            title = lessons()[report.lesson_index[0]].title
            out += [f"{station}  {title} is not taught at this stage.", ""]
    out += report.told()
    out += standing_lines()
    return "\n".join(_wrapped(line) for line in out) + "\n"


def _wrapped(line: str) -> str:
    """A sentence in lines of a page's width; the rows of a table as they are."""
    if len(line) <= WIDTH or "  " in line.strip():
        return line
    indent = " " * (len(line) - len(line.lstrip()))
    return textwrap.fill(line.strip(), WIDTH, initial_indent=indent, subsequent_indent=indent, break_on_hyphens=False)


def _overview(seasons: list[Season]) -> list[str]:
    numbers = f"{'worth':>5} {'suited':>6} {'care':>5} {'ask':>5} {'hold':>5} {'n/r':>4} {'teaches':>7}"
    head = f"  {'lesson':32} {numbers}  best months and hours"
    lines = [head, f"  {'':32} {'per cent of daylight hours':>26}"]
    for season in seasons:
        fit = [
            percent(season.share_of(value))
            for value in (
                Suitability.SUITED, Suitability.WITH_CARE, Suitability.ASK_FIRST, Suitability.HOLD, Suitability.NOT_RATED,
            )
        ]  # fmt: skip
        best = ", ".join(w.words for w in season.windows(2)) or "none often enough to say"
        lines.append(
            f"  {lesson_title(season):32} {percent(season.worth_share):>5} {fit[0]:>6} {fit[1]:>5} {fit[2]:>5} {fit[3]:>5} "
            f"{fit[4]:>4} {percent(season.teaches()):>7}  {best}"
        )
    held: dict[tuple[str, str], list[tuple[str, float]]] = {}
    for season in seasons:
        for code, words, share in season.blockers(1):
            held.setdefault((code, words), []).append((lesson_title(season).lower(), share))
    lines.append("  Held down most by:" if held else f"  {NONE_BELOW}")
    for (code, words), found in held.items():
        low, high = min(share for _, share in found), max(share for _, share in found)
        spread = f"{low:.0%}" if round(low, 2) == round(high, 2) else f"{low:.0%} to {high:.0%}"
        names = "every lesson" if len(found) == len(seasons) > 1 else ", ".join(name for name, _ in found)
        lines.append(f"    {words} ({code}): {spread} of hours, {names}")
    return lines


def _grid(season: Season) -> list[str]:
    seen = np.flatnonzero(season.hours.sum(axis=0))
    lines = [
        f"  {answer(season)}",
        f"  {counted(season.total, 'hour')}: {fit_words(season)}.",
        f"  {held_down(season)}",
        "",
    ]
    if not len(seen):
        return lines
    span = range(int(seen[0]), int(seen[-1]) + 1)
    lines.append("  Per cent of past hours worth scheduling, by month and local hour")
    lines.append("       " + "".join(f"{hour:>5d}" for hour in span))
    shares = season.shares
    for month, name in enumerate(MONTH_NAMES):
        cells = [percent(float(shares[month, h]), int(season.hours[month, h])) for h in span]
        lines.append(f"  {name}  " + "".join(f"{cell:>5}" for cell in cells))
    return [*lines, f"  {FEW}"]
