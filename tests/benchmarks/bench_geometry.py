"""Ranges of a million circles in one call, against one call a circle in the same run.

python -m tests.benchmarks.bench_geometry
"""

from __future__ import annotations

import argparse
import sys
import time

import numpy as np

from advisor.flight import ranges

NEEDED = 50.0


def all_ranges(tas, low, high, start, width, course, radius):
    """What a card asks of one place of a circle."""
    wind = (tas, low, high, start, width, course)
    return (
        ranges.bank_range_deg(*wind, radius),
        ranges.crab_range_deg(*wind),
        ranges.groundspeed_range_kt(*wind),
        ranges.steepest_bank_range_deg(tas, low, high, radius),
        ranges.shallowest_bank_range_deg(tas, low, high, radius),
        ranges.seconds_per_circle_range(tas, low, high, radius),
    )


def main(argv: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=1_000_000)
    parser.add_argument("--loop", type=int, default=500, help="calls of the loop that is the baseline")
    args = parser.parse_args(argv)
    rng = np.random.default_rng(1)
    n = args.count
    low = rng.uniform(0, 20, n)
    columns = (
        rng.uniform(70, 120, n), low, low + rng.uniform(0, 15, n), rng.uniform(0, 360, n), rng.uniform(0, 90, n),
        rng.uniform(0, 360, n), rng.uniform(800, 2600, n),
    )  # fmt: skip
    rows = list(zip(*(c[: args.loop].tolist() for c in columns), strict=True))
    all_ranges(*rows[0])
    began = time.perf_counter()
    for row in rows:
        all_ranges(*row)
    each = (time.perf_counter() - began) / len(rows)
    began = time.perf_counter()
    all_ranges(*columns)
    whole = (time.perf_counter() - began) / n
    print(f"one call a circle: {each * 1e6:.0f} us each; {n:,} circles in one call: {whole * 1e6:.2f} us each")
    print(f"ratio {each / whole:.0f} (at least {NEEDED:.0f} wanted)")
    return int(each / whole < NEEDED)


if __name__ == "__main__":
    sys.exit(main())
