"""A school's own file: fields, notices, practice areas, aircraft, hours and limits.

The engine sees the frozen dataclasses below and nothing of how the file is checked. The file comes before
the packed station data wherever it says something.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from advisor.aircraft import Aircraft
from advisor.clock import OpeningHours, both_with_day
from advisor.errors import DataFileError
from advisor.limits import LessonStops
from advisor.places import Field
from advisor.records import dataclass

#: Date for turning magnetic bearings to true when no clock is given: the middle of the newest model edition,
#: which keeps the error of a drift of 0.1 degrees a year under 0.3 degrees.
VARIATION_DATE = datetime(2027, 7, 1, tzinfo=UTC)
MAX_BYTES = 1_000_000
#: A day of the month so far ahead needs its year.
FAR = timedelta(days=180)

#: quantity -> stage -> (care, stop); ``None`` leaves the shipped value alone.
LimitOverrides = dict[str, dict[str, tuple[float | None, float | None]]]


@dataclass(frozen=True, slots=True)
class Notice:
    """Something the school knows and no report says.

    ``kind`` is closure, restriction, wet-surface or other. ``station`` ``None`` means every field. ``who``
    said so. Times are aware UTC; ``since`` ``None`` means already in force.
    """

    text: str
    kind: str
    who: str
    until: datetime
    since: datetime | None = None
    station: str | None = None
    runway: str | None = None

    def words(self, zone: ZoneInfo, now: datetime) -> str:
        """The notice as a sentence on the field's clock: what, until when, and who says so. Never raises."""
        since = f"from {both_with_day(self.since, zone)} " if self.since is not None and self.since > now else ""
        until = both_with_day(self.until, zone, year=self.until - now > FAR)  # another year's first of January
        runway = f" of runway {self.runway}" if self.runway is not None and self.runway not in self.text else ""
        return f"{self.kind}{runway}: {self.text} ({since}until {until}, says {self.who})"

    @property
    def closed_ends(self) -> tuple[str, ...]:
        """Names of the runway ends that a closure closes. Never raises."""
        return tuple(self.runway.split("/")) if self.kind == "closure" and self.runway is not None else ()

    def in_force(self, when: datetime) -> bool:
        """True from ``since`` up to, not including, ``until``. Never raises for an aware time."""
        return (self.since is None or self.since <= when) and when < self.until


@dataclass(frozen=True, slots=True)
class Road:
    """A straight road or other line for S-turns and tracking; either direction along it is meant."""

    name: str
    bearing_deg_true: float
    length_nm: float


@dataclass(frozen=True, slots=True)
class PracticeField:
    """A rectangle on the ground for the rectangular course; the bearing is that of its long side."""

    name: str
    bearing_deg_true: float
    length_ft: float
    width_ft: float


@dataclass(frozen=True, slots=True)
class Point:
    """A point to turn around or a pylon."""

    name: str
    latitude_deg: float
    longitude_deg: float


@dataclass(frozen=True, slots=True)
class PracticeArea:
    """Where lessons are flown. ``ground_elevation_ft`` is its highest ground, above sea level."""

    name: str
    latitude_deg: float
    longitude_deg: float
    ground_elevation_ft: float
    station: str | None = None
    roads: tuple[Road, ...] = ()
    fields: tuple[PracticeField, ...] = ()
    points: tuple[Point, ...] = ()


@dataclass(frozen=True, slots=True)
class Borrow:
    """Whose observation and forecast to use for a field that has none; ``None`` leaves it to distance."""

    observation_from: str | None = None
    forecast_from: str | None = None


@dataclass(frozen=True, slots=True)
class School:
    """Everything a school's file said.

    ``stations`` are records that stand in for the packed data (pass them on as ``fields``). ``borrow`` maps a
    station to its :class:`Borrow`. ``limit_overrides`` maps quantity -> stage -> (care, stop), ``lesson_stops``
    stage -> lesson -> its own wind stops. ``notes`` are slips to look at that are no faults. ``made_up``
    marks the demonstration's.
    """

    name: str
    stations: tuple[Field, ...] = ()
    notices: tuple[Notice, ...] = ()
    practice_areas: tuple[PracticeArea, ...] = ()
    aircraft: tuple[Aircraft, ...] = ()
    opening_hours: OpeningHours | None = None
    lesson_minutes: int = 60
    borrow: Mapping[str, Borrow] = field(default_factory=dict)
    limit_overrides: LimitOverrides = field(default_factory=dict)
    lesson_stops: LessonStops = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    made_up: bool = False

    def notices_at(self, when: datetime, station: str | None = None) -> tuple[Notice, ...]:
        """Notices in force at a time, at a field (or all). Never raises for an aware time."""
        return tuple(n for n in self.notices if n.in_force(when) and (station is None or n.station in (None, station)))

    def closures(self, station: str) -> tuple[tuple[str, datetime | None, datetime], ...]:
        """Ends of a field's runways that notices close, from when (``None``: already) and until when. Never raises."""
        return tuple(
            (name, n.since, n.until) for n in self.notices if n.station in (None, station) for name in n.closed_ends
        )

    def areas_for(self, station: str) -> tuple[PracticeArea, ...]:
        """Practice areas of a field: those naming it, or those naming no field."""
        return tuple(a for a in self.practice_areas if a.station in (None, station))

    def borrow_for(self, station: str) -> Borrow:
        """Whose reports to use for a field; an empty :class:`Borrow` when the file does not say."""
        return self.borrow.get(station, Borrow())


def read_text(path: Path) -> str:
    """The file's text. Raises DataFileError when it cannot be read, is too long or is not UTF-8."""
    try:
        with path.open("rb") as handle:
            data = handle.read(MAX_BYTES + 1)
    except OSError as error:
        reason = error.strerror or str(error)
        raise DataFileError(f"The school file {path} cannot be read: {reason}. Check the name.") from error
    if len(data) > MAX_BYTES:
        raise DataFileError(f"The school file {path} is larger than 1 MB. Is it the right file?")
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise DataFileError(
            f"The school file {path} is not UTF-8 text (byte {error.start}). Save it as UTF-8."
        ) from error


def load_school(path: Path | str, *, when: datetime | None = None) -> School:
    """Read and check a school file.

    Parameters
    ----------
    path : Path or str
    when : datetime, optional
        Aware; date for magnetic variation. Default: the middle of the newest model edition.

    Returns
    -------
    School

    Raises
    ------
    DataFileError
        One message with every fault, a line each: path inside the file, colon, sentence.
    """
    path = Path(path)
    return parse_school(read_text(path), file_name=path.name, when=when)


def parse_school(text: str, *, file_name: str = "school file", when: datetime | None = None) -> School:
    """As :func:`load_school`, for text already read; ``file_name`` is used in messages."""
    from advisor.school_reader import read_school

    return read_school(text, file_name, when or VARIATION_DATE)
