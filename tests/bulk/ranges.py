"""Range functions against a dense grid over random boxes of wind: never narrower, hardly wider.

python -m tests.bulk.ranges --count 100000
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from advisor.flight import circle, ranges, turns
from advisor.flight import wind_triangle as wt

#: Rounding of two ways to compute one number, in degrees, knots or seconds.
ROUNDING = 1e-6
SPEEDS, DIRECTIONS = 33, 49
CHUNK = 1000


@dataclass(frozen=True, slots=True)
class Boxes:
    """Random boxes; every field has the shape ``(n,)``."""

    tas_kt: Any
    low_kt: Any
    high_kt: Any
    start_deg: Any
    width_deg: Any
    course_deg: Any
    out_deg: Any
    radius_ft: Any

    def wind(self) -> tuple[Any, ...]:
        return self.tas_kt, self.low_kt, self.high_kt, self.start_deg, self.width_deg, self.course_deg

    def grid(self) -> tuple[Any, Any, Any]:
        """Airspeed, wind and wind angle on a grid ``(n, SPEEDS, DIRECTIONS)`` that holds every edge."""
        at = np.linspace(0, 1, SPEEDS)[None, :, None]
        along = np.linspace(0, 1, DIRECTIONS)[None, None, :]
        wind = self.low_kt[:, None, None] + (self.high_kt - self.low_kt)[:, None, None] * at
        from_deg = self.start_deg[:, None, None] + self.width_deg[:, None, None] * along
        return self.tas_kt[:, None, None], wind, from_deg - self.course_deg[:, None, None]


def random_boxes(count: int, seed: int) -> Boxes:
    """Half of the boxes have one speed or one direction; arcs go from a point to the whole circle."""
    rng = np.random.default_rng(seed)
    tas = rng.uniform(55, 140, count)
    high = tas * rng.choice([0.3, 0.6, 0.98], count) * rng.uniform(0, 1, count)
    low = high * np.where(rng.random(count) < 0.25, 1.0, rng.uniform(0, 1, count))
    width = rng.choice([0.0, 15.0, 60.0, 200.0, 360.0], count) * np.where(
        rng.random(count) < 0.3, 1.0, rng.uniform(0, 1, count)
    )
    course = np.where(rng.random(count) < 0.2, rng.integers(0, 8, count) * 45.0, rng.uniform(0, 360, count))
    start = np.where(rng.random(count) < 0.2, rng.integers(0, 8, count) * 45.0, rng.uniform(0, 360, count))
    swing = rng.choice([-120.0, -90.0, -45.0, 45.0, 90.0, 150.0], count)
    return Boxes(tas, low, high, start, width, course, course + swing, rng.uniform(500, 4000, count))


def _swing(b: Boxes) -> Any:
    return (b.out_deg - b.course_deg)[:, None, None]


def _bank(b: Boxes) -> Any:
    tas, wind, angle = b.grid()
    return turns.bank_for_circle_deg(
        wt.groundspeed_kt(tas, wind, angle), b.radius_ft[:, None, None], wt.crab_deg(tas, wind, angle)
    )


def _corner(b: Boxes) -> Any:
    tas, wind, angle = b.grid()
    change = _swing(b) + wt.crab_deg(tas, wind, angle - _swing(b)) - wt.crab_deg(tas, wind, angle)
    return np.sign(_swing(b)) * change


def _half(b: Boxes) -> Any:
    tas, wind, angle = b.grid()
    wind, angle = wind[:, ::4], angle[:, :, ::2]  # an integral at every place: a coarser grid, ends included
    from_downwind = 180.0 - angle  # of a right turn
    return circle.seconds_between(tas, wind, b.radius_ft[:, None, None], from_downwind, from_downwind + 180.0)


#: name -> (range function, what it is the range of, on the grid)
CASES: dict[str, tuple[Callable[[Boxes], ranges.Range], Callable[[Boxes], Any]]] = {
    "crosswind_kt": (
        lambda b: ranges.crosswind_range_kt(*b.wind()[1:]),
        lambda b: b.grid()[1] * np.sin(np.radians(b.grid()[2])),
    ),
    "headwind_kt": (
        lambda b: ranges.headwind_range_kt(*b.wind()[1:]),
        lambda b: b.grid()[1] * np.cos(np.radians(b.grid()[2])),
    ),
    "crab_deg": (lambda b: ranges.crab_range_deg(*b.wind()), lambda b: wt.crab_deg(*b.grid())),
    "groundspeed_kt": (
        lambda b: ranges.groundspeed_range_kt(*b.wind()),
        lambda b: wt.groundspeed_kt(*b.grid()),
    ),
    "corner_deg": (lambda b: ranges.corner_range_deg(*b.wind(), b.out_deg), _corner),
    "bank_deg": (lambda b: ranges.bank_range_deg(*b.wind(), b.radius_ft), _bank),
    "steepest_deg": (
        lambda b: ranges.steepest_bank_range_deg(b.tas_kt, b.low_kt, b.high_kt, b.radius_ft),
        lambda b: circle.steepest_bank_deg(b.grid()[0], b.grid()[1], b.radius_ft[:, None, None]),
    ),
    "shallowest_deg": (
        lambda b: ranges.shallowest_bank_range_deg(b.tas_kt, b.low_kt, b.high_kt, b.radius_ft),
        lambda b: circle.shallowest_bank_deg(b.grid()[0], b.grid()[1], b.radius_ft[:, None, None]),
    ),
    "circle_s": (
        lambda b: ranges.seconds_per_circle_range(b.tas_kt, b.low_kt, b.high_kt, b.radius_ft),
        lambda b: circle.seconds_per_circle(b.grid()[0], b.grid()[1], b.radius_ft[:, None, None]),
    ),
    "half_circle_s": (
        lambda b: ranges.half_circle_seconds_range(*b.wind(), b.radius_ft, 1),
        _half,
    ),
}


def misfits(name: str, boxes: Boxes) -> tuple[float, float]:
    """How much a range is narrower than its grid at the worst box, and wider (over the grid's own spread)."""
    function, on_grid = CASES[name]
    found, values = function(boxes), on_grid(boxes)
    values = np.broadcast_to(values, (len(boxes.tas_kt), *values.shape[1:]))
    least, most = values.min(axis=(1, 2)), values.max(axis=(1, 2))
    if np.isnan(found.low).any() or np.isnan(least).any():
        raise AssertionError(f"{name}: a wind below the airspeed gave NaN")
    narrower = np.maximum(found.low - least, most - found.high)
    wider = np.maximum(least - found.low, found.high - most) / np.maximum(most - least, 1e-3)
    return float(narrower.max()), float(wider.max())


def main(argv: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=20240512)
    args = parser.parse_args(argv)
    worst = dict.fromkeys(CASES, (0.0, 0.0))
    for first in range(0, args.count, CHUNK):
        boxes = random_boxes(min(CHUNK, args.count - first), args.seed + first)
        for name in CASES:
            got = misfits(name, boxes)
            worst[name] = (max(worst[name][0], got[0]), max(worst[name][1], got[1]))
    for name, (narrower, wider) in worst.items():
        print(f"{name:16s} narrower by at most {narrower:.2e}, wider by at most {100 * wider:.1f} % of the spread")
    return int(any(narrower > ROUNDING for narrower, _ in worst.values()))


if __name__ == "__main__":
    sys.exit(main())
