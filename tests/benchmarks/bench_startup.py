"""Start-up: whole-process time of quick commands against the libraries they cannot do without.

``python -m tests.benchmarks.bench_startup [--pairs N]``

The baseline imports numpy, click and the metar package and does nothing. Each pair runs the baseline and the
command one after the other, so that a busy machine slows both; the ratio printed is the median over pairs.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time
from importlib.util import find_spec
from pathlib import Path

BASELINE = [sys.executable, "-c", "import numpy, click; from metar import Metar"]
METAR = "METAR KLNK 251753Z 22012KT 10SM FEW050 15/05 A3005\n"
TAF = "TAF KLNK 251720Z 2518/2618 22012KT P6SM FEW050 FM260000 18006KT P6SM SKC\n"
TARGET = 1.3
#: An installed package has its byte code; the warm-up run writes ours, whatever this shell's settings.
ENVIRONMENT = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}


def seconds(command: list[str]) -> float:
    """Wall time of one process from start to exit; a command that fails is no measurement."""
    begun = time.perf_counter()
    result = subprocess.run(command, capture_output=True, text=True, check=False, env=ENVIRONMENT)
    taken = time.perf_counter() - begun
    if result.returncode != 0:
        raise SystemExit(f"{' '.join(command)} ended with {result.returncode}: {result.stderr.strip()}")
    return taken


def compare(command: list[str], pairs: int) -> tuple[float, float, float]:
    """Median seconds of the baseline, of the command, and the median of the paired ratios."""
    seconds(BASELINE), seconds(command)  # warm the disk and the byte code
    base, own = [], []
    for turn in range(pairs):
        order = [(BASELINE, base), (command, own)]
        for line, into in order if turn % 2 else reversed(order):
            into.append(seconds(line))
    ratios = [b / a for a, b in zip(base, own, strict=True)]
    return statistics.median(base), statistics.median(own), statistics.median(ratios)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pairs", type=int, default=15, help="paired runs a command (default 15)")
    pairs = parser.parse_args().pairs
    advisor = [sys.executable, "-m", "advisor"]
    with tempfile.TemporaryDirectory() as folder:
        reports = Path(folder) / "reports.txt"
        reports.write_text(METAR + TAF)
        clock = ["--now", "2026-04-25T18:00Z"]
        commands = {
            "advisor --help": [*advisor, "--help"],
            "advisor day --from-file": [*advisor, "day", "KLNK", "--from-file", str(reports), *clock],
            "advisor day --demo": [*advisor, "day", "XBRK", "--demo"],
            "advisor decode FILE": [*advisor, "decode", str(reports), *clock],
        }
        print(f"{'command':<26}{'baseline':>10}{'command':>10}{'ratio':>8}   (medians of {pairs} pairs)")
        for name, command in commands.items():
            word = command[len(advisor)]
            if not word.startswith("-") and find_spec(f"advisor.commands.{word}") is None:
                print(f"{name:<26}not part of this build")
                continue
            base, own, ratio = compare(command, pairs)
            note = "" if ratio <= TARGET else f"   over the target of {TARGET}"
            print(f"{name:<26}{base * 1000:>8.0f}ms{own * 1000:>8.0f}ms{ratio:>8.2f}{note}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
