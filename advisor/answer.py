"""The sentences of a practice day: the answer, what ends it, what was assumed, when it stops being true.

Written from ratings already made; nothing here rates.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np

from advisor.conditions import StationConditions
from advisor.lessons import lessons
from advisor.ratings import Ratings
from advisor.rules.registry import Array, Suitability
from advisor.segments import from_minutes
from advisor.windows import Window

if TYPE_CHECKING:
    from advisor.advice import PracticeDay, StageDay


def end_reason(day: PracticeDay, stage: int, window: Window, starts: Array) -> str:
    """What would end a window: the caution that follows it, the end of the forecast, or closing time."""
    after = window.last_cell + 1
    if after >= len(starts):
        return "the page looks no further"
    cautions = [c for c in day.cautions(stage, window.lesson, [after]) if not c.is_note]
    if cautions and cautions[0].caps_at < window.suitability:
        return f"{cautions[0].message} ({cautions[0].code})"
    if day.ratings.result.no_solid[stage, day.global_cells([after])[0]]:
        return "no report or forecast reaches further"
    if day.opening is not None:
        return "closing time"
    return "several cautions together"


def sentence(day: PracticeDay, stage: StageDay, usable: Array, suits: Array) -> str:
    """One sentence: the answer for the stage with its limiting reason and number."""
    if stage.best is not None:
        best = stage.best
        first, last = (from_minutes(m).astimezone(day.zone) for m in (best.start_min, best.end_min))
        what = f"{stage.lesson(best).title}, {first:%H:%M} to {last:%H:%M} {last:%Z}"
        reason = f": {stage.limiting.message} ({stage.limiting.code})" if stage.limiting is not None else ""
        if best.suitability is not Suitability.SUITED:
            return f"{what}, {best.suitability.words}{reason}."
        if stage.setup.stage == "solo":
            return f"{what}: inside the default limits; your instructor must release you."
        return f"{what}: suited, teaching value {best.teaching.words}."
    if not usable.any():
        return "No daylight is left to fly these lessons in."
    taught = [i for i, x in enumerate(lessons()) if x.taught(stage.setup.stage)]
    seen = suits[taught][:, usable]
    if stage.limiting is None and (seen == Suitability.NOT_RATED).all():
        return "Not rated: no report or forecast that can be used reaches this field now."
    if (
        (seen <= Suitability.NOT_RATED).all()
        and (seen == Suitability.NOT_RATED).any()
        and not (seen == 0).any()
    ):
        reason = f": {stage.limiting.message} ({stage.limiting.code})" if stage.limiting is not None else ""
        return f"Not rated{reason}."
    reason = f": {stage.limiting.message} ({stage.limiting.code})" if stage.limiting is not None else ""
    if (seen == Suitability.HOLD).all():
        return f"Every lesson is on hold today{reason}."
    return f"No stretch of {day.lesson_min} minutes suits a lesson today{reason}."


def assumptions(ratings: Ratings, station: StationConditions) -> tuple[str, ...]:
    """Sentences on what was taken for granted: field, aircraft, borrowed reports, changed limits."""
    source = station.source
    out = [*source.site.assumptions, ratings.aircraft.assumption()]
    out += [s for s in (source.observation_from, source.forecast_from) if s]
    out += [f"Tightened: {x}." for x in ratings.limits.tightened]
    return tuple(out)


def expiry(day: PracticeDay) -> tuple[datetime, str]:
    """When the page stops being true, and why: the earliest of the reasons in limits.md."""
    fixed = day.limits.fixed
    options = [
        (
            day.made_at + timedelta(minutes=fixed["page_life_min"]),
            f"{fixed['page_life_min']:g} minutes after it was made",
        )
    ]
    observation = day.station.observation
    if observation is not None:
        stop = float(np.min(day.limits.stop["report_age_min"]))
        too_old = observation.observed_at + timedelta(minutes=stop)
        if too_old > day.made_at:
            options.append((too_old, "the report behind it is then too old"))
        following = observation.observed_at + timedelta(minutes=60 + fixed["next_report_grace_min"])
        if following > day.made_at:
            options.append((following, "the next routine report is due"))
    for stage in day.stages:
        if stage.best is None:
            continue
        end = from_minutes(stage.best.end_min)
        if from_minutes(stage.best.start_min) <= day.made_at < end:
            options.append((end, "the answer printed is worse from then on"))
    return min(options)
