"""The sentences of a practice day: the answer, what ends it, what was assumed, when it stops being true.

Written from ratings already made; nothing here rates.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np

from advisor.clock import both, local, other_day
from advisor.conditions import StationConditions
from advisor.lessons import lessons
from advisor.ratings import Caution, Ratings
from advisor.rules.registry import INSIDE, RELEASE, Array, Level, Suitability, find_rule
from advisor.segments import from_minutes, to_minutes
from advisor.windows import Window, runs

if TYPE_CHECKING:
    from advisor.advice import HourAdvice, PracticeDay, StageDay


def end_reason(day: PracticeDay, stage: int, window: Window, starts: Array) -> str:
    """What would end a window: the caution or cautions that follow it, or closing time."""
    after = window.last_cell + 1
    if after >= len(starts):
        return "the page looks no further"
    cautions = [c for c in day.cautions(stage, window.lesson, [after]) if not c.is_note]
    if cautions and cautions[0].caps_at < window.suitability:
        return f"{cautions[0].message} ({cautions[0].code})"
    if day.ratings.lowest(stage, window.lesson, day.global_cells([after])) < window.suitability:
        return f"care cautions of three or more kinds together ({', '.join(c.code for c in cautions)})"
    return "closing time"


def limiting(
    day: PracticeDay, index: int, lesson: int, cautions: Sequence[Caution], cells: Sequence[int]
) -> Caution | None:
    """The caution to name first: of those that cap lowest, the one that does so for most of the cells. Never raises."""
    capping = [c for c in cautions if not c.is_note]
    if not capping:
        return None
    first = capping[0]
    # the carburettor caution never explains a rating that another caution explains as well
    rivals = [
        c
        for c in capping
        if c.caps_at == first.caps_at and (c.level == Level.CARE_ONLY) == (first.level == Level.CARE_ONLY)
    ]
    if len(rivals) == 1:
        return first
    starts, ends = day.ratings.conditions.cell_start_min, day.ratings.conditions.cell_end_min
    where = day.global_cells(cells)

    def minutes(caution: Caution) -> int:
        return int(sum(ends[c] - starts[c] for c in day.ratings.reach(caution, index, lesson, where)))

    rules = [find_rule(c.code) for c in rivals]
    seen = any(r.family in ("visibility", "fog") and not r.calm_hazard for r in rules)

    def rank(caution: Caution) -> tuple[int, bool, bool]:
        # a rule of the day says more than the own stop of the one lesson that stands for all, and fog that is there
        # more than fog that can form: a quarter of a mile, not that it may come
        rule = find_rule(caution.code)
        return minutes(caution), rule.axes != "lesson", not (seen and rule.family == "fog" and rule.calm_hazard)

    return max(rivals, key=rank)


def _because(day: PracticeDay, stage: StageDay, lesson: int, cells: Sequence[int]) -> str:
    """ ": reason (CODE)", with the hour from which it holds where that is not the beginning of the cells."""
    caution = stage.limiting
    if caution is None:
        return ""
    where = day.global_cells(cells)
    if stage.best is not None and stage.best.suitability < caution.caps_at:
        codes = ", ".join(c.code for c in stage.cautions if not c.is_note)
        return f": care cautions of three or more kinds together, the first {caution.message} ({codes})"
    held = day.ratings.reach(caution, stage.index, lesson, where)
    since = ""
    if held and held[0] > min(where):
        at = from_minutes(int(day.ratings.conditions.cell_start_min[held[0]]))
        since = f", from {other_day(at, day.made_at, day.zone)}{at.astimezone(day.zone):%H:%M} ({at:%H%M}Z)"
    return f": {caution.message}{since} ({caution.code})"


def hour_reason(day: PracticeDay, stage: StageDay, lesson: int, hour: HourAdvice) -> tuple[str, str]:
    """What holds a lesson down in an hour, and the part of the hour it does so in.

    Returns
    -------
    reason, part : str
        ``gusts to 21 kt ... (GU01)`` and ``from 14:53 (1953Z)``; empty where nothing does, and where it is the whole
        hour. Never raises.
    """
    rated = hour.suitability[lessons()[lesson].key]
    if rated >= Suitability.SUITED:
        return "", ""
    caution = limiting(day, stage.index, lesson, day.cautions(stage.index, lesson, hour.cells), hour.cells)
    if caution is None:
        return "", ""
    if rated < caution.caps_at:
        return f"care cautions of three or more kinds, the first {caution.message} ({caution.code})", ""
    held = day.ratings.reach(caution, stage.index, lesson, day.global_cells(hour.cells))
    part = ""
    if held:
        conditions = day.ratings.conditions
        first, last = (
            from_minutes(int(m)) for m in (conditions.cell_start_min[held[0]], conditions.cell_end_min[held[-1]])
        )
        if first > hour.start:
            part = f"from {first.astimezone(day.zone):%H:%M} ({first:%H%M}Z)"
        elif last < hour.end:
            part = f"until {last.astimezone(day.zone):%H:%M} ({last:%H%M}Z)"
    return f"{caution.message} ({caution.code})", part


def sentence(day: PracticeDay, stage: StageDay, usable: Array, suits: Array, lesson: int) -> str:
    """One sentence: the answer for the stage with its limiting reason and number.

    ``lesson`` is the lesson whose cautions explain a day with no window.
    """
    if stage.best is not None:
        best = stage.best
        start, end = from_minutes(best.start_min), from_minutes(best.end_min)
        first = start.astimezone(day.zone)
        on = other_day(start, day.made_at, day.zone)
        what = f"{stage.lesson(best).title}, {on}{first:%H:%M} to {local(end, day.zone)} ({start:%H%M}Z to {end:%H%M}Z)"
        if best.suitability is not Suitability.SUITED:
            reason = _because(day, stage, best.lesson, list(best.cells))
            return f"{what}, {best.suitability.words}{reason}."
        if stage.setup.stage == "solo":
            return f"{what}: {INSIDE}; {RELEASE}."
        return f"{what}: suited, teaching value {best.teaching.words}."
    if not usable.any():
        return f"No {'opening hours are' if day.opening is not None else 'daylight is'} left to fly these lessons in."
    ahead, body = _ahead(day, usable), _no_window(day, stage, usable, suits, lesson)
    return f"{ahead} {body[0].lower()}{body[1:]}" if ahead else body


def _ahead(day: PracticeDay, usable: Array) -> str:
    """Said before an answer about a day that has not begun: it is dark, or the school is closed."""
    part = day.station.cells
    opens = from_minutes(int(day.ratings.conditions.cell_start_min[part][np.flatnonzero(usable)[0]]))
    lit = any(
        rise <= to_minutes(day.made_at) < down
        for rise, down in zip(day.station.sunrise_min, day.station.sunset_min, strict=True)
    )
    if opens <= day.made_at:
        return ""
    why = "The school is closed now" if lit else "Dark now, and these are day lessons (DL01)"
    return f"{why}. From {other_day(opens, day.made_at, day.zone)}{both(opens, day.zone)}:"


def _no_window(day: PracticeDay, stage: StageDay, usable: Array, suits: Array, lesson: int) -> str:
    """The answer where no lesson has a window: on hold, not rated, or too short, with the reason of its first part."""
    taught = [i for i, x in enumerate(lessons()) if x.taught(stage.setup.stage)]
    cells = np.flatnonzero(usable)
    # the best any lesson has in each cell; below ask first it is the lesson that explains the day that counts, so
    # that one lesson's own stop does not put on hold what is not rated
    best = np.where(suits[lesson] == Suitability.HOLD, Suitability.HOLD, Suitability.NOT_RATED)
    known = (suits[taught] >= Suitability.ASK_FIRST) & (suits[taught] <= Suitability.SUITED)
    best = np.where(known.any(axis=0), Suitability.ASK_FIRST, best)[cells]
    if (best == Suitability.ASK_FIRST).any():
        return f"No stretch of {day.lesson_min} minutes suits a lesson today{_because(day, stage, lesson, cells.tolist())}."
    run = runs(best == best[0])[0]
    first = cells[: run[1] + 1].tolist()
    stage.limiting = limiting(day, stage.index, lesson, day.cautions(stage.index, lesson, first[:1]), first)
    reason = _because(day, stage, lesson, first)
    if len(first) == len(cells):
        if best[0] == Suitability.HOLD:
            return f"Every lesson is on hold today{reason}."
        none = ": no report or forecast that can be used reaches this field now"
        return f"Not rated{reason or none}."
    until = from_minutes(int(day.ratings.conditions.cell_end_min[day.station.cells][first[-1]])).astimezone(day.zone)
    rest = best[len(first) :]
    if best[0] == Suitability.HOLD and (rest == Suitability.NOT_RATED).all():
        return (
            f"Every lesson is on hold until {both(until, day.zone)}{reason}. "
            "Not rated after that: no report or forecast that counts reaches further (AG03)."
        )
    return f"No stretch of {day.lesson_min} minutes suits a lesson today{reason}."


def assumptions(ratings: Ratings, station: StationConditions) -> tuple[str, ...]:
    """Sentences on what was taken for granted: field, aircraft, borrowed reports, changed limits."""
    source = station.source
    out = [*source.site.assumptions, ratings.aircraft.assumption()]
    out += [s for s in (source.observation_from, source.forecast_from) if s]
    return (*out, *ratings.limits.told)


def expiry(day: PracticeDay) -> tuple[datetime, str]:
    """When the page stops being true, and why: the earliest of its age, the report's, the next report and the answer's end."""
    fixed = day.limits.fixed
    options = [
        (
            day.made_at + timedelta(minutes=fixed["page_life_min"]),
            f"a page stands for {fixed['page_life_min']:g} minutes",
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
