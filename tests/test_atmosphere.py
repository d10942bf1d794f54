"""Standard air, pressure and density altitude, airspeed, humidity. Published rows: test_geometry_published.py."""

from __future__ import annotations

import numpy as np
import pytest

from advisor import atmosphere as air


def test_standard_sea_level():
    assert air.isa_temperature_c(0) == 15.0
    assert air.pressure_ratio(0) == 1.0
    assert air.pressure_altitude_ft(1234, 29.92) == pytest.approx(1234)
    assert air.density_altitude_ft(0, 15.0) == pytest.approx(0.0, abs=1e-6)
    assert air.tas_from_ias_kt(90, 0, 15.0) == pytest.approx(90.0)


def test_above_the_tropopause():
    assert air.isa_temperature_c(40000) == pytest.approx(-56.5, abs=0.01)
    assert np.isnan(air.pressure_ratio(40000))


# NWS formula with humidity (source key nws-da), temperature, dew point, pressure altitude -> ft. Its rounded
# constants give 19 ft where the standard day has 0, so 25 ft are allowed.
NWS = [(15, -60, 0, 19), (35, 25, 0, 2692), (35, -10, 0, 2329), (30, 5, 4989, 7936)]


@pytest.mark.parametrize(("temp", "dew", "pa", "expected"), NWS)
def test_humid_density_altitude(temp, dew, pa, expected):
    assert air.density_altitude_ft(pa, temp, dew) == pytest.approx(expected, abs=27)


def test_humidity_only_adds():
    dew = np.linspace(-20, 30, 51)
    found = air.density_altitude_ft(1000, 30, dew)
    assert (np.diff(found) > 0).all()
    assert (found > air.density_altitude_ft(1000, 30)).all()


# Worked examples, read (source key density-altitude-rule): pressure altitude, temperature, elevation -> ft
@pytest.mark.parametrize(
    ("pa", "temp", "elev", "expected"), [(5470, 35, 5000, 9070), (4750, 30, 5000, 7750), (520, 35, 50, 2932)]
)
def test_training_rule(pa, temp, elev, expected):
    assert air.density_altitude_rule_ft(pa, temp, elev) == pytest.approx(expected, abs=1)
    # a rule of thumb: within 300 ft of the exact figure in these examples
    assert air.density_altitude_ft(pa, temp) == pytest.approx(expected, abs=300)


def test_the_table_and_not_the_rule_of_a_thousand_feet():
    """29.70 at sea level: the handbook's table says 205, the rule 220 (source key phak-fig-10-3)."""
    assert air.pressure_altitude_ft(0, 29.70) == pytest.approx(205, abs=2)


def test_true_airspeed_grows_with_height_and_heat():
    """90 kt indicated at 6,000 ft on a standard day: the density ratio is 0.836, so 98.4 kt."""
    assert air.tas_from_ias_kt(90, 6000, air.isa_temperature_c(6000)) == pytest.approx(98.4, abs=0.1)
    assert air.tas_from_ias_kt(90, 6000, 30) > air.tas_from_ias_kt(90, 6000, 0)


def test_humidity():
    """86 F with a dew point of 44 F is 23 % (accident report, read); equal temperatures are 100 %."""
    assert air.relative_humidity_pct((86 - 32) / 1.8, (44 - 32) / 1.8) == pytest.approx(23, abs=0.6)
    assert air.relative_humidity_pct(10, 10) == 100.0
    assert air.relative_humidity_pct(10, 10.4) == 100.0


def test_cloud_base():
    """25 C and 15 C: 4,000 ft; 2 and -1 C: 1,200 ft (common training texts, read)."""
    assert air.cloud_base_from_spread_ft([25, 2, 5], [15, -1, 6]) == pytest.approx([4000, 1200, 0])


def test_standard_day_stands_in_and_says_so():
    got = air.standard_day_fallback([0, 2000, 2000], [np.nan, 25.0, np.nan], [np.nan, np.nan, 30.12])
    assert got.temperature_c == pytest.approx([15.0, 25.0, 11.4], abs=0.1)
    assert got.altimeter_inhg == pytest.approx([29.92, 29.92, 30.12])
    assert got.temperature_assumed.tolist() == [True, False, True]
    assert got.altimeter_assumed.tolist() == [True, True, False]


def test_missing_stays_missing():
    for value in (
        air.density_altitude_ft(0, np.nan),
        air.density_altitude_ft(0, 20, np.nan),
        air.tas_from_ias_kt(90, np.nan, 15),
        air.pressure_altitude_ft(0, np.nan),
        air.pressure_altitude_ft(0, 0),
        air.relative_humidity_pct(np.nan, 3),
        air.cloud_base_from_spread_ft(np.nan, 3),
        air.tas_from_ias_kt(90, 0, -300),
    ):
        assert np.isnan(value)
