"""The lesson card as plain text: the same tables and lines as the printed one, without figures."""

from __future__ import annotations

import textwrap

from advisor.card.model import LessonCard
from advisor.present.card import (
    TableText,
    caution_lines,
    corner_lines,
    header_lines,
    mark_table,
    others_line,
    rating_words,
    runway_lines,
    sensitivity_table,
    true_words,
)
from advisor.present.standing import MADE_UP, source_lines, standing_lines
from advisor.present.words import US, over_ground
from advisor.rules.registry import Suitability


def table_text(table: TableText) -> list[str]:
    """A table in columns, the caption above it. Never raises."""
    rows = [table.head, *table.rows]
    widths = [max(len(row[i]) for row in rows if i < len(row)) for i in range(len(table.head))]
    body = ["  " + "  ".join(f"{cell:<{w}}" for cell, w in zip(row, widths, strict=False)).rstrip() for row in rows]
    return [f"{table.caption}:", *body]


def card_text(card: LessonCard, *, width: int = 96, units: str = US) -> str:
    """The whole card.

    Parameters
    ----------
    card : LessonCard
    width : int
        Columns for sentences; tables keep their own width.
    units : str
        ``us`` or ``metric``, for distances over the ground.

    Returns
    -------
    str
        Text with a closing newline. Never raises.
    """

    def wrap(text: str, first: str = "", indent: str = "") -> str:
        return textwrap.fill(text, width, initial_indent=first, subsequent_indent=indent, break_long_words=False)

    title, where, made = header_lines(card)
    lines = [MADE_UP] if card.day.station.source.site.made_up else []
    lines += [f"{title}: {rating_words(card)}", where, made, ""]
    lines.append(wrap(f"{card.surface_words} {card.height_words}"))
    speed = f" TAS {card.tas_kt:.0f} kt from {card.kias:g} KIAS." if card.tas_kt is not None else ""
    lines.append(wrap(f"{true_words(card)} ({card.variation_words}).{speed}"))
    found = caution_lines(card, None)
    told = ["", "Cautions:", *(wrap(x, "  - ", "    ") for x in found or ("none found in what was read",))]
    suited = card.suitability is Suitability.SUITED
    lines += [] if suited else told  # why it is not better is read before the figures
    if card.why_not:
        lines += ["", wrap(card.why_not)]
    marks, sensitivity, corners = mark_table(card), sensitivity_table(card), corner_lines(card)
    if marks is not None:
        lines += ["", *table_text(marks)]
    if corners:
        lines.append(wrap(f"Corners: {'; '.join(corners)}."))
    if card.astray is not None:
        lines += ["", wrap(f"Not corrected ({card.astray.title.lower()}): {over_ground(card.astray.says, units)}.")]
    if sensitivity is not None:
        lines += ["", *table_text(sensitivity)]
    lines.append("")
    lines += [wrap(x) for x in (over_ground(card.radius_words, units), card.sight_words, card.stall_words) if x]
    if card.reference_words:
        lines.append(wrap(f"Where: {card.reference_words}"))
    lines += [wrap(f"Runway {x}.") for x in runway_lines(card)]
    lines += [wrap(f"School: {x}.") for x in card.school_words]
    lines.append("")
    lines += [wrap(f"If the wind {what}: {says}") for what, says in card.if_wind]
    lines += [wrap(f"{lead} {says}") for lead, says in card.briefing]
    if card.others:
        lines.append(wrap(f"Other lessons this hour: {others_line(card)}."))
    lines += told if suited else []
    lines += ["", *(wrap(x) for x in source_lines(card.day)), *(wrap(x) for x in card.day.assumptions)]
    lines += ["", *(wrap(x) for x in standing_lines(card.day) if x != MADE_UP)]
    return "\n".join(lines) + "\n"
