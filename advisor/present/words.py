"""Small pieces of plain English that several pages share."""

from __future__ import annotations

import re

from advisor import directions
from advisor.demand import DemandSummary
from advisor.limits import StageSetup
from advisor.rules.registry import INSIDE, RELEASE, Suitability
from advisor.units import M_PER_FT

#: Metric display: knots stay, heights and radii in metres.
US, METRIC = "us", "metric"


_FEET = re.compile(r"\b(\d[\d,]*) ft\b")


def rating_words(rating: Suitability, setup: StageSetup, *, short: bool = False) -> str:
    """A rating as printed; for a student alone a suited hour names the instructor's release. Never raises."""
    return column_words(setup.stage, rating, short=short)


def column_words(stage: str, rating: Suitability, *, short: bool = False) -> str:
    """The same for a stage by its name, or a column of the desk's posting. Never raises."""
    if rating is Suitability.SUITED and stage == "solo":
        return INSIDE if short else f"{INSIDE}; {RELEASE}"
    return rating.words


def length(feet: float, units: str = US) -> str:
    """A height or radius, rounded as people say it."""
    if units == METRIC:
        return f"{round(feet * M_PER_FT / 10) * 10:.0f} m"
    return f"{round(feet / 10) * 10:,.0f} ft"


def over_ground(text: str, units: str = US) -> str:
    """A sentence about distances over the ground, its feet as metres for ``metric``. Never raises."""
    if units != METRIC:
        return text
    return _FEET.sub(lambda m: f"{round(float(m[1].replace(',', '')) * M_PER_FT, -1):,.0f} m", text)


def pair(low: float, high: float, unit: str = "") -> str:
    """ "7 to 11 degrees", or one number when both round alike."""
    a, b = f"{low:.0f}", f"{high:.0f}"
    words = a if a == b else f"{a} to {b}"
    return f"{words} {unit}".strip()


bearing = directions.bearing


def surface_wind(d: DemandSummary) -> str:
    """The wind at the field in words."""
    gust = f", gusts to {d.surface_gust_kt:.0f} kt" if d.surface_gust_kt is not None else ", no gust reported"
    if d.surface_mean_kt == 0:
        return "calm at the field"
    if d.variable:
        return f"variable in direction, {d.surface_mean_kt:.0f} kt at the field{gust}"
    return f"from {bearing(d.surface_from_deg_true or 0)} true, {d.surface_mean_kt:.0f} kt at the field{gust}"


def height_wind(d: DemandSummary) -> str:
    """The wind at lesson height in words."""
    speed = pair(d.wind_low_kt, d.wind_high_kt, "kt")
    if d.from_arc_deg_true is None:
        return f"{speed} at lesson height, direction not to be relied on"
    low, high = d.from_arc_deg_true
    if bearing(low) == bearing(high):
        return f"{speed} at lesson height from about {bearing(low)} true"
    return f"{speed} at lesson height, from {bearing(low)} to {bearing(high)} true"


def _shape_lines(d: DemandSummary, units: str) -> list[str]:
    """Crab, bank and pivotal height."""
    out = []
    if d.variable:
        out.append("Crab: no single heading can be given while the direction varies.")
    elif d.wind_high_kt > 0:
        out.append(
            f"Crab across the wind {pair(*d.crab_deg, 'degrees')} at {d.kias:.0f} KIAS ({d.tas_kt:.0f} kt true); groundspeed "
            f"{pair(*d.groundspeed_kt, 'kt')}."
        )
    if d.bank_deg is not None and d.radius_ft is not None and d.steepest_bank_deg and d.shallowest_bank_deg:
        out.append(
            f"Bank {pair(*d.bank_deg, 'degrees')} at a radius of {length(d.radius_ft, units)}: steepest flying downwind "
            f"({pair(*d.steepest_bank_deg)}), shallowest flying into wind ({pair(*d.shallowest_bank_deg)})."
        )
    elif d.planned_bank_deg is not None and d.lesson != "tracking":  # a road has no corners
        out.append(
            f"Bank in the corners planned to {d.planned_bank_deg:.0f} degrees: steepest turning out of downwind."
        )
    if d.pivotal_exact_ft is not None and d.pivotal_handbook_ft is not None:
        out.append(
            f"Pivotal height at the high wind: handbook {length(d.pivotal_handbook_ft[0], units)} into wind to "
            f"{length(d.pivotal_handbook_ft[1], units)} downwind; exact {length(d.pivotal_exact_ft[0], units)} to "
            f"{length(d.pivotal_exact_ft[1], units)}. The lower one counts."
        )
    return out


def demand_lines(d: DemandSummary, units: str = US) -> list[str]:
    """What to expect in the air, one fact a line. Never raises."""
    out = [f"Wind {surface_wind(d)}; {height_wind(d)} ({d.air_class} air)."]
    out += [d.beyond_airspeed] if d.beyond_airspeed else _shape_lines(d, units)
    if d.runway is not None and d.crosswind_kt is not None:
        tail = f", tailwind {d.tailwind_kt:.0f} kt" if d.tailwind_kt and d.tailwind_kt >= 0.5 else ""
        base = (
            f"; base leg flown with {d.base_tailwind_kt:.0f} kt behind"
            if d.lesson == "crosswind-pattern" and d.base_tailwind_kt and d.base_tailwind_kt >= 0.5
            else ""
        )
        across = f"crosswind up to {d.crosswind_kt:.0f} kt" if d.crosswind_kt >= 0.5 else "hardly any crosswind"
        if d.surface_mean_kt == 0 and d.crosswind_kt == 0:
            out.append("Runway: calm, so none has a crosswind.")
        else:
            out.append(f"Runway {d.runway}: {across}{tail}{base}.")
    if d.density_altitude_ft is not None:
        out.append(f"Density altitude of the field about {length(d.density_altitude_ft, units)}.")
    if d.cloud_base_from_spread_ft is not None:
        cloud_ft = round(d.cloud_base_from_spread_ft, -2)  # a rule of thumb: hundreds of feet are all it gives
        out.append(
            f"By the spread, cloud that grows in the sun would have its base about {length(cloud_ft, units)} above the field."
        )
    return out
