"""Advice for a practice day: hours, windows, the best lesson, swaps, and when the page stops being true.

Computes what pages show; writes no page. Every sentence here is plain text with its unit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from advisor.aircraft import Aircraft
from advisor.conditions import StationConditions, StationInput, build_conditions
from advisor.demand import DemandSummary, demand_summary
from advisor.lessons import Lesson, lesson_keys, lessons, preference
from advisor.limits import Changes, Limits, StageSetup, make_limits
from advisor.ratings import Caution, Ratings
from advisor.rules.registry import Array, Suitability
from advisor.segments import from_minutes, to_minutes
from advisor.swaps import Swap, ground_activity, swaps_for
from advisor.teaching import Teaching
from advisor.windows import Window, best_slot, rank_key, windows_of

LESSON_MIN = 60


@dataclass(frozen=True, slots=True)
class HourAdvice:
    """One clock hour (from ``now`` on) of one field for one stage.

    ``suitability`` and ``teaching`` map a lesson to the lowest of the hour's cells.
    """

    start: datetime
    end: datetime
    cells: tuple[int, ...]
    daylight: bool
    suitability: dict[str, Suitability]
    teaching: dict[str, Teaching]


@dataclass(slots=True)
class StageDay:
    """Advice for one stage."""

    setup: StageSetup
    index: int
    hours: tuple[HourAdvice, ...]
    windows: tuple[Window, ...]  # best first, at most one for each lesson
    best: Window | None
    slot: Window | None  # the lesson-long stretch of the best window that teaches most
    alternative: Window | None
    demand: DemandSummary | None
    cautions: tuple[Caution, ...]  # of the best lesson over its window, or of the day when there is none
    sentence: str
    limiting: Caution | None
    end_reason: str
    swaps: tuple[Swap, ...]
    ground_activity: str | None

    def lesson(self, window: Window) -> Lesson:
        """The lesson of a window."""
        return lessons()[window.lesson]


@dataclass(slots=True)
class PracticeDay:
    """Everything a page shows about one field."""

    ratings: Ratings
    station: StationConditions
    aircraft: Aircraft
    made_at: datetime
    expires_at: datetime
    expires_because: str
    opening: tuple[time, time] | None
    lesson_min: int
    stages: tuple[StageDay, ...] = ()
    assumptions: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    refused: tuple[str, ...] = field(default=())

    @property
    def limits(self) -> Limits:
        """Limits in use."""
        return self.ratings.limits

    @property
    def zone(self) -> ZoneInfo:
        """The field's time zone."""
        return ZoneInfo(self.station.source.site.station.time_zone)

    def global_cells(self, cells: Sequence[int]) -> list[int]:
        """Field cells as positions in the ratings' cell axis."""
        return [self.station.first_cell + int(c) for c in cells]

    def cautions(self, stage: int, lesson: int, cells: Sequence[int]) -> list[Caution]:
        """Cautions of one stage and lesson over some of the field's cells."""
        return self.ratings.cautions(stage, lesson, self.global_cells(cells))

    def demand(self, stage: int, lesson: int, cells: Sequence[int]) -> DemandSummary | None:
        """Demand of one stage and lesson over some of the field's cells."""
        return demand_summary(self.ratings, stage, lesson, self.global_cells(cells))

    def cells_at(self, when: datetime) -> list[int]:
        """Cell of the field that holds a time, as a list of one, or empty outside the page's span."""
        minute = to_minutes(when)
        starts, ends, _ = _cells(self.ratings, self.station)
        return [int(i) for i in np.flatnonzero((starts <= minute) & (ends > minute))]


def _cells(ratings: Ratings, station: StationConditions) -> tuple[Array, Array, Array]:
    conditions = ratings.conditions
    part = station.cells
    starts, ends = conditions.cell_start_min[part], conditions.cell_end_min[part]
    light = np.zeros(len(starts), dtype=bool)
    for rise, down in zip(station.sunrise_min, station.sunset_min, strict=True):
        light |= (starts >= rise) & (ends <= down)
    return starts, ends, light


def _open_cells(starts: Array, ends: Array, zone: ZoneInfo, opening: tuple[time, time] | None) -> Array:
    if opening is None:
        return np.ones(len(starts), dtype=bool)
    out = []
    for a, b in zip(starts, ends, strict=True):
        first, last = from_minutes(int(a)).astimezone(zone), from_minutes(int(b) - 1).astimezone(zone)
        out.append(opening[0] <= first.time() and last.time() <= opening[1] and first.date() == last.date())
    return np.array(out, dtype=bool)


def practice_days(
    inputs: list[StationInput],
    setups: tuple[StageSetup, ...],
    aircraft: Aircraft,
    *,
    changes: Changes | None = None,
    opening: tuple[time, time] | None = None,
    lesson_min: int = LESSON_MIN,
) -> list[PracticeDay]:
    """Advice for one or many fields.

    Parameters
    ----------
    inputs : list of StationInput
        One for each field.
    setups : tuple of StageSetup
        Stages to advise.
    aircraft : Aircraft
        The lesson aircraft.
    changes : Changes or None
        School and student changes to the limits.
    opening : pair of local times or None
        Hours the school flies; ``None`` means any daylight.
    lesson_min : int
        Length of a lesson. [min]

    Returns
    -------
    list of PracticeDay
        In the order of ``inputs``.

    Raises
    ------
    DataFileError
        The changes are not allowed.
    """
    days = bare_days(inputs, setups, aircraft, changes=changes, opening=opening, lesson_min=lesson_min)
    for day in days:
        advise_stages(day)
    return days


def bare_days(
    inputs: list[StationInput],
    setups: tuple[StageSetup, ...],
    aircraft: Aircraft,
    *,
    changes: Changes | None = None,
    opening: tuple[time, time] | None = None,
    lesson_min: int = LESSON_MIN,
) -> list[PracticeDay]:
    """As :func:`practice_days` with ``stages`` empty; :func:`advise_stages` fills a day in afterwards."""
    limits = make_limits(setups, changes)
    ratings = Ratings(build_conditions(inputs), limits, aircraft)
    return [_bare(ratings, station, opening, lesson_min) for station in ratings.conditions.stations]


def _bare(
    ratings: Ratings, station: StationConditions, opening: tuple[time, time] | None, lesson_min: int
) -> PracticeDay:
    now = station.source.now
    told = _assumptions(ratings, station)
    day = PracticeDay(ratings, station, ratings.aircraft, now, now, "", opening, lesson_min, assumptions=told)
    day.expires_at, day.expires_because = _expiry(day)
    return day


def advise_stages(day: PracticeDay) -> None:
    """Fill in the advice for each stage, and the expiry that follows from it. Never raises."""
    ratings, station = day.ratings, day.station
    starts, ends, light = _cells(ratings, station)
    usable = light & _today(starts, station) & _open_cells(starts, ends, day.zone, day.opening)
    day.stages = tuple(
        _stage(day, i, setup, starts, ends, light, usable) for i, setup in enumerate(ratings.limits.setups)
    )
    day.expires_at, day.expires_because = _expiry(day)


def _today(starts: Array, station: StationConditions) -> Array:
    """Cells of the first daylight that is not yet over."""
    now = to_minutes(station.source.now)
    for rise, down in zip(station.sunrise_min, station.sunset_min, strict=True):
        if down > now:
            return np.asarray((starts >= rise) & (starts < down))
    return np.zeros(len(starts), dtype=bool)


def _stage(
    day: PracticeDay, index: int, setup: StageSetup, starts: Array, ends: Array, light: Array, usable: Array
) -> StageDay:
    ratings, station = day.ratings, day.station
    part = station.cells
    suits = ratings.suitability[index, :, part]
    teach = ratings.teaching[index, :, part]
    found = [
        w
        for i in range(len(lessons()))
        for w in windows_of(i, suits[i], teach[i], starts, ends, usable, day.lesson_min)
    ]
    order = preference(setup.stage)
    found.sort(
        key=lambda w: (
            *rank_key(
                w, order.index(lesson_keys()[w.lesson]), bool(lessons()[w.lesson].stage_note.get(setup.stage))
            ),
            w.start_min,
        )
    )
    first_of: dict[int, Window] = {}
    for w in found:
        first_of.setdefault(w.lesson, w)
    ranked = tuple(first_of.values())
    best = ranked[0] if ranked else None
    alternative = ranked[1] if len(ranked) > 1 else None
    if best is not None:
        slot = best_slot(best, suits[best.lesson], teach[best.lesson], starts, ends, day.lesson_min)
        cautions = tuple(day.cautions(index, best.lesson, list(best.cells)))
        demand = day.demand(index, best.lesson, list(slot.cells))
    else:
        slot = None
        cells = [int(i) for i in np.flatnonzero(usable)] or list(range(len(starts)))
        simplest = _simplest(setup)
        cautions = tuple(day.cautions(index, simplest, cells))
        demand = day.demand(index, simplest, cells[:1])
    capping = [c for c in cautions if not c.is_note]
    out = StageDay(
        setup,
        index,
        _hours(starts, ends, suits, teach, light),
        ranked,
        best,
        slot,
        alternative,
        demand,
        cautions,
        "",
        capping[0] if capping else None,
        _end_reason(day, index, best, starts) if best is not None else "",
        (),
        None,
    )
    out.swaps = swaps_for(day, out)
    out.ground_activity = ground_activity(day, out) if best is None else None
    out.sentence = _sentence(day, out, usable, suits)
    return out


def _simplest(setup: StageSetup) -> int:
    return next(i for i, x in enumerate(lessons()) if x.taught(setup.stage))


def _hours(starts: Array, ends: Array, suits: Array, teach: Array, light: Array) -> tuple[HourAdvice, ...]:
    out = []
    hour = starts // 60
    for value in np.unique(hour):
        cells = np.flatnonzero(hour == value)
        low = suits[:, cells].min(axis=1)
        # not taught stands above the order: it is the same in every cell
        out.append(
            HourAdvice(
                from_minutes(int(starts[cells[0]])),
                from_minutes(int(ends[cells[-1]])),
                tuple(int(c) for c in cells),
                bool(light[cells].all()),
                {key: Suitability(int(low[i])) for i, key in enumerate(lesson_keys())},
                {key: Teaching(int(teach[i, cells].min())) for i, key in enumerate(lesson_keys())},
            )
        )
    return tuple(out)


def _end_reason(day: PracticeDay, stage: int, window: Window, starts: Array) -> str:
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


def _sentence(day: PracticeDay, stage: StageDay, usable: Array, suits: Array) -> str:
    """One sentence: the answer for the stage with its limiting reason and number."""
    if stage.best is not None:
        best = stage.best
        first, last = (from_minutes(m).astimezone(day.zone) for m in (best.start_min, best.end_min))
        what = f"{stage.lesson(best).title}, {first:%H:%M} to {last:%H:%M} {last:%Z}"
        reason = f": {stage.limiting.message} ({stage.limiting.code})" if stage.limiting is not None else ""
        if best.suitability is not Suitability.SUITED:
            return f"{what}, {best.suitability.words}{reason}."
        if stage.setup.alone:
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


def _assumptions(ratings: Ratings, station: StationConditions) -> tuple[str, ...]:
    source = station.source
    out = [*source.site.assumptions, ratings.aircraft.assumption()]
    out += [s for s in (source.observation_from, source.forecast_from) if s]
    out += [f"School limits looser than shipped: {x}." for x in ratings.limits.loosened]
    out += [f"Tightened: {x}." for x in ratings.limits.tightened]
    return tuple(out)


def _expiry(day: PracticeDay) -> tuple[datetime, str]:
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


def find_stage(day: PracticeDay, stage: str) -> StageDay:
    """The advice for one stage of a day.

    Raises
    ------
    KeyError
        The stage was not asked for.
    """
    for candidate in day.stages:
        if candidate.setup.stage == stage:
            return candidate
    raise KeyError(stage)
