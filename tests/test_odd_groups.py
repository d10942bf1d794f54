"""Odd forms of groups, as stations print them: caution is kept, nothing is guessed, what is unread is shown.

Each case is the least sequence of groups that shows the form, at a made-up field. Rules quoted: FMH-1 chapter 12 and the
NWS/FAA key to METAR and TAF, WMO No. 306 (FM 15, FM 51, code tables 0513 and 4678), AFMAN 15-111 and 15-124, the cloud
remarks of Canada (MANOBS) and Japan; "typing slip" marks a form no code has, met in public collections of reports.
"""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest

from advisor.archive.decode import decode_archive
from advisor.reports.decode_metar import decode_metar
from advisor.reports.tokens import parse_visibility
from advisor.reports.types import Metar
from advisor.segments import SEGMENT_COLUMNS, observation_segment, to_minutes
from advisor.weather import Wx, weather_flags
from advisor.wind import WindState
from tests.test_odd_taf_groups import taf

NOW = datetime(2026, 4, 25, 18, tzinfo=UTC)
AIR = "15/05 A3001"


def metar(groups: str) -> Metar:
    return decode_metar(f"XBRK 251753Z {groups}", NOW)


def flags(report: Metar) -> Wx:
    return weather_flags(report.weather, report.sky, report.remarks, report.recent_weather)


CLOUDS_AND_STORMS = [
    # plain language before RMK, in the body or after the pressure (seen in Central America and on islands)
    (f"27010KT 9999 FEW030 CB W {AIR}", Wx.CB),
    (f"27010KT 9999 FEW030 {AIR} TCU NE", Wx.TCU),
    (f"27010KT 9999 FEW030 {AIR} LTG DSNT SW", Wx.LIGHTNING_DISTANT),
    (f"27010KT 9999 FEW030 {AIR} OCNL LTGIC VC W", Wx.THUNDER_VICINITY),
    (f"27010KT 9999 FEW030 {AIR} TSB24 NOSIG", Wx.THUNDER_VICINITY),
    (f"27010KT 10SM BKN014 {AIR} FUNNEL CLOUD W", Wx.FUNNEL),
    (f"27010KT 10SM BKN014 TORNADO 5 W {AIR}", Wx.FUNNEL),
    # FMH-1: tornadic activity is the first remark; also one that has ended was within the hour
    (f"27010KT 10SM BKN014 {AIR} RMK AO2 TORNADO B13 6 NE", Wx.FUNNEL),
    (f"27010KT 10SM BKN014 {AIR} RMK FUNNEL CLOUD B12E20 5 W MOV E", Wx.FUNNEL),
    (f"27010KT 10SM BKN014 {AIR} RMK WATERSPOUT E", Wx.FUNNEL),
    # MANOBS: types with eighths; Japan: eighths, type, height; code table 0513: low type 3 and 9 are CB
    (f"27010KT 15SM BKN014 {AIR} RMK CB2SC3 SLP162", Wx.CB),
    (f"27010KT 15SM BKN014 {AIR} RMK SC3TCU1AC1", Wx.TCU),
    (f"27010KT 9999 FEW020 {AIR} RMK 1CB020 5SC040", Wx.CB),
    (f"27010KT 9999 FEW020 {AIR} RMK 1CU015 2TCU030", Wx.TCU),
    (f"27010KT 10SM BKN014 {AIR} RMK 8/903", Wx.CB),
    (f"27010KT 10SM BKN014 {AIR} RMK 8/3//", Wx.CB),
    # contractions of observers
    (f"27010KT 10SM BKN014 {AIR} RMK LTNG DSNT N", Wx.LIGHTNING_DISTANT),
    (f"27010KT 10SM BKN014 {AIR} RMK LIGHTNING W", Wx.THUNDER_VICINITY),
    # a sky group that cannot be read names its cloud all the same
    (f"27010KT 10SM SCTCB008 {AIR}", Wx.CB),
    (f"27010KT 10SM FEW020 SCT008(CB) {AIR}", Wx.CB),
    # typing slips around the intensity sign; FM 15 until 1998: PE for ice pellets; two groups with a solidus
    (f"27010KT 3SM TSRA+ BKN014 {AIR}", Wx.THUNDER | Wx.PRECIPITATION),
    (f"27010KT 3SM ?RA BKN014 {AIR}", Wx.PRECIPITATION),
    (f"27010KT 3SM TSTM BKN014 {AIR}", Wx.THUNDER),
    (f"27010KT 3SM -RA/BR BKN014 {AIR}", Wx.PRECIPITATION | Wx.MIST),
    (f"27010KT 3SM PE BKN014 {AIR}", Wx.PRECIPITATION | Wx.SNOW),
]


@pytest.mark.parametrize(("groups", "expected"), CLOUDS_AND_STORMS, ids=[c[0][8:60] for c in CLOUDS_AND_STORMS])
def test_what_is_named_is_flagged(groups: str, expected: Wx) -> None:
    assert flags(metar(groups)) == expected


@pytest.mark.parametrize(
    "groups",
    [
        "RMK CU2SC3",
        "RMK 1CU020 5SC040",
        "RMK 8/508",
        "RMK 8/201",
        "RMK TSNO",
        "RMK CLOUD 5 W",
        "CONS",
    ],
)
def test_what_names_no_storm_is_not_flagged(groups: str) -> None:
    assert flags(metar(f"27010KT 10SM BKN014 {AIR} {groups}")) == Wx(0)


@pytest.mark.parametrize("recent", ["RETS", "TS", "RETSRA", "TSRA"])
def test_thunder_just_past_counts_as_in_the_vicinity(recent: str) -> None:
    """FM 15, 15.13: RETS is weather of the past hour, not of now; with RE or without, as it is kept."""
    assert weather_flags((), recent=(recent,)) == Wx.THUNDER_VICINITY


@pytest.mark.parametrize("group", ["TSTM", "?RA", "SCTCB008", "+"])
def test_a_group_that_only_named_something_is_still_shown(group: str) -> None:
    assert group in metar(f"27010KT 10SM {group} BKN014 {AIR}").not_understood


@pytest.mark.parametrize(
    ("groups", "miles"),
    [
        ("27010KT 10 SM CLR", 10.0),
        ("27010KT 3/4 SM BR CLR", 0.75),
        ("27010KT 1 1/2 SM BR CLR", 1.5),
        ("27010KT M1/4 SM FG CLR", 0.25),
        ("27010KT 3/7 SM FG CLR", None),  # no fraction that is printed: said to be missing
    ],
)
def test_a_blank_before_the_unit(groups: str, miles: float | None) -> None:
    """Typing slip. A fraction without its unit must not be taken for the temperatures."""
    report = metar(f"{groups} {AIR}")
    assert report.visibility.miles == miles
    assert (report.temperature_c, report.dewpoint_c) == (15.0, 5.0)


@pytest.mark.parametrize("group", ["2000EE", "O700", "0600R10/1100D", ",3500S", "060", "3000NVCFG", "2", "100NW"])
def test_a_second_visibility_that_cannot_be_read_may_be_the_lower(group: str) -> None:
    """Annex 3: the lowest visibility follows the prevailing one. 9999 O700 is not 10 km everywhere."""
    report = metar(f"24012KT 9999 {group} BKN020 {AIR}")
    assert report.visibility.miles is None
    assert any(group in unread for unread in report.not_understood)


@pytest.mark.parametrize("side", ["N", "NE", "E", "SE", "S", "SW", "W", "NW"])
def test_a_lower_visibility_to_any_side_counts(side: str) -> None:
    """FM 15, 15.6.2: the lowest visibility and its direction follow the prevailing one; 2000 m is 1.24 SM."""
    for groups in (f"9999 2000{side}", f"2000{side}"):
        report = metar(f"24012KT {groups} BKN020 {AIR}")
        assert report.visibility.miles == pytest.approx(2000 / 1609.344)
        assert not report.not_understood
    found, used = parse_visibility(("9999", f"2000{side}"), 0)  # a forecast's reader asks for both together
    assert (found.miles, used) == (pytest.approx(2000 / 1609.344), 2)


@pytest.mark.parametrize("group", ["R10/11000X", "BKNO20", "1O/05", "-RAX", "FEWO10"])
def test_another_damaged_group_leaves_the_visibility(group: str) -> None:
    assert metar(f"24012KT 9999 {group} Q1013").visibility.miles == pytest.approx(6.214, abs=0.001)


@pytest.mark.parametrize(
    ("group", "expected"),
    [
        ("9999TS", Wx.THUNDER),
        ("1/2SMFG", Wx.FOG),
        ("FGSKC", Wx.FOG),
        ("R18L/0500V0700UFG", Wx.FOG),
        ("TSRAOVC010CB", Wx.THUNDER | Wx.PRECIPITATION | Wx.CB),
        ("FEW012C", Wx.CB),
        ("FEW023TC", Wx.TCU),
        ("9999///TCU", Wx.TCU),
        ("FGG", Wx.FOG),
        ("ZFG", Wx.FOG),
        ("CTS", Wx.THUNDER_VICINITY),
    ],
)
def test_weather_run_into_another_group_or_cut_is_flagged(group: str, expected: Wx) -> None:
    """Typing slips, made by taking or adding one character or blank in real reports."""
    report = metar(f"24012KT {group} BKN020 {AIR}")
    assert flags(report) == expected
    assert group in " ".join(report.not_understood)


def test_a_gust_that_stands_alone_is_not_dropped() -> None:
    """Typing slip: 24012KT G25. A mean without its gust would read better than it is."""
    report = metar(f"24012KT G25 10SM CLR {AIR}")
    assert report.wind.state is WindState.NOT_UNDERSTOOD
    assert "24012KT G25" in report.not_understood


@pytest.mark.parametrize(
    ("group", "air"),
    [
        ("03/A2979", (3.0, None, 29.79)),
        ("20/M17A3002", (20.0, -17.0, 30.02)),
        ("M01/M02Q1013", (-1.0, -2.0, 29.91)),
        ("20/17A9999", (20.0, 17.0, None)),
    ],
)
def test_temperatures_run_into_the_pressure(group: str, air: tuple[float | None, ...]) -> None:
    """Printed so by automatic stations that lack the dew point."""
    report = metar(f"24012KT 10SM OVC020 {group} RMK AO2")
    assert (report.temperature_c, report.dewpoint_c, report.altimeter_inhg) == air
    assert report.sky.ceiling_ft_agl == 2000
    assert bool(report.not_understood) is (air[2] is None)


@pytest.mark.parametrize("first", ["1/4", "M1/4", "02/10"])
def test_two_temperatures_that_differ_are_both_unread(first: str) -> None:
    """A fraction of a mile that lost its SM is no temperature: 1/4 FG VV001 20/20 is 20 C, not 1 C."""
    report = metar(f"24012KT {first} FG VV001 20/20 A3000 RMK AO2")
    assert (report.temperature_c, report.dewpoint_c, report.visibility.miles) == (None, None, None)
    assert "20/20" in report.not_understood
    assert metar("24012KT 10SM CLR 20/10 20/10 A3000").temperature_c == 20.0


@pytest.mark.parametrize("blank", ["\u00a0", "\u2009", "\u3000", "\ufeff ", " \u200b"])
def test_blanks_of_a_copied_page(blank: str) -> None:
    report = metar(f"24012KT{blank}10SM CLR {AIR}")
    assert (report.wind.speed_kt, report.visibility.miles, report.not_understood) == (12, 10.0, ())


def test_calm_with_a_speed_is_not_calm() -> None:
    """00022KT contradicts itself: not understood, but 22 kt from anywhere is over a stop."""
    wind = metar(f"00022KT 10SM CLR {AIR}").wind
    assert wind.state is WindState.NOT_UNDERSTOOD
    assert (wind.speed_kt, wind.undirected_kt) == (None, 22)


@pytest.mark.parametrize(
    ("group", "miles"),
    [
        ("18SM", None),
        ("34SM", None),
        ("M14SM", None),
        ("15SM", 15.0),
        ("25SM", 25.0),
        ("13SM", 13.0),
        ("M1/4SM", 0.25),
    ],
)
def test_a_fraction_that_lost_its_solidus(group: str, miles: float | None) -> None:
    """FMH-1 reportable values (from memory): 1/8SM printed 18SM must not read as 18 miles."""
    assert metar(f"24012KT {group} BKN020 {AIR}").visibility.miles == miles


@pytest.mark.parametrize(
    ("groups", "miles"),
    [
        ("12SM FG", None),  # 1/2SM without its solidus
        ("9999 FZFG", None),
        ("2SM -DZ FG", None),
        ("1 3/4SM FG", 1.75),
        ("1SM FG", 1.0),
        ("1/2SM FG", 0.5),
        ("10SM BCFG", 10.0),  # patches, shallow or in the vicinity may lie under a good visibility
        ("10SM MIFG", 10.0),
        ("10SM VCFG", 10.0),
    ],
)
def test_fog_does_not_stand_beside_miles_of_visibility(groups: str, miles: float | None) -> None:
    """FMH-1 and FM 15: FG only under 5/8 mile or 1 km. Which of the two is wrong is not guessed."""
    report = metar(f"24012KT {groups} BKN020 {AIR}")
    assert report.visibility.miles == miles
    assert (groups.split()[0] in report.not_understood) is (miles is None)
    period = taf(f"FM252000 24012KT {groups} BKN020").periods[1]
    assert period.visibility is not None
    assert period.visibility.miles == miles


def test_knots_spelled_kts() -> None:
    wind = metar(f"24012G20KTS 10SM CLR {AIR}").wind
    assert (wind.from_deg_true, wind.speed_kt, wind.gust_kt) == (240, 12, 20)


@pytest.mark.parametrize(
    ("group", "mean", "gust"),
    [("///28KT", 28, None), ("///28G40KT", 28, 40), ("///10MPS", 19, None), ("/////KT", None, None)],
)
def test_a_speed_from_nowhere_known_is_kept_apart(group: str, mean: int | None, gust: int | None) -> None:
    """WMO FM 15: slashes for what an automatic station lacks. The wind is missing, its strength is not forgotten."""
    wind = metar(f"{group} 9999 BKN030 {AIR}").wind
    assert wind.state is WindState.MISSING
    assert (wind.from_deg_true, wind.speed_kt, wind.gust_kt) == (None, None, None)
    assert (wind.undirected_kt, wind.undirected_gust_kt) == (mean, gust)


@pytest.mark.parametrize(
    ("groups", "ceiling"),
    [("VV001///", 100), ("FEW010CU/// BKN020///", 2000), ("OVC010TCU///", 1000), ("VV///", None)],
)
def test_slashes_after_a_height(groups: str, ceiling: int | None) -> None:
    """WMO FM 15: /// for a cloud type an automatic station cannot tell."""
    assert metar(f"27010KT 9999 {groups} {AIR}").sky.ceiling_ft_agl == ceiling


@pytest.mark.parametrize(
    ("remark", "ceiling"),
    [
        ("SCT014 V BKN", 1400.0),
        ("BKN030 V OVC", 3000.0),
        ("SCT014 V FEW", 3000.0),
        ("CIG 012V020", 1200.0),
        ("SCT014", 3000.0),
    ],
)
def test_a_layer_that_is_broken_at_times_is_a_ceiling(remark: str, ceiling: float) -> None:
    """FMH-1, variable sky condition: SCT014 V BKN."""
    report = metar(f"27010KT 10SM SCT014 BKN030 {AIR} RMK AO2 {remark}")
    assert observation_segment(report, 0, 60.0).ceiling_ft == ceiling


@pytest.mark.parametrize(
    ("remark", "estimated"),
    [
        ("WND DATA ESTMD", True),
        ("WND ESTMD", True),
        ("WIND DATA ESTD", True),
        ("WINDS EST", True),
        ("EST WND", True),
        ("SKWY WNDS ESTMD CLN AIR", True),
        ("SLPNO WND ESTIMATED", True),
        ("ALSTG EST", False),
        ("WIND 700FT 24025KT", False),
        ("PK WND 30034/1741", False),
    ],
)
def test_an_estimated_wind_is_said_in_many_ways(remark: str, estimated: bool) -> None:
    """AFMAN 15-111: WND DATA ESTMD; the others are met in reports."""
    assert metar(f"27010KT 10SM CLR {AIR} RMK {remark}").remarks.wind_estimated is estimated


@pytest.mark.parametrize("mark", ["RTD", "CCA", "CCF", "COR"])
@pytest.mark.parametrize("text", ["{} XBRK 251753Z", "METAR {} XBRK 251753Z", "XBRK {} 251753Z", "XBRK 251753Z {}"])
def test_status_words_of_the_bulletin(mark: str, text: str) -> None:
    """WMO No. 386: AMD, COR, CCx and RTD, strayed from the heading into the report."""
    report = decode_metar(f"{text.format(mark)} 27010KT 10SM CLR {AIR}", NOW)
    assert (report.station, report.corrected, report.not_understood) == ("XBRK", True, ())


def test_the_archive_reads_them_the_same() -> None:
    raws = [f"XBRK 251753Z {case[0]}" for case in CLOUDS_AND_STORMS]
    raws += [
        f"XBRK 251753Z {group} {AIR} RMK {remark}"
        for group in (
            "24012KT 12SM FG BKN020",
            "24012KT 2SM FG BKN020",
            "24012KT 1 3/4SM FG BKN020",
            "24012KT 10SM BCFG CLR",
            "///28G40KT 9999 VV001///",
            "00022KT 10SM OVC020 03/A2979",
            "24012KT G25 10SM CLR",
            "24012KTS 3/4 SM FEW010CU///",
            "24012KT M1/4 FG VV001",
        )
        for remark in (
            "SCT014 V BKN",
            "EST WND",
            "WINDS EST",
            "WND ESTIMATED",
            "1CB020",
            "8/9//",
            "TORNADO B13",
            "SLP8/9",
        )
    ]
    raws.append(f"XBRK 251753Z 24012KT\u00a010SM CLR\u2009{AIR}")
    got = decode_archive(raws, np.full(len(raws), to_minutes(NOW)), 60.0)
    for i, raw in enumerate(raws):
        want = observation_segment(decode_metar(raw, NOW), 0, 60.0)
        for name in SEGMENT_COLUMNS:
            np.testing.assert_equal(got.columns[name][i].item(), getattr(want, name), err_msg=f"{name} {raw}")
