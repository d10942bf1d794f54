"""Whole archives of METARs decoded a chunk at a time, column by column.

A report goes through here when it is no more than the sum of its groups: one station, one time, each group of the body
known by itself and at most one of a kind, remarks of known forms. Every other report goes through
``decode_metar``, one at a time. So the columns are the same as those of ``decode_metar`` and
``observation_segment`` on every report, and a test holds them to it.
"""

from __future__ import annotations

import threading
from collections.abc import Sequence
from typing import Any

import numpy as np

from advisor.archive.bodies import Tokens, read_body_columns
from advisor.archive.heads import read_times
from advisor.archive.remarks import read_remarks
from advisor.archive.text import Chunk
from advisor.archive.words import Words
from advisor.errors import AdvisorError
from advisor.records import dataclass
from advisor.reports.decode_metar import decode_metar
from advisor.segments import SEGMENT_COLUMNS, from_minutes, observation_segment
from advisor.table import COLUMNS, Array

#: Past this many distinct groups the dictionary is begun anew: memory stays flat on any archive.
MOST_WORDS = 400_000


@dataclass(slots=True)
class Decoded:
    """Columns of decoded reports, one row a report in the order given.

    Attributes
    ----------
    station : bytes, shape ``(reports,)``
        Identifier printed in the report; empty where it was refused.
    observed_min : int64
        UTC minutes since 1970 of the report's own time.
    read : bool
        False where the text is no report (NIL, a forecast, no time, damaged beyond use).
    one_at_a_time : bool
        True where the one-at-a-time decoder was asked.
    columns : dict
        Every condition column a single report sets, by the names of ``advisor.table.COLUMNS``.
    """

    station: Array
    observed_min: Array
    read: Array
    one_at_a_time: Array
    columns: dict[str, Array]


_OWN = threading.local()


def shared_words() -> Words:
    """The dictionary of groups of this thread; it only grows, up to ``MOST_WORDS``."""
    words: Words | None = getattr(_OWN, "words", None)
    if words is None or words.size > MOST_WORDS:
        words = _OWN.words = Words()
    return words


def empty_columns(n: int) -> dict[str, Array]:
    """Segment columns at their defaults, each of shape ``(n,)``."""
    return {name: np.full(n, COLUMNS[name][1], dtype=COLUMNS[name][0]) for name in SEGMENT_COLUMNS}


def decode_archive(
    raw: Sequence[str], near_min: Array, peak_within_min: float = 60.0, words: Words | None = None
) -> Decoded:
    """Decode many reports at once.

    Parameters
    ----------
    raw : sequence of str
        One report each, as ``decode_metar`` takes them.
    near_min : int64, shape ``(reports,)``
        UTC minutes since 1970 that each report is near to, such as the archive's own time column.
    peak_within_min : float
        Age up to which a peak-wind remark counts, minutes.
    words : Words, optional
        Dictionary of groups to use and to add to; the process's own by default.

    Returns
    -------
    Decoded
        Equal, report by report, to ``observation_segment(decode_metar(...))``. Never raises on any text.
    """
    n = len(raw)
    near_min = np.asarray(near_min, dtype=np.int64)
    columns = empty_columns(n)
    out = Decoded(
        np.zeros(n, dtype="S4"),
        np.zeros(n, dtype=np.int64),
        np.zeros(n, dtype=bool),
        np.ones(n, dtype=bool),
        columns,
    )
    if n == 0:
        return out
    words = shared_words() if words is None else words
    chunk = Chunk(raw)
    sure = chunk.plain.copy()
    head = read_times(chunk, near_min, sure)
    tokens = Tokens(chunk, head.body_start, words)
    with np.errstate(invalid="ignore"):
        read_body_columns(tokens, columns, sure)
        read_remarks(tokens, columns, sure, head.observed_min, peak_within_min)
    out.station[:] = head.station
    out.observed_min[:] = head.observed_min
    out.one_at_a_time[:] = ~sure
    out.read[:] = sure
    _the_rest(raw, near_min, peak_within_min, np.flatnonzero(~sure), out)
    return out


def _the_rest(raw: Sequence[str], near_min: Array, peak_within_min: float, rows: Array, out: Decoded) -> None:
    """One at a time, the reports that are more than the sum of their groups."""
    lists: dict[str, list[Any]] = {name: [] for name in SEGMENT_COLUMNS}
    kept: list[int] = []
    for row in rows.tolist():
        near = from_minutes(int(near_min[row]))
        out.station[row] = b""
        try:
            metar = decode_metar(raw[row], near, near)
        except AdvisorError:
            continue
        segment = observation_segment(metar, 0, peak_within_min)
        for name, values in lists.items():
            values.append(getattr(segment, name))
        out.station[row] = metar.station.encode("ascii")
        out.observed_min[row] = segment.start_min
        kept.append(row)
    refused = np.ones(len(rows), dtype=bool)
    refused[np.searchsorted(rows, kept)] = False
    for name, column in out.columns.items():
        column[rows] = COLUMNS[name][1]
        column[kept] = lists[name]
    out.read[kept] = True
