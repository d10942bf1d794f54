"""Hazards and doubts of the day: which rules fired for a field between now and the end of its last block."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from advisor.advice import PracticeDay
from advisor.morning.blocks import over, ranks, stage_index
from advisor.morning.model import Hazard
from advisor.ratings import Ratings
from advisor.rules.engine import cap_index, caps_of, level_shape
from advisor.rules.registry import Array, Level, Rule, Suitability, all_rules
from advisor.segments import from_minutes

#: Families that are hazards from a care on; of each the rule that holds down most is named.
ALWAYS = ("thunder", "shear", "fog", "icing")
#: Families that are hazards from a stop for a student with an instructor on.
FROM_STOP = ("wind", "gust", "crosswind", "ceiling", "visibility", "temperature")
#: Families that say what is wrong with the reports themselves; each rule is named.
DOUBTS = ("age", "source", "disagreement", "missing")
_STOPS = (int(Level.STOP), int(Level.STORM))
_ORDER = (*ALWAYS, *FROM_STOP, *DOUBTS)
_NONE = int(np.iinfo(np.int64).max)


def hazards_of(
    ratings: Ratings, days: Sequence[PracticeDay], reach: Sequence[tuple[int, int]]
) -> list[tuple[Hazard, ...]]:
    """Hazards of each field, the dangerous families first, doubts last.

    Parameters
    ----------
    ratings : Ratings
    days : sequence of PracticeDay
    reach : sequence of (int, int)
        First and past-the-last cell to look at, for each day.

    Returns
    -------
    list of tuple of Hazard
        In the order of ``days``. Never raises.
    """
    c = ratings.context
    t = c.t
    dual, solo = stage_index(ratings, "pre-solo"), stage_index(ratings, "solo")
    first = np.searchsorted(t.cell, [r[0] for r in reach], side="left")
    after = np.searchsorted(t.cell, [r[1] for r in reach], side="left")
    offset = cap_index(c)
    found: list[dict[str, _Found]] = [{} for _ in days]
    for rule in all_rules():
        level = ratings.result.levels.get(rule.code)
        if level is None or rule.axes == "lesson" or rule.family not in _ORDER:
            continue
        full = level_shape(rule, level, c.n_stages, t.n)
        here = full[dual]
        stage = dual
        if rule.family in FROM_STOP:
            # a stop over the pattern or the practice area alike; the notes and cares stand in the blocks
            fired = np.isin(here, _STOPS)
        else:
            if rule.axes == "stage" and not here.any():
                here, stage = full[solo], solo
            fired = here > Level.NOTE
        if not fired.any():
            continue
        figure, rank = c.figure(rule), np.zeros(t.n, dtype=np.int64)
        if figure is not None:
            rank[fired] = ranks(-figure[stage][fired])
        _keep(rule, stage, fired, caps_of(here, offset[stage]), rank, first, after, found)
    with np.errstate(invalid="ignore"):
        return [tuple(_hazard(ratings, x) for x in sorted(f.values(), key=lambda x: (x.order, x.cap))) for f in found]


class _Found(NamedTuple):
    """The rule that holds down most of its family: its worst row, and the first and last row it fired in."""

    order: int
    cap: int
    rule: Rule
    stage: int
    worst: int
    first: int
    last: int


def _keep(
    rule: Rule,
    stage: int,
    fired: Array,
    caps: Array,
    rank: Array,
    first: Array,
    after: Array,
    found: list[dict[str, _Found]],
) -> None:
    """Put a rule down for each field it fired in, unless another of its family holds down as much."""
    doubt = rule.family in DOUBTS
    key, order = rule.code if doubt else rule.family, _ORDER.index(rule.family)
    row = np.arange(len(fired))
    none = len(fired)
    # the lowest cap, of those the worst figure, and the first row with both, in one number
    ranked = np.where(fired, (caps.astype(np.int64) * none + rank) * none + row, _NONE)
    worst = over(np.minimum, ranked, first, after, _NONE)
    begin = over(np.minimum, np.where(fired, row, none), first, after, none)
    end = over(np.maximum, np.where(fired, row, -1), first, after, -1)
    for i in np.flatnonzero(end >= 0).tolist():
        lowest, at = divmod(int(worst[i]), none)
        cap = lowest // none
        known = found[i].get(key)
        if (known is None or known.cap > cap) and (doubt or cap < Suitability.SUITED):
            found[i][key] = _Found(order, cap, rule, stage, at, int(begin[i]), int(end[i]))


def _hazard(ratings: Ratings, x: _Found) -> Hazard:
    t = ratings.conditions.table
    return Hazard(
        x.rule.code,
        x.rule.name,
        x.rule.family,
        x.rule.say(ratings.context, x.stage, 0, x.worst),
        ratings.layer_words(x.stage, x.worst, x.rule),
        ratings.cited(x.rule, x.worst),
        # rows lie in order of time
        from_minutes(int(t.start_min[x.first])),
        from_minutes(int(t.end_min[x.last])),
        x.rule.family in DOUBTS,
    )
