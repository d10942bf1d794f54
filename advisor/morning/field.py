"""A field now: wind along and across its runways, the last reports, what is left of the ceiling over its areas."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from advisor import units
from advisor.advice import PracticeDay
from advisor.directions import arc_share
from advisor.morning.blocks import stage_index
from advisor.morning.model import Area, Block, RunwayWind, TrendPoint, WindLayer
from advisor.places import bearing_deg_true, distance_nm
from advisor.ratings import Ratings
from advisor.reports.types import CeilingState, Metar
from advisor.school import School
from advisor.segments import ceiling_value
from advisor.table import WindKind

#: Reports shown as a trend.
TREND_REPORTS = 4
#: A crosswind smaller than this comes from no side worth naming. [kt]
NO_SIDE_KT = 0.5
#: Crosswinds that differ by less are one runway's two ends.
ALIKE_KT = 0.1
_CALM, _VARIABLE = int(WindKind.CALM), int(WindKind.VARIABLE)
_POINTS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")


def runways_of(ratings: Ratings, rows: Sequence[int | None]) -> list[tuple[RunwayWind, ...]]:
    """Wind now at every usable runway end of every field, the best end first; empty without a wind or a runway.

    Parameters
    ----------
    ratings : Ratings
    rows : sequence of int or None
        Row that says how it is now at each field.

    Returns
    -------
    list of tuple of RunwayWind. Never raises.
    """
    c = ratings.context
    t = c.t
    dual = stage_index(ratings, "pre-solo")
    owner, row_of, bearings = [], [], []
    for i, row in enumerate(rows):
        if row is None or not c.wind_known[row]:
            continue
        for j, end in c.open_ends(row):
            owner.append((i, j, end))
            row_of.append(row)
            bearings.append(end.bearing_deg_true)
    out: list[list[RunwayWind]] = [[] for _ in rows]
    if not owner:
        return [tuple(x) for x in out]
    at, bearing = np.array(row_of), np.array(bearings, dtype=np.float64)
    peak = c.peak_kt[at]
    across, behind = arc_share(t.arc_start_deg[at], t.arc_width_deg[at], bearing)
    angle = t.from_deg_true[at] - bearing
    head = units.cos_deg(angle) * t.mean_kt[at]
    from_right = units.sin_deg(angle) * t.mean_kt[at]
    columns = (
        t.wind_kind[at], t.mean_kt[at], peak, across * peak, behind * peak, head, from_right, c.best_end[dual, at]
    )  # fmt: skip
    for (i, j, end), *(kind, mean, most, worst, tail, ahead, right, best) in zip(
        owner, *(x.tolist() for x in columns), strict=True
    ):
        if kind == _CALM:
            figures: tuple[float | None, float, float, float, str] = (0.0, 0.0, 0.0, 0.0, "none")
        elif kind == _VARIABLE:
            figures = (None, mean, most, 0.0, "either")
        else:
            side = ("right" if right > 0 else "left") if abs(right) >= NO_SIDE_KT else "none"
            figures = (ahead, abs(right), worst, tail, side)
        is_best = best == j and kind != _CALM
        out[i].append(RunwayWind(end.name, end.bearing_deg_true, *figures, is_best, end.bearing_estimated))
    return [_into_wind(x) for x in out]


def _into_wind(ends: list[RunwayWind]) -> tuple[RunwayWind, ...]:
    """The best end first. In a light wind both ends of a runway lie inside the limits: the one into wind is meant."""
    known = next((r for r in ends if r.best), None)
    if known is not None and known.head_kt is not None:
        alike = [r for r in ends if r.cross_peak_kt <= known.cross_peak_kt + ALIKE_KT]
        best = max(alike, key=lambda r: (r.head_kt or 0.0, r.best))
        ends = [r if r.best is (r is best) else replace(r, best=r is best) for r in ends]
    return tuple(sorted(ends, key=lambda r: not r.best))


def trend_of(day: PracticeDay) -> tuple[tuple[TrendPoint, ...], tuple[str, ...]]:
    """The last reports, newest first, and in words what moved from the oldest of them to the newest. Never raises."""
    metars = day.station.source.metars[:TREND_REPORTS]
    points = tuple(_point(m) for m in metars)
    if len(metars) < 2:
        return points, ("only one report is there: no trend" if metars else "no report: no trend",)
    new, old = metars[0], metars[-1]
    minutes = int((new.observed_at - old.observed_at).total_seconds() // 60)
    words = []
    if new.wind.speed_kt is None or old.wind.speed_kt is None:
        words.append("wind: no trend, a report lacks it")
    else:
        rise = new.wind.speed_kt - old.wind.speed_kt
        words.append(f"mean wind {_moved(rise, f'{abs(rise)} kt')}")
        if (new.wind.gust_kt is None) != (old.wind.gust_kt is None):
            words.append("gusts are new" if new.wind.gust_kt is not None else "gusts have gone")
    a, b = points[0], points[-1]
    if a.spread_c is not None and b.spread_c is not None:
        change = a.spread_c - b.spread_c
        if abs(change) >= 0.5:
            words.append(
                f"temperature and dew point {'closing' if change < 0 else 'parting'}, {b.spread_c:.1f} to "
                f"{a.spread_c:.1f} C apart"
            )
    if a.visibility_sm is not None and b.visibility_sm is not None and a.visibility_sm != b.visibility_sm:
        words.append(f"visibility {b.visibility_sm:g} to {a.visibility_sm:g} SM")
    if a.altimeter_inhg is not None and b.altimeter_inhg is not None:
        change = a.altimeter_inhg - b.altimeter_inhg
        words.append(f"pressure {_moved(round(change, 2), f'{abs(change):.2f} inHg')}")
    return points, (*words, f"over {minutes} minutes")


def _moved(change: float, size: str) -> str:
    return "steady" if change == 0 else f"{'up' if change > 0 else 'down'} {size}"


def _point(m: Metar) -> TrendPoint:
    spread = None if m.temperature_c is None or m.dewpoint_c is None else m.temperature_c - m.dewpoint_c
    unknown = m.sky.ceiling_state is CeilingState.UNKNOWN
    return TrendPoint(
        m.observed_at,
        m.wind.raw or "wind missing",
        m.visibility.miles,
        None if unknown else ceiling_value(m.sky),
        spread,
        m.altimeter_inhg,
    )


def areas_of(day: PracticeDay, school: School | None, now: WindLayer, blocks: Sequence[Block]) -> tuple[Area, ...]:
    """The field's practice areas with the ceiling above their ground. Never raises."""
    if school is None:
        return ()
    place = day.station.source.site.station
    known = [b.wind.ceiling_ft for b in blocks if b.wind.ceiling_ft is not None]
    lowest = min(known) if known else None
    out = []
    for area in school.areas_for(place.station):
        here = (place.latitude_deg, place.longitude_deg, area.latitude_deg, area.longitude_deg)
        away, towards = float(distance_nm(*here)), float(bearing_deg_true(*here))
        lost = area.ground_elevation_ft - place.elevation_ft
        out.append(
            Area(
                area.name,
                f"{away:.0f} NM {_POINTS[round(towards / 45.0) % len(_POINTS)]} of the field",
                area.ground_elevation_ft,
                None if now.ceiling_ft is None else now.ceiling_ft - lost,
                None if lowest is None else lowest - lost,
                any(b.wind.ceiling_gaps for b in blocks),
            )
        )
    return tuple(out)
