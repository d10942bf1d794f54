"""TAF decoding: published examples, times, notes, damaged groups, and what no text may do."""

from __future__ import annotations

import contextlib
import csv
import gc
import json
import random
import time
from datetime import UTC, datetime, timedelta
from itertools import count, pairwise
from pathlib import Path
from typing import Any

import pytest

from advisor.errors import DecodeError
from advisor.reports.decode_taf import decode_taf
from advisor.reports.taf_timeline import timeline
from advisor.reports.types import CeilingState, Taf, TafPeriod
from advisor.wind import Wind, WindState

ROOT = Path(__file__).resolve().parent.parent
NOW = datetime(2026, 4, 25, 12, 0, tzinfo=UTC)
PUBLISHED = json.loads((ROOT / "fixtures/taf/published.json").read_text())
MADE_UP = json.loads((ROOT / "fixtures/taf/made_up.json").read_text())
with (ROOT / "shared/published_values.csv").open(newline="") as handle:
    CHECKS = {row["id"]: row for row in csv.DictReader(handle)}


def at(text: str) -> datetime:
    return datetime.fromisoformat(text)


def stamp(text: str) -> datetime:
    return datetime.strptime(text, "%Y%m%d %H%M").replace(tzinfo=UTC)


def decode(text: str, now: datetime = NOW) -> Taf:
    return decode_taf(text, now)


def body(groups: str) -> Taf:
    """A made-up forecast for XBRK, valid 25 April 2026 1200Z for 24 hours."""
    return decode(f"TAF XBRK 251120Z 2512/2612 {groups}")


def numbers(wind: Wind | None) -> list[Any] | None:
    if wind is None:
        return None
    direction = "VRB" if wind.state is WindState.VARIABLE else wind.from_deg_true
    return [direction, wind.speed_kt, wind.gust_kt]


# --- published examples -------------------------------------------------------------------------------


@pytest.mark.parametrize("case", PUBLISHED, ids=lambda case: case["id"])
def test_published_forecast_decodes_as_its_source_says(case: dict[str, Any]) -> None:
    taf = decode(case["text"], at(case["now"]))
    assert (taf.station, taf.valid_from, taf.valid_to) == (
        case["station"],
        at(case["valid_from"]),
        at(case["valid_to"]),
    )
    assert len(taf.periods) == len(case["periods"])
    for got, want in zip(taf.periods, case["periods"], strict=True):
        assert (got.change, got.probability) == (want["change"], want["probability"]), got.raw
        assert (got.start, got.end) == (at(want["from"]), at(want["to"])), got.raw
        assert numbers(got.wind) == want["wind"], got.raw
        assert (None if got.visibility is None else got.visibility.miles) == want["visibility_sm"], got.raw
        assert (None if got.sky is None else got.sky.ceiling_ft_agl) == want["ceiling_ft_agl"], got.raw
        assert (None if got.weather is None else list(got.weather)) == want["weather"], got.raw
        shear = got.wind_shear
        assert (
            None if shear is None else [shear.height_ft_agl, shear.from_deg_true, shear.speed_kt]
        ) == want["wind_shear"]
        assert got.not_understood == ()


def test_published_service_example_counts_six_groups() -> None:
    expected = json.loads(CHECKS["CV268"]["expected"])  # AWC OpenAPI v4.0 TAF example
    taf = decode(CHECKS["CV268"]["inputs"], at("2023-11-03T23:40:00+00:00"))
    assert taf.valid_from.timestamp() == expected["validTimeFrom"]
    assert taf.valid_to.timestamp() == expected["validTimeTo"]
    assert len(taf.periods) == expected["n_groups"]
    first = taf.periods[0]
    assert (first.start.timestamp(), first.end.timestamp()) == (
        expected["first_group"]["timeFrom"],
        expected["first_group"]["timeTo"],
    )


def test_old_style_hours_and_kilometres_an_hour() -> None:
    # CV270: ICAO Annex 3 / WMO-306 sample TAF
    expected = json.loads(CHECKS["CV270"]["expected"])
    taf = decode(CHECKS["CV270"]["inputs"], at("2024-03-16T01:00:00+00:00"))
    assert (taf.valid_from, taf.valid_to) == (at("2024-03-16T06:00Z"), at("2024-03-17T00:00Z"))
    spans = [(p.change, p.start.hour, p.end) for p in taf.periods]
    assert spans == [
        ("BASE", 6, at("2024-03-16T12:30Z")),
        ("BECMG", 6, at("2024-03-16T08:00Z")),
        ("TEMPO", 8, at("2024-03-16T12:00Z")),
        ("FM", 12, at("2024-03-17T00:00Z")),
    ]
    for index, key in ((0, "base"), (2, "tempo_0812"), (3, "fm1230")):
        want, period = expected[key], taf.periods[index]
        wind, visibility = period.wind, period.visibility
        assert wind is not None
        assert visibility is not None
        assert wind.from_deg_true == want["wdir"]
        assert wind.speed_kt == pytest.approx(want["wspd_kmh"] / 1.852, abs=0.51)
        if "wgst_kmh" in want:
            assert wind.gust_kt == pytest.approx(want["wgst_kmh"] / 1.852, abs=0.51)
        assert visibility.miles == pytest.approx(want["vis_m"] / 1609.344, rel=1e-9)
    assert taf.periods[2].weather == ("TSRA",)


def test_military_forecast_with_hours_only_and_the_station_first() -> None:
    # CV271: CNATRA P-304 Fig 1-28
    expected = json.loads(CHECKS["CV271"]["expected"])
    taf = decode(CHECKS["CV271"]["inputs"], at("2024-03-26T09:30:00+00:00"))
    assert (taf.station, taf.valid_from, taf.valid_to) == (
        "KNSE",
        at("2024-03-26T09:00Z"),
        at("2024-03-27T09:00Z"),
    )
    base, fm12, becmg14, becmg17, tempo, fm02 = taf.periods
    assert numbers(fm12.wind) == [*expected["fm1200"], None]
    assert becmg14.wind is None
    assert numbers(becmg17.wind) == expected["becmg1718"]
    assert becmg17.turbulence == ("530004",)
    assert (tempo.start, tempo.end) == (at("2024-03-26T19:00Z"), at("2024-03-27T02:00Z"))
    assert tempo.weather == (expected["tempo1902"],)
    assert numbers(fm02.wind) == [*expected["fm0200"], None]
    assert (fm02.start, fm02.end) == (at("2024-03-27T02:00Z"), at("2024-03-27T09:00Z"))
    assert (base.altimeter_inhg, fm02.altimeter_inhg) == (29.98, 30.01)


def test_from_group_of_an_army_handout() -> None:
    # CV272: Army aviation weather handout, a fragment; head made up
    expected = json.loads(CHECKS["CV272"]["expected"])
    taf = decode(f"TAF XBRK 251212 18005KT P6SM SKC {CHECKS['CV272']['inputs']}")
    period = taf.periods[1]
    assert f"{period.start:%H%M}" == expected["from"]
    assert numbers(period.wind) == [expected["wdir"], expected["wspd"], expected["wgst"]]
    assert period.visibility is not None
    assert period.visibility.miles == expected["vis_sm"]
    assert period.sky is not None
    assert period.sky.ceiling_ft_agl == expected["ceiling"]


@pytest.mark.parametrize("check", ["CV273", "CV275", "CV276"])
def test_published_wind_groups(check: str) -> None:
    # NWS Training Center TAF lesson 3.3
    expected = json.loads(CHECKS[check]["expected"])
    wind = body(f"{CHECKS[check]['inputs']} P6SM SKC").periods[0].wind
    if expected.get("calm"):
        assert wind is not None
        assert wind.state is WindState.CALM
        assert wind.speed_kt == 0
    else:
        assert numbers(wind) == [expected["wdir"], expected["wspd"], expected.get("wgst")]


# --- head and times -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "now", "issued", "valid_from", "valid_to"),
    [
        # month and year roll over between issue and validity
        ("TAF XBRK 312340Z 0100/0124", "20261231 2350", "20261231 2340", "20270101 0000", "20270102 0000"),
        ("TAF XBRK 302330Z 3100/0106", "20260131 0100", "20260130 2330", "20260131 0000", "20260201 0600"),
        # last month's, read on the first
        ("TAF XBRK 311730Z 3118/0118", "20260401 0005", "20260331 1730", "20260331 1800", "20260401 1800"),
        # leap day, and hour 24 at the end of a month
        ("TAF XBRK 282330Z 2900/2924", "20240229 0000", "20240228 2330", "20240229 0000", "20240301 0000"),
        ("TAF XBRK 282330Z 2824/0106", "20230301 0000", "20230228 2330", "20230301 0000", "20230301 0600"),
        # read with no date at all: 29 and then 1 fits the last leap year only
        ("TAF XBRK 292354Z 2923/0124", "20260115 0000", "20240229 2354", "20240229 2300", "20240302 0000"),
        # a slow clock: issued a little after "now", across the month
        ("TAF XBRK 010010Z 0100/0124", "20260430 2358", "20260501 0010", "20260501 0000", "20260502 0000"),
        # no issue time: as old as the first hour, but never in the future
        ("TAF XBRK 2506/2606", "20260425 1200", "20260425 0600", "20260425 0600", "20260426 0600"),
        ("TAF XBRK 2518/2618", "20260425 1200", "20260425 1200", "20260425 1800", "20260426 1800"),
        # day and hours, hours alone, no Z
        ("TAF XBRK 251720Z 251818", "20260425 1800", "20260425 1720", "20260425 1800", "20260426 1800"),
        ("TAF XBRK 251720Z 1812", "20260425 1800", "20260425 1720", "20260425 1800", "20260426 1200"),
        ("XBRK 0909", "20260425 1200", "20260425 0900", "20260425 0900", "20260426 0900"),
        ("TAF XBRK 251720 2518/2618", "20260425 1800", "20260425 1720", "20260425 1800", "20260426 1800"),
        ("XBRK 251720Z 2518/2618", "20260425 1800", "20260425 1720", "20260425 1800", "20260426 1800"),
    ],
)  # fmt: skip
def test_head(text: str, now: str, issued: str, valid_from: str, valid_to: str) -> None:
    taf = decode(f"{text} 18008KT P6SM SKC", stamp(now))
    got = (taf.station, taf.issued_at, taf.valid_from, taf.valid_to)
    assert got == ("XBRK", stamp(issued), stamp(valid_from), stamp(valid_to))
    assert taf.issued_at.utcoffset() == timedelta(0)
    assert numbers(taf.periods[0].wind) == [180, 8, None]


@pytest.mark.parametrize(
    ("text", "amended", "corrected", "cancelled", "nil"),
    [
        ("TAF AMD XBRK 251120Z 2512/2612 18008KT P6SM SKC", True, False, False, False),
        ("TAF XBRK 251120Z AMD 2512/2612 18008KT P6SM SKC", True, False, False, False),
        ("TAF COR XBRK 251120Z 2512/2612 18008KT P6SM SKC", False, True, False, False),
        ("TAF XBRK 251120Z CCA 2512/2612 18008KT P6SM SKC", False, True, False, False),
        ("TAF XBRK 251120Z NIL=", False, False, False, True),
        ("TAF XBRK 251120Z 2512/2612 NIL", False, False, False, True),
        ("TAF XBRK 251120Z 2512/2612 CNL", False, False, True, False),
        ("TAF AMD XBRK 251120Z CNL", True, False, True, False),
        ("TAF XBRK 251120Z 2512/2518 FCST NOT AVBL DUE NO OBS RMK NXT BY 251800Z", False, False, False, True),
    ],
)  # fmt: skip
def test_revision_and_no_forecast(
    text: str, amended: bool, corrected: bool, cancelled: bool, nil: bool
) -> None:
    taf = decode(text)
    assert (taf.amended, taf.corrected, taf.cancelled, taf.nil) == (amended, corrected, cancelled, nil)
    assert bool(taf.periods) is not (cancelled or nil)
    if cancelled or nil:
        assert timeline(taf) == ()


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "no four-letter station"),
        ("hello", "no four-letter station"),
        ("METAR XBRK 251153Z 18008KT 10SM CLR 20/10 A3000", "no four-letter station"),
        ("XBRK 251153Z 18008KT 10SM CLR 20/10 A3000", "no period of validity"),
        ("TAF XBRK", "no period of validity"),
        ("TAF XBRK 251120Z 18008KT P6SM", "no period of validity"),
        ("TAF XBRK 321120Z 2512/2612 18008KT", "issue time 321120Z"),
        ("TAF XBRK 252520Z 2512/2612 18008KT", "issue time 252520Z"),
        ("TAF XBRK 251120Z 2525/2612 18008KT", "no period of validity"),
        ("TAF XBRK 251120Z 2512/2512 18008KT", "no period of validity"),
        ("TAF XBRK 251120Z 2512/2812 18008KT", "no period of validity"),  # three days
        ("TAF XBRK 251120Z 2912/3012 18008KT", "no period of validity"),  # four days after its issue
        ("TAF XBRK 251120Z 2512/2612 18008KT P6SM SKC " + "TEMPO 2513/2515 2SM " * 101, "change groups"),
    ],
)
def test_no_forecast_is_a_sentence(text: str, words: str) -> None:
    with pytest.raises(DecodeError, match=words) as caught:
        decode(text)
    assert str(caught.value).endswith(".")


def test_a_clock_without_a_zone_is_refused() -> None:
    with pytest.raises(DecodeError, match="time zone"):
        decode("TAF XBRK 251120Z 2512/2612 18008KT", datetime(2026, 4, 25))


def test_change_groups_in_order_with_their_hours() -> None:
    taf = body(
        "18008KT P6SM SKC BECMG 2514/2516 20012KT PROB30 2515/2517 3SM BR PROB40 TEMPO 2517/2519 1SM +TSRA"
        " INTER 2518/2520 4000 SHRA TEMPO 2524/2602 BKN010 FM252030 27010KT P6SM SKC"
        " FM252400 28010KT P6SM SKC"
    )
    assert [(p.change, p.probability, f"{p.start:%d%H%M}", f"{p.end:%d%H%M}") for p in taf.periods] == [
        ("BASE", None, "251200", "252030"),
        ("BECMG", None, "251400", "251600"),
        ("PROB", 30, "251500", "251700"),
        ("TEMPO", 40, "251700", "251900"),
        ("TEMPO", None, "251800", "252000"),
        ("TEMPO", None, "260000", "260200"),
        ("FM", None, "252030", "260000"),
        ("FM", None, "260000", "261200"),
    ]
    assert taf.not_understood == ()


# --- notes are never forecast -------------------------------------------------------------------------


@pytest.mark.parametrize(
    "note",
    [
        "AMD NOT SKED AFT 240200Z",
        "AMD NOT SKED 2600/2606",
        "LAST NO AMDS AFT 2402 NEXT 240900",
        "AMD LTD TO CLD VIS AND WIND TIL 240400",
        "AMD LTD TO CLD VIS AND WIND",
        "NO AMDS 24015KT",
        "RMK NXT FCST BY 261200Z",
        "RMK FCST BASED ON AUTO OBS. NXT FCST BY 261200Z",
        "LIMITED METWATCH 2600 TIL 2612",
    ],
)
@pytest.mark.parametrize("last", ["FM252000 27010KT P6SM SKC", "TEMPO 2514/2516 3SM BR"])
def test_hours_in_a_note_are_never_a_wind(note: str, last: str) -> None:
    plain = body(f"18008KT P6SM SKC {last}")
    noted = body(f"18008KT P6SM SKC {last} {note}")
    assert noted.periods == plain.periods
    assert noted.limits_note == note
    assert noted.not_understood == ()
    middle = body(f"18008KT P6SM SKC {note} {last}")  # forecasting resumes at the change word
    assert middle.periods == plain.periods
    assert middle.limits_note == note


@pytest.mark.parametrize("group", ["620079", "610159", "520003", "530004", "510052"])
def test_icing_and_turbulence_groups_are_never_a_wind(group: str) -> None:
    taf = body(f"18008KT P6SM SKC TEMPO 2514/2516 1600 SHSN BKN007 {group}")
    tempo = taf.periods[1]
    assert tempo.wind is None
    assert tempo.not_understood == ()
    assert (*tempo.icing, *tempo.turbulence) == (group,)
    assert bool(tempo.icing) is (group[0] == "6")


def test_australian_number_lists_and_temperatures() -> None:
    taf = body(
        "18008KT 9999 SCT030 T 15 18 M01 17 Q 1013 1012 1011 1010 TEMPO 2514/2516 5000 SHRA"
        " TX24/2515Z TNM02/2604Z"
    )
    assert taf.periods[0].not_understood == taf.periods[1].not_understood == ()
    assert taf.max_temperatures == ((24.0, at("2026-04-25T15:00Z")),)
    assert taf.min_temperatures == ((-2.0, at("2026-04-26T04:00Z")),)


# --- elements -----------------------------------------------------------------------------------------


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


# --- damaged groups -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("group", "change", "start", "end"),
    [
        ("FM256300 24025G35KT 2SM TSRA", "FM", "2512", "2520"),
        ("FM25I500 24025G35KT 2SM", "FM", "2512", "2520"),
        ("FM1500 24025G35KT 2SM", "FM", "2512", "2520"),  # two digits lost
        ("FM301500 24025G35KT 2SM", "FM", "2512", "2520"),  # after the end
        ("FM251100 24025G35KT 2SM", "FM", "2512", "2520"),  # before the start
        ("BECMG 2514/2514 24025G35KT", "BECMG", "2512", "2520"),
        ("BECMG 2516/2514 24025G35KT", "BECMG", "2512", "2520"),
        ("BECMG 25I4/2516 24025G35KT", "BECMG", "2512", "2520"),
        ("BECMG 24025G35KT", "BECMG", "2512", "2520"),
        ("BECMG 2514/2515 P6SM BECMG 2516/1 24025G35KT", "BECMG", "2514", "2520"),
        ("2514/2516 24025G35KT", "BECMG", "2512", "2520"),  # the change word is lost
        ("TEMPO 2SM TSRA", "TEMPO", "2512", "2520"),
        ("TEMPO 2525/2526 2SM TSRA", "TEMPO", "2512", "2520"),
        ("PROB40 3000 TSRA", "PROB", "2512", "2520"),
        ("PROB3O 2514/2516 3000", "PROB", "2514", "2516"),
    ],
)
def test_a_damaged_time_is_never_placed(group: str, change: str, start: str, end: str) -> None:
    taf = body(f"18008KT P6SM SKC {group} FM252000 27010KT P6SM SKC")
    if group.startswith("PROB3O"):  # the hours are good, only the chance is not
        assert taf.unreliable == ()
        assert taf.periods[1].not_understood == ("PROB3O",)
        assert taf.periods[1].probability is None
        return
    assert len(taf.unreliable) == 1
    damaged = taf.unreliable[0]
    assert (damaged.change, f"{damaged.start:%d%H}", f"{damaged.end:%d%H}") == (change, start, end)
    assert len(taf.not_understood) == 1
    assert f"unreliable from {start}00Z to {end}00Z" in taf.not_understood[0]
    assert damaged.raw in taf.not_understood[0]
    assert all(period.raw not in damaged.raw for period in taf.periods[1:])
    assert numbers(taf.periods[-1].wind) == [270, 10, None]


def test_from_groups_out_of_order_are_both_doubted() -> None:
    taf = body(
        "18008KT P6SM SKC FM251900 20010KT P6SM SKC FM251500 24025KT P6SM SKC FM252200 27010KT P6SM SKC"
    )
    assert [p.change for p in taf.periods] == ["BASE", "FM"]
    assert len(taf.unreliable) == 2
    assert {f"{p.start:%d%H}-{p.end:%d%H}" for p in taf.unreliable} == {"2512-2522"}
    again = body(
        "18008KT FM251900 20010KT FM252200 27010KT FM251900 24025KT FM252000 25025KT FM252300 26010KT"
    )
    assert [f"{p.start:%d%H}" for p in again.periods] == ["2512", "2523"]
    assert {f"{p.start:%d%H}-{p.end:%d%H}" for p in again.unreliable} == {"2512-2523"}


def test_a_second_forecast_is_listed_not_mixed_in() -> None:
    taf = body("18008KT P6SM SKC XBRK 250520Z 2506/2606 24030KT P6SM SKC FM250900 25035KT P6SM SKC")
    assert len(taf.periods) == 1
    assert taf.not_understood == ("XBRK 250520Z 2506/2606 24030KT P6SM SKC FM250900 25035KT P6SM SKC",)


def test_framing_is_taken_off() -> None:
    plain = decode(MADE_UP[0]["text"])
    for text in (
        "\x01\r\r\nFTXX01 XXXX 251120\r\r\n"
        + MADE_UP[0]["text"].replace(" FM", "\r\r\n     FM")
        + "=\r\r\n\x03",
        "2026/04/25 11:20\n" + MADE_UP[0]["text"] + "\n",
        "TAF " + MADE_UP[0]["text"].lower(),
    ):
        taf = decode(text)
        assert taf.periods == plain.periods
        assert taf.not_understood == ()


@pytest.mark.parametrize("case", PUBLISHED + MADE_UP, ids=lambda case: case["id"])
def test_every_token_is_understood_or_listed(case: dict[str, Any]) -> None:
    """A word put in anywhere after the head turns up in a period, a note or the forecast's own list."""
    now = at(case["now"])
    words = case["text"].rstrip("=").split()
    head = next(i for i, word in enumerate(words) if "/" in word) + 1
    for position in range(head, len(words) + 1):
        taf = decode(" ".join([*words[:position], "XQZJ7", *words[position:]]), now)
        seen = [*taf.not_understood, taf.limits_note or ""]
        seen += [token for period in (*taf.periods, *taf.unreliable) for token in period.not_understood]
        assert any("XQZJ7" in text for text in seen), position


# --- nothing a text may do ----------------------------------------------------------------------------

_JUNK = "0123456789ABKTGSMPFNVR/ =+-\n\x00\x1eé²٣"


def mutate(text: str, rng: random.Random) -> str:
    for _ in range(rng.randint(1, 6)):
        spot = rng.randrange(len(text) + 1)
        kind = rng.randrange(5)
        if kind == 0:
            text = text[:spot] + rng.choice(_JUNK) + text[spot + 1 :]
        elif kind == 1:
            text = text[:spot] + text[spot + 1 :]
        elif kind == 2:
            text = text[:spot] + rng.choice(_JUNK) + text[spot:]
        else:
            words = text.split(" ")
            word = words.pop(rng.randrange(len(words)))
            if kind == 4:
                words.insert(rng.randrange(len(words) + 1), word)
            text = " ".join(words)
    return text


def check_mutants(texts: list[str], number: int, seed: int) -> int:
    """Decode mutants and return how many decoded; any exception but our own, or a hole in time, fails."""
    rng = random.Random(seed)
    decoded = 0
    for _ in range(number):
        text = mutate(rng.choice(texts), rng)
        try:
            taf = decode(text)
        except DecodeError:
            continue
        decoded += 1
        prevailing = [s for s in timeline(taf) if s.layer == "prevailing"]
        if taf.periods:
            assert prevailing[0].start == taf.valid_from, text
            assert prevailing[-1].end == taf.valid_to, text
        for before, after in pairwise(prevailing):
            assert before.end == after.start, text
    return decoded


def test_mutants_raise_nothing_but_our_own() -> None:
    decoded = check_mutants([case["text"] for case in PUBLISHED + MADE_UP], 2000, seed=20260425)
    assert decoded > 400  # the mutator must not only make rubbish


def _wind_tokens(taf: Taf) -> list[tuple[int, TafPeriod]]:
    return [(i, p) for i, p in enumerate(taf.periods) if p.wind is not None and p.wind.known]


@pytest.mark.parametrize("case", PUBLISHED + MADE_UP, ids=lambda case: case["id"])
def test_a_wind_deleted_is_missing_and_a_wind_spoilt_is_not_understood(case: dict[str, Any]) -> None:
    now = at(case["now"])
    taf = decode(case["text"], now)
    assert _wind_tokens(taf)
    for index, period in _wind_tokens(taf):
        assert period.wind is not None
        token = period.wind.raw
        start = case["text"].index(period.raw.split(token)[0] + token)
        spot = case["text"].index(token, start)
        cut = case["text"][:spot].rstrip() + case["text"][spot + len(token) :]
        gone = decode(cut, now).periods[index].wind
        if period.change in ("BASE", "FM"):
            assert gone is not None
            assert gone.state is WindState.MISSING
        else:
            assert gone is None
        for spoilt in (token.replace("0", "O", 1), token[1:], token[:-2], "E" + token, token[:3] + token[4:]):
            if spoilt == token:
                continue
            text = case["text"][:spot] + spoilt + case["text"][spot + len(token) :]
            got = decode(text, now).periods[index]
            assert got.wind is not None, text
            assert got.wind.state is WindState.NOT_UNDERSTOOD, (spoilt, got)
            assert spoilt in got.not_understood


_FRESH = count()  # never the same token twice, so that no memory of tokens helps

HOSTILE = {
    "one long word": lambda n: "A1" * (n // 2),
    "repeated wind": lambda n: "18010KT " * (n // 8),
    "distinct winds": lambda n: "".join(f"{next(_FRESH):05d}K " for _ in range(n // 7)),
    "ranges": lambda n: "180V240 " * (n // 8),
    "visibilities": lambda n: "3SM 5SM " * (n // 8),
    "remarks": lambda n: "RMK " + "1 " * (n // 2),
    "weather": lambda n: "/RA" * (n // 3),
    "groups": lambda n: "TEMPO 2513/2515 " * (n // 16),
    "blanks": lambda n: " " * n,
}


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_text_takes_time_in_proportion(name: str) -> None:
    def seconds(size: int) -> float:
        text = "TAF XBRK 251120Z 2512/2612 18008KT " + HOSTILE[name](size)
        best = 9.0
        for _ in range(2):
            begun = time.process_time()
            with contextlib.suppress(DecodeError):
                timeline(decode(text))
            best = min(best, time.process_time() - begun)
        return best

    # Linear is 4 times, quadratic 16; words never seen before outgrow the processor's cache on the way, which
    # costs up to twice as much each (7 to 8 times measured) and then no more. One good try of three will do.
    # The collector is off meanwhile: a full collection of the run's own heap would fall on one size only.
    gc.disable()
    try:
        tries = [(seconds(16_000), seconds(64_000)) for _ in range(3)]
    finally:
        gc.enable()
    assert any(large <= 12.0 * small + 0.005 for small, large in tries), tries
    assert min(large for _, large in tries) < 0.010 * 64
