"""Lesson blocks: the day cut by the school's clock, and the worst credible case of each column in each block.

All fields are worked out together: one pass over the table of conditions, whatever their number. The result is
the same as asking the ratings for one cell after another (a test holds it to that).
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from datetime import datetime, timedelta
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from advisor.advice import PracticeDay
from advisor.lessons import lesson_keys, lessons, preference
from advisor.morning.model import Cell
from advisor.ratings import Ratings
from advisor.records import dataclass
from advisor.rules.engine import cap_index, caps_of, level_shape, scopes_of
from advisor.rules.registry import INSIDE, RELEASE, SCOPES, Array, Level, Suitability, all_rules
from advisor.segments import from_minutes, to_minutes
from advisor.teaching import Teaching

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

#: The four columns: name -> (stages, True for lessons at height or False for the pattern).
COLUMNS: dict[str, tuple[tuple[str, ...], bool]] = {
    "solo": (("solo",), True),
    "dual": (("pre-solo",), True),
    "pattern": (("pre-solo", "post-solo", "commercial"), False),
    "area": (("pre-solo", "post-solo", "commercial"), True),
}
DEFINITIONS: dict[str, str] = {
    "solo": "a student alone; the best of the lessons at height taught to students alone; where a lesson is suited it reads "
    f"{INSIDE}, and {RELEASE}",
    "dual": "before the first solo, instructor aboard; the best of the lessons at height",
    "pattern": "crosswind circuits and landings, instructor aboard; the best of the stages, named where it is not the first",
    "area": "lessons at height, instructor aboard; the best of the stages, named where it is not the first",
}
#: Stages on the stage axis, in this order.
STAGES = ("pre-solo", "solo", "post-solo", "commercial")
_Picked = tuple[Array, Array, Array, Array]  # stage, lesson, suitability, teaching of each block
_NOT_RATED, _ASK, _SUITED = int(Suitability.NOT_RATED), int(Suitability.ASK_FIRST), int(Suitability.SUITED)
_NONE = int(np.iinfo(np.int64).max)
#: Cautions are ranked by one number, the least first, in the order of ``Ratings.cautions``: cap, carburettor last, highest
#: level, code, then the worst figure. Where each part begins, and a mask for the rule's place in the catalogue.
_CAP, _LAST, _LEVEL, _RULE = 40, 36, 32, 24
_RULES = 0xFF
_WORD = {int(x): x for x in Suitability}
_TAUGHT = {int(x): x for x in Teaching}
NO_COVER = "no report or forecast covers all of these hours"


@dataclass(frozen=True, slots=True)
class Span:
    """A block of one field: nominal start, what is left of it, and its cells on the ratings' cell axis."""

    slot: datetime
    start: datetime
    end: datetime
    first: int
    after: int


@lru_cache(maxsize=4096)
def _slots(
    start_min: int, end_min: int, offset_min: int, opens_min: int | None, block_min: int
) -> tuple[tuple[int, int], ...]:
    """Nominal blocks (UTC minutes) that cover a stretch; counted from opening, or from the full hour by the clock."""
    local = start_min + offset_min
    origin = local - local % 60
    if opens_min is not None:
        origin = local - local % 1440 + opens_min
        origin -= block_min * max(0, -(-(origin - local) // block_min))
    at, out = origin - offset_min, []
    while at < end_min:
        if at + block_min > start_min:
            out.append((at, at + block_min))
        at += block_min
    return tuple(out)


def spans_of(day: PracticeDay, block_min: int) -> list[Span]:
    """Blocks of the first day with time left in daylight and opening hours.

    A first piece shorter than half a lesson and a last one shorter than a lesson go with their neighbour. Never
    raises.
    """
    conditions = day.ratings.conditions
    part = day.station.cells
    if part.stop == part.start:
        return []
    first, last = int(conditions.cell_start_min[part.start]), int(conditions.cell_end_min[part.stop - 1])
    for rise, down in zip(day.station.sunrise_min, day.station.sunset_min, strict=True):
        begin, end = max(rise, first), min(down, last)
        opens = None
        noon = from_minutes((rise + down) // 2).astimezone(day.zone)
        if day.opening is not None:
            times = day.opening.on(noon.date())
            if times is None:
                continue
            bounds = [to_minutes(datetime.combine(noon.date(), clock, tzinfo=day.zone)) for clock in times]
            begin, end = max(begin, bounds[0]), min(end, bounds[1])
            opens = times[0].hour * 60 + times[0].minute
        if end - begin < day.lesson_min // 2:
            continue
        offset = int((noon.utcoffset() or timedelta()) // timedelta(minutes=1))
        return _cut(day, begin, end, _slots(begin, end, offset, opens, block_min))
    return []


def _cut(day: PracticeDay, begin: int, end: int, slots: Sequence[tuple[int, int]]) -> list[Span]:
    pieces = [(a, max(a, begin), min(b, end)) for a, b in slots]
    if len(pieces) > 1 and pieces[0][2] - pieces[0][1] < day.lesson_min // 2:
        pieces[:2] = [(pieces[1][0], pieces[0][1], pieces[1][2])]
    if len(pieces) > 1 and pieces[-1][2] - pieces[-1][1] < day.lesson_min:
        pieces[-2:] = [(pieces[-2][0], pieces[-2][1], pieces[-1][2])]
    part = day.station.cells
    starts = day.ratings.conditions.cell_start_min[part].tolist()
    ends = day.ratings.conditions.cell_end_min[part].tolist()
    return [
        Span(
            from_minutes(slot),
            from_minutes(a),
            from_minutes(b),
            part.start + bisect_right(ends, a),
            part.start + bisect_left(starts, b),
        )
        for slot, a, b in pieces
    ]


def over(ufunc: np.ufunc, values: Array, first: ArrayLike, after: ArrayLike, empty: float) -> Array:
    """``ufunc`` over ``values[..., first:after]`` for each pair; ``empty`` where there is nothing."""
    first, after = np.asarray(first), np.asarray(after)
    pad = np.full((*values.shape[:-1], 1), empty, dtype=values.dtype)
    index = np.column_stack((first, np.maximum(after, first))).reshape(-1)
    out = ufunc.reduceat(np.concatenate((values, pad), axis=-1), index, axis=-1)[..., ::2]
    return np.asarray(np.where(after > first, out, np.asarray(empty, dtype=values.dtype)))


def ranks(values: Array) -> Array:
    """Place of each value among all, 0 for the lowest; equals share it."""
    order = np.argsort(values, kind="stable")
    found = values[order]
    out = np.zeros(len(values), dtype=np.int64)
    out[order[1:]] = np.cumsum(found[1:] != found[:-1])
    return out


def stage_index(ratings: Ratings, stage: str) -> int:
    """Place of a stage on the stage axis."""
    return [s.stage for s in ratings.limits.setups].index(stage)


def _candidates(ratings: Ratings, column: str) -> list[tuple[int, int]]:
    """(stage, lesson) pairs of a column, the ones to name first at the front."""
    stages, at_height = COLUMNS[column]
    return [
        (stage_index(ratings, stage), lesson_keys().index(key))
        for stage in stages
        for key in preference(stage)
        if lessons()[lesson_keys().index(key)].at_height is at_height
    ]


def cells_of(ratings: Ratings, spans: Sequence[Span]) -> list[dict[str, Cell]]:
    """Every column of every block.

    Parameters
    ----------
    ratings : Ratings
        With all four stages.
    spans : sequence of Span
        Of any number of fields.

    Returns
    -------
    list of dict
        A Cell for each column, in the order of ``spans``. Never raises.
    """
    if not spans:
        return []
    first = np.array([s.first for s in spans], dtype=np.int64)
    after = np.array([s.after for s in spans], dtype=np.int64)
    worst = over(np.minimum, ratings.suitability, first, after, int(Suitability.NOT_RATED))
    teaches = over(np.minimum, ratings.teaching, first, after, int(Teaching.UNKNOWN)).astype(np.int64)
    teaches[teaches == Teaching.UNKNOWN] = -1
    picked: list[_Picked] = []
    each = np.arange(len(spans))
    for column in COLUMNS:
        pairs = np.array(_candidates(ratings, column))
        words = worst[pairs[:, 0], pairs[:, 1]].astype(np.int64)
        taught = teaches[pairs[:, 0], pairs[:, 1]]
        # the best word, at the lowest stage that has it, by the lesson that teaches most; the first of equals
        earlier = np.array([COLUMNS[column][0].index(STAGES[i]) for i in pairs[:, 0]])[:, None]
        best = np.argmax(words * 1000 - earlier * 100 + taught, axis=0)
        picked.append((pairs[best, 0], pairs[best, 1], words[best, each], taught[best, each]))
    with np.errstate(invalid="ignore"):
        reasons = _Reasons(ratings, picked, first, after)
        columns = [[reasons.cell(j, i) for i in each.tolist()] for j in range(len(COLUMNS))]
    return [dict(zip(COLUMNS, cells, strict=True)) for cells in zip(*columns, strict=True)]


class _Reasons:
    """What holds each cell down: the caution that :meth:`Ratings.cautions` would put first, and all codes."""

    def __init__(self, ratings: Ratings, picked: list[_Picked], first: Array, after: Array) -> None:
        self.ratings = ratings
        self.n_spans = len(first)
        self.stage = np.concatenate([p[0] for p in picked])
        self.lesson = np.concatenate([p[1] for p in picked])
        self.word = np.concatenate([p[2] for p in picked])
        self.taught = np.concatenate([p[3] for p in picked])
        cell = ratings.conditions.table.cell
        low = np.tile(np.searchsorted(cell, first, side="left"), len(picked))
        high = np.tile(np.searchsorted(cell, after, side="left"), len(picked))
        high = np.where(self.word < Suitability.SUITED, high, low)
        sizes = high - low
        self.bounds = np.concatenate(([0], np.cumsum(sizes)))
        owner = np.repeat(np.arange(len(low)), sizes)
        self.rows = np.arange(self.bounds[-1]) - self.bounds[owner] + low[owner]
        self._said: dict[tuple[int, int, int, int], str] = {}
        self._cells: dict[tuple[int | tuple[str, ...], ...], Cell] = {}
        best, self.codes = self._judge(owner)
        self.rule_at = dict(enumerate(all_rules()))
        self.worst = self._worst(best)
        self.words: list[int] = self.word.tolist()
        self.stages: list[int] = self.stage.tolist()
        self.lessons: list[int] = self.lesson.tolist()
        self.teaches: list[int] = np.where(self.taught < 0, int(Teaching.UNKNOWN), self.taught).tolist()
        setups = ratings.limits.setups
        self.stage_names = [setups[i].stage for i in self.stages]
        self.titles = lesson_keys()
        self.cited, self.own = self._groups()

    def _judge(self, owner: Array) -> tuple[Array, list[tuple[str, ...]]]:
        """The least key of each row of each cell, and the codes of the rules that cap each cell."""
        c, rows = self.ratings.context, self.rows
        best = np.full(len(rows), _NONE)
        capped: list[Array] = []  # cells each rule caps, and which rule it was
        capping: list[Array] = []
        in_scope = {scope: np.array([scope in scopes_of(i) for i in range(len(lessons()))]) for scope in SCOPES}
        stage, lesson = self.stage[owner], self.lesson[owner]
        offsets = cap_index(c)[stage, rows] if len(rows) else np.zeros(0, dtype=np.int64)
        for place, rule in enumerate(all_rules()):
            level = self.ratings.result.levels.get(rule.code)
            if level is None:
                continue
            full = level_shape(rule, level, c.n_stages, c.t.n)
            # most rules cap few rows: the others are passed over before anything is looked up
            caps_any = np.asarray(level > Level.NOTE).reshape(-1, level.shape[-1]).any(axis=0)
            at = np.flatnonzero(np.broadcast_to(caps_any, c.t.n)[rows])
            if rule.axes == "lesson":
                found = full[stage[at], lesson[at], rows[at]]
            else:
                found = np.where(in_scope[rule.scope][lesson[at]], full[stage[at], rows[at]], np.uint8(0))
            cap = caps_of(found, offsets[at]).astype(np.int64)
            counts = cap < Suitability.SUITED
            at, found, cap = at[counts], found[counts].astype(np.int64), cap[counts]
            capped.append(owner[at][np.diff(owner[at], prepend=-1) != 0])
            capping.append(np.full(len(capped[-1]), place))
            last = (found == Level.CARE_ONLY).astype(np.int64)
            key = (cap << _CAP) | (last << _LAST) | ((max(Level) - found) << _LEVEL) | (place << _RULE)
            figure = c.figure(rule)
            if figure is not None:
                key |= ranks(-figure[stage[at], rows[at]])
            best[at] = np.minimum(best[at], key)
        return best, _codes(capped, capping, len(self.word))

    def _groups(self) -> tuple[list[int], list[int]]:
        """The group that each cell's reason cites, as :meth:`Ratings.cited`, and the group of its row."""
        t = self.ratings.conditions.table
        row, rank = np.array(self.worst, dtype=np.int64).reshape(-1, 2).T
        own = t.group[row] if t.n else row
        cited, place = own, (rank >> _RULE) & _RULES
        for name in ("storm_group", "air_group"):
            cites = np.zeros(_RULES + 1, dtype=bool)
            cites[: len(self.rule_at)] = [rule.cites == name for rule in self.rule_at.values()]
            other = getattr(t, name)[row] if t.n else row
            cited = np.where(cites[place] & (other >= 0), other, cited)
        return cited.tolist(), own.tolist()

    def _worst(self, best: Array) -> list[tuple[int, int]]:
        """Row and key of what holds each cell down most; the first of rows alike."""
        out = [(0, _NONE)] * len(self.word)
        filled = np.flatnonzero(np.diff(self.bounds))
        if not len(filled):
            return out
        starts = self.bounds[:-1][filled]
        least = np.minimum.reduceat(best, starts)
        sizes = np.diff(self.bounds)[filled]
        hits = np.flatnonzero(best == np.repeat(least, sizes))
        # the first hit at or after each start
        rows = self.rows[hits[np.searchsorted(hits, starts)]]
        for i, row, key in zip(filled.tolist(), rows.tolist(), least.tolist(), strict=True):
            out[i] = (row, key)
        return out

    def cell(self, column: int, span: int) -> Cell:
        """One cell in words; columns that come to the same share it."""
        i = column * self.n_spans + span
        row, rank = self.worst[i]
        key = (self.words[i], self.stages[i], self.lessons[i], self.teaches[i], row, rank, self.codes[i])
        if key not in self._cells:
            self._cells[key] = self._cell(i, row, rank)
        return self._cells[key]

    def _cell(self, i: int, row: int, key: int) -> Cell:
        word, name, lesson = self.words[i], self.stage_names[i], self.lessons[i]
        title, teaches = None, None
        if word >= _ASK:
            title = self.titles[lesson]
            teaches = _TAUGHT[self.teaches[i]]
        if word >= _SUITED:
            return Cell(_WORD[word], name, title, teaches)
        cap = key >> _CAP if key != _NONE else _SUITED
        if word == _NOT_RATED and cap != word:
            return Cell(_WORD[word], name, title, teaches, "", NO_COVER, self.codes[i])
        place, stage = (key >> _RULE) & _RULES, self.stages[i]
        rule = self.rule_at[place]
        about = (place, stage, lesson if rule.axes == "lesson" else -1, row)
        if about not in self._said:
            self._said[about] = rule.say(self.ratings.context, stage, lesson, row)
        said = self._said[about]
        if cap > word:  # three families of care
            said = f"{len(self.codes[i])} cautions together, first of them {said}"
        cited = self.cited[i]
        layer = self.ratings.layer_words(stage, row, rule if cited != self.own[i] else None)
        group = self.ratings.conditions.table.groups[cited]
        return Cell(_WORD[word], name, title, teaches, rule.code, said, self.codes[i], layer, group)


def _codes(capped: list[Array], capping: list[Array], n: int) -> list[tuple[str, ...]]:
    """Codes of the rules that cap each cell, in order."""
    out: list[tuple[str, ...]] = [()] * n
    cells, places = np.concatenate([*capped, [n]]), np.concatenate([*capping, [0]])
    order = np.lexsort((places, cells))
    code = [rule.code for rule in all_rules()]
    cells, names = cells[order], [code[i] for i in places[order].tolist()]
    starts = np.flatnonzero(np.diff(cells, prepend=-1)).tolist()
    for cell, a, b in zip(cells[starts].tolist(), starts, starts[1:], strict=False):
        out[cell] = tuple(names[a:b])
    return out
