"""METAR and SPECI decoding: published decodes, every known trap of the package by its number, and dates.

The traps G1 to G34 and L1 to L14 are those measured on 53,000 real reports; each is one named case below.
Sources beside the published rows in shared/published_values.csv; the traps are our own measurements.
"""

from __future__ import annotations

import contextlib
import csv
import json
import time
import warnings
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from advisor.errors import AdvisorError, DecodeError, TimeError
from advisor.reports import decode_metar as gate
from advisor.reports.decode_metar import decode_metar
from advisor.reports.tokens import is_weather, parse_sky_group, parse_visibility
from advisor.reports.types import Metar
from advisor.reports.wind_tokens import parse_wind, with_varying
from advisor.wind import WindState

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
            f"{x.cover}{'' if x.base_ft_agl is None else x.base_ft_agl}{x.cloud_type or ''}"
            for x in sky.layers
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
    ("G27-nil", "KEWR 231851Z NIL", "NIL"),
    ("G27-auto-nil", "SVPA 231803Z AUTO NIL", "SVPA sent NIL"),
    ("G27-nil-for-time", "KEWR NIL=", "NIL"),
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


# --- published decodes ---

PUBLISHED = [
    row
    for row in csv.DictReader((ROOT / "shared" / "published_values.csv").read_text("utf-8").splitlines())
    if row["topic"] in ("metar_decode", "metar_group")
]


def test_published_rows_are_there():
    assert len(PUBLISHED) >= 10


@pytest.mark.parametrize("row", [r for r in PUBLISHED if r["topic"] == "metar_decode"], ids=lambda r: r["id"])
def test_published_decode(row: dict[str, str]):
    """Each row names its source; figures are compared exactly."""
    want = json.loads(row["expected"])
    metar = decode_metar(row["inputs"], NOW)
    wind, remarks = metar.wind, metar.remarks
    ours = {
        "station": metar.station,
        "day": metar.observed_at.day,
        "time": metar.observed_at.strftime("%H%M"),
        "modifier": "AUTO" if metar.automatic else "",
        "wdir": wind.from_deg_true or 0,
        "wspd": wind.speed_kt,
        "wgst": wind.gust_kt,
        "wdir_var": [wind.varying_from_deg, wind.varying_to_deg],
        "calm": wind.state is WindState.CALM,
        "vis_sm": metar.visibility.miles,
        "wx": list(metar.weather),
        "ts": any("TS" in group for group in metar.weather),
        "ceiling": metar.sky.ceiling_ft_agl,
        "altim": metar.altimeter_inhg,
        "slp": remarks.sea_level_pressure_hpa,
        "t_tenths": [remarks.temperature_c, remarks.dewpoint_c],
        "pk_wnd": [
            remarks.peak_wind_from_deg_true,
            remarks.peak_wind_kt,
            remarks.peak_wind_at and remarks.peak_wind_at.strftime("%H%M"),
        ],
        "wshft": remarks.wind_shift_at and remarks.wind_shift_at.strftime("%H%M"),
        "tsno": remarks.no_thunder_sensor,
        "maintenance": remarks.maintenance_needed,
    }
    whole = {"temp": metar.temperature_c, "dewp": metar.dewpoint_c}
    for name, value in want.items():
        if name in whole:
            # the source prints the whole degrees of the body; ours are the tenths when both are there
            assert whole[name] == pytest.approx(value, abs=0.5), (name, row["source"])
        else:
            assert ours[name] == value, (name, row["source"])
    assert not metar.not_understood


@pytest.mark.parametrize("row", [r for r in PUBLISHED if r["topic"] == "metar_group"], ids=lambda r: r["id"])
def test_published_group(row: dict[str, str]):
    want = json.loads(row["expected"])
    groups = row["inputs"]
    if "pk_wnd" in want:
        remarks = decode_metar(f"XBRK 231959Z 27010KT {REST} RMK {groups}", NOW).remarks
        at = remarks.peak_wind_at
        assert at is not None
        assert [remarks.peak_wind_from_deg_true, remarks.peak_wind_kt, at.strftime("%H%M")] == want["pk_wnd"]
        return
    if "vis_sm" in want:
        assert (
            decode_metar(f"XBRK 231959Z 27010KT {groups} CLR 22/12", NOW).visibility.miles == want["vis_sm"]
        )
        return
    wind = decode_metar(f"XBRK 231959Z {groups} {REST}", NOW).wind
    if want.get("missing"):
        assert wind.state is WindState.MISSING
        return
    assert (wind.from_deg_true, wind.speed_kt) == (want["wdir"], want["wspd"])
    if "wdir_var" in want:
        assert [wind.varying_from_deg, wind.varying_to_deg] == want["wdir_var"]
        assert wind.swing_deg == want["arc_deg"]


# AIM 7-1 (METAR wind) and python-metar's unit tests for the damaged ones
@pytest.mark.parametrize(
    ("group", "state", "figures"),
    [
        ("13008KT", "steady", (130, 8, None)),
        ("08032G45KT", "steady", (80, 32, 45)),
        ("VRB04KT", "variable", (None, 4, None)),
        ("00000KT", "calm", (None, 0, None)),
        ("210103G130KT", "steady", (210, 103, 130)),
        ("32012G22KT", "steady", (320, 12, 22)),
        ("/////KT", "missing", (None, None, None)),
        ("000//KT", "missing", (None, None, None)),
        ("090010KT", "steady", (90, 10, None)),
        ("VRB03G40KT", "variable", (None, 3, 40)),
        ("90010KT", "not_understood", (None, None, None)),
        ("9010KT", "not_understood", (None, None, None)),
        ("09010MPH", "not_understood", (None, None, None)),
        ("09010G//KT", "steady", (90, 10, None)),
        ("18014G18KT", "steady", (180, 14, 18)),  # a gust 4 kt over the mean is real (KMEM)
        ("00022KT", "not_understood", (None, None, None)),
        ("24010G200KT", "not_understood", (None, None, None)),
        ("13018KMH", "steady", (130, 10, None)),
        ("17025G40KMH", "steady", (170, 13, 22)),
        ("36003MPS", "steady", (360, 6, None)),
        ("000000KT", "calm", (None, 0, None)),
    ],
)
def test_wind_group(group: str, state: str, figures: tuple[int | None, ...]):
    wind = parse_wind(group)
    assert (wind.state.value, (wind.from_deg_true, wind.speed_kt, wind.gust_kt)) == (state, figures)
    assert wind.raw == group


def test_swing_over_360_is_not_understood():
    assert with_varying(parse_wind("27010KT"), "240V400") is None
    metar = decode_metar(f"XBRK 231851Z 27010KT 240V400 {REST}", NOW)
    assert (metar.wind.speed_kt, metar.wind.swing_deg, metar.not_understood) == (10, 0, ("240V400",))


@pytest.mark.parametrize(
    ("groups", "miles", "bound", "used"),
    [
        ("1 1/2SM", 1.5, None, 2),
        ("11/2SM", 1.5, None, 1),
        ("M1/4SM", 0.25, "less_than", 1),
        ("3/16SM", 0.1875, None, 1),
        ("0SM", 0.0, None, 1),
        ("15SM", 15.0, None, 1),
        ("0000", 0.0, None, 1),
        ("5000", 5000 / 1609.344, None, 1),
        ("9999", 10_000 / 1609.344, "at_least", 1),
        ("M0400", 400 / 1609.344, "less_than", 1),
        ("P6000", 6000 / 1609.344, "at_least", 1),
        ("0300NDV", 300 / 1609.344, None, 1),
        ("4000E", 4000 / 1609.344, None, 1),
        ("9999 2000N 3000SE", 2000 / 1609.344, None, 3),
        ("34KM", 34_000 / 1609.344, None, 1),
        ("////", None, None, 1),
        ("1/3SM", None, None, 1),
        ("1 6SM", None, None, 2),
        ("24010KT", None, None, 0),
        ("1", None, None, 0),
    ],
)
def test_visibility_group(groups: str, miles: float | None, bound: str | None, used: int):
    found, taken = parse_visibility(groups.split(), 0)
    assert taken == used
    assert found.bound == bound
    assert found.miles == (None if miles is None else pytest.approx(miles, abs=1e-12))


@pytest.mark.parametrize(
    ("groups", "state", "feet"),
    [
        ("CLR", "none", None),
        ("NSC", "none", None),
        ("FEW020 SCT040", "none", None),
        ("FEW020 BKN040 OVC060", "at", 4000),
        ("OVC060 BKN040", "at", 4000),
        ("VV002", "at", 200),
        ("OVC000", "at", 0),
        ("VV///", "unknown", None),
        ("BKN///", "unknown", None),
        ("BKN/// OVC060", "unknown", None),
        ("OVC010 BKN///", "at", 1000),
        ("//////", "unknown", None),
        ("///CB", "unknown", None),
        ("BKN043/// OVC074/// ///CB", "at", 4300),
        ("SCT030 ///CB", "none", None),
        ("///015 BKN040", "unknown", None),
        ("BKN09 OVC030", "unknown", None),
        ("SCT020 BKN", "unknown", None),
        ("FEW020 EW018TCU BKN270", "unknown", None),
        ("CLR OVC020", "at", 2000),
        ("", "unknown", None),
    ],
)
def test_ceiling(groups: str, state: str, feet: int | None):
    """Never better than what is printed: a layer without a height may lie anywhere."""
    metar = decode_metar(f"XBRK 231851Z AUTO 27010KT 10SM {groups} 22/12 A2992", NOW)
    assert (metar.sky.ceiling_state.value, metar.sky.ceiling_ft_agl) == (state, feet)


def test_thunder_cloud_stays_visible():
    metar = decode_metar("XBRK 231851Z AUTO 27010KT 9999 VCTS FEW030TCU ///CB 22/12 Q1011", NOW)
    assert [layer.cloud_type for layer in metar.sky.layers] == ["TCU", "CB"]
    assert metar.weather == ("VCTS",)


@pytest.mark.parametrize(
    "group", ["-RA", "+TSRA", "VCTS", "BCFG", "TS", "VCSH", "-SNFZDZ", "+FC", "FZFG", "BLSN"]
)
def test_weather_group(group: str):
    assert is_weather(group)
    assert decode_metar(f"XBRK 231851Z 27010KT 3SM {group} OVC010 22/12", NOW).weather == (group,)


@pytest.mark.parametrize("group", ["NSW", "RA/", "MI", "BC", "XX", "RAR", "TSRADZGRSNPLSG", "", "SM", "-"])
def test_not_weather(group: str):
    assert not is_weather(group)


def test_sky_group_outside_its_grammar():
    assert [parse_sky_group(t) for t in ("BKN09", "BKN", "FEW2000", "SCT02X", "", "OVC010CBX")] == [None] * 6


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


# --- time and warnings ---


def hostile(kilobytes: int) -> list[str]:
    """Texts that hang careless patterns, of about that length."""
    n = kilobytes * 1024
    head = f"KEWR 231851Z 27010KT {REST} RMK "
    return [
        head + "LTG " + "NE" * (n // 2) + "x",
        head + "LTG " + "NE-" * (n // 3),
        head + "TS " + "NE AND " * (n // 7) + "x",
        head + "PK WND " * (n // 7),
        head + "VIS 1 " * (n // 6),
        head + "OCNL " * (n // 5),
        head + "TSB01E02" * (n // 8),
        head + "T00" * (n // 3),
        head + "CB/" + "N/" * (n // 2),
        "KEWR 231851Z " + "9" * n,
        "KEWR 231851Z " + "/" * n,
        "KEWR 231851Z " + "0" * n + "KT",
        "KEWR 231851Z 27010KT TEMPO " + "BKN010 " * (n // 7),
        "A" * n,
        " " * n,
    ]


@pytest.mark.parametrize("case", range(len(hostile(1))))
def test_no_text_takes_more_than_10_ms_a_kilobyte(case: int):
    """G19: a corrupt remark hung the package for minutes."""
    text = hostile(64)[case]
    best = min(_seconds(text) for _ in range(3))
    assert best / (len(text) / 1024) < 0.010


def _seconds(text: str) -> float:
    start = time.perf_counter()
    with contextlib.suppress(AdvisorError):
        decode_metar(text, NOW)
    return time.perf_counter() - start


def test_no_warning_and_no_foreign_exception():
    """G25: warnings of the package never surface, whatever the filter."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        for raw in (case[1] for case in TRAPS):
            assert decode_metar(raw, NOW).observed_at - NOW < timedelta(days=1)


@pytest.fixture
def package(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[Callable[[Any, str], Any]], None]]:
    """Puts something in the package's place: it is given the package and the text it is asked to read."""
    real = gate.PackageMetar
    gate._package_reading.cache_clear()

    def put(stand_in: Callable[[Any, str], Any]) -> None:
        gate._package_reading.cache_clear()
        monkeypatch.setattr(
            gate,
            "PackageMetar",
            lambda text, month, year: stand_in(lambda body: real(body, month=month, year=year), text),
        )

    yield put
    gate._package_reading.cache_clear()


@pytest.mark.parametrize(
    ("raw", "now_reads"),
    [
        ("27010KT", "28010KT"),
        ("27010KT", "27011KT"),
        ("27010KT", "27010G20KT"),
        ("27010KT", "VRB10KT"),
        ("27010KT", "/////KT"),
        ("27010G20KT", "27010G21KT"),
        ("27010G20KT", "27010KT"),
        ("VRB03KT", "27003KT"),
        ("00000KT", "VRB00KT"),
        ("00000KT", "00003KT"),
        ("/////KT", "27010KT"),
    ],
)
def test_another_wind_from_the_package_is_not_understood(package: Any, raw: str, now_reads: str):
    """The gate itself: what the two do not agree on must not pass in silence."""
    package(lambda real, text: real(text.replace(raw, now_reads)))
    metar = decode_metar(f"KEWR 231851Z {raw} {REST}", NOW)
    assert (metar.wind.state, metar.wind.speed_kt) == (WindState.NOT_UNDERSTOOD, None)
    assert metar.not_understood == (raw,)
    assert (metar.visibility.miles, metar.temperature_c) == (10.0, 22.0)


@pytest.mark.parametrize("now_reads", ["3SM", "9SM", "////"])
def test_another_visibility_from_the_package_is_not_understood(package: Any, now_reads: str):
    package(lambda real, text: real(text.replace("10SM", now_reads)))
    metar = decode_metar(f"KEWR 231851Z 27010KT {REST}", NOW)
    assert (metar.wind.speed_kt, metar.temperature_c) == (10, 22.0)
    assert (metar.visibility.miles, metar.not_understood) == (None, ("10SM",))


def test_a_package_that_fails_confirms_nothing(package: Any):
    def broken(real: Any, text: str) -> Any:
        raise RuntimeError("inside the package")

    package(broken)
    metar = decode_metar(f"KEWR 231851Z 27010KT {REST}", NOW)
    assert (metar.wind.state, metar.visibility.miles) == (WindState.NOT_UNDERSTOOD, None)
    assert metar.not_understood == ("27010KT", "10SM")


def test_the_package_reads_only_the_groups_that_passed(package: Any):
    handed: list[str] = []

    def listen(real: Any, text: str) -> Any:
        handed.append(text.split("Z ")[1])
        return real(text)

    package(listen)
    decode_metar(f"KEWR 231851Z 27010KT 10 SM CLR 22/12 A2992 RMK LTG {'NE' * 40}x", NOW)
    decode_metar("KEWR 231851Z 0200 FG VV001 12/12 A2992", NOW)
    decode_metar(f"KEWR 231851Z 27010KT 18035G50KT {REST}", NOW)
    assert handed == ["27010KT 10SM", "/////KT 0200", "/////KT 10SM"]
