"""Wind at lesson height: a low and a high end from the surface wind, the time of day and the sky.

The low end is the mean at the field. The high end is a band from power-law exponents; the law is published to
about 650 ft, so 1,000 ft is an extrapolation and the page says so. Numbers live in ``data/limits.toml``.
"""

from __future__ import annotations

from enum import IntEnum
from typing import Any

import numpy as np

from advisor.limits import table as limits_table
from advisor.records import dataclass
from advisor.table import Array, Table, WindKind


class AirClass(IntEnum):
    """How well the air near the ground is stirred; the first that fits, top down."""

    STABLE = 0
    OVERCAST = 1
    WINDY = 2
    MIXED = 3


@dataclass(frozen=True, slots=True)
class HeightWind:
    """Wind at lesson height, one value a row; NaN where the surface wind is not known.

    ``veer_low_deg`` and ``veer_high_deg`` turn the surface direction clockwise (negative south of the equator).
    """

    low_kt: Array
    high_kt: Array
    air_class: Array
    veer_low_deg: Array
    veer_high_deg: Array


def height_wind(t: Table) -> HeightWind:
    """Low and high wind at lesson height for every row.

    Parameters
    ----------
    t : Table
        Conditions.

    Returns
    -------
    HeightWind
        Arrays of shape ``(rows,)``, kt and degrees.

    Notes
    -----
    Never raises. More surface wind never lowers the high end; cloud never weakens the stable class; the high end
    is never below the reported gust. Winds aloft raise the high end freely and lower it no further than
    max(gust, 1.5 w); a pilot's report no further than max(mean, gust).

    References
    ----------
    Power law: source key ``epa-454``. Stable floor: ``wind-energ-sci-2021`` and common practice.
    """
    numbers = limits_table()["height_wind"]
    known = t.wind_kind <= WindKind.VARIABLE
    mean = np.where(known, t.mean_kt, np.nan)
    # a breath of wind counts no less than calm does, or more wind would give a lower high end
    w = np.maximum(mean, float(numbers["calm_counts_as_kt"]))
    gust = np.where(np.isnan(t.gust_kt), 0.0, t.gust_kt)
    stable = t.dark | t.near_sun
    overcast = ~stable & (t.ceiling_ft < numbers["overcast"]["ceiling_below_ft"])
    windy = ~stable & ~overcast & (mean >= numbers["windy"]["from_kt"])
    air_class = np.select(
        [stable, overcast, windy], [AirClass.STABLE, AirClass.OVERCAST, AirClass.WINDY], AirClass.MIXED
    )
    high = np.select(
        [stable, overcast, windy],
        [
            _band(w, numbers["stable"]),
            _band(w, numbers["overcast"]),
            _band(w, numbers["windy"]),
        ],
        _band(w, numbers["mixed"]),
    )
    high = np.fmax(high, np.where(known, gust, np.nan))
    # below the lowest level the wind is taken to grow evenly from the field's mean to that level's
    share = float(numbers["lesson_height_ft"]) / np.fmax(t.aloft_low_height_ft, float(numbers["lesson_height_ft"]))
    between = mean + (t.aloft_low_kt - mean) * share
    at_height = np.where(t.aloft_low_height_ft > numbers["lesson_height_ft"], between, t.aloft_interp_kt)
    aloft = np.where(stable, t.aloft_low_kt, at_height)
    floor = np.fmax(gust, float(numbers["aloft_floor_factor"]) * w)
    high = np.where(np.isnan(aloft) | np.isnan(high), high, np.fmax(aloft, np.fmin(high, floor)))
    pilot_floor = np.fmax(np.where(known, t.mean_kt, np.nan), gust)
    high = np.where(np.isnan(t.pilot_kt) | np.isnan(high), high, np.fmax(t.pilot_kt, pilot_floor))
    veer = np.array([numbers[c.name.lower()]["veer_deg"] for c in AirClass], dtype=np.float64)
    low_veer, high_veer = veer[air_class, 0], veer[air_class, 1]
    south = ~t.northern
    return HeightWind(
        mean, high, air_class, np.where(south, -high_veer, low_veer), np.where(south, -low_veer, high_veer)
    )


def _band(w: Array, numbers: dict[str, Any]) -> Array:
    """High end of one class; a wind that is missing stays missing, so no cap or floor may stand in for it."""
    if "plus_kt" not in numbers:
        return np.asarray(float(numbers["factor"]) * w)
    plus = w + float(numbers["plus_kt"])
    if "plus_cap_kt" in numbers:
        plus = np.minimum(plus, float(numbers["plus_cap_kt"]))
    return np.asarray(np.maximum(float(numbers["factor"]) * w, plus))
