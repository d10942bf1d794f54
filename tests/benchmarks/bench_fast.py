"""The archive decoder against the decoders there are, on the same reports in the same run.

``python -m tests.benchmarks.bench_fast [--count N] [--rounds R] [--reports DIR]``

Rounds are interleaved and medians taken, in processor seconds of one core. The baseline is the metar package
decoding and nothing else. Only the two decoders of this project give all columns that rules need.
"""

from __future__ import annotations

import argparse
import importlib
import re
import statistics
import time
import warnings
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np

from advisor.archive.decode import decode_archive
from advisor.archive.words import Words
from advisor.errors import AdvisorError
from advisor.reports.decode_metar import decode_metar
from advisor.segments import observation_segment, to_minutes
from tests.benchmarks.archive_maker import hours, real_bodies

WIND = r"(?:^|\s)(\d{3}|VRB)(\d{2,3})(?:G(\d{2,3}))?KT(?:\s|$)"
SEEN = r"\s(?:P|M)?(\d{1,2}(?:\s\d/\d)?|\d/\d{1,2})SM\s"
CEILING = r"\s(?:BKN|OVC|VV)(\d{3})"


def engines(raws: list[str], near: Any, slow: int) -> dict[str, tuple[int, Callable[[], None]]]:
    """Name -> (reports decoded, what to run)."""
    found: dict[str, tuple[int, Callable[[], None]]] = {}
    metar = importlib.import_module("metar.Metar").Metar
    few = raws[:slow]

    def package() -> None:
        for raw in few:
            metar(raw, 1, 1996, strict=False)

    found["metar package, decode only"] = (len(few), package)
    for name, build in (("mivek oracle", _mivek), ("avwx oracle", _avwx)):
        try:
            one = build()
        except ImportError:
            continue
        some = raws[: slow // (8 if "mivek" in name else 40)]

        def oracle(one: Callable[[str], Any] = one, some: list[str] = some) -> None:
            for raw in some:
                one(raw)

        found[name] = (len(some), oracle)
    patterns = [re.compile(p) for p in (WIND, SEEN, CEILING)]

    def loop() -> None:
        for raw in raws:
            [pattern.search(raw) for pattern in patterns]

    found["pure-Python loop, three patterns"] = (len(raws), loop)
    _tables(found, raws)
    pairs = list(zip(few, near[:slow].tolist(), strict=True))

    def single() -> None:
        for raw, minute in pairs:
            when = datetime.fromtimestamp(minute * 60, UTC)
            try:
                observation_segment(decode_metar(raw, when, when), 0, 60.0)
            except AdvisorError:
                continue

    found["ours one at a time, all columns"] = (len(few), single)
    found["ours for archives, all columns, first time"] = (len(raws), lambda: _ours(raws, near, Words()))
    warm = Words()
    found["ours for archives, all columns"] = (len(raws), lambda: _ours(raws, near, warm))
    return found


def _ours(raws: list[str], near: Any, words: Words) -> None:
    for at in range(0, len(raws), 50_000):
        decode_archive(raws[at : at + 50_000], near[at : at + 50_000], words=words)


def _mivek() -> Callable[[str], Any]:
    parser = importlib.import_module("metar_taf_parser.parser.parser").MetarParser()
    return lambda raw: parser.parse(raw)


def _avwx() -> Callable[[str], Any]:
    module = importlib.import_module("avwx.current.metar")
    return lambda raw: module.parse(raw[:4], raw)


def _tables(found: dict[str, tuple[int, Callable[[], None]]], raws: list[str]) -> None:
    try:
        pandas = importlib.import_module("pandas")
        series = pandas.Series(raws)
        found["pandas str.extract, three patterns"] = (
            len(raws),
            lambda: [series.str.extract(p) for p in (WIND, SEEN, CEILING)] and None,
        )
    except ImportError:
        pass
    try:
        duckdb = importlib.import_module("duckdb").connect()
        duckdb.execute("SET threads=1")
        duckdb.execute("CREATE TABLE r(raw VARCHAR)")
        for at in range(0, len(raws), 20_000):
            duckdb.execute("INSERT INTO r SELECT unnest(?)", [raws[at : at + 20_000]])
        columns = ", ".join(f"max(regexp_extract(raw, '{p}', 1))" for p in (WIND, SEEN, CEILING))
        found["duckdb regexp_extract, three patterns"] = (
            len(raws),
            lambda: duckdb.execute(f"SELECT {columns} FROM r").fetchall() and None,
        )
    except ImportError:
        pass


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=100_000)
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--reports", type=Path, help="folder of real reports to take the bodies from")
    args = parser.parse_args()
    warnings.simplefilter("ignore")
    bodies = real_bodies(args.reports) if args.reports else None
    made = list(hours(args.count, bodies))
    raws, near = [row[2] for row in made], np.array([to_minutes(row[1]) for row in made])
    found = engines(raws, near, slow=min(8000, args.count))
    taken: dict[str, list[float]] = {name: [] for name in found}
    for _ in range(args.rounds):
        for name, (_, run) in found.items():
            begun = time.process_time()
            run()
            taken[name].append(time.process_time() - begun)
    rates = {name: found[name][0] / statistics.median(times) for name, times in taken.items()}
    base = rates["metar package, decode only"]
    for name, rate in rates.items():
        print(f"{name:46} {rate:12,.0f} reports/s  {rate / base:7.2f} times the metar package")
    asked = decode_archive(raws, near).one_at_a_time.mean()
    print(f"\nreports that needed the one-at-a-time decoder: {asked:.2%} (target: at most 2%)")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
