"""A school's own limits, wind stops of single lessons, and hours, from a checked file."""

from __future__ import annotations

from collections.abc import Callable
from datetime import time
from typing import Any

from advisor import school_model as model
from advisor.clock import OpeningHours
from advisor.errors import DataFileError, printable
from advisor.lessons import lesson_keys, lessons
from advisor.limits import STAGES, Changes, LessonStops, make_limits, quantities, stage_setup
from advisor.school import LimitOverrides
from advisor.school_faults import near


def read_lesson_stops(
    data: Any, check: Callable[[type[model.StopsModel], Any, str], model.StopsModel | None], faults: list[str]
) -> LessonStops:
    """``[lesson_stops.solo]`` with a line for each lesson; faults are added to the list. Never raises."""
    out: LessonStops = {}
    if not isinstance(data, dict):
        faults.append("lesson_stops: write it by stage, such as [lesson_stops.solo].")
        return out
    for stage, table in data.items():
        if stage not in STAGES or not isinstance(table, dict):
            faults.append(f"lesson_stops.{printable(stage)}: write it by stage; known: {', '.join(STAGES)}.")
            continue
        for key, stops in table.items():
            path = f"lesson_stops.{stage}.{printable(key)}"
            if key not in lesson_keys():
                faults.append(f"{path}: no such lesson; {near(key, lesson_keys())}known: {', '.join(lesson_keys())}.")
            elif not next(x for x in lessons() if x.key == key).taught(stage):
                faults.append(f"{path}: this lesson is not taught at this stage, so it has no stop to set.")
            elif (found := check(model.StopsModel, stops, path)) is not None:
                given = {"mean_wind_kt": found.mean_wind_kt, "gust_spread_kt": found.gust_spread_kt}
                out.setdefault(stage, {})[key] = {k: float(v) for k, v in given.items() if v is not None}
    return out


def read_limits(
    data: Any, check: Callable[[type[model.PairModel], Any, str], model.PairModel | None], faults: list[str]
) -> LimitOverrides:
    """``[limits.solo]`` with pairs of care and stop; faults are added to the list. Never raises."""
    overrides: LimitOverrides = {}
    if not isinstance(data, dict):
        faults.append("limits: write it by stage, such as [limits.solo].")
        return overrides
    for stage, table in data.items():
        if stage not in STAGES:
            faults.append(f"limits.{printable(stage)}: no such stage; {near(stage, STAGES)}known: {', '.join(STAGES)}.")
            continue
        if not isinstance(table, dict):
            faults.append(f"limits.{stage}: must be a table.")
            continue
        for quantity, pair in table.items():
            path = f"limits.{stage}.{printable(quantity)}"
            if quantity not in quantities():
                faults.append(f"{path}: no such limit; {near(quantity, quantities())}known: {', '.join(quantities())}.")
                continue
            checked = check(model.PairModel, pair, path)
            if checked is not None:
                overrides.setdefault(quantity, {})[stage] = (checked.care, checked.stop)
    try:
        make_limits(tuple(stage_setup(stage) for stage in STAGES), Changes(school=overrides))
    except DataFileError as error:
        faults += str(error).splitlines()
    return overrides


def opening_hours(hours: model.HoursModel | None) -> OpeningHours | None:
    """Hours with the weekdays that differ; ``None`` when the file gives none. Never raises for checked hours."""
    if hours is None:
        return None
    days: list[tuple[int, tuple[time, time] | None]] = []
    for number, name in enumerate(model.WEEKDAYS):
        own = getattr(hours, name)
        if name in hours.closed:
            days.append((number, None))
        elif own is not None:
            days.append((number, (_clock(own.opens), _clock(own.closes))))
    return OpeningHours(_clock(hours.opens), _clock(hours.closes), tuple(days))


def _clock(text: str) -> time:
    return time(int(text[:2]), int(text[3:]))
