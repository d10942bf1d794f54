"""Reading the store: the latest report of many stations against copying every row of the same file.

``python -m tests.benchmarks.bench_store [--stations N] [--hours H] [--runs R]``

The baseline reads all rows and keeps the newest of each station, as a store without an index must. Both read
the same file in the same process; medians are printed.
"""

from __future__ import annotations

import argparse
import sqlite3
import statistics
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime, timedelta

from advisor.reports.store import METAR, TAF, Store

NOW = datetime(2026, 4, 25, 13, 5, tzinfo=UTC)
REST = "24010G18KT 10SM FEW040 BKN100 12/05 A2992 RMK AO2 SLP132 T01170050"


def fill(store: Store, ids: list[str], hours: int) -> float:
    """Seconds taken to keep one hour's reports, on average."""
    begun = time.perf_counter()
    for hour in range(hours, 0, -1):
        when = NOW - timedelta(hours=hour)
        reports = [(f"METAR {i} {when:%d%H}53Z {REST} {hour}", when) for i in ids]
        if hour % 6 == 1:
            taf = f"{when:%d%H}40Z {when:%d%H}/2618 24012KT P6SM SCT040 FM260000 22008KT P6SM SKC"
            reports += [(f"TAF {i} {taf}", when) for i in ids]
        store.put(reports, now=when, source="service")
    return (time.perf_counter() - begun) / hours


def scan(store: Store) -> int:
    newest: dict[str, tuple[int, str]] = {}
    with closing(sqlite3.connect(store.path)) as db:
        for station, kind, when, body in db.execute("SELECT station, kind, time, body FROM report"):
            if kind == METAR and when > newest.get(station, (0, ""))[0]:
                newest[station] = (when, body)
    return len(newest)


def median_ms(runs: int, work: Callable[[], object]) -> float:
    times = []
    for _ in range(runs):
        begun = time.perf_counter()
        work()
        times.append(1000 * (time.perf_counter() - begun))
    return statistics.median(times)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--stations", type=int, default=500)
    parser.add_argument("--hours", type=int, default=72)
    parser.add_argument("--runs", type=int, default=9)
    args = parser.parse_args()
    ids = [f"K{n:03d}" for n in range(args.stations)]
    with tempfile.TemporaryDirectory() as folder:
        store = Store(folder, from_environment=False)
        put_s = fill(store, ids, args.hours)
        baseline = median_ms(args.runs, lambda: scan(store))
        print(f"{args.stations} stations, {args.hours} h, {store.path.stat().st_size / 1e6:.1f} MB on disk")
        print(f"keep one hour's reports      {1000 * put_s:8.1f} ms")
        print(f"baseline: read every row     {baseline:8.1f} ms  1.00")
        for name, work in (
            ("latest METAR of each", lambda: store.latest(METAR, ids, NOW)),
            ("latest TAF of each", lambda: store.latest(TAF, ids, NOW)),
            ("six hours of each", lambda: store.histories(ids, NOW - timedelta(hours=6))),
        ):
            took = median_ms(args.runs, work)
            print(f"{name:<28} {took:8.1f} ms  {took / baseline:.2f}")


if __name__ == "__main__":
    main()
