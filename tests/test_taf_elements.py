"""Elements of a forecast's group: wind, visibility, sky, weather, shear."""

from __future__ import annotations

from typing import Any

import pytest

from advisor.reports.types import CeilingState
from advisor.wind import WindState
from tests.taf_texts import body, numbers


@pytest.mark.parametrize(
    ("group", "state", "values"),
    [
        ("24015G25KT P6SM", WindState.STEADY, [240, 15, 25]),
        ("VRB25G45KT 2SM", WindState.VARIABLE, ["VRB", 25, 45]),
        ("15010MPS 9999", WindState.STEADY, [150, 19, None]),
        ("16012KT WND 140V200 9999", WindState.STEADY, [160, 12, None]),
        ("/////KT P6SM", WindState.MISSING, [None, None, None]),
        ("P6SM SKC", WindState.MISSING, [None, None, None]),  # restates all, prints none
        ("2401KT P6SM", WindState.NOT_UNDERSTOOD, [None, None, None]),
        ("24O15KT P6SM", WindState.NOT_UNDERSTOOD, [None, None, None]),
        ("37015KT P6SM", WindState.NOT_UNDERSTOOD, [None, None, None]),
        ("24015G12KT P6SM", WindState.NOT_UNDERSTOOD, [None, None, None]),
        ("24015 P6SM", WindState.NOT_UNDERSTOOD, [None, None, None]),  # no unit
        ("24015KT 18020KT P6SM", WindState.NOT_UNDERSTOOD, [None, None, None]),  # contradiction
        ("24015KT 24015KT P6SM", WindState.STEADY, [240, 15, None]),  # said twice
        ("WND 21012KT AFT 2515 P6SM", WindState.STEADY, [210, 12, None]),
    ],
)
def test_wind_of_a_group(group: str, state: WindState, values: list[Any]) -> None:
    period = body(f"18008KT P6SM SKC FM251500 {group}").periods[1]
    assert period.wind is not None
    assert period.wind.state is state
    assert numbers(period.wind) == values
    if state is WindState.NOT_UNDERSTOOD:
        assert period.not_understood


def test_direction_range_after_wnd() -> None:
    wind = body("16012KT 9999 WND 140V200").periods[0].wind
    assert wind is not None
    assert (wind.varying_from_deg, wind.varying_to_deg) == (140, 200)


@pytest.mark.parametrize("change", ["BECMG 2514/2516", "TEMPO 2514/2516", "PROB30 2514/2516"])
def test_what_a_change_does_not_restate_is_none(change: str) -> None:
    taf = body(f"18008KT 4SM -RA BKN010 {change} 3SM")
    period = taf.periods[1]
    assert (period.wind, period.sky, period.weather, period.wind_shear) == (None, None, None, None)
    assert period.visibility is not None
    assert period.visibility.miles == 3
    for element, group in (("wind", "24010KT"), ("sky", "OVC005"), ("weather", "BR")):
        only = body(f"18008KT 4SM -RA BKN010 {change} {group}").periods[1]
        filled = [n for n in ("wind", "visibility", "sky", "weather") if getattr(only, n) is not None]
        assert filled == [element]


def test_base_and_fm_leave_nothing_to_carry_over() -> None:
    taf = body("18008KT 4SM -RA BKN010 FM251500 20010KT")
    period = taf.periods[1]
    assert period.visibility is not None
    assert period.visibility.miles is None
    assert period.sky is not None
    assert period.sky.ceiling_state is CeilingState.UNKNOWN
    assert period.weather == ()


@pytest.mark.parametrize(
    ("group", "miles", "bound"),
    [
        ("P6SM", 6.0, "at_least"),
        ("1 1/2SM", 1.5, None),
        ("M1/4SM", 0.25, "less_than"),
        ("4800", 4800 / 1609.344, None),
        ("9999", 10000 / 1609.344, "at_least"),
        ("CAVOK", 10000 / 1609.344, "at_least"),
        ("3SM 5SM", None, None),
    ],
)
def test_visibility(group: str, miles: float | None, bound: str | None) -> None:
    visibility = body(f"18008KT {group} -RA").periods[0].visibility
    assert visibility is not None
    assert visibility.miles == (None if miles is None else pytest.approx(miles, rel=1e-12))
    assert visibility.bound == bound


@pytest.mark.parametrize(
    ("groups", "state", "ceiling"),
    [
        ("FEW040 SCT050", CeilingState.NONE, None),
        ("SCT010 BKN020 OVC030", CeilingState.AT, 2000),
        ("VV002", CeilingState.AT, 200),
        ("SKC", CeilingState.NONE, None),
        ("NSC", CeilingState.NONE, None),
        ("BKN01 OVC030", CeilingState.UNKNOWN, None),  # the unreadable layer may be the lower one
        ("SKC BKN010", CeilingState.AT, 1000),  # contradiction: the layer counts
    ],
)
def test_sky(groups: str, state: CeilingState, ceiling: int | None) -> None:
    sky = body(f"18008KT P6SM {groups}").periods[0].sky
    assert sky is not None
    assert (sky.ceiling_state, sky.ceiling_ft_agl) == (state, ceiling)


def test_weather_and_no_significant_weather() -> None:
    periods = body("18008KT 4SM HZ/-RA SKC BECMG 2514/2515 NSW BECMG 2516/2517 NSW -RA BR").periods
    assert periods[0].weather == ("HZ", "-RA")
    assert (periods[1].weather, periods[1].no_significant_weather) == (None, True)
    assert (periods[2].weather, periods[2].no_significant_weather) == (("-RA", "BR"), False)
    assert periods[2].not_understood == ("NSW",)


@pytest.mark.parametrize("groups", ["WS015/25045KT WS020/26060KT", "WS020/26060KT WS015/25045KT"])
def test_of_two_shears_the_stronger_is_kept_and_the_other_said(groups: str) -> None:
    """A group stands once (WMO FM 51, NWS 10-813): one of the two is a slip, and the worse is taken to be true."""
    period = body(f"18008KT P6SM SKC {groups}").periods[0]
    assert period.wind_shear is not None
    assert period.wind_shear.speed_kt == 60
    assert period.not_understood == (groups.split()[1],)


def test_wind_shear_is_the_wind_at_its_top() -> None:
    period = body("18008KT P6SM SKC WS015/25045KT").periods[0]
    assert period.wind_shear is not None
    assert (period.wind_shear.height_ft_agl, period.wind_shear.from_deg_true, period.wind_shear.speed_kt) == (
        1500,
        250,
        45,
    )
    assert numbers(period.wind) == [180, 8, None]
    damaged = body("18008KT P6SM SKC WS015/25O45KT").periods[0]
    assert damaged.wind_shear is None
    assert damaged.not_understood == ("WS015/25O45KT",)
    assert numbers(damaged.wind) == [180, 8, None]
