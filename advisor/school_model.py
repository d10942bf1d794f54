"""The border between a school's TOML file and the advisor: strict models, imported only when a file is read.

Every model refuses unknown names, wrong types and text that could disturb a page. Nothing here leaves
``advisor.school``: the engine sees plain frozen dataclasses.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from datetime import date, datetime
from typing import Annotated, Any, ClassVar, Literal, Self
from zoneinfo import ZoneInfo

from pydantic import (
    AfterValidator,
    BaseModel,
    ConfigDict,
    Field,
    ModelWrapValidatorHandler,
    ValidationError,
    model_validator,
)
from pydantic_core import InitErrorDetails

from advisor.words import find_approval_words

_END = re.compile(r"(0[1-9]|[12]\d|3[0-6])([LCR]?)")
_TIME = re.compile(r"([01]\d|2[0-3]):[0-5]\d")


def _plain(text: str) -> str:
    if any(unicodedata.category(c).startswith("C") or c in "\u2028\u2029" for c in text):
        raise ValueError("control and invisible characters are not allowed; retype the text")
    if text != text.strip() or not text:
        raise ValueError("must not be empty, or begin or end with a space")
    if find_approval_words(text):
        raise ValueError("reads as leave to fly, which no page may print; say only what is so")
    return text


def _station(text: str) -> str:
    if re.fullmatch(r"[A-Z0-9]{3,4}", text) is None:
        raise ValueError("a station identifier is three or four capital letters or digits, such as KBDU")
    return text


def _zone(text: str) -> str:
    try:
        ZoneInfo(text)
    except (ValueError, OSError, KeyError):
        raise ValueError("no such time zone; write an IANA name such as America/Chicago") from None
    return text


def _runway_name(text: str) -> str:
    ends = [_END.fullmatch(end) for end in text.split("/")]
    if len(ends) != 2 or ends[0] is None or ends[1] is None:
        raise ValueError("name both ends with two digits each, such as 04/22 or 09L/27R")
    if (int(ends[1][1]) - int(ends[0][1])) % 36 != 18:
        raise ValueError("the two ends are not opposite each other: their numbers must differ by 18")
    return text


def _clock(text: str) -> str:
    if _TIME.fullmatch(text) is None:
        raise ValueError('write the local time as "07:30"')
    return text


Name = Annotated[str, Field(max_length=60), AfterValidator(_plain)]
Text = Annotated[str, Field(max_length=300), AfterValidator(_plain)]
StationId = Annotated[str, AfterValidator(_station)]
ZoneName = Annotated[str, Field(max_length=60), AfterValidator(_zone)]
Latitude = Annotated[float, Field(ge=-90, le=90)]
Longitude = Annotated[float, Field(ge=-180, le=180)]
Elevation = Annotated[float, Field(ge=-1500, le=15000)]
Bearing = Annotated[float, Field(ge=0, le=360)]
When = datetime | date


def _numbers(data: Mapping[str, Any], *names: str) -> list[float] | None:
    """The values as numbers, or ``None`` when one is absent or of another type (which is its own fault)."""
    found: list[float] = []
    for name in names:
        value = data.get(name)
        if isinstance(value, bool) or not isinstance(value, int | float) or abs(value) > 1e9:
            return None
        found.append(float(value))
    return found


class _Strict(BaseModel):
    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, allow_inf_nan=False)

    @classmethod
    def across(cls, data: Mapping[str, Any]) -> str | None:
        """A fault between two values, from the data as written; ``None`` when there is none."""
        return None

    @model_validator(mode="wrap")
    @classmethod
    def _both_kinds(cls, data: Any, handler: ModelWrapValidatorHandler[Self]) -> Self:
        # An "after" check would stay silent until every single value is right; the file's author wants both.
        fault = cls.across(data) if isinstance(data, dict) else None
        details: list[InitErrorDetails] = []
        try:
            made = handler(data)
            if fault is None:
                return made
        except ValidationError as error:
            for item in error.errors(include_url=False):
                detail = InitErrorDetails(type=item["type"], loc=item["loc"], input=item["input"])
                if "ctx" in item:
                    detail["ctx"] = item["ctx"]
                details.append(detail)
        if fault is not None:
            details.append(InitErrorDetails(type="value_error", loc=(), input=data, ctx={"error": ValueError(fault)}))
        raise ValidationError.from_exception_data(cls.__name__, details)


class _Bearing(_Strict):
    """A direction given one way: true, or magnetic (turned to true with the variation at the place)."""

    bearing_deg_true: Bearing | None = None
    bearing_deg_magnetic: Bearing | None = None

    @classmethod
    def across(cls, data: Mapping[str, Any]) -> str | None:
        if ("bearing_deg_true" in data) == ("bearing_deg_magnetic" in data):
            return "give either bearing_deg_true or bearing_deg_magnetic, and only one of them"
        return None


class RunwayModel(_Bearing):
    name: Annotated[str, AfterValidator(_runway_name)]
    length_ft: Annotated[int, Field(ge=300, le=25000)]
    surface: Name = "not known"
    bearing_estimated: bool = False
    closed: bool = False
    right_pattern: list[str] = []

    @classmethod
    def across(cls, data: Mapping[str, Any]) -> str | None:
        name, right = data.get("name"), data.get("right_pattern")
        if isinstance(name, str) and isinstance(right, list):
            wrong = [end for end in right if isinstance(end, str) and end not in name.split("/")]
            if wrong:
                return f"right_pattern names {wrong[0][:12]!r}, which is no end of this runway"
        return super().across(data)


class StationModel(_Strict):
    station: StationId
    name: Name | None = None
    latitude_deg: Latitude | None = None
    longitude_deg: Longitude | None = None
    elevation_ft: Elevation | None = None
    time_zone: ZoneName | None = None
    observation_from: StationId | None = None
    forecast_from: StationId | None = None
    runways: list[RunwayModel] | None = None


class NoticeModel(_Strict):
    text: Text
    kind: Literal["closure", "restriction", "wet-surface", "other"] = "other"
    who: Name
    station: StationId | None = None
    runway: Name | None = None
    since: When | None = None
    until: When


class RoadModel(_Bearing):
    name: Name
    length_nm: Annotated[float, Field(gt=0, le=100)]


class PracticeFieldModel(_Bearing):
    """A rectangle on the ground; the bearing is that of its long side."""

    name: Name
    length_ft: Annotated[float, Field(gt=0, le=60000)]
    width_ft: Annotated[float, Field(gt=0, le=60000)]

    @classmethod
    def across(cls, data: Mapping[str, Any]) -> str | None:
        sides = _numbers(data, "length_ft", "width_ft")
        if sides is not None and sides[1] > sides[0]:
            return "length_ft is the long side: it must not be less than width_ft"
        return super().across(data)


class PointModel(_Strict):
    name: Name
    latitude_deg: Latitude
    longitude_deg: Longitude


class PracticeAreaModel(_Strict):
    name: Name
    station: StationId | None = None
    latitude_deg: Latitude
    longitude_deg: Longitude
    ground_elevation_ft: Elevation
    roads: list[RoadModel] = []
    fields: list[PracticeFieldModel] = []
    points: list[PointModel] = []


class AircraftModel(_Strict):
    name: Name
    practice_kias: Annotated[float, Field(ge=40, le=200)]
    stall_kcas: Annotated[float, Field(ge=20, le=100)]
    demonstrated_crosswind_kt: Annotated[float, Field(gt=0, le=40)]

    @classmethod
    def across(cls, data: Mapping[str, Any]) -> str | None:
        speeds = _numbers(data, "practice_kias", "stall_kcas")
        if speeds is not None and speeds[0] <= speeds[1]:
            return "practice_kias must be above stall_kcas"
        return None


class DayHoursModel(_Strict):
    example: ClassVar[str] = '{ opens = "09:00", closes = "16:00" }'
    opens: Annotated[str, AfterValidator(_clock)]
    closes: Annotated[str, AfterValidator(_clock)]

    @classmethod
    def across(cls, data: Mapping[str, Any]) -> str | None:
        opens, closes = data.get("opens"), data.get("closes")
        both = [x for x in (opens, closes) if isinstance(x, str) and _TIME.fullmatch(x)]
        if len(both) == 2 and both[1] <= both[0]:
            return "closes must be later than opens"
        return None


WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
Weekday = Literal["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]


class HoursModel(DayHoursModel):
    """Hours of every day but those that are named."""

    closed: list[Weekday] = []
    monday: DayHoursModel | None = None
    tuesday: DayHoursModel | None = None
    wednesday: DayHoursModel | None = None
    thursday: DayHoursModel | None = None
    friday: DayHoursModel | None = None
    saturday: DayHoursModel | None = None
    sunday: DayHoursModel | None = None

    @classmethod
    def across(cls, data: Mapping[str, Any]) -> str | None:
        closed = data.get("closed")
        both = [x for x in closed if isinstance(x, str) and x in data] if isinstance(closed, list) else []
        if both:
            return f"{both[0]} is closed and has hours; keep one"
        return super().across(data)


class StopsModel(_Strict):
    """A lesson's own wind stops at one stage."""

    example: ClassVar[str] = "{ mean_wind_kt = 10 }"
    mean_wind_kt: Annotated[float, Field(ge=0, le=60)] | None = None
    gust_spread_kt: Annotated[float, Field(ge=0, le=60)] | None = None

    @classmethod
    def across(cls, data: Mapping[str, Any]) -> str | None:
        if "mean_wind_kt" not in data and "gust_spread_kt" not in data:
            return f"give mean_wind_kt, gust_spread_kt or both, such as {cls.example}"
        return None


class PairModel(_Strict):
    example: ClassVar[str] = "{ care = 10, stop = 12 }"
    care: Annotated[float, Field(ge=-100, le=20000)] | None = None
    stop: Annotated[float, Field(ge=-100, le=20000)] | None = None

    @classmethod
    def across(cls, data: Mapping[str, Any]) -> str | None:
        if "care" not in data and "stop" not in data:
            return f"give care, stop or both, such as {cls.example}"
        return None


class TopModel(_Strict):
    """The single values at the top of the file."""

    name: Name
    made_up: bool = False
    lesson_minutes: Annotated[int, Field(ge=15, le=480)] = 60


#: Tables that repeat ([[stations]]), each item checked by itself so that one fault hides no other.
LISTS: Mapping[str, type[_Strict]] = {
    "stations": StationModel,
    "notices": NoticeModel,
    "practice_areas": PracticeAreaModel,
    "aircraft": AircraftModel,
}
#: Tables that come once ([hours]).
TABLES: Mapping[str, type[_Strict]] = {"hours": HoursModel}
