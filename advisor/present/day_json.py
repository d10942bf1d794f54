"""The student's day as JSON, schema ``practice-day/1``.

Absent is null, never 0. Times are ISO 8601 with Z; suitability and teaching are the words of the page. Keys are
only added within a version; a change of meaning makes ``practice-day/2``.
"""

from __future__ import annotations

import dataclasses
import math
from datetime import UTC, datetime
from functools import lru_cache
from typing import Any

from advisor.advice import PracticeDay, StageDay
from advisor.demand import DemandSummary
from advisor.lessons import lesson_keys
from advisor.present.standing import source_lines, standing_lines
from advisor.present.words import rating_words
from advisor.ratings import Caution
from advisor.rules.registry import Suitability
from advisor.segments import from_minutes
from advisor.windows import Window

SCHEMA = "practice-day/1"


@lru_cache(maxsize=8192)
def iso(when: datetime) -> str:
    """ISO 8601 with Z, whole minutes, of an aware time on any clock: equal times are one entry of the cache."""
    return f"{when.astimezone(UTC).isoformat()[:16]}Z"  # strftime takes ten times as long


def plain(value: Any) -> Any:
    """A value JSON can hold: NaN and infinities become null, tuples lists."""
    if isinstance(value, float):
        if value.is_integer():
            return value  # as most are; rounding takes six times as long
        return round(value, 3) if math.isfinite(value) else None
    if isinstance(value, list | tuple):
        return [plain(x) for x in value]
    return value


def caution_json(caution: Caution) -> dict[str, Any]:
    """One caution."""
    return {
        "code": caution.code,
        "name": caution.name,
        "family": caution.family,
        "caps_at": None if caution.is_note else caution.caps_at.words,
        "message": caution.message,
        "layer": caution.layer,
        "group": caution.group,
        "from": iso(caution.start),
        "to": iso(caution.end),
        "sources": list(caution.sources),
    }


def window_json(window: Window) -> dict[str, Any]:
    """One booking window."""
    return {
        "lesson": lesson_keys()[window.lesson],
        "from": iso(from_minutes(window.start_min)),
        "to": iso(from_minutes(window.end_min)),
        "suitability": window.suitability.words,
        "teaching": window.teaching.words,
    }


def demand_json(demand: DemandSummary | None) -> dict[str, Any] | None:
    """Demand with its units in the names; null when not known."""
    if demand is None:
        return None
    return {f.name: plain(getattr(demand, f.name)) for f in dataclasses.fields(demand)}


def stage_json(stage: StageDay) -> dict[str, Any]:
    """One stage."""
    return {
        "stage": stage.setup.stage,
        "alone": stage.setup.alone,
        "early_solo": stage.setup.early_solo,
        "sentence": stage.sentence,
        "suited_reads": rating_words(Suitability.SUITED, stage.setup),
        "best": window_json(stage.best) if stage.best is not None else None,
        "best_ends_because": stage.end_reason or None,
        "alternative": window_json(stage.alternative) if stage.alternative is not None else None,
        "windows": [window_json(w) for w in stage.windows],
        "demand": demand_json(stage.demand),
        "swaps": [{"kind": s.kind, "text": s.text} for s in stage.swaps],
        "ground_activity": stage.ground_activity,
        "cautions": [caution_json(c) for c in stage.cautions],
        "hours": [
            {
                "from": iso(h.start),
                "to": iso(h.end),
                "daylight": h.daylight,
                "open": h.open,
                "lessons": {
                    key: {
                        "suitability": h.suitability[key].words,
                        "teaching": h.teaching[key].words
                        if h.suitability[key] not in (Suitability.NOT_RATED, Suitability.NOT_TAUGHT)
                        else None,
                    }
                    for key in lesson_keys()
                },
            }
            for h in stage.hours
        ],
    }


def day_json(day: PracticeDay) -> dict[str, Any]:
    """The whole page. Never raises."""
    site = day.station.source.site
    observation, taf = day.station.observation, day.station.source.taf
    return {
        "schema": SCHEMA,
        "station": site.station.station,
        "name": site.station.name,
        "made_up_demo": site.made_up,
        "made_at": iso(day.made_at),
        "do_not_use_after": iso(day.expires_at),
        "do_not_use_after_because": day.expires_because,
        "time_zone": site.station.time_zone,
        "report": observation.raw if observation is not None else None,
        "report_age_min": plain(day.station.age_min),
        "forecast": taf.raw if taf is not None else None,
        "sources": source_lines(day),
        "notes": list(day.station.source.notes),
        "assumptions": list(day.assumptions),
        "standing": standing_lines(day),
        "stages": [stage_json(s) for s in day.stages],
    }
