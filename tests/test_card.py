"""Laws of the card's plans.

Shapes by plain geometry; a 45 degree entry to the downwind leg: AIM 4-3-3.
"""

from __future__ import annotations

import math
import re

import numpy as np
import pytest

from advisor.card.circles import around_pylons_plan, eight_plan, point_plan, s_turn_plan
from advisor.card.lines import (
    PATTERN_OFFSET_FT,
    RECTANGLE_OFFSET_FT,
    pattern_plan,
    rectangle_plan,
    tracking_plan,
)
from advisor.card.model import Astray, Plan, WindBox
from advisor.errors import ImpossibleTriangle

LIGHT = WindBox(4.0, 6.0, 230.0, 10.0)
FRESH = WindBox(12.0, 18.0, 230.0, 10.0)


def off_line(points: object, course_deg: float, through: tuple[float, float] = (0.0, 0.0)) -> np.ndarray:
    """Distance of points to the right of a line, in feet."""
    east, north = (np.atleast_2d(np.array(points)) - np.array(through)).T
    a = math.radians(course_deg)
    return np.asarray(east * math.cos(a) - north * math.sin(a))


def feet(words: str) -> float:
    found = re.search(r"([\d,]+) ft", words)
    assert found is not None, words
    return float(found[1].replace(",", ""))


# -- straight lines ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("road_deg", [40.0, 128.0, 280.0])
@pytest.mark.parametrize("wind_from", [0.0, 230.0])
def test_without_crab_the_drawn_track_ends_as_far_off_the_road_as_is_said(road_deg: float, wind_from: float) -> None:
    plan, astray = tracking_plan(WindBox(12.0, 18.0, wind_from, 10.0), 90.0, road_deg, "lane")
    assert astray.track[0] == plan.track[0]
    seconds = re.search(r"after (\d+) seconds", astray.says)
    assert seconds is not None
    # to the side the wind blows to, by wind times time
    carried = 18.0 * 1.687810 * float(seconds[1]) * math.sin(math.radians(wind_from + 180.0 - road_deg))
    # the road reaches a little past what is flown of it
    flown, drawn = (np.hypot(*(np.array(x[1]) - x[0])) for x in (plan.track, plan.ground[0].corners))
    assert 1.0 < drawn / flown < 1.5
    (ends,) = off_line(astray.track[-1], road_deg)
    assert ends == pytest.approx(carried, rel=0.01)
    assert abs(ends) == pytest.approx(feet(astray.says), abs=5.0)


@pytest.mark.parametrize("left", [True, False])
@pytest.mark.parametrize("size_ft", [(9000.0, 6000.0), (6000.0, 9000.0)])
def test_a_rectangle_keeps_the_same_distance_from_every_side_of_its_field(
    left: bool, size_ft: tuple[float, float]
) -> None:
    plan, _, _ = rectangle_plan(LIGHT, 90.0, 20.0, size_ft, "field", left, 30.0)
    # entered at 45 degrees from outside where the downwind leg begins, which is the first point of the track
    assert plan.entry is not None
    assert plan.entry[:2] == pytest.approx(plan.track[0])
    assert (plan.entry[2] - plan.marks[0].course_deg_true) % 360.0 == pytest.approx(315.0 if left else 45.0)
    for course in (20.0, 110.0):
        track, corners = off_line(plan.track, course), off_line(plan.ground[0].corners, course)
        assert track.max() - corners.max() == pytest.approx(RECTANGLE_OFFSET_FT)
        assert corners.min() - track.min() == pytest.approx(RECTANGLE_OFFSET_FT)


def test_round_a_small_field_there_is_room_for_the_corners() -> None:
    """Two corners, each a radius, lie on every side."""
    plan, _, radius_ft = rectangle_plan(FRESH, 90.0, 20.0, (600.0, 500.0), "paddock", True, 30.0)
    for course in (20.0, 110.0):
        assert np.ptp(off_line(plan.track, course)) > 2 * radius_ft


@pytest.mark.parametrize("left", [True, False])
def test_a_pattern_lies_on_its_own_side_of_the_runway_and_its_final_over_the_centreline(left: bool) -> None:
    plan, _, radius_ft = pattern_plan(LIGHT, 90.0, 223.0, 3000.0, "22", left, 30.0)
    (strip,) = plan.ground
    assert np.hypot(*(np.array(strip.corners[1]) - strip.corners[0])) == pytest.approx(3000.0)
    assert off_line(strip.corners, 223.0) == pytest.approx([0.0, 0.0], abs=1e-6)
    downwind, base, final, _ = plan.marks
    side = -1 if left else 1
    abeam = off_line((downwind.east_ft, downwind.north_ft), 223.0)
    assert abeam == pytest.approx(side * PATTERN_OFFSET_FT)
    assert off_line((final.east_ft, final.north_ft), 223.0)[0] == pytest.approx(0.0, abs=1e-6)
    # on final half way from the last corner to the threshold: nearer than base, not over the runway yet
    before = -off_line([(final.east_ft, final.north_ft), (base.east_ft, base.north_ft), strip.corners[0]], 313.0)
    along_ft = before - before[2]
    assert along_ft[0] == pytest.approx((along_ft[1] + radius_ft) / 2)
    # the entry: from outside, 45 degrees onto the downwind leg
    assert plan.entry is not None
    assert (plan.entry[2] - downwind.course_deg_true) % 360.0 == pytest.approx(45.0 * side % 360.0)


@pytest.mark.parametrize("left", [True, False])
def test_corners_are_round_and_turn_one_way_only(left: bool) -> None:
    for plan, _, radius_ft in (
        rectangle_plan(FRESH, 90.0, 20.0, (9000.0, 6000.0), "field", left, 30.0),
        pattern_plan(FRESH, 90.0, 223.0, 3000.0, "22", left, 30.0),
    ):
        track = np.array(plan.track + plan.track[:2])
        steps = np.diff(track, axis=0)
        steps = steps[np.hypot(*steps.T) > 1e-6]
        ways = np.degrees(np.arctan2(*steps.T))
        turns = (np.diff(ways) + 180.0) % 360.0 - 180.0
        assert ((turns if not left else -turns) > -1e-6).all()
        assert np.abs(turns).max() < 10.5  # an arc of nine pieces
        assert np.abs(turns).sum() == pytest.approx(360.0)
        # a piece of 10 degrees of the corner radius
        assert np.hypot(*steps.T).min() == pytest.approx(2 * radius_ft * math.sin(math.radians(5.0)))


@pytest.mark.parametrize("wind_from", [0.0, 230.0])
def test_a_round_without_crab_is_carried_by_the_wind_for_as_long_as_it_takes(wind_from: float) -> None:
    """Four headings flown for their still-air times close in the air: what is left is wind times time."""
    wind = WindBox(12.0, 18.0, wind_from, 10.0)
    for plan, astray, radius_ft in (
        rectangle_plan(wind, 90.0, 20.0, (9000.0, 6000.0), "field", True, 30.0),
        pattern_plan(wind, 90.0, 223.0, 3000.0, "22", False, 30.0),
    ):
        track = np.array(plan.track)
        # the legs meet in corners, outside the rounded ones of the track
        way = math.radians(plan.marks[0].course_deg_true)
        along_ft, across_ft = track @ [math.sin(way), math.cos(way)], track @ [math.cos(way), -math.sin(way)]
        round_ft = 2 * (np.ptp(along_ft) + np.ptp(across_ft))
        assert round_ft > 8 * radius_ft
        moved = np.array(astray.track[-1]) - astray.track[0]
        assert np.hypot(*moved) == pytest.approx(18.0 / 90.0 * round_ft, rel=1e-3)
        assert np.hypot(*moved) == pytest.approx(feet(astray.says), abs=5.0)
        assert math.degrees(math.atan2(*moved)) % 360.0 == pytest.approx((wind_from + 180.0) % 360.0, abs=0.1)


def test_a_wind_that_no_heading_holds_is_said_in_the_winds_own_numbers() -> None:
    with pytest.raises(ImpossibleTriangle, match="strongest wind of the estimate, 95 kt, at 90 kt of true airspeed"):
        tracking_plan(WindBox(20.0, 95.0, 90.0, 0.0), 90.0, 0.0, "lane")


# -- round and round ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("left", [True, False])
def test_every_arrow_points_the_way_its_track_is_flown(left: bool) -> None:
    for plan in (
        point_plan(FRESH, 90.0, 1500.0, left, "p")[0],
        rectangle_plan(FRESH, 90.0, 90.0, (5280.0, 5280.0), "f", left, 30.0)[0],
        pattern_plan(FRESH, 90.0, 223.0, 3000.0, "22", left, 30.0)[0],
    ):
        track = np.array(plan.track + plan.track[:1])
        ways = np.degrees(np.arctan2(*np.diff(track, axis=0).T))
        assert plan.arrows
        for east, north, course in plan.arrows:
            lengths, detour = np.hypot(*np.diff(track, axis=0).T), np.hypot(*(track - (east, north)).T)
            at = int(np.argmin(detour[1:] + detour[:-1] - lengths))  # the piece of track the arrow lies on
            # a short leg's arrow stands beside the beginning of its corner
            assert abs((ways[at] - course + 180.0) % 360.0 - 180.0) < 25.0, course
            assert detour[1:][at] + detour[:-1][at] - lengths[at] < 100.0


@pytest.mark.parametrize("left", [True, False])
@pytest.mark.parametrize("road_deg", [110.0, 140.0, 175.0])
def test_s_turns_cross_the_road_square_three_times_and_change_sides(left: bool, road_deg: float) -> None:
    plan, _ = s_turn_plan(FRESH, 90.0, 1500.0, left, road_deg, "lane")
    across = off_line(plan.track, road_deg)
    half = len(across) // 2
    assert across[[0, half - 1, half, -1]] == pytest.approx([0.0] * 4, abs=1e-6)
    assert across[1 : half - 1].min() * across[1 : half - 1].max() > 0
    assert np.sign(across[half // 2]) == -np.sign(across[half + half // 2])
    assert abs(across).max() == pytest.approx(1500.0, rel=0.01)
    # entered flying downwind, and each crossing square to the road
    assert abs((plan.marks[0].course_deg_true - 50.0 + 180.0) % 360.0 - 180.0) <= 90.0
    for mark in (plan.marks[0], plan.marks[4], plan.marks[-1]):
        assert (mark.course_deg_true - road_deg) % 180.0 == pytest.approx(90.0)
    assert off_line(plan.ground[0].corners, road_deg) == pytest.approx([0.0, 0.0], abs=1e-6)
    # the road reaches past both halves
    assert np.hypot(*np.array(plan.ground[0].corners).T).min() > 2 * 1500.0


@pytest.mark.parametrize("left", [True, False])
@pytest.mark.parametrize("across", [True, False])
def test_eights_meet_over_the_road_and_lie_along_or_across_it(left: bool, across: bool) -> None:
    plan, _ = eight_plan(FRESH, 90.0, 1500.0, left, 40.0, "lane", across=across)
    track = np.array(plan.track)
    half = len(track) // 2
    for i in (0, half - 1, half, -1):
        assert np.hypot(*track[i]) == pytest.approx(0.0, abs=1e-6)
    assert np.hypot(plan.marks[0].east_ft, plan.marks[0].north_ft) == pytest.approx(0.0, abs=1e-6)
    one, two = track[:half].mean(axis=0), track[half:].mean(axis=0)
    assert off_line(one, 40.0)[0] * off_line(two, 40.0)[0] <= 1e-6
    line = np.degrees(np.arctan2(*(one - two)))
    road = np.degrees(np.arctan2(*(np.array(plan.ground[0].corners[1]) - plan.ground[0].corners[0])))
    assert math.sin(math.radians(road - 40.0)) == pytest.approx(0.0, abs=1e-6)
    # circles either side of a road that is flown along; strung on a road that is crossed
    assert abs(math.sin(math.radians(line - road))) == pytest.approx(0.0 if across else 1.0, abs=0.02)


@pytest.mark.parametrize("left", [True, False])
def test_pylons_stand_square_to_the_wind_as_far_apart_as_is_said(left: bool) -> None:
    plan, astray, spacing_ft = around_pylons_plan(FRESH, 90.0, 1500.0, left)
    one, two = (np.array(shape.corners[0]) for shape in plan.ground)
    assert np.hypot(*(one - two)) == pytest.approx(spacing_ft)
    assert abs(off_line([one, two], 140.0)).max() == pytest.approx(0.0, abs=1e-6)
    # wings level for 4 s at the greatest groundspeed, from circle to circle (trade practice: 3 to 5 s)
    straight_ft = 4.0 * 108.0 * 1.687810
    assert spacing_ft == pytest.approx(math.hypot(3000.0, straight_ft), rel=1e-6)
    track = np.array(plan.track)
    for here, there in ((len(track) // 2 - 1, len(track) // 2), (-1, 0)):
        assert np.hypot(*(track[there] - track[here])) == pytest.approx(straight_ft, rel=0.01)
    # marks of the first circle, counted from flying straight downwind abeam the pylon; its circle is meant once round
    marks = [(m.east_ft, m.north_ft) for m in plan.marks[1:6]]
    assert off_line(marks, 140.0) == pytest.approx([-1060.7, -1500.0, 0.0, 1500.0, 1060.7], abs=0.1)
    assert astray.meant[0] == pytest.approx(astray.meant[-1], abs=1e-6)


@pytest.mark.parametrize("left", [True, False])
def test_a_bank_that_is_held_carries_the_circle_as_far_as_is_said(left: bool) -> None:
    """Displaced by wind times the time of a turn, downwind: plain reasoning."""
    both: list[tuple[tuple[Plan, Astray], float]] = [
        (point_plan(FRESH, 90.0, 1500.0, left, "p"), 2.0),
        (eight_plan(FRESH, 90.0, 1500.0, left, 40.0, "r", across=False), 1.0),
        (around_pylons_plan(FRESH, 90.0, 1500.0, left)[:2], 1.0),
    ]
    for (_, astray), turns in both:
        moved = np.array(astray.track[-1]) - astray.track[0]
        said_s = re.search(r"every turn of (\d+) s", astray.says)
        assert said_s is not None
        assert np.hypot(*moved) == pytest.approx(turns * feet(astray.says), rel=0.01, abs=15.0)
        assert np.hypot(*moved) == pytest.approx(turns * 18.0 * 1.687810 * float(said_s[1]), rel=0.02)
        assert np.degrees(np.arctan2(*moved)) % 360.0 == pytest.approx(50.0, abs=1.0)
