"""What the desk's morning holds: plain values, ready to be printed.

Times are aware UTC, speeds kt, heights ft above the ground a name says, directions degrees true. ``None`` is
"not known", never 0.
"""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from advisor.records import dataclass

if TYPE_CHECKING:
    from advisor.advice import PracticeDay
    from advisor.rules.registry import Suitability
    from advisor.teaching import Teaching

Pair = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Cell:
    """One column of one block: the word, the lesson behind it and what holds it down.

    ``lesson`` is the lesson that does best (``None`` when nothing better than not rated is left); ``code`` and
    ``reason`` are empty when nothing holds it down. ``codes`` are all rules that cap it. ``layer`` and ``group``
    say which report or forecast group the reason comes from.
    """

    suitability: Suitability
    stage: str
    lesson: str | None
    teaching: Teaching | None = None
    code: str = ""
    reason: str = ""
    codes: tuple[str, ...] = ()
    layer: str = ""
    group: str = ""


@dataclass(frozen=True, slots=True)
class WindLayer:
    """Wind of a stretch of time from groups that are reported or prevail: the strongest of each figure.

    ``low_kt`` and ``high_kt`` are the wind at lesson height. ``None`` for the speeds: no group has a wind that
    can be used. ``from_deg_true`` is ``None`` when calm or variable (``variable`` tells).
    """

    from_deg_true: float | None = None
    mean_kt: float | None = None
    gust_kt: float | None = None
    variable: bool = False
    low_kt: float | None = None
    high_kt: float | None = None
    ceiling_ft: float | None = None  # lowest credible, TEMPO and PROB included; inf: none reported
    wind_gaps: bool = False  # part of the time has no known wind
    ceiling_gaps: bool = False  # part of the time has no known ceiling
    possible_peak_kt: float | None = None  # strongest of TEMPO and PROB, where that is above mean and gust


@dataclass(frozen=True, slots=True)
class Block:
    """One lesson block. ``slot`` is its start by the school's clock, ``start`` and ``end`` what is left of it."""

    slot: datetime
    start: datetime
    end: datetime
    cells: dict[str, Cell]
    wind: WindLayer


@dataclass(frozen=True, slots=True)
class Hazard:
    """One hazard of today with the hours it touches."""

    code: str
    name: str
    family: str
    message: str
    layer: str
    group: str
    start: datetime
    end: datetime
    doubt: bool = False  # about the reports, not the air


@dataclass(frozen=True, slots=True)
class RunwayWind:
    """The wind now at one usable runway end. A negative ``head_kt`` is a tailwind; ``None``: no direction.

    ``cross_kt`` is the mean, ``cross_peak_kt`` the worst of gust and swing. ``side``: left, right, either, none.
    """

    name: str
    bearing_deg_true: float
    head_kt: float | None
    cross_kt: float
    cross_peak_kt: float
    tail_peak_kt: float
    side: str
    best: bool
    estimated: bool


@dataclass(frozen=True, slots=True)
class TrendPoint:
    """One past report in figures; words for the wind and the visibility are made from ``raw`` groups."""

    observed_at: datetime
    wind: str
    visibility_sm: float | None
    ceiling_ft: float | None  # inf: reported and none
    spread_c: float | None
    altimeter_inhg: float | None


@dataclass(frozen=True, slots=True)
class Area:
    """A practice area: its ground, and what is left of the ceiling above that ground.

    ``ceiling_now_ft`` and ``ceiling_lowest_ft`` (over today's blocks): inf none reported, ``None`` unknown.
    """

    name: str
    where: str
    ground_ft_msl: float
    ceiling_now_ft: float | None
    ceiling_lowest_ft: float | None
    gaps: bool  # for part of today's blocks the ceiling is not known


@dataclass(slots=True)
class StationMorning:
    """One field. ``day`` is the engine's answer behind it; ``rank`` sorts, smallest worst."""

    day: PracticeDay
    blocks: tuple[Block, ...]
    hazards: tuple[Hazard, ...]
    wind_now: WindLayer
    now_from: str  # report, forecast or nothing
    aloft: tuple[tuple[datetime, datetime, float, float], ...]  # from, to, kt, ft above the field
    runways: tuple[RunwayWind, ...]
    trend: tuple[TrendPoint, ...]
    trend_words: tuple[str, ...]
    areas: tuple[Area, ...]
    sunrise: datetime | None
    sunset: datetime | None
    next_update: datetime
    rank: tuple[int, ...]
    changes: tuple[str, ...] = ()

    @property
    def station(self) -> str:
        """Identifier."""
        return self.day.station.source.site.station.station

    @property
    def name(self) -> str:
        """The field's name."""
        return self.day.station.source.site.station.name

    @property
    def best_runway(self) -> RunwayWind | None:
        """The end with least crosswind among those without much tailwind."""
        return next((r for r in self.runways if r.best), None)


@dataclass(frozen=True, slots=True)
class Unserved:
    """A field nothing can be shown for, and the sentence that says why."""

    station: str
    sentence: str


@dataclass(slots=True)
class MorningSummary:
    """The whole posting, worst field first."""

    made_at: datetime
    expires_at: datetime
    stations: tuple[StationMorning, ...]
    unserved: tuple[Unserved, ...]
    posted_by: str
    school: str
    made_up: bool
    block_min: int
    every_min: int | None = None
    previous_at: datetime | None = None
    notes: tuple[str, ...] = ()
