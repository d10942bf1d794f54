"""A season in the shape people ask about: shares by month and hour, the best of them, and what holds the rest down."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from functools import lru_cache

import numpy as np

from advisor.archive.counts import CELLS, HOURS, MONTHS, THREE, Counts, rule_codes, tally_depth
from advisor.lessons import lessons, taught
from advisor.limits import StageSetup
from advisor.records import dataclass
from advisor.rules.registry import Suitability, find_rule
from advisor.segments import from_minutes
from advisor.table import Array
from advisor.teaching import Teaching

#: Hours of past reports under which a share is shown as a guess.
FEW_HOURS = 10
#: Hours in a row that a school would post as one window.
WINDOW_HOURS = 3
MONTH_NAMES = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
THREE_WORDS = "three kinds of caution together"


@dataclass(frozen=True, slots=True)
class Window:
    """Hours in a row of one month; ``share`` of its past hours were worth scheduling."""

    month: int
    first_hour: int
    last_hour: int  # included
    share: float
    hours: int

    @property
    def words(self) -> str:
        """ "May 08:00-11:00 (62%)"."""
        until = self.last_hour + 1
        return f"{MONTH_NAMES[self.month - 1]} {self.first_hour:02d}:00-{until:02d}:00 ({self.share:.0%})"


@dataclass(frozen=True, slots=True)
class Season:
    """One station, stage and lesson.

    ``hours``, ``worth`` are int64 of shape ``(12, 24)``; ``suitability`` and ``teaching`` have one more axis.
    ``blocked`` is int64 of shape ``(12, 24, rules)``.
    """

    station: str
    setup: StageSetup
    lesson: int
    hours: Array
    worth: Array
    suitability: Array
    teaching: Array
    blocked: Array

    @property
    def total(self) -> int:
        """Daylight hours with a report."""
        return int(self.hours.sum())

    @property
    def shares(self) -> Array:
        """Share of hours worth scheduling, ``(12, 24)``; NaN where no hour was seen."""
        with np.errstate(invalid="ignore", divide="ignore"):
            return np.asarray(self.worth / self.hours)

    def share_of(self, *values: Suitability) -> float:
        """Share of all hours with one of these suitabilities; NaN with no hours."""
        return float(self.suitability[..., list(values)].sum() / self.total) if self.total else float("nan")

    def teaches(self) -> float:
        """Share of all hours in which the wind teaches some or strong."""
        found = self.teaching[..., [Teaching.SOME, Teaching.STRONG]].sum()
        return float(found / self.total) if self.total else float("nan")

    @property
    def worth_share(self) -> float:
        """Share of all hours worth scheduling."""
        return float(self.worth.sum() / self.total) if self.total else float("nan")

    def blockers(self, most: int = 3) -> list[tuple[str, str, float]]:
        """Rules that held most hours below with care: code, words, share of all hours."""
        totals = self.blocked.sum(axis=(0, 1))
        order = np.argsort(-totals, kind="stable")[:most]
        codes = rule_codes()
        return [(codes[k], rule_words(codes[k]), float(totals[k] / self.total)) for k in order.tolist() if totals[k]]

    def windows(self, most: int = 3) -> list[Window]:
        """The best windows, each in a month of its own, best first; only of hours seen often enough."""
        found = [window for month in range(1, MONTHS + 1) if (window := self._best_of(month)) is not None]
        return sorted(found, key=lambda w: (-w.share, w.month))[:most]

    def _best_of(self, month: int) -> Window | None:
        hours, worth = self.hours[month - 1], self.worth[month - 1]
        best: Window | None = None
        for first in range(HOURS - WINDOW_HOURS + 1):
            span = slice(first, first + WINDOW_HOURS)
            seen = int(hours[span].sum())
            if (hours[span] < FEW_HOURS).any():
                continue
            share = float(worth[span].sum() / seen)
            if share > 0 and (best is None or share > best.share):
                best = Window(month, first, first + WINDOW_HOURS - 1, share, seen)
        return best


@lru_cache(maxsize=256)
def rule_words(code: str) -> str:
    """First line of a rule's documentation, without its full stop."""
    return THREE_WORDS if code == THREE else find_rule(code).title.rstrip(".").lower()


@dataclass(frozen=True, slots=True)
class SeasonReport:
    """Counts with what a reader must know of them.

    ``lesson_index`` are positions of the lessons asked for; ``notes`` sentences for the page.
    """

    counts: Counts
    setups: tuple[StageSetup, ...]
    lesson_index: tuple[int, ...]
    notes: tuple[str, ...] = ()

    def seasons(self, station: str | None = None) -> Iterator[Season]:
        """Every station, stage and lesson that is taught, in that order."""
        c = self.counts
        is_taught = taught(self.setups)
        shape = (MONTHS, HOURS)
        for name, one in c.by_station.items():
            if station is not None and name != station:
                continue
            full = {key: c.dense(key, name) for key in tally_depth()}
            for s, setup in enumerate(self.setups):
                for k in self.lesson_index:
                    if not is_taught[s, k]:
                        continue
                    lane = {key: array[:, s, k].reshape(*shape, -1) for key, array in full.items()}
                    yield Season(
                        name, setup, k, one.hours.reshape(shape).astype(np.int64), lane["worth"][..., 0],
                        lane["suitability"], lane["teaching"], lane["blocked"],
                    )  # fmt: skip

    @property
    def span(self) -> tuple[date, date] | None:
        """Dates (UTC) of the first and the last report counted."""
        c = self.counts
        return (from_minutes(c.first_min).date(), from_minutes(c.last_min).date()) if c.last_min else None

    def told(self) -> list[str]:
        """What was read and what was left out, one fact a sentence."""
        c, fates = self.counts, self.counts.fates
        out = []
        if self.span is not None:
            first, last = (f"{day:%d %B %Y}" for day in self.span)
            out.append(
                f"{counted(fates['counted'], 'daylight station-hour')} of {counted(c.reports, 'report')}, "
                f"{first if first == last else f'{first} to {last}'}; one report an hour, the worst."
            )
        left = (
            ("dark", "made in the dark"), ("not_read", "that could not be read"), ("no_time", "without a time"),
            ("other_report_of_the_hour", "beside a worse one of the same hour"),
            ("other_station", "of another station than the archive says"),
            ("unknown_station", "of stations that no data describes"),
        )  # fmt: skip
        parts = [f"{fates[fate]:,} {words}" for fate, words in left if fates[fate]]
        if parts:
            out.append(f"Left out: {', '.join(parts)}.")
        if c.unknown:
            names = ", ".join(sorted(c.unknown)[:12])
            more = f" and {len(c.unknown) - 12} more" if len(c.unknown) > 12 else ""
            out.append(f"Not described: {names}{more}. A school file (--school) can describe them.")
        return [*out, *self.notes]


def counted(number: int, thing: str) -> str:
    """``1 hour``, ``1,200 hours``. Never raises."""
    return f"{number:,} {thing}{'' if number == 1 else 's'}"


#: Columns of the long table, in order.
TABLE_COLUMNS: tuple[tuple[str, str], ...] = (
    ("station", "VARCHAR"), ("stage", "VARCHAR"), ("lesson", "VARCHAR"), ("month", "INTEGER"), ("hour_local", "INTEGER"),
    ("hours", "INTEGER"), ("worth_scheduling", "INTEGER"), ("suited", "INTEGER"), ("with_care", "INTEGER"),
    ("ask_first", "INTEGER"), ("hold", "INTEGER"), ("not_rated", "INTEGER"), ("teaching_little", "INTEGER"),
    ("teaching_some", "INTEGER"), ("teaching_strong", "INTEGER"), ("teaching_unknown", "INTEGER"),
    ("held_down_by", "VARCHAR"), ("held_down_hours", "INTEGER"),
)  # fmt: skip


def table_rows(report: SeasonReport) -> Iterator[tuple[str | int, ...]]:
    """The long table, one row for each station, stage, lesson, month and local hour with a report.

    ``held_down_by`` is the rule that held most of those hours below with care, empty when none did.
    """
    codes = rule_codes()
    names = [lesson.key for lesson in lessons()]
    order = [
        Suitability.SUITED, Suitability.WITH_CARE, Suitability.ASK_FIRST, Suitability.HOLD, Suitability.NOT_RATED,
    ]  # fmt: skip
    for season in report.seasons():
        hours = season.hours.reshape(CELLS)
        fit = season.suitability.reshape(CELLS, -1)[:, order].tolist()
        taught_hours = season.teaching.reshape(CELLS, -1).tolist()
        blocked = season.blocked.reshape(CELLS, -1)
        top = blocked.argmax(axis=1)
        worth = season.worth.reshape(CELLS).tolist()
        for cell in np.flatnonzero(hours).tolist():
            held = int(blocked[cell, top[cell]])
            yield (
                season.station, season.setup.stage, names[season.lesson], cell // HOURS + 1, cell % HOURS,
                int(hours[cell]), worth[cell], *fit[cell], *taught_hours[cell],
                codes[int(top[cell])] if held else "", held,
            )  # fmt: skip
