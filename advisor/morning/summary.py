"""From the engine's days to the desk's summary: now, trend, hazards, runways, practice areas, next update."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any

import numpy as np

from advisor.advice import PracticeDay
from advisor.morning.blocks import Span, cells_of, over, spans_of, stage_index
from advisor.morning.changes import changes_since, usable_previous
from advisor.morning.field import areas_of, runways_of, trend_of
from advisor.morning.hazards import hazards_of
from advisor.morning.model import Block, Cell, MorningSummary, StationMorning, Unserved, WindLayer
from advisor.ratings import Ratings
from advisor.rules.registry import Array, Suitability
from advisor.school import School
from advisor.segments import from_minutes, to_minutes
from advisor.table import Layer, WindKind

BLOCK_MIN = 120
_STEADY, _VARIABLE = int(WindKind.STEADY), int(WindKind.VARIABLE)


def summarise(
    days: Sequence[PracticeDay],
    *,
    now: datetime,
    school: School | None = None,
    unserved: Sequence[Unserved] = (),
    posted_by: str = "",
    block_min: int = BLOCK_MIN,
    every_min: int | None = None,
    previous: Mapping[str, Any] | None = None,
    notes: Sequence[str] = (),
) -> MorningSummary:
    """The desk's summary of one or many fields.

    Parameters
    ----------
    days : sequence of PracticeDay
        From one call of ``bare_days`` or ``practice_days`` with all four stages.
    now : datetime
        Aware UTC; when the posting is made.
    school : School or None
        For practice areas and the school's name.
    unserved : sequence of Unserved
        Fields nothing can be shown for.
    posted_by : str
        Who posts it.
    block_min : int
        Length of a lesson block. [min]
    every_min : int or None
        Minutes to the next posting when it repeats.
    previous : mapping or None
        The last posting as its JSON was read, to say what changed.
    notes : sequence of str
        Sentences about the whole posting.

    Returns
    -------
    MorningSummary
        Worst field first. Never raises.
    """
    told = list(notes)
    earlier, why = usable_previous(previous, now)
    told += [why] if why else []
    stations = _stations(days, school, block_min) if days else []
    for s in stations:
        if every_min is not None:
            s.next_update = min(s.next_update, now + timedelta(minutes=every_min))
        if earlier is not None:
            s.changes = changes_since(earlier, s)
    stations.sort(key=lambda s: (*s.rank, s.station))
    expiries = [s.day.expires_at for s in stations] or [now + timedelta(minutes=60)]
    made_up = any(s.day.station.source.site.made_up for s in stations)
    return MorningSummary(
        now,
        min(expiries),
        tuple(stations),
        tuple(unserved),
        posted_by,
        school.name if school is not None else "",
        made_up or bool(school is not None and school.made_up),
        block_min,
        every_min,
        earlier.made_at if earlier is not None else None,
        tuple(told),
    )


def _stations(days: Sequence[PracticeDay], school: School | None, block_min: int) -> list[StationMorning]:
    ratings = days[0].ratings
    spans = [spans_of(day, block_min) for day in days]
    flat = [s for several in spans for s in several]
    cells = cells_of(ratings, flat)
    winds = _Winds(ratings)
    layers = winds.of_spans(flat)
    rows_now = winds.rows_now(days)
    hazards = hazards_of(ratings, days, [_reach(d, s) for d, s in zip(days, spans, strict=True)])
    runways = runways_of(ratings, rows_now)
    out: list[StationMorning] = []
    at = 0
    for i, (day, several) in enumerate(zip(days, spans, strict=True)):
        blocks = tuple(Block(s.slot, s.start, s.end, cells[at + j], layers[at + j]) for j, s in enumerate(several))
        at += len(several)
        row = rows_now[i]
        wind_now = winds.of_row(row)
        trend, trend_words = trend_of(day)
        rise, down = _sun(day, blocks)
        out.append(
            StationMorning(
                day=day,
                blocks=blocks,
                hazards=hazards[i],
                wind_now=wind_now,
                now_from=winds.origin(row),
                aloft=_aloft(day, blocks),
                runways=runways[i],
                trend=trend,
                trend_words=trend_words,
                areas=areas_of(day, school, wind_now, blocks),
                sunrise=rise,
                sunset=down,
                next_update=day.expires_at,
                rank=_rank(blocks),
            )
        )
    return out


def _reach(day: PracticeDay, spans: list[Span]) -> tuple[int, int]:
    """Cells from now to the end of the last block; all of them when there is no block."""
    part = day.station.cells
    return part.start, spans[-1].after if spans else part.stop


def _rank(blocks: Sequence[Block]) -> tuple[int, ...]:
    """Worst first: the words of the block at hand, then of the whole day; a field with no block left comes last."""
    if not blocks:
        return (int(Suitability.NOT_TAUGHT) * 10, 0)
    here = _sum(blocks[0].cells.values())
    return here, sum(_sum(b.cells.values()) for b in blocks) * 100 // len(blocks)


def _sum(cells: Iterable[Cell]) -> int:
    return sum([c.suitability for c in cells])


def _sun(day: PracticeDay, blocks: Sequence[Block]) -> tuple[datetime | None, datetime | None]:
    when = to_minutes(blocks[0].start if blocks else day.made_at)
    for rise, down in zip(day.station.sunrise_min, day.station.sunset_min, strict=True):
        if down > when:
            return from_minutes(rise), from_minutes(down)
    return None, None


def _aloft(day: PracticeDay, blocks: Sequence[Block]) -> tuple[tuple[datetime, datetime, float, float], ...]:
    """Lowest winds-aloft level of the periods that touch the day's blocks."""
    begin = to_minutes(blocks[0].start if blocks else day.made_at)
    end = to_minutes(blocks[-1].end if blocks else day.made_at)
    return tuple(
        (from_minutes(a), from_minutes(b), low_kt, height_ft)
        for a, b, low_kt, height_ft, _ in day.station.source.aloft
        if a <= end and b > begin
    )


class _Winds:
    """Wind figures of rows and of stretches of rows, for the stage before solo."""

    def __init__(self, ratings: Ratings) -> None:
        c = self.c = ratings.context
        self.t = t = c.t
        self.dual = stage_index(ratings, "pre-solo")
        self.solid = ~c.possible[self.dual]
        self.known = self.solid & c.wind_known
        self.low, self.high = np.asarray(c.height.low_kt), np.asarray(c.height.high_kt)
        self.cell: Array = t.cell
        self.uncovered: Array = ratings.result.no_solid[self.dual]

    def of_spans(self, spans: Sequence[Span]) -> list[WindLayer]:
        """The strongest of each figure over the rows of each block."""
        if not spans:
            return []
        first = np.searchsorted(self.cell, [s.first for s in spans], side="left")
        after = np.searchsorted(self.cell, [s.after for s in spans], side="left")
        none = -1.0

        def most(values: Array) -> Array:
            held = np.where(self.known & ~np.isnan(values), values, none)
            return over(np.maximum, held, first, after, none)

        mean, gust, high = most(self.t.mean_kt), most(self.t.gust_kt), most(self.high)
        low = over(np.fmin, np.where(self.known, self.low, np.inf), first, after, np.inf)
        ceiling = over(np.fmin, np.asarray(self.t.ceiling_ft), first, after, np.nan)
        peak = np.where(self.known, self.c.peak_kt, none)
        maybe = np.where(~self.solid & self.c.wind_known, self.c.peak_kt, none)
        possible = over(np.fmax, maybe, first, after, none)
        bare = over(np.logical_or, self.uncovered, [s.first for s in spans], [s.after for s in spans], 1)
        no_wind = bare | over(np.logical_or, self.solid & ~self.known, first, after, 0)
        no_sky = bare | over(np.logical_or, self.solid & np.isnan(self.t.ceiling_ft), first, after, 0)
        strongest = [int(a) + int(np.argmax(peak[a:b])) if a < b else -1 for a, b in zip(first, after, strict=True)]
        # the last of each, put on here, stands for a stretch without rows
        kind = np.append(self.t.wind_kind, np.uint8(WindKind.MISSING))[strongest].tolist()
        direction = np.append(self.t.from_deg_true, np.nan)[strongest].tolist()
        columns = (kind, direction, *(x.tolist() for x in (mean, gust, low, high, ceiling, no_wind, no_sky, possible)))
        return [self._layer(*values) for values in zip(*columns, strict=True)]

    @staticmethod
    def _layer(
        kind: int,
        from_deg_true: float,
        mean_kt: float,
        gust_kt: float,
        low_kt: float,
        high_kt: float,
        ceiling_ft: float,
        no_wind: bool,
        no_sky: bool,
        possible_kt: float,
    ) -> WindLayer:
        """Figures of one stretch; a speed below 0 stands for none."""
        sky = _known(ceiling_ft)
        if mean_kt < 0:
            return WindLayer(ceiling_ft=sky, wind_gaps=True, ceiling_gaps=no_sky)
        at = _known(from_deg_true) if kind == _STEADY else None
        gust = gust_kt if gust_kt >= 0 else None
        maybe = possible_kt if possible_kt > max(mean_kt, gust_kt) else None
        return WindLayer(at, mean_kt, gust, kind == _VARIABLE, low_kt, high_kt, sky, no_wind, no_sky, maybe)

    def _from(self, row: int) -> float | None:
        return _known(self.t.from_deg_true[row]) if self.t.wind_kind[row] == _STEADY else None

    def rows_now(self, days: Sequence[PracticeDay]) -> list[int | None]:
        """Row that says how it is now at each field: the report when it counts, else the forecast in force."""
        first = np.array([d.station.first_cell for d in days])
        low = np.searchsorted(self.cell, first, side="left")
        high = np.searchsorted(self.cell, first, side="right")
        out: list[int | None] = []
        for a, b in zip(low, high, strict=True):
            found = np.flatnonzero(self.solid[a:b])
            out.append(int(a + found[0]) if len(found) else None)
        return out

    def origin(self, row: int | None) -> str:
        """``report``, ``forecast`` or nothing."""
        if row is None:
            return ""
        return "report" if self.t.layer[row] in (Layer.OBSERVED, Layer.PERSISTING) else "forecast"

    def of_row(self, row: int | None) -> WindLayer:
        """Figures of one row."""
        if row is None:
            return WindLayer()
        ceiling = _known(self.t.ceiling_ft[row])
        if not self.known[row]:
            return WindLayer(ceiling_ft=ceiling)
        return WindLayer(
            self._from(row),
            float(self.t.mean_kt[row]),
            _known(self.t.gust_kt[row]),
            bool(self.t.wind_kind[row] == _VARIABLE),
            _known(self.low[row]),
            _known(self.high[row]),
            ceiling,
        )


def _known(value: Any) -> float | None:
    return None if value != value else float(value)
