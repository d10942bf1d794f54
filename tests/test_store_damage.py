"""The store beside other processes, after damage, on a full disk, and when it is large."""

from __future__ import annotations

import json
import os
import signal
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import pytest

from advisor.errors import StoreError
from advisor.reports.store import METAR, Store
from tests.store_helpers import NOW, at, metar

ROOT = Path(__file__).resolve().parent.parent


def start(code: str, *args: object) -> subprocess.Popen[str]:
    """Another process with the helpers at hand; it runs at once."""
    line = [sys.executable, "-c", f"from tests.store_helpers import *\n{code}", *map(str, args)]
    return subprocess.Popen(line, stdout=subprocess.PIPE, text=True, cwd=ROOT)


def results(children: list[subprocess.Popen[str]]) -> list[object]:
    """What each printed as JSON, when all have ended well."""
    outputs = [child.communicate(timeout=60)[0] for child in children]
    assert [child.returncode for child in children] == [0] * len(children)
    return [json.loads(output) for output in outputs]


# -- two processes ------------------------------------------------------------------------------------------


def test_three_processes_write_at_once_and_nothing_is_lost(tmp_path: Path):
    ids = ["XAAA", "XBBB", "XCCC"]
    code = "import json, sys; print(json.dumps(write_many(sys.argv[1], sys.argv[2], 20)))"
    assert results([start(code, tmp_path, i) for i in ids]) == [[], [], []]
    store = Store(tmp_path)
    assert {i: len(store.history(i, at(0, 0))) for i in [*ids, "XSND"]} == dict.fromkeys([*ids, "XSND"], 20)


KILLED = """
import sys
from datetime import timedelta
store = Store(sys.argv[1])
n = 0
while True:
    reports = [(metar(f"X{s:03d}", at(0, 0) + timedelta(minutes=n)), None) for s in range(50)]
    store.put(reports, now=NOW, source="x")
    n += 1
    print(n, flush=True)
"""


def test_a_process_killed_while_writing_leaves_whole_writes(tmp_path: Path):
    for wait_s in (0.05, 0.11):
        child = start(KILLED, tmp_path)
        assert child.stdout is not None
        child.stdout.readline()
        time.sleep(wait_s)
        child.send_signal(signal.SIGKILL)
        done = [int(line) for line in child.communicate()[0].splitlines() if line.isdigit()]
        store = Store(tmp_path)
        counts = {count for _, _, count, _, _ in store.summary().rows}
        assert len(counts) == 1, "each write is whole or absent"
        assert counts.pop() >= max(done, default=1)
        assert store.faults == []


# -- damage -------------------------------------------------------------------------------------------------


def filled(folder: Path, stations: int = 60, hours: int = 24) -> Store:
    store = Store(folder)
    pairs = [(s, at(hour)) for hour in range(hours) for s in range(stations)]
    store.put([(metar(f"X{s:03d}", t, "RMK " + "B" * 60), None) for s, t in pairs], now=NOW, source="service")
    taf = "TAF X000 251120Z 2512/2612 24012KT P6SM " + "SCT045 " * 300  # long enough to spill over several pages
    store.put([(taf, None)], now=NOW, source="service")
    return store


def tear(path: Path, how: str) -> None:
    size = path.stat().st_size
    with path.open("r+b") as file:
        if how == "cut in half":
            file.truncate(size // 2 + 100)
        elif how == "last page torn":
            file.truncate(size - 1_000)
        elif how == "first page lost":
            file.write(b"\0" * 4096)
        elif how == "head overwritten":
            file.write(b"<html>not a database</html>" * 5)
        elif how == "middle overwritten":
            file.seek(size // 2)
            file.write(os.urandom(8192))


@pytest.mark.parametrize(
    ("how", "at_least"),
    [
        ("cut in half", 0.35),
        ("last page torn", 0.9),
        ("first page lost", 1.0),
        ("head overwritten", 1.0),
        ("middle overwritten", 0.9),
    ],
)
def test_a_torn_file_is_set_aside_and_the_rest_is_served(tmp_path: Path, how: str, at_least: float):
    store = filled(tmp_path)
    damaged = store.path
    tear(damaged, how)
    # what a damaged file does depends on which page is asked for: write, so that every page is in reach
    store.put([(metar("XNEW", at(12)), None)], now=NOW, source="service")
    for s in range(60):
        store.history(f"X{s:03d}", at(0))
    kept = store.histories([f"X{s:03d}" for s in range(60)], at(0, 0))
    whole = {metar(f"X{s:03d}", at(h), "RMK " + "B" * 60) for s in range(60) for h in range(24)}
    texts = [r.raw for reports in kept.values() for r in reports]
    assert set(texts) <= whole, "nothing is made up"
    assert len(texts) == len(set(texts)) >= at_least * len(whole)
    (fault,) = store.faults
    assert fault.startswith("The store of reports was damaged: ")
    assert f"set aside ({damaged})" in fault
    assert store.path != damaged
    assert damaged.exists()
    assert store.latest_metar("XNEW") is not None, "and it can be written again"
    again = Store(tmp_path)
    again.put([(metar("XNEW", at(12)), None)], now=NOW, source="service")
    assert again.faults == [], "said once"
    again.prune()
    assert not damaged.exists()


def test_a_long_report_survives_the_salvage(tmp_path: Path):
    store = filled(tmp_path)
    tear(store.path, "first page lost")
    forecast = store.latest_taf("X000")
    assert forecast is not None
    assert forecast.raw.count("SCT045") == 300


def test_a_file_of_nothing_known_gives_an_empty_store(tmp_path: Path):
    (tmp_path / "reports-001.sqlite3").write_bytes(b"this was never a database" * 1000)
    store = Store(tmp_path)
    assert store.latest_metar("XBRK") is None
    assert "damaged: 0 reports could be read" in store.faults[0]
    assert store.put([(metar("XBRK", at(12)), None)], now=NOW, source="service") == 1


def test_two_processes_that_find_the_damage_repair_it_once(tmp_path: Path):
    tear(filled(tmp_path).path, "head overwritten")
    code = "import json, sys; print(json.dumps(repair(sys.argv[1])))"
    found = results([start(code, tmp_path) for _ in range(3)])
    assert [number for number, _ in found] == [60, 60, 60]  # type: ignore[misc]
    assert sum(len(faults) for _, faults in found) == 1  # type: ignore[misc]
    assert sorted(p.name for p in tmp_path.iterdir()) == ["reports-001.sqlite3", "reports-002.sqlite3"]


def test_a_repair_lock_left_by_a_dead_process_is_taken_over(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr("advisor.reports.store_file._REPAIR_WAIT_S", 0.1)
    store = filled(tmp_path, stations=3)
    (tmp_path / "repair.lock").touch()
    tear(store.path, "head overwritten")
    assert store.latest_metar("X001") is not None


# -- a full disk, and other refusals ------------------------------------------------------------------------


FULL = """
import json, resource, signal, sys
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (60_000, 60_000))
store = Store(sys.argv[1])
new = []
for h in range(24):
    reports = [(metar(f"X{n:03d}", at(h), "A" * 90), None) for n in range(40)]
    new.append(store.put(reports, now=NOW, source="x"))
latest = store.latest_metar("X007")
print(json.dumps([new, store.faults, latest.raw]))
"""


def test_a_disk_that_is_full_costs_the_new_reports_only(tmp_path: Path):
    """The kernel's own limit on file size makes the write fail as a full disk does, half way through."""
    ((new, faults, latest),) = results([start(FULL, tmp_path)])  # type: ignore[misc]
    written = sum(n == 40 for n in new)
    assert 3 < written < 20, "some fitted"
    assert new[written:] == [0] * (24 - written), "then none did"
    assert len(faults) == 1
    assert "could not be written" in faults[0]
    assert "This answer does not depend on it" in faults[0]
    assert "ADVISOR_STORE" in faults[0]
    assert latest == metar("X007", at(written - 1), "A" * 90)
    store = Store(tmp_path)  # with room again, all is well
    assert store.put([(metar("X007", at(23)), None)], now=NOW, source="x") == 1
    assert store.faults == []
    with sqlite3.connect(store.path) as db:
        assert db.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
    db.close()


def test_a_database_that_says_full_is_a_sentence(store: Store, monkeypatch: pytest.MonkeyPatch):
    def full(*_: object, **__: object) -> None:
        raise sqlite3.OperationalError("database or disk is full")

    monkeypatch.setattr("advisor.reports.store.use_file", full)
    assert store.put([(metar("XBRK", at(12)), None)], now=NOW, source="x") == 0
    assert "could not be written (database or disk is full)" in store.faults[0]


def test_a_folder_that_cannot_be_is_a_sentence(tmp_path: Path):
    (tmp_path / "file").write_text("in the way")
    store = Store(tmp_path / "file" / "store")
    assert store.put([(metar("XBRK", at(12)), None)], now=NOW, source="x") == 0
    assert store.latest_metar("XBRK") is None
    assert "could not be written" in store.faults[0]


def test_a_store_of_another_make_is_a_sentence_and_left_alone(tmp_path: Path):
    path = tmp_path / "reports-001.sqlite3"
    with sqlite3.connect(path) as db:
        db.execute("CREATE TABLE report (something TEXT)")
    db.close()
    before = path.read_bytes()
    store = Store(tmp_path)
    assert store.latest_metar("XBRK") is None
    assert "could not be read (no such column: station)" in store.faults[0]
    with pytest.raises(StoreError, match="could not be read"):
        store.summary()
    with pytest.raises(StoreError, match="could not be written"):
        store.prune(before=NOW)
    assert path.read_bytes() == before


def test_no_folder_at_all_is_refused():
    with pytest.raises(StoreError, match="Set ADVISOR_STORE"):
        Store(None)


# -- speed --------------------------------------------------------------------------------------------------


def test_the_latest_of_many_stations_reads_no_history(tmp_path: Path):
    """Ten times the history may not cost ten times the reading: the index is searched, not scanned."""
    store = filled(tmp_path, stations=5, hours=2)
    with sqlite3.connect(store.path) as db:
        plan = db.execute(
            "EXPLAIN QUERY PLAN SELECT * FROM report WHERE station = ? AND kind = ? AND time <= ? "
            "ORDER BY time DESC, fetched DESC LIMIT 1",
            ("X001", METAR, 2**60),
        ).fetchall()
    db.close()
    assert any("SEARCH report USING PRIMARY KEY (station=? AND kind=? AND time<?)" in row[3] for row in plan)
