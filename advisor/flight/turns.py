"""Steady, level, coordinated turns: radius, rate, load factor, and the bank that bends a ground circle."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from advisor import units
from advisor.units import floats

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

#: Turn rate in deg/s is this times tan(bank) over the true airspeed in knots (about 1,092.2).
RATE_CONSTANT_KT_DEG_S = units.G_FTS2 / units.KT_TO_FTS * 180.0 / np.pi


def _flyable_bank(bank_deg: ArrayLike) -> Any:
    bank = floats(bank_deg)
    return np.where((bank >= 0.0) & (bank < 90.0), bank, np.nan)


def radius_ft(speed_kt: ArrayLike, bank_deg: ArrayLike) -> Any:
    """Radius of a steady turn.

    Parameters
    ----------
    speed_kt : numeric
        True airspeed for the circle in the air; groundspeed where the crab is zero for the ground. [kt]
    bank_deg : numeric
        Bank, 0 to under 90. [deg]

    Returns
    -------
    numeric
        Broadcast shape. [ft] Infinite with wings level; NaN for a bank that is not flyable level.

    Notes
    -----
    Never raises. R = V^2 / (11.294 tan(bank)), the constant from exact units.

    References
    ----------
    Source keys ``phak-ch5`` (divisor 11.26), ``aviation-formulary`` (11.23), ``exact-units``.
    """
    speed = floats(speed_kt)
    with np.errstate(divide="ignore", invalid="ignore"):
        return speed * speed / (units.TURN_CONSTANT_KT2_PER_FT * units.tan_deg(_flyable_bank(bank_deg)))


def bank_deg(speed_kt: ArrayLike, radius_ft: ArrayLike) -> Any:
    """Bank of a steady turn of a given radius.

    Parameters
    ----------
    speed_kt : numeric
        Speed along the circle, where heading and course agree. [kt]
    radius_ft : numeric
        Radius, more than 0. [ft]

    Returns
    -------
    numeric
        Broadcast shape, 0 to under 90. [deg] NaN for a radius that is not positive.

    Notes
    -----
    Never raises. tan(bank) = V^2 / (11.294 R).

    References
    ----------
    Source keys ``phak-ch5``, ``exact-units``.
    """
    return bank_for_circle_deg(speed_kt, radius_ft)


def bank_for_circle_deg(groundspeed_kt: ArrayLike, radius_ft: ArrayLike, crab_deg: ArrayLike = 0.0) -> Any:
    """Bank that keeps a circle over the ground, at one place on it.

    Parameters
    ----------
    groundspeed_kt : numeric
        Groundspeed there. [kt]
    radius_ft : numeric
        Radius over the ground, more than 0. [ft]
    crab_deg : numeric
        Crab there, either side. [deg]

    Returns
    -------
    numeric
        Broadcast shape, 0 to under 90. [deg] NaN for a radius that is not positive.

    Notes
    -----
    Never raises. tan(bank) = G^2 / (11.294 R cos(crab)): the turn pulls square to the heading, and only its
    cosine share bends the track. The handbook form leaves the cosine out; the two agree flying straight
    downwind and straight into wind.

    References
    ----------
    Source keys ``afh-3c-ch7`` (in words), ``glatt-2014``, ``derived``.
    """
    speed, radius = floats(groundspeed_kt), floats(radius_ft)
    radius = np.where(radius > 0.0, radius, np.nan)
    return units.atan_deg(speed * speed / (units.TURN_CONSTANT_KT2_PER_FT * radius * units.cos_deg(crab_deg)))


def turn_rate_deg_s(tas_kt: ArrayLike, bank_deg: ArrayLike) -> Any:
    """Rate at which the heading turns.

    Parameters
    ----------
    tas_kt : numeric
        True airspeed, more than 0. [kt]
    bank_deg : numeric
        Bank, 0 to under 90. [deg]

    Returns
    -------
    numeric
        Broadcast shape. [deg/s] NaN for an airspeed that is not positive or a bank that is not flyable level.

    Notes
    -----
    Never raises. Rate = g tan(bank) / V; in knots and degrees 1,092.2 tan(bank) / V.

    References
    ----------
    Source keys ``phak-ch5`` (1,091), ``exact-units``.
    """
    tas = floats(tas_kt)
    tas = np.where(tas > 0.0, tas, np.nan)
    return RATE_CONSTANT_KT_DEG_S * units.tan_deg(_flyable_bank(bank_deg)) / tas


def load_factor(bank_deg: ArrayLike) -> Any:
    """Load factor of a level coordinated turn.

    Parameters
    ----------
    bank_deg : numeric
        Bank, 0 to under 90. [deg]

    Returns
    -------
    numeric
        1 or more, shape of the input. [g] NaN for a bank that is not flyable level.

    Notes
    -----
    Never raises. n = 1 / cos(bank).

    References
    ----------
    Source keys ``faa-load-factor-table``, ``derived``.
    """
    return 1.0 / units.cos_deg(_flyable_bank(bank_deg))


def stall_factor(bank_deg: ArrayLike) -> Any:
    """How much the stall speed grows in a level coordinated turn.

    Parameters
    ----------
    bank_deg : numeric
        Bank, 0 to under 90. [deg]

    Returns
    -------
    numeric
        1 or more, shape of the input; times the stall speed with wings level. NaN for a bank that is not
        flyable level.

    Notes
    -----
    Never raises. The square root of the load factor.

    References
    ----------
    Source keys ``faa-load-factor-table``, ``derived``.
    """
    return np.sqrt(load_factor(bank_deg))
