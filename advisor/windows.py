"""Booking windows: stretches of time in which a lesson fits, and what would end them."""

from __future__ import annotations

import numpy as np

from advisor.records import dataclass
from advisor.rules.registry import Array, Suitability
from advisor.teaching import Teaching


@dataclass(frozen=True, slots=True)
class Window:
    """A contiguous stretch of cells at one suitability or better, long enough for the lesson.

    ``first_cell`` and ``last_cell`` are positions within the field's cells, both included. ``end_reason`` is
    filled by the caller, who knows the cautions.
    """

    lesson: int
    suitability: Suitability
    teaching: Teaching
    start_min: int
    end_min: int
    first_cell: int
    last_cell: int

    @property
    def minutes(self) -> int:
        """Length."""
        return self.end_min - self.start_min

    @property
    def cells(self) -> range:
        """Cells within the field."""
        return range(self.first_cell, self.last_cell + 1)


def runs(mask: Array) -> list[tuple[int, int]]:
    """First and last position of each run of true values."""
    edges = np.flatnonzero(np.diff(np.r_[False, mask, False].astype(np.int8)))
    return [(int(a), int(b) - 1) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def windows_of(
    lesson: int,
    suitability: Array,
    teaching: Array,
    start_min: Array,
    end_min: Array,
    usable: Array,
    lesson_min: int,
) -> list[Window]:
    """Windows of one lesson and stage at the best suitability that gives one.

    Parameters
    ----------
    lesson : int
        Position on the lesson axis.
    suitability, teaching : uint8 arrays of shape ``(cells,)``
        Of one field.
    start_min, end_min : int arrays
        UTC minutes of the cells, contiguous.
    usable : bool array
        Cells inside daylight and opening hours.
    lesson_min : int
        Length that must fit. [min]

    Returns
    -------
    list of Window
        In time order; empty when nothing from ask first up is long enough. Never raises.
    """
    for least in (Suitability.SUITED, Suitability.WITH_CARE, Suitability.ASK_FIRST):
        good = usable & (suitability >= least) & (suitability <= Suitability.SUITED)
        found = [
            Window(
                lesson,
                Suitability(int(suitability[a : b + 1].min())),
                Teaching(int(teaching[a : b + 1].min())),
                int(start_min[a]),
                int(end_min[b]),
                a,
                b,
            )
            for a, b in runs(good)
            if end_min[b] - start_min[a] >= lesson_min
        ]
        if found:
            return found
    return []


def best_slot(
    window: Window, suitability: Array, teaching: Array, start_min: Array, end_min: Array, lesson_min: int
) -> Window:
    """The lesson-long stretch of a window that teaches most, then suits most, then comes first.

    Arguments as for :func:`windows_of`. Returns the whole window when it is no longer than a lesson.
    """
    found: list[Window] = []
    for a in window.cells:
        last = next((b for b in window.cells if b >= a and end_min[b] - start_min[a] >= lesson_min), None)
        if last is None:
            break
        found.append(
            Window(
                window.lesson,
                Suitability(int(suitability[a : last + 1].min())),
                Teaching(int(teaching[a : last + 1].min())),
                int(start_min[a]),
                int(start_min[a]) + lesson_min,
                a,
                last,
            )
        )
    if not found:
        return window
    unknown = int(Teaching.UNKNOWN)
    return max(found, key=lambda w: (int(w.teaching) % unknown, int(w.suitability), -w.start_min))


def rank_key(window: Window, place: int, stage_note: bool = False) -> tuple[int, int, int, int]:
    """Sort key, smallest first: usable without asking, teaches, suits, then the stage's own order.

    ``place`` is the lesson's position in the stage's preference. A demonstration or an introduction
    (``stage_note``) comes after lessons the student flies.
    """
    teaching = -1 if window.teaching is Teaching.UNKNOWN else int(window.teaching)
    return (
        -int(window.suitability >= Suitability.WITH_CARE),
        int(stage_note) - teaching,
        -int(window.suitability),
        place,
    )
