"""The traffic pattern on a real runway: wind shares, the four legs, and the turn to final.

Bearings are degrees true throughout; whoever prints them turns them to magnetic. ``side`` is -1 for a left
and +1 for a right pattern.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from advisor import units


class Components(NamedTuple):
    """Shares of a wind along and across a runway; a negative headwind is a tailwind."""

    headwind_kt: Any
    crosswind_kt: Any


def _array(value: ArrayLike) -> Any:
    return np.asarray(value, dtype=np.float64)


def runway_components(
    wind_from_deg_true: ArrayLike, wind_kt: ArrayLike, runway_bearing_deg_true: ArrayLike
) -> Components:
    """Headwind and crosswind on a runway.

    Parameters
    ----------
    wind_from_deg_true : numeric
        Direction the wind blows from. [deg true]
    wind_kt : numeric
        Wind speed: mean or gust. [kt]
    runway_bearing_deg_true : numeric
        Direction of landing, true like the wind; runway numbers are magnetic and rounded. [deg true]

    Returns
    -------
    Components
        ``headwind_kt`` (negative: tailwind) and ``crosswind_kt`` (positive from the right), broadcast shape.

    Notes
    -----
    Never raises.

    References
    ----------
    Source keys ``afh-3c-ch9``, ``derived``.
    """
    angle = _array(wind_from_deg_true) - _array(runway_bearing_deg_true)
    return Components(_array(wind_kt) * units.cos_deg(angle), _array(wind_kt) * units.sin_deg(angle))


def base_tailwind_kt(
    wind_from_deg_true: ArrayLike, wind_kt: ArrayLike, runway_bearing_deg_true: ArrayLike, side: ArrayLike
) -> Any:
    """Tailwind on base leg: what makes base fast and the turn to final late.

    Parameters
    ----------
    wind_from_deg_true : numeric
        Direction the wind blows from. [deg true]
    wind_kt : numeric
        Wind speed. [kt]
    runway_bearing_deg_true : numeric
        Direction of landing. [deg true]
    side : numeric
        -1 for a left pattern, +1 for a right one.

    Returns
    -------
    numeric
        Broadcast shape; negative when base has a headwind. [kt]

    Notes
    -----
    Never raises. Base of a left pattern is flown at the runway's direction plus 90 degrees.

    References
    ----------
    Source keys ``afh-3c-ch8``, ``derived``.
    """
    crosswind = runway_components(wind_from_deg_true, wind_kt, runway_bearing_deg_true).crosswind_kt
    return _array(side) * crosswind
