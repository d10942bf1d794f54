"""Which case holds which number: ``python -m tests.bulk.sensitivity [--count N]``.

Changes every number of the limits and lessons files by one unit, up and down, and prints the first case that
fails. Ends with status 1 when some change is noticed by none.
"""

from __future__ import annotations

import argparse

from tests.sensitivity import baseline, noticed, numbers


def main() -> int:
    """Print a line a number; 1 when some number is held by no case."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, help="only the first so many numbers")
    asked = parser.parse_args()
    broken = baseline()
    if broken:
        print("\n".join(broken))
        return 1
    silent = 0
    picked = numbers()[: asked.count]
    for number in picked:
        for by in (number.unit, -number.unit):
            case = noticed(number, by)
            silent += case is None
            print(f"{number.name} = {number.home[number.key]} {by:+g}: {case or 'NO CASE NOTICES'}")
    print(f"{len(picked)} numbers, each a unit up and a unit down: {silent} changes noticed by no case")
    return int(silent > 0)


if __name__ == "__main__":
    raise SystemExit(main())
