"""The sight picture: where the reference lies below the horizon, for a student who looks outside."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from advisor import units

if TYPE_CHECKING:
    from numpy.typing import ArrayLike


class SightPicture(NamedTuple):
    """Where the reference is seen. ``above_wing_deg`` is how far it lies above the lowered wing."""

    below_horizon_deg: Any
    slant_ft: Any
    above_wing_deg: Any


def below_horizon_deg(height_ft: ArrayLike, distance_ft: ArrayLike) -> Any:
    """Angle of a reference below the horizon.

    Parameters
    ----------
    height_ft : numeric
        Height above the reference, 0 or more. [ft]
    distance_ft : numeric
        Distance over the ground, 0 or more. [ft]

    Returns
    -------
    numeric
        Broadcast shape, 0 to 90. [deg] NaN for a negative height or distance.

    Notes
    -----
    Never raises. The dip of the horizon (under 0.6 degrees at 1,000 ft) is left out.

    References
    ----------
    Source key ``derived``.
    """
    height = np.asarray(height_ft, dtype=np.float64)
    distance = np.asarray(distance_ft, dtype=np.float64)
    angle = units.atan2_deg(height, distance)
    return np.where((height >= 0.0) & (distance >= 0.0), angle, np.nan)[()]


def distance_for_angle_ft(height_ft: ArrayLike, below_horizon_deg: ArrayLike) -> Any:
    """Distance at which a reference is seen at an angle below the horizon.

    Parameters
    ----------
    height_ft : numeric
        Height above the reference. [ft]
    below_horizon_deg : numeric
        Angle, more than 0 and up to 90. [deg]

    Returns
    -------
    numeric
        Broadcast shape. [ft] NaN for an angle outside that.

    Notes
    -----
    Never raises.

    References
    ----------
    Source key ``derived``.
    """
    angle = np.asarray(below_horizon_deg, dtype=np.float64)
    angle = np.where((angle > 0.0) & (angle <= 90.0), angle, np.nan)
    return np.asarray(height_ft, dtype=np.float64) * units.cos_deg(angle) / units.sin_deg(angle)


def sight_picture(height_ft: ArrayLike, distance_ft: ArrayLike, bank_deg: ArrayLike = 0.0) -> SightPicture:
    """Where a reference off the lowered wing is seen.

    Parameters
    ----------
    height_ft : numeric
        Height above the reference, 0 or more. [ft]
    distance_ft : numeric
        Distance over the ground, 0 or more. [ft]
    bank_deg : numeric
        Bank towards the reference. [deg]

    Returns
    -------
    SightPicture
        Angle below the horizon, slant distance, and angle above the line of the wing (negative: below it,
        hidden by a low wing); broadcast shape.

    Notes
    -----
    Never raises. In a turn around a point the point does not stay on the wing tip: only eights on pylons keep
    it there.

    References
    ----------
    Source keys ``afh-3c-ch7``, ``derived``.
    """
    below = below_horizon_deg(height_ft, distance_ft)
    slant = np.hypot(np.asarray(height_ft, dtype=np.float64), np.asarray(distance_ft, dtype=np.float64))
    return SightPicture(below, slant, np.asarray(bank_deg, dtype=np.float64) - below)
