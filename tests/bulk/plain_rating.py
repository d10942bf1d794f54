"""The rules against the plain rating over many made-up reports and forecasts.

``python -m tests.bulk.plain_rating --reports 50000 --forecasts 2000``. Prints how many ratings agree; ends with exit
code 1 and the reports in question when any does not.
"""

from __future__ import annotations

import argparse
import time

from tests.plain_cases import days, observations
from tests.plain_compare import compare, setups

CHUNK = 250


def main() -> int:
    """Compare over as many as asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--reports", type=int, default=50_000, help="single reports, every stage [50000]")
    parser.add_argument("--forecasts", type=int, default=2_000, help="forecasts hour by hour, a stage each [2000]")
    parser.add_argument("--seed", type=int, default=1000, help="first seed [1000]")
    asked = parser.parse_args()
    stages, worst = setups(), 0
    for kind, total in (("reports", asked.reports), ("forecasts", asked.forecasts)):
        started, ratings, differ = time.perf_counter(), 0, 0
        for first in range(0, total, CHUNK):
            size, seed = min(CHUNK, total - first), asked.seed + first
            if kind == "reports":
                inputs = observations(seed, size)
                count, differences = compare(inputs, stages)
            else:
                inputs = days(seed, size)
                count, differences = compare(
                    inputs,
                    stages,
                    cells_of=lambda _field, cells: cells,
                    stages_of=lambda field: (field % len(stages),),
                )
            ratings, differ = ratings + count, differ + len(differences)
            for d in differences[:3]:
                print([m.raw for m in inputs[d.field].metars], inputs[d.field].taf, d)
        worst = max(worst, differ)
        print(f"{kind}: {ratings} ratings, {differ} differ, {time.perf_counter() - started:.0f} s", flush=True)
    return 1 if worst else 0


if __name__ == "__main__":
    raise SystemExit(main())
