"""Hazards and doubts of the day: which rules fired for a field between now and the end of its last block."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from advisor.advice import PracticeDay
from advisor.morning.blocks import over, stage_index
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
    found: list[dict[str, tuple[int, int, Hazard]]] = [{} for _ in days]
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
        any_fired = over(np.logical_or, fired, first, after, 0)
        for i in np.flatnonzero(any_fired):
            _keep(ratings, rule, stage, fired, here, offset, int(first[i]), int(after[i]), found[i])
    return [tuple(h for _, _, h in sorted(f.values(), key=lambda x: x[:2])) for f in found]


def _keep(
    ratings: Ratings,
    rule: Rule,
    stage: int,
    fired: Array,
    level: Array,
    offset: Array,
    first: int,
    after: int,
    found: dict[str, tuple[int, int, Hazard]],
) -> None:
    rows = first + np.flatnonzero(fired[first:after])
    caps = caps_of(level[rows], offset[stage, rows])
    worst = int(rows[np.argmin(caps)])
    cap = int(caps.min())
    t = ratings.conditions.table
    key = rule.code if rule.family in DOUBTS else rule.family
    if key in found and found[key][1] <= cap:
        return
    if rule.family not in DOUBTS and cap >= Suitability.SUITED:
        return
    with np.errstate(invalid="ignore"):
        said = rule.say(ratings.context, stage, 0, worst)
    hazard = Hazard(
        rule.code,
        rule.name,
        rule.family,
        said,
        ratings.layer_words(stage, worst, rule),
        ratings.cited(rule, worst),
        from_minutes(int(t.start_min[rows].min())),
        from_minutes(int(t.end_min[rows].max())),
        rule.family in DOUBTS,
    )
    found[key] = (_ORDER.index(rule.family), cap, hazard)
