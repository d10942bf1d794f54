"""Wind at lesson height: the bands of the limits table, and what holds for any wind."""

from __future__ import annotations

import numpy as np
import pytest

from advisor.aloft import AirClass, HeightWind, height_wind
from advisor.table import Table, WindKind
from tests.fixed_cases import TIMES, height_faults

W = np.arange(0.0, 41.0)


def at(mean: np.ndarray, **columns: object) -> HeightWind:  # type: ignore[type-arg]
    kind = np.where(mean == 0, int(WindKind.CALM), int(WindKind.STEADY))
    given = {"ceiling_ft": np.inf, **columns}
    return height_wind(Table(len(mean), mean_kt=mean, wind_kind=kind, **given))


@pytest.mark.parametrize("case", TIMES["height"], ids=lambda c: c["about"])
def test_bands(case: dict[str, object]) -> None:
    assert [x for x in height_faults() if x.startswith(str(case["about"]))] == []


@pytest.mark.parametrize("sky", [{"ceiling_ft": np.inf}, {"ceiling_ft": 3000.0}, {"near_sun": True}, {"dark": True}])
@pytest.mark.parametrize(
    "aloft",
    [{}, {"aloft_low_kt": 22.0, "aloft_low_height_ft": 1800.0, "aloft_interp_kt": 18.0}, {"pilot_kt": 14.0}],
)
def test_more_wind_never_gives_a_lower_high_end(sky: dict[str, float], aloft: dict[str, float]) -> None:
    high = at(W, **sky, **aloft).high_kt
    assert (np.diff(high) >= 0).all()
    assert (high >= W).all()


def test_more_cloud_never_weakens_and_the_stable_class_is_the_strongest() -> None:
    clear, cloudy, night = (at(W, **c).high_kt for c in ({}, {"ceiling_ft": 3000.0}, {"dark": True}))
    assert (cloudy >= clear).all()
    assert (night[W < 21] >= cloudy[W < 21]).all()
    assert (at(W, dark=True, ceiling_ft=2000.0).high_kt == night).all()


def test_first_row_that_fits_top_down() -> None:
    columns = {
        "near_sun": np.array([True, False, False, False]),
        "ceiling_ft": np.array([3000.0, 3000.0, np.inf, np.inf]),
    }
    found = at(np.array([20.0, 20.0, 20.0, 10.0]), **columns)
    assert found.air_class.tolist() == [AirClass.STABLE, AirClass.OVERCAST, AirClass.WINDY, AirClass.MIXED]


def test_an_unknown_ceiling_is_no_overcast() -> None:
    assert at(np.array([10.0]), ceiling_ft=np.nan).air_class.tolist() == [AirClass.MIXED]


@pytest.mark.parametrize("kind", [WindKind.MISSING, WindKind.NOT_UNDERSTOOD])
@pytest.mark.parametrize("sky", [{}, {"dark": True}, {"near_sun": True}, {"ceiling_ft": 3000.0}])
@pytest.mark.parametrize("aloft", [{}, {"aloft_low_kt": 30.0, "aloft_low_height_ft": 500.0, "aloft_interp_kt": 30.0}])
def test_no_wind_at_the_field_no_wind_at_height(kind: int, sky: dict[str, float], aloft: dict[str, float]) -> None:
    found = height_wind(Table(1, wind_kind=kind, **sky, **aloft))
    assert np.isnan(found.low_kt[0])
    assert np.isnan(found.high_kt[0])


def test_variable_wind_has_a_speed_at_height_too() -> None:
    found = height_wind(Table(1, wind_kind=WindKind.VARIABLE, mean_kt=5.0, ceiling_ft=np.inf))
    assert (found.low_kt[0], found.high_kt[0]) == (5.0, 8.0)
