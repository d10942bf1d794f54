"""Advice for a practice day: hours, windows, the best lesson, swaps, and when the page stops being true.

Computes what pages show; writes no page. Every sentence here is plain text with its unit.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np

from advisor import answer
from advisor.aircraft import Aircraft
from advisor.clock import OpeningHours
from advisor.conditions import StationConditions, StationInput, build_conditions
from advisor.demand import DemandSummary, demand_summary
from advisor.lessons import Lesson, lesson_keys, lessons, preference
from advisor.limits import Changes, Limits, StageSetup, make_limits
from advisor.ratings import Caution, Ratings
from advisor.records import dataclass
from advisor.rules.registry import Array, Suitability
from advisor.segments import from_minutes, to_minutes
from advisor.swaps import Swap, ground_activity, swaps_for
from advisor.teaching import Teaching
from advisor.windows import Window, best_slot, rank_key, windows_of

LESSON_MIN = 60


@dataclass(frozen=True, slots=True)
class HourAdvice:
    """One clock hour (from ``now`` on) of one field for one stage; the sun and the doors cut an hour in two.

    ``suitability`` and ``teaching`` map a lesson to the lowest of the hour's cells.
    """

    start: datetime
    end: datetime
    cells: tuple[int, ...]
    daylight: bool
    open: bool
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
    limiting: Caution | None
    end_reason: str
    swaps: tuple[Swap, ...] = ()
    ground_activity: str | None = None
    sentence: str = ""

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
    opening: OpeningHours | None
    lesson_min: int
    stages: tuple[StageDay, ...] = ()
    assumptions: tuple[str, ...] = ()

    @property
    def limits(self) -> Limits:
        """Limits in use."""
        return self.ratings.limits

    @property
    def zone(self) -> ZoneInfo:
        """The field's time zone."""
        return ZoneInfo(self.station.source.site.station.time_zone)

    @property
    def last_minute(self) -> datetime:
        """The last minute looked at."""
        ends = self.ratings.conditions.cell_end_min[self.station.cells]
        return from_minutes(int(ends[-1]) - 1) if len(ends) else self.made_at

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


def _open_cells(starts: Array, ends: Array, zone: ZoneInfo, opening: OpeningHours | None) -> Array:
    if opening is None:
        return np.ones(len(starts), dtype=bool)
    out = []
    for a, b in zip(starts, ends, strict=True):
        first, last = from_minutes(int(a)).astimezone(zone), from_minutes(int(b) - 1).astimezone(zone)
        times = opening.on(first.date())
        out.append(
            times is not None and times[0] <= first.time() and last.time() <= times[1] and first.date() == last.date()
        )
    return np.array(out, dtype=bool)


def practice_days(
    inputs: list[StationInput],
    setups: tuple[StageSetup, ...],
    aircraft: Aircraft,
    *,
    changes: Changes | None = None,
    opening: OpeningHours | None = None,
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
    opening : OpeningHours or None
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
    opening: OpeningHours | None = None,
    lesson_min: int = LESSON_MIN,
) -> list[PracticeDay]:
    """As :func:`practice_days` with ``stages`` empty; :func:`advise_stages` fills a day in afterwards."""
    limits = make_limits(setups, changes)
    ratings = Ratings(build_conditions(inputs, opening), limits, aircraft)
    return [_bare(ratings, station, opening, lesson_min) for station in ratings.conditions.stations]


def _bare(ratings: Ratings, station: StationConditions, opening: OpeningHours | None, lesson_min: int) -> PracticeDay:
    now = station.source.now
    told = answer.assumptions(ratings, station)
    day = PracticeDay(ratings, station, ratings.aircraft, now, now, "", opening, lesson_min, assumptions=told)
    day.expires_at, day.expires_because = answer.expiry(day)
    return day


def advise_stages(day: PracticeDay) -> None:
    """Fill in the advice for each stage, and the expiry that follows from it. Never raises."""
    ratings, station = day.ratings, day.station
    starts, ends, light = _cells(ratings, station)
    usable = _first_day(starts, station, light & _open_cells(starts, ends, day.zone, day.opening))
    day.stages = tuple(
        _stage(day, i, setup, starts, ends, light, usable) for i, setup in enumerate(ratings.limits.setups)
    )
    day.expires_at, day.expires_because = answer.expiry(day)


def _first_day(starts: Array, station: StationConditions, usable: Array) -> Array:
    """Of the cells that can be used, those of the first daylight with any left: a day the school is shut is passed."""
    now = to_minutes(station.source.now)
    for rise, down in zip(station.sunrise_min, station.sunset_min, strict=True):
        today = usable & (starts >= rise) & (starts < down)
        if down > now and today.any():
            return np.asarray(today)
    return np.zeros(len(starts), dtype=bool)


def _stage(
    day: PracticeDay, index: int, setup: StageSetup, starts: Array, ends: Array, light: Array, usable: Array
) -> StageDay:
    ratings, station = day.ratings, day.station
    part = station.cells
    suits = ratings.suitability[index, :, part]
    teach = ratings.teaching[index, :, part]
    ranked = _ranked(
        setup.stage,
        [
            w
            for i in range(len(lessons()))
            for w in windows_of(i, suits[i], teach[i], starts, ends, usable, day.lesson_min)
        ],
    )
    best, simplest = ranked[0] if ranked else None, _simplest(setup)
    if best is not None:
        lesson, cells = best.lesson, list(best.cells)
        slot = best_slot(best, suits[lesson], teach[lesson], starts, ends, day.lesson_min)
        shown = list(slot.cells)
    else:
        lesson, cells = simplest, np.flatnonzero(usable).tolist() or list(range(len(starts)))
        slot, shown = None, cells[:1]
    cautions = tuple(day.cautions(index, lesson, cells))
    out = StageDay(
        setup=setup,
        index=index,
        hours=_hours(starts, ends, suits, teach, light, _open_cells(starts, ends, day.zone, day.opening)),
        windows=ranked,
        best=best,
        slot=slot,
        alternative=ranked[1] if len(ranked) > 1 else None,
        demand=day.demand(index, lesson, shown),
        cautions=cautions,
        limiting=answer.limiting(day, index, lesson, cautions, cells),
        end_reason=answer.end_reason(day, index, best, starts) if best is not None else "",
    )
    out.swaps = swaps_for(day, out, usable)
    out.ground_activity = ground_activity(day, out) if best is None else None
    out.sentence = answer.sentence(day, out, usable, suits, simplest)
    return out


def _ranked(stage: str, windows: list[Window]) -> tuple[Window, ...]:
    """The best window of each lesson, best first."""
    order = preference(stage)

    def rank(w: Window) -> tuple[int, ...]:
        lesson = lessons()[w.lesson]
        return (*rank_key(w, order.index(lesson.key), bool(lesson.stage_note.get(stage))), w.start_min)

    first_of: dict[int, Window] = {}
    for w in sorted(windows, key=rank):
        first_of.setdefault(w.lesson, w)
    return tuple(first_of.values())


def _simplest(setup: StageSetup) -> int:
    return next(i for i, x in enumerate(lessons()) if x.taught(setup.stage))


def _hours(
    starts: Array, ends: Array, suits: Array, teach: Array, light: Array, doors: Array
) -> tuple[HourAdvice, ...]:
    """Clock hours, cut where the light changes and the doors open or close: 19:00 to sunset is an hour of its own."""
    # a hundred cells at most: plain lists are quicker here than arrays
    out = []
    hours: dict[int, list[int]] = {}
    for cell, value in enumerate((starts // 60 * 4 + light * 2 + doors).tolist()):
        hours.setdefault(value, []).append(cell)
    suited, taught = suits.T.tolist(), teach.T.tolist()
    for cells in hours.values():
        # not taught stands above the order: it is the same in every cell
        low = [min(lesson) for lesson in zip(*(suited[cell] for cell in cells), strict=True)]
        least = [min(lesson) for lesson in zip(*(taught[cell] for cell in cells), strict=True)]
        out.append(
            HourAdvice(
                from_minutes(int(starts[cells[0]])),
                from_minutes(int(ends[cells[-1]])),
                tuple(cells),
                all(light[cells].tolist()),
                all(doors[cells].tolist()),
                {key: Suitability(low[i]) for i, key in enumerate(lesson_keys())},
                {key: Teaching(least[i]) for i, key in enumerate(lesson_keys())},
            )
        )
    return tuple(out)


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
