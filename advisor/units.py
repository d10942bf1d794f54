"""Exact unit constants, and the only place where radians appear.

Angles are degrees everywhere else; the helpers here take and return degrees. They accept a scalar or
an array of any shape and broadcast as numpy does; NaN in gives NaN out; none of them raises.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

M_PER_FT = 0.3048  # exact, international foot
M_PER_NM = 1852.0  # exact
M_PER_SM = 1609.344  # exact, statute mile
FT_PER_NM = M_PER_NM / M_PER_FT
FT_PER_SM = M_PER_SM / M_PER_FT
KT_TO_MS = M_PER_NM / 3600.0
KT_TO_FTS = FT_PER_NM / 3600.0
MPH_TO_KT = M_PER_SM / M_PER_NM
KMH_TO_KT = 1000.0 / M_PER_NM
MS_TO_KT = 1.0 / KT_TO_MS
HPA_PER_INHG = 33.8638866667  # conventional inch of mercury at 0 C
G_MS2 = 9.80665  # standard gravity, exact
G_FTS2 = G_MS2 / M_PER_FT
#: V[kt]^2 / (this * tan(bank)) is a turn radius in feet; also the pivotal-height divisor (about 11.294).
TURN_CONSTANT_KT2_PER_FT = G_FTS2 / KT_TO_FTS**2
KELVIN_AT_0_C = 273.15


def sin_deg(angle_deg: ArrayLike) -> Any:
    """Sine of an angle in degrees."""
    return np.sin(np.radians(np.asarray(angle_deg, dtype=np.float64)))


def cos_deg(angle_deg: ArrayLike) -> Any:
    """Cosine of an angle in degrees."""
    return np.cos(np.radians(np.asarray(angle_deg, dtype=np.float64)))


def tan_deg(angle_deg: ArrayLike) -> Any:
    """Tangent of an angle in degrees."""
    return np.tan(np.radians(np.asarray(angle_deg, dtype=np.float64)))


def asin_deg(ratio: ArrayLike) -> Any:
    """Arc sine in degrees; a ratio beyond +/-1 gives NaN, silently."""
    x = np.asarray(ratio, dtype=np.float64)
    return np.degrees(np.arcsin(np.where(np.abs(x) <= 1.0, x, np.nan)))


def acos_deg(ratio: ArrayLike) -> Any:
    """Arc cosine in degrees; a ratio beyond +/-1 gives NaN, silently."""
    x = np.asarray(ratio, dtype=np.float64)
    return np.degrees(np.arccos(np.where(np.abs(x) <= 1.0, x, np.nan)))


def atan_deg(ratio: ArrayLike) -> Any:
    """Arc tangent in degrees."""
    return np.degrees(np.arctan(np.asarray(ratio, dtype=np.float64)))


def atan2_deg(y: ArrayLike, x: ArrayLike) -> Any:
    """Angle of the point (x, y) in degrees, -180 to 180."""
    return np.degrees(np.arctan2(np.asarray(y, dtype=np.float64), np.asarray(x, dtype=np.float64)))


def wrap_360(angle_deg: ArrayLike) -> Any:
    """Angle brought into [0, 360)."""
    wrapped = np.mod(np.asarray(angle_deg, dtype=np.float64), 360.0)
    return np.where(wrapped >= 360.0, 0.0, wrapped)[()]


def wrap_180(angle_deg: ArrayLike) -> Any:
    """Angle brought into [-180, 180)."""
    return (np.mod(np.asarray(angle_deg, dtype=np.float64) + 180.0, 360.0) - 180.0)[()]


def c_to_f(temperature_c: ArrayLike) -> Any:
    """Degrees Celsius to Fahrenheit."""
    return np.asarray(temperature_c, dtype=np.float64) * 1.8 + 32.0
