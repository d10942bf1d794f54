"""Exact ranges: never narrower than a dense grid, hardly wider, and each trap of a low/high pair by name.

The bulk run over 10^5 boxes is ``python -m tests.bulk.ranges``; here a few hundred of the same boxes.
"""

from __future__ import annotations

import numpy as np
import pytest

from advisor.flight import ranges, turns
from advisor.flight import wind_triangle as wt
from tests.bulk.ranges import CASES, ROUNDING, misfits, random_boxes

BOXES = random_boxes(400, 7)


@pytest.mark.parametrize("name", CASES)
def test_never_narrower_than_a_grid(name):
    narrower, wider = misfits(name, BOXES)
    assert narrower <= ROUNDING
    assert wider < 0.1  # a grid misses the exact extreme by a little of its own spread


def test_the_check_would_see_a_range_pushed_through():
    """Low and high wind alone miss the inner extremes: the grid check has to find that out."""
    b = BOXES
    ends = [
        wt.groundspeed_kt(b.tas_kt, w, a - b.course_deg)
        for w in (b.low_kt, b.high_kt)
        for a in (b.start_deg, b.start_deg + b.width_deg)
    ]
    grid = CASES["groundspeed_kt"][1](b)
    assert (grid.max(axis=(1, 2)) - np.max(ends, axis=0)).max() > 1.0
    banks = [
        ranges.bank_range_deg(b.tas_kt, w, w, b.start_deg, b.width_deg, b.course_deg, b.radius_ft)
        for w in (b.low_kt, b.high_kt)
    ]
    exact = ranges.bank_range_deg(*b.wind(), b.radius_ft)
    assert (exact.high - np.maximum(banks[0].high, banks[1].high)).max() > 0.05


def test_crab_is_greatest_straight_across_inside_the_arc():
    found = ranges.crab_range_deg(90, 10, 20, 60, 60, 0)
    assert found.high == pytest.approx(np.degrees(np.arcsin(20 / 90)))
    assert found.low == pytest.approx(np.degrees(np.arcsin(10 / 90 * np.sin(np.radians(60)))))


def test_groundspeed_is_greatest_inside_the_speeds():
    """Wind 100 degrees off the course: fastest where W = V |cot 100|, V / sin 100 (derived)."""
    found = ranges.groundspeed_range_kt(90, 0, 40, 100, 0, 0)
    assert found.high == pytest.approx(90 / np.sin(np.radians(100)))
    assert found.high > wt.groundspeed_kt(90, 0, 100)
    assert found.high > wt.groundspeed_kt(90, 40, 100)


def test_corner_is_not_a_difference_of_crab_ranges():
    wind = (90, 15, 15, 0, 360)
    turn = ranges.corner_range_deg(*wind, 180, 90)
    crabs = [ranges.crab_range_deg(*wind, c) for c in (180, 90)]
    apart = (crabs[1].high - crabs[0].low, crabs[1].low - crabs[0].high)
    assert turn.high - 90 < max(apart) - 1
    assert 90 - turn.low < max(apart) - 1


def test_bank_at_a_place_has_an_inner_extreme():
    """75 degrees from downwind the bank first grows with the wind, then shrinks (derived)."""
    found = ranges.bank_range_deg(90, 0, 60, 0, 0, 180 + 75, 1320)
    ends = [ranges.bank_range_deg(90, w, w, 0, 0, 180 + 75, 1320).low for w in (0, 60)]
    assert found.high > max(ends) + 0.1


def test_bank_along_a_corner_holds_downwind():
    swept = ranges.bank_range_deg(90, 15, 15, 315, 0, 90, 1500, 90)
    assert swept.high == pytest.approx(float(turns.bank_deg(105, 1500)))
    left = ranges.bank_range_deg(90, 15, 15, 315, 0, 180, 1500, -90)
    assert left.high == pytest.approx(float(swept.high))
    assert left.low == pytest.approx(float(swept.low))


def test_headings_are_an_arc_over_north():
    arc = ranges.heading_arc_deg(90, 15, 20, 260, 200, 0)
    assert arc.start_deg == pytest.approx(360 - np.degrees(np.arcsin(20 / 90)))
    assert arc.width_deg == pytest.approx(2 * np.degrees(np.arcsin(20 / 90)))


def test_a_variable_wind_is_the_whole_circle():
    assert ranges.crab_range_deg(90, 3, 9, 123, 360, 77) == pytest.approx((-5.739, 5.739), abs=0.001)
    assert ranges.groundspeed_range_kt(90, 3, 9, 123, 360, 77) == pytest.approx((81, 99))


@pytest.mark.parametrize(
    "box",
    [
        (90, 20, 10, 0, 0, 0),
        (90, -1, 10, 0, 0, 0),
        (90, 5, 95, 80, 20, 0),
        (90, 5, np.nan, 0, 0, 0),
        (90, 5, 9, 0, -1, 0),
        (90, 5, 9, 0, 361, 0),
        (90, 5, 95, 0, 360, 0),
        (0, 0, 5, 0, 0, 0),
    ],
)
def test_what_is_no_range_or_cannot_be_flown_is_nan_at_both_ends(box):
    for found in (
        ranges.crab_range_deg(*box),
        ranges.groundspeed_range_kt(*box),
        ranges.corner_range_deg(*box, 90),
        ranges.bank_range_deg(*box, 1500),
        ranges.leg_seconds_range(*box, 6000),
    ):
        assert np.isnan(found.low)
        assert np.isnan(found.high)


def test_a_strong_wind_from_behind_can_still_be_flown_along():
    """95 kt straight behind 90 kt holds the course; no circle does."""
    assert ranges.groundspeed_range_kt(90, 95, 95, 180, 0, 0) == pytest.approx((185, 185))
    assert np.isnan(ranges.bank_range_deg(90, 95, 95, 180, 0, 0, 1500).high)


def test_a_table_is_its_rows():
    b = random_boxes(40, 3)
    whole = ranges.bank_range_deg(*b.wind(), b.radius_ft)
    for i in range(40):
        row = ranges.bank_range_deg(*(x[i] for x in b.wind()), b.radius_ft[i])
        assert (row.low, row.high) == (whole.low[i], whole.high[i])
        assert np.shape(row.low) == ()
