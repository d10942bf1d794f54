"""The store on disk: what goes in comes out, whatever happens to the disk or beside it."""

from __future__ import annotations

import csv
import io
import json
import os
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
import time_machine
from click.testing import CliRunner

from advisor.cli import run
from advisor.commands.store import command
from advisor.errors import StoreError, UnknownStation
from advisor.reports.identity import own_time
from advisor.reports.store import METAR, TAF, Store
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


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return Store(tmp_path / "store")


# -- what goes in comes out ---------------------------------------------------------------------------------


def test_the_latest_and_the_history(store: Store):
    texts = [metar("XBRK", at(h)) for h in (12, 9, 11, 10)]
    taf = "TAF XBRK 251120Z 2512/2612 24012KT P6SM SCT045"
    assert store.put([(t, None) for t in [*texts, taf]], now=NOW, source="service") == 5
    latest = store.latest_metar("xbrk")
    assert latest is not None
    assert (latest.raw, latest.time, latest.fetched_at, latest.source) == (texts[0], at(12), NOW, "service")
    assert [r.time for r in store.history("XBRK", at(10))] == [at(12), at(11), at(10)]
    assert [r.time for r in store.history("XBRK", at(9), at(10))] == [at(10), at(9)]
    forecast = store.latest_taf("XBRK")
    assert forecast is not None
    assert (forecast.raw, forecast.time) == (taf, at(11, 20))
    assert store.latest_metar("XHLW") is None
    assert store.faults == []


def test_a_store_that_is_not_there_is_empty_and_is_not_made_by_looking(tmp_path: Path):
    store = Store(tmp_path / "none" / "yet")
    assert store.latest_metar("XBRK") is None
    assert store.history("XBRK", at(0)) == []
    assert store.prune() == 0
    assert store.summary().rows == ()
    assert not (tmp_path / "none").exists()


def test_the_same_report_is_kept_once_and_the_word_in_front_is_won(store: Store):
    later = NOW + timedelta(minutes=20)
    bare, full = metar("XBRK", at(12), word=""), metar("XBRK", at(12), word="SPECI ")
    assert store.put([(bare, None)], now=NOW, source="gateway") == 1
    assert (
        store.put([(full + " =", None), (bare.replace(" ", "\n "), None)], now=later, source="service") == 0
    )
    (kept,) = store.history("XBRK", at(0))
    assert (kept.raw, kept.fetched_at, kept.seen_at, kept.source) == (full, NOW, later, "gateway")


def test_age_is_of_the_report_and_not_of_the_fetch(store: Store):
    """An old report fetched last never hides a newer one fetched before."""
    store.put([(metar("XBRK", at(12)), None)], now=NOW, source="service")
    store.put([(metar("XBRK", at(9)), None)], now=NOW + timedelta(hours=1), source="gateway")
    latest = store.latest_metar("XBRK")
    assert latest is not None
    assert latest.time == at(12)


def test_a_correction_replaces_what_it_corrects(store: Store):
    wrong, right = metar("XBRK", at(12)), metar("XBRK", at(12), "24012KT 10SM CLR 12/03 A2992", "METAR COR ")
    store.put([(right, None), (wrong, None)], now=NOW, source="service")
    latest = store.latest_metar("XBRK")
    assert latest is not None
    assert latest.raw == right
    assert len(store.history("XBRK", at(0))) == 2


def test_a_report_from_the_future_does_not_hide_the_present(store: Store):
    store.put([(metar("XBRK", at(h)), None) for h in (12, 15)], now=NOW, source="service")
    latest = store.latest_metar("XBRK", NOW)
    assert latest is not None
    assert latest.time == at(12)
    newest = store.latest_metar("XBRK")
    assert newest is not None
    assert newest.time == at(15)


def test_a_text_without_station_or_time_is_said(store: Store):
    texts = ["", "NIL", "METAR XBRK NIL", "XBRK", "METAR XBRK 321253Z 24010KT", "\x00"]
    assert store.put([(t, None) for t in texts], now=NOW, source="text") == 0
    assert store.faults == ["6 of the reports could not be kept: no station or no time was found in them."]


def test_a_settled_time_is_believed(store: Store):
    old = at(12) - timedelta(days=60)
    store.put([(metar("XBRK", at(12)), old)], now=NOW, source="gateway")
    latest = store.latest_metar("XBRK")
    assert latest is not None
    assert latest.time == old


def test_a_bulletin_keeps_its_columns(store: Store):
    text = (
        "FBUS31 KWNO 251359\nDATA BASED ON 251200Z    \n\nFT  3000    6000\nXHL      9900+10\n" + "x" * 12_000
    )
    assert store.put_bulletin("us-low-06", text, now=NOW, source="service") == 1
    kept = store.latest_bulletin("us-low-06", NOW)
    assert kept is not None
    assert (kept.raw, kept.time) == (text, at(12, 0))
    assert store.put_bulletin("us-low-06", "no time", now=NOW, source="service") == 0
    assert "carries no time" in store.faults[0]


@pytest.mark.parametrize(
    ("raw", "near", "time"),
    [
        ("XBRK 251253Z 24010KT", NOW, at(12)),
        ("SPECI XBRK 251253Z 24010KT", NOW, at(12)),
        ("METAR COR XBRK 251253Z 24010KT", NOW, at(12)),
        ("XBRK COR 251253Z 24010KT", NOW, at(12)),
        ("TAF XBRK AMD 251120Z 2512/2612 24012KT", NOW, at(11, 20)),
        (
            "XBRK 302350Z 24010KT",
            datetime(2026, 5, 1, 0, 10, tzinfo=UTC),
            datetime(2026, 4, 30, 23, 50, tzinfo=UTC),
        ),
        (
            "XBRK 010005Z 24010KT",
            datetime(2026, 4, 30, 23, 50, tzinfo=UTC),
            datetime(2026, 5, 1, 0, 5, tzinfo=UTC),
        ),
        (
            "XBRK 312350Z 24010KT",
            datetime(2027, 1, 1, 0, 10, tzinfo=UTC),
            datetime(2026, 12, 31, 23, 50, tzinfo=UTC),
        ),
        (
            "XBRK 292350Z 24010KT",
            datetime(2028, 3, 1, 0, 10, tzinfo=UTC),
            datetime(2028, 2, 29, 23, 50, tzinfo=UTC),
        ),
        (
            "XBRK 302350Z 24010KT",
            datetime(2027, 2, 14, 0, 0, tzinfo=UTC),
            datetime(2027, 1, 30, 23, 50, tzinfo=UTC),
        ),
        ("TAF AMD XBRK 251120Z 2512/2612 24012KT", NOW, at(11, 20)),
        ("TAF XBRK 2512/2612 24012KT P6SM", NOW, at(12, 0)),
        ("XBRK 251120Z 2524/2624 24012KT", NOW, at(11, 20)),
        ("TAF XBRK 2524/2624 24012KT P6SM", NOW, datetime(2026, 4, 26, 0, 0, tzinfo=UTC)),
        ("XBRK 252560Z 24010KT", NOW, None),
        ("XBRK 001253Z 24010KT", NOW, None),
        ("WIND 24010KT", NOW, None),
        ("THIS IS NOT A REPORT", NOW, None),
    ],
)
def test_own_time(raw: str, near: datetime, time: datetime | None):
    """Month and year roll-over by hand from a calendar."""
    assert own_time(raw, near) == time


def test_export_is_the_archive_layout(store: Store):
    texts = [metar("XBRK", at(12)), metar("XBRK", at(11)), metar("XHLW", at(11), '24010KT RMK "A, B"')]
    store.put([(t, None) for t in [*texts, "TAF XBRK 251120Z 2512/2612 24012KT"]], now=NOW, source="service")
    out = io.StringIO()
    assert store.export(out) == 3
    assert list(csv.DictReader(io.StringIO(out.getvalue()))) == [
        {"station": "XBRK", "time": "2026-04-25T11:53:00Z", "raw": texts[1]},
        {"station": "XBRK", "time": "2026-04-25T12:53:00Z", "raw": texts[0]},
        {"station": "XHLW", "time": "2026-04-25T11:53:00Z", "raw": texts[2]},
    ]
    assert store.export(io.StringIO(), ["XBRK"], at(12)) == 1


def test_a_station_name_is_never_sql(store: Store):
    with pytest.raises(UnknownStation):
        store.latest_metar("X' OR 1")


# -- size ---------------------------------------------------------------------------------------------------


def test_the_size_is_bounded_and_the_oldest_go_first(tmp_path: Path):
    store = Store(tmp_path, max_bytes=200_000)
    start = at(0, 0, 1)
    for day in range(20):
        reports = [
            (metar("XBRK", start + timedelta(days=day, minutes=m), "RMK " + "A" * 80), None)
            for m in range(200)
        ]
        store.put(reports, now=start + timedelta(days=day), source="service")
        assert store.path.stat().st_size <= 200_000
        assert day < 10 or store.path.stat().st_size > 140_000, "no more is dropped than need be"
    kept = store.history("XBRK", start - timedelta(days=1))
    assert len(kept) > 500
    times = [r.time for r in kept]
    assert times[0] == start + timedelta(days=19, minutes=199)
    unbroken = [start + timedelta(days=d, minutes=m) for d in range(20) for m in range(200)]
    assert times == unbroken[: -len(times) - 1 : -1], "what is left is the newest, with no hole"
    assert store.faults == []


def test_pruning_by_age_gives_space_back(store: Store):
    store.put(
        [(metar("XBRK", at(1, 0) + timedelta(minutes=m), "A" * 90), None) for m in range(700)],
        now=NOW,
        source="x",
    )
    before = store.path.stat().st_size
    assert store.prune(before=at(10, 0)) == 540
    assert [r.time for r in store.history("XBRK", at(0))][-1] == at(10, 0)
    assert store.path.stat().st_size < before / 2


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
    taf = (
        "TAF X000 251120Z 2512/2612 24012KT P6SM " + "SCT045 " * 300
    )  # long enough to spill over several pages
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


# -- the command --------------------------------------------------------------------------------------------


@pytest.fixture
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    now = NOW
    folder = tmp_path / "kept"
    texts = [metar("XBRK", now - timedelta(hours=h, minutes=12)) for h in (0, 1, 30)]
    taf_time = now - timedelta(hours=2)
    texts.append(
        f"TAF XBRK {taf_time:%d%H%M}Z {taf_time:%d%H}/{taf_time + timedelta(days=1):%d%H} 24012KT P6SM SKC"
    )
    Store(folder).put([(t, None) for t in texts], now=now, source="service")
    monkeypatch.setenv("ADVISOR_STORE", str(folder))
    with time_machine.travel(now, tick=False):
        yield folder


def invoke(*args: str) -> str:
    result = CliRunner().invoke(command, args, catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return result.output


def test_show_everything(kept: Path):
    text = invoke("show")
    assert f"Store: {kept} (0.0 MB of at most 64 MB)" in text
    rows = {tuple(line.split()[:3]) for line in text.splitlines()[2:]}
    assert rows == {("XBRK", METAR, "3"), ("XBRK", TAF, "1")}
    assert text.count("12 minutes") == 1


def test_show_one_station(kept: Path):
    text = invoke("show", "XBRK")
    assert text.count("METAR XBRK") == 2
    assert ", 12 minutes old, service" in text
    assert ", 72 minutes old, service" in text
    assert "TAF XBRK" in text
    assert invoke("show", "XBRK", "--hours", "48").count("METAR XBRK") == 3


def test_show_refuses_with_a_sentence(kept: Path, capsys: pytest.CaptureFixture[str]):
    assert run(["store", "show", "XHLW"]) == 1
    assert "No report of XHLW of the last 6 hours is kept." in capsys.readouterr().err
    assert run(["store", "show", "XBRK", "--hours", "0"]) == 1
    assert "The last METAR kept is 12 minutes old." in capsys.readouterr().err
    assert run(["store", "show", "nonsense"]) == 1
    assert run(["store", "export", "--store", str(kept / "none")]) == 1
    assert "nothing has been fetched" in capsys.readouterr().err
    assert run(["store", "export", "-o", str(kept / "no" / "such.csv")]) == 1
    assert run(["store", "show", "--hours", "soon"]) == 2


def test_export_and_prune(kept: Path, tmp_path: Path):
    assert invoke("export").count("\nXBRK,") == 3
    out = tmp_path / "x.csv"
    assert "Wrote 2 reports" in invoke("export", "XBRK", "--days", "1", "-o", str(out))
    assert out.read_text().startswith("station,time,raw\nXBRK,")
    assert "Dropped 1 reports; 3 are kept" in invoke("prune", "--days", "1")
    assert "Dropped 3 reports; 0 are kept" in invoke("prune", "--megabytes", "0")
    assert invoke("export") == "station,time,raw\n"


def test_the_folder_option_wins(kept: Path, tmp_path: Path):
    assert "Nothing is kept yet" in invoke("show", "--store", str(tmp_path / "other"))
