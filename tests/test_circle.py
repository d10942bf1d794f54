"""Circles over the ground: the clock of a turn around a point, S-turns, eights, radius, sight picture."""

from __future__ import annotations

import numpy as np
import pytest

from advisor.errors import GeometryError, ImpossibleTriangle
from advisor.flight import circle
from advisor.flight.demand import LEFT, RIGHT, WindRange
from advisor.flight.eights import across_a_road, along_a_road, around_pylons
from advisor.flight.loops import around_a_point, loop, place_words
from advisor.flight.radius import radius_advice
from advisor.flight.s_turns import s_turns
from advisor.flight.sight_picture import distance_for_angle_ft, sight_picture
from advisor.limits import table

# Derived by an independent time-step simulation, TAS 90, wind 15, 1,320 ft: course from downwind -> groundspeed,
# crab, bank, heading rate
CLOCK = [
    (0, 105.0, 0.0, 36.5, 8.97),
    (30, 102.7, 4.8, 35.4, 8.61),
    (60, 96.6, 8.3, 32.3, 7.67),
    (90, 88.7, 9.6, 28.2, 6.50),
    (120, 81.6, 8.3, 24.3, 5.47),
    (150, 76.7, 4.8, 21.6, 4.81),
    (180, 75.0, 0.0, 20.7, 4.58),
]


@pytest.mark.parametrize("turn", [LEFT, RIGHT])
@pytest.mark.parametrize(("at", "speed", "crab", "bank", "rate"), CLOCK)
def test_bank_clock(at, speed, crab, bank, rate, turn):
    there = circle.at_places(90, 0, 15, 1320, at, turn)
    assert there.groundspeed_kt == pytest.approx(speed, abs=0.06)
    assert there.crab_deg == pytest.approx(turn * crab, abs=0.06)  # nose to the inside on this half
    assert there.bank_deg == pytest.approx(bank, abs=0.06)
    assert there.heading_rate_deg_s == pytest.approx(turn * rate, abs=0.006)
    back = circle.at_places(90, 0, 15, 1320, 360 - at, turn)
    assert back.bank_deg == pytest.approx(float(there.bank_deg))
    assert back.crab_deg == pytest.approx(-float(there.crab_deg))  # and to the outside on the other


# Same simulation: TAS, radius, wind -> bank downwind, across, into wind, largest crab, seconds
ROWS = [
    (80, 1320, 10, 28.5, 23.1, 18.2, 7.2, 62.2),
    (90, 1519, 10, 30.2, 25.1, 20.5, 6.4, 63.4),
    (90, 1519, 15, 32.7, 25.0, 18.2, 9.6, 64.2),
    (90, 2000, 20, 28.2, 19.3, 12.2, 12.8, 85.9),
    (100, 1320, 15, 41.6, 33.6, 25.9, 8.6, 50.0),
    (100, 1519, 20, 40.0, 29.7, 20.5, 11.5, 58.3),
    (100, 2000, 15, 30.3, 23.6, 17.7, 8.6, 75.7),
    (110, 1320, 12, 45.0, 38.9, 32.8, 6.3, 45.1),
]


@pytest.mark.parametrize(("tas", "radius", "wind", "down", "across", "up", "crab", "seconds"), ROWS)
def test_more_circles(tas, radius, wind, down, across, up, crab, seconds):
    assert circle.steepest_bank_deg(tas, wind, radius) == pytest.approx(down, abs=0.06)
    assert circle.shallowest_bank_deg(tas, wind, radius) == pytest.approx(up, abs=0.06)
    assert circle.max_crab_deg(tas, wind) == pytest.approx(crab, abs=0.06)
    assert circle.seconds_per_circle(tas, wind, radius) == pytest.approx(seconds, abs=0.06)
    eight = circle.clock_positions(tas, 250, wind, radius, LEFT)
    assert eight.bank_deg[[0, 2, 4, 6]] == pytest.approx([down, across, up, across], abs=0.06)


# R = (V + W)^2 / 11.294 for 45 degrees directly downwind; the 45 is the handbook's (source key afh-3c-ch7)
@pytest.mark.parametrize(
    ("tas", "wind", "radius", "into_wind"),
    [
        (90, 5, 799, 38.7),
        (90, 10, 885, 32.6),
        (90, 15, 976, 27.0),
        (90, 20, 1071, 22.0),
        (100, 20, 1275, 24.0),
    ],
)
def test_radius_for_45(tas, wind, radius, into_wind):
    assert circle.radius_for_bank_ft(tas, wind, 45) == pytest.approx(radius, abs=1)
    assert circle.shallowest_bank_deg(tas, wind, radius) == pytest.approx(into_wind, abs=0.06)


def test_positions_of_a_left_and_a_right_turn():
    """Wind from 12 o'clock: a left turn flies downwind at 9 o'clock, a right turn at 3."""
    left = circle.clock_positions(90, 0, 15, 1320, LEFT)
    right = circle.clock_positions(90, 0, 15, 1320, RIGHT)
    assert left.position_deg == pytest.approx([270, 225, 180, 135, 90, 45, 0, 315])
    assert right.position_deg == pytest.approx([90, 135, 180, 225, 270, 315, 0, 45])
    assert left.course_deg[0] == right.course_deg[0] == 180


def test_wind_as_strong_as_the_airspeed_is_no_circle():
    for value in (
        circle.steepest_bank_deg(90, 90, 1000),
        circle.radius_for_bank_ft(90, 95, 30),
        circle.seconds_per_circle(90, 90, 1000),
        circle.max_crab_deg(90, np.nan),
        circle.at_places(90, 0, 90, 1000, 90, LEFT).bank_deg,
        circle.seconds_per_circle(90, 10, -5),
    ):
        assert np.isnan(value)
    with pytest.raises(ImpossibleTriangle, match="no circle closes"):
        around_a_point(90, WindRange(10, 90, 0), 1000, LEFT)


def test_half_circles_and_quarters():
    """The quarter pair around downwind takes 24.9 s, around into wind 30.9; both halves 27.9 (derived)."""
    between = circle.seconds_between(90, 15, 1320, [-90, 90, 0, 180], [90, 270, 180, 360])
    assert between == pytest.approx([24.9, 30.9, 27.9, 27.9], abs=0.06)
    assert between[0] + between[1] == pytest.approx(float(circle.seconds_per_circle(90, 15, 1320)))


def test_constant_bank():
    """90 kt, 30 degrees, 15 kt: about 1,300 ft a turn (derived)."""
    kept = circle.constant_bank_drift(90, 15, 30)
    assert kept.drift_ft == pytest.approx(1300, abs=2)
    assert kept.air_radius_ft == pytest.approx(1242, abs=1)


def test_around_a_point_is_a_range():
    places = around_a_point(90, WindRange(10, 20, 350, 20), 1519, RIGHT)
    assert [p.name for p in places][::4] == ["flying downwind", "flying into wind"]
    assert places[0].bank_deg == pytest.approx((30.2, 35.2), abs=0.06)
    assert places[2].crab_deg == pytest.approx((6.4, 12.8), abs=0.06)
    assert places[0].heading_arc_deg_true == pytest.approx((170, 190))
    assert places[2].course_deg_true == pytest.approx(270)
    # crab 6.4 to 12.8 right of courses 260 to 280
    assert places[2].heading_arc_deg_true == pytest.approx((266.4, 292.8), abs=0.06)


@pytest.mark.parametrize("from_deg", [0, 90, 200])
@pytest.mark.parametrize("first", [LEFT, RIGHT])
def test_s_turns_square_to_the_wind(from_deg, first):
    laid = s_turns(90, WindRange(15, 15, from_deg), 1320, from_deg + 90, first)
    assert laid.off_square_deg == pytest.approx(0)
    assert laid.crossing_deg_true == pytest.approx((from_deg + 180) % 360)
    first_banks = [p.bank_deg[0] for p in laid.first.places]
    assert first_banks == pytest.approx([36.5, 34.0, 28.2, 22.7, 20.7], abs=0.06)
    assert [p.bank_deg[0] for p in laid.second.places] == pytest.approx(first_banks[::-1], abs=1e-6)
    assert laid.first.seconds == pytest.approx((27.9, 27.9), abs=0.06)
    assert laid.first.turn == -laid.second.turn == first


def test_s_turns_off_square_keep_both_halves_equal():
    laid = s_turns(90, WindRange(12, 22, 20, 25), 1500, 80, RIGHT)
    assert laid.off_square_deg == pytest.approx(42.5)
    assert laid.first.seconds == pytest.approx(laid.second.seconds)
    # off square the steepest bank is no longer at the road but where downwind is really flown
    banks = [p.bank_deg[1] for p in laid.first.places]
    assert banks[1] > banks[0] + 1


def test_eights_on_roads():
    wind = WindRange(15, 15, 0)
    for eight in (along_a_road(90, wind, 1320, 180), across_a_road(90, wind, 1320, 90)):
        assert eight.entry_course_deg_true == pytest.approx(180)
        assert [part.turn for part in eight.loops] == [LEFT, RIGHT]
        for part in eight.loops:
            assert len(part.places) == 9
            assert max(p.bank_deg[1] for p in part.places) == pytest.approx(36.5, abs=0.06)
            assert min(p.bank_deg[0] for p in part.places) == pytest.approx(20.7, abs=0.06)
        crabs = [[p.crab_deg[0] for p in part.places] for part in eight.loops]
        assert crabs[0] == pytest.approx([-c for c in crabs[1]])  # mirror
    assert along_a_road(90, wind, 1320, 30).off_wind_deg == pytest.approx(30)


def test_eights_around_pylons():
    """No straight leg at D = 2R; else the tangent lies asin(2R/D) off the pylon line (derived)."""
    wind = WindRange(15, 15, 0)
    touching = around_pylons(90, wind, 1320, 90, 2640)
    assert touching.leg_ft == pytest.approx(0)
    assert touching.loops[0].sweep_deg == pytest.approx(360)
    assert [leg.course_deg_true for leg in touching.legs] == pytest.approx([180, 180])
    apart = around_pylons(90, wind, 1320, 90, 5280)
    assert apart.leg_to_line_deg == pytest.approx(30)
    assert apart.leg_ft == pytest.approx(5280 * np.sqrt(3) / 2)
    assert [leg.course_deg_true for leg in apart.legs] == pytest.approx([120, 240])
    assert apart.loops[0].sweep_deg == pytest.approx(240)
    # both legs run downwind, and the left turn goes from the first leg's course round to the second's
    assert all(leg.groundspeed_kt[0] > 90 for leg in apart.legs)
    left = apart.loops[0].places
    assert left[0].course_deg_true == pytest.approx(120)
    assert left[-1].course_deg_true == pytest.approx(240)
    assert any(p.name == "flying into wind" for p in left)
    assert around_pylons(90, wind, 1320, 60, 5280).off_wind_deg == pytest.approx(30)
    with pytest.raises(GeometryError, match="leave no room"):
        around_pylons(90, wind, 1320, 90, 2600)


def test_words_of_places():
    assert place_words(0) == place_words(359) == "flying downwind"
    assert place_words(90) == "crosswind, nose inside"
    assert place_words(-90) == "crosswind, nose outside"
    assert place_words(180) == "flying into wind"


@pytest.mark.parametrize("radius", [0, -5, np.nan, np.inf])
def test_no_radius_is_refused(radius):
    with pytest.raises(GeometryError, match="above 0 ft"):
        loop(90, WindRange(5, 10, 0), radius, 0, LEFT, 90)
    with pytest.raises(GeometryError, match="above 0 ft"):
        around_pylons(90, WindRange(5, 10, 0), radius, 90, 5280)


def test_radius_advice_holds_the_planned_bank_at_the_high_wind():
    advice = radius_advice(90, WindRange(15, 22, 250), 30)
    assert advice.holds_planned
    assert advice.steepest_bank_deg[1] == pytest.approx(30)
    assert advice.radius_ft == pytest.approx((112**2) / 11.294 / np.tan(np.radians(30)), rel=1e-4)
    assert advice.radius_nm == pytest.approx(advice.radius_ft / 6076.1, rel=1e-4)
    assert advice.runway_lengths == pytest.approx(advice.radius_ft / 3000)
    assert "30 degrees of bank" in advice.says


def test_radius_advice_says_when_there_is_none():
    advice = radius_advice(110, WindRange(20, 40, 250), 30)
    assert advice.needed_ft > 2600 == advice.radius_ft
    assert not advice.holds_planned
    assert advice.holds_exit == (advice.steepest_bank_deg[1] <= 45)
    assert "No practical radius holds 30 degrees" in advice.says
    worse = radius_advice(130, WindRange(20, 60, 250), 30)
    assert not worse.holds_exit
    assert "begins again farther out" in worse.says


def test_largest_radius_is_the_limits_table():
    advice = radius_advice(120, WindRange(40, 50, 0), 30)
    assert advice.radius_ft == float(table()["fixed"]["practical_radius_ft"]["value"])


def test_sight_picture():
    seen = sight_picture(1000, 1000, 30)
    assert seen.below_horizon_deg == pytest.approx(45)
    assert seen.slant_ft == pytest.approx(1414.2, abs=0.1)
    assert seen.above_wing_deg == pytest.approx(-15)
    assert distance_for_angle_ft(1000, 45) == pytest.approx(1000)
    assert np.isnan(sight_picture(-1, 1000).below_horizon_deg)
    assert np.isnan(distance_for_angle_ft(1000, [0, 91])).all()
