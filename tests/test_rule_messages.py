"""What a rule says, where the same rule says different things: the branch taken is the one that is true.

Sensors: PWINO is the present-weather identifier, FZRANO the freezing-rain sensor (NWS/FAA key to METAR, from memory).
+2 C is ``icing_temperature_c`` of the limits table. Radii: speed^2 / (11.294 tan bank), kt and ft, AFH chapter 7.
"""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from advisor.aircraft import Aircraft
from advisor.conditions import build_conditions
from advisor.limits import make_limits, stage_setup
from advisor.places import RunwayEnd
from advisor.rules.context import Context, number
from advisor.rules.registry import find_rule
from advisor.site import Site
from tests.fields import FAIR, field, given


def said(
    code: str,
    report: str,
    aircraft: Aircraft | None = None,
    site: Site | None = None,
    who: str = "pre-solo",
    **more: str,
) -> str:
    """What the rule says of the first row of one report."""
    c = build_conditions([given(report, site=site, **more)])
    context = Context(c.table, make_limits((stage_setup(who),)), aircraft or Aircraft("x", 90.0, 48.0, 12.0), c.sites)
    return find_rule(code).say(context, 0, 0, 0)


@pytest.mark.parametrize(
    ("remark", "temperature", "sensor", "silence"),
    [
        ("PWINO", "15", "present-weather sensor is out (PWINO)", "without rain, snow or fog"),
        ("PWINO", "03", "present-weather sensor is out (PWINO)", "without rain, snow or fog"),
        ("PWINO", "02", "present-weather sensor is out (PWINO)", "without freezing rain"),
        ("FZRANO", "02", "freezing-rain sensor is out (FZRANO)", "without freezing rain"),
        ("FZRANO", "//", "freezing-rain sensor is out (FZRANO)", "without freezing rain"),
        ("PWINO FZRANO", "02", "present-weather sensor is out (PWINO)", "without freezing rain"),
    ],
)
def test_the_sensor_that_is_out_is_named_and_what_its_silence_hides(
    remark: str, temperature: str, sensor: str, silence: str
) -> None:
    words = said("AU04", f"AUTO 22006KT 10SM OVC040 {temperature}/M05 A3000 RMK AO2 {remark}")
    assert sensor in words
    assert silence in words


@pytest.mark.parametrize(
    ("at", "expected"),
    [
        ("16:30", "the last report is 90 minutes old (care from 75, missing past 120 min)"),
        (
            "15:50",
            "the last report is 130 minutes old, past 120 minutes: it counts as missing and the forecast stands alone",
        ),
    ],
)
def test_an_old_report_is_said_with_what_its_age_comes_to(at: str, expected: str) -> None:
    """The limits table: age for a student with the instructor, care 75 minutes, stop 120."""
    assert said("AG01", f"22008KT {FAIR}", at=at, taf="2512/2612 22008KT P6SM SKC") == expected


def test_where_there_is_no_forecast_none_stands_alone() -> None:
    """Alone the stop is 75 minutes: a report of 90 stays as a warning, and nothing rates the hour."""
    words = said("AG01", f"22008KT {FAIR}", at="16:30", who="solo")
    assert words == "the last report is 90 minutes old, past 75 minutes: it counts as missing"


@pytest.mark.parametrize(("who", "care"), [("pre-solo", "3,000"), ("solo", "2,500")])
def test_thin_air_is_said_with_the_limit_of_the_stage(who: str, care: str) -> None:
    """The limits table: density altitude above the field, care 3,000 ft, for a student alone 2,500."""
    assert f"care {care} ft" in said("TE03", "22008KT 10SM CLR 39/14 A2985", who=who)


def test_air_hardly_over_its_limit_reads_as_over() -> None:
    """At 34.5 C and 29.60 inHg the air is a fraction of a foot over 3,000 above the field: not "3,000 ft, care 3,000"."""
    words = said("TE03", "22008KT 10SM CLR 34/10 A2960 RMK T03450100")
    above = re.search(r"([\d,.]+) ft above the field", words)
    assert above is not None
    assert 3000.0 < float(above[1].replace(",", "")) < 3001.0


@pytest.mark.parametrize(("wind", "words"), [("22026KT", "wind of 26 kt"), ("22018G26KT", "gusts to 26 kt")])
def test_a_peak_without_a_gust_is_no_gust(wind: str, words: str) -> None:
    """The limits table: peak, the larger of mean and gust, care 25, stop 30 kt."""
    assert said("GU01", f"{wind} {FAIR}") == f"{words} (care 25, stop 30 kt)"


def test_two_ends_inside_the_tailwind_limit_are_told_apart_by_the_crosswind() -> None:
    """3 kt from 230 behind an end that looks towards 043, or across one towards 313: the least crosswind wins."""
    words = said("XW01", f"23003KT {FAIR}", site=field(runways=["04", "31"]))
    assert "on runway 04" in words


def test_a_swing_where_no_runway_is_known_is_said_with_what_it_could_put_behind() -> None:
    """Half of a swing of 80 degrees is behind one end or the other: 12 kt times sin 40 is 7.7; stop 5 kt."""
    swinging = said("XW04", f"22012KT 180V260 {FAIR}", site=field(runways=[]))
    assert "its swing could put 8 kt behind at either end (stop 5 kt)" in swinging
    assert "behind" not in said("XW04", f"22012KT {FAIR}", site=field(runways=[]))


def test_virga_is_said_as_virga() -> None:
    """Rain that dries up below the cloud, and the gusts under it: AIM 7-1, virga."""
    words = said("TS05", "22008KT 10SM SCT090 15/05 A3000 RMK AO2 VIRGA")
    assert words.startswith("virga")
    assert words != said("TS05", "22008KT 10SM SCT090 15/05 A3000 RMK AO2")
    assert said("TS05", "22008KT 10SM SCT090TCU 15/05 A3000 RMK AO2 VIRGA").startswith("towering cumulus")


@pytest.mark.parametrize(
    ("tas_kt", "wind", "expected"),
    [
        # about 113 kt true and 38 kt at height: 151^2 / (11.294 tan 30) is 3,500 ft, at 45 degrees 2,020
        (110.0, "22024KT", "the planned 30 degrees of bank needs 3,"),
        # 113 + 64 kt: 177^2 / 11.294 is 2,770 ft at 45 degrees, over the practical 2,600
        (110.0, "22040KT", "even 45 degrees of bank needs 2,"),
        # 51 kt true in a wind at height of 1.6 times 40 kt: downwind of everything
        (50.0, "22040KT", "as fast as the aircraft: no circle can be held"),
    ],
)
def test_why_no_radius_will_do(tas_kt: float, wind: str, expected: str) -> None:
    words = said("DE02", f"{wind} 10SM CLR 15/05 A3000", Aircraft("x", tas_kt, 40.0, 12.0))
    assert expected in words


@pytest.mark.parametrize(
    ("wind", "runways", "expected"),
    [
        # across runway 04/22 (043 true): 13013KT all of 13 kt; 09009KT 9 sin 47 degrees, 7 kt, into wind on 04
        ("13013KT", ["04", "22"], "13 kt on runway "),
        ("09009KT", ["04", "22"], "crosswind 7 kt on runway 04"),
        ("VRB08KT", ["04", "22"], "8 kt counted as crosswind, all of it, the direction being variable"),
        ("13013KT", [], "13 kt counted as crosswind, all of it, no runway being known"),
    ],
)
@pytest.mark.parametrize("code", ["XW01", "XW02"])
def test_the_crosswind_is_said_with_its_runway_or_why_there_is_none(
    code: str, wind: str, runways: list[str], expected: str
) -> None:
    assert expected in said(code, f"{wind} 10SM CLR 15/05 A3000", site=field(runways=runways))


@pytest.mark.parametrize(("who", "limits"), [("pre-solo", "(care 8, stop 12 kt)"), ("solo", "(care 5, stop 7 kt)")])
def test_the_crosswind_of_landing_practice_is_said_with_both_its_limits(who: str, limits: str) -> None:
    """The limits table: care 8, stop 12 kt, alone 5 and 7; the trainer has demonstrated 12."""
    assert said("XW01", f"08012KT {FAIR}", who=who).endswith(limits)


@pytest.mark.parametrize(
    ("weather", "words"), [("-SN", "snow or ice"), ("PL", "snow or ice"), ("-RA", "precipitation")]
)
def test_what_falls_near_freezing_is_named(weather: str, words: str) -> None:
    assert said("IC01", f"22008KT 5SM {weather} OVC030 01/00 A2990").startswith(words)


@pytest.mark.parametrize(
    ("who", "limits"),
    [
        # the limits table: with the instructor the aircraft's own figure, 12 kt, asks; alone the limits of the stage
        ("pre-solo", "(ask first above the demonstrated 12, stop 15 kt)"),
        ("solo", "(care 5, stop 7 kt)"),
    ],
)
def test_the_landing_afterwards_is_said_with_the_limits_of_the_stage(who: str, limits: str) -> None:
    words = said("XW02", f"08012KT {FAIR}", who=who)
    assert words.startswith("the landing afterwards: crosswind ")
    assert words.endswith(limits)


def test_a_tailwind_is_said_with_its_runway_and_limits() -> None:
    """6 kt from 220 on a strip that can be landed on towards 043 only; the limits table: care 3, stop 5 kt."""
    words = said("XW03", "22006KT 10SM CLR 15/05 A3000", site=field(runways=["04"]))
    assert words == "tailwind 6 kt on runway 04 (care 3, stop 5 kt)"


def test_a_tailwind_on_base_is_said_with_the_limit_of_the_stage() -> None:
    """31012KT and left turns onto runway 04: base is flown towards 133 true. The limits table: care 8 kt."""
    site = field(runways=["04"], runway="04", pattern="left")
    words = said("XW06", "31012KT 10SM CLR 15/05 A3000", site=site)
    assert words.startswith("tailwind 12 kt on base for runway 04 (care 8 kt): a fast base")


@pytest.mark.parametrize("either_side_deg", [1, 2, 3, 5, 20, 45])
def test_of_two_ends_tied_in_the_wind_the_first_is_named_whatever_the_last_bit_of_a_sine(either_side_deg: int) -> None:
    """Equal by symmetry about the wind; base is flown with it behind on one of them only."""
    left, right = (RunwayEnd(name, bearing, 3000, "asphalt") for name, bearing in
                   (("A", 10.0 - either_side_deg), ("B", 10.0 + either_side_deg)))  # fmt: skip
    for ends in ((left, right), (right, left)):
        words = said("XW01", "01015KT 10SM CLR 15/05 A3000", site=replace(field(), runways=ends))
        assert f"on runway {ends[0].name} " in words


@pytest.mark.parametrize(
    ("value", "limits", "expected"),
    [
        (12.0, (12.0,), "12"),  # at the limit
        (11.6, (12.0,), "11.6"),  # below it: 12 would read as at it
        (12.4, (12.0,), "12.4"),
        (11.96, (12.0,), "11.96"),
        (12.6, (12.0,), "13"),  # above, and reads as above
        (14.6, (12.0, 15.0), "14.6"),
        (2795.4, (2600.0,), "2,795"),
        (7.7, (), "8"),
        (float("nan"), (12.0,), "unknown"),
        (8.2, (float("inf"),), "8"),
    ],
)
def test_a_rounded_number_stays_on_its_side_of_a_limit(value: float, limits: tuple[float, ...], expected: str) -> None:
    """Worked by hand: whole numbers, unless the whole number stands elsewhere to the limit than the value."""
    assert number(value, *limits) == expected


@pytest.mark.parametrize(
    ("group", "words"),
    [
        ("P6SM", "more than 6"), ("M1/4SM", "less than 0.25"), ("1/4SM", "0.25"), ("6SM", "6"), ("2 1/2SM", "2.5"),
        ("4800", "2.98"),  # 4,800 m = 2.983 SM, below the stop of 3
    ],
)  # fmt: skip
def test_a_visibility_with_a_bound_is_said_as_reported(group: str, words: str) -> None:
    """P and M are more than and less than (FMH-1 12.6.6 and NWSI 10-813, from memory); 6.01 SM nobody reported."""
    assert said("VS01", f"22008KT {group} CLR 15/05 A3000") == f"visibility {words} SM (care 5, stop 3 SM)"
