"""Seasons: an archive rated in parts is what rating its reports one by one gives, and what is in no archive is not used.

The truth of a small archive is worked out here in plain Python, report by report, hour by hour.
"""

from __future__ import annotations

import json
import random
from collections import Counter
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from advisor.archive.counts import (
    THREE,
    Counts,
    add_counts,
    load_counts,
    rule_codes,
    save_counts,
    tally,
    tally_depth,
)
from advisor.archive.places import Sites, daylight, local_month_hour, offsets_min
from advisor.archive.report import SeasonReport, table_rows
from advisor.archive.season import Settings, observed_table, rate_partition
from advisor.archive.source import Rows
from advisor.errors import AdvisorError
from advisor.lessons import lesson_keys
from advisor.limits import make_limits
from advisor.places.sun import sun_times
from advisor.reports.decode_metar import decode_metar
from advisor.rules.context import Context
from advisor.rules.engine import evaluate
from advisor.rules.registry import Level, Suitability, all_rules
from advisor.segments import SEGMENT_COLUMNS, observation_segment, to_minutes
from advisor.table import COLUMNS, State, Table
from advisor.teaching import Teaching, teaching_rows
from tests.season_archive import SETTINGS, archive, as_rows

LIMITS = make_limits(SETTINGS.setups)
FIXED = LIMITS.fixed

#: Rules about forecasts, clocks, neighbours and trends; an archive holds none of these.
NOT_IN_AN_ARCHIVE = {
    "AG01": {"age_min": 400.0},
    "AG02": {"no_fresh_report": True},
    "BO01": {"borrowed_far": True},
    "DI01": {"disagrees": True},
    "DL01": {"dark": True},
    "FG03": {"fog_late": True},
    "TS02": {"storm_near": True},
    "TS06": {"storm_today": True},
    "WI07": {"building_kt": 20.0},
}


def equal(a: Counts, b: Counts) -> None:
    assert a.stations == b.stations
    assert a.fates == b.fates
    for station, one in a.by_station.items():
        np.testing.assert_array_equal(one.hours, b.by_station[station].hours)
        for name in tally_depth():
            np.testing.assert_array_equal(a.dense(name, station), b.dense(name, station), err_msg=name)


def one_table(columns: dict[str, object], sites: Sites, site: int, minute: int, sun: tuple[int, int]) -> Table:
    return observed_table(
        {name: np.array([value]) for name, value in columns.items()},
        sites, np.array([site]), np.array([minute]), np.array([sun[0]]), np.array([sun[1]]), LIMITS,
    )  # fmt: skip


def test_a_season_is_its_reports_one_by_one() -> None:
    rows = archive(days=6)
    got = rate_partition(as_rows(rows), SETTINGS)
    sites = Sites(SETTINGS.fields)
    by_hour: dict[tuple[str, int], list[tuple[int, int, np.ndarray, np.ndarray]]] = {}
    dark = 0
    for station, when, raw in rows:
        site = sites.find(station)
        place = sites.sites[site].station
        minute = to_minutes(when)
        midnight = minute - minute % 1440
        suns = [
            tuple(map(int, sun_times(place.latitude_deg, place.longitude_deg, midnight + k * 1440))) for k in (-1, 0, 1)
        ]
        lit = [sun for sun in suns if sun[0] <= minute < sun[1]]
        if not lit:
            dark += 1
            continue
        try:
            metar = decode_metar(raw, when, when)
        except AdvisorError:
            continue
        segment = observation_segment(metar, 0, FIXED["peak_remark_min"])
        columns = {name: getattr(segment, name) for name in SEGMENT_COLUMNS}
        context = Context(one_table(columns, sites, site, minute, lit[0]), LIMITS, SETTINGS.aircraft, sites.sites)
        suit = evaluate(context).suitability[..., 0]
        with np.errstate(invalid="ignore"):
            teach = teaching_rows(context)[..., 0]
        by_hour.setdefault((station, minute // 60), []).append((int(suit.sum()), minute, suit, teach))
    assert got.fates["dark"] == dark > 0
    assert got.fates["counted"] == len(by_hour)
    want: Counter[tuple[str, int, int, int, int, str, int]] = Counter()
    for (station, _), found in by_hour.items():
        _, minute, suit, teach = min(found, key=lambda row: (row[0], row[1]))
        zone = ZoneInfo(sites.sites[sites.find(station)].station.time_zone)
        local = (datetime(1970, 1, 1, tzinfo=UTC) + timedelta(minutes=minute)).astimezone(zone)
        for s in range(4):
            for k in range(9):
                cell = (station, local.month, local.hour, s, k)
                want[(*cell, "suit", int(suit[s, k]))] += 1
                want[(*cell, "teach", int(teach[s, k]))] += 1
                if suit[s, k] in (Suitability.SUITED, Suitability.WITH_CARE):
                    want[(*cell, "worth", 0)] += int(teach[s, k] in (Teaching.SOME, Teaching.STRONG))
    have: Counter[tuple[str, int, int, int, int, str, int]] = Counter()
    for name, tallied in (("suit", "suitability"), ("teach", "teaching"), ("worth", "worth")):
        for station in got.stations:
            array = got.dense(tallied, station)
            for cell, s, k, value in np.argwhere(array).tolist():
                key = (station, cell // 24 + 1, cell % 24, s, k, name, value)
                have[key] = int(array[cell, s, k, value])
    assert have == +want
    assert len({value for *_, name, value in have if name == "suit"}) == len(Suitability)


@pytest.mark.parametrize("cuts", [1, 7, 40])
def test_parts_add_up_in_any_order(cuts: int) -> None:
    rows = as_rows(archive(days=4))
    whole = rate_partition(rows, SETTINGS)
    new = (rows.station[1:] != rows.station[:-1]) | (rows.minute[1:] // 60 != rows.minute[:-1] // 60)
    starts = np.flatnonzero(np.r_[True, new])
    rng = random.Random(cuts)
    at = sorted(rng.sample(starts[1:].tolist(), cuts))
    pieces = [rows.take(slice(a, b)) for a, b in zip([0, *at], [*at, len(rows)], strict=True)]
    equal(rate_partition(iter(pieces), SETTINGS), whole)
    rng.shuffle(pieces)
    equal(add_counts((rate_partition(piece, SETTINGS) for piece in pieces), 4), whole)


def test_every_report_has_one_fate() -> None:
    rows = archive(days=2)
    when = rows[60][1].replace(hour=18)
    rows += [
        ("XZZZ", when, "XZZZ 011853Z 22012KT"),
        ("XSND", when, f"XBRK {when:%d%H%M}Z 22012KT 10SM CLR 15/05 A2992"),
        ("XSND", when, "XSND NIL"),
    ]
    given = as_rows(rows)
    given.minute[5] = -1
    got = rate_partition(given, SETTINGS)
    assert got.reports == len(rows)
    assert all(got.fates[f] for f in ("no_time", "unknown_station", "dark", "not_read", "other_station", "counted"))
    assert got.unknown == {"XZZZ"}


def test_an_archive_may_name_a_station_without_its_country_letter() -> None:
    when = datetime(2025, 6, 1, 18, 53, tzinfo=UTC)
    raw = f"KLNK {when:%d%H%M}Z 22012KT 10SM CLR 15/05 A2992"
    for name, counted in (("KLNK", 1), ("LNK", 1), ("OMA", 0)):
        got = rate_partition(as_rows([(name, when, raw)]), Settings())
        assert got.fates["counted"] == counted, name


@pytest.mark.parametrize(("stations", "more"), [(12, ""), (13, " and 1 more")])
def test_of_many_stations_that_nobody_describes_twelve_are_named(stations: int, more: str) -> None:
    when = datetime(2025, 6, 1, 18, 53, tzinfo=UTC)
    names = [f"Q{n:03d}" for n in range(stations)]
    got = rate_partition(as_rows([(n, when, f"{n} {when:%d%H%M}Z 22012KT") for n in names]), SETTINGS)
    told = SeasonReport(got, SETTINGS.setups, (0,)).told()[-1]
    assert told == f"Not described: {', '.join(names[:12])}{more}. A school file (--school) can describe them."


def test_nothing_given_is_nothing_counted() -> None:
    got = rate_partition(as_rows([]), SETTINGS)
    assert got.reports == 0
    assert got.stations == []
    assert list(SeasonReport(got, SETTINGS.setups, (0,)).seasons()) == []


def test_the_worst_report_of_the_hour_counts_once() -> None:
    good = "XBRK 011805Z 22010KT 10SM CLR 15/05 A2992"
    storm = "XBRK 011840Z 22010KT 10SM TSRA BKN040CB 15/05 A2992"
    at = [datetime(2025, 6, 1, 18, m, tzinfo=UTC) for m in (5, 40)]
    got = rate_partition(as_rows([("XBRK", at[0], good), ("XBRK", at[1], storm)]), SETTINGS)
    assert got.fates["counted"] == 1
    assert got.fates["other_report_of_the_hour"] == 1
    taught_hours = got.dense("suitability", "XBRK").sum(axis=0)[:, :, Suitability.HOLD]
    assert taught_hours[0, 0] == 1
    codes = rule_codes()
    assert got.dense("blocked", "XBRK").sum(axis=0)[0, 0, codes.index("TS01")] == 1
    local_hour = 13  # 1840Z in Nebraska in June
    assert got.by_station["XBRK"].hours.reshape(12, 24)[5, local_hour] == 1


def test_three_families_are_counted_as_what_they_are() -> None:
    when = datetime(2025, 6, 1, 18, 53, tzinfo=UTC)
    raw = "XBRK 011853Z 22012KT 7SM BKN022 15/14 A2992 RMK AO2 TSNO WSHFT 30 WND DATA ESTMD"
    got = rate_partition(as_rows([("XBRK", when, raw)]), SETTINGS)
    by_rule = got.dense("blocked", "XBRK").sum(axis=(0, 2))  # (stages, rules)
    ended = got.dense("suitability", "XBRK").sum(axis=0)[0, 0]
    assert ended[Suitability.ASK_FIRST] == 1
    assert by_rule[0, rule_codes().index(THREE)] > 0


@pytest.mark.parametrize("code", NOT_IN_AN_ARCHIVE)
def test_rules_about_what_an_archive_lacks_stay_quiet(code: str) -> None:
    rows = as_rows(archive(days=3))
    got = rate_partition(rows, SETTINGS)
    at = rule_codes().index(code)
    assert got.stations
    assert sum(int(got.dense("blocked", station)[..., at].sum()) for station in got.stations) == 0
    rule = next(r for r in all_rules() if r.code == code)
    sites = Sites(SETTINGS.fields)
    sites.find("XBRK")
    raw = "XBRK 011853Z 22012KT 10SM TSRA FG BKN020CB 15/05 A2992"
    when = datetime(2025, 6, 1, 18, 53, tzinfo=UTC)
    segment = observation_segment(decode_metar(raw, when, when), 0, 60.0)
    segment.weather = 0
    table = one_table({n: getattr(segment, n) for n in SEGMENT_COLUMNS}, sites, 0, to_minutes(when), (0, 10**9))
    with np.errstate(invalid="ignore"):
        quiet = rule.level(Context(table, LIMITS, SETTINGS.aircraft, sites.sites))
        woken = rule.level(
            Context(table.with_columns(**NOT_IN_AN_ARCHIVE[code]), LIMITS, SETTINGS.aircraft, sites.sites)
        )
    assert (quiet == Level.QUIET).all()
    assert (woken != Level.QUIET).any()  # the column named is the one the rule listens to


def test_columns_that_no_report_sets_are_at_their_defaults() -> None:
    sites = Sites(SETTINGS.fields)
    sites.find("XBRK")
    segment = observation_segment(decode_metar(archive(1)[12][2], archive(1)[12][1]), 0, 60.0)
    columns = {name: getattr(segment, name) for name in SEGMENT_COLUMNS}
    columns |= {"disagrees": True, "gust_state": int(State.NONE)}
    table = one_table(columns, sites, 0, 5000, (0, 9000))
    set_here = {
        "site",
        "start_min",
        "end_min",
        "near_sun",
        "last_hour",
        "elevation_ft",
        "ground_above_ft",
        "northern",
    }
    for name, (dtype, default) in COLUMNS.items():
        if name not in set_here and (name not in SEGMENT_COLUMNS or name == "disagrees"):
            np.testing.assert_array_equal(getattr(table, name)[0], np.asarray(default, dtype=dtype), err_msg=name)


@pytest.mark.parametrize(
    "zone",
    ["America/Chicago", "Asia/Kolkata", "Australia/Lord_Howe", "UTC", "Pacific/Apia", "America/St_Johns"],
)
def test_local_clocks_are_those_of_the_zone(zone: str) -> None:
    start = to_minutes(datetime(2011, 12, 1, tzinfo=UTC))
    minutes = start + np.arange(0, 400 * 1440, 53)
    clock = ZoneInfo(zone)
    want = [
        (datetime.fromtimestamp(m * 60, UTC).astimezone(clock).utcoffset() or timedelta()).total_seconds() / 60
        for m in minutes.tolist()
    ]
    np.testing.assert_array_equal(offsets_min(clock, minutes), want)


def test_light_and_hours_west_and_east_of_greenwich() -> None:
    sites = Sites()
    names = ("KLNK", "YSSY", "PANC", "EGLL")
    minutes = to_minutes(datetime(2025, 6, 20, tzinfo=UTC)) + np.arange(0, 3 * 1440, 37)
    for name in names:
        place = sites.find(name)
        site = np.full(len(minutes), place)
        light, rise, down = daylight(sites.sites, site, minutes)
        month, hour = local_month_hour(sites.sites, site, minutes)
        station = sites.sites[place].station
        for m, lit, up, fall in zip(minutes.tolist(), light, rise, down, strict=True):
            days = [m - m % 1440 + k * 1440 for k in (-1, 0, 1)]
            suns = [sun_times(station.latitude_deg, station.longitude_deg, d) for d in days]
            inside = [(int(a), int(b)) for a, b in suns if a <= m < b]
            assert lit == bool(inside), (name, m)
            assert (up, fall) == (inside[0] if inside else (0, 0))
        assert set(month.tolist()) <= {6}
        noon_share = light[(hour >= 11) & (hour < 13)].mean()
        assert noon_share == 1.0, name  # whatever the longitude, noon on the field's clock is light


def test_counts_survive_the_disk_and_damage_is_seen(tmp_path: Path) -> None:
    counts = rate_partition(as_rows(archive(days=1)), SETTINGS)
    path = tmp_path / "part.npz"
    save_counts(counts, path)
    kept = load_counts(path)
    assert kept is not None
    equal(kept, counts)
    assert (kept.first_min, kept.last_min, kept.unknown) == (
        counts.first_min,
        counts.last_min,
        counts.unknown,
    )
    data = path.read_bytes()
    for damaged in (data[: len(data) // 2], b"", b"not a file of counts"):
        path.write_bytes(damaged)
        assert load_counts(path) is None


@pytest.mark.parametrize("change", [{"stations": []}, {"rules": ["WI01"]}])
def test_counts_that_fit_no_station_or_other_rules_are_not_read(tmp_path: Path, change: dict[str, Any]) -> None:
    """Hours without the name of their station would be lost without a word; hours of other rules mean other things."""
    path = tmp_path / "part.npz"
    save_counts(rate_partition(as_rows(archive(days=1)), SETTINGS), path)
    with np.load(path) as stored:
        arrays = dict(stored)
    assert load_counts(path) is not None
    facts = {**json.loads(arrays["facts"].tobytes()), **change}
    arrays["facts"] = np.frombuffer(json.dumps(facts).encode(), dtype=np.uint8)
    np.savez(path, **arrays)
    assert load_counts(path) is None


@pytest.mark.parametrize("n_stations", [1, 3, 400])  # dense inside, and sparse
def test_a_tally_is_a_count_of_places(n_stations: int) -> None:
    dice = np.random.default_rng(n_stations)
    per_station = 50
    places = dice.integers(0, per_station * n_stations, size=(4, 90))
    places[places // per_station == 2] = 0  # a station with nothing counted
    got = tally(places, per_station, n_stations)
    want = Counter(places.reshape(-1).tolist())
    have = {
        k * per_station + place: times
        for k, (found, counted) in enumerate(got)
        for place, times in zip(found.tolist(), counted.tolist(), strict=True)
    }
    assert have == want
    assert len(got) == n_stations
    assert all((np.diff(found.astype(np.int64)) > 0).all() for found, _ in got)


def test_nothing_counted_survives_the_disk_too(tmp_path: Path) -> None:
    counts = rate_partition(as_rows([("XZZZ", datetime(2025, 6, 1, 18, tzinfo=UTC), "XZZZ NIL")]), SETTINGS)
    save_counts(counts, tmp_path / "part.npz")
    kept = load_counts(tmp_path / "part.npz")
    assert kept is not None
    equal(kept, counts)
    assert kept.unknown == {"XZZZ"}


def test_the_table_holds_every_hour_counted() -> None:
    counts = rate_partition(as_rows(archive(days=4)), SETTINGS)
    report = SeasonReport(counts, SETTINGS.setups, tuple(range(9)))
    rows = list(table_rows(report))
    keys = lesson_keys()
    hours: Counter[tuple[object, ...]] = Counter()
    for station, stage, lesson, month, hour, seen, worth, *rest in rows:
        fit, teaching, (rule, held) = rest[:5], rest[5:9], rest[9:]
        assert sum(fit) == sum(teaching) == seen, (station, month, hour)
        assert worth <= fit[0] + fit[1]
        assert (rule == "") == (held == 0)
        assert held <= fit[2] + fit[3] + fit[4]
        hours[station, stage, lesson] += seen
        assert lesson in keys
    assert set(hours.values()) == {int(one.hours.sum()) for one in counts.by_station.values()}


def test_settings_name_stations() -> None:
    rows = as_rows(archive(days=1))
    got = rate_partition(rows, Settings(fields=SETTINGS.fields, stations=("XHLW",)))
    assert got.stations == ["XHLW"]
    assert isinstance(rows, Rows)
