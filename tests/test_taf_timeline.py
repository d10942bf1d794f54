"""What a forecast says at each moment: transitions, possible layers, inheritance, shear, damaged groups."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest

from advisor.errors import TimeError
from advisor.reports.decode_taf import decode_taf
from advisor.reports.taf_timeline import Effective, TafState, taf_at, timeline
from advisor.reports.types import CeilingState, Taf
from advisor.wind import WindState

NOW = datetime(2026, 4, 25, 12, 0, tzinfo=UTC)


def body(groups: str) -> Taf:
    """A made-up forecast for XBRK, valid 25 April 2026 1200Z for 24 hours."""
    return decode_taf(f"TAF XBRK 251120Z 2512/2612 {groups}", NOW)


def day_hour(day: int, hour: int, minute: int = 0) -> datetime:
    return datetime(2026, 4, day, hour, minute, tzinfo=UTC)


def state(groups: str, hour: int, minute: int = 0) -> TafState:
    return taf_at(body(groups), day_hour(25, hour, minute))


def wind(segment: Effective | None) -> tuple[Any, ...] | None:
    return None if segment is None else (segment.wind.from_deg_true, segment.wind.speed_kt, segment.wind.gust_kt)


def spans(groups: str) -> list[tuple[str, str, str, int | None]]:
    return [(s.layer, f"{s.start:%d%H%M}", f"{s.end:%d%H%M}", s.wind.speed_kt) for s in timeline(body(groups))]


def test_from_restates_everything_at_its_minute() -> None:
    groups = "18010G20KT 4SM -RA BKN010 WS020/22040KT FM251530 27006KT P6SM SKC"
    before, after = state(groups, 15, 29).prevailing, state(groups, 15, 30).prevailing
    assert wind(before) == (180, 10, 20)
    assert before is not None
    assert after is not None
    assert before.wind_shear is not None
    assert wind(after) == (270, 6, None)
    assert (after.weather, after.wind_shear, after.sky.ceiling_state) == ((), None, CeilingState.NONE)
    assert after.group_raw == after.base_raw == "FM251530 27006KT P6SM SKC"


def test_old_values_hold_to_the_end_of_a_transition() -> None:
    # NWS/FAA key: BECMG, change expected between the two hours
    groups = "30020G30KT P6SM SKC BECMG 2516/2518 30006KT"
    assert spans(groups) == [
        ("prevailing", "251200", "251800", 20),
        ("becoming", "251600", "251800", 6),
        ("prevailing", "251800", "261200", 6),
    ]
    after = state(groups, 18).prevailing
    assert wind(after) == (300, 6, None)  # the gust ends with its group
    assert after is not None
    assert after.visibility.raw == "P6SM"
    assert (after.wind_group, after.visibility_group) == ("BECMG 2516/2518 30006KT", "30020G30KT P6SM SKC")
    assert after.base_raw == "30020G30KT P6SM SKC"


def test_a_transition_past_the_next_from_never_prevails() -> None:
    groups = "18008KT P6SM SKC BECMG 2516/2520 18025KT FM251800 27005KT P6SM SKC"
    assert spans(groups) == [
        ("prevailing", "251200", "251800", 8),
        ("becoming", "251600", "251800", 25),
        ("prevailing", "251800", "261200", 5),
    ]


def test_a_transition_after_a_from_changes_that_from() -> None:
    groups = "18008KT P6SM SKC FM251500 20010KT P6SM SKC BECMG 2517/2518 22015KT"
    assert spans(groups) == [
        ("prevailing", "251200", "251500", 8),
        ("prevailing", "251500", "251800", 10),
        ("becoming", "251700", "251800", 15),
        ("prevailing", "251800", "261200", 15),
    ]


def test_a_transition_printed_after_a_later_from_belongs_to_the_group_in_force_when_it_begins() -> None:
    groups = "18008KT P6SM SKC TEMPO 2513/2514 3SM BR FM252000 27010KT P6SM SKC BECMG 2516/2518 18025KT"
    assert [x for x in spans(groups) if x[0] != "possible"] == [
        ("prevailing", "251200", "251800", 8),
        ("becoming", "251600", "251800", 25),
        ("prevailing", "251800", "252000", 25),
        ("prevailing", "252000", "261200", 10),
    ]


def test_transitions_follow_one_another_element_by_element() -> None:
    groups = "18008KT 3SM BR OVC006 BECMG 2513/2514 18012KT BECMG 2515/2516 P6SM NSW BECMG 2517/2518 SCT030"
    at_16, at_18 = state(groups, 16).prevailing, state(groups, 18).prevailing
    assert at_16 is not None
    assert at_18 is not None
    assert (wind(at_16), at_16.visibility.miles, at_16.weather, at_16.sky.ceiling_ft_agl) == (
        (180, 12, None),
        6.0,
        (),
        600,
    )
    assert (wind(at_18), at_18.sky.ceiling_ft_agl) == ((180, 12, None), None)
    assert at_18.weather_group == "BECMG 2515/2516 P6SM NSW"


def test_overlapping_transitions_each_show() -> None:
    found = state("18008KT P6SM SKC BECMG 2513/2515 18012KT BECMG 2514/2516 OVC008", 14, 30)
    assert [s.wind.speed_kt for s in found.becoming] == [12, 8]
    assert [s.sky.ceiling_ft_agl for s in found.becoming] == [None, 800]
    assert wind(found.prevailing) == (180, 8, None)


@pytest.mark.parametrize(
    ("group", "expected"),
    [
        ("VRB25G45KT", ((None, 25, 45), 4.0, ("-RA",), 1000)),
        ("18020KT", ((180, 20, None), 4.0, ("-RA",), 1000)),  # restated without G: no gust
        ("1SM", ((180, 10, 20), 1.0, ("-RA",), 1000)),
        ("+TSRA", ((180, 10, 20), 4.0, ("+TSRA",), 1000)),
        ("NSW", ((180, 10, 20), 4.0, (), 1000)),
        ("OVC005", ((180, 10, 20), 4.0, ("-RA",), 500)),
        ("SCT050", ((180, 10, 20), 4.0, ("-RA",), None)),
        ("CAVOK", ((180, 10, 20), pytest.approx(6.2137, abs=1e-3), (), None)),
    ],
)
@pytest.mark.parametrize("change", ["TEMPO", "PROB30", "PROB40 TEMPO", "INTER"])
def test_what_a_possible_group_leaves_out_is_inherited(change: str, group: str, expected: tuple[Any, ...]) -> None:
    found = state(f"18010G20KT 4SM -RA BKN010 {change} 2514/2518 {group}", 15)
    assert len(found.possible) == 1
    got = found.possible[0]
    assert (wind(got), got.visibility.miles, got.weather, got.sky.ceiling_ft_agl) == expected
    assert got.probability == (int(change[4:6]) if change.startswith("PROB") else None)
    assert got.base_raw == "18010G20KT 4SM -RA BKN010"
    assert got.group_raw.startswith(change)
    assert wind(found.prevailing) == (180, 10, 20)


def test_a_possible_group_is_cut_where_what_prevails_changes() -> None:
    groups = "18008KT P6SM SKC TEMPO 2514/2522 1SM FG BECMG 2515/2516 20015KT FM252000 27010KT P6SM SKC"
    possible = [s for s in timeline(body(groups)) if s.layer == "possible"]
    assert [(f"{s.start:%H}", f"{s.end:%H}", s.wind.speed_kt) for s in possible] == [
        ("14", "16", 8),
        ("16", "20", 15),
        ("20", "22", 10),
    ]
    assert {s.visibility.miles for s in possible} == {1.0}


def test_shear_persists_to_the_next_from_and_is_never_borrowed() -> None:
    # CV278: NWS Training Center TAF lesson 3.7
    base = "18008KT P6SM SKC WS020/22040KT BECMG 2514/2515 20010KT"
    groups = f"{base} TEMPO 2516/2518 3SM BR FM252000 20010KT P6SM SKC"
    found = state(groups, 17)
    assert found.prevailing is not None
    assert found.prevailing.wind_shear is not None
    assert found.prevailing.wind_shear.speed_kt == 40
    assert found.possible[0].wind_shear is None
    later = state(groups, 20).prevailing
    assert later is not None
    assert later.wind_shear is None


def test_hours_are_clipped_to_the_validity() -> None:
    groups = "18008KT P6SM SKC TEMPO 2510/2514 2SM TEMPO 2610/2614 3SM"
    assert spans(groups) == [
        ("prevailing", "251200", "261200", 8),
        ("possible", "251200", "251400", 8),
        ("possible", "261000", "261200", 8),
    ]


@pytest.mark.parametrize("second", ["FM251500", "FM261200"])
def test_a_group_without_a_minute_of_its_own_is_no_segment(second: str) -> None:
    groups = f"18008KT P6SM SKC FM251500 20010KT P6SM SKC {second} 27010KT P6SM SKC"
    found = timeline(body(groups))
    assert found
    assert all(s.start < s.end for s in found)


def test_outside_the_validity_nothing_prevails() -> None:
    taf = body("18008KT P6SM SKC")
    assert taf_at(taf, day_hour(25, 12)).prevailing is not None
    for moment in (day_hour(25, 11, 59), day_hour(26, 12)):
        found = taf_at(taf, moment)
        assert (found.prevailing, found.becoming, found.possible) == (None, (), ())


def test_a_time_without_a_zone_is_refused() -> None:
    with pytest.raises(TimeError, match="time zone"):
        taf_at(body("18008KT"), datetime(2026, 4, 25, 13))


def test_unreadable_wind_of_a_possible_group_is_not_replaced_by_the_prevailing() -> None:
    found = state("18008KT P6SM SKC TEMPO 2514/2516 2O025KT", 15)
    assert found.possible[0].wind.state is WindState.NOT_UNDERSTOOD
    assert found.possible[0].not_understood == ("2O025KT",)


@pytest.mark.parametrize(
    "damaged", ["FM25I500 24030G40KT 2SM TSRA OVC008", "BECMG 251/2516 24030G40KT 2SM TSRA OVC008"]
)
def test_a_damaged_change_leaves_no_hour_quietly_better(damaged: str) -> None:
    taf = body(f"18008KT P6SM SKC {damaged} FM252000 27010KT P6SM SKC")
    for hour in (12, 15, 19):
        found = taf_at(taf, day_hour(25, hour))
        assert found.prevailing is not None
        assert found.prevailing.wind.state is WindState.NOT_UNDERSTOOD
        assert found.prevailing.visibility.miles is None
        assert found.prevailing.sky.ceiling_state is CeilingState.UNKNOWN
        assert not found.prevailing.reliable
        assert found.prevailing.group_raw == damaged
        assert sorted(wind(s) or () for s in found.possible) == [(180, 8, None), (240, 30, 40)]
        worst = max(found.possible, key=lambda s: s.wind.speed_kt or 0)
        assert (worst.visibility.miles, worst.weather, worst.sky.ceiling_ft_agl) == (2.0, ("TSRA",), 800)
    after = taf_at(taf, day_hour(25, 20))
    assert wind(after.prevailing) == (270, 10, None)
    assert after.prevailing is not None
    assert after.prevailing.reliable
    assert after.possible == ()


def test_hours_after_a_damaged_group_are_what_prevails_again() -> None:
    """A group that says when it ends, as one built by hand may: the hours after it keep their forecast."""
    taf = body("18008KT P6SM SKC FM25I500 24030G40KT 2SM TSRA OVC008")
    (damaged,) = taf.unreliable
    short = replace(taf, unreliable=(replace(damaged, end=day_hour(25, 18)),))
    assert not [s for s in timeline(short) if s.start >= s.end]
    inside, after = taf_at(short, day_hour(25, 17)), taf_at(short, day_hour(25, 18))
    assert inside.prevailing is not None
    assert inside.prevailing.wind.state is WindState.NOT_UNDERSTOOD
    assert (wind(after.prevailing), after.possible) == ((180, 8, None), ())


def test_a_damaged_transition_spares_the_hours_before_the_group_it_follows() -> None:
    taf = body("18008KT P6SM SKC BECMG 2516/2517 20012KT BECMG 2518/1 24030KT")
    before, after = taf_at(taf, day_hour(25, 15)), taf_at(taf, day_hour(25, 16))
    assert wind(before.prevailing) == (180, 8, None)
    assert after.prevailing is not None
    assert after.prevailing.wind.state is WindState.NOT_UNDERSTOOD


def test_a_becoming_group_behind_the_fm_that_replaced_its_own_may_warn_and_not_relieve() -> None:
    taf = body("18020KT P6SM SKC BECMG 2516/2518 18035KT FM251500 18025KT P6SM SKC FM252000 27010KT P6SM SKC")
    for hour, possible in ((14, []), (15, []), (16, [35]), (18, [35]), (19, [35]), (20, [])):
        found = taf_at(taf, day_hour(25, hour))
        assert found.prevailing is not None
        assert found.prevailing.wind.speed_kt == {14: 20, 20: 10}.get(hour, 25)
        assert (found.becoming, [s.wind.speed_kt for s in found.possible]) == ((), possible)
    # at the very minute of that FM it is behind it too
    level = body("18020KT P6SM SKC BECMG 2515/2518 18035KT FM251500 18025KT P6SM SKC FM252000 27010KT P6SM SKC")
    assert [len(taf_at(level, day_hour(25, h)).possible) for h in (14, 15, 19, 20)] == [0, 1, 1, 0]
    in_order = body("18020KT P6SM SKC BECMG 2514/2518 18035KT FM251500 18025KT P6SM SKC")
    assert [len(taf_at(in_order, day_hour(25, h)).becoming) for h in (13, 14, 15)] == [0, 1, 0]
    assert not taf_at(in_order, day_hour(25, 16)).possible


def test_a_possible_group_without_hours_is_possible_throughout() -> None:
    taf = body("18008KT P6SM SKC FM251600 20010KT P6SM SKC PROB40 3000 TSRA FM252000 27010KT P6SM SKC")
    for hour, count in ((15, 0), (16, 1), (19, 1), (20, 0)):
        found = taf_at(taf, day_hour(25, hour))
        assert len(found.possible) == count
        assert found.prevailing is not None
        assert found.prevailing.wind.known
        for segment in found.possible:
            assert (segment.probability, segment.weather, segment.reliable) == (40, ("TSRA",), False)
