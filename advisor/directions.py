"""A direction in three digits, and the worst shares of a wind whose direction is an arc, for runways and legs."""

from __future__ import annotations

import numpy as np

from advisor import units
from advisor.table import Array


def bearing(degrees: float) -> str:
    """Three digits, 001 to 360, of a true or magnetic direction."""
    return f"{round(degrees) % 360 or 360:03d}"


def arc_share(arc_start_deg: Array, arc_width_deg: Array, bearing_deg: Array) -> tuple[Array, Array]:
    """Worst share of the wind across a bearing and from behind it.

    Parameters
    ----------
    arc_start_deg, arc_width_deg : array
        Directions the wind may blow from: clockwise from the start. [deg]
    bearing_deg : array
        Runway or leg direction, in the same north as the wind. [deg]

    Returns
    -------
    across, behind : array
        0 to 1; ``behind`` is 0 when every direction of the arc is from ahead. NaN in gives NaN out.

    Notes
    -----
    Never raises. Exact: an arc that holds the square (or the tail) direction gives 1, otherwise the worst is
    at one of its ends.
    """
    start = units.wrap_360(np.asarray(arc_start_deg - bearing_deg))
    width = np.asarray(arc_width_deg)
    end = start + width
    across = np.fmax(np.abs(units.sin_deg(start)), np.abs(units.sin_deg(end)))
    behind = np.fmax(-units.cos_deg(start), -units.cos_deg(end))
    swings = width > 0
    if np.any(swings):
        for square in (90.0, 270.0, 450.0, 630.0):
            across = np.where(swings & (start <= square) & (end >= square), 1.0, across)
        for tail in (180.0, 540.0):
            behind = np.where(swings & (start <= tail) & (end >= tail), 1.0, behind)
    return across, np.maximum(behind, 0.0)
