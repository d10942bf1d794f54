"""Mutated forecasts by the hundred thousand.

``python -m tests.bulk.taf_mutants [--count N] [--reports DIR]``. Each is a published, made-up or (with DIR)
real forecast with one to six small damages. Any exception but our own, or a prevailing layer with a hole,
ends the run with the text that did it. ``tests/test_taf_mutants.py`` runs 2,000.
"""

from __future__ import annotations

import argparse
from pathlib import Path

from tests.taf_texts import MADE_UP, PUBLISHED
from tests.test_taf_corpus import sample
from tests.test_taf_mutants import check_mutants


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=200_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--reports", type=Path)
    options = parser.parse_args()
    texts = [case["text"] for case in PUBLISHED + MADE_UP]
    if options.reports is not None:
        texts += [raw for raw, _ in sample(options.reports)]
    decoded = check_mutants(texts, options.count, options.seed)
    print(f"{options.count} mutants of {len(texts)} forecasts: {decoded} decoded, the rest refused, none failed")


if __name__ == "__main__":
    main()
