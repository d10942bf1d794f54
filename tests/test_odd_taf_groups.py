"""Odd groups of forecasts: what cannot be read makes nothing better, what is named is flagged."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest

from advisor.reports.decode_taf import decode_taf
from advisor.reports.taf_timeline import taf_at
from advisor.reports.types import Taf
from advisor.weather import Wx, weather_flags
from advisor.wind import WindState

NOW = datetime(2026, 4, 25, 18, tzinfo=UTC)


def taf(groups: str) -> Taf:
    return decode_taf(f"TAF XBRK 251730Z 2518/2618 22008KT P6SM SCT040 {groups}", NOW)


@pytest.mark.parametrize("group", ["KBKN080", "0VC010", "/BKN010", "SCT040BKN010", "DVC010", "BKN08"])
def test_a_layer_that_cannot_be_read_hides_the_ceiling(group: str) -> None:
    """Typing slips: P6SM SCT040 KBKN080 has a ceiling somewhere, not none."""
    period = taf(group).periods[0]
    assert period.sky is not None
    assert period.sky.ceiling_state.value == "unknown"
    assert period.not_understood == (group,)


@pytest.mark.parametrize(
    ("groups", "expected"),
    [
        ("FM252000 22010KT 3SM TSTM BKN030", Wx.THUNDER),
        ("FM252000 22010KT 3SM ?RA BKN030", Wx.PRECIPITATION),
        ("FM252000 22010KT 3SM TSRA+ BKN030", Wx.THUNDER | Wx.PRECIPITATION),
        ("FM252000 22010KT 3SM BKN030 CB", Wx.CB),
    ],
)
def test_forecast_weather_with_a_slip_is_flagged(groups: str, expected: Wx) -> None:
    period = taf(groups).periods[1]
    assert weather_flags(period.weather or (), period.sky) == expected


def at(hour: int) -> datetime:
    return datetime(2026, 4, 25, hour, tzinfo=UTC)


@pytest.mark.parametrize("word", ["AFT", "AFTR"])
def test_wind_after_an_hour(word: str) -> None:
    """AFMAN 15-124: WND 17022KT AFT 2521 changes the wind of the group from then on, and only the wind."""
    found = taf(f"BECMG 2518/2519 16009KT 5SM BR BKN015 QNH2964INS WND 17022G30KT {word} 2521 TX31/2520Z")
    assert not found.not_understood
    before, after = taf_at(found, at(20)).prevailing, taf_at(found, at(21)).prevailing
    assert before is not None
    assert after is not None
    assert (before.wind.speed_kt, after.wind.speed_kt, after.wind.gust_kt) == (9, 22, 30)
    assert found.periods[-1].raw == f"WND 17022G30KT {word} 2521 TX31/2520Z"
    assert (after.visibility.miles, after.weather, after.sky.ceiling_ft_agl) == (5.0, ("BR",), 1500)


def test_wind_after_an_hour_that_is_none() -> None:
    found = taf("WND 17022KT AFT 2575")
    assert found.unreliable
    prevailing = taf_at(found, at(20)).prevailing
    assert prevailing is not None
    assert prevailing.wind.state is WindState.NOT_UNDERSTOOD


@pytest.mark.parametrize(
    "mark", ["M252000", ",FM252000", "FN252000", "F M252000", "252000", "FROM252000", "FM252000.", "FM25200"]
)
def test_a_damaged_fm_is_not_part_of_the_tempo_before_it(mark: str) -> None:
    """Typing slips. The stronger wind after it must not end with the TEMPO: those hours are unreliable."""
    found = taf(f"TEMPO 2518/2519 5SM BR {mark} 11034G46KT 2SM RA OVC003")
    for hour in (20, 23):
        state = taf_at(found, at(hour))
        assert state.prevailing is not None
        assert not state.prevailing.reliable
        assert not state.prevailing.wind.known
        assert max(layer.wind.peak_kt or 0 for layer in state.possible) == 46


@pytest.mark.parametrize("hours", ["2520/2522", "TEMO2520/2522", "T EMPO2520/2522", "2520/2522TSRA", "CMG2520/2522"])
def test_hours_run_into_a_damaged_change_word_are_not_part_of_the_tempo_before_them(hours: str) -> None:
    """Typing slips. The storm of 20Z must not end with the TEMPO of 18Z: those hours are unreliable."""
    found = taf(f"TEMPO 2518/2519 5SM BR {hours} 11034G46KT 2SM TSRA OVC003")
    state = taf_at(found, at(21))
    assert state.prevailing is not None
    assert not state.prevailing.reliable
    assert max(layer.wind.peak_kt or 0 for layer in state.possible) == 46


def test_a_wind_and_pressures_for_elsewhere_are_not_those_of_the_field() -> None:
    """Common practice in New Zealand, no source: 2000FT WIND 26035KT and QNH MNM 1009 MAX 1015 are for navigation."""
    period = taf("BECMG 2520/2522 24012KT 2000FT WIND 26035KT QNH MNM 1009 MAX 1015").periods[1]
    assert period.wind is not None
    assert (period.wind.from_deg_true, period.wind.speed_kt) == (240, 12)
    assert period.visibility is None
    assert period.not_understood == ("2000FT WIND 26035KT", "QNH MNM 1009 MAX 1015")
    assert taf("BECMG 2520/2522 24012KT WIND 26035KT").periods[1].wind != period.wind


def test_a_turbulence_warning_is_no_forecast() -> None:
    """Australia, AIP GEN 3.5: FM ... MOD TURB BLW 5000FT TILL ... warns aircraft; the forecast goes on."""
    found = taf("RMK FM252000 MOD TURB BLW 5000FT TILL252300")
    assert [period.change for period in found.periods] == ["BASE"]
    assert "MOD TURB" in str(found.limits_note)
    prevailing = taf_at(found, at(21)).prevailing
    assert prevailing is not None
    assert prevailing.wind.speed_kt == 8


@pytest.mark.parametrize("words", ["PROB 30 2520/2522", "PROB30 2520/2522"])
def test_a_blank_in_prob30(words: str) -> None:
    """Typing slip."""
    period = taf(f"{words} 2SM TSRA").periods[1]
    got: dict[str, Any] = {
        "change": period.change,
        "probability": period.probability,
        "weather": period.weather,
    }
    assert got == {"change": "PROB", "probability": 30, "weather": ("TSRA",)}
    assert (period.start, period.end) == (at(20), at(22))


@pytest.mark.parametrize(("groups", "miles"), [("3/4 SM BR", 0.75), ("1 1/2 SM BR", 1.5), ("2 SM BR", 2.0)])
def test_a_blank_before_the_unit_of_a_forecast(groups: str, miles: float) -> None:
    period = taf(f"FM252000 22010KT {groups} BKN030").periods[1]
    assert period.visibility is not None
    assert period.visibility.miles == miles
    assert period.not_understood == ()


def test_a_forecast_gust_that_stands_alone_is_not_dropped() -> None:
    period = taf("FM252000 22010KT G25 P6SM BKN030").periods[1]
    assert period.wind is not None
    assert period.wind.state is WindState.NOT_UNDERSTOOD
