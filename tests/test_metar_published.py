"""Published decodes of METARs; each row of shared/published_values.csv names its source."""

from __future__ import annotations

import csv
import json
from datetime import UTC, datetime
from pathlib import Path

import pytest

from advisor.reports.decode_metar import decode_metar
from advisor.wind import WindState

ROOT = Path(__file__).resolve().parent.parent
NOW = datetime(2026, 11, 23, 19, tzinfo=UTC)
REST = "10SM CLR 22/12 A2992"


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
        assert decode_metar(f"XBRK 231959Z 27010KT {groups} CLR 22/12", NOW).visibility.miles == want["vis_sm"]
        return
    wind = decode_metar(f"XBRK 231959Z {groups} {REST}", NOW).wind
    if want.get("missing"):
        assert wind.state is WindState.MISSING
        return
    assert (wind.from_deg_true, wind.speed_kt) == (want["wdir"], want["wspd"])
    if "wdir_var" in want:
        assert [wind.varying_from_deg, wind.varying_to_deg] == want["wdir_var"]
        assert wind.swing_deg == want["arc_deg"]
