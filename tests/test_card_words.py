"""The wind at the field in words and by runway, and what else a lesson card says beside its plan.

What a variable wind counts as on a runway: the limits table (full speed across, never a tailwind); a possible group is
not the wind of the hour: the same.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from advisor.advice import PracticeDay, practice_days
from advisor.card import lesson_card
from advisor.card.model import LessonCard
from advisor.cli import run
from advisor.lessons import lesson, lessons
from advisor.limits import stage_setup
from advisor.present.card import card_standing, mark_table
from advisor.rules.registry import Suitability
from advisor.school import PracticeArea, PracticeField, School
from tests.day_case import TRAINER
from tests.fields import FAIR, field, given

# -- the wind at the field ---------------------------------------------------------------------------------


def card(report: str, taf: str | None = None, hour: int = 18, **site: object) -> LessonCard:
    source = given(report, taf, site=field(**site) if site else None)
    day: PracticeDay = practice_days([source], (stage_setup("pre-solo"),), TRAINER)[0]
    return lesson_card(day, "pre-solo", lesson("tracking"), day.made_at.replace(hour=hour))


@pytest.mark.parametrize(
    ("wind", "words"),
    [
        ("22008KT", "220° true (217° magnetic) 8 kt, no gust reported."),
        ("22008G15KT", "8 kt gusting 15 kt."),
        ("VRB05KT", "variable 5 kt, no gust reported."),
        ("VRB05G14KT", "variable 5 kt gusting 14 kt."),
        ("36012KT 320V040", "swinging 320° to 040° true."),
        ("00000KT", "calm."),
        ("/////KT", "not known."),
    ],
)
def test_the_wind_at_the_field_is_said_with_its_gust_or_that_none_was_reported(wind: str, words: str) -> None:
    said = card(f"{wind} {FAIR}").surface_words
    assert said.startswith("Wind at the field: ")
    assert said.endswith(words), said


def test_a_variable_wind_is_all_across_and_never_behind_on_every_runway() -> None:
    found = card(f"VRB05G09KT {FAIR}").runways
    assert len(found) == 4
    assert {(r.cross_kt, r.head_kt, r.from_side) for r in found} == {((5.0, 9.0), (0.0, 0.0), "either side")}


@pytest.mark.parametrize(
    ("wind", "head"),
    [
        # the only end looks towards 043; what swings behind it counts with the gust, at its worst
        ("22008G15KT", (-8.0, -15.0)),
        ("04008G15KT", (8.0, 15.0)),
        (
            "12010KT 080V160",
            (10 * math.cos(math.radians(120 - 42.7)), 10 * math.cos(math.radians(160 - 42.7))),
        ),
    ],
)
def test_the_wind_along_a_runway_is_of_the_mean_and_at_its_worst(wind: str, head: tuple[float, float]) -> None:
    (row,) = card(f"{wind} {FAIR}", runways=["04"]).runways
    assert row.head_kt == pytest.approx(head, abs=0.05)


@pytest.mark.parametrize(
    ("wind", "side"),
    [("08010KT", "from the right"), ("36010KT", "from the left"), ("04310KT", "none"), ("00000KT", "none")],
)
def test_the_side_a_crosswind_comes_from_is_named(wind: str, side: str) -> None:
    """The only end looks towards 043; less than half a knot across has no side."""
    (row,) = card(f"{wind} {FAIR}", runways=["04"]).runways
    assert row.from_side == side


def test_the_wind_of_the_hour_is_the_one_that_prevails_not_one_that_is_possible() -> None:
    taf = "2512/2612 22008KT P6SM SKC TEMPO 2520/2523 22014G24KT"
    found = card(f"22008KT {FAIR}", taf, hour=21)
    assert " 8 kt, no gust reported." in found.surface_words
    assert max(r.cross_kt[1] for r in found.runways) <= 8.0


# -- the rest of the card ----------------------------------------------------------------------------------


def test_the_other_lessons_are_those_taught_at_the_stage_the_best_first() -> None:
    shown = card(f"22018KT {FAIR}").others
    taught = [x for x in lessons() if x.taught("pre-solo") and x.key != "tracking"]
    assert sorted(title for title, _ in shown) == sorted(x.title.lower() for x in taught)
    order = [s.words for s in sorted(Suitability, reverse=True)]
    places = [order.index(words) for _, words in shown]
    assert places == sorted(places)
    assert len(set(places)) > 1


def test_five_knots_less_than_a_light_wind_is_none() -> None:
    """3 kt at the field are up to 6 at height (mixed: at least 3 kt more); a kt at the field up to 4."""
    for wind, less in (("22003KT", "5 kt less, 1 kt"), ("22001KT", "5 kt less, 0 kt")):
        assert card(f"{wind} {FAIR}").sensitivity[2].label == less
    assert card(f"22001KT {FAIR}").sensitivity[2].crab_deg == 0.0


def test_a_little_more_wind_asks_for_other_pivotal_heights() -> None:
    """Exactly V (V - W) / 11.3 into wind and V (V + W) / 11.3 downwind: derived, shared/derived_values.csv."""
    source = given(f"22010KT {FAIR}")
    day = practice_days([source], (stage_setup("commercial"),), TRAINER)[0]
    found = lesson_card(day, "commercial", lesson("eights-on-pylons"), day.made_at)
    assert [x.label for x in found.sensitivity] == ["drawn, 15 kt", "5 kt more, 20 kt", "5 kt less, 10 kt"]
    v = found.tas_kt or 0.0
    for row, w in zip(found.sensitivity, (15.0, 20.0, 10.0), strict=True):
        assert row.heights_ft == pytest.approx((v * (v - w) / 11.294, v * (v + w) / 11.294), rel=1e-3)
        assert (row.slowest_kt, row.fastest_kt) == pytest.approx((v - w, v + w))
        assert row.crab_deg == pytest.approx(math.degrees(math.atan(w / v)))


def test_the_table_of_the_pylons_gives_a_bank_at_every_place_the_steepest_flying_downwind() -> None:
    """35 degrees are planned flying downwind; the lower pivotal height into wind is flown with less (AFH chapter 7)."""
    source = given(f"22012KT {FAIR}")
    day = practice_days([source], (stage_setup("commercial"),), TRAINER)[0]
    table = mark_table(lesson_card(day, "commercial", lesson("eights-on-pylons"), day.made_at))
    assert table is not None
    banks = [int(row[table.head.index("bank °")]) for row in table.rows]
    assert banks[0] == max(banks) == 35
    assert banks[4] == min(banks) < 35


@pytest.mark.parametrize("key", ["tracking", "turns-around-a-point", "eights-on-pylons"])
def test_a_wind_as_strong_as_the_aircraft_gives_no_number(key: str) -> None:
    source = given(f"22062KT {FAIR}")  # windy: 1.6 times, 99 kt at height, and 92 kt true
    day = practice_days([source], (stage_setup("commercial"),), TRAINER)[0]
    found = lesson_card(day, "commercial", lesson(key), day.made_at)
    assert (found.plan, found.astray, found.sensitivity) == (None, None, ())
    assert "may reach 99 kt, as much as the true airspeed of 9" in found.why_not


def test_a_rectangle_takes_the_size_of_the_field_that_is_named() -> None:
    fields = (PracticeField("Paddock", 85.0, 1500.0, 1200.0), PracticeField("Section", 40.0, 5280.0, 2640.0))
    areas = (
        PracticeArea("West", 41.05, -97.1, 1300.0, None, (), fields[:1]),
        PracticeArea("North", 41.1, -97.0, 1300.0, None, (), fields),
    )
    source = given(f"22010KT {FAIR}")
    day = practice_days([source], (stage_setup("pre-solo"),), TRAINER)[0]
    for named in (areas, areas[::-1]):
        school = School("made up", practice_areas=named)
        found = lesson_card(day, "pre-solo", lesson("rectangular-course"), day.made_at, school=school)
        assert found.reference is not None
        assert (found.reference.name, found.reference.size_ft) == ("Section", (5280.0, 2640.0))
        assert found.plan is not None
        corners = np.array(found.plan.ground[0].corners)
        sides = np.hypot(*np.diff(corners, axis=0).T)
        assert sorted(sides.round()) == [2640.0, 2640.0, 5280.0] or sorted(sides.round()) == [2640.0, 5280.0, 5280.0]


@pytest.mark.parametrize(
    ("taf", "says"),
    [
        ("2512/2612 22008KT P6SM SKC", "XBRK, issued 06:30 CDT (1130Z), until Sun 26 Apr 07:00 CDT (261200Z)."),
        (None, "none that can be used."),
    ],
)
def test_the_foot_of_the_card_says_how_old_its_report_is_and_until_when_its_forecast_holds(
    taf: str | None, says: str
) -> None:
    """The field keeps US Central time, in April five hours behind UTC."""
    day = practice_days([given(f"22008KT {FAIR}", taf)], (stage_setup("pre-solo"),), TRAINER)[0]
    report, forecast, *_ = card_standing(lesson_card(day, "pre-solo", lesson("tracking"), day.made_at))
    assert report == "Report: XBRK 12:53 CDT (1753Z), 7 minutes old."
    assert forecast == f"Forecast: {says}"


def test_a_place_of_the_practice_area_is_told_from_the_field(capsys: pytest.CaptureFixture[str]) -> None:
    """The demo's area lies at 41.17 N, its field at 41.05 N, almost due south: 60 NM a degree."""
    assert run(["lesson", "rectangular-course", "XBRK"]) == 0
    assert "Bracken north, 7 NM N of XBRK: Mile section" in " ".join(capsys.readouterr().out.split())
