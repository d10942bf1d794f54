"""METAR and SPECI decoding: every known trap of the package by its number, a rich report, and dates.

The traps G1 to G34 and L1 to L14 are those measured on 53,000 real reports; each is one named case below.
The traps are our own measurements; published decodes are in ``test_metar_published``.
"""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from advisor.errors import DecodeError, TimeError
from advisor.reports.decode_metar import decode_metar
from advisor.reports.types import Metar

ROOT = Path(__file__).resolve().parent.parent
NOW = datetime(2026, 11, 23, 19, tzinfo=UTC)


def field(metar: Metar, name: str) -> Any:
    """One figure of a decode by a short name."""
    wind, sky = metar.wind, metar.sky
    named = {
        "state": wind.state.value,
        "from": wind.from_deg_true,
        "kt": wind.speed_kt,
        "gust": wind.gust_kt,
        "gust_missing": wind.gust_missing,
        "swing": (wind.varying_from_deg, wind.varying_to_deg),
        "speed_bound": wind.speed_bound,
        "vis": None if metar.visibility.miles is None else round(metar.visibility.miles, 2),
        "vis_bound": metar.visibility.bound,
        "ceiling": sky.ceiling_ft_agl,
        "ceiling_state": sky.ceiling_state.value,
        "token": sky.token,
        "layers": tuple(
            f"{x.cover}{'' if x.base_ft_agl is None else x.base_ft_agl}{x.cloud_type or ''}" for x in sky.layers
        ),
        "t": metar.temperature_c,
        "td": metar.dewpoint_c,
        "inhg": metar.altimeter_inhg,
        "weather": metar.weather,
        "recent": metar.recent_weather,
        "rvr": metar.runway_visual_range,
        "shear": metar.wind_shear,
        "trend": metar.trend,
        "bad": metar.not_understood,
        "auto": metar.automatic,
        "corrected": metar.corrected,
        "kind": metar.kind,
        "peak": metar.remarks.peak_wind_kt,
        "tsno": metar.remarks.no_thunder_sensor,
        "estimated": metar.remarks.wind_estimated,
        "when": metar.observed_at.strftime("%Y-%m-%d %H:%M"),
    }
    return named[name]


def check(raw: str, expected: dict[str, Any]) -> None:
    metar = decode_metar(raw, NOW)
    assert {name: field(metar, name) for name in expected} == expected


MISSING = {"state": "missing", "kt": None, "from": None, "gust": None}
BAD = {"state": "not_understood", "kt": None, "from": None, "gust": None}
REST = "10SM CLR 22/12 A2992"

#: The package's traps. G15, G20, G21, G28, G29, G31 to G34 are met by never using what they spoil.
TRAPS: list[tuple[str, str, dict[str, Any]]] = [
    (
        "G1-missing-visibility-is-not-10-km",
        "EGLL 231850Z AUTO 24008KT //// // ////// 12/04 Q1013",
        {"vis": None, "weather": (), "bad": (), "ceiling_state": "unknown"},
    ),
    (
        "G1-missing-miles",
        "CZCP 231850Z AUTO VRB03KT ////SM //// SCT009 BKN015 M07/M08 A3012",
        {"vis": None, "ceiling": 1500, "bad": ()},
    ),
    (
        "G2-no-unit-is-not-metres-per-second",
        f"PANC 231853Z 27010 {REST}",
        BAD | {"bad": ("27010",), "vis": 10.0, "t": 22.0},
    ),
    (
        "G3-visibility-is-not-the-wind",
        "EGLL 231850Z 0200 FG VV001 12/12 Q1013",
        MISSING | {"vis": 0.12, "ceiling": 100, "bad": ()},
    ),
    (
        "G4-second-wind-after-the-sky",
        "KEWR 231851Z 27010KT 10SM FEW050 18035G50KT 22/12 A2992",
        BAD | {"bad": ("27010KT 18035G50KT",), "vis": 10.0, "t": 22.0},
    ),
    (
        "G5-bulletin-trailer-is-not-the-wind",
        "MGMT 231800Z 18006KT 9999 FEW015 FEW025HVH422 262103 GG MUHAYMYX",
        {"from": 180, "kt": 6},
    ),
    (
        "G7-bad-sky-keeps-the-wind",
        "KEWR 231851Z 27010KT 10SM CLRX 22/12 A2992",
        {"from": 270, "kt": 10, "t": 22.0, "ceiling_state": "unknown", "bad": ("CLRX",)},
    ),
    ("G8-manual-is-not-auto", f"KEWR 231851Z 27010KT {REST}", {"auto": False}),
    ("G8-auto", f"KEWR 231851Z AUTO 27010KT {REST}", {"auto": True}),
    ("G9-variable", f"KEWR 231851Z VRB05KT {REST}", {"state": "variable", "kt": 5, "from": None}),
    ("G9-direction-missing", f"KEWR 231851Z ///05KT {REST}", MISSING | {"bad": ("///05KT",)}),
    ("G9-no-group", f"KEWR 231851Z {REST}", MISSING | {"bad": ()}),
    ("G9-slashes", f"KEWR 231851Z /////KT {REST}", MISSING | {"bad": ()}),
    ("G10-short-pressure", "KEWR 231851Z 27010KT 10SM CLR 22/12 A299", {"inhg": None, "bad": ("A299",)}),
    (
        "G10-stray-number-is-not-pressure",
        f"KEWR 231851Z 27010KT {REST} 100",
        {"inhg": 29.92, "bad": ("100",)},
    ),
    (
        "G10-pressure-out-of-range",
        "KSLK 231851Z 21005KT 10SM CLR 14/13 A1013",
        {"inhg": None, "bad": ("A1013",)},
    ),
    ("G11-lower-sector-counts", "EGLL 231850Z 24008KT 4000 1500SW SCT030 12/04 Q1013", {"vis": 0.93}),
    ("G11-lower-first", "EGLL 231850Z 24008KT 1500 4000SW SCT030 12/04 Q1013", {"vis": 0.93}),
    ("G12-gust-below-mean", f"KEWR 231851Z 27020G15KT {REST}", BAD | {"bad": ("27020G15KT",)}),
    ("G12-implausible-gust", f"PATL 231851Z 07007G130KT {REST}", BAD),
    ("G12-direction-275-is-accepted", f"KEWR 231851Z 27512KT {REST}", {"from": 275, "kt": 12}),
    (
        "G13-cavok",
        "EGLL 231850Z 24008KT CAVOK 12/04 Q1013",
        {"vis": 6.21, "vis_bound": "at_least", "token": "CAVOK", "ceiling_state": "none"},
    ),
    ("G14-bounds-9999", "EGLL 231850Z 24008KT 9999 NSC 12/04 Q1013", {"vis_bound": "at_least"}),
    ("G14-bounds-P6SM", "KEWR 231851Z 27010KT P6SM CLR 22/12 A2992", {"vis": 6.0, "vis_bound": "at_least"}),
    (
        "G14-bounds-M1/4SM",
        "KEWR 231851Z 27010KT M1/4SM CLR 22/12 A2992",
        {"vis": 0.25, "vis_bound": "less_than"},
    ),
    ("G14-10SM-means-or-more", f"KEWR 231851Z 27010KT {REST}", {"vis": 10.0, "vis_bound": "at_least"}),
    ("G14-P49KT", f"KEWR 231851Z 270P49KT {REST}", {"kt": 49, "speed_bound": "at_least"}),
    (
        "G15-tenths-replace-when-they-agree",
        f"KEWR 231851Z 27010KT {REST} RMK T02210118",
        {"t": 22.1, "td": 11.8},
    ),
    (
        "G18-slashes-everywhere",
        "EHJR 231850Z AUTO ///24KT //// // ///////// 17/14 Q1005 RE// W16/H14",
        {"state": "missing", "vis": None, "t": 17.0, "inhg": 29.68, "bad": ("///24KT",)},
    ),
    (
        "G20-odd-peak-wind-loses-nothing",
        f"KEWR 231851Z 27010KT {REST} RMK PK WND 280P99/1815 T02210118 TSNO",
        {"peak": None, "t": 22.1, "tsno": True},
    ),
    ("G21-dollar-without-rmk", f"KEWR 231851Z 27010KT {REST} $", {"t": 22.0, "bad": ()}),
    ("G21-auto-cor", f"KEWR 231851Z AUTO COR 27010KT {REST}", {"auto": True, "corrected": True, "kt": 10}),
    ("G21-detached-miles", "KEWR 231851Z 27010KT 10 SM CLR 22/12 A2992", {"vis": 10.0, "t": 22.0, "bad": ()}),
    ("G21-sea-state", "EHSC 231825Z AUTO 13022KT 9999 NCD 16/14 Q1005 W///S4", {"inhg": 29.68, "bad": ()}),
    ("G21-recent-slashes", "EHSC 231825Z AUTO 13022KT 9999 NCD 16/14 Q1005 RE//", {"recent": (), "bad": ()}),
    (
        "G21-rainfall",
        "YSNF 231830Z AUTO 08017KT 9999 // SCT022 18/15 Q1023 RF00.0/000.0",
        {"inhg": 30.21, "bad": ()},
    ),
    (
        "G22-wind-shear-before-the-sky",
        "KEWR 231851Z 27010KT 10SM WS R04 FEW050 22/12 A2992",
        {"shear": ("WS R04",), "t": 22.0, "inhg": 29.92, "layers": ("FEW5000",)},
    ),
    ("G23-lower-case", "kewr 231851z 27010kt 10sm clr 22/12 a2992", {"kt": 10, "inhg": 29.92}),
    (
        "G23-date-line",
        f"2026/11/23 18:51\nKEWR 231851Z 27010KT {REST}",
        {"kt": 10, "when": "2026-11-23 18:51"},
    ),
    ("G26-direction-370", f"KEWR 231851Z 37005KT {REST}", BAD | {"t": 22.0, "vis": 10.0}),
    ("G26-slash-inside", f"KEWR 231851Z 270/10KT {REST}", BAD | {"t": 22.0}),
    ("G26-P49-without-direction", f"KEWR 231851Z P49KT {REST}", BAD | {"t": 22.0}),
    ("G28-sensors", f"KEWR 231851Z 27010KT {REST} RMK AO2 TSNO PWINO $", {"tsno": True, "bad": ()}),
    (
        "G29-trend-never-leaks",
        "EGLL 231850Z 24008KT 9999 NSC 12/04 Q1013 TEMPO 25018G30KT 2000 TSRA",
        {"kt": 8, "gust": None, "vis": 6.21, "weather": (), "trend": ("TEMPO 25018G30KT 2000 TSRA",)},
    ),
    ("G31-odd-weather-code", "KEWR 231851Z 27010KT 10SM VC- CLR 22/12 A2992", {"bad": ("VC-",), "t": 22.0}),
    ("G31-NCD", "EGLL 231850Z AUTO 24008KT 9999 NCD 12/04 Q1013", {"token": "NCD", "ceiling_state": "none"}),
    ("G31-swing-keeps-the-mean", f"KEWR 231851Z 27010KT 240V300 {REST}", {"from": 270, "swing": (240, 300)}),
    ("G32-calm-has-no-direction", f"KEWR 231851Z 00000KT {REST}", {"state": "calm", "from": None, "kt": 0}),
    ("G32-north-is-360", f"KEWR 231851Z 36005KT {REST}", {"state": "steady", "from": 360}),
    ("G32-M00", "KEWR 231851Z 36005KT 10SM CLR M00/M00 A2992", {"t": 0.0, "td": 0.0}),
    ("G33-metres-per-second", "UUEE 231830Z 24004MPS 9999 NSC 12/04 Q1013", {"kt": 8}),
    (
        "L2-visibility-99999",
        "MGPB 231800Z 00000KT 99999 FEW014 BKN080 23/22 Q1012 A2988",
        {"state": "calm", "vis": None, "bad": ("99999",), "ceiling": 8000, "t": 23.0, "inhg": 29.88},
    ),
    (
        "L2-visibility-80000",
        "ETAR 231835Z 00000KT 80000 BR FEW001 10/10 A3000",
        {"state": "calm", "vis": None, "bad": ("80000",), "t": 10.0, "weather": ("BR",)},
    ),
    (
        "L2-one-over-nought",
        "KEWR 231851Z 27010KT 1/0SM CLR 22/12 A2992",
        {"kt": 10, "vis": None, "bad": ("1/0SM",), "t": 22.0},
    ),
    ("L2-wind-99915", f"KEWR 231851Z 99915KT {REST}", BAD | {"vis": 10.0, "t": 22.0}),
    (
        "L3-estimated",
        f"KMHR 231851Z E33009G15KT {REST}",
        {"from": 330, "kt": 9, "gust": 15, "estimated": True},
    ),
    ("L3-digit-short", f"KWHP 231850Z 1508G20KT {REST}", BAD | {"bad": ("1508G20KT",)}),
    ("L3-KT-twice", f"PLCH 231850Z 12010KTG20KT {REST}", BAD),
    ("L3-word-calm", f"KSUA 231855Z CALMKT {REST}", BAD | {"bad": ("CALMKT",)}),
    ("L3-floating-point", f"KTKX 231855Z 4.62500005KT {REST}", BAD),
    ("L4-half-a-wind", f"KEWR 231851Z ///28KT {REST}", MISSING | {"bad": ("///28KT",)}),
    (
        "L4-gust-slashes",
        f"KEWR 231851Z 27010G//KT {REST}",
        {"from": 270, "kt": 10, "gust": None, "gust_missing": True},
    ),
    ("L5-no-unit", "HSPN 231800Z 04014 9999 SCT030 32/23 Q1013", BAD | {"vis": 6.21, "t": 32.0}),
    ("L5-unit-detached", "NFTF 231800Z 07004 KT 9999 FEW006 BKN120 25/22 Q1017", BAD | {"vis": 6.21}),
    (
        "L7-australian-trend",
        "YBBN 231830Z 15010KT 9999 BKN028 22/19 Q1018 FM1930 16011KT 5000 INTER 1930/2100 16020G30KT 3000",
        {
            "kt": 10,
            "gust": None,
            "vis": 6.21,
            "inhg": 30.06,
            "trend": ("FM1930 16011KT 5000", "INTER 1930/2100 16020G30KT 3000"),
        },
    ),
    (
        "L7-pressure-with-a-blank",
        "SBYS 231800Z 19018KT 9999 BKN040 19/18 Q1 007",
        {"inhg": None, "bad": ("Q1", "007")},
    ),
    (
        "L8-higher-visibility-first",
        "EGLL 231850Z 24008KT 9999 4000SE SCT030 12/04 Q1013",
        {"vis": 2.49, "vis_bound": None},
    ),
    (
        "L9-tenths-with-a-slipped-sign",
        "KEWR 231851Z 27010KT 10SM CLR 15/12 A2992 RMK T01451272",
        {"t": 14.5, "td": 12.0},
    ),
    ("L10-one-six-miles", "KEWR 231851Z 27010KT 1 6SM CLR 22/12 A2992", {"vis": None, "bad": ("1 6SM",)}),
    (
        "L10-visibility-before-the-wind",
        "KBMI 231851Z 10SM 10005KT SCT055 OVC065 12/04 A2992",
        {"from": 100, "kt": 5, "vis": 10.0, "ceiling": 6500},
    ),
    ("L11-gust-equal-to-the-mean-is-accepted", f"EHSA 231850Z 17004G04KT {REST}", {"kt": 4, "gust": 4}),
    ("L11-gust-below-mean", f"EHSA 231850Z 17004G03KT {REST}", BAD),
    ("L11-pressure-24.97", "K1MW 231855Z AUTO 27006KT 10SM M 06/M08 A2497", {"inhg": None, "t": 6.0}),
    ("L13-peak-wind", f"KEWR 231851Z 27010KT {REST} RMK AO2 PK WND 28041/1822", {"kt": 10, "peak": 41}),
    ("L13-estimated-in-remarks", f"KEWR 231851Z 27010KT {REST} RMK WND DATA ESTMD", {"estimated": True}),
]


@pytest.mark.parametrize(("raw", "expected"), [case[1:] for case in TRAPS], ids=[case[0] for case in TRAPS])
def test_trap(raw: str, expected: dict[str, Any]):
    check(raw, expected)


REFUSED: list[tuple[str, object, str]] = [
    ("G6-empty", "", "empty"),
    ("G6-blank", " \n\t", "empty"),
    ("G6-station-alone", "KEWR", "No time"),
    ("G6-nothing-after-the-time", "KEWR 231851Z", "Nothing after the time"),
    ("G6-nothing-readable", "KEWR 231851Z HELLO WORLD", "could be read"),
    ("G7-bad-time", f"KEWR 231899Z 27010KT {REST}", "No time"),
    ("L2-hour-61", f"KEWR 236151Z 27010KT {REST}", "No time"),
    ("G18-unicode-digits", f"KEWR 231851Z ٢٧٠١٠KT {REST}", "U+0662"),
    ("G23-three-letters", f"EWR 231851Z 27010KT {REST}", "No station"),
    ("G23-digit-first", f"4SL 231851Z 27010KT {REST}", "No station"),
    ("G24-none", None, "NoneType"),
    ("G24-bytes", b"KEWR 231851Z 27010KT", "bytes"),
    ("G27-nil", "KEWR 231851Z NIL", "KEWR sent NIL"),
    ("G27-auto-nil", "SVPA 231803Z AUTO NIL", "SVPA sent NIL"),
    ("G27-nil-for-time", "KEWR NIL=", "KEWR sent NIL"),
    ("G30-no-time", f"KEWR 27010KT {REST}", "No time"),
    ("L12-taf", "TAF KEWR 231730Z 2318/2424 27010KT P6SM SKC", "forecast"),
    ("L12-taf-without-the-word", "KEWR 231730Z 2318/2424 27010KT P6SM SKC", "forecast"),
    ("L12-old-taf", "KEWR 231730Z 231818 27010KT P6SM SKC", "forecast"),
    ("L12-other-code", "UTO8 M M M 075/-10/..", "No time"),
    (
        "two-run-together",
        "EGLL 231850Z AUTO 09011KT 9999 NCD 10/05 Q1016 EGLL 231820Z AUTO 09011KT 9999 NCD",
        "run together",
    ),
    (
        "two-run-together-after-trend",
        "EGLL 231850Z AUTO 09011KT 9999 NCD 10/05 Q1016 NOSIG EGLL 231820Z AUTO 09011KT 9999",
        "run together",
    ),
    ("two-by-equals-sign", f"KEWR 231851Z 27010KT {REST}= KJFK 231851Z 27010KT {REST}=", "more than one"),
    ("far-too-long", "KEWR 231851Z " + "BKN010 " * 100, "groups"),
]


@pytest.mark.parametrize(("text", "words"), [case[1:] for case in REFUSED], ids=[case[0] for case in REFUSED])
def test_refused_with_a_sentence(text: Any, words: str):
    with pytest.raises(DecodeError, match=r"^.*\.$") as caught:
        decode_metar(text, NOW)
    assert words in str(caught.value)


def test_everything_of_a_rich_report_at_once():
    check(
        "SPECI XBRK 231851Z COR 24015G25KT 210V270 1 1/2SM R24L/2600FT -TSRA BR FEW008 BKN015CB 18/16 A2992 "
        "RETSRA WS R24L BECMG 9999 NSW RMK AO2 TSB40",
        {
            "kind": "SPECI", "corrected": True, "from": 240, "kt": 15, "gust": 25, "swing": (210, 270),
            "vis": 1.5, "rvr": ("R24L/2600FT",), "weather": ("-TSRA", "BR"), "ceiling": 1500, "t": 18.0,
            "td": 16.0, "inhg": 29.92, "recent": ("RETSRA",), "shear": ("WS R24L",),
            "trend": ("BECMG 9999 NSW",), "bad": (),
        },
    )  # fmt: skip


# --- dates (G16, G17, L14) ---


@pytest.mark.parametrize(
    ("stamp", "now", "want"),
    [
        ("010000Z", datetime(2026, 10, 31, 23, 58, tzinfo=UTC), "2026-11-01 00:00"),  # a slow clock
        ("312350Z", datetime(2026, 11, 1, 0, 5, tzinfo=UTC), "2026-10-31 23:50"),
        ("311200Z", datetime(2026, 3, 5, 12, tzinfo=UTC), "2026-03-31 12:00"),  # 26 days ahead or 33 back
        ("010005Z", datetime(2026, 12, 31, 23, 59, tzinfo=UTC), "2027-01-01 00:05"),
        ("312355Z", datetime(2027, 1, 1, 0, 30, tzinfo=UTC), "2026-12-31 23:55"),
        ("290600Z", datetime(2028, 3, 1, 6, tzinfo=UTC), "2028-02-29 06:00"),
        ("291200Z", datetime(2027, 3, 1, 6, tzinfo=UTC), "2027-03-29 12:00"),  # no 29 February in 2027
        ("251200Z", datetime(2026, 11, 23, tzinfo=UTC), "2026-11-25 12:00"),
    ],
)
def test_month_and_year_are_the_nearest(stamp: str, now: datetime, want: str):
    metar = decode_metar(f"KEWR {stamp} 27010KT {REST}", now)
    assert metar.observed_at.strftime("%Y-%m-%d %H:%M") == want
    assert metar.observed_at.tzinfo is UTC


def test_a_given_date_beats_the_clock():
    hint = datetime(2019, 2, 28, 23, tzinfo=UTC)
    metar = decode_metar(f"KEWR 010010Z 27010KT {REST}", NOW, observed_near=hint)
    assert metar.observed_at == datetime(2019, 3, 1, 0, 10, tzinfo=UTC)


def test_a_clock_without_zone_is_refused():
    with pytest.raises(TimeError, match="time zone"):
        decode_metar(f"KEWR 231851Z 27010KT {REST}", datetime(2026, 11, 23))
