"""What the plain rating looks at: a field, and what one report or forecast group says of one minute."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from advisor.reports.types import CeilingState, Remarks, Sky, Visibility
from advisor.wind import Wind
from tests.plain_limits import DEMONSTRATED_CROSSWIND_KT

HOLD, NOT_RATED, ASK, CARE, SUITED = "hold", "not rated", "ask first", "with care", "suited"
NOT_TAUGHT = "not taught at this stage"
FROZEN = {"SN", "SG", "PL", "PE", "GR", "GS", "IC"}
WORST_FIRST = (HOLD, NOT_RATED, ASK, CARE, SUITED)
SLACK = 1e-6


@dataclass
class Place:
    """The field: bearings of the open runway ends (degrees true), heights, and the sun of every day asked about."""

    ends: tuple[float, ...]
    elevation_ft: float
    sun: list[tuple[int, int]]  # sunrise and sunset, UTC minutes
    ground_above_field_ft: float = 0.0
    demonstrated_kt: float = DEMONSTRATED_CROSSWIND_KT


@dataclass
class Moment:
    """What one report or forecast group says of one minute. ``possible``: TEMPO and PROB."""

    minute: int
    wind: Wind
    sky: Sky
    visibility: Visibility
    weather: tuple[str, ...]
    observed: bool = False
    possible: bool = False
    remarks: Remarks = field(default_factory=Remarks)
    recent: tuple[str, ...] = ()
    peak_recent: bool = True  # the peak-wind remark is of the last hour
    shear: bool = False
    temperature_c: float | None = None
    dewpoint_c: float | None = None
    altimeter_inhg: float | None = None
    age_min: float | None = None  # of an observation
    unread: bool = False  # a group that could not be read
    no_report: bool = False  # a forecast with no fresh report beside it
    storm_near: bool = False  # a TEMPO or PROB with a storm begins or ended within the hour
    thunder_ahead: bool = False  # the forecast has thunder within three hours
    thunder_today: bool = False
    disagrees: bool = False  # report and forecast tell two stories
    fog_late: bool = False  # forecast fog went within two hours


@dataclass(frozen=True)
class Found:
    """One caution: what was seen, its family, and what it caps at."""

    cause: str
    family: str
    cap: str


def pairs(token: str) -> tuple[bool, set[str]]:
    """Whether a weather group is of the vicinity, and its two-letter words."""
    body = token.lstrip("+-")
    near = body.startswith("VC")
    body = body[2:] if near else body
    return near, {body[i : i + 2] for i in range(0, len(body), 2)}


def is_storm(weather: Iterable[str]) -> bool:
    """Thunder, squall, funnel cloud, freezing rain or drizzle at the field."""
    for near, words in map(pairs, weather):
        if ("TS" in words and not near) or words & {"SQ", "FC"}:
            return True
        if "FZ" in words and words & {"RA", "DZ", "UP"}:
            return True
    return False


def has_thunder(weather: Iterable[str], vicinity: bool = False) -> bool:
    """Thunder at the field, or with ``vicinity`` thunder near it."""
    return any("TS" in words and near == vicinity for near, words in map(pairs, weather))


def ceiling_ft(m: Moment) -> int | None:
    """Ceiling, or the lower figure of a variable-ceiling remark; none where no cloud group could be read."""
    figures = [m.sky.ceiling_ft_agl, m.remarks.ceiling_min_ft_agl if m.observed else None]
    if m.sky.ceiling_state == CeilingState.UNKNOWN:
        return None
    return min((f for f in figures if f is not None), default=None)
