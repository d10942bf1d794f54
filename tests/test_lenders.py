"""The station a school's file names to borrow from is asked for and accepted, wherever the reports come from."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from advisor.cli import run
from advisor.commands import common
from advisor.reports.gathered import Gathered
from advisor.school import load_school

NOW = datetime(2026, 4, 25, 18, tzinfo=UTC)
PLACES = (("XBRK", 41.0, 1200), ("XHLW", 41.3, 300), ("XSND", 41.1, 1200))
SCHOOL = 'name = "S"\n' + "".join(
    f"""[[stations]]
station = "{ident}"
name = "made up"
latitude_deg = {north}
longitude_deg = -97.0
elevation_ft = {feet}
time_zone = "America/Chicago"
{'observation_from = "XHLW"' if ident == "XBRK" else ""}
{'forecast_from = "XHLW"' if ident == "XBRK" else ""}
[[stations.runways]]
name = "04/22"
bearing_deg_true = 43
length_ft = 3000
"""
    for ident, north, feet in PLACES
)
LENT = "METAR XHLW 251753Z 22008KT 10SM OVC040 15/05 A3000\nTAF XHLW 251730Z 2518/2618 22008KT P6SM OVC040\n"


@pytest.fixture
def school(tmp_path: Path) -> str:
    path = tmp_path / "school.toml"
    path.write_text(SCHOOL)
    return str(path)


def ask(tmp_path: Path, text: str, *more: str) -> int:
    path = tmp_path / "reports.txt"
    path.write_text(text)
    return run(["day", "XBRK", "--stage", "pre-solo", "--from-file", str(path), "--now", "2026-04-25T18:00Z", *more])


def test_a_text_of_the_named_lender_is_not_of_the_wrong_station(
    school: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert ask(tmp_path, LENT, "--school", school) == 0
    page = " ".join(capsys.readouterr().out.split())
    assert "Report borrowed from XHLW, 18 NM N, 900 ft lower. Its ceilings count 900 ft lower here." in page
    assert "Forecast borrowed from XHLW, 18 NM N, 900 ft lower." in page


def test_a_text_of_any_other_station_still_is(school: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert ask(tmp_path, LENT) == 1, "no school names a lender"
    assert ask(tmp_path, LENT.replace("XHLW", "XSND"), "--school", school) == 1
    assert "The text holds reports of XSND, not of XBRK." in capsys.readouterr().err


@pytest.mark.parametrize("way", [(), ("--offline",)])
def test_a_named_lender_is_asked_for_however_many_fields_there_are(
    way: tuple[str, ...], school: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The neighbours of each field are left out of a big posting; the lender its file names is not."""
    monkeypatch.setenv("ADVISOR_STORE", str(tmp_path / "store"))
    asked: list[tuple[str, ...]] = []

    def gather(stations: Any, **given: Any) -> Gathered:
        asked.append(tuple(stations))
        return Gathered("live", NOW, {})

    monkeypatch.setattr(common, "gather", gather)
    chosen = common.choices(school_file=school, now_text="2026-04-25T18:00Z", offline=bool(way))
    for field in ("XBRK", "XSND"):
        common._live_or_kept((field,), chosen, load_school(school), NOW, False)
    assert asked == [("XBRK", "XHLW"), ("XSND",)]
