"""The wind at the field: in words, and along and across each runway end."""

from __future__ import annotations

import numpy as np

from advisor import units
from advisor.advice import PracticeDay
from advisor.card.model import LessonCard, RunwayRow
from advisor.directions import arc_share
from advisor.flight.pattern import runway_components
from advisor.table import WindKind

#: A share of the wind across smaller than this is no crosswind to name a side for. [kt]
NO_SIDE_KT = 0.5


def worst_row(day: PracticeDay, stage: int, cells: list[int]) -> int | None:
    """Row of the strongest reported or prevailing wind of the hour; ``None`` without one. Never raises."""
    c = day.ratings.context
    rows = day.ratings.rows_of(day.global_cells(cells))
    if len(rows):
        rows = rows[~c.possible[stage, rows] & c.wind_known[rows]]
    return int(rows[np.argmax(c.peak_kt[rows])]) if len(rows) else None


def direction_words(card: LessonCard, bearing_deg_true: float) -> str:
    """``220° true (217° magnetic)``; north is 360."""
    true = f"{round(bearing_deg_true) % 360 or 360:03d}° true"
    magnetic = card.magnetic(bearing_deg_true)
    return true if magnetic is None else f"{true} ({round(magnetic) % 360 or 360:03d}° magnetic)"


def surface_words(card: LessonCard, row: int | None) -> str:
    """The wind at the field in one sentence; a missing one is said to be missing. Never raises."""
    if row is None:
        return "Wind at the field: not known."
    t = card.day.ratings.conditions.table
    kind, mean, gust = WindKind(int(t.wind_kind[row])), float(t.mean_kt[row]), float(t.gust_kt[row])
    if kind is WindKind.CALM:
        return "Wind at the field: calm."
    gusts = f" gusting {gust:.0f} kt" if gust == gust else ", no gust reported"
    if kind is WindKind.VARIABLE:
        return f"Wind at the field: variable {mean:.0f} kt{gusts}."
    swing = ""
    if float(t.arc_width_deg[row]) > 0:
        start = float(t.arc_start_deg[row])
        end = (start + float(t.arc_width_deg[row])) % 360.0
        swing = f", swinging {round(start) or 360:03d}° to {round(end) or 360:03d}° true"
    return f"Wind at the field: {direction_words(card, float(t.from_deg_true[row]))} {mean:.0f} kt{gusts}{swing}."


def runway_rows(card: LessonCard, row: int | None) -> tuple[RunwayRow, ...]:
    """Wind at each usable runway end, the best first; empty where no runway or no wind is known. Never raises."""
    site = card.day.station.source.site
    if row is None or not site.usable_ends:
        return ()
    c = card.day.ratings.context
    t = c.t
    stage = next(s.index for s in card.day.stages if s.setup == card.setup)
    best = int(c.best_end[stage, row])
    peak, mean = float(c.peak_kt[row]), float(t.mean_kt[row])
    kind = WindKind(int(t.wind_kind[row]))
    out = []
    for index, end in c.open_ends(row):
        bearing = end.bearing_deg_true
        if kind is WindKind.VARIABLE:
            cross, head, side = (mean, peak), (0.0, 0.0), "either side"
        elif kind is WindKind.CALM:
            cross, head, side = (0.0, 0.0), (0.0, 0.0), "none"
        else:
            parts = runway_components(float(t.from_deg_true[row]), mean, bearing)
            across, behind = arc_share(
                np.array(t.arc_start_deg[row]), np.array(t.arc_width_deg[row]), np.array(bearing)
            )
            worst_cross = float(across) * peak
            straight = float(units.cos_deg(float(t.from_deg_true[row]) - bearing)) * peak
            worst_head = -float(behind) * peak if float(behind) > 0 else straight
            cross, head = (abs(float(parts.crosswind_kt)), worst_cross), (float(parts.headwind_kt), worst_head)
            side = "none"
            if abs(float(parts.crosswind_kt)) >= NO_SIDE_KT:
                side = "from the right" if float(parts.crosswind_kt) > 0 else "from the left"
        magnetic = card.magnetic(bearing)
        out.append(RunwayRow(end.name, bearing, magnetic, side, cross, head, index == best, end.bearing_estimated))
    return tuple(sorted(out, key=lambda r: (not r.best, r.head_kt[1] < 0, r.cross_kt[1])))
