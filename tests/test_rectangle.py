"""Rectangular course and tracking. Handbook corners in words: test_geometry_published.py."""

from __future__ import annotations

import pytest

from advisor.errors import GeometryError, ImpossibleTriangle
from advisor.flight.demand import LEFT, RIGHT, BankWord, WindRange
from advisor.flight.rectangle import LEG_NAMES, bank_word, best_downwind_course, leg_courses, rectangle
from advisor.flight.tracking import crosswind_amount_kt, most_crosswind, track_road


def test_oblique_wind_to_the_left():
    """Downwind 180, wind 030/15, TAS 90: headings, groundspeeds and turns checked by hand (derived)."""
    laid = rectangle(90, WindRange(15, 15, 30), 180, LEFT, 1500)
    assert [leg.name for leg in laid.legs] == list(LEG_NAMES)
    assert [leg.heading_arc_deg_true[0] for leg in laid.legs] == pytest.approx([175.2, 81.7, 4.8, 278.3], abs=0.06)
    assert [leg.groundspeed_kt[0] for leg in laid.legs] == pytest.approx([102.7, 81.6, 76.7, 96.6], abs=0.06)
    turns = [c.turn_deg[0] for c in laid.corners]
    assert turns == pytest.approx([93.5, 76.9, 86.5, 103.1], abs=0.06)
    assert sum(turns) == pytest.approx(360)


# TAS 90, wind along the downwind leg: 90 +/- asin(W/V) (handbook in words, afh-3c-ch7; numbers derived)
@pytest.mark.parametrize(
    ("wind", "more", "less"), [(10, 96.4, 83.6), (15, 99.6, 80.4), (20, 102.8, 77.2), (30, 109.5, 70.5)]
)
@pytest.mark.parametrize("side", [LEFT, RIGHT])
def test_turn_amounts(wind, more, less, side):
    laid = rectangle(90, WindRange(wind, wind, 360), 180, side, 1500)
    assert [c.turn_deg[0] for c in laid.corners] == pytest.approx([more, less, less, more], abs=0.06)


@pytest.mark.parametrize("side", [LEFT, RIGHT])
def test_bank_words_all_round(side):
    laid = rectangle(90, WindRange(15, 15, 0), 180, side, 1500)
    assert [c.words for c in laid.corners] == [
        "steep, shallowing to medium",
        "medium, shallowing to shallow",
        "shallow, steepening to medium",
        "medium, steepening to steep",
    ]
    assert laid.corners[0].bank_deg == pytest.approx(
        (laid.corners[0].bank_leaving_deg[0], laid.corners[0].bank_entering_deg[1])
    )


def test_a_corner_through_downwind_is_steepest_inside():
    """Wind on the corner's bisector: the steepest bank is met in the middle of the turn, not at its ends."""
    corner = rectangle(90, WindRange(15, 15, 315), 90, RIGHT, 1500).corners[0]  # 090 to 180, downwind is 135
    assert corner.bank_deg[1] > max(corner.bank_entering_deg[1], corner.bank_leaving_deg[1]) + 0.5
    assert corner.words == "steep throughout"


def test_calm():
    laid = rectangle(90, WindRange(0, 0, 0), 180, LEFT, 1500)
    assert {c.words for c in laid.corners} == {"medium throughout"}
    assert all(leg.crab_deg == pytest.approx((0, 0)) for leg in laid.legs)


def test_a_variable_wind_has_no_words():
    laid = rectangle(90, WindRange(4, 8, 0, 360), 180, LEFT, 1500)
    assert {c.words for c in laid.corners} == {""}
    assert laid.corners[0].turn_deg[0] < 90 < laid.corners[0].turn_deg[1]


def test_times_leave_the_corners_out():
    laid = rectangle(90, WindRange(0, 0, 0), 180, LEFT, 1000, (6000, 4000))
    seconds = [leg.seconds[0] for leg in laid.legs]
    assert seconds == pytest.approx([4000 / 90 / 1.68781, 2000 / 90 / 1.68781] * 2, rel=1e-4)
    with pytest.raises(GeometryError, match="do not fit"):
        rectangle(90, WindRange(0, 0, 0), 180, LEFT, 2500, (6000, 4000))


def test_courses_left_and_right():
    assert leg_courses(180, LEFT) == (180, 90, 0, 270)
    assert leg_courses(180, RIGHT) == (180, 270, 0, 90)


@pytest.mark.parametrize(("field", "from_deg", "course"), [(0, 350, 180), (10, 280, 100), (45, 0, 135), (87, 180, 357)])
def test_the_side_nearest_downwind(field, from_deg, course):
    found = best_downwind_course(field, WindRange(10, 10, from_deg))
    assert found == pytest.approx(course) or abs((found - from_deg - 180 + 180) % 360 - 180) <= 45


@pytest.mark.parametrize(
    ("off", "word"),
    [(0, "steep"), (60, "steep"), (61, "medium"), (-90, "medium"), (120, "shallow"), (180, "shallow")],
)
def test_bank_word(off, word):
    assert bank_word(off) is BankWord(word)


def test_too_much_wind_is_refused():
    with pytest.raises(ImpossibleTriangle, match="90 kt of true airspeed"):
        rectangle(90, WindRange(20, 95, 0), 180, LEFT, 1500)


@pytest.mark.parametrize(
    ("low", "high", "start", "width"), [(10, 5, 0, 0), (-1, 5, 0, 0), (0, 5, 0, 361), (0, 5, 0, -1)]
)
def test_a_wind_that_is_no_range_is_refused(low, high, start, width):
    with pytest.raises(GeometryError, match="Give"):
        WindRange(low, high, start, width)


def test_tracking_there_and_back():
    """Direct crosswind of 20 kt at 90: 12.8 degrees, groundspeed sqrt(90^2 - 20^2) = 87.7 (derived)."""
    road = track_road(90, WindRange(20, 20, 90), 0, length_ft=6076.1)
    assert road.there.crab_deg == pytest.approx((12.84, 12.84), abs=0.01)
    assert road.back.crab_deg == pytest.approx((-12.84, -12.84), abs=0.01)
    assert road.there.groundspeed_kt[0] == pytest.approx(87.75, abs=0.01)
    assert road.there.seconds[0] == pytest.approx(3600 / 87.75, abs=0.05)
    assert road.crosswind_kt == pytest.approx((20, 20))


def test_the_road_with_most_crosswind_comes_first():
    roads = [("along", 250), ("off", 300), ("square", 345)]
    ordered = most_crosswind(90, WindRange(12, 18, 245, 20), roads)
    assert [r.name for r in ordered] == ["square", "off", "along"]
    assert ordered[-1].crosswind_kt[0] == 0.0  # the wind may blow straight along it


def test_crosswind_amount_either_side():
    assert crosswind_amount_kt(WindRange(10, 20, 60, 60), 0) == pytest.approx((10 * 0.8660, 20), abs=0.001)
    assert crosswind_amount_kt(WindRange(10, 20, 350, 40), 0) == pytest.approx((0, 10), abs=0.001)
