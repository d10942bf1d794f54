"""Laws of the geometry: rotation and mirror, calm, corners that close, and flying the bank law forward."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.flight import astray, circle, ranges, simulate, turns
from advisor.flight.demand import LEFT, RIGHT, Demand, WindRange
from advisor.flight.eights import around_pylons
from advisor.flight.loops import around_a_point
from advisor.flight.rectangle import rectangle
from advisor.flight.s_turns import s_turns
from advisor.flight.wind_triangle import solve

RNG = np.random.default_rng(11)
N = 20_000
TAS = RNG.uniform(55, 140, N)
WIND = TAS * RNG.uniform(0, 0.95, N)
FROM = RNG.uniform(0, 360, N)
COURSE = RNG.uniform(0, 360, N)


def apart(a, b):
    return np.abs((np.asarray(a) - b + 180) % 360 - 180)


# --- law 3: rotation and mirror ---------------------------------------------------------------------------------


def test_rotating_wind_and_course_together_turns_the_heading_only():
    by = RNG.uniform(-360, 360, N)
    one, other = solve(TAS, FROM, WIND, COURSE), solve(TAS, FROM + by, WIND, COURSE + by)
    assert np.allclose(one.crab_deg, other.crab_deg, atol=1e-6)
    assert np.allclose(one.groundspeed_kt, other.groundspeed_kt)
    assert apart(one.heading_deg + by, other.heading_deg).max() < 1e-6


def test_mirror_turns_the_crab_and_keeps_speed_and_bank():
    one, other = solve(TAS, FROM, WIND, COURSE), solve(TAS, -FROM, WIND, -COURSE)
    assert np.allclose(one.crab_deg, -other.crab_deg, atol=1e-9)
    assert np.allclose(one.groundspeed_kt, other.groundspeed_kt)
    th = RNG.uniform(0, 360, N)
    left = circle.at_places(TAS, FROM, WIND, 1500, th, LEFT)
    right = circle.at_places(TAS, FROM, WIND, 1500, th, RIGHT)
    assert np.allclose(left.bank_deg, right.bank_deg)
    assert np.allclose(left.crab_deg, -right.crab_deg, atol=1e-6)
    assert np.allclose(left.heading_rate_deg_s, -right.heading_rate_deg_s)


winds = st.builds(
    lambda low, more, start, width: WindRange(low, low + more, start, width),
    st.floats(0, 25), st.floats(0, 20), st.floats(0, 360), st.sampled_from([0.0, 20.0, 75.0, 359.0]),
)  # fmt: skip


def turned(wind: WindRange, by: float) -> WindRange:
    return WindRange(wind.low_kt, wind.high_kt, (wind.from_start_deg_true + by) % 360, wind.width_deg)


def mirrored(wind: WindRange) -> WindRange:
    return WindRange(wind.low_kt, wind.high_kt, -(wind.from_start_deg_true + wind.width_deg) % 360, wind.width_deg)


def same(one: Demand, other: Demand, *, crab: int = 1) -> None:
    assert one.groundspeed_kt == pytest.approx(other.groundspeed_kt, abs=1e-6)
    assert one.crab_deg == pytest.approx(tuple(sorted(crab * c for c in other.crab_deg)), abs=1e-6)
    if one.bank_deg is not None:
        assert one.bank_deg == pytest.approx(other.bank_deg, abs=1e-6)


@settings(max_examples=12, deadline=None)
@given(wind=winds, by=st.floats(0, 360), course=st.floats(0, 360))
def test_lessons_turn_with_the_wind(wind: WindRange, by: float, course: float):
    for make in (
        lambda w, a: rectangle(90, w, course + a, LEFT, 1500).legs,
        lambda w, a: around_a_point(90, w, 1500, RIGHT),
    ):
        for one, other in zip(make(wind, 0), make(turned(wind, by), by), strict=True):
            same(one, other)


@settings(max_examples=12, deadline=None)
@given(wind=winds, course=st.floats(0, 360))
def test_lessons_mirror(wind: WindRange, course: float):
    left, right = rectangle(90, wind, course, LEFT, 1500), rectangle(90, mirrored(wind), -course, RIGHT, 1500)
    for one, other in zip(left.legs, right.legs, strict=True):
        same(one, other, crab=-1)
    for one, other in zip(left.corners, right.corners, strict=True):
        assert one.turn_deg == pytest.approx(other.turn_deg, abs=1e-6)
        assert one.bank_deg == pytest.approx(other.bank_deg, abs=1e-6)


# --- law 4: calm, and corners that close ------------------------------------------------------------------------


def test_calm_is_no_crab_one_bank_and_square_corners():
    there = circle.at_places(TAS, FROM, 0.0, 1500, COURSE, LEFT)
    assert np.abs(there.crab_deg).max() < 1e-9
    assert np.allclose(there.bank_deg, turns.bank_deg(TAS, 1500))
    found = ranges.corner_range_deg(TAS, 0, 0, FROM, 360, COURSE, COURSE + 90)
    assert np.allclose(found.low, 90)
    assert np.allclose(found.high, 90)
    assert np.allclose(circle.seconds_per_circle(TAS, 0, 1500), 2 * np.pi * 1500 / TAS / 1.6878099, rtol=1e-6)


@pytest.mark.parametrize("side", [-90.0, 90.0])
def test_four_corners_of_one_wind_are_a_whole_turn(side):
    total = 0.0
    for i in range(4):
        corner = ranges.corner_range_deg(TAS, WIND, WIND, FROM, 0, COURSE + i * side, COURSE + (i + 1) * side)
        assert np.allclose(corner.low, corner.high)
        total = total + corner.low
    assert np.allclose(total, 360, atol=1e-6)


# --- law 5: flown forward ---------------------------------------------------------------------------------------

ONE_FOOT = 1.0


def bank_law(radius_ft, side):
    def law(state: simulate.State):
        crab = state.heading_deg - state.track_deg
        return side * turns.bank_for_circle_deg(state.groundspeed_kt, radius_ft, crab)

    return law


def test_the_bank_law_holds_the_circle_and_the_clock():
    """200 circles at once: radius within a foot, and back at the start after the elliptic integral's time."""
    n = 200
    tas, kt, from_deg, radius = TAS[:n], WIND[:n] * 0.7, FROM[:n], RNG.uniform(800, 2600, n)
    for side in (LEFT, RIGHT):
        start = circle.at_places(tas, from_deg, kt, radius, 0.0, side)
        seconds = circle.seconds_per_circle(tas, kt, radius)
        # every circle flies for one second of its own clock: scale the radius so that all take the same time
        radius_same = radius * 60.0 / seconds
        east, north = (radius_same * f(np.radians(start.position_deg)) for f in (np.sin, np.cos))
        flown = simulate.fly_bank(
            bank_law(radius_same, side),
            tas,
            from_deg,
            kt,
            start.heading_deg,
            60.0,
            steps=600,
            east_ft=east,
            north_ft=north,
        )
        assert astray.radius_error_ft(flown, radius_same).max() < ONE_FOOT
        assert np.hypot(flown.east_ft[-1] - east, flown.north_ft[-1] - north).max() < ONE_FOOT
        assert np.allclose(np.abs(flown.heading_deg[-1] - flown.heading_deg[0]), 360, atol=0.01)
        # what was flown is what the clock says: steepest at the start, shallowest where it flies into wind
        assert np.allclose(
            np.abs(flown.bank_deg).max(axis=0), circle.steepest_bank_deg(tas, kt, radius_same), atol=0.01
        )
        assert np.allclose(
            np.abs(flown.bank_deg).min(axis=0), circle.shallowest_bank_deg(tas, kt, radius_same), atol=0.02
        )


@pytest.mark.parametrize("off_square", [0.0, 25.0, -40.0])
@pytest.mark.parametrize("first", [LEFT, RIGHT])
def test_s_turns_flown(off_square, first):
    wind = WindRange(18, 18, 310)
    road = 310 + 90 + off_square
    laid = s_turns(90, wind, 1500, road, first)
    east = north = 0.0
    for half, course in ((laid.first, laid.crossing_deg_true), (laid.second, laid.crossing_deg_true + 180)):
        out = np.radians(course + half.turn * 90)
        centre = (east + 1500 * np.sin(out), north + 1500 * np.cos(out))
        heading = float(solve(90, 310, 18, course).heading_deg)
        flown = simulate.fly_bank(
            bank_law(1500, half.turn), 90, 310, 18, heading, half.seconds[0], east_ft=east, north_ft=north
        )
        assert float(astray.radius_error_ft(flown, 1500, *centre)) < ONE_FOOT
        east, north = float(flown.east_ft[-1]), float(flown.north_ft[-1])
        # over the road again, crossing it square
        assert abs(east * np.cos(np.radians(road)) - north * np.sin(np.radians(road))) < ONE_FOOT
        assert apart(flown.track_deg[-1], course + 180) < 0.05


@pytest.mark.parametrize("gap", [3000.0, 5280.0])
def test_eights_around_pylons_flown(gap):
    """Leg, left turn, leg, right turn, each flown from where the last one ended: back at the start within a foot."""
    radius, kt, from_deg, tas = 1500.0, 15.0, 0.0, 90.0
    laid = around_pylons(tas, WindRange(kt, kt, from_deg), radius, 90, gap)
    place = np.array([0.0, 0.0])
    centres = []
    for leg, part in zip(laid.legs, laid.loops, strict=True):
        if laid.leg_ft > 1:
            heading = leg.heading_arc_deg_true[0]
            flown = simulate.fly_heading(
                lambda _, h=heading: h, tas, from_deg, kt, leg.seconds[0], east_ft=place[0], north_ft=place[1]
            )
            place = np.array([flown.east_ft[-1], flown.north_ft[-1]])
        out = np.radians(leg.course_deg_true + part.turn * 90)
        centre = place + radius * np.array([np.sin(out), np.cos(out)])
        centres.append(centre)
        begin = leg.course_deg_true - from_deg - 180
        seconds = circle.seconds_between(tas, kt, radius, part.turn * begin, part.turn * begin + part.sweep_deg)
        heading = float(solve(tas, from_deg, kt, leg.course_deg_true).heading_deg)
        flown = simulate.fly_bank(
            bank_law(radius, part.turn),
            tas,
            from_deg,
            kt,
            heading,
            float(seconds),
            east_ft=place[0],
            north_ft=place[1],
        )
        assert float(astray.radius_error_ft(flown, radius, *centre)) < ONE_FOOT
        place = np.array([flown.east_ft[-1], flown.north_ft[-1]])
    assert np.hypot(*place) < ONE_FOOT
    assert np.hypot(*(centres[0] - centres[1])) == pytest.approx(gap, abs=ONE_FOOT)


def test_more_wind_widens_the_circle_and_its_banks():
    winds_kt = np.linspace(0, 80, 161)
    assert (np.diff(circle.radius_for_bank_ft(90, winds_kt, 30)) > 0).all()
    assert (np.diff(circle.steepest_bank_deg(90, winds_kt, 1500)) > 0).all()
    assert (np.diff(circle.shallowest_bank_deg(90, winds_kt, 1500)) < 0).all()
    assert (np.diff(circle.seconds_per_circle(90, winds_kt, 1500)) > 0).all()


def test_elliptic_integral_against_a_plain_sum():
    """R / G summed over a million points of course."""
    th = (np.arange(1_000_000) + 0.5) * 360 / 1_000_000
    for kt in (0.0, 15.0, 60.0, 85.0):
        speed = kt * np.cos(np.radians(th)) + np.sqrt(90.0**2 - (kt * np.sin(np.radians(th))) ** 2)
        summed = np.mean(1320 / (speed * 1.68780985710)) * 2 * np.pi
        assert circle.seconds_per_circle(90, kt, 1320) == pytest.approx(summed, rel=1e-8)
