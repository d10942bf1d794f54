"""Options that several commands share, and the one road from options to advice."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable
from dataclasses import field
from datetime import UTC, datetime
from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from advisor.advice import LESSON_MIN, PracticeDay, practice_days
from advisor.clock import OpeningHours, age_words, parse_at, parse_now, zone
from advisor.commands.given import Number, as_text
from advisor.conditions import PilotWind, StationInput
from advisor.demo import is_demo_station, load_demo
from advisor.errors import AdvisorError, DataFileError, TimeError
from advisor.limits import STAGES, Changes, StageSetup, quantities, stage_setup, table, unit_of
from advisor.prepare import Asked, pick_aircraft, prepare
from advisor.records import dataclass
from advisor.reports.gathered import Gathered
from advisor.reports.sources import DEMO, LIVE, OFFLINE, TEXT, aloft_region, gather

if TYPE_CHECKING:
    from advisor.school import School

F = TypeVar("F", bound=Callable[..., Any])
MAX_TEXT_BYTES = 64_000_000
#: Neighbours asked for with a field, to borrow a report or a forecast from.
NEIGHBOURS = 8

#: Own limits that can be given as an option: option -> quantities whose stop it tightens.
MY_LIMITS: dict[str, tuple[str, ...]] = {
    "my_wind": ("mean_wind_kt",),
    "my_gust": ("peak_wind_kt",),
    "my_crosswind": ("crosswind_kt", "crosswind_after_kt"),
    "my_ceiling": ("ceiling_area_ft", "ceiling_pattern_ft"),
    "my_visibility": ("visibility_sm",),
}


def _options(*decorators: Callable[[F], F]) -> Callable[[F], F]:
    def wrap(function: F) -> F:
        for decorator in reversed(decorators):
            function = decorator(function)
        return function

    return wrap


#: Where reports come from, and when "now" is.
source_options = _options(
    click.option(
        "--from-file",
        "from_file",
        type=click.Path(),
        help="Raw reports from a file, or - for standard input.",
    ),
    click.option("--demo", is_flag=True, help="The built-in made-up reports and clock; no network."),
    click.option("--offline", is_flag=True, help="Reports kept on disk only."),
    click.option("--now", "now_text", metavar="TIME", help="The present as an ISO time (default: the clock)."),
)
_POSITIVE = Number(min=0)
#: Who flies, in what, by which limits.
person_options = _options(
    click.option("--stage", "stages", multiple=True, type=click.Choice(STAGES), help="Stage of the person flying."),
    click.option("--alone", is_flag=True, help="Nobody else aboard (with --certificated)."),
    click.option("--certificated", is_flag=True, help="The person flying holds a certificate."),
    click.option("--early-solo", is_flag=True, help="One of the first three solos."),
    click.option("--school", "school_file", type=click.Path(), help="The school's own file (TOML)."),
    click.option("--aircraft", "aircraft_name", help="Aircraft by name, from the school's file or the shipped ones."),
    click.option(
        "--limits",
        "limits_file",
        type=click.Path(),
        help="Your own written limits (TOML); they only tighten.",
    ),
    click.option("--my-wind", type=_POSITIVE, help="Your own stop for the mean wind, kt."),
    click.option("--my-gust", type=_POSITIVE, help="Your own stop for the peak wind, kt."),
    click.option("--my-crosswind", type=_POSITIVE, help="Your own stop for the crosswind, kt."),
    click.option("--my-ceiling", type=_POSITIVE, help="Your own stop for the ceiling, ft."),
    click.option("--my-visibility", type=_POSITIVE, help="Your own stop for the visibility, SM."),
)
#: What is known of the field today.
field_options = _options(
    click.option("--runway", help="Runway end in use, such as 22."),
    click.option(
        "--pattern", "pattern_side", type=click.Choice(("left", "right")), help="Side of the traffic pattern."
    ),
    click.option(
        "--wind-at-height",
        metavar="DDD/SS[@HHMMZ]",
        help="Wind at lesson height as a pilot up there reports it.",
    ),
)


@dataclass(slots=True)
class Choices:
    """Options of one call, as given."""

    from_file: str | None = None
    demo: bool = False
    offline: bool = False
    now_text: str | None = None
    stages: tuple[str, ...] = ()
    alone: bool = False
    certificated: bool = False
    early_solo: bool = False
    school_file: str | None = None
    aircraft_name: str | None = None
    limits_file: str | None = None
    my: dict[str, float | None] = field(default_factory=dict)
    runway: str | None = None
    pattern_side: str | None = None
    wind_at_height: str | None = None


def choices(**given: Any) -> Choices:
    """Options of a command as one object; the ``my_*`` ones together."""
    my = {name: given.pop(name) for name in MY_LIMITS if name in given}
    return Choices(my=my, **given)


@dataclass(slots=True)
class Desk:
    """Everything behind one call: the clock, the school, the reports."""

    now: datetime
    school: School | None
    gathered: Gathered
    is_demo: bool
    setups: tuple[StageSetup, ...]
    changes: Changes

    @property
    def opening(self) -> OpeningHours | None:
        """The school's hours, where it gives any."""
        return self.school.opening_hours if self.school is not None else None

    @property
    def lesson_min(self) -> int:
        """Length of a lesson at this school."""
        return self.school.lesson_minutes if self.school is not None else LESSON_MIN

    def input_of(self, station: str, asked: Asked | None = None) -> StationInput:
        """What the engine is asked about one field; raises as ``prepare`` does."""
        points = load_demo().aloft_point if self.is_demo else {}
        return prepare(station, self.gathered, now=self.now, school=self.school, asked=asked, aloft_point=points)


def read_input(name: str) -> str:
    """Text of a file or of standard input. Raises DataFileError with a sentence."""
    try:
        if name == "-":
            data = sys.stdin.buffer.read(MAX_TEXT_BYTES + 1)
        else:
            with open(name, "rb") as handle:
                data = handle.read(MAX_TEXT_BYTES + 1)
    except OSError as error:
        raise DataFileError(f"{name} cannot be read: {error.strerror or error}. Check the name.") from error
    if len(data) > MAX_TEXT_BYTES:
        raise DataFileError(f"{name} is larger than {MAX_TEXT_BYTES // 1_000_000} MB. For archives use advisor season.")
    return as_text(data)


def clock_now(text: str | None, default: datetime | None = None) -> datetime:
    """The present: as given, else a default, else the machine's clock."""
    if text is not None:
        return parse_now(text)
    return default if default is not None else datetime.now(UTC).replace(microsecond=0)


def setups_of(chosen: Choices) -> tuple[StageSetup, ...]:
    """Stages asked for; all four when none is named. Raises DataFileError for options that do not fit."""
    if not chosen.stages:
        if chosen.alone or chosen.certificated:
            raise DataFileError("--alone and --certificated need --stage post-solo or --stage commercial.")
        if chosen.early_solo:
            return (stage_setup("solo", early_solo=True),)
        return tuple(stage_setup(s) for s in STAGES)
    return tuple(
        stage_setup(s, alone=chosen.alone, certificated=chosen.certificated, early_solo=chosen.early_solo)
        for s in dict.fromkeys(chosen.stages)
    )


def _limit(value: object, *, below_zero: bool) -> bool:
    """True for what a limit can be: any comparison with nan is false, so nan would switch it off."""
    if not isinstance(value, int | float) or isinstance(value, bool):
        return False
    return isfinite(value) and (below_zero or value >= 0)


def own_limits(chosen: Choices) -> dict[str, tuple[float | None, float | None]]:
    """A person's own limits from a file and from options, as (care, stop) by quantity."""
    out: dict[str, tuple[float | None, float | None]] = {}
    if chosen.limits_file is not None:
        import tomllib

        try:
            data = tomllib.loads(read_input(chosen.limits_file))
        except tomllib.TOMLDecodeError as error:
            raise DataFileError(f"{chosen.limits_file} is not TOML: {error}.") from error
        faults = []
        for name, value in data.items():
            pair = value if isinstance(value, list) else [None, value]
            known = name in quantities() and len(pair) == len((0, 0)) and pair[1] is not None
            if not known or not all(_limit(x, below_zero=unit_of(name) == "C") for x in pair if x is not None):
                faults.append(
                    f"{name}: write a limit's name and its stop, or [care, stop], as numbers (only degrees C below 0); "
                    f"names: {', '.join(quantities())}."
                )
                continue
            out[name] = (None if pair[0] is None else float(pair[0]), float(pair[1]))
        if faults:
            raise DataFileError("\n".join(faults))
    for option, names in MY_LIMITS.items():
        value = chosen.my.get(option)
        if value is not None:
            for name in names:
                out[name] = (out.get(name, (None, None))[0], float(value))
    return out


def pilot_wind(text: str | None, now: datetime) -> PilotWind | None:
    """``240/18@1740Z``: wind at height as a pilot reports it. Raises DataFileError or TimeError."""
    if text is None:
        return None
    wind, _, at = text.partition("@")
    direction, _, speed = wind.upper().removesuffix("KT").partition("/")
    figures = direction.isdecimal() and speed.isdecimal() and int(direction) <= 360 and int(speed) <= 150
    # a time without Z would be the field's clock everywhere else, and no field is known here
    if not figures or (at and not at.strip().upper().endswith("Z")):
        raise DataFileError(
            f"--wind-at-height {text!r} is not understood. Write 240/18 or 240/18@1740Z (degrees true, kt, time in Z)."
        )
    when = parse_at(at, station_tz=zone("UTC"), now=now) if at else now
    if when > now:
        raise TimeError(f"--wind-at-height {text!r} lies in the future of {now:%H%MZ}.")
    age_min, holds_min = (now - when).total_seconds() / 60.0, table()["fixed"]["pilot_wind_min"]["value"]
    if age_min >= holds_min:
        raise TimeError(
            f"--wind-at-height {text!r} is {age_words(age_min)} old; a pilot's wind holds {holds_min:g} minutes. Leave it out."
        )
    return PilotWind(float(int(direction) or 360), float(speed), when)


def _school(chosen: Choices, demo: bool) -> School | None:
    """The school's file, read for the day in question so that its magnetic bearings are that day's."""
    if chosen.school_file is None:
        return None
    from advisor.school import load_school

    return load_school(Path(chosen.school_file), when=clock_now(chosen.now_text, load_demo().now if demo else None))


def open_desk(stations: tuple[str, ...], chosen: Choices, *, neighbours: bool = True) -> Desk:
    """Find the reports for some stations in the way that was asked for.

    Raises
    ------
    AdvisorError
        With the sentence the user reads.
    """
    demo = chosen.demo or (bool(stations) and all(is_demo_station(s) for s in stations))
    school = _school(chosen, demo and chosen.from_file is None)
    if demo and school is None:
        school = load_demo().school
    setups, own = setups_of(chosen), own_limits(chosen)
    changes = school_changes(school, own)
    if chosen.from_file is not None:
        now = clock_now(chosen.now_text)
        lenders = named_lenders(stations, school)
        gathered = gather(stations, now=now, mode=TEXT, text=read_input(chosen.from_file), lenders=lenders)
        return Desk(now, school, gathered, demo, setups, changes)
    if demo:
        now = clock_now(chosen.now_text, load_demo().now)
        # the other demo fields come along to borrow from, as neighbours do
        gathered = gather((), now=now, mode=DEMO)
        return Desk(now, school, gathered, True, setups, changes)
    now = clock_now(chosen.now_text)
    gathered = _live_or_kept(stations, chosen, school, now, neighbours)
    return Desk(now, school, gathered, False, setups, changes)


def school_changes(school: School | None, own: dict[str, tuple[float | None, float | None]] | None = None) -> Changes:
    """What a school's file and a person change of the shipped limits. Never raises."""
    if school is None:
        return Changes(own=own or {})
    return Changes(school=dict(school.limit_overrides), own=own or {}, lesson_stops=school.lesson_stops)


def named_lenders(stations: Iterable[str], school: School | None) -> list[str]:
    """Stations whose reports the school's file names for these fields, however many lie nearer. Never raises."""
    if school is None:
        return []
    named = [school.borrow_for(s.upper()) for s in stations]
    return list(dict.fromkeys(x for b in named for x in (b.observation_from, b.forecast_from) if x is not None))


def _live_or_kept(
    stations: tuple[str, ...], chosen: Choices, school: School | None, now: datetime, neighbours: bool
) -> Gathered:
    from advisor.commands.store import open_store
    from advisor.places import find_station, nearest

    fields = school.stations if school is not None else ()
    wanted = [find_station(s, fields) for s in stations]
    ids = [s.station for s in wanted]
    ids += named_lenders(ids, school)
    if neighbours:
        for place in wanted:
            around = nearest(place.latitude_deg, place.longitude_deg, 30.0, fields=fields)
            ids += [s.station for s, _, _ in around[:NEIGHBOURS]]
    regions = {region for s in ids if (region := aloft_region(s)) is not None}
    keys = [(region, "low", "06") for region in sorted(regions)]
    store = open_store()
    if chosen.offline:
        return gather(ids, now=now, mode=OFFLINE, store=store, aloft=keys)
    from advisor.reports.fetch import Service

    return gather(ids, now=now, mode=LIVE, store=store, service=Service(), aloft=keys)


def days_of(stations: tuple[str, ...], chosen: Choices, desk: Desk) -> list[PracticeDay]:
    """Advice for each station; the first refusal ends it. Raises AdvisorError."""
    asked = Asked(chosen.runway, chosen.pattern_side, pilot_wind(chosen.wind_at_height, desk.now))
    return practice_days(
        [desk.input_of(s, asked) for s in stations],
        desk.setups,
        pick_aircraft(chosen.aircraft_name, desk.school),
        changes=desk.changes,
        opening=desk.opening,
        lesson_min=desk.lesson_min,
    )


def load_day(station: str, chosen: Choices) -> tuple[PracticeDay, Desk]:
    """Advice for one station. Raises AdvisorError with the sentence the user reads."""
    desk = open_desk((station,), chosen)
    days = days_of((station,), chosen, desk)
    if not days:
        raise AdvisorError(f"Nothing could be worked out for {station}.")
    return days[0], desk
