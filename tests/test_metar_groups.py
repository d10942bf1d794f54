"""Single groups of a METAR, alone and in a report: wind, visibility, ceiling, weather."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from advisor.reports.decode_metar import decode_metar
from advisor.reports.tokens import is_weather, parse_sky_group, parse_visibility
from advisor.reports.wind_tokens import parse_wind, with_varying

NOW = datetime(2026, 11, 23, 19, tzinfo=UTC)
REST = "10SM CLR 22/12 A2992"


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
        ("024012KT", "not_understood", (None, None, None)),  # 24012KT with a nought too many, not 024 at 12
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
        # a knot is 1,852 m an hour: 44 m/s are 85.53 kt, 88 km/h 47.52
        ("27044MPS", "steady", (270, 86, None)),
        ("27088KMH", "steady", (270, 48, None)),
        ("270P49MPS", "steady", (270, 95, None)),
        ("000000KT", "calm", (None, 0, None)),
    ],
)
def test_wind_group(group: str, state: str, figures: tuple[int | None, ...]):
    wind = parse_wind(group)
    assert (wind.state.value, (wind.from_deg_true, wind.speed_kt, wind.gust_kt)) == (state, figures)
    assert wind.raw == group


@pytest.mark.parametrize(("group", "ends"), [("320V360", (320, 360)), ("360V040", (360, 40)), ("000V040", (360, 40))])
def test_a_swing_may_begin_or_end_in_the_north(group: str, ends: tuple[int, int]):
    wind = with_varying(parse_wind("36012KT"), group)
    assert wind is not None
    assert (wind.varying_from_deg, wind.varying_to_deg) == ends


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


@pytest.mark.parametrize("group", ["-RA", "+TSRA", "VCTS", "BCFG", "TS", "VCSH", "-SNFZDZ", "+FC", "FZFG", "BLSN"])
def test_weather_group(group: str):
    assert is_weather(group)
    assert decode_metar(f"XBRK 231851Z 27010KT 3SM {group} OVC010 22/12", NOW).weather == (group,)


@pytest.mark.parametrize("group", ["NSW", "RA/", "MI", "BC", "XX", "RAR", "TSRADZGRSNPLSG", "", "SM", "-"])
def test_not_weather(group: str):
    assert not is_weather(group)


def test_sky_group_outside_its_grammar():
    assert [parse_sky_group(t) for t in ("BKN09", "BKN", "FEW2000", "SCT02X", "", "OVC010CBX")] == [None] * 6
