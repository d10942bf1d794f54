"""Great-circle distance and bearing on a sphere; enough for choosing a station within 30 NM."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from advisor.units import asin_deg, atan2_deg, cos_deg, sin_deg, wrap_360

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

#: One minute of arc of the mean Earth (radius 6,371.0088 km, IUGG), nautical miles.
NM_PER_DEG = 6371.0088 / 1.852 * np.pi / 180.0


def distance_nm(lat1_deg: ArrayLike, lon1_deg: ArrayLike, lat2_deg: ArrayLike, lon2_deg: ArrayLike) -> Any:
    """Great-circle distance between two places.

    Parameters
    ----------
    lat1_deg, lon1_deg, lat2_deg, lon2_deg : scalar or array, degrees, north and east positive
        Shapes broadcast.

    Returns
    -------
    float or array of float64, NM. NaN in gives NaN out; never raises. Haversine form on a sphere of mean
    radius; within 0.5 % of the ellipsoid.
    """
    lat1, lat2 = np.asarray(lat1_deg, dtype=np.float64), np.asarray(lat2_deg, dtype=np.float64)
    dlat = lat2 - lat1
    dlon = np.asarray(lon2_deg, dtype=np.float64) - np.asarray(lon1_deg, dtype=np.float64)
    h = sin_deg(dlat / 2.0) ** 2 + cos_deg(lat1) * cos_deg(lat2) * sin_deg(dlon / 2.0) ** 2
    return 2.0 * asin_deg(np.sqrt(np.minimum(h, 1.0))) * NM_PER_DEG


def bearing_deg_true(lat1_deg: ArrayLike, lon1_deg: ArrayLike, lat2_deg: ArrayLike, lon2_deg: ArrayLike) -> Any:
    """First bearing of the great circle from place 1 to place 2.

    Parameters
    ----------
    lat1_deg, lon1_deg, lat2_deg, lon2_deg : scalar or array, degrees, north and east positive
        Shapes broadcast.

    Returns
    -------
    float or array of float64, degrees true in [0, 360); 0 for one and the same place. Never raises.
    """
    dlon = np.asarray(lon2_deg, dtype=np.float64) - np.asarray(lon1_deg, dtype=np.float64)
    y = sin_deg(dlon) * cos_deg(lat2_deg)
    x = cos_deg(lat1_deg) * sin_deg(lat2_deg) - sin_deg(lat1_deg) * cos_deg(lat2_deg) * cos_deg(dlon)
    return wrap_360(atan2_deg(y, x))
