"""From a checked TOML file to a :class:`~advisor.school.School`; no fault hides another."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import UTC, date, datetime, time, timedelta
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from pydantic import BaseModel, ValidationError

from advisor import school_model as model
from advisor.aircraft import Aircraft
from advisor.clock import from_local
from advisor.errors import DataFileError, TimeError, UnknownStation, printable
from advisor.places import Field, RunwayEnd, Station, find_station, runways, variation_deg_east
from advisor.school import (
    Borrow,
    Notice,
    Point,
    PracticeArea,
    PracticeField,
    Road,
    School,
)
from advisor.school_faults import near, placed, sentences, such_as
from advisor.school_slips import all_slips, area_faults, station_slips, visibility_slips
from advisor.school_stops import opening_hours, read_lesson_stops, read_limits
from advisor.school_syntax import read_toml
from advisor.units import wrap_180

#: A runway's magnetic bearing further than this from its painted number is a slip of the pen.
NAME_SLACK_DEG = 20.0

M = TypeVar("M", bound=BaseModel)


class _Reader:
    def __init__(self, file_name: str, when: datetime) -> None:
        self.file_name = file_name
        self.when = when
        self.faults: list[str] = []
        self.notes: list[str] = []
        self.made_up = False
        self.fields: list[Field] = []
        self.unresolved: set[str] = set()  # station ids whose record was faulty: say nothing more about them

    # -- checking ------------------------------------------------------------------------------------

    def one(self, kind: type[M], data: Any, path: str) -> M | None:
        """A checked item, or ``None`` after writing its faults down."""
        if not isinstance(data, dict):
            self.faults.append(f"{path}: must be a table{such_as(kind)}.")
            return None
        try:
            return kind.model_validate(data)
        except ValidationError as error:
            self.faults += sentences(error, kind, path)
            return None

    def many(self, data: dict[str, Any], section: str) -> list[tuple[int, Any]]:
        items = data.get(section, [])
        if not isinstance(items, list):
            self.faults.append(f"{section}: write it with double brackets, [[{section}]].")
            return []
        kind = model.LISTS[section]
        checked = [(i, self.one(kind, item, f"{section}.{i}")) for i, item in enumerate(items)]
        return [(i, item) for i, item in checked if item is not None]

    def once(self, names: Iterable[tuple[str, str]]) -> None:
        """Fault for every name that came before."""
        seen: set[str] = set()
        for path, name in names:
            if name.casefold() in seen:
                self.faults.append(f"{path}: {name} is described twice; keep one.")
            seen.add(name.casefold())

    def note(self, slips: Iterable[str]) -> None:
        """Something to check that is no fault."""
        self.notes += [f"{self.file_name}: {x}." for x in slips]

    # -- stations ------------------------------------------------------------------------------------

    def station(self, item: model.StationModel, path: str) -> None:
        try:
            known: Station | None = find_station(item.station)
        except UnknownStation:
            known = None
        if self.made_up:
            known = None
        given = {
            "name": item.name,
            "latitude_deg": item.latitude_deg,
            "longitude_deg": item.longitude_deg,
            "elevation_ft": item.elevation_ft,
            "time_zone": item.time_zone,
        }
        absent = [name for name, value in given.items() if value is None]
        if known is None and absent:
            lacking = ", ".join(absent)
            self.faults.append(f"{path}: {item.station} is not on the station list; the file must also give {lacking}.")
            self.unresolved.add(item.station)
            return
        values = {k: v if v is not None else getattr(known, k) for k, v in given.items()}
        origin = "made-up demo" if self.made_up else f"school file {self.file_name}"
        changed = len(absent) < len(given)
        record = Station(
            station=known.station if known is not None else item.station,
            country=known.country if known is not None else "",
            source=origin if known is None or changed else known.source,
            reports_weather=known.reports_weather if known is not None else False,
            note=known.note if known is not None and item.elevation_ft is None else "",
            **values,  # type: ignore[arg-type]
        )
        if known is not None:
            self.note(station_slips(record, known))
        if item.runways is None:
            ends: tuple[RunwayEnd, ...] = runways(record.station) if known is not None else ()
        else:
            self.once((f"{path}.runways.{i}.name", r.name) for i, r in enumerate(item.runways))
            ends = tuple(
                end
                for i, runway in enumerate(item.runways)
                for end in self.runway(runway, record, f"{path}.runways.{i}")
            )
        self.fields.append(Field(record, ends))

    def true(self, item: Any, latitude: float, longitude: float, elevation: float, path: str) -> float | None:
        """True bearing of something described either way."""
        if item.bearing_deg_true is not None:
            return float(item.bearing_deg_true) % 360.0
        variation = variation_deg_east(latitude, longitude, elevation, self.when)
        if variation.value_deg is None:
            self.faults.append(f"{path}.bearing_deg_magnetic: {variation.epoch_note}; give bearing_deg_true.")
            return None
        return float(item.bearing_deg_magnetic + variation.value_deg) % 360.0

    def runway(self, item: model.RunwayModel, at: Station, path: str) -> list[RunwayEnd]:
        here = (at.latitude_deg, at.longitude_deg, at.elevation_ft)
        bearing = self.true(item, *here, path)
        if bearing is None:
            return []
        variation = variation_deg_east(*here, self.when)
        magnetic = bearing - (variation.value_deg or 0.0)
        off = abs(float(wrap_180(magnetic - 10.0 * int(item.name[:2]))))
        if off > NAME_SLACK_DEG and abs(at.latitude_deg) < 65.0:
            which = "bearing_deg_true" if item.bearing_deg_true is not None else "bearing_deg_magnetic"
            self.faults.append(
                f"{path}.{which}: {magnetic % 360.0:.0f} degrees magnetic does not fit the name {item.name} "
                f"({off:.0f} degrees apart); give the bearing of the first end, {item.name.split('/')[0]}."
            )
            return []
        return [
            RunwayEnd(
                name=name,
                bearing_deg_true=(bearing + 180.0 * i) % 360.0,
                length_ft=item.length_ft,
                surface=item.surface,
                closed=item.closed,
                pattern_side="right" if name in item.right_pattern else "left",
                bearing_estimated=item.bearing_estimated,
            )
            for i, name in enumerate(item.name.split("/"))
        ]

    def known(self, station: str | None, path: str) -> Station | None:
        """The station a name elsewhere in the file refers to, with a fault if there is none."""
        if station is None or station in self.unresolved:
            return None
        try:
            return find_station(station, self.fields)
        except UnknownStation as error:
            self.faults.append(f"{path}: {error}")
            return None

    # -- the rest ------------------------------------------------------------------------------------

    def moment(self, value: datetime | date, zone: str | None, path: str, *, day_end: bool) -> datetime | None:
        """Aware UTC time of a TOML date, local time or time with its offset."""
        if not 2000 <= value.year < 2100:
            self.faults.append(f"{path}: the year {value.year} is out of range.")
            return None
        if isinstance(value, datetime) and value.tzinfo is not None:
            return value.astimezone(UTC)
        if zone is None:
            self.faults.append(f"{path}: give the time with its offset, such as 2026-04-26T18:00:00-05:00.")
            return None
        if isinstance(value, datetime):
            day, clock = value.date(), value.time()
        else:
            day, clock = value + timedelta(days=1 if day_end else 0), time(0)
        try:
            return from_local(day, clock, ZoneInfo(zone))
        except TimeError as error:
            self.faults.append(f"{path}: {error}")
            return None

    def notice(self, item: model.NoticeModel, path: str) -> Notice | None:
        station = self.known(item.station, f"{path}.station")
        if item.station is None and item.runway is not None:
            if len(self.fields) == 1:
                station = self.fields[0].station
            else:
                self.faults.append(f"{path}.station: say which field the runway belongs to.")
        if item.runway is not None and station is not None:
            names = {end.name for end in runways(station.station, self.fields)}
            unknown = [end for end in item.runway.split("/") if end not in names]
            if unknown:
                listed = ", ".join(sorted(names)) or "none"
                self.faults.append(
                    f"{path}.runway: {station.station} has no runway {printable(unknown[0])}; known: {listed}."
                )
        if item.station in self.unresolved or (self.unresolved and not self.fields):
            return None  # its field has a fault of its own; correct that first
        zone = station.time_zone if station is not None else None
        if zone is None and self.fields:
            zone = self.fields[0].station.time_zone
        until = self.moment(item.until, zone, f"{path}.until", day_end=True)
        since = None if item.since is None else self.moment(item.since, zone, f"{path}.since", day_end=False)
        if until is None:
            return None
        if since is not None and since >= until:
            self.faults.append(f"{path}.until: must be later than since.")
        name = station.station if station is not None else None
        return Notice(item.text, item.kind, item.who, until, since, name, item.runway)

    def area(self, item: model.PracticeAreaModel, path: str) -> PracticeArea:
        station = self.known(item.station, f"{path}.station")
        here = (item.latitude_deg, item.longitude_deg, item.ground_elevation_ft)

        def bearing(thing: Any, kind: str, i: int) -> float:
            found = self.true(thing, *here, f"{path}.{kind}.{i}")
            return 0.0 if found is None else found  # a fault is written down: the area is never used

        for kind in ("roads", "fields", "points"):
            things: list[Any] = getattr(item, kind)
            self.once((f"{path}.{kind}.{i}.name", thing.name) for i, thing in enumerate(things))
        area = PracticeArea(
            name=item.name,
            latitude_deg=item.latitude_deg,
            longitude_deg=item.longitude_deg,
            ground_elevation_ft=item.ground_elevation_ft,
            station=station.station if station is not None else None,
            roads=tuple(Road(r.name, bearing(r, "roads", i), r.length_nm) for i, r in enumerate(item.roads)),
            fields=tuple(
                PracticeField(f.name, bearing(f, "fields", i), f.length_ft, f.width_ft)
                for i, f in enumerate(item.fields)
            ),
            points=tuple(Point(p.name, p.latitude_deg, p.longitude_deg) for p in item.points),
        )
        if not self.unresolved:  # a field with a fault of its own is not there to measure from
            self.faults += [f"{path}: {x}." for x in area_faults(area, self.fields)]
        return area


def _top(reader: _Reader, data: dict[str, Any]) -> model.TopModel | None:
    known = {*model.TopModel.model_fields, *model.LISTS, *model.TABLES, "limits", "lesson_stops"}
    for name in data:
        if name not in known:
            names = ", ".join(sorted(known))
            reader.faults.append(f"{printable(name)}: is not a known name here; {near(name, known)}known: {names}.")
    single = {k: v for k, v in data.items() if k in model.TopModel.model_fields}
    return reader.one(model.TopModel, single, "")


def read_school(text: str, file_name: str, when: datetime) -> School:
    """Check the text of a school file and build the school; raises DataFileError with every fault."""
    data = read_toml(text, file_name)
    reader = _Reader(file_name, when)
    top = _top(reader, data)
    reader.made_up = data.get("made_up") is True
    stations = reader.many(data, "stations")
    listed = data.get("stations")
    for item in listed if isinstance(listed, list) else ():
        if isinstance(item, dict) and isinstance(item.get("station"), str):
            reader.unresolved.add(item["station"])
    reader.once((f"stations.{i}.station", item.station) for i, item in stations)
    for i, item in stations:
        reader.unresolved.discard(item.station)
        reader.station(item, f"stations.{i}")
    borrow = {}
    for i, item in stations:
        for name in ("observation_from", "forecast_from"):
            reader.known(getattr(item, name), f"stations.{i}.{name}")
        if item.observation_from or item.forecast_from:
            borrow[item.station] = Borrow(item.observation_from, item.forecast_from)
    notices = _each(reader.many(data, "notices"), reader.notice, "notices")
    areas = _each(reader.many(data, "practice_areas"), reader.area, "practice_areas")
    reader.once((f"practice_areas.{i}.name", area.name) for i, area in enumerate(areas))
    reader.note(all_slips(reader.fields, borrow, areas))
    fleet = reader.many(data, "aircraft")
    reader.once((f"aircraft.{i}.name", item.name) for i, item in fleet)
    hours = reader.one(model.HoursModel, data["hours"], "hours") if "hours" in data else None
    overrides = read_limits(data["limits"], reader.one, reader.faults) if "limits" in data else {}
    stops = read_lesson_stops(data["lesson_stops"], reader.one, reader.faults) if "lesson_stops" in data else {}
    reader.note(visibility_slips(overrides))
    if reader.faults or top is None:
        faults = [placed(fault, data) for fault in dict.fromkeys(reader.faults)]
        count = f"{len(faults)} fault{'s' if len(faults) != 1 else ''}"
        lines = "\n".join(f"  {fault}" for fault in faults)
        raise DataFileError(f"The school file {file_name} has {count}; correct them and try again:\n{lines}")
    return School(
        name=top.name,
        stations=tuple(reader.fields),
        notices=tuple(notices),
        practice_areas=tuple(areas),
        aircraft=tuple(
            Aircraft(a.name, float(a.practice_kias), float(a.stall_kcas), float(a.demonstrated_crosswind_kt))
            for _, a in fleet
        ),
        opening_hours=opening_hours(hours),
        lesson_minutes=top.lesson_minutes,
        borrow=borrow,
        limit_overrides=overrides,
        lesson_stops=stops,
        notes=tuple(reader.notes),
        made_up=reader.made_up,
    )


def _each(items: list[tuple[int, Any]], make: Callable[[Any, str], Any], section: str) -> list[Any]:
    made = [make(item, f"{section}.{i}") for i, item in items]
    return [thing for thing in made if thing is not None]
