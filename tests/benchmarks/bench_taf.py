"""TAF decoding against metar-taf-parser-mivek in one run: ``python -m tests.benchmarks.bench_taf [DIR]``.

With DIR, the forecasts of its ``taf_sample.tsv``; without, the published and made-up ones. Rounds are
interleaved and their medians compared; one line empties our memory of tokens before every round. The ratio
should be at least 1.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from metar_taf_parser.parser.parser import TAFParser

from advisor.errors import DecodeError
from advisor.reports import decode_taf_groups, tokens, wind_tokens
from advisor.reports.decode_taf import decode_taf
from advisor.reports.taf_timeline import timeline
from tests.test_oracle_taf import published
from tests.test_taf_corpus import sample

ROUNDS = 9
Cases = list[tuple[str, datetime]]


def forget() -> None:
    """Empty every memory of tokens, so that a round meets each for the first time."""
    for module in (tokens, wind_tokens, decode_taf_groups):
        for thing in vars(module).values():
            if hasattr(thing, "cache_clear"):
                thing.cache_clear()


def ours(cases: Cases) -> None:
    for text, now in cases:
        try:
            decode_taf(text, now)
        except DecodeError:
            continue


def ours_with_timeline(cases: Cases) -> None:
    for text, now in cases:
        try:
            timeline(decode_taf(text, now))
        except DecodeError:
            continue


def ours_cold(cases: Cases) -> None:
    forget()
    ours(cases)


def mivek(cases: Cases) -> None:
    parser = TAFParser()
    for text, _ in cases:
        try:
            parser.parse(text)
        except Exception:  # it raises what it likes; its time counts all the same
            continue


def main() -> None:
    cases = sample(Path(sys.argv[1])) if len(sys.argv) > 1 else published() * 20
    runners: dict[str, Callable[[Cases], None]] = {
        "mivek": mivek,
        "ours": ours,
        "ours, memory emptied first": ours_cold,
        "ours with the timeline": ours_with_timeline,
    }
    seconds: dict[str, list[float]] = {name: [] for name in runners}
    for _ in range(ROUNDS):
        for name, run in runners.items():
            begun = time.perf_counter()
            run(cases)
            seconds[name].append(time.perf_counter() - begun)
    base = statistics.median(seconds["mivek"])
    print(f"{len(cases)} forecasts, median of {ROUNDS} interleaved rounds")
    for name, times in seconds.items():
        median = statistics.median(times)
        print(f"{name:28} {len(cases) / median:9.0f} a second  {base / median:5.2f} times mivek")


if __name__ == "__main__":
    main()
