"""Magnetic variation against the official test values of the World Magnetic Model 2025."""

from __future__ import annotations

import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest

from advisor.places import variation_deg_east
from advisor.places.variation import decimal_year, variation_at_year


def official_rows(shared: Path) -> list[tuple[float, ...]]:
    """Year, height km, latitude, longitude, declination (fields 1 to 5 of the official table)."""
    lines = (shared / "wmm2025_test_values.txt").read_text("utf-8").splitlines()
    return [tuple(map(float, line.split()[:5])) for line in lines if line and not line.startswith("#")]


def test_every_official_value_to_its_printed_rounding(shared_dir: Path) -> None:
    # NOAA/NCEI and BGS, WMM2025 test values, declination printed to 0.01 degrees.
    rows = official_rows(shared_dir)
    assert len(rows) == 100
    for year, height_km, latitude, longitude, declination in rows:
        found = variation_at_year(latitude, longitude, height_km, year).value_deg
        assert found == pytest.approx(declination, abs=0.00501), (year, latitude, longitude)


def test_east_is_positive_and_the_day_cases_field_is_about_three_east() -> None:
    # The worked day cases put their field, 41 N 97 W, at 2.7 E by WMM2025.
    found = variation_deg_east(41.0, -97.0, 1200.0, datetime(2026, 4, 25, tzinfo=UTC))
    assert found.value_deg == pytest.approx(2.7, abs=0.1)
    assert found.epoch_note == "World Magnetic Model 2025"
    # Seattle east, Boston west: the agonic line lies between (common knowledge of every American chart).
    when = datetime(2026, 4, 25, tzinfo=UTC)
    assert (variation_deg_east(47.5, -122.3, 0.0, when).value_deg or 0) > 10
    assert (variation_deg_east(42.4, -71.0, 0.0, when).value_deg or 0) < -10


@pytest.mark.parametrize(
    ("year", "edition", "nearest"),
    [(2005, 2010, True), (2012, 2010, False), (2017, 2015, False), (2022, 2020, False), (2029, 2025, False),
     (2033, 2025, True)],
)  # fmt: skip
def test_the_edition_is_chosen_by_date_and_said(year: int, edition: int, nearest: bool) -> None:
    found = variation_deg_east(41.0, -97.0, 1200.0, datetime(year, 6, 1, tzinfo=UTC))
    assert found.value_deg is not None
    assert f"Magnetic Model {edition}" in found.epoch_note
    assert ("nearest edition" in found.epoch_note) is nearest


def test_neighbouring_editions_agree_where_they_meet() -> None:
    for year in (2015.0, 2020.0, 2025.0):
        before = variation_at_year(41.0, -97.0, 0.366, year - 1e-6).value_deg
        after = variation_at_year(41.0, -97.0, 0.366, year).value_deg
        assert before == pytest.approx(after, abs=0.5)
        assert before != after  # another edition was really used


def test_past_the_last_edition_the_value_stands_still() -> None:
    ends = [variation_at_year(41.0, -97.0, 0.366, year).value_deg for year in (2030.0, 2031.0, 2090.0)]
    assert ends[0] == ends[1] == ends[2]
    # the model is good to the end of its fifth year, and not beyond (NOAA's WMM2025 report, from memory)
    notes = [variation_at_year(41.0, -97.0, 0.366, year).epoch_note for year in (2030.0, 2030.01)]
    assert ["nearest edition" in note for note in notes] == [False, True]


def test_a_place_off_the_earth_has_no_value_and_says_why() -> None:
    found = variation_deg_east(91.0, 0.0, 0.0, datetime(2026, 1, 1, tzinfo=UTC))
    assert found.value_deg is None
    assert "not on the Earth" in found.epoch_note


def test_near_the_magnetic_pole_the_note_warns() -> None:
    found = variation_deg_east(86.0, 140.0, 0.0, datetime(2026, 1, 1, tzinfo=UTC))
    assert "compass is unreliable" in found.epoch_note


def test_decimal_year_counts_the_days_of_its_own_year() -> None:
    assert decimal_year(datetime(2026, 1, 1, tzinfo=UTC)) == 2026.0
    assert decimal_year(datetime(2024, 7, 2, tzinfo=UTC)) == 2024.5  # day 183 of 366
    assert decimal_year(datetime(2025, 7, 2, 12, tzinfo=UTC)) == 2025.5


def test_the_model_is_loaded_only_when_a_variation_is_asked_for(root: Path) -> None:
    code = "import sys, advisor.places as p; p.find_station('KBDU'); sys.exit('pygeomag' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], cwd=root, check=False).returncode == 0
