"""Eights on pylons: handbook and exact heights, the ellipse, and the height band."""

from __future__ import annotations

import numpy as np
import pytest

from advisor.flight import pylons, simulate
from advisor.flight.demand import LEFT, RIGHT

# Table of the handbook (figure 7-12), from memory; 96 kt is printed 810 where the rule gives 816: 10 ft allowed
TABLE = [(87, 670), (91, 735), (96, 810), (100, 885), (104, 960), (109, 1050), (113, 1130)]


@pytest.mark.parametrize(("kt", "height"), TABLE, ids=[f"MEMORY-{kt}kt" for kt, _ in TABLE])
def test_handbook_table(kt, height):
    assert pylons.handbook_pivotal_ft(kt) == pytest.approx(height, abs=10)


def test_handbook_rule():
    """110 kt: 1,071 ft (lesson page, read); 500, 600 and 1,000 ft at 75.2, 82.3 and 106.3 kt."""
    assert pylons.handbook_pivotal_ft(110) == pytest.approx(1071, abs=1)
    assert pylons.handbook_pivotal_ft([75.2, 82.3, 106.3]) == pytest.approx([500, 600, 1000], abs=1.5)
    assert np.isnan(pylons.handbook_pivotal_ft(-1))


# TAS, wind -> handbook down/up, exact down/up (height is airspeed times groundspeed over g: formula read)
BANDS = [
    (90, 15, 976, 498, 837, 598),
    (90, 20, 1071, 434, 877, 558),
    (100, 10, 1071, 717, 974, 797),
    (100, 20, 1274, 566, 1062, 708),
    (80, 20, 885, 319, 708, 425),
]


@pytest.mark.parametrize(("tas", "wind", "rule_down", "rule_up", "exact_down", "exact_up"), BANDS)
def test_band(tas, wind, rule_down, rule_up, exact_down, exact_up):
    band = pylons.height_band(tas, wind)
    assert band.handbook_high_ft == pytest.approx(rule_down, abs=1)
    assert band.handbook_low_ft == pytest.approx(rule_up, abs=1)
    assert band.exact_high_ft == pytest.approx(exact_down, abs=1)
    assert band.exact_low_ft == pytest.approx(exact_up, abs=1)
    swing = (band.handbook_high_ft - band.handbook_low_ft) / (band.exact_high_ft - band.exact_low_ft)
    assert swing == pytest.approx(2.0, abs=0.01)  # the rule doubles the swing


def test_physics_text_in_si():
    """50 m/s, 15 m/s from north, 500 m off flying downwind: 331.4, 254.9 (read), 178.5 m; 928.6 m off into wind."""
    kt = 3600 / 1852
    track = pylons.ellipse_track(50 * kt, 0, 15 * kt, 500 / 0.3048, LEFT, [0, 90, 180])
    assert track.height_ft * 0.3048 == pytest.approx([331.4, 254.9, 178.5], abs=0.06)
    assert track.distance_ft[2] * 0.3048 == pytest.approx(928.6, abs=0.06)
    assert track.distance_ft * track.height_ft == pytest.approx(track.distance_ft[0] * track.height_ft[0])


@pytest.mark.parametrize("turn", [LEFT, RIGHT])
def test_the_ellipse_is_flown_by_keeping_the_pylon_on_the_wing(turn):
    """An integrator told only to point the wing at the pylon and bank by height over distance draws the ellipse."""
    nearest, tas, wind = 1500.0, 95.0, 18.0
    angles = np.linspace(0, 360, 73)
    track = pylons.ellipse_track(tas, 30, wind, nearest, turn, angles)
    start = (float(track.east_ft[0]), float(track.north_ft[0]))

    def law(state: simulate.State) -> float:
        # pivotal height at this heading, over the distance to the pylon at 0, 0
        height = tas * (tas + wind * np.cos(np.radians(state.heading_deg - 210))) / 11.2943
        return turn * float(np.degrees(np.arctan2(height, np.hypot(state.east_ft, state.north_ft))))

    flown = simulate.fly_bank(law, tas, 30, wind, 210, 120, steps=1200, east_ft=start[0], north_ft=start[1])
    turned = np.abs(flown.heading_deg - 210)
    assert turned[-1] > 360
    for name in ("east_ft", "north_ft"):
        assert np.interp(angles, turned, getattr(flown, name)) == pytest.approx(getattr(track, name), abs=3)


def test_too_much_wind():
    assert np.isnan(pylons.exact_pivotal_ft(90, 95, 180))
    assert np.isnan(pylons.ellipse_track(90, 0, 95, 1500, LEFT, [0.0]).distance_ft).all()
    assert np.isnan(pylons.exact_pivotal_ft(90, np.nan, 0))
