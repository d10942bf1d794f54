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
from advisor.segments import Segment, from_minutes, to_minutes
from advisor.site import Site
from advisor.table import Array, Layer
from advisor.weather import STORM, Wx

if TYPE_CHECKING:
    from advisor.clock import OpeningHours
    from advisor.conditions import StationConditions

DAY_MIN = 1440
_THUNDER = int(Wx.THUNDER)
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
    return [
        ([int(x) for x in up[ok]], [int(x) for x in end[ok]]) for up, end, ok in zip(rise, down, good, strict=True)
    ]


def boundaries(
    segments: list[Segment],
    story: StationConditions,
    now_min: int,
    horizon: int,
    fixed: dict[str, float],
    opening: OpeningHours | None = None,
) -> Array:
    """Every minute at which some rule could change its mind, from now to the horizon, sorted."""
    margin, ahead = int(fixed["storm_margin_min"]), int(fixed["storm_ahead_min"])
    near, last, late = int(fixed["near_sun_min"]), int(fixed["last_hour_min"]), int(fixed["fog_late_min"])
    cuts = {now_min, horizon}
    cuts.update(range(now_min - now_min % 60 + 60, horizon, 60))
    cuts.add(story.air_until_min)
    cuts.update(s.end_min + late for s in story.ended if s.weather & int(Wx.FOG))
    for s in segments:
        cuts.update((s.start_min, s.end_min))
        if s.layer in _FORECAST and s.weather & int(STORM):
            cuts.update((s.start_min - margin, s.start_min - ahead, s.end_min + margin))
        if s.weather & int(Wx.FOG):
            cuts.add(s.end_min + late)
    for rise, down in zip(story.sunrise_min, story.sunset_min, strict=True):
        cuts.update((rise, rise + near, down - near, down - last, down))
    pilot = story.source.pilot_wind
    if pilot is not None:
        cuts.add(to_minutes(pilot.at) + int(fixed["pilot_wind_min"]))
    for use_from, use_to, *_ in story.source.aloft:
        cuts.update((use_from, use_to))
    if opening is not None:
        zone = ZoneInfo(story.source.site.station.time_zone)
        for minute in range(now_min, horizon + DAY_MIN, DAY_MIN):
            day = from_minutes(minute).astimezone(zone).date()
            for door in opening.on(day) or ():
                cuts.add(to_minutes(datetime.combine(day, door, tzinfo=zone)))
    return np.array(sorted(c for c in cuts if now_min <= c <= horizon), dtype=np.int64)


def cell_flags(
    segments: list[Segment],
    story: StationConditions,
    starts: Array,
    ends: Array,
    fixed: dict[str, float],
    first_group: int,
) -> dict[str, Array]:
    """Flags and numbers that belong to time, one value a cell."""
    n = len(starts)
    flags = {
        name: np.zeros(n, dtype=bool)
        for name in ("near_sun", "last_hour", "storm_near", "storm_ahead", "storm_today", "fog_late")
    }
    dark = np.ones(n, dtype=bool)
    thunder = [s for s in segments if s.layer in _FORECAST and s.weather & int(STORM)]
    for rise, down in zip(story.sunrise_min, story.sunset_min, strict=True):
        light = (starts >= rise) & (ends <= down)
        dark &= ~light
        if down - rise < DAY_MIN:  # under a midnight sun no day ends
            _sun_flags(flags, light, starts, ends, (rise, down), fixed)
        if any(s.weather & _THUNDER and s.start_min < down and s.end_min > rise for s in thunder):
            flags["storm_today"] |= light
    storm_group = np.full(n, -1, dtype=np.int64)
    for s in reversed(thunder):
        storm_group[starts < s.end_min + fixed["storm_margin_min"]] = first_group + segments.index(s)
        flags["storm_near"] |= (starts < s.end_min + fixed["storm_margin_min"]) & (
            ends > s.start_min - fixed["storm_margin_min"]
        )
        flags["storm_ahead"] |= (starts < s.end_min) & (ends > s.start_min - fixed["storm_ahead_min"])
    for s in (*segments, *story.ended):
        if s.weather & int(Wx.FOG) and s.layer != Layer.POSSIBLE:
            flags["fog_late"] |= (starts >= s.end_min) & (starts < s.end_min + fixed["fog_late_min"])
    flags["dark"] = dark
    flags["storm_group"] = storm_group
    flags["aloft_low_kt"], flags["aloft_low_height_ft"], flags["aloft_interp_kt"] = (
        np.full(n, np.nan),
        np.full(n, np.nan),
        np.full(n, np.nan),
    )
    for use_from, use_to, low_kt, low_height_ft, at_height_kt in story.source.aloft:
        inside = (starts >= use_from) & (ends <= use_to)
        flags["aloft_low_kt"][inside] = low_kt
        flags["aloft_low_height_ft"][inside] = low_height_ft
        flags["aloft_interp_kt"][inside] = at_height_kt
    pilot = story.source.pilot_wind
    pilot_kt = np.full(n, np.nan)
    if pilot is not None:
        at = to_minutes(pilot.at)
        pilot_kt[(starts >= at) & (ends <= at + fixed["pilot_wind_min"])] = pilot.speed_kt
    flags["pilot_kt"] = pilot_kt
    return flags


def _sun_flags(
    flags: dict[str, Array],
    light: Array,
    starts: Array,
    ends: Array,
    sun: tuple[int, int],
    fixed: dict[str, float],
) -> None:
    rise, down = sun
    near = (starts < rise + fixed["near_sun_min"]) | (ends > down - fixed["near_sun_min"])
    flags["near_sun"] |= light & near
    flags["last_hour"] |= light & (ends > down - fixed["last_hour_min"])
