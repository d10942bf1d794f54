"""Places and hours of archive rows: which field, whether it was light, what the clock on the wall said."""

from __future__ import annotations

from dataclasses import field
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from advisor.clock import zone
from advisor.errors import AdvisorError
from advisor.places import Field, find_station, runways
from advisor.places.sun import sun_times
from advisor.records import dataclass
from advisor.site import Site
from advisor.table import Array

DAY_MIN = 1440
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass(slots=True)
class Sites:
    """Fields met so far, by the identifier in the archive; a lookup that failed is remembered too.

    ``fields`` are a school's own records; ``ground_ft`` maps a station to the ground of its practice area.
    """

    fields: tuple[Field, ...] = ()
    ground_ft: dict[str, float] = field(default_factory=dict)
    sites: list[Site] = field(default_factory=list)
    index: dict[str, int] = field(default_factory=dict)

    def find(self, name: str) -> int:
        """Position in ``sites``; -1 when no data describes the station. Never raises."""
        known = self.index.get(name)
        if known is None:
            known = self._look_up(name)
            self.index[name] = known
        return known

    def _look_up(self, name: str) -> int:
        try:
            station = find_station(name, self.fields)
        except AdvisorError:
            return -1
        for place, site in enumerate(self.sites):
            if site.station.station == station.station:
                return place
        ends = runways(station.station, self.fields)
        self.sites.append(Site(station, ends, self.ground_ft.get(station.station)))
        return len(self.sites) - 1


def daylight(sites: list[Site], site: Array, minute: Array) -> tuple[Array, Array, Array]:
    """Sunrise and sunset around each row.

    Parameters
    ----------
    sites : list of Site
    site : int, shape ``(rows,)``
        Position in ``sites``.
    minute : int64, shape ``(rows,)``
        UTC minutes since 1970.

    Returns
    -------
    light, rise, set : bool and two int64
        Whether the sun is up, and when it rose and sets; both 0 in the dark.
    """
    latitude = np.array([s.station.latitude_deg for s in sites])
    longitude = np.array([s.station.longitude_deg for s in sites])
    day = minute // DAY_MIN
    low = int(day.min()) if len(day) else 0
    key = site.astype(np.int64) * 2_000_000 + (day - low)
    _, first, back = np.unique(key, return_index=True, return_inverse=True)
    back = back.reshape(-1)
    light = np.zeros(len(minute), dtype=bool)
    rise_of, set_of = np.zeros(len(minute), dtype=np.int64), np.zeros(len(minute), dtype=np.int64)
    here, midnight = site[first], day[first] * DAY_MIN
    for offset in (0, -1, 1):  # west of Greenwich the evening lies in the next UTC day
        rise, down = sun_times(latitude[here], longitude[here], midnight + offset * DAY_MIN)
        rise, down = np.asarray(rise)[back], np.asarray(down)[back]
        inside = ~light & (minute >= rise) & (minute < down)
        light |= inside
        rise_of[inside], set_of[inside] = rise[inside], down[inside]
    return light, rise_of, set_of


def local_month_hour(sites: list[Site], site: Array, minute: Array) -> tuple[Array, Array]:
    """Month (1 to 12) and hour (0 to 23) on the field's own clock, summer time included."""
    local = minute.copy()
    for place in np.unique(site).tolist():
        rows = np.flatnonzero(site == place)
        local[rows] += offsets_min(zone(sites[place].station.time_zone), minute[rows])
    days = (local // DAY_MIN).astype("datetime64[D]")
    month = days.astype("datetime64[M]").astype(np.int64) % 12 + 1
    return month, local % DAY_MIN // 60


def offsets_min(clock: ZoneInfo, minute: Array) -> Array:
    """Minutes the clock of a zone is ahead of UTC, one for each UTC minute.

    A zone is asked once a day, and minute by minute on the days its clocks change.
    """
    days, back = np.unique(minute // DAY_MIN, return_inverse=True)
    back = back.reshape(-1)
    opens = np.array([_ahead_min(clock, day * DAY_MIN) for day in days.tolist()])
    closes = np.array([_ahead_min(clock, (day + 1) * DAY_MIN) for day in days.tolist()])
    found = opens[back]
    for row in np.flatnonzero((opens != closes)[back]).tolist():
        found[row] = _ahead_min(clock, int(minute[row]))
    return np.asarray(found)


def _ahead_min(clock: ZoneInfo, minute: int) -> int:
    offset = (_EPOCH + timedelta(minutes=minute)).astimezone(clock).utcoffset()
    return 0 if offset is None else round(offset.total_seconds() / 60)
