"""Units: exact constants against their definitions, degree helpers at their corners."""

from __future__ import annotations

import numpy as np
import pytest

from advisor import units

# Source: SI definitions and the 1959 yard and pound agreement (``exact-units``, from memory); all exact.
EXACT = {
    "M_PER_FT": 0.3048,
    "M_PER_NM": 1852.0,
    "M_PER_SM": 1609.344,
    "G_MS2": 9.80665,
    "KELVIN_AT_0_C": 273.15,
    # worked by hand from the above
    "FT_PER_NM": 1852 / 0.3048,
    "FT_PER_SM": 5280.0,
    "KT_TO_MS": 1852 / 3600,
    "MPH_TO_KT": 1609.344 / 1852,
    "KMH_TO_KT": 1000 / 1852,
    "MS_TO_KT": 3600 / 1852,
}


@pytest.mark.parametrize(("name", "value"), EXACT.items())
def test_constant_is_its_definition(name: str, value: float):
    assert getattr(units, name) == pytest.approx(value, rel=1e-15)


def test_published_roundings_of_the_constants():
    assert pytest.approx(1.68781, abs=5e-6) == units.KT_TO_FTS  # facts of the trade: 1 kt = 1.68781 ft/s
    assert pytest.approx(32.174, abs=5e-4) == units.G_FTS2
    assert pytest.approx(33.8639, abs=5e-5) == units.HPA_PER_INHG
    # the decode key's pair: 29.92 inHg is 1013.2 hPa
    assert pytest.approx(1013.2, abs=0.05) == 29.92 * units.HPA_PER_INHG


def test_turn_constant():
    exact = (9.80665 / 0.3048) / (1852 / 3600 / 0.3048) ** 2
    assert pytest.approx(exact, rel=1e-12) == units.TURN_CONSTANT_KT2_PER_FT
    assert pytest.approx(11.2943, abs=5e-5) == units.TURN_CONSTANT_KT2_PER_FT


@pytest.mark.parametrize(
    ("published", "where"),
    [
        (11.26, "PHAK chapter 5, from memory"),
        (11.3, "AFH 3C page 7-15, pivotal altitude"),
        (11.29, "public calculators"),
        (11.23, "open aviation formulary"),
    ],
)
def test_published_turn_constants_are_within_one_percent(published: float, where: str):
    assert pytest.approx(published, rel=0.01) == units.TURN_CONSTANT_KT2_PER_FT, where


@pytest.mark.parametrize(
    ("function", "angle_deg", "value"),
    [
        (units.sin_deg, 0, 0.0),
        (units.sin_deg, 30, 0.5),
        (units.sin_deg, 90, 1.0),
        (units.sin_deg, -90, -1.0),
        (units.cos_deg, 0, 1.0),
        (units.cos_deg, 60, 0.5),
        (units.cos_deg, 180, -1.0),
        (units.tan_deg, 45, 1.0),
        (units.tan_deg, -45, -1.0),
    ],
)
def test_degree_functions(function, angle_deg, value):
    assert function(angle_deg) == pytest.approx(value, abs=1e-15)


@pytest.mark.parametrize(
    ("function", "ratio", "angle_deg"),
    [
        (units.asin_deg, 0.5, 30),
        (units.asin_deg, 1, 90),
        (units.asin_deg, -1, -90),
        (units.acos_deg, 0.5, 60),
        (units.acos_deg, -1, 180),
        (units.atan_deg, 1, 45),
        (units.atan_deg, np.inf, 90),
    ],
)
def test_inverse_functions(function, ratio, angle_deg):
    assert function(ratio) == pytest.approx(angle_deg, abs=1e-12)


@pytest.mark.parametrize("function", [units.asin_deg, units.acos_deg])
@pytest.mark.parametrize("ratio", [1.0000001, -1.0000001, 7, np.inf, np.nan])
def test_no_angle_has_such_a_sine_and_nothing_warns(function, ratio):
    assert np.isnan(function(ratio))  # warnings are errors in this run


@pytest.mark.parametrize(("y", "x", "angle"), [(0, 1, 0), (1, 1, 45), (1, 0, 90), (-1, -1, -135), (0, -1, 180)])
def test_atan2_quadrants(y, x, angle):
    assert units.atan2_deg(y, x) == pytest.approx(angle)


@pytest.mark.parametrize(
    ("angle_deg", "wrapped"),
    [(0, 0), (360, 0), (-0.0, 0), (359.5, 359.5), (-1, 359), (720, 0), (-720, 0), (361, 1), (-1e-16, 0)],
)
def test_wrap_360_never_gives_360(angle_deg, wrapped):
    assert units.wrap_360(angle_deg) == wrapped


@pytest.mark.parametrize(
    ("angle_deg", "wrapped"),
    [(0, 0), (180, -180), (-180, -180), (179, 179), (181, -179), (360, 0), (-190, 170)],
)
def test_wrap_180_starts_at_minus_180(angle_deg, wrapped):
    assert units.wrap_180(angle_deg) == wrapped


@pytest.mark.parametrize(("celsius", "fahrenheit"), [(-40, -40), (0, 32), (15, 59), (100, 212)])
def test_temperature_scales(celsius, fahrenheit):
    assert units.c_to_f(celsius) == pytest.approx(fahrenheit)


ONE_ARGUMENT = [
    units.sin_deg,
    units.cos_deg,
    units.tan_deg,
    units.asin_deg,
    units.acos_deg,
    units.atan_deg,
    units.wrap_360,
    units.wrap_180,
    units.c_to_f,
]


@pytest.mark.parametrize("function", ONE_ARGUMENT, ids=lambda f: f.__name__)
@pytest.mark.parametrize("shape", [(), (3,), (2, 3), (0,)])
def test_shape_is_kept_and_nan_passes(function, shape):
    values = np.full(shape, 0.25)
    assert np.shape(function(values)) == shape
    assert np.all(np.isnan(function(np.full(shape, np.nan))))
    assert np.asarray(function(values)).dtype == np.float64


@pytest.mark.parametrize("function", ONE_ARGUMENT, ids=lambda f: f.__name__)
def test_a_scalar_goes_through_the_array_code(function):
    values = np.array([-0.75, 0.0, 0.5, 1.0])
    assert [float(function(v)) for v in values] == list(function(values))
