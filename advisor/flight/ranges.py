"""Exact ranges of crab, groundspeed, heading, turn and bank over a range of wind: import them from here.

A range of wind is every speed from ``wind_low_kt`` to ``wind_high_kt`` from every direction of an arc that
starts at ``from_start_deg`` and runs ``from_width_deg`` clockwise, 0 for one direction and 360 for a variable
one. The extremes are found where they are, at ends of the box or inside it, and never by pushing the low and
the high wind through alone. A box that holds a wind in which the task cannot be flown gives NaN for both
ends. Formulas and sources stand with each function.
"""

from __future__ import annotations

from advisor.flight.arcs import Arc, Range
from advisor.flight.circle_ranges import (
    bank_range_deg,
    half_circle_seconds_range,
    seconds_per_circle_range,
    shallowest_bank_range_deg,
    steepest_bank_range_deg,
)
from advisor.flight.line_ranges import (
    corner_range_deg,
    crab_range_deg,
    crosswind_range_kt,
    groundspeed_range_kt,
    heading_arc_deg,
    headwind_range_kt,
    leg_seconds_range,
)

__all__ = [
    "Arc",
    "Range",
    "bank_range_deg",
    "corner_range_deg",
    "crab_range_deg",
    "crosswind_range_kt",
    "groundspeed_range_kt",
    "half_circle_seconds_range",
    "heading_arc_deg",
    "headwind_range_kt",
    "leg_seconds_range",
    "seconds_per_circle_range",
    "shallowest_bank_range_deg",
    "steepest_bank_range_deg",
]
