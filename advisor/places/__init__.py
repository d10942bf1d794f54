"""Stations, runways, the sun and magnetic variation: everything the advisor knows about a place."""

from advisor.places.geodesy import bearing_deg_true, distance_nm
from advisor.places.packed_file import Field, RunwayEnd, Station
from advisor.places.stations import (
    data_note,
    find_station,
    near_spellings,
    nearest,
    runways,
)
from advisor.places.variation import Variation, variation_deg_east

__all__ = [
    "Field",
    "RunwayEnd",
    "Station",
    "Variation",
    "bearing_deg_true",
    "data_note",
    "distance_nm",
    "find_station",
    "near_spellings",
    "nearest",
    "runways",
    "variation_deg_east",
]
