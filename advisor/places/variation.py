"""Magnetic variation from the World Magnetic Model, loaded only when asked for.

The model edition is chosen by date (each is good for five years). Outside every edition the nearest one
is used at its first or last day, and the note says so.
"""

from __future__ import annotations

from datetime import UTC, datetime
from functools import lru_cache
from typing import Any

from advisor.records import dataclass
from advisor.units import M_PER_FT

#: Edition file, first year and last year. 2015v2 replaced 2015 after a faster drift than forecast.
EDITIONS = (
    ("WMM_2010.COF", 2010.0, 2015.0),
    ("WMM_2015v2.COF", 2015.0, 2020.0),
    ("WMM_2020.COF", 2020.0, 2025.0),
    ("WMM_2025.COF", 2025.0, 2030.0),
)


@dataclass(frozen=True, slots=True)
class Variation:
    """``value_deg`` is east positive (true = magnetic + value); ``None`` when it could not be worked out.

    ``epoch_note`` names the model edition and says when the date lies outside it.
    """

    value_deg: float | None
    epoch_note: str


@lru_cache(maxsize=len(EDITIONS))
def _model(file_name: str) -> Any:
    from pygeomag import GeoMag

    return GeoMag(coefficients_file=f"wmm/{file_name}")


def decimal_year(when: datetime) -> float:
    """Year with its fraction; a leap year's days are a little shorter, as the model's authors count."""
    utc = when.astimezone(UTC)
    start = datetime(utc.year, 1, 1, tzinfo=UTC)
    end = datetime(utc.year + 1, 1, 1, tzinfo=UTC)
    return utc.year + (utc - start) / (end - start)


def variation_at_year(latitude_deg: float, longitude_deg: float, height_km: float, year: float) -> Variation:
    """As :func:`variation_deg_east`, with height above the ellipsoid in km and a decimal year."""
    chosen = next((e for e in EDITIONS if e[1] <= year < e[2]), None)
    note_year = year
    if chosen is None:
        chosen = EDITIONS[0] if year < EDITIONS[0][1] else EDITIONS[-1]
        note_year = min(max(year, chosen[1]), chosen[2])
    model = f"World Magnetic Model {chosen[1]:.0f}"
    note = model if note_year == year else f"{model}, nearest edition to {year:.0f}: check the chart"
    if not (-90.0 <= latitude_deg <= 90.0 and -180.0 <= longitude_deg <= 360.0):
        return Variation(None, "variation not available: the position is not on the Earth")
    try:
        result = _model(chosen[0]).calculate(glat=latitude_deg, glon=longitude_deg, alt=height_km, time=note_year)
    except (ValueError, OSError, ImportError) as error:
        return Variation(None, f"variation not available: {error}")
    # Below 6,000 nT of horizontal field the model's authors call the compass unreliable (caution zone).
    if result.h < 6000.0:
        note += "; the compass is unreliable this close to the magnetic pole"
    return Variation(float(result.d), note)


def variation_deg_east(latitude_deg: float, longitude_deg: float, elevation_ft: float, when: datetime) -> Variation:
    """Magnetic variation at a place and time, east positive.

    Parameters
    ----------
    latitude_deg, longitude_deg : float, degrees, north and east positive
    elevation_ft : float, feet above sea level
    when : datetime
        Aware; picks the model edition.

    Returns
    -------
    Variation
        Never raises for a bad place or date: the value is then ``None`` and the note says why.

    Source: NOAA/NCEI and BGS World Magnetic Model, through pygeomag; 0.005 degrees on the official values.
    """
    height_km = elevation_ft * M_PER_FT / 1000.0
    return variation_at_year(latitude_deg, longitude_deg, height_km, decimal_year(when))
