"""What the gate costs, in one run: ``python -m tests.benchmarks.bench_decode [DIR]``.

With DIR, the reports of its ``metar_sample.tsv``; without, the seeds. Prints:

1. one-at-a-time decode against the bare ``metar`` package on the same whole reports (should be 0.7 or more),
   in blocks taken turn about so that both meet the same noise; once with our memory of groups emptied first;
2. ``advisor decode`` of 10,000 reports in one call against a plain loop of one-at-a-time decodes;
3. time against length for hostile remarks from 1 to 64 kB: each doubling should take at most 2.5 times as long.
"""

from __future__ import annotations

import statistics
import sys
import time
import warnings
from collections.abc import Callable
from datetime import datetime
from itertools import pairwise
from pathlib import Path

from metar.Metar import Metar as PackageMetar

from advisor.errors import AdvisorError
from advisor.reports import decode_metar as gate
from advisor.reports import metar_groups, metar_header, remarks, tokens, wind_tokens
from advisor.reports.decode_metar import decode_metar
from tests.metar_agreement import read_raw
from tests.mutator import NOW, seeds
from tests.test_metar_package import hostile

BLOCK = 100
ROUNDS = 5
Cases = list[tuple[str, datetime]]


def forget() -> None:
    """Empty every memory of groups."""
    for module in (tokens, wind_tokens, metar_groups, metar_header, remarks, gate):
        for thing in vars(module).values():
            if hasattr(thing, "cache_clear"):
                thing.cache_clear()


def ours(cases: Cases) -> None:
    for raw, when in cases:
        try:
            decode_metar(raw, when)
        except AdvisorError:
            continue


def bare(cases: Cases) -> None:
    for raw, when in cases:
        PackageMetar(raw, month=when.month, year=when.year, strict=False)


def seconds(run: Callable[[Cases], None], cases: Cases) -> float:
    begun = time.perf_counter()
    run(cases)
    return time.perf_counter() - begun


def gate_ratio(cases: Cases) -> None:
    blocks = [cases[i : i + BLOCK] for i in range(0, len(cases), BLOCK)]
    cold, warm, rates = [], [], []
    for turn in range(ROUNDS):
        forget()
        for block in blocks:
            theirs, mine = seconds(bare, block), seconds(ours, block)
            (warm if turn else cold).append(theirs / mine)
        # a second pass meets the groups of the first, as a second hour's reports do
        for block in blocks:
            theirs, mine = seconds(bare, block), seconds(ours, block)
            warm.append(theirs / mine)
            rates.append((len(block) / mine, len(block) / theirs))
    print(f"{len(cases)} reports, {ROUNDS} rounds in blocks of {BLOCK} turn about")
    print(f"  bare package         {statistics.median(r[1] for r in rates):9.0f} a second")
    print(f"  decode_metar         {statistics.median(r[0] for r in rates):9.0f} a second")
    print(f"  ratio, groups met before  {statistics.median(warm):.2f}")
    print(f"  ratio, groups all new     {statistics.median(cold):.2f}")


def command_rate(cases: Cases) -> None:
    from click.testing import CliRunner

    from advisor.cli import cli

    many = [cases[i % len(cases)] for i in range(10_000)]
    text = "\n".join(raw for raw, _ in many)
    loop, call = [], []
    for _ in range(3):
        loop.append(seconds(ours, many))
        begun = time.perf_counter()
        result = CliRunner().invoke(cli, ["decode", "--format", "jsonl", "--now", "2026-11-23T19:00Z"], input=text)
        call.append(time.perf_counter() - begun)
        assert len(result.stdout.splitlines()) == 10_000
    print(f"advisor decode of 10,000 reports to JSON lines: {10_000 / min(call):.0f} a second,")
    print(f"  {min(call) / min(loop):.1f} times as long as a plain loop of decodes (framing, JSON and printing)")


def linearity() -> None:
    sizes = (1, 2, 4, 8, 16, 32, 64)
    print("hostile text, milliseconds by kB" + "".join(f"{size:>9}" for size in sizes) + "   worst doubling")
    for case in range(len(hostile(1))):
        times = []
        for size in sizes:
            text = hostile(size)[case]
            times.append(min(seconds(ours, [(text, NOW)]) for _ in range(7)))
        # below a fifth of a millisecond the clock, not the decoder, sets the ratio
        worst = max((b / a for a, b in pairwise(times) if a > 0.0002), default=0.0)
        label = hostile(1)[case].partition("RMK ")[2][:18] or hostile(1)[case][:18]
        print(f"  {label:<30}" + "".join(f"{t * 1000:9.2f}" for t in times) + f"   {worst:.2f}")


def main() -> None:
    """Run all three."""
    warnings.simplefilter("ignore")
    cases = (
        list(read_raw(Path(sys.argv[1]) / "metar_sample.tsv"))
        if len(sys.argv) > 1
        else [(raw, NOW) for raw in seeds()] * 250
    )
    gate_ratio(cases)
    command_rate(cases)
    linearity()


if __name__ == "__main__":
    main()
