"""The wind triangle: published problems, its inverse, and what it refuses."""

from __future__ import annotations

import ast
from pathlib import Path

import numpy as np
import pytest

import advisor.flight
from advisor.errors import ImpossibleTriangle
from advisor.flight import wind_triangle as wt

# Training material (source keys air-crew-mathematics, phak-ch16, wind-computer-manual): exact answers beside
# TAS, wind from/speed, course -> crab, groundspeed
PROBLEMS = [
    (120, 45, 40, 90, -13.6, 88.3),
    (108, 50, 20, 190, -6.8, 122.6),  # 13 kt from the left, 7 left
    (150, 120, 20, 340, 4.9, 164.8),
    (90, 30, 15, 180, -4.8, 102.7),
    (90, 30, 15, 90, -8.3, 81.6),
    (90, 30, 15, 0, 4.8, 76.7),
    (90, 30, 15, 270, 8.3, 96.6),
]


@pytest.mark.parametrize(("tas", "from_deg", "kt", "course", "crab", "speed"), PROBLEMS)
def test_worked_problems(tas, from_deg, kt, course, crab, speed):
    found = wt.solve(tas, from_deg, kt, course)
    assert found.crab_deg == pytest.approx(crab, abs=0.06)
    assert found.groundspeed_kt == pytest.approx(speed, abs=0.06)
    assert found.heading_deg == pytest.approx((course + crab) % 360, abs=0.06)


def test_one_in_sixty_is_close_and_not_the_same():
    """20 kt across at 90 kt: 13.3 by the rule, 12.8 exactly (source key derived)."""
    assert wt.crab_deg(90, 20, 90) == pytest.approx(12.84, abs=0.01)


def test_wind_from_the_right_turns_the_nose_right():
    assert wt.crab_deg(90, 15, 90) > 0 > wt.crab_deg(90, 15, -90)


@pytest.mark.parametrize(
    ("tas", "kt", "angle"), [(90, 90, 90), (90, 120, -90), (90, 90, 0), (90, 100, 0), (0, 5, 0), (90, -5, 0)]
)
def test_what_cannot_be_flown_is_nan(tas, kt, angle):
    assert np.isnan(wt.groundspeed_kt(tas, kt, angle))
    with pytest.raises(ImpossibleTriangle, match=r"No heading holds the course: .* Check both speeds"):
        wt.solve(tas, angle, kt, 0.0, strict=True)
    assert np.isnan(np.array(wt.solve(tas, angle, kt, 0.0), dtype=float)).all()


def test_strict_lets_missing_through():
    found = wt.solve([90.0, np.nan], 0.0, [10.0, 200.0], 90.0, strict=True)
    assert np.isnan(found.heading_deg[1])
    assert not np.isnan(found.heading_deg[0])


def test_a_table_is_its_rows():
    rng = np.random.default_rng(1)
    tas, kt, angle = rng.uniform(60, 120, 200), rng.uniform(0, 130, 200), rng.uniform(-720, 720, 200)
    whole = wt.groundspeed_kt(tas, kt, angle)
    rows = [float(wt.groundspeed_kt(*row)) for row in zip(tas, kt, angle, strict=True)]
    assert np.array_equal(whole, rows, equal_nan=True)
    assert wt.groundspeed_kt(90.0, 10.0, 0.0).shape == ()
    assert wt.crab_deg(np.ones((2, 1)) * 90, np.ones(3) * 5, 0.0).shape == (2, 3)


def test_flying_the_heading_gives_the_course_back_and_the_wind():
    rng = np.random.default_rng(2)
    tas, kt = rng.uniform(60, 120, 500), rng.uniform(1, 50, 500)
    from_deg, course = rng.uniform(0, 360, 500), rng.uniform(0, 360, 500)
    found = wt.solve(tas, from_deg, kt, course)
    flown = wt.fly_heading(tas, from_deg, kt, found.heading_deg)
    assert np.allclose((flown.track_deg - course + 180) % 360, 180, atol=1e-9)
    assert np.allclose(flown.groundspeed_kt, found.groundspeed_kt)
    back = wt.wind_from_track(tas, found.heading_deg, course, found.groundspeed_kt)
    assert np.allclose(back.speed_kt, kt)
    assert np.allclose((back.from_deg - from_deg + 180) % 360, 180, atol=1e-6)


def test_no_wind_found_has_no_direction():
    found = wt.wind_from_track(90, 45, 45, 90)
    assert found.speed_kt == pytest.approx(0.0)
    assert np.isnan(found.from_deg)


def test_uncorrected_drift():
    """Heading 045 at 75 kt, wind 135/20: 15 degrees to the left (open navigation text, read)."""
    assert wt.fly_heading(75, 135, 20, 45).drift_deg == pytest.approx(-15, abs=0.5)


def test_flight_knows_no_math_module():
    """Scalars go through the array code; radians stay in units.py."""
    for path in Path(advisor.flight.__file__).parent.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [a.name for a in node.names] if isinstance(node, ast.Import) else []
            names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            assert not {"math", "cmath"} & set(names), path.name
