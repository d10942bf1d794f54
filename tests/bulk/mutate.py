"""Mutated observations by the hundred thousand.

``python -m tests.bulk.mutate [--count N] [--seed S] [--reports DIR]``. Seeds are the published and
made-by-hand reports of fixtures/metar, and those of DIR when given. Prints what was done; exit 1 with the
texts that failed.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from tests import mutator


def main() -> int:
    """Run and report."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=200_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--reports", type=Path)
    options = parser.parse_args()
    texts = mutator.seeds(options.reports)
    found = mutator.run(texts, options.count, options.seed)
    sorts = ", ".join(f"{name} {count}" for name, count in found.sorts.items())
    print(f"{found.count} mutants of {len(texts)} reports ({sorts}): {len(found.failures)} failures")
    for failure in found.failures:
        print(failure)
    return 1 if found.failures else 0


if __name__ == "__main__":
    sys.exit(main())
