"""Seasons: speed against the metar package, growth with size, memory, processes and cluster workers.

``python -m tests.benchmarks.bench_season [--count N] [--large] [--cluster-count N] [--rounds R] [--reports DIR]``

``--count`` (default 1,000,000) is the larger size; the smaller is a tenth of it. ``--large`` adds 10 and 30 million
reports. ``--cluster-count`` adds the cluster: choose a count of at least 30 s of work for one worker.
"""

from __future__ import annotations

import argparse
import importlib
import statistics
import subprocess
import sys
import tempfile
import threading
import time
import warnings
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path

import numpy as np

from advisor.archive.decode import decode_archive
from advisor.archive.places import Sites
from advisor.archive.run import run_season
from advisor.archive.season import Settings, observed_table
from advisor.archive.source import prepare
from advisor.limits import make_limits
from advisor.rules.context import Context
from advisor.rules.engine import evaluate
from advisor.segments import to_minutes
from advisor.teaching import teaching_rows
from tests.benchmarks.archive_maker import hours, real_bodies, write

SPEED_TARGET, GROWTH_TARGET, MEMORY_TARGET_MB, WORKERS_TARGET = 10.0, 10.5, 1500.0, 1.7
RATED = 100_000


def rate_everything(seed: int, bodies: list[str] | None) -> tuple[float, float]:
    """Decode and rate ``RATED`` reports, day and night alike; wall and processor seconds of the second pass."""
    made = list(hours(RATED, bodies, seed))
    raws, minute = [row[2] for row in made], np.array([to_minutes(row[1]) for row in made])
    settings, sites = Settings(), Sites()
    site = np.array([sites.find(row[0]) for row in made], dtype=np.int32)
    limits = make_limits(settings.setups)
    for _ in range(2):
        begun, used = time.perf_counter(), time.process_time()
        decoded = decode_archive(raws, minute)
        table = observed_table(decoded.columns, sites, site, minute, minute - 300, minute + 300, limits)
        context = Context(table, limits, settings.aircraft, sites.sites)
        evaluate(context)
        with np.errstate(invalid="ignore"):
            teaching_rows(context)
        taken = time.perf_counter() - begun, time.process_time() - used
    return taken


def package_seconds(bodies: list[str] | None, count: int = 10_000) -> tuple[float, float]:
    """Wall and processor seconds of the metar package for ``RATED`` reports, from ``count`` of them."""
    metar = importlib.import_module("metar.Metar").Metar
    raws = [row[2] for row in hours(count, bodies)]
    begun, used = time.perf_counter(), time.process_time()
    for raw in raws:
        metar(raw, 1, 1996, strict=False)
    scale = RATED / count
    return (time.perf_counter() - begun) * scale, (time.process_time() - used) * scale


def speed(rounds: int, bodies: list[str] | None) -> None:
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        list(pool.map(rate_everything, (1, 2), (bodies, bodies)))
        wall, cpu = [], []
        for turn in range(rounds):
            base = package_seconds(bodies)
            taken = list(pool.map(rate_everything, (2 * turn + 3, 2 * turn + 4), (bodies, bodies)))
            after = package_seconds(bodies)
            one = [(a + b) / 2 for a, b in zip(base, after, strict=True)]
            both = max(t[0] for t in taken) / 2  # two processes side by side, twice the reports
            wall.append(one[0] / both)
            cpu.append(one[1] / statistics.mean(t[1] for t in taken))
    ratio = statistics.median(wall)
    print("decode + conditions + 9 lessons x 4 stages + teaching, against the metar package decoding only, one core:")
    print(f"  one core  {statistics.median(cpu):6.1f} times (processor seconds)")
    print(f"  two cores {ratio:6.1f} times (wall seconds); target {SPEED_TARGET:g}: {_met(ratio >= SPEED_TARGET)}")


def _met(ok: bool) -> str:
    return "met" if ok else "MISSED"


def season_seconds(folder: Path, archive: Path, jobs: int) -> tuple[float, float]:
    """Seconds of preparing an archive and of rating it."""
    with tempfile.TemporaryDirectory(dir=folder) as work:
        begun = time.perf_counter()
        parts = prepare([archive], work, threads=jobs)
        ready = time.perf_counter()
        counts = run_season(parts, Settings(), work, jobs=jobs)
        done = time.perf_counter()
    assert counts.fates["counted"] > 0
    return ready - begun, done - ready


def growth(folder: Path, small: Path, large: Path, rounds: int) -> None:
    times: list[list[float]] = [[], []]
    for _ in range(rounds):
        for kept, archive in zip(times, (small, large), strict=True):
            kept.append(sum(season_seconds(folder, archive, jobs=1)))
    one, ten = (statistics.median(t) for t in times)
    print(
        f"\nten times the reports take {ten / one:.2f} times as long ({one:.1f} s, {ten:.1f} s, one process, file to counts);"
    )
    print(f"  target {GROWTH_TARGET:g}: {_met(ten / one <= GROWTH_TARGET)}")


def tree_mb(pid: int) -> float:
    """Resident memory of a process and its children."""
    psutil = importlib.import_module("psutil")
    try:
        root = psutil.Process(pid)
        found = [root, *root.children(recursive=True)]
        return float(sum(p.memory_info().rss for p in found if p.is_running())) / 1e6
    except psutil.Error:
        return 0.0


def memory(archive: Path, label: str) -> float:
    """Peak memory of ``advisor season`` and its processes together, MB."""
    command = [sys.executable, "-m", "advisor", "season", str(archive), "--jobs", "2", "--format", "csv"]
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    peak, stop = 0.0, threading.Event()
    begun = time.perf_counter()
    while process.poll() is None:
        peak = max(peak, tree_mb(process.pid))
        stop.wait(0.05)
    taken = time.perf_counter() - begun
    print(
        f"  {label}: {peak:7,.0f} MB, {taken:.0f} s; target {MEMORY_TARGET_MB:,.0f}: {_met(peak <= MEMORY_TARGET_MB)}"
    )
    if process.returncode:
        raise SystemExit(f"advisor season ended with {process.returncode}")
    return peak


def workers(folder: Path, archive: Path, rounds: int) -> None:
    from advisor.archive.cluster import local_workers, rate_on_cluster

    with tempfile.TemporaryDirectory(dir=folder) as work:
        parts = prepare([archive], work, threads=2)
        times: dict[int, list[float]] = {1: [], 2: []}
        for _ in range(rounds):
            for count, kept in times.items():
                with local_workers(count) as address:
                    begun = time.perf_counter()
                    rate_on_cluster(parts, Settings(), address)
                    kept.append(time.perf_counter() - begun)
    one, two = statistics.median(times[1]), statistics.median(times[2])
    print(
        f"\ncluster: one worker {one:.1f} s, two {two:.1f} s: {one / two:.2f} times; target {WORKERS_TARGET:g}: ",
        end="",
    )
    print(_met(one / two >= WORKERS_TARGET))


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=1_000_000)
    parser.add_argument(
        "--large", action="store_true", help="also 10 and 30 million reports (minutes, and 3 GB of disk)"
    )
    parser.add_argument("--cluster-count", type=int, default=0)
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--reports", type=Path, help="folder of real reports to take the bodies from")
    args = parser.parse_args()
    warnings.simplefilter("ignore")
    bodies = real_bodies(args.reports) if args.reports else None
    speed(args.rounds, bodies)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        small = write(folder / "small.csv", args.count // 10, bodies)
        large = write(folder / "large.csv", args.count, bodies)
        growth(folder, small, large, args.rounds)
        print("\npeak memory of the command and its two processes, all stations:")
        memory(large, f"{args.count:,} reports")
        if args.large:
            ten = memory(write(folder / "ten.csv", 10_000_000, bodies), "10,000,000 reports")
            (folder / "ten.csv").unlink()
            thirty = memory(write(folder / "thirty.csv", 30_000_000, bodies), "30,000,000 reports")
            print(
                f"  30 million against 10 million: {thirty / ten:.3f}; target within 5%: {_met(abs(thirty / ten - 1) <= 0.05)}"
            )
        if args.cluster_count:
            workers(folder, write(folder / "cluster.csv", args.cluster_count, bodies), args.rounds)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
