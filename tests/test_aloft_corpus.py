"""Real winds-aloft bulletins and the values others decoded from them (``--reports DIR``).

``winds_aloft_expected.csv`` names the bulletin file, station, level and group, with direction, speed and
temperature; ``*`` as station asks for the number of stations, ``-`` as bulletin for a group on its own.
"""

from __future__ import annotations

import csv
import re
from datetime import UTC, datetime
from functools import cache
from pathlib import Path

import pytest

from advisor.reports.decode_aloft import decode_winds_aloft, interpolate_aloft, read_cell
from advisor.reports.types import WindsAloft

NOW = datetime(2024, 1, 15, tzinfo=UTC)  # the bulletins carry no month; any will do


@cache
def bulletin(path: Path) -> tuple[WindsAloft, ...]:
    with path.open(newline="", encoding="utf-8", errors="replace") as handle:
        return decode_winds_aloft(handle.read(), NOW)


def test_every_expectation(reports_dir: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with (reports_dir / "winds_aloft_expected.csv").open(newline="", encoding="utf-8") as handle:
        expectations = list(csv.DictReader(handle))
    wrong = []
    for row in expectations:
        if row["bulletin"] == "-":
            height = 39000 if re.fullmatch(r"\d{6}", row["group"]) else 9000
            found = read_cell(row["group"], height)
        else:
            rows = bulletin(reports_dir / f"{row['bulletin']}.txt")
            if row["station"] == "*":
                count = re.search(r"(\d+) stations", row["source"])
                if count is not None and len(rows) != int(count.group(1)):
                    wrong.append(row)
                continue
            station = next(r for r in rows if r.station == row["station"])
            found = next((v for v in station.levels if v.height_ft_msl == int(row["level_ft"])), None)
            if "no value" in row["source"]:
                if found is not None:
                    wrong.append(row)
                continue
        if found is None:
            wrong.append(row)
            continue
        if row["dir_deg"] == "LV":
            right = found.light_and_variable and found.speed_kt is None
        else:
            right = all(
                not text or value == float(text)
                for text, value in (
                    (row["dir_deg"], found.from_deg_true),
                    (row["speed_kt"], found.speed_kt),
                    (row["temp_c"], found.temperature_c),
                )
            )
        if not right:
            wrong.append(row)
    with capsys.disabled():
        print(f"\nwinds aloft: {len(expectations) - len(wrong)} of {len(expectations)} expectations right")
    assert expectations
    assert wrong == []


def test_every_cell_of_every_bulletin_is_a_level(reports_dir: Path) -> None:
    """Independent count of the words in each row; missing columns are always the lowest ones."""
    paths = sorted(p for p in reports_dir.glob("winds_aloft_*.txt"))
    assert paths
    for path in paths:
        rows = bulletin(path)
        heights = sorted({level.height_ft_msl for row in rows for level in row.levels})
        for row in rows:
            cells = row.raw.split()[1:]
            assert row.not_understood == (), row.raw
            assert [level.height_ft_msl for level in row.levels] == heights[len(heights) - len(cells) :], row.raw
            for level, cell in zip(row.levels, cells, strict=True):
                coded = int(cell[:2])
                if cell.startswith("9900"):
                    assert level.light_and_variable
                elif coded > 50:
                    assert (level.from_deg_true, level.speed_kt) == ((coded - 50) * 10, int(cell[2:4]) + 100)
                else:
                    assert (level.from_deg_true, level.speed_kt) == (coded * 10, int(cell[2:4]))
            mid = interpolate_aloft(row, (row.levels[0].height_ft_msl + row.levels[1].height_ft_msl) / 2)
            assert mid.speed_high_kt is not None
            ends = [5 if level.speed_kt is None else level.speed_kt for level in row.levels[:2]]
            assert mid.speed_high_kt <= max(ends) + 1e-9
