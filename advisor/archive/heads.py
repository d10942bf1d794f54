"""Station and time of a chunk of reports."""

from __future__ import annotations

import numpy as np

from advisor.archive.text import Chunk, word_of
from advisor.records import dataclass
from advisor.table import Array

_DAY_MIN = 1440
_NEAREST_MIN = 13 * _DAY_MIN


@dataclass(slots=True)
class Heads:
    """Station (bytes), UTC minutes since 1970, and the first group of the body, one a report."""

    station: Array
    observed_min: Array
    body_start: Array


def read_times(chunk: Chunk, near_min: Array, sure: Array) -> Heads:
    """Read the head of every report: ``[METAR|SPECI] [COR] CCCC ddhhmmZ``.

    Parameters
    ----------
    chunk : Chunk
        The reports.
    near_min : int64
        UTC minutes each report is near to.
    sure : bool
        Set to False in place where the head is of any other form.

    Returns
    -------
    Heads
    """
    word = chunk.first_word
    last = np.maximum(chunk.first + chunk.count - 1, 0)
    last = np.minimum(last, len(word) - 1)

    def is_word(at: Array, *texts: str) -> Array:
        found = word[np.minimum(at, last)]
        return np.asarray(np.isin(found, [word_of(text) for text in texts]) & (at <= last))

    if not len(word):
        sure[:] = False
        n = len(chunk.first)
        return Heads(np.zeros(n, dtype="S4"), np.zeros(n, dtype=np.int64), chunk.first)
    at = chunk.first + is_word(chunk.first, "METAR", "SPECI")
    at = at + is_word(at, "COR")
    sure &= at + 1 <= last
    at = np.minimum(at, np.maximum(last - 1, 0))
    start, length = chunk.start[at], chunk.length[at]
    station = np.ascontiguousarray(_bytes_at(chunk, start, 4)).view("S4")[:, 0]
    letters = chunk.data[start[:, None] + np.arange(4)]
    is_letter = (letters >= ord("A")) & (letters <= ord("Z"))
    is_digit = (letters >= ord("0")) & (letters <= ord("9"))
    sure &= (length == 4) & is_letter[:, 0] & (is_letter | is_digit)[:, 1:].all(axis=1)
    stamp = chunk.start[at + 1] if len(word) > 1 else start
    value, good = chunk.digits(stamp, 6)
    day, hour, minute = value // 10_000, value // 100 % 100, value % 100
    zulu = chunk.data[stamp + 6] == ord("Z")
    sure &= good & zulu & (chunk.length[np.minimum(at + 1, len(word) - 1)] == 7)
    sure &= (day >= 1) & (day <= 31) & (hour <= 23) & (minute <= 59)
    observed = _nearest(np.where(sure, day, 1), hour * 60 + minute, near_min, sure)
    return Heads(station, observed, at + 2)


def _bytes_at(chunk: Chunk, start: Array, count: int) -> Array:
    return np.asarray(chunk.data[start[:, None] + np.arange(count)])


def _nearest(day: Array, minute_of_day: Array, near_min: Array, sure: Array) -> Array:
    """The date with that day of the month within 13 days of a date's noon; unsure where there is none."""
    near_day = near_min // _DAY_MIN
    noon = near_day * _DAY_MIN + _DAY_MIN // 2
    month = near_day.astype("datetime64[D]").astype("datetime64[M]")
    out = np.zeros(len(day), dtype=np.int64)
    open_ = np.ones(len(day), dtype=bool)
    for offset in (0, -1, 1):
        todo = np.flatnonzero(open_)
        if not todo.size:
            break
        near = month[todo] + np.timedelta64(offset, "M")
        date = near.astype("datetime64[D]") + (day[todo] - 1).astype("timedelta64[D]")
        exists = date.astype("datetime64[M]") == near
        when = date.astype(np.int64) * _DAY_MIN + minute_of_day[todo]
        fits = exists & (np.abs(when - noon[todo]) < _NEAREST_MIN)
        out[todo[fits]] = when[fits]
        open_[todo[fits]] = False
    sure &= ~open_
    return out
