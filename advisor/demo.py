"""The built-in demonstration: made-up fields, made-up reports and a clock of their own, no network.

Its stations are known nowhere else; every page that shows them must say that they are made up.
"""

from __future__ import annotations

import datetime as datetime_module
import os
from collections.abc import Mapping
from datetime import UTC, datetime
from functools import lru_cache
from typing import TYPE_CHECKING

from advisor.datafiles import FOLDER, data_text, data_toml, kept
from advisor.records import dataclass

if TYPE_CHECKING:
    from advisor.school import School


@dataclass(frozen=True, slots=True)
class Demo:
    """Everything the demonstration holds.

    ``now`` is its clock (aware, UTC). ``reports_text`` is METAR, SPECI and TAF as a service sends them;
    ``winds_aloft_text`` two bulletins; ``aloft_point`` the bulletin point that serves each station; ``story``
    a clause about each station's day.
    """

    now: datetime
    title: str
    reports_text: str
    winds_aloft_text: str
    school: School
    aloft_point: Mapping[str, str]
    story: Mapping[str, str]

    @property
    def stations(self) -> tuple[str, ...]:
        """Identifiers, in the order of the demonstration's school file."""
        return tuple(record.station.station for record in self.school.stations)


@lru_cache(maxsize=1)
def load_demo() -> Demo:
    """The demonstration, read once. Never raises with the shipped files."""
    setup = data_toml("demo", "demo.toml")
    now: datetime = setup["now"].astimezone(UTC)
    return Demo(
        now=now,
        title=setup["title"],
        reports_text=data_text("demo", setup["reports"]),
        winds_aloft_text=data_text("demo", setup["winds_aloft"]),
        school=_school(setup["school"], now),
        aloft_point=setup["aloft_point"],
        story=setup["story"],
    )


def _school(name: str, now: datetime) -> School:
    """The demonstration's school: checked like any other, then kept, so that a first look is not a slow one."""
    from advisor import aircraft, places, school

    def read(text: str) -> School:
        return school.parse_school(text, file_name=name, when=now)

    # what a school becomes depends on the code and the lists too, and they change seldom
    package = FOLDER.parent
    sources = (package, package / "places", FOLDER, FOLDER / "demo")
    newest = max(entry.stat().st_mtime for folder in sources for entry in os.scandir(folder) if entry.is_file())
    names = {**vars(places), **vars(aircraft), **vars(school), "datetime": datetime_module}
    found: School = kept(FOLDER / "demo" / name, read, names, newest)
    return found


#: Known without reading the files, so that an ordinary question costs nothing; a test compares them.
DEMO_STATIONS = frozenset({"XBRK", "XHLW", "XSND"})


def is_demo_station(station: str) -> bool:
    """True for an identifier that only the demonstration knows."""
    return station.strip().upper() in DEMO_STATIONS
