"""Remark groups: the NWS/FAA key's examples, times that cross the hour and the day, and hostile text."""

from __future__ import annotations

import time
from datetime import UTC, datetime
from typing import Any

import pytest

from advisor.reports.remarks import parse_remarks
from advisor.reports.types import Remarks

AT = datetime(2026, 11, 23, 0, 12, tzinfo=UTC)


def read(text: str, at: datetime = AT) -> Remarks:
    return parse_remarks(text.split(), at)


# Groups: NWS/FAA key to METAR and AIM 7-1 unless marked; times worked by hand.
CASES: list[tuple[str, dict[str, Any]]] = [
    ("PK WND 28045/0005", {"peak_wind_from_deg_true": 280, "peak_wind_kt": 45}),
    ("PK WND 34050/38", {"peak_wind_kt": 50, "peak_wind_at": datetime(2026, 11, 22, 23, 38, tzinfo=UTC)}),
    ("PK WND 34050/05", {"peak_wind_at": datetime(2026, 11, 23, 0, 5, tzinfo=UTC)}),
    ("PK WND 34050/2355", {"peak_wind_at": datetime(2026, 11, 22, 23, 55, tzinfo=UTC)}),
    ("PK WND 360105/12", {"peak_wind_from_deg_true": 360, "peak_wind_kt": 105}),
    ("PK WND 20032/05 PK WND 21041/08", {"peak_wind_kt": 41}),
    ("WSHFT 2346", {"wind_shift_at": datetime(2026, 11, 22, 23, 46, tzinfo=UTC), "wind_shift_front": False}),
    (
        "WSHFT 30 FROPA",
        {"wind_shift_at": datetime(2026, 11, 22, 23, 30, tzinfo=UTC), "wind_shift_front": True},
    ),
    (
        "AO2 TSNO PWINO FZRANO $",
        {
            "no_thunder_sensor": True,
            "no_present_weather_sensor": True,
            "no_freezing_rain_sensor": True,
            "maintenance_needed": True,
            "other": ("AO2",),
        },
    ),
    ("VIRGA DSNT W", {"virga": True, "other": ("DSNT", "W")}),
    ("WND DATA ESTMD", {"wind_estimated": True, "other": ()}),
    # the variable forms of Canada (MANOBS)
    # FMH-1: tornadic activity with when it began or ended, where and which way; other groups are not swallowed
    (
        "FUNNEL CLOUD B12 5 W MOV E TSNO",
        {"funnel_cloud": ("FUNNEL CLOUD B12 5 W MOV E",), "no_thunder_sensor": True, "other": ()},
    ),
    ("TORNADO PK WND 28045/0005", {"funnel_cloud": ("TORNADO",), "peak_wind_kt": 45, "other": ()}),
    ("WATERSPOUT E TSNO", {"funnel_cloud": ("WATERSPOUT E",), "no_thunder_sensor": True, "other": ()}),
    ("VIS VRB 1/2-1 1/2 SLP106", {"visibility_min_sm": 0.5, "visibility_max_sm": 1.5, "other": ()}),
    ("VIS VRB 1 1/2-3", {"visibility_min_sm": 1.5, "visibility_max_sm": 3.0, "other": ()}),
    ("VIS VRB 3-5 TSNO", {"visibility_min_sm": 3.0, "visibility_max_sm": 5.0, "no_thunder_sensor": True}),
    ("CIG VRB 8-12", {"ceiling_min_ft_agl": 800, "ceiling_max_ft_agl": 1200}),
    ("VIS VRB 5-3", {"visibility_min_sm": None, "other": ("VIS", "VRB", "5-3")}),
    ("VIS VRB", {"visibility_min_sm": None, "other": ("VIS", "VRB")}),
    ("CIG VRB", {"ceiling_min_ft_agl": None, "other": ("CIG", "VRB")}),
    (
        "LTG DSNT W AND NW",
        {"lightning": ("LTG DSNT W AND NW",), "lightning_distant": True, "lightning_near": False},
    ),
    (
        "OCNL LTGICCG OHD",
        {"lightning": ("OCNL LTGICCG OHD",), "lightning_near": True, "lightning_distant": False},
    ),
    (
        "FRQ LTGCGIC VC LTG DSNT S",
        {"lightning": ("FRQ LTGCGIC VC", "LTG DSNT S"), "lightning_near": True, "lightning_distant": True},
    ),
    ("LTGICCCCG NE AND W", {"lightning": ("LTGICCCCG NE AND W",), "lightning_near": True}),
    ("LTG DSNT N AND VC", {"lightning_near": True, "lightning_distant": False}),
    ("TS OHD MOV E", {"thunder_location": ("TS OHD MOV E",)}),
    ("TSRAB24 TS W MOV E", {"thunder_location": ("TSRAB24", "TS W MOV E")}),
    ("TSB1959E14B45", {"thunder_location": ("TSB1959E14B45",)}),
    ("TSE45 RAB07", {"thunder_location": ("TSE45",), "other": ("RAB07",)}),
    ("CB DSNT W MOV E", {"cb_or_tcu": ("CB DSNT W MOV E",)}),
    ("TCU SE", {"cb_or_tcu": ("TCU SE",)}),
    ("CBMAM DSNT S-SW", {"cb_or_tcu": ("CBMAM DSNT S-SW",)}),
    ("CB/NW/SW", {"cb_or_tcu": ("CB/NW/SW",)}),
    ("VIS 3/4V1 1/2", {"visibility_min_sm": 0.75, "visibility_max_sm": 1.5}),
    ("VIS 1 3/4V5", {"visibility_min_sm": 1.75, "visibility_max_sm": 5.0}),
    ("VIS 2V4 TSNO", {"visibility_min_sm": 2.0, "visibility_max_sm": 4.0, "no_thunder_sensor": True}),
    ("VIS M1/4V3/4", {"visibility_min_sm": 0.25, "visibility_max_sm": 0.75}),
    ("VIS 1200V8000", {"visibility_min_sm": pytest.approx(0.746, abs=0.001)}),
    ("VIS 3/4 RWY11", {"visibility_min_sm": None, "other": ("VIS", "3/4", "RWY11")}),
    ("VIS 5V2", {"visibility_min_sm": None}),
    ("CIG 013V017", {"ceiling_min_ft_agl": 1300, "ceiling_max_ft_agl": 1700}),
    ("CIG 017 RWY11", {"ceiling_min_ft_agl": None, "other": ("CIG", "017", "RWY11")}),
    ("T00640036", {"temperature_c": 6.4, "dewpoint_c": 3.6}),
    ("T10171028", {"temperature_c": -1.7, "dewpoint_c": -2.8}),
    ("T0159", {"temperature_c": 15.9, "dewpoint_c": None}),
    ("T10000000", {"temperature_c": 0.0}),
    ("SLP125", {"sea_level_pressure_hpa": 1012.5}),
    ("SLP982", {"sea_level_pressure_hpa": 998.2}),
    ("SLPNO", {"sea_level_pressure_hpa": None, "other": ("SLPNO",)}),
    ("DENSITY ALT 1200FT", {"density_altitude_ft": 1200}),  # from memory
    ("DENSITY ALT -500FT", {"density_altitude_ft": -500}),  # from memory
    ("", {"other": ()}),
]


@pytest.mark.parametrize(("text", "expected"), CASES, ids=[case[0] or "none" for case in CASES])
def test_group(text: str, expected: dict[str, Any]):
    found = read(text)
    assert {name: getattr(found, name) for name in expected} == expected


@pytest.mark.parametrize(
    "text",
    [
        "PK WND 280P99/1815",
        "PK WND 99945/1815",
        "PK WND 28045/1875",
        "PK WND 28045/2515",
        "PK WND",
        "PK",
        "WSHFT",
        "WSHFT 99",
        "WND DATA",
        "VIS",
        "VIS V",
        "VIS 1/0V2",
        "CIG",
        "CIG 1V2",
        "DENSITY",
        "DENSITY ALT HIGH",
        "OCNL",
        "T0064003",
        "LTGX",
        "TSX",
    ],
)
def test_a_damaged_group_is_kept_and_spoils_no_neighbour(text: str):
    found = read(f"{text} TSNO T00640036")
    assert found.other == tuple(text.split())
    assert found.no_thunder_sensor
    assert found.temperature_c == 6.4
    assert (found.peak_wind_kt, found.wind_shift_at, found.lightning) == (None, None, ())


def test_every_group_is_used_once_or_kept():
    """Nothing of a remark is lost: what no reader takes stays in ``other``, in order."""
    text = "AO2 TORNADO B13 6 NE PK WND 20032/05 SNINCR 1/8 VIS 2 1/2 RWY6 TSNO 8/903 ACSL DSNT"
    found = read(text)
    assert found.other == tuple("AO2 SNINCR 1/8 VIS 2 1/2 RWY6 ACSL DSNT".split())  # noqa: SIM905
    assert found.funnel_cloud == ("TORNADO B13 6 NE",)
    assert found.cb_or_tcu == ("8/903",)


@pytest.mark.parametrize(
    "group",
    ["LTG NE ", "TS NE AND ", "PK WND ", "VIS 1 ", "OCNL LTG ", "TSB01 ", "CB N-N-N-N ", "NE", "(((", "T0"],
)
def test_time_is_linear(group: str):
    """Ten times the text takes about ten times as long."""

    def seconds(copies: int) -> float:
        words = (group * copies).split()
        best = 1.0
        for _ in range(3):
            start = time.process_time()
            parse_remarks(words, AT)
            best = min(best, time.process_time() - start)
        return best

    small, large = seconds(1_000), seconds(10_000)
    assert large < max(small, 1e-4) * 40
    assert large / (len(group) * 10_000 / 1024) < 0.010
