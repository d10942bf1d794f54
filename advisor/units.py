"""Exact unit constants, and the only place where radians appear.

Angles are degrees everywhere else; the helpers here take and return degrees. They accept a scalar or
an array of any shape and broadcast as numpy does; NaN in gives NaN out; none of them raises.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike

#: As numpy.typing.NDArray[np.float64]; importing numpy.typing takes a hundredth of a quick command.
FloatArray = np.ndarray[Any, np.dtype[np.float64]]

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


def floats(value: ArrayLike) -> Any:
    """Numbers as an array of double precision, or the array itself when it is one.

    Parameters
    ----------
    value : numeric
        A number, a sequence or an array.

    Returns
    -------
    numeric
        Array of the shape of the input. Never raises for numbers.
    """
    return np.asarray(value, dtype=np.float64)


def sin_deg(angle_deg: ArrayLike) -> Any:
    """Sine of an angle.

    Parameters
    ----------
    angle_deg : numeric
        Any angle. [deg]

    Returns
    -------
    numeric
        -1 to 1, shape of the input. Never raises.
    """
    return np.sin(np.radians(np.asarray(angle_deg, dtype=np.float64)))


def cos_deg(angle_deg: ArrayLike) -> Any:
    """Cosine of an angle.

    Parameters
    ----------
    angle_deg : numeric
        Any angle. [deg]

    Returns
    -------
    numeric
        -1 to 1, shape of the input. Never raises.
    """
    return np.cos(np.radians(np.asarray(angle_deg, dtype=np.float64)))


def tan_deg(angle_deg: ArrayLike) -> Any:
    """Tangent of an angle.

    Parameters
    ----------
    angle_deg : numeric
        Any angle; near 90 the result is very large, not infinite. [deg]

    Returns
    -------
    numeric
        Shape of the input. Never raises.
    """
    return np.tan(np.radians(np.asarray(angle_deg, dtype=np.float64)))


def asin_deg(ratio: ArrayLike) -> Any:
    """Arc sine.

    Parameters
    ----------
    ratio : numeric
        A sine; beyond +/-1 there is no angle and the result is NaN, silently.

    Returns
    -------
    numeric
        -90 to 90, shape of the input. [deg] Never raises.
    """
    x = np.asarray(ratio, dtype=np.float64)
    return np.degrees(np.arcsin(np.where(np.abs(x) <= 1.0, x, np.nan)))


def acos_deg(ratio: ArrayLike) -> Any:
    """Arc cosine.

    Parameters
    ----------
    ratio : numeric
        A cosine; beyond +/-1 there is no angle and the result is NaN, silently.

    Returns
    -------
    numeric
        0 to 180, shape of the input. [deg] Never raises.
    """
    x = np.asarray(ratio, dtype=np.float64)
    return np.degrees(np.arccos(np.where(np.abs(x) <= 1.0, x, np.nan)))


def atan_deg(ratio: ArrayLike) -> Any:
    """Arc tangent.

    Parameters
    ----------
    ratio : numeric
        A tangent.

    Returns
    -------
    numeric
        -90 to 90, shape of the input. [deg] Never raises.
    """
    return np.degrees(np.arctan(np.asarray(ratio, dtype=np.float64)))


def atan2_deg(y: ArrayLike, x: ArrayLike) -> Any:
    """Angle of a point, counted from the x axis towards the y axis.

    Parameters
    ----------
    y, x : numeric
        The point, in any one unit.

    Returns
    -------
    numeric
        -180 to 180, the broadcast shape of the inputs. [deg] Never raises for shapes that broadcast.
    """
    return np.degrees(np.arctan2(np.asarray(y, dtype=np.float64), np.asarray(x, dtype=np.float64)))


def wrap_360(angle_deg: ArrayLike) -> Any:
    """Bring an angle into the circle that starts at 0.

    Parameters
    ----------
    angle_deg : numeric
        Any angle. [deg]

    Returns
    -------
    numeric
        At least 0 and under 360, shape of the input; north is 0 here, and 360 only when printed. [deg]
        Never raises.
    """
    wrapped = np.mod(np.asarray(angle_deg, dtype=np.float64), 360.0)
    return np.where(wrapped >= 360.0, 0.0, wrapped)[()]


def wrap_180(angle_deg: ArrayLike) -> Any:
    """Bring an angle into the circle around 0.

    Parameters
    ----------
    angle_deg : numeric
        Any angle. [deg]

    Returns
    -------
    numeric
        At least -180 and under 180, shape of the input; positive is clockwise. [deg] Never raises.
    """
    return (np.mod(np.asarray(angle_deg, dtype=np.float64) + 180.0, 360.0) - 180.0)[()]


def c_to_f(temperature_c: ArrayLike) -> Any:
    """Celsius to Fahrenheit.

    Parameters
    ----------
    temperature_c : numeric
        Temperature. [C]

    Returns
    -------
    numeric
        Temperature, shape of the input. [F] Never raises.
    """
    return np.asarray(temperature_c, dtype=np.float64) * 1.8 + 32.0


def visibility_words(sm: float, limits: Sequence[float] = ()) -> str:
    """A visibility in statute miles: sixteenths as reported, a figure that came in metres to one decimal.

    Two decimals where one would hide on which side of a limit it lies.

    Parameters
    ----------
    sm : float
        [SM]
    limits : sequence of float
        Limits it is compared with. [SM]

    Returns
    -------
    str
        Without its unit. Never raises.
    """
    places = 4 if (sm * 16).is_integer() else 2 if round(sm, 1) in limits else 1
    return f"{sm:.{places}f}".rstrip("0").rstrip(".")
