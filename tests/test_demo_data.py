"""The built-in demonstration: realistic reports, three different days, and every mark that it is made up."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from itertools import combinations, pairwise
from math import floor
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from advisor.datafiles import data_text
from advisor.demo import DEMO_STATIONS, is_demo_station, load_demo
from advisor.describe import describe_site
from advisor.places import distance_nm, find_station, nearest, runways
from advisor.reports.decode_aloft import decode_winds_aloft
from advisor.reports.decode_metar import decode_metar
from advisor.reports.decode_taf import decode_taf
from advisor.reports.types import CeilingState, Metar, Taf
from advisor.school import parse_school
from advisor.segments import to_minutes
from advisor.wind import WindState

DEMO = load_demo()
CHICAGO = ZoneInfo("America/Chicago")


def raw_reports() -> list[str]:
    """One text a report: a line that is not indented begins one."""
    return [" ".join(r.split()) for r in re.split(r"\n(?=\S)", DEMO.reports_text) if r.strip()]


METARS: list[Metar] = [decode_metar(r, DEMO.now) for r in raw_reports() if not r.startswith("TAF")]
TAFS: dict[str, Taf] = {
    taf.station: taf for taf in (decode_taf(r, DEMO.now) for r in raw_reports() if r.startswith("TAF"))
}


def history(station: str) -> list[Metar]:
    return sorted((m for m in METARS if m.station == station), key=lambda m: m.observed_at)


def test_the_three_stations_and_the_clock() -> None:
    assert set(DEMO.stations) == DEMO_STATIONS == set(TAFS) == {m.station for m in METARS}
    assert set(DEMO.story) == set(DEMO.aloft_point) == DEMO_STATIONS
    assert DEMO.now == datetime(2026, 4, 25, 13, 10, tzinfo=UTC)
    assert is_demo_station(" xbrk ")
    assert not is_demo_station("KBDU")


def test_everything_says_that_it_is_made_up() -> None:
    assert DEMO.school.made_up
    assert "made up" in DEMO.school.name
    assert "made-up demo" in DEMO.title
    for record in DEMO.school.stations:
        assert record.station.source == "made-up demo"
        assert "made-up" in record.station.name
    assert all("made up" in aircraft.name for aircraft in DEMO.school.aircraft)


@pytest.mark.parametrize("station", sorted(DEMO_STATIONS))
def test_every_report_is_understood_to_the_last_group(station: str) -> None:
    for metar in history(station):
        assert metar.not_understood == ()
        # beside the station type, only the six-hourly groups of 12Z may stay as printed
        assert all(re.fullmatch(r"AO2|[1245]\d{4}", g) for g in metar.remarks.other), metar.remarks.other
        assert metar.wind.state is not WindState.NOT_UNDERSTOOD
        assert metar.altimeter_inhg is not None
        assert metar.visibility.miles is not None
        assert None not in (metar.temperature_c, metar.dewpoint_c)
        assert (metar.dewpoint_c or 0) <= (metar.temperature_c or 0)
        assert metar.sky.ceiling_state is not CeilingState.UNKNOWN
    taf = TAFS[station]
    assert taf.not_understood == ()
    assert all(period.not_understood == () for period in taf.periods)


@pytest.mark.parametrize("station", sorted(DEMO_STATIONS))
def test_tenths_of_the_remarks_agree_with_the_body(station: str) -> None:
    # FMH-1, from memory: the body's temperatures are the tenths rounded to whole degrees, half up.
    for raw in (m.raw for m in history(station)):
        body = re.search(r" (M?\d\d)/(M?\d\d) ", raw)
        tenths = re.search(r" T(\d)(\d{3})(\d)(\d{3})", raw)
        assert body is not None
        assert tenths is not None
        for whole, sign, digits in ((body[1], tenths[1], tenths[2]), (body[2], tenths[3], tenths[4])):
            value = int(digits) / 10 * (-1 if sign == "1" else 1)
            assert int(whole.replace("M", "-")) == floor(value + 0.5)


@pytest.mark.parametrize("station", sorted(DEMO_STATIONS))
def test_hours_of_history_end_shortly_before_the_clock(station: str) -> None:
    times = [m.observed_at for m in history(station)]
    assert times[-1] - times[0] >= timedelta(hours=3)
    assert timedelta(0) <= DEMO.now - times[-1] < timedelta(minutes=60)
    assert len(set(times)) == len(times)
    taf = TAFS[station]
    assert taf.issued_at <= taf.valid_from <= DEMO.now < taf.valid_to
    assert taf.issued_at < DEMO.now
    inside = [p for p in taf.periods if p.change in ("BASE", "FM")]
    assert inside[0].start == taf.valid_from
    assert inside[-1].end == taf.valid_to
    assert all(a.end == b.start for a, b in pairwise(inside))


def main_periods(station: str) -> list[tuple[datetime, int, int | None]]:
    """Start, mean and gust of every main period, kt."""
    found = []
    for p in TAFS[station].periods:
        if p.change in ("BASE", "FM"):
            assert p.wind is not None
            assert p.wind.speed_kt is not None
            found.append((p.start, p.wind.speed_kt, p.wind.gust_kt))
    return found


def test_sand_flats_wind_builds_steadily() -> None:
    seen = [m.wind.speed_kt or 0 for m in history("XSND")]
    daylight = [mean for start, mean, _ in main_periods("XSND") if start.day == 25]
    assert seen == sorted(set(seen))
    assert daylight == sorted(set(daylight))
    # It passes the default limits one after the other: 12 (alone, care), 15 (alone, stop), 25 (peak).
    assert daylight[1] < 12
    assert 15 < daylight[2] < 18
    assert max(gust or 0 for *_, gust in main_periods("XSND")) > 25
    assert all(m.visibility.miles == 10 for m in history("XSND"))


def test_bracken_ridge_gusts_and_has_afternoon_thunder() -> None:
    assert history("XBRK")[-1].wind.gust_kt is not None
    storms = [p for p in TAFS["XBRK"].periods if any("TS" in w for w in p.weather or ())]
    assert {p.change for p in storms} == {"TEMPO", "PROB"}
    for p in storms:
        assert 12 <= p.start.astimezone(CHICAGO).hour <= 20
        assert p.sky is not None
        assert any(layer.cloud_type == "CB" for layer in p.sky.layers)
    spreads = [gust - mean for _, mean, gust in main_periods("XBRK") if gust is not None]
    assert len(spreads) >= 3
    assert spreads == sorted(spreads)


def test_hollow_water_fog_burns_off_before_noon() -> None:
    assert history("XHLW")[-1].weather == ("FG",)
    assert history("XHLW")[-1].wind.state is WindState.CALM
    assert any(m.kind == "SPECI" for m in history("XHLW"))
    sights = [
        (p.start.astimezone(CHICAGO).hour, p.visibility.miles)
        for p in TAFS["XHLW"].periods
        if p.visibility is not None and p.visibility.miles is not None and p.start.day == 25
    ]
    assert [miles for _, miles in sights] == sorted(miles for _, miles in sights)
    assert next(hour for hour, miles in sights if miles >= 6) == 12
    afternoon = [mean for start, mean, _ in main_periods("XHLW") if start.astimezone(CHICAGO).hour == 15]
    assert afternoon == [11]  # teaches, and inside a student's limits


def test_the_winds_aloft_are_understood_and_serve_the_whole_day() -> None:
    bulletin = decode_winds_aloft(DEMO.winds_aloft_text, DEMO.now)
    assert all(w.not_understood == () for w in bulletin)
    for point in DEMO.aloft_point.values():
        mine = sorted((w for w in bulletin if w.station == point), key=lambda w: w.valid_at)
        assert len(mine) == 2
        assert mine[0].use_from <= DEMO.now < mine[0].use_to == mine[1].use_from
        for w in mine:
            assert [level.height_ft_msl for level in w.levels[:3]] == [3000, 6000, 9000]
            assert all(level.speed_kt is not None for level in w.levels)
        low = [w.levels[0].speed_kt or 0 for w in mine]
        assert low[1] > low[0]  # the day's wind builds aloft too


def test_the_fields_lie_apart_and_no_known_field_lies_there() -> None:
    for a, b in combinations(DEMO.school.stations, 2):
        p, q = a.station, b.station
        apart = distance_nm(p.latitude_deg, p.longitude_deg, q.latitude_deg, q.longitude_deg)
        assert apart > 30.0  # out of borrowing distance: each tells its own story
    for record in DEMO.school.stations:
        s = record.station
        assert find_station(s.station, DEMO.school.stations) is s
        assert nearest(s.latitude_deg, s.longitude_deg, 1.0) == []


def closed_now(station: str) -> frozenset[str]:
    """Runway ends closed at the demonstration's clock."""
    return describe_site(station, now=DEMO.now, school=DEMO.school).closed_at(to_minutes(DEMO.now))


def test_each_field_has_an_open_runway_and_somewhere_to_practise() -> None:
    for record in DEMO.school.stations:
        s = record.station
        shut = closed_now(s.station)
        assert any(end.name not in shut for end in runways(s.station, DEMO.school.stations))
        (area,) = DEMO.school.areas_for(s.station)
        away = distance_nm(s.latitude_deg, s.longitude_deg, area.latitude_deg, area.longitude_deg)
        assert 3 < away < 12
        assert s.elevation_ft < area.ground_elevation_ft < s.elevation_ft + 500
        assert area.roads
        assert area.fields
        for point in area.points:
            near = distance_nm(area.latitude_deg, area.longitude_deg, point.latitude_deg, point.longitude_deg)
            assert near < 5


def test_the_demonstration_shows_notices_of_two_kinds_in_force() -> None:
    assert {n.kind for n in DEMO.school.notices_at(DEMO.now)} == {"closure", "wet-surface"}
    assert closed_now("XSND") == {"12", "30"}


def test_the_kept_school_is_the_checked_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The second look at the demo takes its school from byte code; it must be the school that was checked."""
    monkeypatch.setattr("sys.dont_write_bytecode", False)
    monkeypatch.setattr("sys.pycache_prefix", str(tmp_path))
    load_demo.cache_clear()
    first = load_demo()
    assert list(tmp_path.rglob("demo_school.*.pyc")), "nothing was kept"
    monkeypatch.setattr("advisor.school.parse_school", lambda *args, **given: pytest.fail("checked again"))
    load_demo.cache_clear()
    assert load_demo() == first
    monkeypatch.undo()
    text = data_text("demo", "demo_school.toml")
    assert first.school == parse_school(text, file_name="demo_school.toml", when=first.now)
