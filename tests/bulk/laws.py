"""The laws of the rules over many random rows: ``python -m tests.bulk.laws --count 1000000``.

Every law is held over that many rows. Prints a line a law; ends with an AssertionError at the first row that
breaks one, with the row in it.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable
from typing import Any

from tests import laws
from tests.law_tables import SLOW, TRAINER, random_table

CHUNK = 100_000
LAWS: dict[str, Callable[[Any, int, Any], Any]] = {
    "1, rule by rule": laws.rule_law,
    "1, whole rating": laws.rating_law,
    "2, missing": laws.missing_law,
    "6, cut anywhere": lambda table, seed, aircraft: laws.chunk_law(table, seed, aircraft, single_rows=200),
    "6, cells of rows": laws.cell_law,
}


def main() -> int:
    """Run every law over ``--count`` rows."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=1_000_000, help="rows a law [1000000]")
    parser.add_argument("--seed", type=int, default=1000, help="first seed [1000]")
    asked = parser.parse_args()
    size = min(CHUNK, asked.count)
    for name, law in LAWS.items():
        started = time.perf_counter()
        rows = 0
        while rows < asked.count:
            seed = asked.seed + rows // size
            law(random_table(size, seed), seed, (TRAINER, SLOW)[seed % 2])
            rows += size
        print(f"law {name}: held over {rows} rows, {time.perf_counter() - started:.0f} s", flush=True)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
