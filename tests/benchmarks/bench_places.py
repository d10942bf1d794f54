"""Station look-ups: one cold look-up against reading the whole station file, in fresh processes.

``python -m tests.benchmarks.bench_places [--runs N]``

The baseline opens the same packed file and makes a table of every record, as a program does that loads its
stations at start. Both are timed inside a new process after numpy is imported; medians are printed.
"""

from __future__ import annotations

import argparse
import statistics
import subprocess
import sys

LOOK_UP = """
import time, numpy
from advisor.places import find_station
begun = time.perf_counter()
find_station("KBDU")
print(time.perf_counter() - begun)
"""
WHOLE = """
import time, numpy
from advisor.places import packed_file
begun = time.perf_counter()
places = packed_file.Packed(packed_file.DATA_FILE)
table = {s.station: s for s in map(places.station, range(places.count))}
print(time.perf_counter() - begun)
"""
WARM = """
import time, numpy
from advisor.places import find_station
find_station("KBDU")
begun = time.perf_counter()
for _ in range(2000):
    find_station("KLNK")
print((time.perf_counter() - begun) / 2000)
"""
SUN = """
import time, numpy as np
from advisor.places.sun import sun_times
n = 100_000
latitudes, days = np.linspace(-60, 60, n), 29_618_880 + 1440 * (np.arange(n) % 3650)
sun_times(latitudes[:10], -97.0, days[:10])
begun = time.perf_counter()
sun_times(latitudes, -97.0, days)
print((time.perf_counter() - begun) / n)
"""


def median_seconds(code: str, runs: int) -> float:
    """Median of what the code prints over fresh processes."""
    taken = [
        float(subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout)
        for _ in range(runs)
    ]
    return statistics.median(taken)


def main() -> None:
    parser = argparse.ArgumentParser(description="Cost of a station look-up.")
    parser.add_argument("--runs", type=int, default=7)
    runs = parser.parse_args().runs
    whole, cold, warm = (median_seconds(code, runs) for code in (WHOLE, LOOK_UP, WARM))
    print(f"whole table  {whole * 1e3:8.1f} ms  (baseline)")
    print(f"cold look-up {cold * 1e3:8.3f} ms  {cold / whole:.5f} of the baseline")
    print(f"warm look-up {warm * 1e3:8.3f} ms  {warm / whole:.5f} of the baseline")
    print(f"sun times    {median_seconds(SUN, 3) * 1e6:8.2f} us a station-day, 100,000 at once")


if __name__ == "__main__":
    main()
