"""The air: standard atmosphere, pressure and density altitude, true airspeed, humidity, cloud base.

The standard atmosphere is that of 1976 up to 36,089 ft, in geopotential feet. Where a field reports no
temperature or altimeter the standard day stands in, and whoever prints the result says so.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from advisor import units
from advisor.units import floats

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

ISA_SEA_LEVEL_C = 15.0
LAPSE_C_PER_FT = 0.0065 * units.M_PER_FT
TROPOPAUSE_FT = 11000.0 / units.M_PER_FT
STANDARD_HPA = 1013.25
#: Altimeter setting at which pressure altitude equals elevation: what is dialled in the United States.
STANDARD_INHG = 29.92
#: g M / (R L) of the standard atmosphere.
PRESSURE_EXPONENT = 5.255880
_SEA_LEVEL_K = ISA_SEA_LEVEL_C + units.KELVIN_AT_0_C
_HEIGHT_SCALE_FT = _SEA_LEVEL_K / LAPSE_C_PER_FT  # about 145,442 ft
#: Weight of a molecule of water over one of dry air, as the NWS formula rounds it.
WATER_TO_AIR = 0.622
#: Feet of cloud base for each degree of spread (2.5 C each 1,000 ft). Source key ``cloud-base-rule``.
CLOUD_BASE_FT_PER_C = 400.0
#: The training rule: density altitude grows this much for each degree over standard.
RULE_FT_PER_C = 120.0


class DayAir(NamedTuple):
    """Temperature and altimeter to reckon with, and where the standard day stood in for them."""

    temperature_c: Any
    altimeter_inhg: Any
    temperature_assumed: Any
    altimeter_assumed: Any


def isa_temperature_c(pressure_altitude_ft: ArrayLike) -> Any:
    """Standard temperature at a height.

    Parameters
    ----------
    pressure_altitude_ft : numeric
        Pressure altitude. [ft]

    Returns
    -------
    numeric
        Shape of the input; constant above 36,089 ft. [C]

    Notes
    -----
    Never raises. 15 C less 6.5 C per 1,000 m (1.98 C per 1,000 ft).

    References
    ----------
    Source key ``us-standard-atmosphere``.
    """
    height = np.minimum(floats(pressure_altitude_ft), TROPOPAUSE_FT)
    return ISA_SEA_LEVEL_C - LAPSE_C_PER_FT * height


def pressure_ratio(pressure_altitude_ft: ArrayLike) -> Any:
    """Standard pressure at a height over that at sea level.

    Parameters
    ----------
    pressure_altitude_ft : numeric
        Pressure altitude, up to 36,089. [ft]

    Returns
    -------
    numeric
        Shape of the input; NaN above the tropopause, where no lesson is flown.

    Notes
    -----
    Never raises. (1 - 6.8756e-6 h)^5.2559.

    References
    ----------
    Source key ``us-standard-atmosphere``.
    """
    height = floats(pressure_altitude_ft)
    height = np.where(height <= TROPOPAUSE_FT, height, np.nan)
    return (1.0 - height / _HEIGHT_SCALE_FT) ** PRESSURE_EXPONENT


def pressure_altitude_ft(elevation_ft: ArrayLike, altimeter_inhg: ArrayLike) -> Any:
    """Pressure altitude of a place from its altimeter setting.

    Parameters
    ----------
    elevation_ft : numeric
        Elevation above sea level. [ft]
    altimeter_inhg : numeric
        Altimeter setting, more than 0. [inHg]

    Returns
    -------
    numeric
        Broadcast shape. [ft] NaN for a setting that is not positive.

    Notes
    -----
    Never raises. An altimeter adds the height of its setting in the standard atmosphere: 29.70 adds 204 ft
    (the handbook's table says 205), where the 1,000 ft per inch rule says 220.

    References
    ----------
    Source keys ``phak-fig-10-3``, ``us-standard-atmosphere``.
    """
    setting = floats(altimeter_inhg)
    share = np.where(setting > 0.0, setting, np.nan) / STANDARD_INHG
    return floats(elevation_ft) + _HEIGHT_SCALE_FT * (1.0 - share ** (1.0 / PRESSURE_EXPONENT))


def _density_ratio(pressure_altitude_ft: ArrayLike, virtual_k: Any) -> Any:
    kelvin = np.where(virtual_k > 0.0, virtual_k, np.nan)
    return pressure_ratio(pressure_altitude_ft) * _SEA_LEVEL_K / kelvin


def tas_from_ias_kt(ias_kt: ArrayLike, pressure_altitude_ft: ArrayLike, temperature_c: ArrayLike) -> Any:
    """True airspeed at an indicated airspeed.

    Parameters
    ----------
    ias_kt : numeric
        Indicated airspeed, taken as calibrated. [kt]
    pressure_altitude_ft : numeric
        Pressure altitude where it is flown. [ft]
    temperature_c : numeric
        Outside air temperature there. [C]

    Returns
    -------
    numeric
        Broadcast shape. [kt]

    Notes
    -----
    Never raises. IAS over the square root of the density ratio. Instrument error and compressibility (under
    0.1 kt at training speeds) are left out.

    References
    ----------
    Source keys ``us-standard-atmosphere``, ``derived``.
    """
    kelvin = floats(temperature_c) + units.KELVIN_AT_0_C
    return floats(ias_kt) / np.sqrt(_density_ratio(pressure_altitude_ft, kelvin))


def vapour_pressure_hpa(dewpoint_c: ArrayLike) -> Any:
    """Pressure of the water vapour in the air.

    Parameters
    ----------
    dewpoint_c : numeric
        Dew point; with a temperature in its place the result is the saturation pressure. [C]

    Returns
    -------
    numeric
        Shape of the input. [hPa]

    Notes
    -----
    Never raises. 6.11 x 10^(7.5 Td / (237.7 + Td)); NaN at -237.7 C and colder.

    References
    ----------
    Source key ``nws-da``.
    """
    dew = floats(dewpoint_c)
    dew = np.where(dew > -237.0, dew, np.nan)
    return 6.11 * 10.0 ** (7.5 * dew / (237.7 + dew))


def density_altitude_ft(
    pressure_altitude_ft: ArrayLike, temperature_c: ArrayLike, dewpoint_c: ArrayLike | None = None
) -> Any:
    """Height in the standard atmosphere where the air is as thin as here.

    Parameters
    ----------
    pressure_altitude_ft : numeric
        Pressure altitude. [ft]
    temperature_c : numeric
        Outside air temperature. [C]
    dewpoint_c : numeric or None
        Dew point; None reckons with dry air, which is up to some hundreds of feet too low. [C]

    Returns
    -------
    numeric
        Broadcast shape. [ft] NaN in any input gives NaN.

    Notes
    -----
    Never raises. Moist air counts as dry air at its virtual temperature T / (1 - 0.378 e / p). Exactly 0 on a
    standard dry day at sea level, where the rounded constants of the NWS formula give 19 ft.

    References
    ----------
    Source keys ``nws-da``, ``us-standard-atmosphere``.
    """
    kelvin = floats(temperature_c) + units.KELVIN_AT_0_C
    if dewpoint_c is not None:
        station_hpa = STANDARD_HPA * pressure_ratio(pressure_altitude_ft)
        kelvin = kelvin / (1.0 - (1.0 - WATER_TO_AIR) * vapour_pressure_hpa(dewpoint_c) / station_hpa)
    ratio = _density_ratio(pressure_altitude_ft, kelvin)
    return _HEIGHT_SCALE_FT * (1.0 - ratio ** (1.0 / (PRESSURE_EXPONENT - 1.0)))


def density_altitude_rule_ft(
    pressure_altitude_ft: ArrayLike, temperature_c: ArrayLike, elevation_ft: ArrayLike | None = None
) -> Any:
    """Density altitude by the rule pilots reckon with in the head.

    Parameters
    ----------
    pressure_altitude_ft : numeric
        Pressure altitude. [ft]
    temperature_c : numeric
        Outside air temperature. [C]
    elevation_ft : numeric or None
        Height at which the standard temperature is taken; training examples take the field's elevation. None
        takes it at the pressure altitude. [ft]

    Returns
    -------
    numeric
        Broadcast shape. [ft]

    Notes
    -----
    Never raises. Pressure altitude plus 120 ft for each degree over standard, standard being 15 C less 2 C
    per 1,000 ft. For a check beside the exact figure; nothing is rated by it.

    References
    ----------
    Source key ``density-altitude-rule``.
    """
    height = floats(pressure_altitude_ft)
    standard_at = height if elevation_ft is None else floats(elevation_ft)
    return height + RULE_FT_PER_C * (floats(temperature_c) - (ISA_SEA_LEVEL_C - 2.0 * standard_at / 1000.0))


def relative_humidity_pct(temperature_c: ArrayLike, dewpoint_c: ArrayLike) -> Any:
    """Relative humidity from temperature and dew point.

    Parameters
    ----------
    temperature_c : numeric
        Temperature. [C]
    dewpoint_c : numeric
        Dew point. [C]

    Returns
    -------
    numeric
        Broadcast shape. [%] Never more than 100: a dew point printed above the temperature is rounding.

    Notes
    -----
    Never raises.

    References
    ----------
    Source key ``nws-da``.
    """
    share = vapour_pressure_hpa(dewpoint_c) / vapour_pressure_hpa(temperature_c)
    return np.minimum(100.0 * share, 100.0)


def cloud_base_from_spread_ft(temperature_c: ArrayLike, dewpoint_c: ArrayLike) -> Any:
    """Height of fair-weather cloud from the spread at the ground.

    Parameters
    ----------
    temperature_c : numeric
        Temperature at the ground. [C]
    dewpoint_c : numeric
        Dew point at the ground. [C]

    Returns
    -------
    numeric
        Broadcast shape; above the ground, 0 or more. [ft]

    Notes
    -----
    Never raises. 400 ft for each degree of spread, for cloud that grows from the ground up; it says nothing
    of layers that drift in.

    References
    ----------
    Source key ``cloud-base-rule``.
    """
    return np.maximum(floats(temperature_c) - floats(dewpoint_c), 0.0) * CLOUD_BASE_FT_PER_C


def standard_day_fallback(elevation_ft: ArrayLike, temperature_c: ArrayLike, altimeter_inhg: ArrayLike) -> DayAir:
    """Fill what a field does not report with the standard day, and say where.

    Parameters
    ----------
    elevation_ft : numeric
        Field elevation. [ft]
    temperature_c : numeric
        Temperature; NaN where not reported. [C]
    altimeter_inhg : numeric
        Altimeter setting; NaN where not reported. [inHg]

    Returns
    -------
    DayAir
        Values of the broadcast shape and two masks that are true where the standard day stood in.

    Notes
    -----
    Never raises. The standard temperature is that of the field's pressure altitude.

    References
    ----------
    Source key ``us-standard-atmosphere``.
    """
    elevation, warm, setting = np.broadcast_arrays(floats(elevation_ft), floats(temperature_c), floats(altimeter_inhg))
    no_setting, no_warm = np.isnan(setting), np.isnan(warm)
    setting = np.where(no_setting, STANDARD_INHG, setting)[()]
    standard = isa_temperature_c(pressure_altitude_ft(elevation, setting))
    return DayAir(np.where(no_warm, standard, warm)[()], setting, no_warm, no_setting)
