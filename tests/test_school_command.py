"""The starter of a school's file, and ``advisor school``."""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from advisor.cli import run
from advisor.commands.school import command
from advisor.commands.school_starter import starter_text
from advisor.errors import DataFileError, UnknownStation
from advisor.lessons import lesson_keys
from advisor.limits import quantities
from advisor.places import find_station, runways
from advisor.school import Borrow, parse_school


@pytest.mark.parametrize("station", ["KBDU", "KEWR", "PANC", "EGLL", "BIBD", "CWGB", "N07", "YSSY"])
def test_a_starter_passes_its_own_check(station: str) -> None:
    school = parse_school(starter_text(station))
    listed = find_station(station)
    record = school.stations[0]
    assert record.station.station == listed.station
    assert record.station.elevation_ft == listed.elevation_ft
    got = {e.name: (e.bearing_deg_true, e.bearing_estimated) for e in record.runway_ends or ()}
    wanted = {
        e.name: (pytest.approx(e.bearing_deg_true, abs=0.06), e.bearing_estimated)
        for e in runways(station)
        if e.length_ft >= 300
    }
    assert got == wanted


def test_every_example_in_a_starter_passes_the_check_when_used() -> None:
    lines = []
    for line in starter_text("KBDU").splitlines():
        used = re.sub(r"^# (?=\[|[a-z_]+ = )", "", line)
        lines.append(used.replace("XXXX", "KDEN"))
    text = "\n".join(lines)
    school = parse_school(text)
    assert school.notices
    assert school.practice_areas[0].roads
    assert school.practice_areas[0].fields
    assert school.practice_areas[0].points
    assert school.aircraft
    assert school.opening_hours
    assert school.limit_overrides == {"mean_wind_kt": {"solo": (12.0, 15.0)}}
    assert school.borrow_for("KBDU") == Borrow("KDEN", "KDEN")
    assert set(tomllib.loads(text)) >= {"stations", "notices", "practice_areas", "aircraft", "hours"}


def test_a_starter_lists_every_name_a_limit_and_a_stop_may_have() -> None:
    text = " ".join(starter_text("KBDU").replace("\n#", " ").split())
    assert f"Limits: {', '.join(quantities())}." in text
    assert f"Lessons: {', '.join(lesson_keys())}." in text


def test_a_starter_for_an_unknown_station_is_refused() -> None:
    with pytest.raises(UnknownStation):
        starter_text("QQQQ")


def test_new_prints_or_writes_and_never_overwrites(tmp_path: Path) -> None:
    runner = CliRunner()
    printed = runner.invoke(command, ["new", "KBDU"])
    assert printed.exit_code == 0
    assert printed.output == starter_text("KBDU")
    target = tmp_path / "mine.toml"
    assert runner.invoke(command, ["new", "KBDU", "-o", str(target)]).exit_code == 0
    assert target.read_text("utf-8") == starter_text("KBDU")
    target.write_text("mine")
    assert run(["school", "new", "KBDU", "-o", str(target)]) == 1
    assert target.read_text() == "mine"
    assert run(["school", "new", "KBDU", "-o", str(tmp_path / "no" / "mine.toml")]) == 1


def test_check_says_what_was_understood(fixtures_dir: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["school", "check", str(fixtures_dir / "school" / "full.toml")]) == 0
    out = capsys.readouterr().out
    for words in (
        "full.toml is understood", "XSHL Sandhill Example Field", "22 223 true, right pattern",
        "13 133 true, closed", "forecast borrowed from XNBR", "until Sat 25 Apr 2026 12:00 CDT (251700Z)",
        "ground up to 1450 ft", "long side 90 true, 5280 by 2640 ft", "practice 85 KIAS",
        "solo visibility_sm: stop 6 SM", "07:30 to 19:00 local",
    ):  # fmt: skip
        assert words in out


def test_check_says_which_aircraft_is_taken_where_none_is_named(root: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["school", "check", str(root / "advisor/data/demo/demo_school.toml")]) == 0
    lines = [x for x in capsys.readouterr().out.splitlines() if "Aircraft: " in x]
    assert [x.endswith("Used unless --aircraft names another.") for x in lines] == [True, False]


def test_check_marks_limits_looser_than_the_shipped(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "s.toml"
    path.write_text('name = "A"\n[limits.solo]\nmean_wind_kt = { care = 14, stop = 18 }\n')
    assert run(["school", "check", str(path)]) == 0
    out = capsys.readouterr().out
    assert "Marked on every page: mean wind for solo: care 14, stop 18 kt (looser" in out


def test_check_refuses_a_broken_file(fixtures_dir: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["school", "check", str(fixtures_dir / "school" / "broken.toml")]) == 1
    said = capsys.readouterr()
    assert said.out == ""
    assert "has 22 faults" in said.err
    assert "Traceback" not in said.err


def test_pydantic_is_loaded_only_when_a_file_is_read(root: Path) -> None:
    code = "import sys, advisor.school, advisor.demo; sys.exit('pydantic' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], cwd=root, check=False).returncode == 0


def test_a_damaged_file_never_ends_in_anything_but_a_sentence(fixtures_dir: Path) -> None:
    rng = np.random.default_rng(425)
    lines = (fixtures_dir / "school" / "full.toml").read_text("utf-8").splitlines()
    values = [
        '""', "0", "-1", "nan", "1e400", "true", "[]", "{}", "2026-04-26", "12:00:00", '"\\u0000"', "[[1]]",
        '"KBDU"', "9" * 400, "9" * 5000, "2026-04-26T18:00:00+14:00", "0001-01-01",
        "9999-12-31T23:59:59-12:00",
    ]  # fmt: skip
    refused, understood = [], 0
    for _ in range(150):
        damaged = list(lines)
        for _ in range(int(rng.integers(1, 4))):
            i = int(rng.integers(0, len(damaged)))
            key, equals, _ = damaged[i].partition(" = ")
            kind = int(rng.integers(0, 4))
            if kind == 0:
                del damaged[i]
            elif kind == 1:
                damaged.insert(i, damaged[int(rng.integers(0, len(damaged)))])
            elif equals:
                damaged[i] = f"{key} = {values[int(rng.integers(0, len(values)))]}"
        try:
            parse_school("\n".join(damaged))
            understood += 1
        except DataFileError as error:
            refused.append(str(error))
    assert understood > 5
    assert len(refused) > 75
    assert max(map(len, refused)) < 6000
    assert not any("\x00" in text for text in refused)
