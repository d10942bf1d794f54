"""Faults of a school's file: what to write instead, near names, and which item is meant."""

from __future__ import annotations

import pytest

from tests.test_school import AIRCRAFT, AREA, FIELD, NOTICE, RUNWAY, faults

HOURS = 'name = "A"\n[hours]\n'


@pytest.mark.parametrize(
    ("text", "fault"),
    [  # what is written, and the sentence: "{number}" and "{degrees}" stand for their beginnings
        (FIELD.replace("1200", '"1,200 ft"'), "stations.0.elevation_ft: {number}: 1200"),
        (AIRCRAFT.replace("85", '"85 kt"'), "aircraft.0.practice_kias: {number}: 85"),
        # another unit than the name's: no figure is offered
        (AIRCRAFT.replace("85", '"98 mph"'), "aircraft.0.practice_kias: {number} (in"),
        (RUNWAY.replace("43", '"43°"'), "stations.0.runways.0.bearing_deg_true: {number}: 43"),
        (RUNWAY.replace("43", '"043 magnetic"'), "stations.0.runways.0.bearing_deg_true: {number} (in"),
        # degrees and minutes: 37 + 52 / 60 = 37.8667; west is negative (arithmetic of the notation)
        (AREA.replace("41.1", '"37°52\\u0027N"'), "practice_areas.0.latitude_deg: {degrees}: 37.8667;"),
        (AREA.replace("41.1", '"37-52-30N"'), "practice_areas.0.latitude_deg: {degrees}: 37.8750;"),
        (AREA.replace("-97.05", '"97 03 W"'), "practice_areas.0.longitude_deg: {degrees}: -97.0500;"),
        (AREA.replace("-97.05", '"-97.05"'), "practice_areas.0.longitude_deg: {degrees}: -97.0500;"),
        (AREA.replace("-97.05", '"97 72 W"'), "practice_areas.0.longitude_deg: {degrees}, such as"),
        (RUNWAY + 'closed = "no"', "stations.0.runways.0.closed: must be true or false, without quotes"),
        (RUNWAY + 'right_pattern = "22"', 'stations.0.runways.0.right_pattern: must be a list in square brackets: ["22"]'),
        (HOURS + 'opens = 7\ncloses = "19:00"', 'hours.opens: write the local time as "07:30", in quotes'),
        (HOURS + 'saturday = "9-16"', 'hours.saturday: must be a table, such as { opens = "09:00", closes'),
        ("[limits.solo]\nmean_wind_kt = 12", "limits.solo.mean_wind_kt: must be a table, such as { care = 10, stop = 12 }"),
        ("[lesson_stops.solo]\ns-turns = 9", "lesson_stops.solo.s-turns: must be a table, such as { mean_wind_kt = 10 }"),
    ],
)  # fmt: skip
def test_a_value_of_another_kind_says_what_to_write(text: str, fault: str) -> None:
    whole = text if text.startswith(("\nname", "name")) else (FIELD if "runways" in text else 'name = "A"\n') + text
    fault = fault.replace("{number}", "must be a number, without quotes or unit")
    fault = fault.replace("{degrees}", "must be a number, in degrees with decimals")
    assert any(line.startswith(fault) for line in faults(whole)), faults(whole)


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        (AIRCRAFT.replace("crosswind_kt", "crosswind"), "did you mean demonstrated_crosswind_kt? known"),
        (
            AREA + '[[practice_areas.roads]]\nname = "r"\nlength_nm = 2\nbearing = 9',
            "did you mean bearing_deg_true or bearing_deg_magnetic? known",
        ),
        (HOURS + 'opens = "08:00"\ncloses = "18:00"\nSaturday = "x"', "did you mean saturday? known"),
        ("[limits.solo]\nmean_wind = { care = 9 }", "no such limit; did you mean mean_wind_kt? known"),
        ("[limits.presolo]\nheat_c = { care = 9 }", "no such stage; did you mean pre-solo? known"),
        ("[lesson_stops.solo]\ns-turn = { mean_wind_kt = 9 }", "no such lesson; did you mean s-turns? known"),
        ("[limits.solo]\nceiling_ft = { care = 9 }", "ceiling_ft: no such limit; known"),
        ("[limits.solo]\nwind = { care = 9 }", "wind: no such limit; known"),  # four of them hold the word
        ("[limits.sol]\nheat_c = { care = 9 }", "did you mean solo? known"),
        ("[limits.solo]\nspread_kt = { care = 9 }", "did you mean gust_spread_kt? known"),
        ("lesson_minute = 60", "did you mean lesson_minutes? known"),
    ],
)  # fmt: skip
def test_a_name_that_is_nearly_known_is_asked_for(text: str, meant: str) -> None:
    whole = text if text.startswith("name") else (FIELD if "runways" in text else 'name = "A"\n') + text
    found = faults(whole)
    assert any(meant in line for line in found), found


def test_a_fault_says_which_item_is_meant() -> None:
    second = FIELD[FIELD.index("[[") :].replace("XSHL", "XHLW")
    text = FIELD + second + RUNWAY.replace("3600", '"x"') + NOTICE.replace('who = "manager"', "")
    text += AREA.replace("1450", '"x"') + 'station = "XHLW"' + AIRCRAFT.replace("46", '"x"')
    ends = [line.rpartition(" (in ")[2] for line in faults(text)]
    assert ends == ["XHLW, 04/22).", "Soft field).", "North).", "Blue 2)."]


def test_one_bad_time_raises_no_ghost_of_the_other() -> None:
    assert len(faults(HOURS + 'opens = "7"\ncloses = "19:00"')) == 1
    assert len(faults(HOURS + 'opens = "07:00"\ncloses = "9"')) == 1
    assert faults(HOURS + 'opens = "19:00"\ncloses = "07:00"') == ["hours: closes must be later than opens."]
