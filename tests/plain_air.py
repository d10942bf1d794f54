"""Air, wind at lesson height and the geometry that limits speak of, one number at a time, for ``plain_rating.py``.

From the standard atmosphere of 1976 and the relations of a level turn; nothing of ``advisor`` computes here.
"""

from __future__ import annotations

import math

from tests.plain_limits import (
    CALM_COUNTS_KT,
    HANDBOOK_PIVOTAL,
    LESSON_HEIGHT_FT,
    MIXED,
    OVERCAST,
    OVERCAST_BELOW_FT,
    PRACTICE_KIAS,
    STABLE,
    STABLE_FLOOR_KT,
    WINDY,
    WINDY_FROM_KT,
)
from tests.plain_moment import Moment, Place, ceiling_ft

G_FTS2, FTS_PER_KT = 9.80665 / 0.3048, 1852 / 0.3048 / 3600
LAPSE = 0.0065 * 0.3048  # degrees C a foot, standard atmosphere of 1976
SCALE_FT, EXPONENT = 288.15 / LAPSE, 5.25588
HAND = G_FTS2 / FTS_PER_KT**2  # kt squared to feet: about 11.294


def wind_above_kt(m: Moment, mean: float, peak: float, stable: bool) -> float:
    """High end of the wind at lesson height: power-law exponents, first class that fits."""
    w = max(mean, CALM_COUNTS_KT)
    ceiling = ceiling_ft(m)
    low_cloud = ceiling is not None and ceiling < OVERCAST_BELOW_FT
    if stable:
        high = max(STABLE[0] * w, min(w + STABLE[1], STABLE_FLOOR_KT))
    elif low_cloud:
        high = max(OVERCAST[0] * w, w + OVERCAST[1])
    elif mean >= WINDY_FROM_KT:
        high = max(WINDY[0] * w, w + WINDY[1])
    else:
        high = max(MIXED[0] * w, w + MIXED[1])
    return max(high, peak)


def pressure_altitude_ft(m: Moment, place: Place) -> float:
    """Pressure altitude of the field; the standard setting where none is known."""
    setting = 29.92 if m.altimeter_inhg is None else m.altimeter_inhg
    return place.elevation_ft + SCALE_FT * (1 - (setting / 29.92) ** (1 / EXPONENT))


def density_share(height_ft: float, celsius: float) -> float:
    """Density over that of the standard day at sea level."""
    return (1 - height_ft / SCALE_FT) ** EXPONENT * 288.15 / (celsius + 273.15)


def true_airspeed_kt(m: Moment, place: Place) -> float:
    """TAS from the practice airspeed 1,000 ft above the field, at the temperature reported; else of the standard day."""
    height = pressure_altitude_ft(m, place) + LESSON_HEIGHT_FT
    celsius = 15 - LAPSE * height if m.temperature_c is None else m.temperature_c
    return PRACTICE_KIAS / math.sqrt(density_share(height, celsius))


def vapour_hpa(celsius: float) -> float:
    """Saturation vapour pressure, as the National Weather Service has it."""
    return 6.11 * 10 ** (7.5 * celsius / (237.7 + celsius))


def density_altitude_ft(m: Moment, place: Place) -> float:
    """Density altitude; moist air counts as dry air at its virtual temperature."""
    height = pressure_altitude_ft(m, place)
    kelvin = m.temperature_c + 273.15
    if m.dewpoint_c is not None:
        station = 1013.25 * (1 - height / SCALE_FT) ** EXPONENT
        kelvin /= 1 - 0.378 * vapour_hpa(m.dewpoint_c) / station
    return SCALE_FT * (1 - density_share(height, kelvin - 273.15) ** (1 / (EXPONENT - 1)))


def radius_ft(tas: float, wind: float, bank_deg: float) -> float:
    """Radius of a ground circle whose steepest bank, flying downwind, is this."""
    return (tas + wind) ** 2 / (HAND * math.tan(math.radians(bank_deg)))


def pivotal_ft(tas: float, wind: float) -> float:
    """Pivotal height flying into wind, the lower of the handbook's and the exact."""
    return min((tas - wind) ** 2 / HANDBOOK_PIVOTAL, tas * (tas - wind) / HAND) if wind < tas else 0.0
