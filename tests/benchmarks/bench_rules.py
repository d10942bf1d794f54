"""Microseconds a row to rate a table: ``python -m tests.benchmarks.bench_rules [--rows N]``.

Two baselines in the same run: a plain Python loop that judges nine of the rules with ``if`` and nothing else, and
the same engine asked one row a call. Nothing is asserted on a clock.
"""

from __future__ import annotations

import argparse
import time
from math import cos, radians, sin

import numpy as np

from advisor.limits import STAGES, StageSetup, make_limits
from advisor.rules.context import Context
from advisor.rules.engine import evaluate
from advisor.rules.registry import all_rules
from advisor.teaching import teaching_rows
from advisor.weather import STORM
from tests.law_tables import SITES, TRAINER, random_table


def sin_deg(x: float) -> float:
    return sin(radians(x))


def cos_deg(x: float) -> float:
    return cos(radians(x))


#: Rows an archive is rated in at a time.
CHUNK = 100_000


def rate(table, limits) -> Context:  # type: ignore[no-untyped-def]
    """Suitability and teaching value of every row."""
    context = Context(table, limits, TRAINER, SITES)
    evaluate(context)
    with np.errstate(invalid="ignore"):
        teaching_rows(context)
    return context


#: Rules of the plain loop: quantity of a limit -> sense.
PLAIN = (
    "mean_wind_kt",
    "peak_wind_kt",
    "gust_spread_kt",
    "ceiling_area_ft",
    "ceiling_pattern_ft",
    "visibility_sm",
)


def plain_loop(
    rows: list[dict[str, float]], ends: list[list[float]], pairs: list[dict[str, tuple[float, float]]]
) -> int:
    """Nine rules in plain Python, a row at a time: six limits, the runway's crosswind and tailwind, the storm bits."""
    held = 0
    for row in rows:
        mean, gust = row["mean_kt"], row["gust_kt"]
        peak = max(mean, gust) if gust == gust else mean
        values = {
            "mean_wind_kt": mean,
            "peak_wind_kt": peak,
            "gust_spread_kt": gust - mean,
            "ceiling_area_ft": row["ceiling_ft"] - row["ground_above_ft"],
            "ceiling_pattern_ft": row["ceiling_ft"],
            "visibility_sm": row["visibility_sm"],
        }
        for pair in pairs:
            cap = 4
            for name in PLAIN:
                care, stop = pair[name]
                value = values[name]
                if name[0] in "cv":
                    cap = min(cap, 0 if value < stop else 3 if value <= care else 4)
                else:
                    cap = min(cap, 0 if value > stop else 3 if value >= care else 4)
            best = (1e9, 1e9)
            for end in ends[int(row["site"])]:
                angle = row["from_deg_true"] - end
                best = min(best, (abs(sin_deg(angle)) * peak, -cos_deg(angle) * peak))
            if (
                best[0] > pair["crosswind_kt"][1]
                or best[1] > pair["tailwind_kt"][1]
                or int(row["weather"]) & int(STORM)
            ):
                cap = 0
            held += cap == 0
    return held


def best_of(times: int, work) -> float:  # type: ignore[no-untyped-def]
    """Shortest of some runs, s."""
    out = []
    for _ in range(times):
        started = time.perf_counter()
        work()
        out.append(time.perf_counter() - started)
    return min(out)


def main() -> int:
    """Print the budget and where it goes."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=CHUNK, help="rows of the table [100000]")
    rows = parser.parse_args().rows
    limits = make_limits(tuple(StageSetup(s, alone=s == "solo") for s in STAGES))
    table = random_table(rows, seed=1)
    singles = [table.take(np.array([i])) for i in range(min(rows, 150))]
    day = random_table(100, seed=2)

    def one_by_one() -> None:
        for row in singles:
            rate(row, limits)

    plain_rows = [table.row(i) for i in range(min(rows, 5000))]
    ends = [[e.bearing_deg_true for e in s.usable_ends] for s in SITES]
    names = (*PLAIN, "crosswind_kt", "tailwind_kt")
    pairs = [{q: limits.pair(q, s) for q in names} for s in range(len(STAGES))]
    plain = best_of(3, lambda: plain_loop(plain_rows, ends, pairs)) / len(plain_rows) * 1e6
    whole = best_of(3, lambda: rate(table, limits)) / rows * 1e6
    loop = best_of(3, one_by_one) / len(singles) * 1e6
    print(f"{len(all_rules())} rules, {len(STAGES)} stages, 9 lessons, teaching value included")
    print(f"table of {rows} rows:          {whole:8.2f} us a row")
    print(f"plain Python, nine rules only: {plain:8.1f} us a row, {plain / whole:.0f} times the table's with all rules")
    print(f"the same engine, a row a call: {loop:8.0f} us a row, {loop / whole:.0f} times the table's")
    print(f"one day of 100 rows:           {best_of(20, lambda: rate(day, limits)) * 1e3:8.2f} ms")
    context = Context(table, limits, TRAINER, SITES)
    evaluate(context)  # quantities are worked out once and shared; what is left is the rules' own
    with np.errstate(invalid="ignore"):
        cost = sorted(((best_of(3, lambda r=r: r.level(context)), r.code) for r in all_rules()), reverse=True)
    print("dearest rules, quantities ready: " + ", ".join(f"{c} {s / rows * 1e6:.3f}" for s, c in cost[:6]))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
