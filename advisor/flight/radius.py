"""Radius advice: the smallest circle that holds the planned bank in the high wind, and what it asks for."""

from __future__ import annotations

from advisor import units
from advisor.errors import GeometryError
from advisor.flight import ranges
from advisor.flight.circle import radius_for_bank_ft, shallowest_bank_deg, steepest_bank_deg
from advisor.flight.demand import Pair, WindRange, check_flyable, pair
from advisor.records import dataclass

#: Farther out a point is too far to judge a distance by. Common practice, no source; as in limits.toml.
MAX_RADIUS_FT = 2600.0
#: Runway that a distance is compared with when the field's own is not known. [ft]
USUAL_RUNWAY_FT = 3000.0


@dataclass(frozen=True, slots=True)
class RadiusAdvice:
    """A radius, or why there is none.

    ``radius_ft`` is the offered radius, the largest practical one when the planned bank needs more. Banks are
    (low, high) over the range of wind at the offered radius.
    """

    needed_ft: float
    radius_ft: float
    radius_nm: float
    runway_lengths: float
    runway_ft: float
    steepest_bank_deg: Pair
    shallowest_bank_deg: Pair
    bank_deg: Pair
    seconds: Pair
    planned_bank_deg: float
    exit_bank_deg: float
    holds_planned: bool
    holds_exit: bool
    says: str


def radius_advice(
    tas_kt: float,
    wind: WindRange,
    planned_bank_deg: float,
    *,
    exit_bank_deg: float = 45.0,
    max_radius_ft: float = MAX_RADIUS_FT,
    runway_ft: float = USUAL_RUNWAY_FT,
) -> RadiusAdvice:
    """Smallest practical radius that holds the planned bank with the high wind, gust included.

    Parameters
    ----------
    tas_kt : float
        True airspeed. [kt]
    wind : WindRange
        Range of wind at height; the high end counts.
    planned_bank_deg : float
        Steepest bank planned. [deg]
    exit_bank_deg : float
        Bank at which the pilot leaves and starts again farther out. [deg]
    max_radius_ft : float
        Largest practical radius. [ft]
    runway_ft : float
        Length of a runway to compare the distance with. [ft]

    Returns
    -------
    RadiusAdvice
        Says so when no practical radius holds the planned bank, and whether the exit bank is held.

    Raises
    ------
    GeometryError
        For banks, lengths or a speed that make no sense.
    ImpossibleTriangle
        When the wind reaches the airspeed.

    References
    ----------
    Source keys ``afh-3c-ch7`` (45 degrees, leave and start again), ``common-practice`` (planned bank, largest
    radius), ``derived``.
    """
    if not (0.0 < planned_bank_deg < 90.0 and 0.0 < exit_bank_deg < 90.0):
        raise GeometryError(
            f"Banks of {planned_bank_deg:g} and {exit_bank_deg:g} degrees cannot both be flown level."
            " Give banks above 0 and below 90 degrees."
        )
    if not (max_radius_ft > 0.0 and runway_ft > 0.0):
        raise GeometryError("A largest radius and a runway length must be above 0 ft.")
    check_flyable(tas_kt, wind, "A circle over the ground", circle=True)
    needed = float(radius_for_bank_ft(tas_kt, wind.high_kt, planned_bank_deg))
    holds = needed <= max_radius_ft
    radius = min(needed, max_radius_ft)
    steepest = pair(ranges.steepest_bank_range_deg(tas_kt, wind.low_kt, wind.high_kt, radius))
    shallowest = pair(ranges.shallowest_bank_range_deg(tas_kt, wind.low_kt, wind.high_kt, radius))
    holds_exit = steepest[1] <= exit_bank_deg
    nm, lengths = radius / units.FT_PER_NM, radius / runway_ft
    size = f"{radius:,.0f} ft ({nm:.2f} NM, {lengths:.1f} of a {runway_ft:,.0f} ft runway)"
    if holds:
        says = (
            f"Fly {size} from the point: at the high wind that asks for {planned_bank_deg:g} degrees of bank"
            " at the steepest, flying downwind."
        )
    else:
        says = (
            f"No practical radius holds {planned_bank_deg:g} degrees: it would take {needed:,.0f} ft, and"
            f" beyond {max_radius_ft:,.0f} ft a distance is hard to judge. At {size} the steepest"
            f" bank reaches {steepest[1]:.0f} degrees."
        )
        if not holds_exit:
            says += f" That is past {exit_bank_deg:g} degrees, where one leaves and begins again farther out."
    return RadiusAdvice(
        needed,
        radius,
        nm,
        lengths,
        runway_ft,
        steepest,
        shallowest,
        (
            float(shallowest_bank_deg(tas_kt, wind.high_kt, radius)),
            float(steepest_bank_deg(tas_kt, wind.high_kt, radius)),
        ),
        pair(ranges.seconds_per_circle_range(tas_kt, wind.low_kt, wind.high_kt, radius)),
        planned_bank_deg,
        exit_bank_deg,
        holds,
        holds_exit,
        says,
    )
