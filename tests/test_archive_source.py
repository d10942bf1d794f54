"""Archives on disk: the layouts public archives use, in any order, cut into parts that never split an hour."""

from __future__ import annotations

import gzip
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest

from advisor.archive import source
from advisor.archive.run import run_season
from advisor.archive.season import Settings, rate_partition
from advisor.archive.source import Part, prepare, read_part
from advisor.errors import DataFileError
from tests.season_archive import SETTINGS, archive, as_rows, write_csv
from tests.test_season import equal

pytestmark = pytest.mark.archive


def read_all(parts: list[Part]) -> list[tuple[str, int, str]]:
    found = []
    for part in parts:
        for rows in read_part(part):
            found += list(zip(rows.station.tolist(), rows.minute.tolist(), rows.raw.tolist(), strict=True))
    return found


def plain(rows: list[tuple[str, object, str]]) -> list[tuple[str, int, str]]:
    given = as_rows(rows)
    return list(zip(given.station.tolist(), given.minute.tolist(), given.raw.tolist(), strict=True))


def test_rows_come_back_as_they_were(tmp_path: Path) -> None:
    rows = archive(days=2)
    parts = prepare([write_csv(tmp_path / "a.csv", rows)], tmp_path / "work")
    assert read_all(parts) == plain(rows)


def test_any_order_becomes_station_and_time(tmp_path: Path) -> None:
    rows = archive(days=2)
    by_time = sorted(rows, key=lambda row: row[1])
    assert by_time != rows
    parts = prepare([write_csv(tmp_path / "a.csv", by_time)], tmp_path / "work")
    assert read_all(parts) == plain(rows)


def test_many_files_are_one_archive(tmp_path: Path) -> None:
    rows = archive(days=2)
    files = [write_csv(tmp_path / f"{name}.csv", [row for row in rows if row[0] == name]) for name in ("XHLW", "XBRK")]
    parts = prepare(files, tmp_path / "work")
    assert read_all(parts) == plain(rows)


@pytest.mark.parametrize(
    ("header", "line"),
    [
        ("station,valid,metar", "XBRK,2025-06-01 18:53,{raw}"),
        ("Station,Valid,Lon,METAR", "XBRK,2025-06-01 18:53,-97.3,{raw}"),
        ("icaoId,obsTime,rawOb", "xbrk,2025-06-01T18:53:00Z,{raw}"),
        ("observed_utc\traw", "2025-06-01T18:53:00Z\t{raw}"),
        ("#DEBUG made,up\n#DEBUG: two lines\nstation,time,raw", 'XBRK,2025-06-01T18:53:00+00:00,"{raw}"'),
        ("station,time,raw,more", "XBRK,2025-06-01T18:53:00.000Z,{raw},x"),
    ],
)
def test_layouts(tmp_path: Path, header: str, line: str) -> None:
    raw = "XBRK 011853Z 22012KT 10SM CLR 15/05 A2992"
    path = tmp_path / "a.csv"
    path.write_text(f"{header}\n{line.format(raw=raw)}\n", encoding="utf-8")
    ((station, minute, text),) = read_all(prepare([path], tmp_path / "work"))
    assert (station, text) == ("XBRK", raw)
    assert np.datetime64(minute, "m") == np.datetime64("2025-06-01T18:53")


def test_gzip_and_parquet_in_place(tmp_path: Path) -> None:
    rows = archive(days=1)
    csv_file = write_csv(tmp_path / "a.csv", rows)
    packed = tmp_path / "a.csv.gz"
    packed.write_bytes(gzip.compress(csv_file.read_bytes()))
    assert read_all(prepare([packed], tmp_path / "work")) == plain(rows)
    parquet = tmp_path / "a.parquet"
    source.database().execute(
        f"COPY (SELECT station AS icao, time AS valid, raw AS metar FROM read_csv('{csv_file}')) TO '{parquet}'"
    )
    parts = prepare([parquet], tmp_path / "other")
    assert {part.path for part in parts} == {str(parquet)}  # sorted already: used where it is
    assert not (tmp_path / "other").exists()
    assert read_all(parts) == plain(rows)


@pytest.mark.parametrize("size", [1, 2, 7, 50, 10_000])
def test_no_part_or_chunk_cuts_an_hour(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, size: int) -> None:
    monkeypatch.setattr(source, "PART_ROWS", size)
    monkeypatch.setattr(source, "CHUNK_ROWS", max(size // 3, 1))
    monkeypatch.setattr(source, "_TAIL_ROWS", 1)
    rows = [row for row in archive(days=1) for _ in range(3)]  # hours of three and of six reports
    rows = rows[:50]
    parts = prepare([write_csv(tmp_path / "a.csv", rows)], tmp_path / "work")
    assert len(parts) == -(-len(rows) // size)
    seen: dict[tuple[str, int], int] = {}
    count = 0
    for number, part in enumerate(parts):
        for chunk, given in enumerate(read_part(part)):
            count += len(given)
            for key in set(zip(given.station.tolist(), (given.minute // 60).tolist(), strict=True)):
                assert seen.setdefault(key, number * 10_000 + chunk) == number * 10_000 + chunk, key
    assert count == len(rows)


def test_rows_without_a_time_are_kept_to_be_counted(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text("station,time,raw\nXBRK,,XBRK 011853Z 22012KT\nXBRK,nonsense,XBRK 011853Z 22012KT\n", "utf-8")
    assert [minute for _, minute, _ in read_all(prepare([path], tmp_path / "work"))] == [-1, -1]


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("", "empty"),
        ("#only\n#comments\n", "empty"),
        ("station,time,wind\nXBRK,2025-06-01,x\n", "no column of raw"),
        ("station,when,metar\nXBRK,2025-06-01,x\n", "no column of time"),
    ],
)
def test_what_is_no_archive_is_refused(tmp_path: Path, content: str, words: str) -> None:
    path = tmp_path / "a.csv"
    path.write_text(content, encoding="utf-8")
    with pytest.raises(DataFileError, match=words):
        prepare([path], tmp_path / "work")


def test_missing_damaged_and_doubled_files(tmp_path: Path) -> None:
    with pytest.raises(DataFileError, match="cannot be read"):
        prepare([tmp_path / "none.csv"], tmp_path / "work")
    torn = tmp_path / "torn.parquet"
    torn.write_bytes(b"PAR1 torn")
    with pytest.raises(DataFileError, match="cannot be read as a table"):
        prepare([torn], tmp_path / "work")
    rows = archive(days=1)
    twice = [write_csv(tmp_path / name, rows) for name in ("a.csv", "b.csv")]
    with pytest.raises(DataFileError, match="twice"):
        prepare(twice, tmp_path / "work")
    with pytest.raises(DataFileError, match="No archive"):
        prepare([], tmp_path / "work")


def small_parts(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> list[Part]:
    monkeypatch.setattr(source, "PART_ROWS", 100)
    return prepare([write_csv(tmp_path / "a.csv", archive(days=4))], tmp_path / "work")


def test_parts_on_disk_add_up_to_the_rows_in_hand(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    parts = small_parts(monkeypatch, tmp_path)
    assert len(parts) >= 3
    equal(run_season(parts, SETTINGS, tmp_path / "work"), rate_partition(as_rows(archive(days=4)), SETTINGS))


def test_two_processes_give_the_same(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    parts = small_parts(monkeypatch, tmp_path)[:2]
    one = run_season(parts, SETTINGS, tmp_path / "one")
    equal(run_season(parts, SETTINGS, tmp_path / "two", jobs=2), one)


def test_an_interrupted_run_is_taken_up(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    parts = small_parts(monkeypatch, tmp_path)
    whole = run_season(parts, SETTINGS, tmp_path / "whole")
    work = tmp_path / "work"

    def stop_at_second(part: Part, _found: bool) -> None:
        if part is parts[1]:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        run_season(parts, SETTINGS, work, report=stop_at_second)
    told: list[bool] = []
    equal(run_season(parts, SETTINGS, work, report=lambda _, found: told.append(found)), whole)
    assert told == [True, True] + [False] * (len(parts) - 2)
    kept = sorted(work.glob("part-*.npz"))
    kept[0].write_bytes(b"torn")
    told.clear()
    equal(run_season(parts, SETTINGS, work, report=lambda _, found: told.append(found)), whole)
    assert sorted(told) == [False] + [True] * (len(parts) - 1)


def test_results_of_other_settings_or_reports_are_not_taken(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    parts = small_parts(monkeypatch, tmp_path)[:2]
    run_season(parts, SETTINGS, tmp_path / "work")
    told: list[bool] = []
    other = Settings(fields=SETTINGS.fields, stations=("XBRK",))
    run_season(parts, other, tmp_path / "work", report=lambda _, found: told.append(found))
    later = [(s, when + timedelta(days=1), raw) for s, when, raw in archive(days=4)]
    moved = prepare([write_csv(tmp_path / "b.csv", later)], tmp_path / "work")[:2]
    run_season(moved, SETTINGS, tmp_path / "work", report=lambda _, found: told.append(found))
    assert told == [False] * 4
