"""What a lesson card holds: plain numbers and sentences, ready to be drawn or printed.

Ground positions are feet east and north of the plan's origin. A pair is (low, high) over the wind at lesson
height. Crab is signed: positive puts the nose right of the course. Directions are true unless a name says
magnetic.
"""

from __future__ import annotations

from dataclasses import field
from datetime import datetime
from typing import TYPE_CHECKING

from advisor.records import dataclass

if TYPE_CHECKING:
    from advisor.advice import PracticeDay
    from advisor.lessons import Lesson
    from advisor.limits import StageSetup
    from advisor.ratings import Caution
    from advisor.rules.registry import Suitability
    from advisor.swaps import Swap
    from advisor.teaching import Teaching

Pair = tuple[float, float]
Track = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class WindBox:
    """Wind at lesson height: every speed from ``low_kt`` to ``high_kt``, from every direction of the arc.

    ``from_deg_true`` is the middle of the arc (``None`` in a calm), ``half_width_deg`` half its width.
    """

    low_kt: float
    high_kt: float
    from_deg_true: float | None
    half_width_deg: float

    @property
    def arc_deg(self) -> Pair:
        """Start of the arc and its width, clockwise; the whole circle in a calm."""
        if self.from_deg_true is None:
            return 0.0, 360.0
        return (self.from_deg_true - self.half_width_deg) % 360.0, 2.0 * self.half_width_deg


@dataclass(frozen=True, slots=True)
class Mark:
    """One numbered place of the lesson: a leg or a position on a circle, and what is seen there.

    ``drawn_heading_deg_true`` is the heading at the wind the plan is drawn for. ``turn_deg`` is the corner at
    the end of a leg, ``corner_bank_deg`` the least and greatest bank in it.
    """

    number: int
    name: str
    east_ft: float
    north_ft: float
    course_deg_true: float
    drawn_heading_deg_true: float
    heading_deg_true: Pair  # clockwise from the first to the second
    crab_deg: Pair
    groundspeed_kt: Pair
    bank_deg: Pair | None = None
    seconds: Pair | None = None
    turn_deg: Pair | None = None
    corner_bank_deg: Pair | None = None
    corner_words: str = ""
    pivotal_handbook_ft: Pair | None = None
    pivotal_exact_ft: Pair | None = None
    drawn: bool = True  # False where the plan has no room for another aircraft


@dataclass(frozen=True, slots=True)
class GroundShape:
    """Something on the ground. ``kind``: point, pylon, road, field or runway; ``corners`` in feet."""

    kind: str
    corners: Track
    label: str = ""


@dataclass(frozen=True, slots=True)
class Plan:
    """The lesson seen from above, north up, to scale. ``drawn_kt`` is the wind the headings are drawn for."""

    track: Track
    closed: bool
    marks: tuple[Mark, ...]
    ground: tuple[GroundShape, ...]
    drawn_kt: float
    entry: tuple[float, float, float] | None = None  # east, north, course: where the lesson begins
    arrows: tuple[tuple[float, float, float], ...] = ()  # east, north, course: which way round


@dataclass(frozen=True, slots=True)
class Astray:
    """What happens without the correction, flown forward in the same wind."""

    track: Track
    meant: Track
    ground: tuple[GroundShape, ...]
    title: str
    says: str


@dataclass(frozen=True, slots=True)
class BankCurve:
    """Bank against position. ``at_deg`` counts the course from flying straight downwind, in order of flight."""

    at_deg: tuple[float, ...]
    low_deg: tuple[float, ...]
    high_deg: tuple[float, ...]
    planned_deg: float
    exit_deg: float
    left: bool


@dataclass(frozen=True, slots=True)
class RunwayRow:
    """Wind at one runway end; ``cross`` and ``head`` are (mean, worst). A negative ``head`` is a tailwind."""

    name: str
    bearing_deg_true: float
    bearing_deg_magnetic: float | None
    from_side: str  # left, right, either or none
    cross_kt: Pair
    head_kt: Pair
    best: bool
    estimated: bool


@dataclass(frozen=True, slots=True)
class Sensitivity:
    """What another wind would ask: ``steepest`` and ``shallowest`` in degrees of bank where they apply."""

    label: str
    crab_deg: float
    fastest_kt: float
    slowest_kt: float
    steepest_deg: float | None = None
    shallowest_deg: float | None = None
    heights_ft: Pair | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Reference:
    """Which road, field or point of the practice area fits this wind, and why."""

    name: str
    kind: str
    area: str
    bearing_deg_true: float | None
    from_field: str  # "7 NM N of the field"
    says: str
    size_ft: Pair | None = None  # long and short side of a field


@dataclass(slots=True)
class LessonCard:
    """One lesson, one hour, one stage. Fields that the inputs do not support are ``None`` and ``why_not`` says why."""

    day: PracticeDay
    setup: StageSetup
    lesson: Lesson
    at: datetime
    until: datetime
    suitability: Suitability
    teaching: Teaching
    left: bool
    surface_words: str
    height_words: str
    variation_deg: float | None
    variation_words: str
    wind: WindBox | None
    tas_kt: float | None
    kias: float
    height_ft_agl: float
    planned_bank_deg: float
    exit_bank_deg: float
    plan: Plan | None = None
    astray: Astray | None = None
    bank_curve: BankCurve | None = None
    radius_ft: float | None = None
    radius_words: str = ""
    sight_words: str = ""
    stall_words: str = ""
    reference: Reference | None = None
    reference_words: str = ""
    runways: tuple[RunwayRow, ...] = ()
    sensitivity: tuple[Sensitivity, ...] = ()
    if_wind: tuple[tuple[str, str], ...] = ()
    swaps: tuple[Swap, ...] = ()
    others: tuple[tuple[str, str], ...] = ()  # other lessons of this hour: title, suitability
    briefing: tuple[tuple[str, str], ...] = ()
    cautions: tuple[Caution, ...] = ()
    why_not: str = ""
    school_words: tuple[str, ...] = ()  # outside its hours, and its notices in force during the lesson
    remarks: list[str] = field(default_factory=list)

    def magnetic(self, bearing_deg_true: float) -> float | None:
        """A true direction as magnetic, 0 up to 360; ``None`` when the variation is not known."""
        if self.variation_deg is None:
            return None
        return (bearing_deg_true - self.variation_deg) % 360.0
