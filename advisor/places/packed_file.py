"""The packed file of stations and runways, mapped into memory, and the records read from it.

The file (``advisor/data/places.txt``) is made by ``tests/tools/build_places.py``, which describes its layout. A
record is found by halving: no table is ever loaded to look one up.
"""

from __future__ import annotations

import mmap
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from advisor.errors import DataFileError
from advisor.records import dataclass

DATA_FILE = Path(__file__).resolve().parent.parent / "data" / "places.txt"
_SURFACE = {
    "A": "asphalt", "C": "concrete", "T": "turf", "D": "dirt", "G": "gravel", "S": "sand", "O": "constructed",
    "-": "not known",
}  # fmt: skip
_SOURCE = {"A": "airport list", "W": "weather station list; time zone from the nearest airport"}
_COLUMNS = (
    ("station", 0, 4), ("latitude", 4, 12), ("longitude", 12, 21), ("elevation", 21, 27), ("zone", 27, 30),
    ("country", 30, 32), ("reports", 32, 33), ("source", 33, 34), ("text", 34, 41),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Station:
    """A place with a weather identifier.

    ``elevation_ft`` is above sea level; ``time_zone`` an IANA name; ``country`` two letters; ``source`` says
    where the record came from. ``reports_weather`` is what the station list says, not a promise. ``note``
    holds a doubt about the record that a page should print, or is empty.
    """

    station: str
    name: str
    latitude_deg: float
    longitude_deg: float
    elevation_ft: float
    time_zone: str
    country: str
    source: str
    reports_weather: bool = False
    note: str = ""


@dataclass(frozen=True, slots=True)
class RunwayEnd:
    """One end of a runway, named by its painted number (the way it is flown: 04 is flown north-east).

    ``bearing_deg_true`` is the direction of take-off and landing; ``bearing_estimated`` marks one worked out
    from the painted number (nine in ten are within 7 degrees).
    ``pattern_side`` is ``left`` unless a school says so.
    """

    name: str
    bearing_deg_true: float
    length_ft: int
    surface: str
    closed: bool = False
    pattern_side: str = "left"
    bearing_estimated: bool = False


@dataclass(frozen=True, slots=True)
class Field:
    """A school's own record of a field: it stands in for the packed file's.

    ``runway_ends`` ``None`` keeps the file's runways; an empty tuple says there are none.
    """

    station: Station
    runway_ends: tuple[RunwayEnd, ...] | None = None


class Packed:
    """The packed file, mapped into memory."""

    def __init__(self, path: Path) -> None:
        try:
            with path.open("rb") as handle:
                self._map = mmap.mmap(handle.fileno(), 0, access=mmap.ACCESS_READ)
            self._aliases_at = self._map.find(b"\n") + 1
            words = self._map[: self._aliases_at].decode("ascii").rstrip("\n").split("\t")
            header = dict(zip(words[::2], words[1::2], strict=False))  # name and value in turn
            self.count = int(header["count"])
            self.width = int(header["record_bytes"])
            self.zones = header["zones"].split(" ")
            self.date = header["date"]
            self.made_from = header["made_from"]
            self._records_at = self._map.find(b"\n", self._aliases_at) + 1
            self._text_at = self._records_at + self.count * self.width
            if self.width != _COLUMNS[-1][2] + 1 or self._text_at >= len(self._map):
                raise ValueError("the file is cut short or of another format")
        except (OSError, ValueError, KeyError) as error:
            raise DataFileError(
                f"The station file {path.name} cannot be read ({error}); install the package again."
            ) from error

    @cached_property
    def aliases(self) -> dict[str, str]:
        """American local identifiers and the record each stands for."""
        words = self._map[self._aliases_at : self._records_at].decode("ascii").split()
        return dict(zip(words[::2], words[1::2], strict=True))

    def index_of(self, station: str) -> int | None:
        """Record number of an identifier, or ``None``."""
        if len(station) != 4 or not station.isascii():
            return None
        wanted = station.encode("ascii")
        data, at, width = self._map, self._records_at, self.width
        low, high = 0, self.count
        while low < high:
            middle = (low + high) // 2
            start = at + middle * width
            found = data[start : start + 4]
            if found == wanted:
                return middle
            if found < wanted:
                low = middle + 1
            else:
                high = middle
        return None

    def _text(self, offset: int) -> tuple[str, str]:
        start = self._text_at + offset
        name, _, packed = self._map[start : self._map.find(b"\n", start)].decode("utf-8").partition("\t")
        return name, packed

    def _columns(self, index: int) -> dict[str, str]:
        start = self._records_at + index * self.width
        record = self._map[start : start + self.width].decode("ascii")
        return {name: record[a:b] for name, a, b in _COLUMNS}

    def station(self, index: int) -> Station:
        """The station of a record."""
        c = self._columns(index)
        elevation_ft = float(c["elevation"])
        note = ""
        if elevation_ft == 0.0 and c["country"] == "US":
            note = "elevation is recorded as 0 ft; check it"
        return Station(
            station=c["station"],
            name=self._text(int(c["text"]))[0],
            latitude_deg=float(c["latitude"]),
            longitude_deg=float(c["longitude"]),
            elevation_ft=elevation_ft,
            time_zone=self.zones[int(c["zone"])],
            country=c["country"],
            source=f"{_SOURCE.get(c['source'], 'list')}, {self.date}",
            reports_weather=c["reports"] == "r",
            note=note,
        )

    def runway_ends(self, index: int) -> tuple[RunwayEnd, ...]:
        """Both ends of every runway of a record."""
        packed = self._text(int(self._columns(index)["text"]))[1]
        ends: list[RunwayEnd] = []
        for item in packed.split(";") if packed else ():
            names, bearing, length, surface = item.split(" ")
            estimated = bearing.startswith("~")
            bearing_deg = int(bearing.lstrip("~")) / 10.0
            for i, name in enumerate(names.split("/")):
                if name:
                    ends.append(
                        RunwayEnd(
                            name, (bearing_deg + 180.0 * i) % 360.0, int(length), _SURFACE[surface],
                            bearing_estimated=estimated,
                        )
                    )  # fmt: skip
        return tuple(ends)

    @cached_property
    def positions(self) -> tuple[Any, Any]:
        """Latitudes and longitudes of every record, degrees, shape (count,)."""
        raw = np.frombuffer(self._map, dtype=np.uint8, count=self.count * self.width, offset=self._records_at)
        table = raw.reshape(self.count, self.width)
        return tuple(
            np.ascontiguousarray(table[:, a:b]).view(f"S{b - a}").ravel().astype(np.float64)
            for _, a, b in _COLUMNS[1:3]
        )  # type: ignore[return-value]


@lru_cache(maxsize=4)
def packed(path: Path = DATA_FILE) -> Packed:
    """The file, opened once. Raises DataFileError when it cannot be read."""
    return Packed(path)
