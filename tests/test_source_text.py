"""Reports from a text, and from the demo with its own clock."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from advisor.errors import DataFileError, UnknownStation, WrongReport
from advisor.reports.sources import (
    DEMO,
    TEXT,
    Gathered,
    demo_now,
    demo_stations,
    gather,
)

NOW = datetime(2026, 4, 25, 13, 5, tzinfo=UTC)


# -- from a text --------------------------------------------------------------------------------------------

A = "METAR XBRK 251253Z 24011KT 10SM CLR 12/03 A2992"
OLDER = "METAR XBRK 251153Z 23008KT 10SM CLR 09/03 A2993"
T = "TAF XBRK 251120Z 2512/2612 24012KT P6SM SCT045"
B = "METAR XHLW 251235Z VRB03KT 1/4SM FG VV002 06/06 A2999"


def from_text(text: str, *ids: str) -> Gathered:
    return gather(ids, now=NOW, mode=TEXT, text=text)


def test_a_text_is_sorted_by_station():
    got = from_text(f"{OLDER}\n{B}\n{A}\n{T}\n@@@", "XBRK")
    assert [m.raw for m in got.stations["XBRK"].metars] == [A, OLDER]
    assert got.stations["XBRK"].taf is not None
    assert list(got.stations) == ["XBRK", "XHLW"], "the one asked for first, then the others there"
    assert (got.unread, got.notes) == (("@@@",), ())


def test_a_text_of_a_date_gone_by_is_dated_by_its_date_line():
    got = from_text("2025/12/25 12:53\nXBRK 251253Z 24011KT 10SM CLR 12/03 A2992")
    assert got.stations["XBRK"].metars[0].time == datetime(2025, 12, 25, 12, 53, tzinfo=UTC)


@pytest.mark.parametrize("text", ["", " \n\n", "=\n=\n", "\x00\x01"])
def test_an_empty_text_is_refused(text: str):
    with pytest.raises(WrongReport, match=r"holds no report: it is empty\. Give METAR or TAF lines"):
        from_text(text, "XBRK")


def test_a_text_of_another_station_is_refused():
    with pytest.raises(WrongReport, match="holds reports of XHLW, not of XBRK"):
        from_text(B, "XBRK")


def test_a_text_that_lacks_one_of_two_says_so():
    assert from_text(B, "XBRK", "XHLW").notes == ("The text holds no report of XBRK.",)


def test_a_text_of_rubbish_is_handed_on_unread():
    got = from_text("the wind is strong", "XBRK")
    assert got.unread == ("the wind is strong",)
    assert got.stations["XBRK"].latest is None


# -- the demo -----------------------------------------------------------------------------------------------


@pytest.fixture
def demo(tmp_path: Path) -> Path:
    (tmp_path / "demo.toml").write_text("now = 2026-04-25T13:05:00Z\n")
    later = A.replace("251253Z", "251353Z")
    taf_later = T.replace("1120Z", "1720Z")
    (tmp_path / "reports.txt").write_text(f"# made up\n{OLDER}=\n{A}=\n{later}\n{T}\n{taf_later}\n{B}\n")
    return tmp_path


def test_the_demo_has_its_own_clock(demo: Path):
    got = gather(["XBRK"], now=None, mode=DEMO, demo_folder=demo)
    assert got.now == demo_now(demo) == NOW
    assert list(got.stations) == ["XBRK"]
    assert [m.raw for m in got.stations["XBRK"].metars] == [A, OLDER], "not what is reported later that day"
    assert got.stations["XBRK"].taf is not None
    assert got.stations["XBRK"].taf.raw == T
    assert {m.source for m in got.stations["XBRK"].metars} == {"demo"}
    assert demo_stations(demo) == ("XBRK", "XHLW")
    assert list(gather([], now=None, mode=DEMO, demo_folder=demo).stations) == ["XBRK", "XHLW"]


def test_the_demo_goes_on_as_its_clock_is_moved(demo: Path):
    got = gather(["XBRK"], now=NOW + timedelta(hours=5), mode=DEMO, demo_folder=demo)
    assert len(got.stations["XBRK"].metars) == 2  # 1153Z is past six hours
    assert got.stations["XBRK"].metars[0].raw[11:18] == "251353Z"
    assert got.stations["XBRK"].taf is not None
    assert "1720Z" in got.stations["XBRK"].taf.raw


def test_a_station_the_demo_does_not_have(demo: Path):
    with pytest.raises(UnknownStation, match=r"The demo has no KMCI: it has XBRK, XHLW, all made up\."):
        gather(["KMCI"], now=None, mode=DEMO, demo_folder=demo)


def test_the_demo_that_comes_with_the_package():
    """All three made-up fields have reports and a forecast at the demo's own clock."""
    got = gather([], now=None, mode=DEMO)
    assert sorted(got.stations) == ["XBRK", "XHLW", "XSND"]
    for station in got.stations.values():
        assert station.latest is not None
        assert station.latest.time is not None
        assert got.now - station.latest.time < timedelta(minutes=75)
        assert station.taf is not None
    assert got.unread == ()


@pytest.mark.parametrize("clock", ["", "now = 5", "now = 2026-04-25T13:05:00", "now ="])
def test_a_demo_without_a_clock_is_a_sentence(demo: Path, clock: str):
    (demo / "demo.toml").write_text(clock)
    with pytest.raises(DataFileError):
        demo_now(demo)


def test_a_demo_without_files_is_a_sentence(tmp_path: Path):
    with pytest.raises(DataFileError, match="could not be read"):
        gather([], now=NOW, mode=DEMO, demo_folder=tmp_path)
