"""What fog, storms, the sun and the clocks do to the hours around them."""

from __future__ import annotations

from datetime import time
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from advisor.advice import practice_days
from advisor.clock import OpeningHours
from advisor.conditions import build_conditions
from advisor.limits import stage_setup
from tests.day_case import TRAINER, clock
from tests.fields import FAIR, conditions, field, given, rows_at

CALM_TAF = "2512/2612 22008KT P6SM SKC"


# --- fog ----------------------------------------------------------------------------------------------------

FOG = "00000KT 1/4SM FG VV002 12/12 A3010"
FOG_TAF = "2512/2612 00000KT 1/4SM FG VV002 FM251600 21006KT P6SM SKC"


@pytest.mark.parametrize(("at", "now"), [("12:53", "13:00"), ("14:53", "15:00"), ("15:53", "16:10")])
def test_fog_that_should_have_gone_is_named_for_two_hours(at: str, now: str) -> None:
    c = conditions(FOG, FOG_TAF, at=at, now=now)
    assert rows_at(c, "16:10").fog_late.all()
    assert rows_at(c, "18:00", before=True).fog_late.all()
    assert not rows_at(c, "18:00").fog_late.any()


def test_a_later_report_without_fog_puts_the_forecast_right() -> None:
    c = conditions(f"21006KT {FAIR}", FOG_TAF, at="16:53", now="17:00")
    assert not rows_at(c, "17:00").fog_late.any()


def test_fog_only_possible_does_not_linger() -> None:
    c = conditions(f"21006KT {FAIR}", "2512/2612 21006KT P6SM SKC TEMPO 2518/2520 1/2SM FG", now="18:00")
    assert not rows_at(c, "20:30").fog_late.any()


# --- storms -------------------------------------------------------------------------------------------------

STORM_TAF = "2512/2612 18010KT P6SM SCT045 TEMPO 2520/2523 VRB20G35KT 2SM TSRA BKN030CB"


@pytest.mark.parametrize(
    ("when", "ahead", "near"),
    [
        ("16:59", False, False),
        ("17:00", True, False),
        ("18:59", True, False),
        ("19:00", True, True),
        ("20:00", True, False),  # the storm's own hours: it is there, not near
        ("22:59", True, False),
        ("23:00", False, True),
        ("23:59", False, True),
        ("24:00", False, False),
    ],
)
def test_a_storm_group_reaches_three_hours_before_and_one_hour_after(when: str, ahead: bool, near: bool) -> None:
    rows = rows_at(conditions(f"18010KT {FAIR}", STORM_TAF, at="13:53", now="14:00"), when)
    assert (rows.storm_ahead.all(), rows.storm_near.all()) == (ahead, near)
    assert (rows.storm_ahead.any(), rows.storm_near.any()) == (ahead, near)


def test_thunder_today_is_a_matter_of_daylight() -> None:
    c = conditions(f"18010KT {FAIR}", STORM_TAF, at="13:53", now="14:00")
    assert rows_at(c, "14:00").storm_today.all()
    assert not rows_at(c, "26:00").storm_today.any()  # after sunset
    night = conditions(
        f"18010KT {FAIR}", "2512/2612 18010KT P6SM SCT045 TEMPO 2602/2605 2SM TSRA", at="13:53", now="14:00"
    )
    assert not rows_at(night, "14:00").storm_today.any()


@pytest.mark.parametrize("now", ["14:00", "23:30"])
def test_thunder_in_the_vicinity_is_thunder_today_before_and_after_it(now: str) -> None:
    taf = "2512/2612 18010KT P6SM SCT045 FM252000 18010KT P6SM VCTS SCT035CB FM252200 18010KT P6SM SCT045"
    c = conditions(f"18010KT {FAIR}", taf, at="13:53" if now == "14:00" else "22:53", now=now)
    rows = rows_at(c, now)
    assert rows.storm_today.all()
    assert not (rows.storm_near | rows.storm_ahead).any()  # those are rows of the storm itself
    assert ["VCTS" in c.table.groups[int(g)] for g in rows.storm_group] == [True] * rows.n
    assert not rows_at(c, "26:00").storm_today.any()  # after sunset


@pytest.mark.parametrize(("now", "near"), [("22:59", False), ("23:00", True), ("23:59", True), ("24:00", False)])
def test_a_storm_group_that_is_over_still_marks_its_hour_and_its_day(now: str, near: bool) -> None:
    # the report is later than the group: no storm in it does not take back what was forecast for the hour
    c = conditions(f"18010KT {FAIR}", STORM_TAF, at="22:55", now=now)
    rows = rows_at(c, now)
    assert (rows.storm_near.all(), rows.storm_near.any()) == (near, near)
    assert rows.storm_today.all()
    assert ["TSRA" in c.table.groups[int(g)] for g in rows.storm_group] == [True] * rows.n
    assert not rows_at(c, "26:00").storm_today.any()  # after sunset


def test_a_storm_in_force_is_the_reason_named_not_that_one_is_near() -> None:
    # an hour and a half of storm, then its hour after, until no lesson fits before sunset at 0117Z
    taf = "2521/2612 18010KT 2SM +TSRA BKN027CB FM252330 18010KT P6SM SCT045"
    source = given(f"18005KT {FAIR}", taf, at="21:53", now="22:00")
    (day,) = practice_days([source], (stage_setup("solo"),), TRAINER)
    assert day.stages[0].limiting is not None
    assert day.stages[0].limiting.message == "thunderstorm forecast"


def test_a_storm_group_that_is_over_has_no_row_of_its_own() -> None:
    c = conditions(f"18010KT {FAIR}", STORM_TAF, at="22:55", now="23:10")
    assert not any("TSRA" in c.table.groups[int(g)] for g in c.table.group)


def test_of_two_storms_the_one_at_hand_is_cited_until_an_hour_after_it() -> None:
    taf = "2512/2612 22008KT P6SM SKC TEMPO 2519/2520 TSRA TEMPO 2522/2524 +TSRA"
    c = conditions(f"22008KT {FAIR}", taf, at="17:53")
    for when, group in (("18:30", "2519"), ("19:30", "2519"), ("20:30", "2519"), ("21:30", "2522"), ("23:30", "2522")):
        rows = rows_at(c, when)
        assert {c.table.groups[int(g)][:10] for g in rows.storm_group} == {f"TEMPO {group}"}, when


def test_a_storm_near_caution_cites_the_storm_group() -> None:
    c = conditions(f"18010KT {FAIR}", STORM_TAF, at="13:53", now="14:00")
    rows = rows_at(c, "19:30")
    assert "TSRA" in c.table.groups[int(rows.storm_group[0])]


# --- sun, clocks and places -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("when", "dark", "near_sun", "last_hour"),
    [
        ("35:31", True, False, False),  # sunrise of the next day, two minutes before 1135Z
        ("35:36", False, True, False),
        ("37:02", False, True, False),
        ("37:06", False, False, False),
        ("23:45", False, False, False),
        ("23:49", False, True, False),  # sunset 0117Z less 90 min
        ("24:15", False, True, False),
        ("24:19", False, True, True),
        ("25:15", False, True, True),
        ("25:19", True, False, False),
    ],
)
def test_light_is_cut_at_the_sun(when: str, dark: bool, near_sun: bool, last_hour: bool) -> None:
    rows = rows_at(conditions(f"22008KT {FAIR}", "2512/2618 22008KT P6SM SKC"), when)
    assert (bool(rows.dark[0]), bool(rows.near_sun[0]), bool(rows.last_hour[0])) == (
        dark,
        near_sun,
        last_hour,
    )


def test_under_a_midnight_sun_there_is_no_dusk_and_in_the_polar_night_no_day() -> None:
    arctic = field(latitude_deg=71.3, longitude_deg=-156.8, time_zone="America/Anchorage")
    summer = conditions(f"22008KT {FAIR}", CALM_TAF, month=6, site=arctic).table
    assert not (summer.dark | summer.near_sun | summer.last_hour).any()
    winter = conditions(f"22008KT {FAIR}", CALM_TAF, month=12, site=arctic).table
    assert winter.dark.all()


def test_local_hours_follow_the_clocks_when_they_are_put_back() -> None:
    """25 October 2026, Europe: 03:00 becomes 02:00 at 0100Z. Doors open at 08:00, which is 0700Z that day."""
    paris = field(latitude_deg=48.8, longitude_deg=2.1, time_zone="Europe/Paris", country="FR")
    source = given(f"22012KT {FAIR}", "2500/2606 22012KT P6SM SKC", at="00:20", now="00:30", month=10, site=paris)
    c = build_conditions([source])
    assert (c.cell_end_min - c.cell_start_min).sum() == 1440
    assert (c.cell_start_min[1:] == c.cell_end_min[:-1]).all()
    stage = practice_days([source], (stage_setup("post-solo"),), TRAINER, opening=OpeningHours(time(8), time(18)))[
        0
    ].stages[0]
    assert stage.best is not None
    # doors, not the sun: it rises at about 0620Z
    assert min(w.start_min for w in stage.windows) == int(clock("07:00", 10).timestamp()) // 60
    labels = [f"{h.start.astimezone(ZoneInfo('Europe/Paris')):%H:%M %Z}" for h in stage.hours[:3]]
    assert labels == ["02:30 CEST", "02:00 CET", "03:00 CET"]


def test_ground_and_elevation_come_from_the_field() -> None:
    site = field(elevation_ft=5400.0)
    rows = rows_at(conditions(f"22008KT {FAIR}", site=site), "18:00")
    assert rows.elevation_ft.tolist() == [5400.0]
    south = rows_at(conditions(f"22008KT {FAIR}", site=field(latitude_deg=-34.0)), "18:00")
    assert south.northern.tolist() == [False]


def test_a_row_stands_wherever_a_group_and_a_cell_of_its_field_overlap() -> None:
    """The one search over all fields against looking at every pair."""
    busy = (
        "2512/2612 22008KT P6SM SKC FM252000 25012KT P6SM BKN040 TEMPO 2520/2523 VRB20G35KT 2SM TSRA BKN030CB "
        "BECMG 2600/2602 30008KT PROB30 2602/2606 1SM FG"
    )
    c = build_conditions([given(f"22008KT {FAIR}", busy), given(None, CALM_TAF), given(f"VRB03KT {FAIR}")])
    wanted, first = [], 0
    for i, story in enumerate(c.stations):
        for cell in np.flatnonzero(c.cell_site == i).tolist():
            for j, s in enumerate(story.segments):
                if s.start_min < c.cell_end_min[cell] and s.end_min > c.cell_start_min[cell]:
                    wanted.append((cell, first + j))
        first += len(story.segments)
    assert list(zip(c.table.cell.tolist(), c.table.group.tolist(), strict=True)) == sorted(wanted)
    assert wanted


def test_several_fields_share_one_table_and_keep_their_own_rows() -> None:
    a, b = given(f"22008KT {FAIR}", CALM_TAF), given("27022G30KT 10SM OVC020 15/05 A3000", borrowed_far=True)
    both, alone = build_conditions([a, b]), build_conditions([b])
    part = both.table.take(both.table.site == 1)
    assert part.n == alone.table.n
    for name in (
        "mean_kt",
        "gust_kt",
        "ceiling_ft",
        "temperature_c",
        "dark",
        "age_min",
        "borrowed_far",
        "start_min",
    ):
        np.testing.assert_array_equal(getattr(part, name), getattr(alone.table, name), err_msg=name)
    assert not both.table.borrowed_far[both.table.site == 0].any()
    assert (part.cell - both.stations[1].first_cell == alone.table.cell).all()
