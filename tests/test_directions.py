"""The worst shares of a wind whose direction is an arc, and a direction in three digits; expected by plain counting."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from advisor.directions import arc_share, bearing


def test_the_worst_share_of_an_arc_is_that_of_its_worst_direction() -> None:
    """Every whole degree of each arc is tried; the arcs begin and end on whole degrees off whole bearings."""
    cases = list(itertools.product(range(0, 360, 15), (0, 1, 30, 75, 90, 100, 180, 270, 345, 360), range(0, 360, 30)))
    start, width, runway = (np.array(x, dtype=np.float64) for x in zip(*cases, strict=True))
    across, behind = arc_share(start, width, runway)
    for k, (first, wide, end) in enumerate(cases):
        off = np.radians(np.arange(first, first + wide + 1) - end)
        assert across[k] == pytest.approx(np.abs(np.sin(off)).max(), abs=1e-9), cases[k]
        assert behind[k] == pytest.approx(max(-np.cos(off).min(), 0.0), abs=1e-9), cases[k]


def test_a_direction_that_is_not_known_has_no_share() -> None:
    across, behind = arc_share(np.array([np.nan, 220.0]), np.array([0.0, 0.0]), np.array([220.0, 220.0]))
    assert np.isnan([across[0], behind[0]]).all()
    assert (across[1], behind[1]) == (0.0, 0.0)


@pytest.mark.parametrize(
    ("degrees", "digits"),
    [
        (0.0, "360"),
        (0.4, "360"),
        (0.6, "001"),
        (7.0, "007"),
        (359.4, "359"),
        (359.6, "360"),
        (360.0, "360"),
        (361.0, "001"),
    ],
)
def test_north_is_360(degrees: float, digits: str) -> None:
    """As in reports (WMO No. 306, FM 15): 000 is calm, north is 360."""
    assert bearing(degrees) == digits
