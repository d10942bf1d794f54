"""Teaching value: whether the student would see the wind at all. A second axis; it never changes a cap.

It comes from the geometry at the low end of the wind at height. Bands in knots scale with true airspeed.
"""

from __future__ import annotations

from enum import IntEnum
from typing import TYPE_CHECKING

import numpy as np

from advisor import units
from advisor.flight.circle import shallowest_bank_deg, steepest_bank_deg
from advisor.lessons import lessons
from advisor.limits import SLACK
from advisor.limits import table as limits_table
from advisor.table import Array, WindKind

if TYPE_CHECKING:
    from advisor.rules.context import Context


class Teaching(IntEnum):
    """How much of the wind a student would see."""

    LITTLE = 0
    SOME = 1
    STRONG = 2
    UNKNOWN = 3

    @property
    def words(self) -> str:
        """As printed."""
        return _WORDS[self]


_WORDS = {x: x.name.lower() for x in Teaching}


def _band(value: Array, little: Array | float, strong: Array | float) -> Array:
    """LITTLE below ``little``, STRONG at ``strong`` or more, else SOME; NaN gives UNKNOWN."""
    out = np.where(value >= strong - SLACK, np.uint8(Teaching.STRONG), np.uint8(Teaching.SOME))
    out = np.where(value < little - SLACK, np.uint8(Teaching.LITTLE), out)
    return np.where(np.isnan(value), np.uint8(Teaching.UNKNOWN), out)


def crab_low_deg(c: Context) -> Array:
    """Largest crab at the low wind, straight across it. [deg]"""
    return np.asarray(units.asin_deg(c.height.low_kt / c.tas_kt))


def bank_swing_low_deg(c: Context) -> Array:
    """Steepest less shallowest bank at the low wind on the planned radius, ``(stages, rows)``. [deg]"""
    radius = c.radius_planned_ft
    low = c.height.low_kt
    return np.asarray(steepest_bank_deg(c.tas_kt, low, radius) - shallowest_bank_deg(c.tas_kt, low, radius))


def pylon_swing_low_ft(c: Context) -> Array:
    """Exact pivotal height flying downwind less flying into wind, at the low wind. [ft]"""
    return np.asarray(2.0 * c.tas_kt * c.height.low_kt / units.TURN_CONSTANT_KT2_PER_FT)


def mean_crosswind_kt(c: Context) -> Array:
    """Crosswind of the mean at the best end, at the group's own direction, ``(stages, rows)``. [kt]"""
    across = np.abs(units.sin_deg(c.t.from_deg_true - c.best_end_deg))
    calm = (c.t.wind_kind == WindKind.CALM) & (c.best_end >= 0)
    return np.asarray(np.where(calm, 0.0, across * c.t.mean_kt))


def teaching_rows(c: Context) -> Array:
    """Teaching value of every stage, lesson and row.

    Parameters
    ----------
    c : Context
        Rows with their limits and aircraft.

    Returns
    -------
    uint8, shape ``(stages, lessons, rows)``
        Values of ``Teaching``; UNKNOWN where the wind (or the runway) is not known.

    Notes
    -----
    Never raises. Numbers: ``[teaching]`` of ``data/limits.toml``, common practice shaped by the geometry.
    """
    numbers = limits_table()["teaching"]
    scale = c.tas_kt / float(numbers["reference_tas_kt"])
    crab = crab_low_deg(c)
    crab = np.where(c.wind_known & np.isnan(crab), np.inf, crab)  # wind as strong as the airspeed
    line = _band(crab, numbers["crab_little_deg"], numbers["crab_strong_deg"])
    swing = bank_swing_low_deg(c)
    by_swing = _band(swing, numbers["swing_little_deg"], numbers["swing_strong_deg"])
    circle = np.minimum(np.broadcast_to(line, by_swing.shape), by_swing)
    circle = np.where(by_swing == Teaching.UNKNOWN, np.uint8(Teaching.UNKNOWN), circle)
    pylon = _band(pylon_swing_low_ft(c), numbers["pylon_swing_little_ft"], numbers["pylon_swing_strong_ft"])
    across = mean_crosswind_kt(c)
    pattern = _band(across, numbers["crosswind_little_kt"] * scale, numbers["crosswind_strong_kt"] * scale)
    variable = c.t.wind_kind == WindKind.VARIABLE
    pattern = np.where(variable & (c.best_end >= 0), np.uint8(Teaching.LITTLE), pattern)
    by_shape = {"line": line, "circle": circle, "pylon": pylon, "pattern": pattern}
    shape = (c.n_stages, c.t.n)
    return np.stack([np.broadcast_to(by_shape[x.shape], shape) for x in lessons()], axis=1).astype(np.uint8)
