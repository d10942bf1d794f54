"""The lesson card as JSON, schema ``lesson-card/1``: numbers with units in their names, absent is null."""

from __future__ import annotations

import dataclasses
from typing import Any

from advisor.card.model import LessonCard, Mark
from advisor.present.card import corner_lines
from advisor.present.day_json import caution_json, iso, plain
from advisor.present.standing import source_lines, standing_lines
from advisor.present.words import rating_words

SCHEMA = "lesson-card/1"


def _record(item: Any, leave_out: tuple[str, ...] = ()) -> dict[str, Any]:
    return {f.name: plain(getattr(item, f.name)) for f in dataclasses.fields(item) if f.name not in leave_out}


def _place(card: LessonCard, mark: Mark) -> dict[str, Any]:
    """One numbered place, its heading in magnetic too; null where the variation is not known."""
    ends = [card.magnetic(x) for x in mark.heading_deg_true]
    magnetic = None if None in ends else plain(ends)
    return {**_record(mark, ("drawn",)), "heading_deg_magnetic": magnetic}


def card_json(card: LessonCard) -> dict[str, Any]:
    """One card.

    Parameters
    ----------
    card : LessonCard

    Returns
    -------
    dict
        Ready for ``json.dumps``; never NaN. Pairs are low and high over the wind at lesson height; crab is positive
        with the nose right of the course; directions are true unless named magnetic. Never raises.
    """
    day, plan, curve = card.day, card.plan, card.bank_curve
    return {
        "schema": SCHEMA,
        "station": day.station.source.site.station.station,
        "made_up": day.station.source.site.made_up,
        "made_at": iso(day.made_at),
        "do_not_use_after": iso(day.expires_at),
        "lesson": card.lesson.key,
        "stage": card.setup.stage,
        "alone": card.setup.alone,
        "from": iso(card.at),
        "to": iso(card.until),
        "suitability": card.suitability.words,
        "reads": rating_words(card.suitability, card.setup),
        "teaching": card.teaching.words,
        "first_turn": "left" if card.left else "right",
        "variation_deg_east": plain(card.variation_deg),
        "wind_at_field": card.surface_words,
        "wind_at_height": None if card.wind is None else _record(card.wind),
        "tas_kt": plain(card.tas_kt),
        "kias": card.kias,
        "height_ft_agl": card.height_ft_agl,
        "planned_bank_deg": card.planned_bank_deg,
        "exit_bank_deg": card.exit_bank_deg,
        "radius_ft": plain(card.radius_ft),
        "no_plan_because": card.why_not or None,
        "places": None if plan is None else [_place(card, m) for m in plan.marks],
        "corners": list(corner_lines(card)),
        "track_ft": None if plan is None else plain(plan.track),
        "not_corrected": None
        if card.astray is None
        else {"says": card.astray.says, "track_ft": plain(card.astray.track)},
        "bank_curve": None if curve is None else _record(curve, ("left",)),
        "sensitivity": [_record(s) for s in card.sensitivity],
        "runways": [_record(r) for r in card.runways],
        "reference": None if card.reference is None else _record(card.reference),
        "if_the_wind": dict(card.if_wind),
        "briefing": [f"{lead} {says}" for lead, says in card.briefing],
        "school": list(card.school_words),
        "cautions": [caution_json(c) for c in card.cautions],
        "sources": source_lines(day),
        "standing": standing_lines(day),
    }
