"""Reports become rows: what is in force when, and what no group may take from another.

Expected values follow from the reports by the rules of the forecast code (AIM 7-1; NWS training on TAF) and from
the design of the table; sunrise and sunset of 25 April 2026 at the made-up field (1135Z, 0117Z) are given with the
day cases.
"""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from advisor.advice import practice_days
from advisor.conditions import PilotWind
from advisor.limits import make_limits, stage_setup
from advisor.rules.context import Context
from advisor.rules.registry import Suitability
from advisor.segments import from_minutes
from advisor.table import Layer, State, Table, WindKind
from advisor.weather import Wx
from tests.day_case import TRAINER, clock
from tests.fields import FAIR, conditions, given, rows_at

CALM_TAF = "2512/2612 22008KT P6SM SKC"


def layers(rows: Table) -> list[Layer]:
    return sorted(Layer(int(x)) for x in rows.layer)


# --- how long a report stands -------------------------------------------------------------------------------


def test_a_report_stands_two_hours_and_no_longer() -> None:
    c = conditions(f"22008KT {FAIR}", CALM_TAF)
    assert layers(rows_at(c, "18:00")) == [Layer.OBSERVED, Layer.PREVAILING]
    assert layers(rows_at(c, "19:53", before=True)) == [Layer.PERSISTING, Layer.PREVAILING]
    assert layers(rows_at(c, "19:53")) == [Layer.PREVAILING]


def test_a_later_fm_ends_the_report_and_becmg_does_not() -> None:
    c = conditions(f"22008KT {FAIR}", "2512/2612 22008KT P6SM SKC FM251900 22012KT P6SM SKC")
    assert layers(rows_at(c, "19:00", before=True)) == [Layer.OBSERVED, Layer.PREVAILING]
    assert layers(rows_at(c, "19:00")) == [Layer.PREVAILING]
    c = conditions(f"22008KT {FAIR}", "2512/2612 22008KT P6SM SKC BECMG 2518/2519 22012KT")
    assert Layer.PERSISTING in layers(rows_at(c, "19:30"))


def test_an_fm_whose_time_is_damaged_does_not_end_the_report() -> None:
    # it may begin anywhere from 17Z: what the report said holds its two hours, gusts and all
    taf = "2512/2612 22008KT P6SM SKC BECMG 2517/2518 22010KT FM25I900 27008KT P6SM SKC FM252200 24008KT P6SM SKC"
    c = conditions(f"22020G35KT {FAIR}", taf, at="17:53", now="18:00")
    assert Layer.PERSISTING in layers(rows_at(c, "19:53", before=True))
    assert Layer.PERSISTING not in layers(rows_at(c, "19:53"))
    late = conditions(f"22020G35KT {FAIR}", taf, at="21:00", now="21:30")
    assert Layer.OBSERVED in layers(rows_at(late, "21:59", before=True))
    assert Layer.PERSISTING not in layers(rows_at(late, "22:00"))


def test_an_fm_that_began_after_the_report_has_replaced_it() -> None:
    c = conditions(f"22008KT {FAIR}", "2512/2612 22008KT P6SM SKC FM251800 22012KT P6SM SKC", now="18:10")
    assert layers(rows_at(c, "18:10")) == [Layer.PREVAILING]
    assert rows_at(c, "18:10").mean_kt.tolist() == [12.0]


def test_without_a_forecast_the_hours_past_the_report_have_no_row() -> None:
    c = conditions(f"22008KT {FAIR}")
    assert rows_at(c, "19:00").n == 1
    assert rows_at(c, "20:00").n == 0


@pytest.mark.parametrize(("age", "counts"), [(60, "PSA"), (75, "PSA"), (76, "PA"), (119, "PA")])
def test_past_its_age_a_report_is_only_possible_and_that_depends_on_the_stage(age: int, counts: str) -> None:
    now = 18 * 60
    observed = now - age
    c = conditions(f"22030KT {FAIR}", CALM_TAF, at=f"{observed // 60}:{observed % 60:02d}", now="18:00")
    setups = tuple(stage_setup(s) for s in ("pre-solo", "solo", "post-solo"))
    rows = rows_at(c, "18:00")
    possible = Context(rows, make_limits(setups), TRAINER, c.sites).possible
    report = int(np.flatnonzero(rows.layer == Layer.OBSERVED)[0])
    assert "".join(x for x, p in zip("PSA", possible[:, report], strict=True) if not p) == counts
    assert not possible[:, 1 - report].any()  # the forecast stays what it is
    assert rows.mean_kt[report] == 30.0  # worse than the forecast, so it stays to warn
    assert rows.age_min.tolist() == [age, age]


def test_a_report_of_more_than_two_hours_is_gone_but_its_age_is_said() -> None:
    rows = rows_at(conditions(f"22030KT {FAIR}", CALM_TAF, at="15:50"), "18:00")
    assert layers(rows) == [Layer.PREVAILING]
    assert rows.age_min.tolist() == [130.0]
    assert rows.no_fresh_report.tolist() == [False]


# --- change groups -----------------------------------------------------------------------------------------


def test_tempo_inherits_what_it_does_not_restate() -> None:
    taf = "2512/2612 22010G20KT 4SM -RA BKN040 TEMPO 2519/2521 25015KT TEMPO 2521/2523 2SM NSW"
    c = conditions(None, taf)
    wind = rows_at(c, "19:30")
    wind = wind.take(wind.layer == Layer.POSSIBLE)
    assert (wind.mean_kt[0], wind.gust_state[0]) == (
        15.0,
        State.NONE,
    )  # a wind restated without G has no gust
    assert (wind.visibility_sm[0], wind.ceiling_ft[0]) == (4.0, 4000.0)
    assert int(wind.weather[0]) & int(Wx.PRECIPITATION)
    rows = rows_at(c, "21:30")
    dry = rows.take(rows.layer == Layer.POSSIBLE)
    assert (dry.mean_kt[0], dry.gust_kt[0]) == (10.0, 20.0)
    assert (dry.visibility_sm[0], int(dry.weather[0])) == (2.0, 0)  # NSW clears the weather


def test_becmg_keeps_the_old_values_to_the_end_of_the_change() -> None:
    c = conditions(None, "2512/2612 30020G30KT P6SM SKC BECMG 2519/2521 30006KT")
    during, after = rows_at(c, "20:00"), rows_at(c, "21:00")
    assert layers(during) == [Layer.PREVAILING, Layer.BECOMING]
    assert sorted(during.mean_kt) == [6.0, 20.0]
    assert layers(after) == [Layer.PREVAILING]
    assert after.mean_kt.tolist() == [6.0]
    assert np.isnan(after.gust_kt).all()  # G30 ended with its group


def test_past_the_end_of_the_forecast_there_is_no_row() -> None:
    c = conditions(None, "2512/2520 22008KT P6SM SKC")
    assert rows_at(c, "20:00", before=True).n == 1
    assert rows_at(c, "20:00").n == 0


def test_an_unreadable_wind_of_tempo_is_not_the_prevailing_one() -> None:
    c = conditions(None, "2512/2612 22008KT P6SM SKC TEMPO 2519/2521 /////KT TEMPO 2521/2523 24015G10KT")
    for when, kind in (("19:30", WindKind.MISSING), ("21:30", WindKind.NOT_UNDERSTOOD)):
        rows = rows_at(c, when)
        assert rows.wind_kind[rows.layer == Layer.POSSIBLE].tolist() == [kind]


def test_shear_belongs_to_its_group_until_the_next_fm() -> None:
    c = conditions(None, "2512/2612 22008KT P6SM SKC WS020/22040KT FM252000 22008KT P6SM SKC")
    assert rows_at(c, "20:00", before=True).shear.tolist() == [True]
    assert rows_at(c, "20:00").shear.tolist() == [False]


# --- states are kept apart ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("wind", "kind", "gust", "mean"),
    [
        ("00000KT", WindKind.CALM, State.NONE, 0.0),
        ("VRB03KT", WindKind.VARIABLE, State.NONE, 3.0),
        ("22012KT", WindKind.STEADY, State.NONE, 12.0),
        ("22012G20KT", WindKind.STEADY, State.VALUE, 12.0),
        ("22012G//KT", WindKind.STEADY, State.MISSING, 12.0),
        ("/////KT", WindKind.MISSING, State.NONE, np.nan),
        ("", WindKind.MISSING, State.NONE, np.nan),
        ("22012G10KT", WindKind.NOT_UNDERSTOOD, State.NONE, np.nan),
        ("40012KT", WindKind.NOT_UNDERSTOOD, State.NONE, np.nan),
    ],
)
def test_calm_variable_missing_and_absurd_are_four_things(wind: str, kind: int, gust: int, mean: float) -> None:
    rows = rows_at(conditions(f"{wind} {FAIR}".strip()), "18:00")
    assert (rows.wind_kind[0], rows.gust_state[0]) == (kind, gust)
    np.testing.assert_equal(rows.mean_kt[0], mean)


@pytest.mark.parametrize(
    ("sky", "ceiling"),
    [
        ("CLR", np.inf),
        ("SCT020", np.inf),
        ("BKN020 OVC030", 2000.0),
        ("VV002", 200.0),
        ("", np.nan),
        ("//////", np.nan),
    ],
)
def test_clear_no_group_and_unknown_ceiling_are_three_things(sky: str, ceiling: float) -> None:
    rows = rows_at(conditions(f"22008KT 10SM {sky} 15/05 A3000"), "18:00")
    np.testing.assert_equal(rows.ceiling_ft[0], ceiling)


def test_variable_ceiling_and_visibility_remarks_lower_the_value() -> None:
    rows = rows_at(conditions("22008KT 4SM BKN020 15/05 A3000 RMK AO2 VIS 2V5 CIG 014V025"), "18:00")
    assert (rows.visibility_sm[0], rows.ceiling_ft[0]) == (2.0, 1400.0)


@pytest.mark.parametrize(("text", "side"), [("P6SM", 1), ("6SM", 0), ("M1/4SM", -1)])
def test_a_bound_lies_on_its_own_side_of_the_printed_figure(text: str, side: int) -> None:
    seen = rows_at(conditions(None, f"2512/2612 22008KT {text} SKC"), "18:00").visibility_sm[0]
    printed = 0.25 if "1/4" in text else 6.0
    assert np.sign(round(float(seen) - printed, 6)) == side


def test_a_peak_wind_remark_counts_for_an_hour() -> None:
    for at, kept in (("1654", True), ("1652", False)):
        rows = rows_at(conditions(f"22012KT {FAIR} RMK AO2 PK WND 22034/{at}"), "18:00")
        assert bool(rows.peak_remark_kt[0] == 34.0) is kept


# --- air carried on ----------------------------------------------------------------------------------------


def test_the_observed_temperature_is_carried_six_hours_and_marked() -> None:
    c = conditions(f"22008KT {FAIR}", CALM_TAF)
    rows = rows_at(c, "18:00")
    assert rows.carried[rows.layer == Layer.PREVAILING].tolist() == [True]
    assert rows.carried[rows.layer == Layer.OBSERVED].tolist() == [False]
    held, past = rows_at(c, "23:53", before=True), rows_at(c, "23:53")
    assert (held.temperature_c[0], held.dewpoint_c[0], held.carried[0]) == (15.0, 5.0, True)
    assert np.isnan(past.temperature_c[0])
    assert np.isnan(past.dewpoint_c[0])


def test_a_carried_temperature_cites_the_report_it_comes_from() -> None:
    c = conditions(f"22008KT {FAIR}", CALM_TAF)
    rows = rows_at(c, "22:00")
    assert "15/05" in c.table.groups[int(rows.air_group[0])]
    assert "22008KT P6SM" in c.table.groups[int(rows.group[0])]


# --- report against forecast, trends, given winds ------------------------------------------------------------


@pytest.mark.parametrize(
    ("report", "forecast", "disagree"),
    [
        ("22019KT", "22010KT", False),
        ("22020KT", "22010KT", True),  # 10 kt of mean
        ("22010G20KT", "22020KT", True),  # 10 kt of mean under one peak
        ("22011G20KT", "22020KT", False),
        ("22010G20KT", "22010G29KT", False),
        ("22010G20KT", "22010G30KT", True),  # 10 kt of peak
        ("22012KT", "25012KT", True),  # 30 degrees at 12 kt
        ("22012KT", "24912KT", False),
        ("22011KT", "26011KT", False),
        ("35012KT", "02012KT", True),  # across north
        ("/////KT", "22010KT", False),
    ],
)
def test_report_against_forecast(report: str, forecast: str, disagree: bool) -> None:
    rows = rows_at(conditions(f"{report} {FAIR}", f"2512/2612 {forecast} P6SM SKC"), "18:00")
    assert rows.disagrees.tolist() == [disagree] * 2


def test_a_storm_in_the_report_only_is_a_disagreement() -> None:
    c = conditions("22008KT 5SM TSRA BKN030CB 15/12 A3000", CALM_TAF)
    assert rows_at(c, "18:00").disagrees.all()


def test_the_wind_of_the_last_two_hours_is_compared_with_the_oldest_of_them() -> None:
    older = (("16:53", f"18008KT {FAIR}"), ("15:54", f"18006KT {FAIR}"), ("14:53", f"18001KT {FAIR}"))
    rows = rows_at(conditions(f"18012KT {FAIR}", older=older), "18:00")
    assert rows.building_kt.tolist() == [6.0]
    assert np.isnan(rows_at(conditions(f"18012KT {FAIR}"), "18:00").building_kt).all()


def test_a_pilots_wind_holds_an_hour() -> None:
    c = conditions(f"22008KT {FAIR}", CALM_TAF, pilot_wind=PilotWind(240.0, 30.0, clock("17:40", 4)))
    assert (rows_at(c, "18:00").pilot_kt == 30.0).all()
    assert (rows_at(c, "18:40", before=True).pilot_kt == 30.0).all()
    assert np.isnan(rows_at(c, "18:40").pilot_kt).all()


def test_winds_aloft_hold_for_their_own_hours() -> None:
    start = int(clock("19:00", 4).timestamp()) // 60
    c = conditions(f"22008KT {FAIR}", CALM_TAF, aloft=((start, start + 60, 30.0, 1800.0, 22.0),))
    assert np.isnan(rows_at(c, "18:30").aloft_low_kt).all()
    rows = rows_at(c, "19:30")
    assert {(*x,) for x in zip(rows.aloft_low_kt, rows.aloft_low_height_ft, rows.aloft_interp_kt, strict=True)} == {
        (30.0, 1800.0, 22.0)
    }
    assert np.isnan(rows_at(c, "20:00").aloft_low_kt).all()


def test_an_age_is_never_negative() -> None:
    c = conditions(f"22008KT {FAIR}", at="18:05", now="18:00")
    assert (c.table.age_min == 0.0).all()


def test_a_report_stamped_minutes_ahead_by_another_clock_says_how_it_is_now() -> None:
    """Two clocks differ: from 1800Z to 1803Z the field was "not rated", and with it the desk's whole first block."""
    (day,) = practice_days([given(f"22008KT {FAIR}", at="18:03", now="18:00")], (stage_setup("pre-solo"),), TRAINER)
    (stage,) = day.stages
    assert stage.best is not None
    assert from_minutes(stage.best.start_min) == day.made_at
    assert from_minutes(stage.best.end_min) == day.made_at + timedelta(minutes=123)  # two hours from its own time
    assert stage.hours[0].suitability["tracking"] is Suitability.SUITED
