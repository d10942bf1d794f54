"""TAF decoding: published examples, head and times, and notes that are never forecast."""

from __future__ import annotations

import csv
import json
from datetime import datetime, timedelta
from typing import Any

import pytest

from advisor.errors import DecodeError
from advisor.reports.taf_timeline import timeline
from advisor.wind import WindState
from tests.taf_texts import PUBLISHED, ROOT, at, body, decode, numbers, stamp

with (ROOT / "shared/published_values.csv").open(newline="") as handle:
    CHECKS = {row["id"]: row for row in csv.DictReader(handle)}


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
        assert (None if shear is None else [shear.height_ft_agl, shear.from_deg_true, shear.speed_kt]) == want[
            "wind_shear"
        ]
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
def test_revision_and_no_forecast(text: str, amended: bool, corrected: bool, cancelled: bool, nil: bool) -> None:
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
        "18008KT 9999 SCT030 T 15 18 M01 17 Q 1013 1012 1011 1010 TEMPO 2514/2516 5000 SHRA TX24/2515Z TNM02/2604Z"
    )
    assert taf.periods[0].not_understood == taf.periods[1].not_understood == ()
    assert taf.max_temperatures == ((24.0, at("2026-04-25T15:00Z")),)
    assert taf.min_temperatures == ((-2.0, at("2026-04-26T04:00Z")),)


@pytest.mark.parametrize(
    ("group", "inches"),
    [
        ("QNH2992INS", 29.92),
        ("QNH3204INS", 32.04),
        ("QNH3205INS", None),
        ("Q1013", 29.91),
        ("Q0846", None),
        ("Q1086", None),
    ],
)
def test_a_pressure_is_believed_within_the_bounds_of_a_report(group: str, inches: float | None) -> None:
    """One pair of bounds for METAR and TAF: the sea-level records, 870 and 1085 hPa, with room below."""
    found = decode(f"TAF XBRK 251730Z 2518/2618 22008KT P6SM SKC {group}").periods[0].altimeter_inhg
    assert found == (inches if inches is None else pytest.approx(inches, abs=0.005))


def test_the_inch_of_mercury_is_the_one_of_the_units() -> None:
    from advisor import units
    from advisor.reports import metar_groups

    assert metar_groups.HPA_PER_INHG == units.HPA_PER_INHG
