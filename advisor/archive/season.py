"""Rates a partition of an archive and counts its hours; the same function on one machine and on many.

One row a station-hour counts: the worst report of the UTC clock hour. Dark hours are dropped first. There
is no forecast, no report age and no trend in an archive, so the rules that ask for them find nothing and stay quiet.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import field
from typing import Any

import numpy as np

from advisor.aircraft import Aircraft, find_aircraft
from advisor.archive.counts import CELLS, HOURS, Counts, StationCounts, Total, rule_codes, tally
from advisor.archive.decode import decode_archive
from advisor.archive.places import Sites, daylight, local_month_hour
from advisor.archive.source import Part, Rows, read_part
from advisor.lessons import lessons, taught
from advisor.limits import STAGES, Changes, Limits, StageSetup, make_limits, stage_setup
from advisor.places import Field
from advisor.records import dataclass
from advisor.rules.context import Context
from advisor.rules.engine import Result, cap_index, caps_of, evaluate, scopes_of
from advisor.rules.registry import Level, Suitability, all_rules
from advisor.table import Array, Layer, Table
from advisor.teaching import Teaching, teaching_rows


@dataclass(frozen=True, slots=True)
class Settings:
    """Who flies, in what, by which limits, over which ground; small, so that it travels to other machines.

    ``ground_ft`` are pairs of station and height of its practice area; ``stations`` restricts the archive,
    empty for all.
    """

    setups: tuple[StageSetup, ...] = tuple(stage_setup(s) for s in STAGES)
    aircraft: Aircraft = field(default_factory=find_aircraft)
    changes: Changes = field(default_factory=Changes)
    fields: tuple[Field, ...] = ()
    ground_ft: tuple[tuple[str, float], ...] = ()
    stations: tuple[str, ...] = ()


def rate_partition(source: Part | Rows | Iterable[Rows], settings: Settings) -> Counts:
    """Rate one partition and count its hours.

    Parameters
    ----------
    source : Part, Rows or iterable of Rows
        A run of rows of an archive on disk, or raw reports in hand. Rows of one station's hour stand together.
    settings : Settings
        Stages, aircraft, limits.

    Returns
    -------
    Counts
        They add up with those of other partitions (``counts.add_counts``). Never raises on any text;
        DataFileError when the file cannot be read.
    """
    limits = make_limits(settings.setups, settings.changes)
    sites = Sites(settings.fields, dict(settings.ground_ft))
    total = Total(len(settings.setups))
    for rows in _chunks(source):
        total.add(_rate(rows, settings, limits, sites))
    return total.result()


def _chunks(source: Part | Rows | Iterable[Rows]) -> Iterator[Rows]:
    if isinstance(source, Part):
        return read_part(source)
    return iter((source,)) if isinstance(source, Rows) else iter(source)


def _rate(rows: Rows, settings: Settings, limits: Limits, sites: Sites) -> Counts:
    out = Counts(len(settings.setups))
    lost = out.fates
    rows = _place(rows, settings, sites, out)
    if not len(rows):
        return out
    site = _by_station(rows.station, sites.find).astype(np.int32)
    light, rise, down = daylight(sites.sites, site, rows.minute)
    lost["dark"] = int((~light).sum())
    rows, site, rise, down = rows.take(light), site[light], rise[light], down[light]
    decoded = decode_archive(rows.raw.tolist(), rows.minute, limits.fixed["peak_remark_min"])
    out.one_at_a_time = int(decoded.one_at_a_time.sum())
    lost["not_read"] = int((~decoded.read).sum())
    if not len(rows):
        return out
    strangers = decoded.read & ~_own_report(rows.station, decoded.station)
    lost["other_station"] = int(strangers.sum())
    good = decoded.read & ~strangers
    if not good.any():
        return out
    minute, site, rise, down = rows.minute[good], site[good], rise[good], down[good]
    columns = {name: column[good] for name, column in decoded.columns.items()}
    table = observed_table(columns, sites, site, minute, rise, down, limits)
    context = Context(table, limits, settings.aircraft, sites.sites)
    result = evaluate(context, keep=True)
    pick = worst_of_hour(site, minute, result.suitability)
    lost["other_report_of_the_hour"] = len(minute) - len(pick)
    lost["counted"] = len(pick)
    with np.errstate(invalid="ignore"):
        teaching = teaching_rows(context)[..., pick]
    month, hour = local_month_hour(sites.sites, site[pick], minute[pick])
    here, station = np.unique(site[pick], return_inverse=True)
    names = [sites.sites[place].station.station for place in here.tolist()]
    out.first_min, out.last_min = int(minute[pick].min()), int(minute[pick].max())
    cell = station.reshape(-1).astype(np.int64) * CELLS + (month - 1) * HOURS + hour
    out.by_station = _count(names, cell, result, context, pick, teaching)
    return out


def _by_station(station: Array, value: Callable[[str], Any]) -> Array:
    """A value for each row, asked once for each run of one station."""
    starts = np.flatnonzero(np.r_[True, station[1:] != station[:-1]])
    values = np.array([value(name) for name in station[starts].tolist()])
    return np.repeat(values, np.diff(np.r_[starts, len(station)]))


def _place(rows: Rows, settings: Settings, sites: Sites, out: Counts) -> Rows:
    """Rows with a time and a known station, of those asked for."""
    if settings.stations and len(rows):
        wanted = {sites.find(name) for name in settings.stations} - {-1}
        rows = rows.take(_by_station(rows.station, lambda name: sites.find(name) in wanted))
    timed = rows.minute >= 0
    out.fates["no_time"] = int((~timed).sum())
    rows = rows.take(timed)
    if not len(rows):
        return rows
    known = _by_station(rows.station, lambda name: sites.find(name) >= 0)
    out.unknown |= set(rows.station[~known].tolist())
    out.fates["unknown_station"] = int((~known).sum())
    return rows.take(known)


def _own_report(named: Array, printed: Array) -> Array:
    """True where the station in the report is the archive's, whole or without its country letter."""
    short = _by_station(named, lambda name: name[:4].encode("ascii", "replace")).astype("S4")
    tail = np.ascontiguousarray(printed).view("S1").reshape(-1, 4)[:, 1:]
    tail = np.ascontiguousarray(tail).view("S3")[:, 0]
    return np.asarray((short == printed) | (short == tail.astype("S4")))


def observed_table(
    columns: dict[str, Array],
    sites: Sites,
    site: Array,
    minute: Array,
    rise: Array,
    down: Array,
    limits: Limits,
) -> Table:
    """Conditions of reports by themselves: no forecast, no age, no trend, no winds aloft.

    Parameters
    ----------
    columns : dict
        Columns of decoded reports.
    sites : Sites
        The fields; ``site`` is an index into them.
    minute, rise, down : int64
        UTC minutes of the report, of the sunrise before it and of the sunset after it.
    limits : Limits
        For the spans that count as close to sunrise and sunset.

    Returns
    -------
    Table
        Layer observed; every column that only a forecast, a clock or a pilot sets is at its quiet default.
    """
    fixed = limits.fixed
    elevation = np.array([s.elevation_ft for s in sites.sites])
    ground = np.array([s.ground_above_field_ft for s in sites.sites])
    northern = np.array([s.northern for s in sites.sites])
    more: dict[str, Any] = {name: column for name, column in columns.items() if name != "disagrees"}
    near = (minute < rise + fixed["near_sun_min"]) | (minute >= down - fixed["near_sun_min"])
    return Table(
        len(minute),
        site=site,
        layer=int(Layer.OBSERVED),
        start_min=minute,
        end_min=minute,
        near_sun=near,
        last_hour=minute >= down - fixed["last_hour_min"],
        elevation_ft=elevation[site],
        ground_above_ft=ground[site],
        northern=northern[site],
        **more,
    )


def worst_of_hour(site: Array, minute: Array, suitability: Array) -> Array:
    """Position of the worst report of each station's UTC hour; rows of an hour stand together.

    Worst is the lowest sum of suitability over all stages and lessons; of equals the earlier.
    """
    hour = minute // 60
    starts = np.flatnonzero(np.r_[True, (site[1:] != site[:-1]) | (hour[1:] != hour[:-1])])
    score = suitability.reshape(-1, suitability.shape[-1]).sum(axis=0, dtype=np.int32)
    group = np.repeat(np.arange(len(starts)), np.diff(np.r_[starts, len(score)]))
    lowest = np.flatnonzero(score == np.minimum.reduceat(score, starts)[group])
    return np.asarray(lowest[np.unique(group[lowest], return_index=True)[1]])


def _count(
    names: list[str], cell: Array, result: Result, context: Context, pick: Array, teaching: Array
) -> dict[str, StationCounts]:
    """Tallies of the rows picked, by station; ``cell`` is ``station * CELLS + cell``."""
    suitability = result.suitability[..., pick]
    n_stages, n_lessons, _ = suitability.shape
    lane = np.arange(n_stages * n_lessons, dtype=np.int64).reshape(n_stages, n_lessons, 1)
    place = cell * lane.size + lane  # (stages, lessons, rows)
    fit = (suitability == Suitability.SUITED) | (suitability == Suitability.WITH_CARE)
    worth = fit & ((teaching == Teaching.SOME) | (teaching == Teaching.STRONG))
    codes = rule_codes()
    held = suitability < Suitability.WITH_CARE
    blocked = list(_blockers(result, context, pick, suitability, place * len(codes)))
    three = result.three_families[..., pick] & held
    blocked.append(place[three] * len(codes) + len(codes) - 1)
    found = {
        "suitability": (place * len(Suitability) + suitability, len(Suitability)),
        "teaching": (place * len(Teaching) + teaching, len(Teaching)),
        "worth": (place[worth], 1),
        "blocked": (np.concatenate(blocked), len(codes)),
    }
    tallies = {name: tally(places, CELLS * lane.size * depth, len(names)) for name, (places, depth) in found.items()}
    hours = np.bincount(cell, minlength=len(names) * CELLS).reshape(-1, CELLS).astype(np.uint32)
    return {
        name: StationCounts(hours[k], {key: one[k] for key, one in tallies.items()}) for k, name in enumerate(names)
    }


def _blockers(result: Result, context: Context, pick: Array, suitability: Array, place: Array) -> Iterator[Array]:
    """Places in the counts of each rule that fired and alone would give the ask first, hold or not rated that came out."""
    offset = cap_index(context)[:, pick]
    n_stages, n_lessons, n = suitability.shape
    is_taught = taught(context.limits.setups)
    in_scope = {
        scope: np.array([scope in scopes_of(k) for k in range(n_lessons)]) & is_taught
        for scope in {rule.scope for rule in all_rules()}
    }
    for k, rule in enumerate(all_rules()):
        level = result.levels.get(rule.code)
        if level is None:
            continue
        here = level[..., pick]
        rows = np.flatnonzero((here > Level.NOTE).reshape(-1, n).any(axis=0))
        if not rows.size:
            continue
        if rule.axes == "lesson":
            here = np.broadcast_to(here[..., rows], (n_stages, n_lessons, rows.size))
            cap, applies = caps_of(here, offset[:, None, rows]), is_taught
        else:
            here = np.broadcast_to(here[..., rows], (n_stages, rows.size))
            cap, applies = caps_of(here, offset[:, rows])[:, None, :], in_scope[rule.scope]
        ended = suitability[..., rows]
        blocked = (cap == ended) & (ended < Suitability.WITH_CARE) & applies[:, :, None]
        yield place[..., rows][blocked] + k


def lesson_names() -> tuple[str, ...]:
    """Keys of the lesson axis."""
    return tuple(lesson.key for lesson in lessons())
