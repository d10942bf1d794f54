"""Reports to conditions: segments of time, cut into cells, as one table.

Time is cut wherever any rule could change its mind, so a rule never has to ask what happens inside a cell.
An hour takes the lowest of its cells. No field is merged across groups: each row is one group in one cell.
"""

from __future__ import annotations

from dataclasses import field
from datetime import datetime
from operator import attrgetter
from typing import Any

import numpy as np

from advisor.cells import DAY_MIN, boundaries, cell_flags, suns_of
from advisor.clock import OpeningHours
from advisor.limits import table as limits_table
from advisor.records import dataclass
from advisor.reports.types import Metar, Taf
from advisor.segments import (
    SEGMENT_COLUMNS,
    Segment,
    ceiling_value,
    disagreement,
    observation_segment,
    to_minutes,
    trend_segments,
    visibility_value,
    wind_values,
)
from advisor.site import Site
from advisor.table import Array, Layer, Table
from advisor.weather import STORM, Wx, weather_flags

#: Minutes between the times of two fields on one axis: more than any time of the next centuries.
_A_SITE = 1 << 32
_COLUMN_VALUES = attrgetter(*SEGMENT_COLUMNS)
#: Weather of a forecast that says something of other hours than its own.
_MARKS_THE_DAY = int(STORM | Wx.THUNDER_VICINITY)


def fixed_numbers() -> dict[str, float]:
    """Numbers that do not change with stage, by name."""
    return {name: float(row["value"]) for name, row in limits_table()["fixed"].items()}


@dataclass(frozen=True, slots=True)
class PilotWind:
    """Wind at height as a pilot who is up reported it."""

    from_deg_true: float
    speed_kt: float
    at: datetime


@dataclass(slots=True)
class StationInput:
    """Everything known about one field at one time.

    ``metars``: newest first, all of one station. ``observation_from`` and ``forecast_from`` are sentences when
    the report or the forecast is another station's, with ``borrowed_far`` true beyond the care distance.
    ``observation_drop_ft`` and ``forecast_drop_ft`` are how much lower the lender lies: its ceiling stands so much
    closer to the ground here. A higher lender's ceiling is left as it is, never raised.
    """

    site: Site
    now: datetime
    metars: tuple[Metar, ...] = ()
    taf: Taf | None = None
    observation_from: str | None = None
    forecast_from: str | None = None
    observation_drop_ft: float = 0.0
    forecast_drop_ft: float = 0.0
    borrowed_far: bool = False
    pilot_wind: PilotWind | None = None
    aloft: tuple[tuple[int, int, float, float, float], ...] = ()
    """(use_from_min, use_to_min, lowest level kt, its height above ground ft, kt at lesson height)."""
    horizon_min: int = DAY_MIN
    notes: tuple[str, ...] = ()
    notices: tuple[str, ...] = ()


@dataclass(slots=True)
class StationConditions:
    """The time axis and the story behind one field's rows."""

    source: StationInput
    observation: Metar | None
    segments: list[Segment] = field(default_factory=list)
    first_cell: int = 0
    n_cells: int = 0
    sunrise_min: list[int] = field(default_factory=list)
    sunset_min: list[int] = field(default_factory=list)
    age_min: float = float("nan")
    trend_kt: float = float("nan")
    ended: list[Segment] = field(default_factory=list)
    """Groups over before ``now`` that no later report has put right."""
    air_until_min: int = 0
    """To when the observed temperature may stand for the forecast hours."""

    @property
    def cells(self) -> slice:
        """Positions of this field's cells in the conditions' cell arrays."""
        return slice(self.first_cell, self.first_cell + self.n_cells)


@dataclass(slots=True)
class Conditions:
    """One table over one or many fields, and its cells."""

    table: Table
    cell_start_min: Array
    cell_end_min: Array
    cell_site: Array
    stations: list[StationConditions]
    sites: list[Site]


def forecast_segments(taf: Taf) -> list[Segment]:
    """Segments of one forecast; change groups already carry what they do not restate."""
    from advisor.reports.taf_timeline import timeline

    layers = {"prevailing": Layer.PREVAILING, "becoming": Layer.BECOMING, "possible": Layer.POSSIBLE}
    out: list[Segment] = []
    for part in timeline(taf):
        columns: dict[str, Any] = wind_values(part.wind) if part.wind is not None else {}
        out.append(
            Segment(
                start_min=to_minutes(part.start),
                end_min=to_minutes(part.end),
                layer=layers[part.layer],
                group=part.group_raw,
                visibility_sm=visibility_value(part.visibility),
                ceiling_ft=ceiling_value(part.sky),
                weather=int(weather_flags(part.weather or (), part.sky)),
                shear=part.layer != "possible" and (part.wind_shear is not None or _says_shear(part.not_understood)),
                undecoded=bool(part.not_understood) or not part.reliable,
                **columns,
            )
        )
    return out


def _says_shear(unread: tuple[str, ...]) -> bool:
    """Wind shear in another form than WS020/24045KT: WSCONDS, LLWS, WS015/VRB30KT."""
    return any(group.startswith(("WS", "LLWS")) for group in unread)


def _trend_kt(metars: tuple[Metar, ...], within_min: int = 120) -> float:
    """Rise of the mean wind from the oldest report of the last two hours to the newest, kt; NaN if unknown."""
    known = [m for m in metars if m.wind.speed_kt is not None]
    if len(known) < 2:
        return float("nan")
    newest = known[0]
    reach = [m for m in known[1:] if (newest.observed_at - m.observed_at).total_seconds() <= within_min * 60]
    if not reach or newest.wind.speed_kt is None or reach[-1].wind.speed_kt is None:
        return float("nan")
    return float(newest.wind.speed_kt - reach[-1].wind.speed_kt)


def _bring_down(segment: Segment, drop_ft: float) -> None:
    """The ceiling of a lender that lies so much lower, as it stands here; none and unknown stay what they are."""
    if segment.ceiling_ft == segment.ceiling_ft:
        segment.ceiling_ft = max(0.0, segment.ceiling_ft - drop_ft)


def _story(given: StationInput, now_min: int, fixed: dict[str, float]) -> StationConditions:
    """Segments of one field's report and forecast, and what is known of them besides; no cells yet."""
    forecast = forecast_segments(given.taf) if given.taf is not None and not given.taf.cancelled else []
    for part in forecast:
        _bring_down(part, given.forecast_drop_ft)
    story = StationConditions(given, given.metars[0] if given.metars else None)
    since = 0
    if story.observation is not None:
        since = to_minutes(story.observation.observed_at)
        _take_report(story, story.observation, forecast, now_min, fixed)
    # a storm that is over has no row any more, but it marks the hour after it and its day
    story.segments += [s for s in forecast if s.end_min > now_min or s.weather & _MARKS_THE_DAY]
    story.ended += [s for s in forecast if since < s.end_min <= now_min]
    return story


def _take_report(
    story: StationConditions, report: Metar, forecast: list[Segment], now_min: int, fixed: dict[str, float]
) -> None:
    """Put the segments of a report and its trend into the story, and mark the forecast with what the report says."""
    given, observed_min = story.source, to_minutes(report.observed_at)
    story.age_min = float(max(0, now_min - observed_min))
    story.trend_kt = _trend_kt(given.metars)
    persists_to = observed_min + int(fixed["persist_min"])
    end = persists_to
    if forecast and given.taf is not None:
        # an FM whose time is damaged is no such line: it begins nobody knows when, and the report stands
        starts = (to_minutes(p.start) for p in given.taf.periods if p.change == "FM")
        end = min([end, *(s for s in starts if s > observed_min)])
    segment = observation_segment(report, end, fixed["peak_remark_min"])
    # stamped a few minutes ahead by another clock, it says how it is now all the same
    segment.start_min = min(segment.start_min, now_min)
    trend = trend_segments(report, segment, persists_to)
    for part in (segment, *trend):
        _bring_down(part, given.observation_drop_ft)
    at_once = max(observed_min, now_min)
    in_force = [s for s in forecast if s.layer == Layer.PREVAILING and s.start_min <= at_once < s.end_min]
    if in_force and story.age_min <= fixed["persist_min"] and disagreement(segment, in_force[0], fixed):
        for s in (segment, *forecast):
            s.disagrees = True
    (story.segments if end > now_min else story.ended).append(segment)
    story.segments += [part for part in trend if part.end_min > now_min or part.weather & _MARKS_THE_DAY]
    _carry_air(report, forecast)
    story.air_until_min = observed_min + int(fixed["carried_temperature_min"])


def _carry_air(observation: Metar, forecast: list[Segment]) -> None:
    """Give forecast segments the observed temperature, dew point and altimeter, marked carried."""
    for s in forecast:
        s.carried = True
        if observation.altimeter_inhg is not None:
            s.altimeter_inhg = observation.altimeter_inhg
        if observation.temperature_c is not None:
            s.temperature_c = observation.temperature_c
        if observation.dewpoint_c is not None:
            s.dewpoint_c = observation.dewpoint_c


def build_conditions(inputs: list[StationInput], opening: OpeningHours | None = None) -> Conditions:
    """Conditions of one or many fields.

    Parameters
    ----------
    inputs : list of StationInput
        One for each field; ``now`` may differ between them.
    opening : OpeningHours or None
        The school's hours: time is cut where the doors open and close.

    Returns
    -------
    Conditions
        Rows sorted by field and cell. A cell with no group at all has no row.

    Notes
    -----
    Never raises on decoded reports. Cells start at ``now`` and end at the horizon.
    """
    fixed = fixed_numbers()
    stories: list[StationConditions] = []
    cell_start: list[int] = []
    cell_end: list[int] = []
    suns = suns_of([(given.site, to_minutes(given.now)) for given in inputs])
    for index, given in enumerate(inputs):
        now_min = to_minutes(given.now)
        story = _story(given, now_min, fixed)
        story.sunrise_min, story.sunset_min = suns[index]
        cuts = boundaries(story, now_min, now_min + given.horizon_min, fixed, opening)
        story.first_cell, story.n_cells = len(cell_start), len(cuts) - 1
        cell_start += cuts[:-1]
        cell_end += cuts[1:]
        stories.append(story)
    starts, ends = np.array(cell_start, dtype=np.int64), np.array(cell_end, dtype=np.int64)
    sites = _owners([s.n_cells for s in stories])
    flags = cell_flags(stories, starts, ends, sites, fixed)
    table = _table(stories, starts, ends, sites, flags)
    return Conditions(table, starts, ends, sites, stories, [g.site for g in inputs])


def _owners(sizes: list[int]) -> Array:
    """0 as often as the first says, then 1 as often as the second, and so on."""
    return np.repeat(np.arange(len(sizes)), np.array(sizes, dtype=np.int64))


def _rows(
    segments: list[Segment], segment_site: Array, starts: Array, ends: Array, cell_site: Array
) -> tuple[Array, Array]:
    """Cell and segment of every row, sorted by cell: a segment is in the cells of its field that it overlaps."""
    start = segment_site * _A_SITE + np.array([s.start_min for s in segments], dtype=np.int64)
    end = segment_site * _A_SITE + np.array([s.end_min for s in segments], dtype=np.int64)
    first = np.searchsorted(cell_site * _A_SITE + ends, start, side="right")
    count = np.searchsorted(cell_site * _A_SITE + starts, end, side="left") - first
    count = np.maximum(count, 0)
    segment = np.repeat(np.arange(len(segments)), count)
    cell = np.arange(len(segment)) - np.repeat(np.cumsum(count) - count, count) + first[segment]
    order = np.lexsort((segment, cell))
    return cell[order], segment[order]


def _table(
    stories: list[StationConditions], starts: Array, ends: Array, cell_site: Array, flags: dict[str, Array]
) -> Table:
    segments = [s for story in stories for s in story.segments]
    segment_site = _owners([len(s.segments) for s in stories])
    cells, picks = _rows(segments, segment_site, starts, ends, cell_site)
    columns: dict[str, Any] = {name: np.zeros(0) for name in SEGMENT_COLUMNS}
    for name, values in zip(SEGMENT_COLUMNS, zip(*map(_COLUMN_VALUES, segments), strict=True), strict=False):
        columns[name] = np.array(values)[picks]
    layer = np.array([s.layer for s in segments], dtype=np.uint8)[picks]
    site = cell_site[cells]
    now_start = np.array([starts[s.first_cell] if s.n_cells else 0 for s in stories], dtype=np.int64)
    observed_now = (layer == Layer.PERSISTING) & (starts[cells] == now_start[site])
    columns["layer"] = np.where(observed_now, np.uint8(Layer.OBSERVED), layer)
    columns.update(cell=cells, start_min=starts[cells], end_min=ends[cells], group=picks, site=site)
    for name, by_cell in flags.items():
        columns[name] = by_cell[cells]
    per_site: dict[str, list[Any]] = {
        "elevation_ft": [s.source.site.elevation_ft for s in stories],
        "ground_above_ft": [s.source.site.ground_above_field_ft for s in stories],
        "northern": [s.source.site.northern for s in stories],
        "age_min": [s.age_min for s in stories],
        "no_fresh_report": [s.observation is None for s in stories],
        "borrowed_far": [s.source.borrowed_far for s in stories],
        "building_kt": [s.trend_kt for s in stories],
    }
    for name, values_by_site in per_site.items():
        columns[name] = np.array(values_by_site)[site] if stories else np.zeros(0)
    if segments:
        air_until = np.array([s.air_until_min for s in stories], dtype=np.int64)
        not_forecast = columns["carried"] & (columns["start_min"] >= air_until[site])
        for name in ("temperature_c", "dewpoint_c"):
            columns[name] = np.where(not_forecast, np.nan, columns[name])
    # carried temperatures cite the report they come from, which may no longer be in force itself
    reports = [s.observation.raw if s.observation is not None else "" for s in stories]
    columns["air_group"] = np.where(columns["carried"], len(segments) + site, -1)
    return Table(len(cells), [*(s.group for s in segments), *reports], **columns)
