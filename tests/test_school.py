"""A school's own file: what is understood, and that every fault is named at once."""

from __future__ import annotations

import re
from dataclasses import FrozenInstanceError
from datetime import UTC, datetime, time
from pathlib import Path

import pytest

from advisor.describe import describe_site
from advisor.errors import DataFileError
from advisor.places import find_station, runways
from advisor.school import Borrow, OpeningHours, School, load_school, parse_school
from advisor.segments import to_minutes

MORNING = datetime(2026, 4, 25, 14, 0, tzinfo=UTC)  # 09:00 CDT, inside the closure of full.toml
AFTERNOON = datetime(2026, 4, 25, 17, 0, tzinfo=UTC)  # its end, to the minute

FIELD = """
name = "Sandhill"
[[stations]]
station = "XSHL"
name = "Sandhill Example Field"
latitude_deg = 41.0
longitude_deg = -97.0
elevation_ft = 1200
time_zone = "America/Chicago"
"""
RUNWAY = """
[[stations.runways]]
name = "04/22"
bearing_deg_true = 43
length_ft = 3600
"""
NOTICE = """
[[notices]]
text = "Soft field"
who = "manager"
until = 2026-04-26T18:00:00-05:00
"""
AREA = """
[[practice_areas]]
name = "North"
latitude_deg = 41.1
longitude_deg = -97.05
ground_elevation_ft = 1450
"""
AIRCRAFT = """
[[aircraft]]
name = "Blue 2"
practice_kias = 85
stall_kcas = 46
demonstrated_crosswind_kt = 14
"""


@pytest.fixture(scope="module")
def full(fixtures_dir: Path) -> School:
    return load_school(fixtures_dir / "school" / "full.toml", when=MORNING)


def faults(text: str) -> list[str]:
    with pytest.raises(DataFileError) as caught:
        parse_school(text, file_name="x.toml")
    head, *lines = str(caught.value).splitlines()
    assert re.search(rf"x\.toml has {len(lines)} fault", head)
    assert all(re.fullmatch(r"  [\w.\-]+: .+\.", line) for line in lines), lines
    return [line.strip() for line in lines]


# -- what is understood -----------------------------------------------------------------------------------


def test_every_section_is_understood(full: School) -> None:
    assert (full.name, full.lesson_minutes, full.made_up) == ("Sandhill Flight Training (made up)", 75, False)
    assert full.opening_hours == OpeningHours(time(7, 30), time(19, 0))
    assert [f.station.station for f in full.stations] == ["XSHL", "XNBR"]
    assert full.borrow_for("XSHL") == Borrow("XNBR", "XNBR")
    assert full.borrow_for("XNBR") == Borrow()
    assert [a.name for a in full.aircraft] == ["Blue 2"]
    assert not full.aircraft[0].generic
    assert full.limit_overrides == {
        "mean_wind_kt": {"solo": (10.0, 12.0)},
        "visibility_sm": {"solo": (None, 6.0)},
    }
    area = full.areas_for("XSHL")[0]
    assert (area.ground_elevation_ft, area.roads[0].bearing_deg_true, area.points[0].name) == (
        1450.0, 90.0, "Lone silo",
    )  # fmt: skip
    assert full.areas_for("XNBR") == ()


def test_magnetic_bearings_become_true_with_the_variation_of_the_place(full: School) -> None:
    # 2.7 E by WMM2025 at 41 N 97 W (the worked day cases' field).
    ends = {e.name: e for e in full.stations[0].runway_ends or ()}
    assert ends["04"].bearing_deg_true == pytest.approx(42.7, abs=0.1)
    assert ends["22"].bearing_deg_true == pytest.approx(222.7, abs=0.1)
    assert ends["13"].bearing_deg_true == 132.7  # given true: kept
    assert full.practice_areas[0].fields[0].bearing_deg_true == pytest.approx(90.0, abs=0.1)
    later = parse_school(FIELD + RUNWAY.replace("true", "magnetic"), when=datetime(2029, 12, 1, tzinfo=UTC))
    now = parse_school(FIELD + RUNWAY.replace("true", "magnetic"), when=datetime(2025, 2, 1, tzinfo=UTC))
    first = [(s.stations[0].runway_ends or ())[0].bearing_deg_true for s in (now, later)]
    assert 0.05 < first[0] - first[1] < 1.0  # the field drifts west here; the clock is really used


def test_closed_ends_and_pattern_sides(full: School) -> None:
    ends = {e.name: e for e in full.stations[0].runway_ends or ()}
    assert {n for n, e in ends.items() if e.closed} == {"13", "31"}
    assert {n for n, e in ends.items() if e.pattern_side == "right"} == {"22"}


def test_a_notice_closes_its_runway_while_it_is_in_force(full: School) -> None:
    def closed(when: datetime) -> set[str]:
        return set(describe_site("XSHL", now=when, school=full).closed_at(to_minutes(when)))

    assert closed(MORNING) == {"04", "22", "13", "31"}
    assert closed(datetime(2026, 4, 25, 12, 59, tzinfo=UTC)) == {"13", "31"}
    assert closed(AFTERNOON) == {"13", "31"}


def test_notices_hold_between_their_times_on_the_fields_clock(full: School) -> None:
    assert [n.kind for n in full.notices_at(MORNING, "XSHL")] == ["closure", "other"]
    assert [n.kind for n in full.notices_at(MORNING, "XNBR")] == ["other"]
    # A bare date means the whole local day: until midnight at the end of the 26th, 0500Z on the 27th.
    assert full.notices_at(datetime(2026, 4, 27, 4, 59, tzinfo=UTC))
    assert not full.notices_at(datetime(2026, 4, 27, 5, 0, tzinfo=UTC))


def test_the_engine_gets_plain_frozen_values(full: School) -> None:
    with pytest.raises(FrozenInstanceError):
        full.name = "other"  # type: ignore[misc]
    for thing in (full, *full.stations, *full.notices, *full.practice_areas, *full.aircraft):
        assert not hasattr(thing, "model_fields")


def test_a_known_station_needs_only_what_differs() -> None:
    school = parse_school('name = "A"\n[[stations]]\nstation = "KBDU"\nelevation_ft = 5290\n')
    record = school.stations[0]
    listed = find_station("KBDU")
    assert record.station.elevation_ft == 5290.0
    assert record.station.name == listed.name
    assert record.station.time_zone == "America/Denver"
    assert record.runway_ends == runways("KBDU") != ()
    assert "school file" in record.station.source
    bare = parse_school('name = "A"\n[[stations]]\nstation = "KBDU"\n').stations[0].station
    assert bare.source == listed.source  # nothing of its own: the list's record, and the list's word


def test_a_position_far_from_the_lists_is_said() -> None:
    school = parse_school('name = "A"\n[[stations]]\nstation = "KBDU"\nlatitude_deg = 41.0\nlongitude_deg = -105.2\n')
    assert "58 NM" in school.notes[0]


def test_the_smallest_file_is_a_name() -> None:
    school = parse_school('name = "A"')
    assert (school.stations, school.notices, school.opening_hours) == ((), (), None)
    assert school.lesson_minutes == 60


# -- every fault at once ----------------------------------------------------------------------------------

BROKEN = [
    "colour: is not a known name here",
    "name: is missing",
    "lesson_minutes: must be a whole number",
    "hours: closes must be later than opens",
    "stations.0.latitude_deg: must be at most 90",
    "stations.0.elevation_ft: must be a number",
    "stations.0.time_zone: no such time zone",
    "stations.1: XNBR is not on the station list; the file must also give name, longitude_deg, ele",
    "stations.2.runways.1.name: the two ends are not opposite",
    "stations.2.runways.2.length_ft: must be a whole number",
    "stations.2.runways.2: give either bearing_deg_true or bearing_deg_magnetic",
    "notices.0.kind: must be one of 'closure', 'restriction', 'wet-surface' or 'other'",
    "notices.0.until: must be a date or a date and time without quotes",
    "practice_areas.0.name: control and invisible characters",
    "practice_areas.0.fields.0: length_ft is the long side",
    "aircraft.0.demonstrated_crosswind_kt: must be more than 0",
    "aircraft.0: practice_kias must be above stall_kcas",
    "limits.student: no such stage",
    "limits.solo.wind: no such limit",
    "limits.solo.heat_c: give care, stop or both",
    "limits.solo.mean_wind_kt: care 14 must lie at or below stop 12 kt",
    "limits.solo.visibility_sm: a stop of 1 SM is looser than the regulation's floor of 3 SM",
]


def test_a_broken_file_names_every_fault_at_once(fixtures_dir: Path) -> None:
    found = faults((fixtures_dir / "school" / "broken.toml").read_text("utf-8"))
    for wanted in BROKEN:
        assert sum(line.startswith(wanted) for line in found) == 1, wanted
    assert len(found) == len(BROKEN), found


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        (FIELD + RUNWAY.replace("43", "130"), "stations.0.runways.0.bearing_deg_true: 127 degrees magnetic"),
        (FIELD + RUNWAY + RUNWAY, "stations.0.runways.1.name: 04/22 is described twice"),
        (FIELD + RUNWAY + 'right_pattern = ["13"]', "stations.0.runways.0: right_pattern names '13'"),
        (FIELD + RUNWAY.replace("3600", "3600.5"), "stations.0.runways.0.length_ft: must be a whole number"),
        (FIELD + RUNWAY.replace("3600", "true"), "stations.0.runways.0.length_ft: must be a whole number"),
        (FIELD + RUNWAY.replace("04/22", "4/22"), "stations.0.runways.0.name: name both ends with two"),
        (FIELD + RUNWAY + "bearing_deg_magnetic = 40", "stations.0.runways.0: give either"),
        (FIELD + RUNWAY.replace("43", "inf"), "stations.0.runways.0.bearing_deg_true: must be an ordinary n"),
        (FIELD + RUNWAY + "length_m = 1100", "stations.0.runways.0.length_m: is not a known name here"),
        (FIELD + FIELD[FIELD.index("[[") :], "stations.1.station: XSHL is described twice"),
        (FIELD.replace("XSHL", "xshl"), "stations.0.station: a station identifier is three or four capital"),
        (FIELD + 'forecast_from = "QQQQ"', "stations.0.forecast_from: No station 'QQQQ' is known"),
        (FIELD.replace('"America/Chicago"', '"../zone"'), "stations.0.time_zone: no such time zone"),
        (FIELD.replace("Sandhill Example", "A\\u202Eb"), "stations.0.name: control and invisible"),
        (FIELD.replace("Sandhill Example", "x" * 61), "stations.0.name: is longer than 60 characters"),
        (FIELD.replace("Sandhill Example Field", ""), "stations.0.name: must not be empty"),
        (FIELD + NOTICE.replace("Soft field", "Runway cleared"), "notices.0.text: reads as leave to fly"),
        (FIELD + NOTICE.replace('"manager"', '"Go"'), "notices.0.who: reads as leave to fly"),
        (FIELD + NOTICE + 'runway = "18"', "notices.0.runway: XSHL has no runway 18; known: none"),
        (FIELD + RUNWAY + NOTICE + 'runway = "18"', "notices.0.runway: XSHL has no runway 18; known: 04, 22"),
        (FIELD + NOTICE + 'station = "QQQQ"', "notices.0.station: No station 'QQQQ' is known"),
        (FIELD + NOTICE + "since = 2026-04-27", "notices.0.until: must be later than since"),
        (FIELD + NOTICE.replace('who = "manager"', ""), "notices.0.who: is missing"),
        (
            FIELD + NOTICE.replace("2026-04-26T18:00:00-05:00", "2026-11-01T01:30:00"),
            "notices.0.until: 01:30 on 01 November 2026 happens twice",
        ),
        (FIELD + NOTICE.replace("2026-04-26", "2226-04-26"), "notices.0.until: the year 2226 is out of range"),
        ('name = "A"' + NOTICE.replace("-05:00", ""), "notices.0.until: give the time with its offset"),
        ('name = "A"' + NOTICE + 'runway = "18"', "notices.0.station: say which field the runway belongs to"),
        ('name = "A"' + AREA + AREA, "practice_areas.1.name: North is described twice"),
        ('name = "A"' + AREA + 'station = "QQQQ"', "practice_areas.0.station: No station 'QQQQ'"),
        (
            'name = "A"' + AREA + '[[practice_areas.roads]]\nname = "R"\nlength_nm = 0\nbearing_deg_true = 1',
            "practice_areas.0.roads.0.length_nm: must be more than 0",
        ),
        ('name = "A"' + AIRCRAFT + AIRCRAFT, "aircraft.1.name: Blue 2 is described twice"),
        ('name = "A"\naircraft = 3', "aircraft: write it with double brackets, [[aircraft]]"),
        ('name = "A"\naircraft = [3]', "aircraft.0: must be a table"),
        ('name = "A"\nhours = 8', "hours: must be a table"),
        ('name = "A"\n[hours]\nopens = "8"\ncloses = "24:00"', "hours.opens: write the local time as"),
        ('name = "A"\nlimits = 3', "limits: write it by stage"),
        ('name = "A"\n[limits]\nsolo = 3', "limits.solo: must be a table"),
        ('name = "A"\n[limits.solo]\nmean_wind_kt = 12', "limits.solo.mean_wind_kt: must be a table"),
        (
            'name = "A"\n[limits.solo]\nmean_wind_kt = { care = 12, hold = 14 }',
            "limits.solo.mean_wind_kt.hold: is not a known name here; known: care, stop",
        ),
        ('name = "A"\nlesson_minutes = 5', "lesson_minutes: must be at least 15"),
        ("name = 3", "name: must be text in quotes"),
    ],
)
def test_one_fault_has_its_path_and_a_sentence(text: str, fault: str) -> None:
    found = faults(text)
    assert any(line.startswith(fault) for line in found), found


def test_a_fault_in_a_field_does_not_raise_ghosts_elsewhere() -> None:
    found = faults(FIELD.replace("1200", '"1200"') + NOTICE.replace("-05:00", "") + 'station = "XSHL"')
    assert found == ["stations.0.elevation_ft: must be a number, without quotes or unit: 1200 (in XSHL)."]


@pytest.mark.parametrize("bad", [b"name = ", b"\xff\xfe", b"name = 1\nname = 2", b"[[[[", b"x" * 1_100_000])
def test_what_is_no_school_file_is_one_sentence(tmp_path: Path, bad: bytes) -> None:
    path = tmp_path / "school.toml"
    path.write_bytes(bad)
    with pytest.raises(DataFileError, match=r"school\.toml"):
        load_school(path)


def test_a_file_that_is_not_there_is_one_sentence(tmp_path: Path) -> None:
    for path in (tmp_path / "none.toml", tmp_path):
        with pytest.raises(DataFileError, match="cannot be read"):
            load_school(path)


def test_deep_nesting_is_refused_not_crashed_on() -> None:
    with pytest.raises(DataFileError):
        parse_school("name = " + "[" * 5000 + "]" * 5000)
