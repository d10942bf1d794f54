"""Cells of time: where to cut, and the flags that belong to time and not to a report.

Time is cut wherever any rule could change its mind, so a rule never has to ask what happens inside a cell.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np

from advisor.places.sun import sun_times
from advisor.segments import from_minutes, to_minutes
from advisor.site import Site
from advisor.table import Array, Layer
from advisor.weather import STORM, Wx

if TYPE_CHECKING:
    from advisor.clock import OpeningHours
    from advisor.conditions import StationConditions

DAY_MIN = 1440
_THUNDER, _FOG, _STORM = int(Wx.THUNDER | Wx.THUNDER_VICINITY), int(Wx.FOG), int(STORM)
_ALOFT = ("aloft_low_kt", "aloft_low_height_ft", "aloft_interp_kt")
_FORECAST = (Layer.PREVAILING, Layer.BECOMING, Layer.POSSIBLE)


def suns_of(places: Sequence[tuple[Site, int]]) -> list[tuple[list[int], list[int]]]:
    """Sunrise and sunset (UTC minutes) of yesterday to the day after tomorrow; polar days give none.

    Takes (field, now in UTC minutes) of all fields at once: the equations cost the same for one as for hundreds.
    """
    now = np.array([now_min for _, now_min in places], dtype=np.int64)[:, None]
    days = now - now % DAY_MIN + DAY_MIN * np.arange(-1, 3)
    where = np.array([(s.station.latitude_deg, s.station.longitude_deg) for s, _ in places]).reshape(-1, 2)
    rise, down = (np.asarray(x, dtype=np.float64) for x in sun_times(where[:, :1], where[:, 1:], days))
    good = np.isfinite(rise) & np.isfinite(down) & (rise > 0) & (down > rise)
    return [([int(x) for x in up[ok]], [int(x) for x in end[ok]]) for up, end, ok in zip(rise, down, good, strict=True)]


def boundaries(
    story: StationConditions,
    now_min: int,
    horizon_min: int,
    fixed: dict[str, float],
    opening: OpeningHours | None = None,
) -> list[int]:
    """Every minute at which some rule could change its mind, from now to the horizon, sorted."""
    margin, ahead = int(fixed["storm_margin_min"]), int(fixed["storm_ahead_min"])
    near, last, late = int(fixed["near_sun_min"]), int(fixed["last_hour_min"]), int(fixed["fog_late_min"])
    cuts = {now_min, horizon_min}
    cuts.update(range(now_min - now_min % 60 + 60, horizon_min, 60))
    cuts.add(story.air_until_min)
    cuts.update(s.end_min + late for s in story.ended if s.weather & _FOG)
    for s in story.segments:
        cuts.update((s.start_min, s.end_min))
        if s.layer in _FORECAST and s.weather & _STORM:
            cuts.update((s.start_min - margin, s.start_min - ahead, s.end_min + margin))
        if s.weather & _FOG:
            cuts.add(s.end_min + late)
    for rise, down in zip(story.sunrise_min, story.sunset_min, strict=True):
        cuts.update((rise, rise + near, down - near, down - last, down))
    pilot = story.source.pilot_wind
    if pilot is not None:
        cuts.add(to_minutes(pilot.at) + int(fixed["pilot_wind_min"]))
    for use_from, use_to, *_ in story.source.aloft:
        cuts.update((use_from, use_to))
    for closure in story.source.site.closures:
        cuts.update((closure.start_min, closure.end_min))
    if opening is not None:
        zone = ZoneInfo(story.source.site.station.time_zone)
        for minute in range(now_min, horizon_min + DAY_MIN, DAY_MIN):
            day = from_minutes(minute).astimezone(zone).date()
            for door in opening.on(day) or ():
                cuts.add(to_minutes(datetime.combine(day, door, tzinfo=zone)))
    return sorted([c for c in cuts if now_min <= c <= horizon_min])


def cell_flags(
    stories: Sequence[StationConditions], starts: Array, ends: Array, site: Array, fixed: dict[str, float]
) -> dict[str, Array]:
    """Flags and numbers that belong to time, one value a cell, of all fields at once.

    Parameters
    ----------
    stories : sequence of StationConditions
        The fields, with their segments, sun times and place on the cell axis.
    starts, ends, site : int arrays of shape ``(cells,)``
        UTC minutes of every cell, and the field it belongs to.
    fixed : dict
        Numbers that do not change with stage.

    Returns
    -------
    dict
        Columns of the table by name, shape ``(cells,)``. Never raises.
    """
    n = len(starts)
    names = ("near_sun", "last_hour", "storm_near", "storm_ahead", "storm_today", "fog_late")
    flags: dict[str, Array] = {name: np.zeros(n, dtype=bool) for name in names}
    flags |= {name: np.full(n, np.nan) for name in (*_ALOFT, "pilot_kt")}
    flags["storm_group"] = np.full(n, -1, dtype=np.int64)
    flags["dark"] = np.ones(n, dtype=bool)
    _sun_flags(flags, stories, starts, ends, site, fixed)
    first_group = 0
    for story in stories:
        part = story.cells
        here = {name: column[part] for name, column in flags.items()}  # views: what is set is set in the whole
        _storm_flags(here, story, starts[part], ends[part], fixed, first_group)
        _wind_flags(here, story, starts[part], ends[part], fixed)
        first_group += len(story.segments)
    return flags


def _sun_flags(
    flags: dict[str, Array],
    stories: Sequence[StationConditions],
    starts: Array,
    ends: Array,
    site: Array,
    fixed: dict[str, float],
) -> None:
    """Dark, and near the sun's rise and set, for one day of every field after the other."""
    for k in range(max((len(s.sunrise_min) for s in stories), default=0)):
        # a field with fewer days has one that ends before it begins
        sun = [(s.sunrise_min[k], s.sunset_min[k]) if k < len(s.sunrise_min) else (1, 0) for s in stories]
        rise, down = np.array(sun, dtype=np.int64).T
        no_end = (down - rise >= DAY_MIN)[site]  # under a midnight sun no day ends
        rise, down = rise[site], down[site]
        light = (starts >= rise) & (ends <= down)
        flags["dark"] &= ~light
        light &= ~no_end
        last = ends > down - fixed["near_sun_min"]
        flags["near_sun"] |= light & ((starts < rise + fixed["near_sun_min"]) | last)
        flags["last_hour"] |= light & (ends > down - fixed["last_hour_min"])


def _storm_flags(
    flags: dict[str, Array],
    story: StationConditions,
    starts: Array,
    ends: Array,
    fixed: dict[str, float],
    first_group: int,
) -> None:
    """Storms and fog of one field's forecast; ``flags`` are its cells'.

    A storm group that is over still counts: for the hour after it, and for the rest of a day that had it in its forecast.
    """
    margin, ahead, late = fixed["storm_margin_min"], fixed["storm_ahead_min"], fixed["fog_late_min"]
    storms = [(i, s) for i, s in enumerate(story.segments) if s.layer in _FORECAST and s.weather & _STORM]
    thunder = [(i, s) for i, s in enumerate(story.segments) if s.layer in _FORECAST and s.weather & _THUNDER]
    for rise, down in zip(story.sunrise_min, story.sunset_min, strict=True) if thunder else ():
        if any(s.start_min < down and s.end_min > rise for _, s in thunder):
            flags["storm_today"] |= (starts >= rise) & (ends <= down)
    for i, s in reversed(storms):
        flags["storm_group"][starts < s.end_min + margin] = first_group + i
        flags["storm_near"] |= (starts < s.end_min + margin) & (ends > s.start_min - margin)
        flags["storm_ahead"] |= (starts < s.end_min) & (ends > s.start_min - ahead)
    for _, s in storms:  # in its own hours a storm is there, not near
        flags["storm_near"] &= (starts >= s.end_min) | (ends <= s.start_min)
    if thunder:  # where none lies ahead, the last one is what is left to cite
        flags["storm_group"][flags["storm_today"] & (flags["storm_group"] < 0)] = first_group + thunder[-1][0]
    for s in (*story.segments, *story.ended):
        if s.weather & _FOG and s.layer != Layer.POSSIBLE:
            flags["fog_late"] |= (starts >= s.end_min) & (starts < s.end_min + late)


def _wind_flags(
    flags: dict[str, Array], story: StationConditions, starts: Array, ends: Array, fixed: dict[str, float]
) -> None:
    """Winds aloft and a pilot's wind over one field; ``flags`` are its cells'."""
    for use_from, use_to, *values in story.source.aloft:
        inside = (starts >= use_from) & (ends <= use_to)
        for name, value in zip(_ALOFT, values, strict=True):
            flags[name][inside] = value
    pilot = story.source.pilot_wind
    if pilot is not None:
        at = to_minutes(pilot.at)
        flags["pilot_kt"][(starts >= at) & (ends <= at + fixed["pilot_wind_min"])] = pilot.speed_kt
