"""Slips in a school's file that no single value shows: places and heights that do not fit one another."""

from __future__ import annotations

import pytest

from advisor.errors import DataFileError
from advisor.school import parse_school
from tests.test_school import AREA, FIELD

LENDER = """
[[stations]]
station = "XHLW"
name = "Hollow Example Field"
latitude_deg = {0}
longitude_deg = -97.0
elevation_ft = {1}
time_zone = "America/Chicago"
"""
POINT = """
[[practice_areas.points]]
name = "Silo"
latitude_deg = {0}
longitude_deg = {1}
"""


@pytest.mark.parametrize(
    ("latitude", "elevation_ft", "said"),
    [
        (41.49, 1200, None),  # 29.4 NM: 30 NM is the most (the project's own limit, common practice)
        (41.51, 1200, "30.6 NM, 0 ft lower"),
        (41.1, 2190, None),
        (41.1, 2210, "6.0 NM, 1,010 ft higher"),
    ],
)
def test_a_lender_too_far_away_is_said_when_the_file_is_checked(
    latitude: float, elevation_ft: int, said: str | None
) -> None:
    own = FIELD + 'observation_from = "XHLW"\nforecast_from = "XHLW"\n'
    notes = parse_school(own + LENDER.format(latitude, elevation_ft), file_name="s.toml").notes
    if said is None:
        assert notes == ()
        return
    assert len(notes) == 2
    for note, kind in zip(notes, ("report", "forecast"), strict=True):
        assert note.startswith(
            f"s.toml: XHLW is too far from XSHL to lend its {kind} ({said}): up to 30 NM and 1,000 ft"
        )


def test_a_longitude_without_its_minus_is_refused() -> None:
    with pytest.raises(DataFileError, match=r"practice_areas\.0: the area lies [5-9],\d{3} NM from XSHL; check lat"):
        parse_school(FIELD + AREA.replace("-97.05", "97.05"))
    with pytest.raises(DataFileError, match=r"practice_areas\.0: the point Silo lies [5-9],\d{3} NM from the area"):
        parse_school(FIELD + AREA + POINT.format(41.1, 97.05))
    assert parse_school(FIELD + AREA + POINT.format(41.12, -97.05)).notes == ()
    # without a field there is nothing to hold it against
    assert parse_school('name = "A"\n' + AREA.replace("-97.05", "97.05")).practice_areas


def test_an_area_without_a_field_is_held_against_the_nearest_of_the_file() -> None:
    far_field = LENDER.format(55.0, 1200)
    assert parse_school(FIELD + far_field + AREA).practice_areas
    with pytest.raises(DataFileError, match=r"the area lies 83\d NM from XHLW"):
        parse_school(FIELD + far_field + AREA + 'station = "XHLW"')


def test_a_field_with_a_fault_of_its_own_is_nothing_to_measure_from() -> None:
    lost = FIELD.replace("1200", '"1200"') + LENDER.format(55.0, 1200) + AREA + 'station = "XSHL"'
    with pytest.raises(DataFileError, match="has 1 fault;"):
        parse_school(lost)


def test_ground_with_a_digit_left_out_is_said() -> None:
    (note,) = parse_school(FIELD + AREA.replace("1450", "145"), file_name="s.toml").notes
    assert note == (
        "s.toml: the ground of North, 145 ft, is 1,055 ft lower than XSHL; ceilings over the area are counted from it, so "
        "check it."
    )
    assert parse_school(FIELD + AREA.replace("1450", "2150")).notes == ()


def test_a_height_far_from_the_lists_is_said() -> None:
    text = 'name = "A"\n[[stations]]\nstation = "KBDU"\nelevation_ft = {0}\n'
    (note,) = parse_school(text.format(528), file_name="s.toml").notes
    assert note == "s.toml: it has KBDU at 528 ft, 4,760 ft lower than the station list; check it."
    assert parse_school(text.format(5290)).notes == ()


@pytest.mark.parametrize(
    ("pair", "said"),
    [
        ("{ care = 6, stop = 5 }", None),
        ("{ care = 8, stop = 6 }", "care 8 SM"),
        ("{ care = 9, stop = 7 }", "stop 7 SM"),
        ("{ stop = 6 }", None),
    ],
)
def test_a_visibility_no_forecast_can_say_is_said(pair: str, said: str | None) -> None:
    notes = parse_school(f'name = "A"\n[limits.solo]\nvisibility_sm = {pair}\n', file_name="s.toml").notes
    if said is None:
        assert notes == ()
    else:
        (note,) = notes
        assert note.startswith(f"s.toml: visibility_sm for solo, {said}: US forecasts say no more than P6SM")
