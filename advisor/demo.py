"""The built-in demonstration: made-up fields, made-up reports and a clock of their own, no network.

Its stations are known nowhere else; every page that shows them must say that they are made up.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from functools import lru_cache
from typing import TYPE_CHECKING

from advisor.datafiles import data_text, data_toml
from advisor.places import Field
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

    @property
    def fields(self) -> tuple[Field, ...]:
        """Field records to pass on as ``fields``, with the closures in force at the demonstration's clock."""
        return self.school.fields_at(self.now)


@lru_cache(maxsize=1)
def load_demo() -> Demo:
    """The demonstration, read once. Never raises with the shipped files."""
    from advisor.school import parse_school  # pydantic comes with it, and only the demo pays

    setup = data_toml("demo", "demo.toml")
    now: datetime = setup["now"].astimezone(UTC)
    return Demo(
        now=now,
        title=setup["title"],
        reports_text=data_text("demo", setup["reports"]),
        winds_aloft_text=data_text("demo", setup["winds_aloft"]),
        school=parse_school(
            data_text("demo", setup["school"]), file_name=str(setup["school"]), when=now
        ),
        aloft_point=setup["aloft_point"],
        story=setup["story"],
    )


#: Known without reading the files, so that an ordinary question costs nothing; a test compares them.
DEMO_STATIONS = frozenset({"XBRK", "XHLW", "XSND"})


def is_demo_station(station: str) -> bool:
    """True for an identifier that only the demonstration knows."""
    return station.strip().upper() in DEMO_STATIONS
