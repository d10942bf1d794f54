"""The dispatch desk's morning: every field the school uses, in lesson blocks, worst first.

Computes what the desk's pages show and writes none. :func:`summarise` is the door.
"""

from advisor.morning.blocks import COLUMNS, DEFINITIONS
from advisor.morning.changes import MAX_AGE, changes_since
from advisor.morning.model import (
    Area,
    Block,
    Cell,
    Hazard,
    MorningSummary,
    RunwayWind,
    StationMorning,
    TrendPoint,
    Unserved,
    WindLayer,
)
from advisor.morning.summary import summarise

__all__ = [
    "COLUMNS",
    "DEFINITIONS",
    "MAX_AGE",
    "Area",
    "Block",
    "Cell",
    "Hazard",
    "MorningSummary",
    "RunwayWind",
    "StationMorning",
    "TrendPoint",
    "Unserved",
    "WindLayer",
    "changes_since",
    "summarise",
]
